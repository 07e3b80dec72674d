//! What a caller holds while a study works: how far it is, and the flag that ends it.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError, TryLockError};

/// Ends a study early. Clones are the same flag, so one can be kept by the thread that may want to end the study.
#[derive(Clone, Debug, Default)]
pub struct Cancel(Arc<AtomicBool>);

impl Cancel {
    /// Asks for the end. Trials under way are finished, no further one is begun.
    pub fn cancel(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether the end was asked for.
    pub fn is_cancelled(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// How far a study is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Trials finished.
    pub done: usize,
    /// Trials asked for.
    pub total: usize,
}

/// Most calls that one study makes of its progress function: one a percent, and one when it has ended.
pub const PROGRESS_CALLS_MAX: usize = 101;

/// A progress function: [`Study::progress`](crate::Study::progress) says when it is called.
pub(crate) type Report<'a> = &'a (dyn Fn(Progress) + Sync);

/// Counts finished trials and calls the progress function when another percent is full.
pub(crate) struct Counter<'a> {
    total: usize,
    done: AtomicUsize,
    report: Option<Report<'a>>,
    reported: Mutex<Option<usize>>,
}

impl<'a> Counter<'a> {
    pub(crate) fn new(total: usize, report: Option<Report<'a>>) -> Self {
        Counter { total, done: AtomicUsize::new(0), report, reported: Mutex::new(None) }
    }

    /// Counts one finished trial. Never waits: while another thread is reporting, that report stands for this one too.
    pub(crate) fn finish_trial(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        let Some(report) = self.report else { return };
        if self.percent(done) == self.percent(done - 1) {
            return;
        }
        let mut reported = match self.reported.try_lock() {
            Ok(reported) => reported,
            Err(TryLockError::Poisoned(poisoned)) => poisoned.into_inner(),
            Err(TryLockError::WouldBlock) => return,
        };
        if self.percent(done) > reported.map_or(0, |before| self.percent(before)) {
            *reported = Some(done);
            report(Progress { done, total: self.total });
        }
    }

    /// Reports the end, unless the last report already said so.
    pub(crate) fn finish_study(&self) {
        let Some(report) = self.report else { return };
        let done = self.done.load(Ordering::Relaxed);
        let mut reported = self.reported.lock().unwrap_or_else(PoisonError::into_inner);
        if *reported != Some(done) {
            *reported = Some(done);
            report(Progress { done, total: self.total });
        }
    }

    /// Full percents of the trials asked for.
    fn percent(&self, done: usize) -> usize {
        (done as u128 * 100 / self.total.max(1) as u128) as usize
    }
}
