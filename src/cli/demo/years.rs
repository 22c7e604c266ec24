//! The years before the demo's term, made up by rule: who came and left, their rugs with logs and what they took, and the cloth.
//! Always the same, but for ids; every name and every number is invented.
use anyhow::Context as _;
use jiff::{Span, ToSpan as _, civil};

use super::cloth::{DonatedBundle, EARLY, LATE};
use super::fill::{Class, MINUTES, STARTS};
use super::frames::{FRAMES, LARGE, SMALL};
use super::given::{DAYS_A_TERM, about, weighing};
use super::rugs::{RUGS, RugInClass};
use crate::planning::colour::Hex;
use crate::store::cloth::bundles::{BundleFields, Sheets};
use crate::store::cloth::ledger::Reason;
use crate::store::cloth::past::{PastBundle, PastEntry};
use crate::store::frames::Condition;
use crate::store::loans::{HandOut, TakeBack};
use crate::store::people::Role;
use crate::store::rugs::RugState;
use crate::store::rugs::log::LogFields;
use crate::store::rugs::results::ResultFields;
use crate::store::terms::Meeting;
use crate::store::{
    Actor, Day, FrameId, LoanId, LogId, MeetingId, PersonId, RugId, TermId, TimeOfDay, Write,
};
use crate::units::{Length, Mass};

/// Meetings of a term, one a week.
const MEETINGS: i64 = 8;
/// Weavers of a term, and how many of them are new.
const WEAVERS: usize = 22;
const NEW: usize = 6;
/// Bundles that come in during a term.
const BUNDLES: usize = 300;
/// Nothing of those years happens later than so many days before the demo's day: then its own story begins.
const ENDS: i64 = -95;

const FIRST: [&str; 30] = [
    "Adda", "Berrin", "Cassia", "Doran", "Elspet", "Ferro", "Gisla", "Harm", "Idony", "Jorun", "Katla",
    "Lune", "Merrit", "Nerys", "Osk", "Pia", "Quenby", "Rilla", "Sorrel", "Tove", "Una", "Vesper", "Wilmot",
    "Xanthe", "Ymke", "Zeno", "Brisa", "Calder", "Eider", "Fjola",
];
const LAST: [&str; 28] = [
    "Anchorage",
    "Ballast",
    "Capstan",
    "Dogwatch",
    "Eddystone",
    "Fairlead",
    "Gunwale",
    "Hawser",
    "Islet",
    "Jetsam",
    "Keelson",
    "Lanyard",
    "Mainstay",
    "Neap",
    "Outhaul",
    "Pintle",
    "Quayle",
    "Ratline",
    "Sandspit",
    "Tideway",
    "Underway",
    "Vang",
    "Windlass",
    "Yawl",
    "Zephyr",
    "Bight",
    "Cringle",
    "Spume",
];
const NAMES: [&str; 24] = [
    "tide", "harbour", "shingle", "mooring", "beacon", "channel", "sandbank", "breaker", "estuary", "lagoon",
    "headland", "jetty", "slipway", "current", "spray", "anchor", "rigging", "lantern", "cove", "reef",
    "drift", "swell", "ebb", "fog",
];
const WHAT: [&str; 18] = [
    "Grey", "Quiet", "Long", "Red", "Early", "Winter", "Narrow", "Far", "Second", "Blue", "Old", "Bright",
    "Still", "Northern", "Evening", "Broken", "Little", "White",
];

/// Numbers that look thrown and are always the same: `SplitMix64`, by G. L. Steele, D. Lea and C. H. Flood (2014).
struct Thrown(u64);

impl Thrown {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// One of `from..to`.
    fn of(&mut self, from: i64, to: i64) -> i64 {
        from + (self.next() % (to - from).unsigned_abs()) as i64
    }

    fn pick<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[(self.next() % all.len() as u64) as usize]
    }

    /// Whether it falls, so many times in a hundred.
    fn falls(&mut self, in_a_hundred: u64) -> bool {
        self.next() % 100 < in_a_hundred
    }
}

/// A weaver of those years.
struct Past {
    id: PersonId,
    rugs: i64,
}

/// A rug on a frame.
struct Woven {
    rug: RugId,
    loan: LoanId,
    weaver: PersonId,
    row: &'static RugInClass,
    condition: Condition,
    rows: i64,
}

impl Class<'_> {
    /// All terms of so many years, one change for each.
    pub(super) async fn past(&self, years: u32) -> anyhow::Result<()> {
        let terms = i64::from(years) * 4;
        let mut thrown = Thrown(2014);
        let mut weavers: Vec<Past> = Vec::new();
        for nth in 0..terms {
            let starts = -(terms - nth + 1) * DAYS_A_TERM;
            self.past_term(nth, starts, &mut weavers, &mut thrown).await?;
        }
        if weavers.is_empty() {
            return Ok(());
        }
        let mut tx =
            self.write(self.instructors.first().copied(), self.at(ENDS, STARTS, Span::new())?).await?;
        for weaver in weavers {
            tx.person_leaves(weaver.id).await?;
        }
        Ok(tx.commit().await?)
    }

    fn acting(&self, person: PersonId, days: i64, after: Span) -> anyhow::Result<Actor> {
        Ok(Actor { person: Some(person), at: self.at(days, STARTS, after)? })
    }

    async fn past_term(
        &self,
        nth: i64,
        starts: i64,
        weavers: &mut Vec<Past>,
        thrown: &mut Thrown,
    ) -> anyhow::Result<()> {
        let teacher = self.instructors[nth as usize % self.instructors.len()];
        let mut tx = self.store.write(self.acting(teacher, starts - 7, Span::new())?).await?;
        let leaving = if weavers.is_empty() { 0 } else { NEW };
        for weaver in weavers.drain(..leaving) {
            tx.person_leaves(weaver.id).await?;
        }
        while weavers.len() < WEAVERS {
            let name = format!("{} {}", thrown.pick(&FIRST), thrown.pick(&LAST));
            let contact = format!("{} Sluice Lane", thrown.of(1, 60));
            let id = PersonId::new();
            tx.add_person(id, Role::Weaver, &about(&name, &contact, None), None).await?;
            weavers.push(Past { id, rugs: 0 });
        }
        let term = TermId::new();
        let season = ["Spring", "Summer", "Autumn", "Winter"][nth as usize % 4];
        let name = format!("{season} {}, term {}", self.day(starts)?.year(), nth + 1);
        tx.add_term(term, &name, "Everything in this class is made up.").await?;
        for week in 0..MEETINGS {
            let meeting = Meeting {
                id: MeetingId::new(),
                term_id: term,
                on_day: Day(self.day(starts + week * 7)?),
                starts_at: TimeOfDay(STARTS),
                minutes: MINUTES,
                called_off: false,
            };
            tx.add_meeting(&meeting).await?;
        }
        for weaver in weavers.iter() {
            tx.enrol(term, weaver.id).await?;
        }
        let cloth =
            (0..BUNDLES).map(|_| self.past_bundle(starts, thrown)).collect::<anyhow::Result<Vec<_>>>()?;
        tx.past_bundles(&cloth).await?;
        // Twice half a term, each frame once: 22 and 23 rugs in turns.
        let rugs = 22 + nth as usize % 2;
        let frames: Vec<_> = FRAMES.iter().filter(|frame| frame.2 != Condition::Broken).collect();
        for (half, first) in [(0, 0), (1, frames.len())] {
            let mut out = Vec::new();
            let count = frames.len().min(rugs - first);
            for (at, (tag, size, condition, _)) in frames.iter().take(count).enumerate() {
                let fits: Vec<_> = RUGS.iter().filter(|rug| rug.size.rod == size.rod).collect();
                let whose = (first + at) % weavers.len();
                let planned = (*thrown.pick(&fits), self.frames[*tag], *condition, term);
                tx.go_on_as(self.acting(teacher, starts + half * 28, 20.minutes())?);
                let due = self.day(starts + half * 28 + 21)?;
                out.push(self.begin(&mut tx, planned, &mut weavers[whose], due, thrown).await?);
            }
            for week in 0..4 {
                let days = starts + (half * 4 + week) * 7;
                for woven in &mut out {
                    tx.go_on_as(self.acting(woven.weaver, days, MINUTES.minutes())?);
                    self.weave(&mut tx, woven, week, thrown).await?;
                }
            }
            for woven in &out {
                self.end(&mut tx, woven, (teacher, starts + (half * 4 + 3) * 7), thrown).await?;
            }
        }
        tx.go_on_as(self.acting(teacher, starts + MEETINGS * 7, Span::new())?);
        tx.close_term(term, true).await?;
        Ok(tx.commit().await?)
    }

    /// A rug is planned and its frame handed out.
    async fn begin(
        &self,
        tx: &mut Write,
        (row, frame, condition, term): (&'static RugInClass, FrameId, Condition, TermId),
        weaver: &mut Past,
        due: civil::Date,
        thrown: &mut Thrown,
    ) -> anyhow::Result<Woven> {
        let (mut fields, bands) = self.design(row)?;
        fields.name = format!("{} {}", thrown.pick(&WHAT), thrown.pick(&NAMES));
        (fields.term_id, fields.rugs_before) = (Some(term), weaver.rugs);
        weaver.rugs += 1;
        let (rug, loan) = (RugId::new(), LoanId::new());
        tx.add_rug(rug, weaver.id, &fields, &bands).await?;
        let rods = Some((self.rods[row.size.rod], 2));
        tx.hand_out(loan, &HandOut { frame, rug, rods, due_on: Day(due) }).await?;
        Ok(Woven { rug, loan, weaver: weaver.id, row, condition, rows: 0 })
    }

    /// What is logged at an evening's end: rows, and what is left of two colours.
    async fn weave(
        &self,
        tx: &mut Write,
        woven: &mut Woven,
        week: i64,
        thrown: &mut Thrown,
    ) -> anyhow::Result<()> {
        let length = woven.row.bands.iter().map(|band| band.0).sum::<f64>();
        let all = (length * 4.25) as i64;
        woven.rows = (all * (week + 1) / 4 - thrown.of(0, 6)).max(woven.rows + 1);
        let (_, bands) = self.design(woven.row)?;
        let first = &bands.first().context("a rug has bands")?;
        let mut left = vec![(first.first.clone(), Mass::from_mg((4 - week) * 90_000 + thrown.of(0, 40_000)))];
        if first.other != first.first {
            left.push((first.other.clone(), Mass::from_mg((4 - week) * 80_000 + thrown.of(0, 30_000))));
        }
        let fields = LogFields {
            rows: Some(woven.rows),
            woven: Some(Length::inches((woven.rows as f64 / 4.25 * 4.0).round() / 4.0)),
            minutes: Some(thrown.of(95, 145)),
            left,
        };
        Ok(tx.log_rug(LogId::new(), woven.rug, &fields).await?)
    }

    /// The frame comes back; most rugs are finished, and then it is told what they took.
    async fn end(
        &self,
        tx: &mut Write,
        woven: &Woven,
        (teacher, days): (PersonId, i64),
        thrown: &mut Thrown,
    ) -> anyhow::Result<()> {
        let given_up = thrown.falls(4);
        let rug = if given_up { RugState::GivenUp } else { RugState::Finished };
        let (condition, note) = (woven.condition, String::new());
        tx.go_on_as(self.acting(teacher, days, (MINUTES + 10).minutes())?);
        let how = TakeBack { condition, rug, rods_bent: 0, rods_missing: 0, note };
        tx.take_back(woven.loan, &how).await?;
        if given_up {
            return Ok(());
        }
        let size = woven.row.size;
        let length = woven.row.bands.iter().map(|band| band.0).sum::<f64>();
        // By area, about as the rugs of the demo's own log.
        let area = length * size.width_inches / (32.0 * 18.0);
        let by = |about: f64, thrown: &mut Thrown| about * area * (thrown.of(88, 113) as f64) / 100.0;
        let took = ResultFields {
            rows_woven: Some((length * (thrown.of(405, 445) as f64) / 100.0) as i64),
            woven_nm: Some(Length::inches((length * 4.0).round() / 4.0)),
            weft_mg: Some(Mass::from_mg(by(820_000.0, thrown) as i64)),
            weave_minutes: Some(by(385.0, thrown) as i64),
            prepare_minutes: Some(by(70.0, thrown) as i64),
            warp_nm: [SMALL.rod, LARGE.rod]
                .contains(&size.rod)
                .then(|| Length::inches(by(58.0 * 36.0, thrown))),
            ..ResultFields::default()
        };
        tx.go_on_as(self.acting(woven.weaver, days, (MINUTES + 20).minutes())?);
        Ok(tx.finish_rug(woven.rug, &took).await?)
    }

    /// A bundle with about ten entries of its ledger, from when it came in until it was used up or those years end.
    fn past_bundle(&self, starts: i64, thrown: &mut Thrown) -> anyhow::Result<PastBundle> {
        let lots: Vec<_> = EARLY.iter().chain(LATE).collect();
        let lot = *thrown.pick(&lots);
        let cloth: &DonatedBundle = thrown.pick(lot.bundles);
        let washed = thrown.falls(60);
        let who = *thrown.pick(&self.volunteers);
        let mut day = starts + thrown.of(-5, 46);
        let weight = weighing(cloth.weight)?;
        let mut there = weight.gross;
        let mut entries = vec![PastEntry {
            reason: Reason::WeighedIn,
            change: there,
            typed: weight.typed,
            note: String::new(),
            at: self.at(day, civil::time(17, 0, 0, 0), Span::new())?,
            person: who,
        }];
        let half_ounces = |mass: Mass| (mass.grams() / 14.174_761_562_5).floor() as i64;
        let mut enter =
            |reason, half_ounces: i64, out: bool, day: i64, note: String| -> anyhow::Result<Mass> {
                let weight = weighing(&format!("{} oz", half_ounces as f64 / 2.0))?;
                let change = if out { -weight.gross } else { weight.gross };
                let at = self.at(day, civil::time(18, 50, 0, 0), Span::new())?;
                entries.push(PastEntry { reason, change, typed: weight.typed, note, at, person: who });
                Ok(change)
            };
        if !washed {
            day += 3;
            let lint = (half_ounces(there) / 100).max(1);
            there += enter(Reason::Wash, lint, true, day, String::new())?;
        }
        let parts = thrown.of(7, 12);
        let mut pulled = 0;
        for part in 0..parts {
            day += thrown.of(3, 12);
            let all = half_ounces(there);
            if day > ENDS || all < 4 {
                break;
            }
            // A bundle in a hundred keeps its rest.
            if part + 1 == parts && thrown.falls(99) {
                let at = self.at(day, civil::time(18, 55, 0, 0), Span::new())?;
                let (typed, note) = ("all that was left".to_owned(), "scraps".to_owned());
                entries.push(PastEntry {
                    reason: Reason::Scrap,
                    change: -there,
                    typed,
                    note,
                    at,
                    person: who,
                });
                break;
            }
            there += match part % 4 {
                2 if pulled > 2 => enter(Reason::PutBack, (pulled / 3).max(1), false, day, String::new())?,
                3 if thrown.falls(50) => enter(Reason::Count, 1, true, day, "stocktake".into())?,
                _ => {
                    pulled = (all / (parts - part).max(2)).max(1);
                    let name = format!("for {} {}", thrown.pick(&WHAT), thrown.pick(&NAMES));
                    enter(Reason::Pulled, pulled, true, day, name)?
                }
            };
        }
        let size = Some((Length::inches(96.0), Length::inches(66.0)));
        let fields = BundleFields {
            second: cloth.second.map(|(name, hex)| (name.to_owned(), Hex::rgb(hex))),
            sheets: (cloth.sheets > 0).then(|| Sheets::plain(cloth.sheets, size)),
            note: lot.from.to_owned(),
            source: lot.source().to_owned(),
            ..BundleFields::plain(cloth.kind, cloth.colour, Hex::rgb(cloth.hex), washed)
        };
        Ok(PastBundle { fields, entries })
    }
}
