//! The timetable's question, and whether an answer keeps its rules.
use thiserror::Error;

/// A frame.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Frame {
    /// Meetings, counted from 1, at which it can't be used.
    pub closed: Vec<u32>,
    /// The kinds of rods, counted from 0, a pair of any of which a rug on it needs; none where it needs none.
    pub rods: Vec<usize>,
}

/// A rug that wants a frame.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Rug {
    /// The frames that serve it, counted from 0.
    pub fits: Vec<usize>,
    /// Meetings of work that it takes, at least one.
    pub meetings: u32,
    /// The first meeting at which it may begin, counted from 1.
    pub earliest: u32,
    /// The last meeting at which it may end.
    pub latest: u32,
    /// What placing it counts for.
    pub priority: u32,
    /// Meetings without its weaver: it doesn't begin at one, and one within its stretch makes that longer by one.
    pub absent: Vec<u32>,
    /// The frame and the first meeting that it has and keeps; what of its stretch lies beyond the last meeting is cut off.
    pub fixed: Option<(usize, u32)>,
    /// The frame and the first meeting that it was promised; another is a change.
    pub before: Option<(usize, u32)>,
    /// How much its last meeting weighs among the last meetings of all; 0 is as 1.
    pub haste: u32,
    /// The kinds of rods, counted from 0, a pair of any of which serves it, or none where it needs none; what its frame says
    /// where nothing is said of it.
    pub rods: Option<Vec<usize>>,
}

/// What is to be shared.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    /// How many meetings there are.
    pub meetings: u32,
    /// The frames.
    pub frames: Vec<Frame>,
    /// The rugs.
    pub rugs: Vec<Rug>,
    /// Pairs of each kind of rods that are there, meeting by meeting; the last number holds for all later meetings.
    pub rods: Vec<Vec<u32>>,
    /// Meetings that a frame stays free after a rug, to clean and mend it.
    pub gap: u32,
}

/// A stretch of meetings on a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Placed {
    /// Which frame, counted from 0.
    pub frame: usize,
    /// The first meeting, counted from 1.
    pub from: u32,
    /// The last meeting.
    pub to: u32,
}

/// The most rugs times frames times meetings.
pub const MOST_PLACES: usize = 250_000;

/// The most meetings, and the most of them free between two rugs.
pub const MOST_MEETINGS: u32 = 500;

/// A question that can't be answered.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ProblemError {
    /// A rug's number of meetings, first or last meeting makes no sense.
    #[error("Rug {number}: {what} is {given}: from {least} to {most} is allowed.")]
    Range {
        /// Which rug, counted from 1.
        number: usize,
        /// Of what.
        what: &'static str,
        /// What was given.
        given: u32,
        /// The least.
        least: u32,
        /// The most.
        most: u32,
    },
    /// A rug names a frame or a kind of rods that there isn't.
    #[error("Rug {number} names {what} that there isn't.")]
    Unknown {
        /// Which rug, counted from 1.
        number: usize,
        /// What.
        what: &'static str,
    },
    /// A frame names a kind of rods that there isn't.
    #[error("Frame {number} names a kind of rods that there isn't.")]
    FrameRods {
        /// Which frame, counted from 1.
        number: usize,
    },
    /// More meetings than any term has.
    #[error("{given} {what} are too many: {most} at most are allowed.")]
    TooMany {
        /// Of what.
        what: &'static str,
        /// What was given.
        given: u32,
        /// The most.
        most: u32,
    },
    /// More than is computed.
    #[error("{places} places are too many: rugs times frames times meetings may be {MOST_PLACES} at most.")]
    TooLarge {
        /// How many.
        places: usize,
    },
}

impl Problem {
    /// Whether the question makes sense.
    ///
    /// # Errors
    /// [`ProblemError`]: something out of range, or more than is computed.
    pub fn check(&self) -> Result<(), ProblemError> {
        for (what, given) in [("meetings", self.meetings), ("meetings between two rugs", self.gap)] {
            if given > MOST_MEETINGS {
                return Err(ProblemError::TooMany { what, given, most: MOST_MEETINGS });
            }
        }
        let places = self.rugs.len().saturating_mul(self.frames.len()).saturating_mul(self.meetings as usize);
        if places > MOST_PLACES {
            return Err(ProblemError::TooLarge { places });
        }
        // A rug may be free to begin or end beyond the last meeting; it isn't placed there.
        let most = 10_000;
        for (rug, number) in self.rugs.iter().zip(1..) {
            for (what, given, least, most) in [
                ("its number of meetings", rug.meetings, 1, 1_000),
                ("its first possible meeting", rug.earliest, 1, most),
                ("its last possible meeting", rug.latest, 1, most),
                ("its priority", rug.priority, 0, 1_000_000),
                ("its haste", rug.haste, 0, 100),
            ] {
                if !(least..=most).contains(&given) {
                    return Err(ProblemError::Range { number, what, given, least, most });
                }
            }
            let frames = rug.fits.iter().chain(rug.fixed.as_ref().map(|(frame, _)| frame));
            if frames.into_iter().any(|frame| *frame >= self.frames.len()) {
                return Err(ProblemError::Unknown { number, what: "a frame" });
            }
            if rug.rods.iter().flatten().any(|kind| *kind >= self.rods.len()) {
                return Err(ProblemError::Unknown { number, what: "a kind of rods" });
            }
        }
        let frames = self.frames.iter().zip(1..);
        if let Some((_, number)) =
            frames.into_iter().find(|(frame, _)| frame.rods.iter().any(|kind| *kind >= self.rods.len()))
        {
            return Err(ProblemError::FrameRods { number });
        }
        Ok(())
    }

    /// The last meeting of a rug that begins at `from`, however late that is.
    pub(super) fn end_of(&self, rug: usize, from: u32) -> u32 {
        let rug = &self.rugs[rug];
        let (mut at, mut left) = (from, rug.meetings.max(1));
        loop {
            // Nobody is absent beyond the last meeting, so this ends.
            if at > self.meetings || !rug.absent.contains(&at) {
                left -= 1;
            }
            if left == 0 {
                return at;
            }
            at += 1;
        }
    }

    /// Pairs of a kind of rods that are there at a meeting, counted from 1.
    pub fn pairs(&self, kind: usize, meeting: u32) -> u32 {
        let pairs = &self.rods[kind];
        pairs.get(meeting as usize - 1).or(pairs.last()).copied().unwrap_or(0)
    }

    /// The kinds of rods, a pair of any of which a rug needs on a frame.
    pub fn kinds(&self, rug: usize, frame: usize) -> &[usize] {
        self.rugs[rug].rods.as_deref().unwrap_or(&self.frames[frame].rods)
    }

    /// Rugs that had a place before and have another now, or none.
    pub(super) fn changes(&self, placed: &[Option<Placed>]) -> u32 {
        let moved = |(placed, rug): &(&Option<Placed>, &Rug)| {
            rug.before.is_some_and(|before| placed.is_none_or(|placed| (placed.frame, placed.from) != before))
        };
        placed.iter().zip(&self.rugs).filter(moved).count() as u32
    }

    /// The place of a rug that keeps what it has; nothing of it where it lies beyond the meetings.
    pub(super) fn fixed_place(&self, rug: usize) -> Option<Placed> {
        let (frame, from) = self.rugs[rug].fixed?;
        let to = self.end_of(rug, from).min(self.meetings);
        (from >= 1 && from <= to).then_some(Placed { frame, from, to })
    }

    /// Whether an answer keeps every rule: each rug's place, and the kind of rods that it takes.
    ///
    /// # Errors
    /// In words, the first rule that is broken.
    pub fn holds(&self, placed: &[Option<Placed>], rods: &[Option<usize>]) -> Result<(), String> {
        if placed.len() != self.rugs.len() || rods.len() != self.rugs.len() {
            return Err("not every rug is answered for".into());
        }
        let every = || placed.iter().enumerate().filter_map(|(rug, placed)| Some((rug, (*placed)?)));
        for (at, place) in every() {
            let (rug, name) = (&self.rugs[at], at + 1);
            if rug.fixed.is_some() {
                if self.fixed_place(at) != Some(place) {
                    return Err(format!("rug {name} doesn't keep its place"));
                }
                continue;
            }
            if !rug.fits.contains(&place.frame) {
                return Err(format!("rug {name} is on a frame that doesn't serve it"));
            }
            if place.from < rug.earliest || place.to > rug.latest.min(self.meetings) {
                return Err(format!("rug {name} lies outside its meetings"));
            }
            if rug.absent.contains(&place.from) || place.to != self.end_of(at, place.from) {
                return Err(format!("rug {name} has another number of meetings than it needs"));
            }
            let kinds = self.kinds(at, place.frame);
            if !rods[at].map_or(kinds.is_empty(), |kind| kinds.contains(&kind)) {
                return Err(format!("rug {name} has no rods that serve it"));
            }
            let closed = &self.frames[place.frame].closed;
            if (place.from..=(place.to + self.gap).min(self.meetings))
                .any(|meeting| closed.contains(&meeting))
            {
                return Err(format!("rug {name} is on a frame that is closed"));
            }
        }
        for (at, one) in every() {
            for (other, two) in every().filter(|(other, _)| *other > at) {
                let apart = one.to + self.gap < two.from || two.to + self.gap < one.from;
                if one.frame == two.frame && !apart {
                    return Err(format!("rugs {} and {} have one frame at one time", at + 1, other + 1));
                }
            }
        }
        for kind in 0..self.rods.len() {
            for meeting in 1..=self.meetings {
                let using = |(at, place): &(usize, Placed)| {
                    rods[*at] == Some(kind) && (place.from..=place.to).contains(&meeting)
                };
                // Rods that are out already are out, however many there are said to be.
                let out = every().filter(using).filter(|(at, _)| self.rugs[*at].fixed.is_some()).count();
                let all = every().filter(using).count();
                if all > out && all as u32 > self.pairs(kind, meeting) {
                    return Err(format!("there aren't rods enough at meeting {meeting}"));
                }
            }
        }
        Ok(())
    }
}
