//! What gives the demo's class a past and a life: the term before, who came, notes, who waits for a place, and the timetable that
//! was accepted. All of it is invented.
use jiff::{Span, ToSpan as _, civil};

use super::fill::{Class, MINUTES, STARTS, ZONE};
use super::log::PAST;
use crate::optimize::timetable::solve;
use crate::services::timetable::{Options, TimetableData};
use crate::store::rugs::RugState;
use crate::store::terms::Meeting;
use crate::store::timetable::NewPlace;
use crate::store::{Day, MeetingId, PersonId, RugId, TermId, TimeOfDay};
use crate::units::Units;

/// The term before: its name, the days of its first meeting and of its end, and how many meetings it had.
const BEFORE: (&str, i64, i64, i64) = ("Winter Neaps", -133, -80, 7);
/// Who missed which of the evenings that are over: the weaver's place in their list, and the evening.
const AWAY: [(usize, usize); 9] =
    [(1, 3), (5, 2), (8, 3), (14, 1), (16, 0), (16, 2), (18, 1), (19, 3), (20, 0)];
/// How many the loft has room for; the last weaver on the list came when it was full.
const ROOM: i64 = 21;
/// How long the timetable may be looked for.
const LOOKS: u64 = 2_000;

impl Class<'_> {
    /// A term that is over, with its rugs finished: what the class learnt from them.
    pub(super) async fn term_before(&self) -> anyhow::Result<()> {
        let (name, starts, ends, meetings) = BEFORE;
        let term = TermId::new();
        let teacher = self.instructors.first().copied();
        let mut tx = self.write(teacher, self.at(starts - 7, STARTS, Span::new())?).await?;
        tx.add_term(term, name, "In the loft. Everything in this class is made up.").await?;
        let mut days = Vec::new();
        for week in 0..meetings {
            let id = MeetingId::new();
            let (on_day, starts_at) = (Day(self.day(starts + week * 7)?), TimeOfDay(STARTS));
            let meeting =
                Meeting { id, term_id: term, on_day, starts_at, minutes: MINUTES, called_off: false };
            tx.add_meeting(&meeting).await?;
            days.push(id);
        }
        let mut weavers: Vec<PersonId> = PAST.iter().map(|(row, _)| self.weavers[row.weaver]).collect();
        weavers.sort_unstable();
        weavers.dedup();
        for weaver in &weavers {
            tx.enrol(term, *weaver).await?;
        }
        tx.commit().await?;
        let mut rugs = Vec::new();
        for (nth, (row, _)) in PAST.iter().enumerate() {
            let at = self.at(starts, STARTS, (10 + nth as i64).minutes())?;
            let mut tx = self.write(Some(self.weavers[row.weaver]), at).await?;
            let (mut fields, bands) = self.design(row)?;
            fields.term_id = Some(term);
            let id = RugId::new();
            tx.add_rug(id, self.weavers[row.weaver], &fields, &bands).await?;
            tx.set_rug_state(id, RugState::Weaving).await?;
            tx.commit().await?;
            rugs.push(id);
        }
        for (week, meeting) in days.iter().enumerate() {
            let at = self.at(starts + week as i64 * 7, STARTS, 30.minutes())?;
            let mut tx = self.write(teacher, at).await?;
            tx.take_roll(*meeting, &weavers, &[]).await?;
            tx.commit().await?;
        }
        for (nth, ((row, took), id)) in PAST.iter().zip(rugs).enumerate() {
            let at = self.at(ends + nth as i64 - PAST.len() as i64, STARTS, Span::new())?;
            let mut tx = self.write(Some(self.weavers[row.weaver]), at).await?;
            tx.finish_rug(id, &took.fields()?).await?;
            tx.commit().await?;
        }
        let mut tx = self.write(teacher, self.at(ends, STARTS, Span::new())?).await?;
        tx.close_term(term, true).await?;
        Ok(tx.commit().await?)
    }

    /// Who was there, of the evenings that are over.
    pub(super) async fn take_rolls(&self, over: usize) -> anyhow::Result<()> {
        let mut read = self.store.read().await?;
        let (meetings, enrolled) = (read.meetings(self.term).await?, read.enrolled(self.term).await?);
        drop(read);
        for (evening, meeting) in meetings.iter().take(over).enumerate() {
            let away: Vec<PersonId> =
                AWAY.iter().filter(|(_, of)| *of == evening).map(|(who, _)| self.weavers[*who]).collect();
            let here: Vec<PersonId> =
                enrolled.iter().map(|one| one.person_id).filter(|one| !away.contains(one)).collect();
            let at =
                self.zone.to_timestamp(meeting.on_day.0.to_datetime(STARTS))?.checked_add(30.minutes())?;
            let teacher = self.instructors[evening % self.instructors.len()];
            let mut tx = self.write(Some(teacher), at).await?;
            tx.take_roll(meeting.id, &here, &[]).await?;
            tx.commit().await?;
        }
        Ok(())
    }

    /// Notes on people and rugs, and who came when the class was full.
    pub(super) async fn note(&self) -> anyhow::Result<()> {
        let at = self.at(-6, civil::time(20, 30, 0, 0), Span::new())?;
        let mut tx = self.write(self.instructors.first().copied(), at).await?;
        tx.note_person(self.weavers[1], "", "Works nights this month: best rung after four.").await?;
        tx.note_person(self.weavers[10], "", "Left-handed: the rug turns the other way round on the table.")
            .await?;
        tx.note_rug(self.rugs[0], "", "Navy looks tight. Weigh what is left before the last band.").await?;
        tx.note_rug(self.rugs[5], "", "For her sister’s hall: no longer than 43 inches, whatever happens.")
            .await?;
        tx.limit_term(self.term, Some(ROOM)).await?;
        if let Some(last) = self.weavers.last() {
            tx.enrol_or_wait(self.term, *last).await?;
        }
        Ok(tx.commit().await?)
    }

    /// The timetable that was accepted the evening before.
    pub(super) async fn accept_timetable(&self) -> anyhow::Result<()> {
        let at = self.at(-1, civil::time(20, 0, 0, 0), Span::new())?;
        let local = (jiff::tz::TimeZone::get(ZONE)?, Units::Inches);
        let mut tx = self.write(self.instructors.first().copied(), at).await?;
        let data = TimetableData::load(&mut tx, local, (self.term, at), Options::USUAL).await?;
        let found = solve(&data.problem, LOOKS, &mut || true);
        let turns = found.placed.iter().enumerate();
        let kept: Vec<NewPlace> = turns.filter_map(|(row, turn)| data.kept_as(row, (*turn)?)).collect();
        tx.accept_timetable(self.term, 0, &kept).await?;
        Ok(tx.commit().await?)
    }
}
