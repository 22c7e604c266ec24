//! Whether answers that people got at the same time could have been given one after the other: linearisability.
//!
//! Source: Herlihy and Wing, Linearizability: a correctness condition for concurrent objects, ACM TOPLAS 12 (1990) 463–492
//! (what is asked: an order of all calls that keeps to who had heard before who asked, and that a single copy could have
//! answered; and that objects may be judged one by one); Wing and Gong, Testing and verifying concurrent objects, J. Parallel
//! and Distributed Computing 17 (1993) 164–182 (how it is searched for). Both from memory.
use std::collections::HashSet;
use std::fmt::{Debug, Write as _};
use std::hash::Hash;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// What was asked and what was answered, judged against a state of a small model.
pub trait Step: Debug {
    /// All that the model knows.
    type State: Clone + Debug + Eq + Hash;

    /// The state afterwards; `None` where this isn't the answer that the state gives.
    fn after(&self, state: &Self::State) -> Option<Self::State>;
}

/// One call: who made it, and when it was asked and answered, by a counter that all share.
#[derive(Debug)]
pub struct Call<S> {
    pub who: usize,
    pub asked: u64,
    pub answered: u64,
    pub step: S,
}

/// The counter.
#[derive(Clone, Debug, Default)]
pub struct Order(Arc<AtomicU64>);

impl Order {
    pub fn next(&self) -> u64 {
        self.0.fetch_add(1, Ordering::SeqCst)
    }
}

/// The state after all calls in some order that explains every answer; or, in words, how far the best order gets.
pub fn explain<S: Step>(start: &S::State, calls: &[Call<S>]) -> Result<S::State, String> {
    assert!(calls.len() <= 64, "a history of {} calls is too long to judge", calls.len());
    let mut search =
        Search { calls, seen: HashSet::new(), order: Vec::new(), longest: (Vec::new(), start.clone()) };
    if let Some(end) = search.from(0, start) {
        return Ok(end);
    }
    let (order, state) = search.longest;
    let mut text = String::from("no order explains these answers. The longest that explains any:\n");
    for at in &order {
        let Call { who, asked, answered, step } = &calls[*at];
        let _ = writeln!(text, "  {asked:>4} to {answered:>4}, client {who}: {step:?}");
    }
    let _ = writeln!(text, "then it is {state:?}, and none of these fits:");
    for (_, Call { who, asked, answered, step }) in
        calls.iter().enumerate().filter(|(at, _)| !order.contains(at))
    {
        let _ = writeln!(text, "  {asked:>4} to {answered:>4}, client {who}: {step:?}");
    }
    Err(text)
}

struct Search<'a, S: Step> {
    calls: &'a [Call<S>],
    /// Where the search has been: which calls were taken, and what the state was then.
    seen: HashSet<(u64, S::State)>,
    order: Vec<usize>,
    longest: (Vec<usize>, S::State),
}

impl<S: Step> Search<'_, S> {
    fn from(&mut self, taken: u64, state: &S::State) -> Option<S::State> {
        let open = || (0..self.calls.len()).filter(|at| taken & 1 << at == 0);
        // One who asked after another had their answer comes after them.
        let Some(first_heard) = open().map(|at| self.calls[at].answered).min() else {
            return Some(state.clone());
        };
        let next: Vec<usize> = open().filter(|at| self.calls[*at].asked < first_heard).collect();
        for at in next {
            let Some(after) = self.calls[at].step.after(state) else { continue };
            if !self.seen.insert((taken | 1 << at, after.clone())) {
                continue;
            }
            self.order.push(at);
            if self.order.len() > self.longest.0.len() {
                self.longest = (self.order.clone(), after.clone());
            }
            if let Some(end) = self.from(taken | 1 << at, &after) {
                return Some(end);
            }
            self.order.pop();
        }
        None
    }
}

/// Numbers from a seed, one after the other.
///
/// Source: Marsaglia, Xorshift RNGs, J. Statistical Software 8 (2003) no. 14; the triple 13, 7, 17; from memory.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        let mut chance = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        // Seeds that are near each other begin alike.
        for _ in 0..8 {
            chance.next();
        }
        chance
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// A number below `many`.
    pub fn below(&mut self, many: usize) -> usize {
        (self.next() % many as u64) as usize
    }

    /// One of these.
    pub fn of<'a, T>(&mut self, these: &'a [T]) -> &'a T {
        &these[self.below(these.len())]
    }
}

#[cfg(test)]
mod tests {
    use super::{Call, Step, explain};

    /// A single number that is written and read.
    #[derive(Debug)]
    enum Number {
        Write(i64),
        Read(i64),
        /// Takes some away, if there is so much.
        Take(i64, bool),
    }

    impl Step for Number {
        type State = i64;

        fn after(&self, state: &i64) -> Option<i64> {
            match *self {
                Self::Write(n) => Some(n),
                Self::Read(n) => (n == *state).then_some(n),
                Self::Take(n, true) => (n <= *state).then_some(*state - n),
                Self::Take(n, false) => (n > *state).then_some(*state),
            }
        }
    }

    /// Calls from when they were asked and answered, and what.
    fn history(calls: impl IntoIterator<Item = (u64, u64, Number)>) -> Vec<Call<Number>> {
        let call = |(who, (asked, answered, step))| Call { who, asked, answered, step };
        calls.into_iter().enumerate().map(call).collect()
    }

    use Number::{Read, Take, Write};

    #[test]
    fn calls_at_the_same_time_may_come_in_either_order() {
        let both = |read| history([(0, 3, Write(1)), (1, 2, Read(read))]);
        assert_eq!(explain(&0, &both(0)), Ok(1));
        assert_eq!(explain(&0, &both(1)), Ok(1));
        assert!(explain(&0, &both(2)).is_err());
        assert_eq!(explain::<Number>(&7, &[]), Ok(7));
    }

    #[test]
    fn what_was_heard_before_something_else_was_asked_comes_before_it() {
        // Read after the write was answered, and yet the old number.
        let stale = history([(0, 1, Write(1)), (2, 3, Read(0))]);
        let told = explain(&0, &stale).unwrap_err();
        assert!(
            told.contains("Write(1)") && told.contains("none of these fits") && told.contains("Read(0)"),
            "{told}"
        );
        // One reader has seen the new number, and a later one sees the old one again.
        assert!(explain(&0, &history([(0, 9, Write(1)), (1, 2, Read(1)), (3, 4, Read(0))])).is_err());
        assert!(explain(&0, &history([(0, 9, Write(1)), (1, 2, Read(0)), (3, 4, Read(1))])).is_ok());
    }

    #[test]
    fn two_who_take_the_same_are_found_out() {
        let both = |one, other| history([(0, 3, Take(6, one)), (1, 4, Take(6, other)), (5, 6, Read(4))]);
        assert_eq!(explain(&10, &both(true, false)), Ok(4));
        assert_eq!(explain(&10, &both(false, true)), Ok(4));
        assert!(explain(&10, &both(true, true)).is_err(), "a lost update");
        assert!(explain(&10, &both(false, false)).is_err(), "refused what was there");
    }

    #[test]
    fn the_search_goes_back_where_the_first_way_leads_nowhere() {
        // Only writing 2 last explains the last reading, though 1 was asked first and all overlap.
        let tangled = [(0, 20, Write(2)), (1, 19, Write(1)), (2, 18, Read(1)), (21, 22, Read(2))];
        assert_eq!(explain(&0, &history(tangled)), Ok(2));
        let many = (0..12).map(|n| (n, 40 + n, Write(n as i64)));
        assert_eq!(explain(&0, &history(many.chain([(60, 61, Read(5))]))), Ok(5));
        let many = (0..12).map(|n| (n, 40 + n, Write(n as i64)));
        assert!(explain(&0, &history(many.chain([(60, 61, Read(12))]))).is_err());
    }
}
