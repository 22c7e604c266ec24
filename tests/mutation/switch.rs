//! Written into the copy as `mutant.rs`: which fault is switched on, by an environment variable, or which are reached.
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::Relaxed};
use std::sync::{Mutex, OnceLock};

const UNREAD: usize = usize::MAX;
const TRACE: usize = usize::MAX - 1;
const NONE: usize = usize::MAX - 2;
static CHOSEN: AtomicUsize = AtomicUsize::new(UNREAD);
static REACHED: [AtomicBool; COUNT] = [const { AtomicBool::new(false) }; COUNT];
static TRACES: OnceLock<Mutex<File>> = OnceLock::new();

#[inline]
pub fn on(id: usize) -> bool {
    let chosen = CHOSEN.load(Relaxed);
    chosen == id || (chosen >= TRACE && unusual(id))
}

#[cold]
#[inline(never)]
fn unusual(id: usize) -> bool {
    let mut chosen = CHOSEN.load(Relaxed);
    if chosen == UNREAD {
        chosen = if std::env::var_os("MUTANT_TRACE").is_some() {
            TRACE
        } else {
            std::env::var("MUTANT").ok().and_then(|id| id.parse().ok()).unwrap_or(NONE)
        };
        CHOSEN.store(chosen, Relaxed);
    }
    if chosen == TRACE && !REACHED[id].swap(true, Relaxed) {
        let open = || {
            let path = std::env::var_os("MUTANT_TRACE").unwrap();
            Mutex::new(OpenOptions::new().create(true).append(true).open(path).unwrap())
        };
        TRACES.get_or_init(open).lock().unwrap().write_all(format!("{id}\n").as_bytes()).unwrap();
    }
    chosen == id
}

/// Iterators of two types as one.
#[derive(Clone, Debug)]
pub enum Either<L, R> {
    Left(L),
    Right(R),
}

impl<L: Iterator, R: Iterator<Item = L::Item>> Iterator for Either<L, R> {
    type Item = L::Item;
    fn next(&mut self) -> Option<L::Item> {
        match self {
            Self::Left(l) => l.next(),
            Self::Right(r) => r.next(),
        }
    }
    fn size_hint(&self) -> (usize, Option<usize>) {
        match self {
            Self::Left(l) => l.size_hint(),
            Self::Right(r) => r.size_hint(),
        }
    }
}

impl<L: DoubleEndedIterator, R: DoubleEndedIterator<Item = L::Item>> DoubleEndedIterator for Either<L, R> {
    fn next_back(&mut self) -> Option<L::Item> {
        match self {
            Self::Left(l) => l.next_back(),
            Self::Right(r) => r.next_back(),
        }
    }
}

impl<L: ExactSizeIterator, R: ExactSizeIterator<Item = L::Item>> ExactSizeIterator for Either<L, R> {}
