//! Work shared out among the cores of the machine.
//!
//! In: items, and what is to be done with each. Out: what came of each, in the order of the items, so
//! that neither the number of cores nor their pace changes a result.
//! Assumes that the work on one item does not hang on that of another. Where the machine gives no
//! more threads, fewer do the work; one always does.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{self, Builder};

/// How many there are, as far as the machine tells.
pub fn count() -> usize {
    thread::available_parallelism().map_or(1, NonZero::get)
}

/// Does `work` for each item, as many at once as there are cores.
pub fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    at_once(count(), items, work)
}

/// Does `work` for each item, up to `most` at once: more than there are cores where the work is to
/// wait for something else.
pub fn at_once<T: Sync, R: Send>(
    most: usize,
    items: &[T],
    work: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let share = || {
        let mut done = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(at) else { break done };
            done.push((at, work(item)));
        }
    };
    let mut done = thread::scope(|scope| {
        let start = |_| Builder::new().spawn_scoped(scope, share).ok();
        let others: Vec<_> = (1..most.min(items.len())).map_while(start).collect();
        let mut done = share();
        for other in others {
            done.extend(other.join().unwrap_or_else(|panic| resume_unwind(panic)));
        }
        done
    });
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::{at_once, each};

    #[test]
    fn results_stand_in_the_order_of_the_items() {
        let items: Vec<u64> = (0..1000).collect();
        let squares: Vec<u64> = items.iter().map(|item| item * item).collect();
        assert_eq!(each(&items, |item| item * item), squares);
        assert_eq!(at_once(50, &items, |item| item * item), squares);
        assert!(each(&[0_u64; 0], |item| *item).is_empty());
    }
}
