//! Executes the trials of a study on several threads.

use std::any::Any;
use std::num::NonZeroUsize;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

use crate::Seed;
use crate::control::{Cancel, Counter, Report};

/// Most trials that a thread takes at a time: long enough to hide the cost of taking them, short enough that the
/// threads end together. The results do not depend on it.
const CHUNK_TRIALS_MAX: usize = 16;

/// Fewest chunks per thread, as far as there are trials: short studies are shared out too.
const CHUNKS_PER_THREAD_MIN: usize = 16;

/// How many runs are to be executed: on what, from which seed, watched by whom.
///
/// # Properties
/// Results come in the order of the trial numbers, with the same bits whatever the number of threads, as long as the
/// work depends on its trial alone.
#[derive(Clone, Copy, Default)]
pub struct Study<'a> {
    /// Seed from which every trial's own seed is made.
    pub seed: Seed,
    /// Number of threads; `None` for as many as there are processors.
    pub threads: Option<NonZeroUsize>,
    /// Called from any of the threads, never by two at once, at most [`PROGRESS_CALLS_MAX`](crate::PROGRESS_CALLS_MAX)
    /// times, with `done` rising. The last call has the final count.
    pub progress: Option<Report<'a>>,
    /// Looked at before every trial.
    pub cancel: Option<&'a Cancel>,
}

/// One run of a study, as its work is given it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trial {
    /// Number of the trial, from 0.
    pub index: usize,
    /// Its own seed, [`Seed::of_trial`] of the study's.
    pub seed: Seed,
}

/// What a study gives.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome<T> {
    /// Every trial was executed: the results in order.
    Complete(Vec<T>),
    /// The study was cancelled first.
    Cancelled(Partial<T>),
}

impl<T> Outcome<T> {
    /// The results of a study that was not cancelled.
    pub fn into_complete(self) -> Option<Vec<T>> {
        match self {
            Outcome::Complete(results) => Some(results),
            Outcome::Cancelled(_) => None,
        }
    }
}

/// What a cancelled study has got.
#[derive(Clone, Debug, PartialEq)]
pub struct Partial<T> {
    /// Trial number and result of every trial that was finished, in order of the trial numbers.
    pub complete: Vec<(usize, T)>,
    /// Number of trials finished without a gap from trial 0 on.
    pub prefix_count: usize,
    /// Number of trials asked for.
    pub total_count: usize,
}

/// Why a study gave nothing.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StudyError {
    /// The work panicked. Of several such trials this is the one with the lowest number, whatever the number of
    /// threads (unless the study was cancelled meanwhile).
    #[error("could not execute trial {index} of {total_count} (seed {}): it panicked: {message}", seed.0)]
    TrialPanicked {
        /// Number of the trial, from 0.
        index: usize,
        /// Number of trials asked for.
        total_count: usize,
        /// The trial's own seed.
        seed: Seed,
        /// What the panic said.
        message: String,
    },
    /// The system gave no threads.
    #[error("could not start {threads} threads for a study")]
    NoThreads {
        /// Number asked for.
        threads: usize,
        /// What the system said.
        source: rayon::ThreadPoolBuildError,
    },
}

impl Study<'_> {
    /// Executes `work` once for each of `count` trials.
    ///
    /// # Arguments
    /// * `count`: number of trials.
    /// * `scratch`: makes the storage that `work` may reuse from trial to trial; called at most once per thread.
    ///   What a trial leaves in it must not change the result of another.
    /// * `work`: one run. A run that can fail gives a `Result` as its `T`; such failures are results like any other.
    ///
    /// # Errors
    /// [`StudyError::TrialPanicked`] when `work` or `scratch` panics (the panic is also printed by the process's panic
    /// hook), [`StudyError::NoThreads`] when no thread could be started. A panic of the progress function is passed on.
    ///
    /// # Examples
    /// ```
    /// use study::{Seed, Study};
    /// let study = Study { seed: Seed(7), ..Study::default() };
    /// let outcome = study.execute(1000, || (), |trial, ()| trial.index * trial.index)?;
    /// assert_eq!(outcome.into_complete().expect("not cancelled")[31], 961);
    /// # Ok::<(), study::StudyError>(())
    /// ```
    pub fn execute<T: Send, S: Send>(
        &self,
        count: usize,
        scratch: impl Fn() -> S + Sync,
        work: impl Fn(Trial, &mut S) -> T + Sync,
    ) -> Result<Outcome<T>, StudyError> {
        let shared = Shared::new(self, count);
        match self.threads {
            None => shared.work_on(rayon::current_num_threads(), &scratch, &work),
            Some(threads) => rayon::ThreadPoolBuilder::new()
                .num_threads(threads.get())
                .build()
                .map_err(|source| StudyError::NoThreads { threads: threads.get(), source })?
                .install(|| shared.work_on(threads.get(), &scratch, &work)),
        }
        shared.counter.finish_study();
        shared.into_outcome()
    }
}

/// The results of trials `start`, `start + 1`, and so on.
struct Stretch<T> {
    start: usize,
    results: Vec<T>,
}

/// The panic of the lowest-numbered trial that panicked so far.
struct Panicked {
    trial: Trial,
    message: String,
}

/// What the threads of one study share.
struct Shared<'a, T> {
    study: &'a Study<'a>,
    count: usize,
    /// First trial that no thread has taken.
    next: AtomicUsize,
    /// No trial from this number on is wanted: a lower one panicked.
    end: AtomicUsize,
    panicked: Mutex<Option<Panicked>>,
    stretches: Mutex<Vec<Stretch<T>>>,
    counter: Counter<'a>,
}

impl<'a, T: Send> Shared<'a, T> {
    fn new(study: &'a Study<'a>, count: usize) -> Self {
        Shared {
            study,
            count,
            next: AtomicUsize::new(0),
            end: AtomicUsize::new(count),
            panicked: Mutex::new(None),
            stretches: Mutex::new(Vec::new()),
            counter: Counter::new(count, study.progress),
        }
    }

    /// Lets `threads` threads of the current pool take chunks until none is left. Chunks are taken in order, so that a
    /// cancelled study has few gaps.
    fn work_on<S: Send>(
        &self,
        threads: usize,
        scratch: &(impl Fn() -> S + Sync),
        work: &(impl Fn(Trial, &mut S) -> T + Sync),
    ) {
        let chunk = (self.count / (threads * CHUNKS_PER_THREAD_MIN)).clamp(1, CHUNK_TRIALS_MAX);
        rayon::scope(|scope| {
            for _ in 0..threads.min(self.count) {
                scope.spawn(|_| {
                    let mut storage = None;
                    while let Some(start) = self.take(chunk) {
                        let results = self.execute_chunk(start, chunk, &mut storage, scratch, work);
                        locked(&self.stretches).push(Stretch { start, results });
                    }
                });
            }
        });
    }

    /// First trial of the next chunk, if another is wanted.
    fn take(&self, chunk: usize) -> Option<usize> {
        // Looked at first, so that the counter stops growing once nothing is left.
        let wanted = |start: usize| start < self.end.load(Ordering::Relaxed) && !self.is_cancelled();
        if !wanted(self.next.load(Ordering::Relaxed)) {
            return None;
        }
        Some(self.next.fetch_add(chunk, Ordering::Relaxed)).filter(|start| wanted(*start))
    }

    /// Executes up to `chunk` trials from `start` on; fewer when the study ends.
    fn execute_chunk<S>(
        &self,
        start: usize,
        chunk: usize,
        storage: &mut Option<S>,
        scratch: &impl Fn() -> S,
        work: &impl Fn(Trial, &mut S) -> T,
    ) -> Vec<T> {
        let mut results = Vec::with_capacity(chunk);
        for index in start..start.saturating_add(chunk).min(self.count) {
            if index >= self.end.load(Ordering::Relaxed) || self.is_cancelled() {
                break;
            }
            let trial = Trial { index, seed: self.study.seed.of_trial(index) };
            // After a panic this thread takes no more chunks (all that are left lie above `end`), so it never meets
            // storage that was left half written.
            match catch_unwind(AssertUnwindSafe(|| work(trial, storage.get_or_insert_with(scratch)))) {
                Ok(result) => results.push(result),
                Err(payload) => {
                    self.note_panic(trial, payload.as_ref());
                    break;
                }
            }
            self.counter.finish_trial();
        }
        results
    }

    fn note_panic(&self, trial: Trial, payload: &(dyn Any + Send)) {
        self.end.fetch_min(trial.index, Ordering::Relaxed);
        let message = match (payload.downcast_ref::<&str>(), payload.downcast_ref::<String>()) {
            (Some(text), _) => (*text).to_owned(),
            (None, Some(text)) => text.clone(),
            (None, None) => "the panic carried no text".to_owned(),
        };
        let mut panicked = locked(&self.panicked);
        if panicked.as_ref().is_none_or(|before| trial.index < before.trial.index) {
            *panicked = Some(Panicked { trial, message });
        }
    }

    fn is_cancelled(&self) -> bool {
        self.study.cancel.is_some_and(Cancel::is_cancelled)
    }

    /// Puts the stretches in order.
    fn into_outcome(self) -> Result<Outcome<T>, StudyError> {
        let total_count = self.count;
        if let Some(Panicked { trial, message }) = self.panicked.into_inner().unwrap_or_else(PoisonError::into_inner) {
            return Err(StudyError::TrialPanicked { index: trial.index, total_count, seed: trial.seed, message });
        }
        let mut stretches = self.stretches.into_inner().unwrap_or_else(PoisonError::into_inner);
        stretches.sort_unstable_by_key(|stretch| stretch.start);
        let done: usize = stretches.iter().map(|stretch| stretch.results.len()).sum();
        if done == total_count {
            return Ok(Outcome::Complete(stretches.into_iter().flat_map(|stretch| stretch.results).collect()));
        }
        let complete: Vec<(usize, T)> =
            stretches.into_iter().flat_map(|stretch| (stretch.start..).zip(stretch.results)).collect();
        let prefix_count = complete.iter().zip(0..).take_while(|((index, _), place)| index == place).count();
        Ok(Outcome::Cancelled(Partial { complete, prefix_count, total_count }))
    }
}

/// The content of a lock, also after a panic elsewhere: what these locks hold is whole at every moment.
fn locked<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}
