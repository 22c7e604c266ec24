//! Fills an empty database with the demo's class, evening by evening, through the store's own functions. What it is
//! filled with stands in the tables beside this file.
use std::collections::HashMap;

use anyhow::Context as _;
use jiff::civil::{self, Date, Time};
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp, ToSpan as _};

use super::cloth::{EARLY, LATE, Lot};
use super::frames::{FRAMES, RODS};
use super::given::{about, before, came_back, colour, fields, prices, washed, weighing};
use super::log::{LOG, PAST, Woven};
use super::people::{ENROLLED, INSTRUCTORS, VOLUNTEERS, WEAVERS};
use super::rugs::{Fate, RUGS, RugInClass};
use crate::planning::Kind;
use crate::planning::warp::nail_rows::NailRows;
use crate::store::cloth::bundles::BundleState;
use crate::store::frames::FrameFields;
use crate::store::loans::HandOut;
use crate::store::people::Role;
use crate::store::rods::RodAct;
use crate::store::rugs::log::LogFields;
use crate::store::rugs::{Colour, Making, RugBand, RugFields};
use crate::store::terms::Meeting;
use crate::store::workroom::Workroom;
use crate::store::{
    Actor, BundleId, Day, FrameId, LoanId, LogId, MeetingId, PersonId, RequestKey, RodId, RugId, Store,
    TermId, TimeOfDay, Write,
};
use crate::units::{Length, Mass, Units};

/// The workroom's clock; the harbour town lies nowhere.
pub(super) const ZONE: &str = "America/New_York";
pub(super) const STARTS: Time = civil::time(18, 30, 0, 0);
pub(super) const MINUTES: i64 = 150;
/// The meetings, in weeks from the demo's day; the eighth is called off.
const WEEKS: [i64; 10] = [-4, -3, -2, -1, 0, 1, 2, 3, 4, 5];
const CALLED_OFF: usize = 7;
/// The first evenings of the term, which are over.
const OVER: usize = 4;

/// The day on which the workroom was set up: before the first of its terms.
fn began(years: u32) -> i64 {
    if years == 0 { -160 } else { -70 - before(years) }
}

/// The people one can enter as: an instructor, a volunteer, a weaver with a rug on a frame.
pub(super) struct Cast {
    pub instructor: PersonId,
    pub volunteer: PersonId,
    pub weaver: PersonId,
}

/// Everything the evenings need to find again.
pub(super) struct Class<'a> {
    pub(super) store: &'a Store,
    pub(super) zone: TimeZone,
    today: Date,
    pub(super) instructors: Vec<PersonId>,
    pub(super) volunteers: Vec<PersonId>,
    pub(super) weavers: Vec<PersonId>,
    pub(super) term: TermId,
    pub(super) frames: HashMap<&'static str, FrameId>,
    pub(super) rods: Vec<RodId>,
    pub(super) rugs: Vec<RugId>,
    loans: HashMap<&'static str, LoanId>,
    pub(super) bundles: Vec<BundleId>,
}

/// Fills the database, as if `now` were somewhere in the middle of the term.
pub(super) async fn fill(store: &Store, now: Timestamp, years: u32) -> anyhow::Result<Cast> {
    let zone = TimeZone::get(ZONE)?;
    let ids = |count: usize| std::iter::repeat_with(PersonId::new).take(count).collect::<Vec<_>>();
    let mut class = Class {
        store,
        today: now.to_zoned_datetime(zone.clone()).date(),
        zone,
        instructors: ids(INSTRUCTORS.len()),
        volunteers: ids(VOLUNTEERS.len()),
        weavers: ids(WEAVERS.len()),
        term: TermId::new(),
        frames: FRAMES.iter().map(|frame| (frame.0, FrameId::new())).collect(),
        rods: RODS.iter().map(|_| RodId::new()).collect(),
        rugs: RUGS.iter().map(|_| RugId::new()).collect(),
        loans: HashMap::new(),
        bundles: Vec::new(),
    };
    class.found(years).await?;
    class.equip(years).await?;
    class.past(years).await?;
    class.welcome(years).await?;
    if years == 0 {
        class.term_before().await?;
    }
    class.begin_term().await?;
    for lot in EARLY {
        class.take_in(lot).await?;
    }
    if years > 0 {
        class.remember().await?;
    }
    for evening in 0..OVER {
        class.hold(evening).await?;
        class.log(evening).await?;
    }
    for lot in LATE {
        class.take_in(lot).await?;
    }
    class.take_rolls(OVER).await?;
    class.note().await?;
    class.cut().await?;
    class.share_out().await?;
    class.accept_timetable().await?;
    Ok(Cast { instructor: class.instructors[0], volunteer: class.volunteers[0], weaver: class.weavers[0] })
}

impl Class<'_> {
    pub(super) fn day(&self, days: i64) -> anyhow::Result<Date> {
        Ok(self.today.checked_add(days.days())?)
    }

    /// A moment on a day of the past.
    pub(super) fn at(&self, days: i64, time: Time, after: Span) -> anyhow::Result<Timestamp> {
        let start = self.zone.to_timestamp(self.day(days)?.to_datetime(time))?;
        Ok(start.checked_add(after)?)
    }

    pub(super) async fn write(&self, person: Option<PersonId>, at: Timestamp) -> anyhow::Result<Write> {
        Ok(self.store.write(Actor { person, at }).await?)
    }

    /// The workroom and the person who signs in.
    async fn found(&self, years: u32) -> anyhow::Result<()> {
        let day = began(years);
        let mut tx = self.write(None, self.at(day, civil::time(10, 0, 0, 0), Span::new())?).await?;
        tx.found_workroom("Saltern Row Workroom (made up)", ZONE, Units::Inches).await?;
        if let Some(workroom) = tx.workroom().await? {
            tx.change_workroom(&Workroom { prices: Some(prices()), ..workroom }).await?;
        }
        for (ids, names, role) in [
            (&self.instructors, INSTRUCTORS, Role::Instructor),
            (&self.volunteers, VOLUNTEERS, Role::Volunteer),
        ] {
            for (id, name) in ids.iter().zip(names) {
                tx.add_person(*id, role, &about(name, "", None), None).await?;
            }
        }
        Ok(tx.commit().await?)
    }

    /// Frames and rods.
    async fn equip(&self, years: u32) -> anyhow::Result<()> {
        let at = self.at(began(years) + 1, civil::time(19, 0, 0, 0), Span::new())?;
        let mut tx = self.write(self.instructors.first().copied(), at).await?;
        for (tag, size, condition, note) in FRAMES {
            let (span_nm, width_nm, pitch_nm) = (size.span(), size.width(), size.pitch());
            let (tag, nails, condition, note) =
                ((*tag).to_owned(), size.nails, *condition, (*note).to_owned());
            let id = self.frames[tag.as_str()];
            let nail_rows = NailRows::Facing;
            let frame = FrameFields { tag, span_nm, width_nm, nails, pitch_nm, nail_rows, condition, note };
            tx.add_frame(id, &frame).await?;
        }
        for (id, (length, owned)) in self.rods.iter().zip(RODS) {
            tx.add_rod(*id, Length::inches(*length), Length::inches(0.125), *owned).await?;
        }
        tx.count_rods(self.rods[0], RodAct::FoundBent, 1).await?;
        Ok(tx.commit().await?)
    }

    /// The term, and its weavers.
    async fn begin_term(&self) -> anyhow::Result<()> {
        let at = self.at(-69, civil::time(19, 0, 0, 0), Span::new())?;
        let mut tx = self.write(self.instructors.first().copied(), at).await?;
        tx.add_term(self.term, "Ebb to Flood", "In the loft. Everything in this class is made up.").await?;
        for (nth, weeks) in WEEKS.iter().enumerate() {
            let meeting = Meeting {
                id: MeetingId::new(),
                term_id: self.term,
                on_day: Day(self.day(weeks * 7)?),
                starts_at: TimeOfDay(STARTS),
                minutes: MINUTES,
                called_off: false,
            };
            tx.add_meeting(&meeting).await?;
            if nth == CALLED_OFF {
                tx.call_off(meeting.id, true).await?;
            }
        }
        for id in self.weavers.iter().take(ENROLLED) {
            tx.enrol(self.term, *id).await?;
        }
        Ok(tx.commit().await?)
    }

    /// The weavers: they were here a term ago, unless years went before.
    async fn welcome(&self, years: u32) -> anyhow::Result<()> {
        let day = if years == 0 { began(years) + 2 } else { -69 };
        let at = self.at(day, civil::time(18, 0, 0, 0), Span::new())?;
        let mut tx = self.write(self.instructors.first().copied(), at).await?;
        for (id, (name, contact, metric)) in self.weavers.iter().zip(WEAVERS) {
            let units = metric.then_some(Units::Metric);
            tx.add_person(*id, Role::Weaver, &about(name, contact, units), None).await?;
        }
        Ok(tx.commit().await?)
    }

    /// Weighs a lot in, and brings it as far as it is by now.
    async fn take_in(&mut self, lot: &Lot) -> anyhow::Result<()> {
        let who = self.volunteers[lot.bundles.len() % self.volunteers.len()];
        let mut tx =
            self.write(Some(who), self.at(-lot.days_ago, civil::time(17, 0, 0, 0), Span::new())?).await?;
        let mut new = Vec::new();
        for cloth in lot.bundles {
            let id = BundleId::new();
            tx.weigh_in(id, RequestKey::new(), &fields(lot, cloth), &weighing(cloth.weight)?).await?;
            new.push((id, cloth));
        }
        tx.commit().await?;
        let steps: &[_] = match (lot.washed, lot.now) {
            (true, _) | (false, BundleState::Arrived) => &[],
            (false, BundleState::Washing) => &[(1, BundleState::Arrived, BundleState::Washing)],
            (false, BundleState::Ready) => &[
                (1, BundleState::Arrived, BundleState::Washing),
                (3, BundleState::Washing, BundleState::Ready),
            ],
        };
        for (later, from, to) in steps {
            let at = self.at(later - lot.days_ago, civil::time(9, 30, 0, 0), Span::new())?;
            let mut tx = self.write(Some(who), at).await?;
            for (nth, (id, cloth)) in new.iter().enumerate() {
                // Every other bundle is weighed again: lint and dirt are an ounce in a hundred or so.
                let lighter =
                    (*to == BundleState::Ready && nth % 2 == 0).then(|| washed(cloth)).transpose()?;
                tx.move_bundle(*id, RequestKey::new(), (*from, *to), lighter.as_ref()).await??;
            }
            tx.commit().await?;
        }
        self.bundles.extend(new.iter().map(|(id, _)| *id));
        Ok(())
    }

    /// One evening: frames come back, rugs are planned, frames go out, cloth is pulled.
    async fn hold(&mut self, evening: usize) -> anyhow::Result<()> {
        let days = WEEKS[evening] * 7;
        let teacher = self.instructors[evening % self.instructors.len()];
        let mut tx = self.write(Some(teacher), self.at(days, STARTS, 20.minutes())?).await?;
        for rug in RUGS {
            if let Some(how) = came_back(rug.fate, evening) {
                let loan = self.loans.get(rug.name).context("a frame comes back that never went out")?;
                tx.take_back(*loan, &how).await?;
            }
        }
        for (id, rug) in self.rugs.iter().zip(RUGS) {
            let (began, out) = match rug.fate {
                Fate::Planned => (OVER - 1, None),
                Fate::Out { frame, since, due } => (since, Some((frame, due))),
                Fate::Finished { frame, since, back, .. } | Fate::GivenUp { frame, since, back } => {
                    (since, Some((frame, back)))
                }
            };
            if began != evening {
                continue;
            }
            let (fields, bands) = self.design(rug)?;
            tx.add_rug(*id, self.weavers[rug.weaver], &fields, &bands).await?;
            if let Some((frame, due)) = out {
                let loan = LoanId::new();
                let due_on = Day(self.day(WEEKS[due] * 7)?);
                let rods = Some((self.rods[rug.size.rod], 2));
                let frame = self.frames[frame];
                tx.hand_out(loan, &HandOut { frame, rug: *id, rods, due_on }).await?;
                self.loans.insert(rug.name, loan);
            }
        }
        tx.commit().await?;
        self.fetch_cloth(evening, self.at(days, STARTS, 50.minutes())?).await
    }

    /// Rugs of a term before, of which all is known.
    async fn remember(&self) -> anyhow::Result<()> {
        for (nth, (row, took)) in PAST.iter().enumerate() {
            let at = self.at(-90 + nth as i64, STARTS, Span::new())?;
            let mut tx = self.write(Some(self.weavers[row.weaver]), at).await?;
            let (mut fields, bands) = self.design(row)?;
            fields.term_id = None;
            let id = RugId::new();
            tx.add_rug(id, self.weavers[row.weaver], &fields, &bands).await?;
            tx.finish_rug(id, &took.fields()?).await?;
            tx.commit().await?;
        }
        Ok(())
    }

    /// What was logged at an evening's end, and what the rugs took that were finished then.
    async fn log(&self, evening: usize) -> anyhow::Result<()> {
        for (id, rug) in self.rugs.iter().zip(RUGS) {
            let at = self.at(WEEKS[evening] * 7, STARTS, Span::new().minutes(MINUTES))?;
            let mut tx = self.write(Some(self.weavers[rug.weaver]), at).await?;
            let mut any = false;
            for entry in LOG.iter().filter(|entry| entry.rug == rug.name && entry.evening == evening) {
                tx.log_rug(LogId::new(), *id, &self.logged(rug, entry)?).await?;
                any = true;
            }
            if let Fate::Finished { back, took, .. } = rug.fate
                && back == evening
            {
                tx.finish_rug(*id, &took.fields()?).await?;
                any = true;
            }
            if any {
                tx.commit().await?;
            }
        }
        Ok(())
    }

    fn logged(&self, rug: &RugInClass, entry: &Woven) -> anyhow::Result<LogFields> {
        let (_, bands) = self.design(rug)?;
        let mut colours: Vec<Colour> = Vec::new();
        for colour in bands.iter().flat_map(|band| [&band.first, &band.other]) {
            if !colours.contains(colour) {
                colours.push(colour.clone());
            }
        }
        let left = colours.into_iter().zip(entry.left).filter(|(_, weight)| !weight.is_empty());
        let left = left.map(|(colour, weight)| Ok((colour, Mass::parse(weight, Units::Inches)?)));
        Ok(LogFields {
            rows: entry.rows,
            woven: entry.inches.map(Length::inches),
            minutes: entry.minutes,
            left: left.collect::<anyhow::Result<_>>()?,
        })
    }

    pub(super) fn design(&self, rug: &RugInClass) -> anyhow::Result<(RugFields, Vec<RugBand>)> {
        let size = rug.size;
        let fields = RugFields {
            name: rug.name.to_owned(),
            term_id: Some(self.term),
            span_nm: size.span(),
            width_nm: size.width(),
            nails: size.nails,
            pitch_nm: size.pitch(),
            making: Making { winding: rug.winding(), woven_from: rug.from, ..Making::default() },
            strip_width_nm: Length::inches(1.5),
            warp_strip_nm: None,
            warp_yarn: None,
            warp_kind: Kind::Percale,
            weft_kind: Kind::Percale,
            fringe_nm: Length::ZERO,
            backing: rug.weaver % 3 == 1,
            strands_trade: rug.weaver.is_multiple_of(2),
            unit_size: 2,
            rugs_before: rug.before,
            home_minutes: rug.home,
            sample_length_nm: None,
            sample_rows: None,
            sample_mass_mg: None,
        };
        let last = rug.bands.len() - 1;
        let bands = rug.bands.iter().enumerate().map(|(i, (height, first, other))| {
            let height = Length::inches(*height);
            let strip = (rug.headed && (i == 0 || i == last)).then(|| Length::inches(0.75));
            Ok(RugBand { height, first: colour(first)?, other: colour(other)?, strip, chart: None })
        });
        Ok((fields, bands.collect::<anyhow::Result<_>>()?))
    }
}
