//! Work shared by threads, its results in the order of the work.

use std::num::NonZeroUsize;
use std::sync::{Mutex, PoisonError};

/// The threads that the machine can run at once.
#[must_use]
pub fn cores() -> NonZeroUsize {
    std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN)
}

/// What `work` makes of each item, on at most so many threads, one of them the caller's. Where the
/// machine gives no more threads, the others do their share. A panic of `work` is the caller's.
pub fn map<T: Send, R: Send>(
    items: Vec<T>,
    threads: NonZeroUsize,
    work: impl Fn(T) -> R + Sync,
) -> Vec<R> {
    let threads = threads.get().min(items.len());
    let mut results: Vec<Option<R>> = items.iter().map(|_| None).collect();
    let queue = Mutex::new(items.into_iter().zip(&mut results));
    let next = || queue.lock().unwrap_or_else(PoisonError::into_inner).next();
    let share = || {
        while let Some((item, result)) = next() {
            *result = Some(work(item));
        }
    };
    std::thread::scope(|scope| {
        for _ in 1..threads {
            let _ = std::thread::Builder::new().spawn_scoped(scope, share);
        }
        share();
    });
    results.into_iter().flatten().collect()
}

/// What two pieces of work give, the first on another thread where there may be two and the machine gives
/// one, else after the second. A panic of either is the caller's.
pub fn beside<A: Send, B>(
    threads: NonZeroUsize,
    other: impl Fn() -> A + Sync,
    own: impl FnOnce() -> B,
) -> (A, B) {
    let (given, own) = std::thread::scope(|scope| {
        let builder = std::thread::Builder::new();
        let thread =
            if threads.get() > 1 { builder.spawn_scoped(scope, &other).ok() } else { None };
        let own = own();
        (thread.map(std::thread::ScopedJoinHandle::join), own)
    });
    let given = match given {
        Some(Ok(given)) => given,
        Some(Err(panic)) => std::panic::resume_unwind(panic),
        None => other(),
    };
    (given, own)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_stand_in_the_order_of_the_items() {
        for threads in [1, 2, 7, 100] {
            let threads = NonZeroUsize::new(threads).unwrap_or(NonZeroUsize::MIN);
            let squares = map((0..50_u64).collect(), threads, |item| item * item);
            assert_eq!(squares, (0..50).map(|item| item * item).collect::<Vec<_>>());
        }
    }

    #[test]
    fn work_beside_other_work() {
        for threads in [1, 2] {
            let threads = NonZeroUsize::new(threads).unwrap_or(NonZeroUsize::MIN);
            let words = ["a", "b"];
            assert_eq!(beside(threads, || words.concat(), || words.len()), ("ab".to_owned(), 2));
            let failed = std::panic::catch_unwind(|| beside(threads, || panic!("other"), || 2));
            assert!(failed.is_err());
        }
    }

    #[test]
    fn a_panic_is_the_callers() {
        let two = NonZeroUsize::MIN.saturating_add(1);
        let failed = std::panic::catch_unwind(|| {
            map(vec![1, 2, 3], two, |item| assert!(item != 2, "two"));
        });
        assert!(failed.is_err());
    }
}
