//! The rules of a timetable, written apart from the program: which of them an answer breaks, and the best of all answers by
//! trying every one. Words as in `solve timetable --help`.
use serde::Serialize;
use serde_json::Value;

use crate::support::solve::Dice;

#[derive(Clone, Debug, Serialize)]
pub struct Term {
    pub meetings: u32,
    pub gap: u32,
    pub frames: Vec<Frame>,
    pub rods: Vec<Rods>,
    pub rugs: Vec<Rug>,
}

#[derive(Clone, Debug, Serialize)]
pub struct Frame {
    pub id: usize,
    pub closed: Vec<u32>,
}

#[derive(Clone, Debug, Serialize)]
pub struct Rods {
    pub id: usize,
    /// One for each meeting.
    pub pairs: Vec<u32>,
}

#[derive(Clone, Debug, Serialize)]
pub struct Rug {
    pub id: usize,
    pub fits: Vec<usize>,
    pub meetings: u32,
    pub earliest: u32,
    pub latest: u32,
    pub priority: u32,
    pub haste: u32,
    pub absent: Vec<u32>,
    pub rods: Option<usize>,
    pub fixed: Option<Start>,
    pub before: Option<Start>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Start {
    pub frame: usize,
    pub from: u32,
}

/// A rug's frame and its first and last meeting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    pub frame: usize,
    pub from: u32,
    pub to: u32,
}

/// How good a timetable is: more priority, then fewer changes, then sooner. Greater is better.
pub type Worth = (u64, i64, i64);

impl Rug {
    /// The last meeting of a rug that begins at `from`: as many meetings with its weaver as it takes. Nothing when the term
    /// is over before.
    fn done_at(&self, from: u32, last: u32) -> Option<u32> {
        let with_weaver = (from..=last).filter(|meeting| !self.absent.contains(meeting));
        with_weaver
            .take(self.meetings as usize)
            .enumerate()
            .find(|(n, _)| *n as u32 + 1 == self.meetings)
            .map(|(_, at)| at)
    }
}

impl Term {
    /// What rugs with a fixed place have: each its frame until it is done or the term ends. Of two that want one frame, the
    /// one that began first.
    pub fn fixed(&self) -> Vec<Option<Place>> {
        let mut kept: Vec<Option<Place>> = vec![None; self.rugs.len()];
        let mut order: Vec<(u32, usize)> =
            self.rugs.iter().filter_map(|rug| Some((rug.fixed?.from, rug.id))).collect();
        order.sort_unstable();
        for (from, at) in order.into_iter().filter(|(from, _)| *from <= self.meetings) {
            let frame = self.rugs[at].fixed.unwrap().frame;
            let place = Place {
                frame,
                from,
                to: self.rugs[at].done_at(from, self.meetings).unwrap_or(self.meetings),
            };
            if kept.iter().flatten().all(|other| self.apart(*other, place)) {
                kept[at] = Some(place);
            }
        }
        kept
    }

    /// Two places get by: other frames, or the gap lies between them.
    fn apart(&self, one: Place, two: Place) -> bool {
        one.frame != two.frame || one.to + self.gap < two.from || two.to + self.gap < one.from
    }

    /// What is wrong with the place of a rug that has none fixed, whatever the others have.
    fn wrong_alone(&self, at: usize, place: Place) -> Option<&'static str> {
        let rug = &self.rugs[at];
        let held = place.from..=(place.to + self.gap).min(self.meetings);
        if !rug.fits.contains(&place.frame) {
            return Some("its frame doesn't serve it");
        }
        if place.from < rug.earliest {
            return Some("it begins before it may");
        }
        if place.to > rug.latest || place.to > self.meetings {
            return Some("it ends after it may");
        }
        if rug.absent.contains(&place.from) {
            return Some("its weaver isn't there when it begins");
        }
        if rug.done_at(place.from, self.meetings) != Some(place.to) {
            return Some("it has not just the meetings that it takes");
        }
        if self.frames[place.frame].closed.iter().any(|closed| held.contains(closed)) {
            return Some("its frame is closed");
        }
        None
    }

    /// The rules that an answer breaks, in words.
    pub fn wrong(&self, places: &[Option<Place>]) -> Vec<String> {
        let mut wrong = Vec::new();
        let fixed = self.fixed();
        for (at, rug) in self.rugs.iter().enumerate() {
            if rug.fixed.is_some() {
                if places[at] != fixed[at] {
                    wrong.push(format!(
                        "rug {at} has {:?} instead of what is fixed, {:?}",
                        places[at], fixed[at]
                    ));
                }
            } else if let Some(why) = places[at].and_then(|place| self.wrong_alone(at, place)) {
                wrong.push(format!("rug {at} at {:?}: {why}", places[at]));
            }
        }
        for (at, one) in places.iter().enumerate() {
            for (other, two) in places.iter().enumerate().skip(at + 1) {
                if let (Some(one), Some(two)) = (one, two)
                    && !self.apart(*one, *two)
                {
                    wrong.push(format!("rugs {at} and {other} are on one frame without the gap"));
                }
            }
        }
        for rods in &self.rods {
            for meeting in 1..=self.meetings {
                let using = |fixed: bool| {
                    let both = places.iter().zip(&self.rugs).filter(|(_, rug)| rug.fixed.is_some() == fixed);
                    let own = both.filter(|(_, rug)| rug.rods == Some(rods.id));
                    own.filter(|(place, _)| place.is_some_and(|p| (p.from..=p.to).contains(&meeting))).count()
                };
                let there = rods.pairs[meeting as usize - 1] as usize;
                // What is out with a fixed rug is out; nobody else may add to it then.
                if using(false) > there.saturating_sub(using(true)) {
                    wrong.push(format!("rods {} don't go round at meeting {meeting}", rods.id));
                }
            }
        }
        wrong
    }

    pub fn worth(&self, places: &[Option<Place>]) -> Worth {
        let (mut priority, mut changes, mut last) = (0, 0, 0);
        for (rug, place) in self.rugs.iter().zip(places) {
            let start = place.map(|place| Start { frame: place.frame, from: place.from });
            changes += i64::from(rug.before.is_some() && start != rug.before);
            if let Some(place) = place {
                priority += u64::from(rug.priority);
                // The haste of a rug that has its place already moves nothing.
                last +=
                    i64::from(place.to) * if rug.fixed.is_some() { 1 } else { i64::from(rug.haste.max(1)) };
            }
        }
        (priority, -changes, -last)
    }

    /// The best worth of all timetables that break no rule.
    pub fn best(&self) -> Worth {
        let fixed = self.fixed();
        let choices: Vec<Vec<Option<Place>>> = (self.rugs.iter().enumerate())
            .map(|(at, rug)| {
                if rug.fixed.is_some() {
                    return vec![fixed[at]];
                }
                let mut may = vec![None];
                for frame in 0..self.frames.len() {
                    for from in 1..=self.meetings {
                        let all = (from..=self.meetings).map(|to| Place { frame, from, to });
                        may.extend(all.filter(|place| self.wrong_alone(at, *place).is_none()).map(Some));
                    }
                }
                may
            })
            .collect();
        let mut best = (0, i64::MIN, i64::MIN);
        self.try_all(&choices, &mut Vec::new(), &mut best);
        best
    }

    fn try_all(&self, choices: &[Vec<Option<Place>>], places: &mut Vec<Option<Place>>, best: &mut Worth) {
        if places.len() == choices.len() {
            if self.worth(places) > *best && self.wrong(places).is_empty() {
                *best = self.worth(places);
            }
            return;
        }
        for place in &choices[places.len()] {
            places.push(*place);
            self.try_all(choices, places, best);
            places.pop();
        }
    }

    /// The places of an answer, rug by rug; each rug is answered for once.
    pub fn places(&self, answer: &Value) -> Vec<Option<Place>> {
        let number = |value: &Value| value.as_u64().unwrap();
        let mut places = vec![None; self.rugs.len()];
        let mut told = vec![0; self.rugs.len()];
        for turn in answer["placed"].as_array().unwrap() {
            let rug = number(&turn["rug"]) as usize;
            told[rug] += 1;
            let [from, to] = ["from", "to"].map(|key| number(&turn[key]) as u32);
            places[rug] = Some(Place { frame: number(&turn["frame"]) as usize, from, to });
        }
        for rug in answer["unplaced"].as_array().unwrap() {
            told[number(rug) as usize] += 1;
        }
        assert!(told.iter().all(|times| *times == 1), "each rug is answered for once: {answer}");
        places
    }
}

/// A term of any kind that is small enough to try everything: with rods that are partly out, closed frames, absences, rugs
/// that are out already or were promised a place before.
pub fn any(dice: &mut Dice, rugs: u32) -> Term {
    let meetings = dice.within(3, 5);
    let frames = dice.within(1, 3) as usize;
    let some = |dice: &mut Dice| -> Vec<u32> { (1..=meetings).filter(|_| dice.once_in(6)).collect() };
    let start =
        |dice: &mut Dice| Start { frame: dice.below(frames as u32) as usize, from: dice.within(1, meetings) };
    let rods = dice.below(3) as usize;
    Term {
        meetings,
        gap: dice.below(3).min(1),
        frames: (0..frames).map(|id| Frame { id, closed: some(dice) }).collect(),
        rods: (0..rods)
            .map(|id| Rods { id, pairs: (0..meetings).map(|_| dice.below(4)).collect() })
            .collect(),
        rugs: (0..rugs as usize)
            .map(|id| {
                let (one, other) = (dice.within(1, meetings), dice.within(1, meetings + 1));
                Rug {
                    id,
                    fits: (0..frames).filter(|_| !dice.once_in(3)).collect(),
                    meetings: dice.within(1, 3),
                    earliest: one.min(other).min(2),
                    latest: one.max(other),
                    priority: dice.below(4),
                    haste: dice.below(5),
                    absent: some(dice),
                    rods: (rods > 0 && !dice.once_in(3)).then(|| dice.below(rods as u32) as usize),
                    fixed: dice.once_in(5).then(|| start(dice)),
                    before: dice.once_in(2).then(|| start(dice)),
                }
            })
            .collect(),
    }
}
