//! The best filling of one bar: a bounded integer knapsack, solved for every room at once.
use super::problem::Work;

/// The most fillings kept side by side; beyond it every second one is dropped, and the list says that it isn't complete.
const MOST_ENDS: usize = 12_000;
/// The most steps remembered.
const MOST_STEPS: usize = 3_000_000;

/// A room to be filled, and the worth that a filling must exceed to be of interest.
#[derive(Debug, Clone, Copy)]
pub(super) struct Want {
    pub room: i64,
    pub above: i64,
}

/// A filling: what it takes, what it is worth.
#[derive(Debug, Clone, Copy)]
pub(super) struct End {
    pub width: i64,
    pub worth: i64,
    step: u32,
}

#[derive(Debug, Clone, Copy)]
struct Step {
    before: u32,
    item: u32,
    times: u32,
}

/// All fillings that no other beats: by width, each worth more than the one before.
#[derive(Debug)]
pub(super) struct Fills {
    ends: Vec<End>,
    steps: Vec<Step>,
    /// Whether nothing better was dropped.
    pub complete: bool,
}

impl Fills {
    /// The fillings of the widest wanted room by pieces `(width, most, worth)`; a piece worth nothing is left out.
    ///
    /// A list of undominated pairs, grown piece by piece (Nemhauser and Ullmann, Management Science 15 (1969) 494–505),
    /// copies taken in powers of two. Fillings that can't exceed any wanted worth are dropped on the way. Once the work is
    /// spent no more pieces are taken in.
    pub fn of(pieces: &[(i64, u32, i64)], wants: &[Want], work: &mut Work) -> Self {
        let room = wants.iter().map(|want| want.room).max().unwrap_or(0);
        let mut fills = Self {
            ends: vec![End { width: 0, worth: 0, step: 0 }],
            steps: vec![Step { before: 0, item: 0, times: 0 }],
            complete: true,
        };
        let mut order: Vec<usize> =
            (0..pieces.len()).filter(|&i| pieces[i].2 > 0 && pieces[i].0 <= room).collect();
        // The one of most value for its width first, so that the rest is soon seen to be worth too little.
        order.sort_by(|&a, &b| {
            let cross = |x: usize, y: usize| i128::from(pieces[x].2) * i128::from(pieces[y].0);
            cross(b, a).cmp(&cross(a, b)).then(a.cmp(&b))
        });
        for (at, &item) in order.iter().enumerate() {
            let (width, most, worth) = pieces[item];
            let mut left = i64::from(most).min(room / width);
            let mut times = 1;
            while left > 0 {
                let now = times.min(left);
                fills.add(item, now, [width * now, worth * now], room, work);
                left -= now;
                times *= 2;
            }
            let next = order.get(at + 1).map_or((0, 1), |&next| (pieces[next].2, pieces[next].0));
            fills.drop_hopeless(next, wants);
        }
        fills
    }

    fn add(&mut self, item: usize, times: i64, [width, worth]: [i64; 2], room: i64, work: &mut Work) {
        if work.is_spent() {
            self.complete = false;
            return;
        }
        work.spend(self.ends.len() * 2 + 1);
        let old = std::mem::take(&mut self.ends);
        let mut plain = old.iter().peekable();
        let mut grown = old.iter().take_while(|end| end.width + width <= room).peekable();
        let mut best = -1;
        loop {
            let first = match (plain.peek(), grown.peek()) {
                (Some(a), Some(b)) => {
                    a.width < b.width + width || (a.width == b.width + width && a.worth >= b.worth + worth)
                }
                (Some(_), None) => true,
                (None, Some(_)) => false,
                (None, None) => break,
            };
            if first {
                if let Some(&end) = plain.next().filter(|end| end.worth > best) {
                    best = end.worth;
                    self.ends.push(end);
                }
            } else if let Some(end) = grown.next().filter(|end| end.worth + worth > best) {
                best = end.worth + worth;
                let step = self.steps.len() as u32;
                self.steps.push(Step { before: end.step, item: item as u32, times: times as u32 });
                self.ends.push(End { width: end.width + width, worth: best, step });
            }
        }
        if self.ends.len() > MOST_ENDS || self.steps.len() > MOST_STEPS {
            self.complete = false;
            // The last, widest filling stays.
            let last = self.ends.len() - 1;
            let mut at = 0..;
            self.ends.retain(|_| at.next().is_some_and(|i: usize| i % 2 == last % 2));
        }
    }

    /// Drops what can't exceed any wanted worth even if the room left were filled at the next piece's rate.
    fn drop_hopeless(&mut self, (worth, width): (i64, i64), wants: &[Want]) {
        let hopeful = |end: &End, want: &Want| {
            let more = i128::from(worth) * i128::from(want.room - end.width) / i128::from(width);
            end.width <= want.room && i128::from(end.worth) + more > i128::from(want.above)
        };
        if wants.iter().any(|want| want.above > 0) {
            self.ends.retain(|end| end.width == 0 || wants.iter().any(|want| hopeful(end, want)));
        }
    }

    /// The filling worth the most in that room: exact if it exceeds what was wanted, else some filling that doesn't.
    pub fn best(&self, room: i64) -> End {
        let after = self.ends.partition_point(|end| end.width <= room);
        self.ends[after.max(1) - 1]
    }

    /// How often each piece is in a filling, in the order of the pieces.
    pub fn cuts(&self, end: End) -> Vec<(usize, u32)> {
        let mut cuts: Vec<(usize, u32)> = Vec::new();
        let mut at = end.step;
        while at > 0 {
            let Step { before, item, times } = self.steps[at as usize];
            match cuts.iter_mut().find(|cut| cut.0 == item as usize) {
                Some(cut) => cut.1 += times,
                None => cuts.push((item as usize, times)),
            }
            at = before;
        }
        cuts.sort_unstable();
        cuts
    }
}
