//! Order, repeatability, early end and failure of studies, on one thread and on several.

use std::collections::HashSet;
use std::num::NonZeroUsize;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use study::{Cancel, Outcome, PROGRESS_CALLS_MAX, Progress, Seed, Study, StudyError, Trial};

const THREADS: [Option<NonZeroUsize>; 4] = [NonZeroUsize::new(1), NonZeroUsize::new(2), NonZeroUsize::new(5), None];

/// A sum whose bits depend on the order of its terms, drawn from the trial's seed.
fn sum_of_draws(trial: Trial, terms: usize) -> f64 {
    (0..terms).map(|term| 1.0 / (1.0 + trial.seed.of_trial(term).0 as f64 * 2_f64.powi(-64))).sum()
}

#[test]
fn results_are_those_of_a_plain_loop_whatever_the_number_of_threads() {
    let seed = Seed(20);
    for count in [0, 1, 2, 15, 16, 17, 1000, 4097] {
        let plain: Vec<u64> =
            (0..count).map(|index| sum_of_draws(Trial { index, seed: seed.of_trial(index) }, 50).to_bits()).collect();
        for threads in THREADS {
            let study = Study { seed, threads, ..Study::default() };
            let outcome = study.execute(count, || (), |trial, ()| sum_of_draws(trial, 50).to_bits()).unwrap();
            assert_eq!(outcome.into_complete().as_ref(), Some(&plain), "{count} trials, {threads:?} threads");
        }
    }
}

#[test]
fn trials_of_one_study_and_of_neighbouring_studies_have_different_seeds() {
    let seeds: HashSet<u64> =
        (0..10).flat_map(|study| (0..10_000).map(move |index| Seed(study).of_trial(index).0)).collect();
    assert_eq!(seeds.len(), 100_000);
}

#[test]
fn scratch_is_made_once_per_thread_and_reused() {
    for threads in [1, 2, 5] {
        let made = AtomicUsize::new(0);
        let study = Study { threads: NonZeroUsize::new(threads), ..Study::default() };
        let make = || {
            made.fetch_add(1, Ordering::Relaxed);
            Vec::<usize>::new()
        };
        let outcome = study.execute(500, make, |trial, storage| {
            storage.clear();
            storage.extend(0..=trial.index);
            storage.iter().sum::<usize>()
        });
        assert_eq!(outcome.unwrap().into_complete().unwrap()[499], 499 * 500 / 2);
        assert!((1..=threads).contains(&made.into_inner()));
    }
}

#[test]
fn a_cancelled_study_gives_what_is_complete() {
    for threads in THREADS {
        let cancel = Cancel::default();
        let study = Study { threads, cancel: Some(&cancel), ..Study::default() };
        let outcome = study.execute(
            100_000,
            || (),
            |trial, ()| {
                if trial.index == 700 {
                    cancel.cancel();
                }
                trial.index * 3
            },
        );
        let Outcome::Cancelled(partial) = outcome.unwrap() else { panic!("{threads:?} threads: not cancelled") };
        assert_eq!(partial.total_count, 100_000);
        assert!(partial.complete.len() < 100_000);
        assert!(partial.complete.windows(2).all(|pair| pair[0].0 < pair[1].0));
        assert!(partial.complete.iter().all(|(index, result)| *result == index * 3));
        assert!(partial.complete.iter().any(|(index, _)| *index == 700), "a trial under way is finished");
        let prefix = partial.prefix_count;
        assert!(partial.complete[..prefix].iter().map(|(index, _)| *index).eq(0..prefix));
        assert_ne!(partial.complete.get(prefix).map(|(index, _)| *index), Some(prefix));
        if threads == NonZeroUsize::new(1) {
            assert_eq!((partial.complete.len(), prefix), (701, 701));
        }
    }
}

#[test]
fn a_study_cancelled_before_it_begins_executes_nothing() {
    let cancel = Cancel::default();
    cancel.clone().cancel();
    let study = Study { cancel: Some(&cancel), ..Study::default() };
    let outcome = study.execute(10, || (), |_, ()| -> u8 { panic!("executed") }).unwrap();
    let Outcome::Cancelled(partial) = outcome else { panic!("not cancelled") };
    assert_eq!((partial.complete.len(), partial.prefix_count, partial.total_count), (0, 0, 10));
}

#[test]
fn a_flag_raised_after_the_last_trial_does_not_spoil_a_complete_study() {
    let cancel = Cancel::default();
    let study = Study { threads: NonZeroUsize::new(1), cancel: Some(&cancel), ..Study::default() };
    let outcome = study.execute(
        10,
        || (),
        |trial, ()| {
            if trial.index == 9 {
                cancel.cancel();
            }
        },
    );
    assert!(outcome.unwrap().into_complete().is_some());
}

#[test]
fn a_panic_becomes_an_error_that_names_the_lowest_trial() {
    for threads in THREADS {
        let study = Study { seed: Seed(3), threads, ..Study::default() };
        let outcome = study.execute(
            2000,
            || (),
            |trial, ()| {
                assert!(trial.index % 1000 != 377, "no lock at trial {}", trial.index);
            },
        );
        let error = outcome.unwrap_err();
        let StudyError::TrialPanicked { index, seed, ref message, .. } = error else { panic!("{error}") };
        assert_eq!((index, seed, message.as_str()), (377, Seed(3).of_trial(377), "no lock at trial 377"));
        assert!(error.to_string().starts_with("could not execute trial 377 of 2000 (seed "), "{error}");
    }
}

/// The first chunk is held back until a later one has panicked, and is still executed to its own, lower panic.
#[test]
fn trials_below_a_panic_are_still_executed() {
    let later = AtomicBool::new(false);
    let study = Study { threads: NonZeroUsize::new(2), ..Study::default() };
    let outcome = study.execute(
        600,
        || (),
        |trial, ()| {
            if trial.index == 0 {
                while !later.load(Ordering::Acquire) {
                    std::thread::yield_now();
                }
            }
            if trial.index >= 16 {
                later.store(true, Ordering::Release);
                // As a panic, but without the time that printing it takes.
                std::panic::resume_unwind(Box::new("later"));
            }
            std::hint::black_box(sum_of_draws(trial, 500_000));
            assert!(trial.index < 9, "earlier");
        },
    );
    let error = outcome.unwrap_err();
    assert!(matches!(&error, StudyError::TrialPanicked { index: 9, message, .. } if message == "earlier"), "{error}");
}

#[test]
fn progress_rises_to_the_end_in_few_calls() {
    for threads in THREADS {
        for count in [0, 1, 7, 99, 100, 101, 12_345] {
            let calls = Mutex::new(Vec::new());
            let report = |progress: Progress| calls.lock().unwrap().push(progress);
            let study = Study { threads, progress: Some(&report), ..Study::default() };
            study.execute(count, || (), |_, ()| ()).unwrap();
            let calls = calls.into_inner().unwrap();
            assert!((1..=PROGRESS_CALLS_MAX).contains(&calls.len()), "{} calls", calls.len());
            assert!(calls.windows(2).all(|pair| pair[0].done < pair[1].done), "{calls:?}");
            assert_eq!(calls.last(), Some(&Progress { done: count, total: count }));
        }
    }
}

#[test]
fn progress_of_a_cancelled_study_ends_at_what_is_complete() {
    let cancel = Cancel::default();
    let last = Mutex::new(None);
    let report = |progress: Progress| {
        *last.lock().unwrap() = Some(progress);
        if progress.done >= 500 {
            cancel.cancel();
        }
    };
    let study = Study { progress: Some(&report), cancel: Some(&cancel), ..Study::default() };
    let outcome = study.execute(5000, || (), |trial, ()| trial.index).unwrap();
    let Outcome::Cancelled(partial) = outcome else { panic!("not cancelled") };
    assert_eq!(last.into_inner().unwrap(), Some(Progress { done: partial.complete.len(), total: 5000 }));
}

#[test]
fn a_study_may_be_the_work_of_another() {
    for threads in THREADS {
        let outer = Study { threads, ..Study::default() };
        let outcome = outer.execute(
            20,
            || (),
            |trial, ()| {
                let inner = Study { seed: trial.seed, ..Study::default() };
                let sums =
                    inner.execute(30, || (), |trial, ()| sum_of_draws(trial, 5)).unwrap().into_complete().unwrap();
                sums.iter().sum::<f64>().to_bits()
            },
        );
        let plain: Vec<u64> = (0..20)
            .map(|index| {
                let seed = Seed::default().of_trial(index);
                let sums = (0..30).map(|index| sum_of_draws(Trial { index, seed: seed.of_trial(index) }, 5));
                sums.sum::<f64>().to_bits()
            })
            .collect();
        assert_eq!(outcome.unwrap().into_complete(), Some(plain));
    }
}
