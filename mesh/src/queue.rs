//! Triangles that wait to be refined, the worst first, but only nearly.
//!
//! Triangles about as bad as each other share a shelf, and the one found first is taken first: triangles follow
//! each other in place as their parents did, so that what they need is still in the cache, and a strict order's
//! jumps across the part are spared. (The one found last would be nearer still, but a front of finished triangles
//! moving through coarse ones leaves an eighth more of them.) Large triangles come before thin ones.

use spade::handles::FixedDirectedEdgeHandle;
use std::collections::VecDeque;

/// Shelves for thin triangles.
const THIN_SHELVES: usize = 8;
/// Shelves to a power of two: the two leading binary digits of a number tell them apart.
const SHELVES_PER_DOUBLING: u32 = 4;
/// Shelves for large triangles, up to 2^16 times too large; larger ones share the last shelf.
const LARGE_SHELVES: u32 = 16 * SHELVES_PER_DOUBLING;

/// How bad a triangle is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Fault {
    /// So many times larger than it may be, at least once.
    Large(f64),
    /// The smallest angle as a fraction of the one that is good enough.
    Thin(f64),
}

/// A triangle that may be gone when its turn comes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Task {
    /// The edge from the first to the second corner.
    pub(crate) edge: FixedDirectedEdgeHandle,
    /// The third corner.
    pub(crate) apex: u32,
    /// The first corner.
    pub(crate) from: u32,
    pub(crate) is_large: bool,
}

/// The triangles that wait.
#[derive(Debug)]
pub(crate) struct Queue {
    shelves: Vec<VecDeque<Task>>,
    /// All shelves from here on are empty.
    top: usize,
}

impl Queue {
    pub(crate) fn new() -> Self {
        Self { shelves: vec![VecDeque::new(); THIN_SHELVES + LARGE_SHELVES as usize], top: 0 }
    }

    pub(crate) fn push(&mut self, fault: Fault, task: Task) {
        let shelf = shelf(fault);
        self.shelves[shelf].push_back(task);
        self.top = self.top.max(shelf + 1);
    }

    /// The next triangle.
    pub(crate) fn pop(&mut self) -> Option<Task> {
        while self.top > 0 {
            let task = self.shelves[self.top - 1].pop_front();
            if task.is_some() {
                return task;
            }
            self.top -= 1;
        }
        None
    }
}

fn shelf(fault: Fault) -> usize {
    match fault {
        Fault::Thin(fraction) => {
            let better = |k: usize| fraction >= 1.0 - (k + 1) as f64 / THIN_SHELVES as f64;
            (0..THIN_SHELVES).find(|&k| better(k)).unwrap_or(THIN_SHELVES - 1)
        }
        Fault::Large(ratio) => {
            let mut shelf = 0;
            let (mut ratio, mut limit) = (ratio, 1.0);
            while ratio >= 2.0 && shelf + SHELVES_PER_DOUBLING < LARGE_SHELVES {
                ratio *= 0.5;
                shelf += SHELVES_PER_DOUBLING;
            }
            for _ in 1..SHELVES_PER_DOUBLING {
                limit += 1.0 / f64::from(SHELVES_PER_DOUBLING);
                shelf += u32::from(ratio >= limit);
            }
            THIN_SHELVES + shelf as usize
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_worse_is_on_a_higher_shelf_and_what_is_about_as_bad_on_the_same() {
        let faults = [
            Fault::Thin(0.95),
            Fault::Thin(0.6),
            Fault::Thin(-0.1),
            Fault::Large(1.1),
            Fault::Large(1.4),
            Fault::Large(2.0),
            Fault::Large(2.6),
            Fault::Large(1e4),
            Fault::Large(f64::INFINITY),
        ];
        let shelves = faults.map(shelf);
        assert!(shelves.is_sorted_by(|a, b| a < b), "{shelves:?}");
        assert!(shelves[8] < THIN_SHELVES + LARGE_SHELVES as usize, "the last one exists");
        assert_eq!(shelf(Fault::Large(1.3)), shelf(Fault::Large(1.4)), "about as bad");
    }
}
