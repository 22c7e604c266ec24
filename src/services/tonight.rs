//! What a weaver does at the next meeting, in a few words: when, the step at hand, where to stop, what to bring, and what is
//! in the way.
use jiff::{Timestamp, civil};

use super::guide;
use super::rug_calendar::Calendar;
use super::rug_plan::RugPlan;
use crate::planning::ColourId;
use crate::planning::pattern::BandRows;
use crate::planning::sufficiency::Sufficiency;
use crate::store::cloth::promises::Promise;
use crate::store::cloth::share_outs::{RugPart, SharedOut};
use crate::store::rugs::{Rug, RugState};
use crate::store::terms::Meeting;
use crate::units::dates::{self, WallClock};
use crate::units::{Mass, Units};

/// More colours than this are one look at the table of cloth.
const NAMED: usize = 3;

/// The next meeting, for one rug.
#[derive(Debug)]
pub struct Tonight {
    /// `Tonight, Thursday 26 November 2026, 18:30 to 21:00`; nothing without a meeting ahead.
    pub when: Option<String>,
    /// The step at hand, and where to stop: `Finish the Navy band, then Pale blue to row 119`.
    pub what: String,
    /// The guide's step at hand: its key and its title.
    pub step: (&'static str, &'static str),
    /// What belongs to it: time, cloth to bring, cloth that won't last, the frame's day.
    pub notes: Vec<Note>,
}

/// A few words beside the step.
#[derive(Debug)]
pub struct Note {
    pub tone: &'static str,
    pub words: String,
    /// Where on the rug's page there is more.
    pub more: Option<&'static str>,
}

impl Note {
    fn plain(words: String) -> Self {
        Self { tone: "plain", words, more: None }
    }
}

/// What it is made of.
pub struct About<'a> {
    pub rug: &'a Rug,
    pub known: &'a RugPlan,
    pub calendar: &'a Calendar,
    pub meetings: &'a [Meeting],
    pub promises: &'a [Promise],
    /// What it needed when its cloth was last shared out.
    pub shared_out: &'a [SharedOut],
    /// Rows counted so far.
    pub rows: u32,
    pub now: Timestamp,
    pub wall: &'a WallClock,
    pub units: Units,
}

impl About<'_> {
    /// What there is to do; nothing for a rug that is finished or given up.
    pub fn tonight(&self) -> Option<Tonight> {
        if !matches!(self.rug.state, RugState::Planned | RugState::Weaving) {
            return None;
        }
        let today = self.now.to_zoned_datetime(self.wall.zone.clone()).date();
        let meeting = self.meeting();
        let (what, until) = self.step(meeting);
        let mut notes = Vec::new();
        if let Some(until) = until {
            notes.extend(self.time(until));
            notes.extend(self.bring(until));
        }
        notes.extend(self.lacking());
        if let (Some(tag), Some(due)) = (&self.rug.frame_tag, self.rug.frame_due) {
            let late = due.0 < today;
            let words = if late { "was due" } else { "due" };
            let words = format!("frame {tag} {words} {}", dates::short_day(due.0));
            notes.push(Note { tone: if late { "bad" } else { "plain" }, words, more: None });
        }
        let step = guide::at_hand(self.rug, self.known, self.rows);
        let when = meeting.and_then(|meeting| self.when(meeting, today));
        Some(Tonight { when, what, step: (step, guide::title(step)), notes })
    }

    /// The meeting that comes next or goes on just now.
    fn meeting(&self) -> Option<&Meeting> {
        let ahead = |m: &&Meeting| !m.called_off && m.end(&self.wall.zone).is_some_and(|end| end > self.now);
        self.meetings.iter().filter(ahead).min_by_key(|m| (m.on_day, m.starts_at))
    }

    fn when(&self, meeting: &Meeting, today: civil::Date) -> Option<String> {
        let starts = meeting.on_day.0.to_datetime(meeting.starts_at.0);
        let end = meeting.end(&self.wall.zone)?.to_zoned_datetime(self.wall.zone.clone()).time();
        let (from, to) = (dates::time(starts.time(), self.wall.hours), dates::time(end, self.wall.hours));
        let day = dates::day(starts.date());
        let coming = dates::coming(starts, today);
        // A day of its own needn't be said twice.
        let named = if coming == dates::short_day(starts.date()) { day } else { format!("{coming}, {day}") };
        Some(format!("{named}, {from} to {to}"))
    }

    /// The step at hand, and up to which row it goes where it is weaving.
    fn step(&self, meeting: Option<&Meeting>) -> (String, Option<u32>) {
        let plan = &self.known.plan;
        let at_meeting = |entry: &&super::rug_calendar::Entry| match meeting {
            Some(meeting) => entry.at == Some((meeting.id, false)),
            None => true,
        };
        let entry = self.calendar.entries.iter().find(at_meeting).or(self.calendar.entries.first());
        let begun = self.known.status.progress.began || self.rows > 0;
        if !begun {
            let steps = entry.map(|entry| entry.what.join(", ")).unwrap_or_default();
            return (sentence(&steps, "Get the warp ready"), None);
        }
        if self.rows >= plan.weft.rows {
            let steps: Vec<&str> = entry.into_iter().flat_map(|e| &e.what).map(String::as_str).collect();
            return (sentence(&steps.join(", "), "Take the rug off and finish it"), None);
        }
        let day = meeting.map(|meeting| dates::short_day(meeting.on_day.0));
        let stop = day.and_then(|day| self.calendar.woven.iter().find(|(when, _)| *when == day));
        let stop = stop.map_or(plan.weft.rows, |(_, rows)| (*rows).clamp(self.rows + 1, plan.weft.rows));
        (self.weave_to(stop), Some(stop))
    }

    /// `Finish the Navy band, then Pale blue to row 119`.
    fn weave_to(&self, stop: u32) -> String {
        let names = |colours: [ColourId; 2]| {
            let [first, other] = colours.map(|id| self.known.input.colours[usize::from(id)].name.as_str());
            if first == other { first.to_owned() } else { format!("{first} and {other}") }
        };
        let parts = self.parts(self.rows, stop);
        let in_all = self.known.plan.weft.rows;
        let (Some((now, now_ends)), Some((last, _))) = (parts.first(), parts.last()) else {
            return format!("Weave to row {stop}");
        };
        let (now, last) = (names(now.colours), names(last.colours));
        match parts.len() {
            1 if stop == in_all => format!("Finish the weaving, {now} to row {stop}"),
            1 if *now_ends == stop => format!("Finish the {now} band, to row {stop}"),
            1 => format!("{now} to row {stop}"),
            2 => format!("Finish the {now} band, then {last} to row {stop}"),
            n => format!("Finish the {now} band, then {} more, to row {stop}", n - 1),
        }
    }

    /// The bands from one row to another, in the order they are woven, each with the row it ends at.
    fn parts(&self, from: u32, to: u32) -> Vec<(BandRows, u32)> {
        let mut ends = 0;
        let mut parts = Vec::new();
        for (_, band) in self.known.plan.pattern.in_weaving_order() {
            let begins = ends;
            ends += band.rows();
            if ends > from && begins < to {
                let rows = ends.min(to) - begins.max(from);
                parts.push((BandRows { from_row: 0, to_row: rows, ..band }, ends));
            }
        }
        parts
    }

    /// How long those rows take at the weaver's pace.
    fn time(&self, until: u32) -> Option<Note> {
        super::rug_status::time_for(self.known, self.rows, until).map(Note::plain)
    }

    /// The cloth for those rows: of each colour the share of its weight that its strands in them are.
    fn bring(&self, until: u32) -> Vec<Note> {
        let plan = &self.known.plan;
        let strands = |parts: &[(BandRows, u32)], need: &crate::planning::plan::ColourNeed| -> u32 {
            let of = |(band, _): &(BandRows, u32)| {
                let same = band.strip.unwrap_or(plan.weft.strip) == need.strip;
                let strands = band.colours.iter().filter(|id| **id == need.colour).count() as u32;
                if same { band.rows() * strands } else { 0 }
            };
            parts.iter().map(of).sum()
        };
        let (tonight, all) = (self.parts(self.rows, until), self.parts(0, plan.weft.rows));
        let mut wanted: Vec<(ColourId, Mass)> = Vec::new();
        for need in &plan.weft.colours {
            let share = f64::from(strands(&tonight, need)) / f64::from(strands(&all, need).max(1));
            if share > 0.0 {
                let mass = need.mass.p90.scale(share);
                match wanted.iter_mut().find(|(id, _)| *id == need.colour) {
                    Some((_, known)) => *known += mass,
                    None => wanted.push((need.colour, mass)),
                }
            }
        }
        if wanted.len() > NAMED {
            let words = format!("bring {} colours", wanted.len());
            return vec![Note { tone: "plain", words, more: Some("cloth") }];
        }
        let note = |(id, mass): (ColourId, Mass)| {
            let name = &self.known.input.colours[usize::from(id)].name;
            Note::plain(format!("bring {name}, {}", mass.show(self.units)))
        };
        wanted.into_iter().map(note).collect()
    }

    /// Cloth that won't last, and promised cloth that is gone.
    fn lacking(&self) -> Vec<Note> {
        let mut notes = Vec::new();
        for told in self.known.status.sufficiency.iter().filter(|told| Sufficiency::short(told)) {
            let name = &self.known.input.colours[usize::from(told.colour)].name;
            let words = match told.runs_out {
                Some(row) => format!("{name} ends near row {}", row + 1),
                None => format!("{name} may run out"),
            };
            let tone = super::rug_status::tone(told.chance);
            notes.push(Note { tone, words, more: Some("lasting") });
        }
        for promise in self.promises.iter().filter(|promise| promise.broken().is_some()) {
            let part = cloth_of(&promise.part);
            notes.push(Note { tone: "bad", words: format!("{part} is lacking"), more: Some("promised") });
        }
        notes.extend(self.not_found());
        notes
    }

    /// Cloth that the share-out didn't find; no longer once it is in hand and lasts.
    fn not_found(&self) -> impl Iterator<Item = Note> {
        let gram = Mass::from_grams(1.0);
        self.shared_out.iter().filter_map(move |SharedOut { share_out_id, need }| {
            let own = self.promises.iter().filter(|p| p.share_out_id == *share_out_id && p.part == need.part);
            let short = need.wanted_mg - own.map(Promise::promised_strip).sum::<Mass>();
            let lasts = self.known.status.sufficiency.iter().any(|told| {
                let name = &self.known.input.colours[usize::from(told.colour)].name;
                !need.part.warp && *name == need.part.colour_name && !told.short()
            });
            let wound = need.part.warp && self.rows > 0;
            (short >= gram && !lasts && !wound).then(|| Note {
                tone: "warn",
                words: format!("{} is lacking, {}", cloth_of(&need.part), short.show(self.units)),
                more: Some("cloth"),
            })
        })
    }
}

/// What cloth of a rug is called.
fn cloth_of(part: &RugPart) -> &str {
    if part.warp { "warp cloth" } else { &part.colour_name }
}

/// Steps as a heading.
fn sentence(steps: &str, otherwise: &str) -> String {
    let mut letters = steps.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => otherwise.to_owned(),
    }
}
