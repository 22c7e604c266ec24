//! Timetables: one a term, replaced as a whole by one who saw the latest.
use jiff::ToSpan as _;
use thrumhall::store::loans::HandOut;
use thrumhall::store::people::Role;
use thrumhall::store::terms::Meeting;
use thrumhall::store::timetable::{Absence, NewPlace, TurnWish};
use thrumhall::store::{Day, Error, FrameId, LoanId, MeetingId, PersonId, RugId, Store, TermId, TimeOfDay};

use crate::support::loft::{self, usual};
use crate::support::{actor, noon, on_both};

struct Class {
    me: PersonId,
    term: TermId,
    meetings: Vec<MeetingId>,
    frames: Vec<FrameId>,
    rugs: Vec<RugId>,
    weaver: PersonId,
}

/// A term of six weeks, two frames, three rugs.
async fn class(store: &Store) -> Class {
    let me = loft::instructor(store).await;
    let term = TermId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    let mut meetings = Vec::new();
    for week in 0..6 {
        let day = noon().to_zoned_datetime(jiff::tz::TimeZone::UTC).date().checked_add(week.weeks()).unwrap();
        let id = MeetingId::new();
        let starts_at = TimeOfDay("18:30".parse().unwrap());
        let meeting =
            Meeting { id, term_id: term, on_day: Day(day), starts_at, minutes: 240, called_off: false };
        tx.add_meeting(&meeting).await.unwrap();
        meetings.push(id);
    }
    tx.commit().await.unwrap();
    let mut frames = Vec::new();
    for tag in ["S1", "S2"] {
        frames.push(loft::frame(store, me, &usual(tag)).await);
    }
    let (mut rugs, mut weaver) = (Vec::new(), me);
    for name in ["Ana", "Ben", "Cleo"] {
        weaver = loft::person(store, Role::Weaver, name).await;
        rugs.push(loft::rug(store, weaver, "Tide", &usual(""), Some(term)).await);
    }
    Class { me, term, meetings, frames, rugs, weaver }
}

impl Class {
    fn place(&self, rug: usize, frame: usize, from: usize, to: usize) -> NewPlace {
        NewPlace {
            rug: self.rugs[rug],
            frame: self.frames[frame],
            from: self.meetings[from],
            to: self.meetings[to],
        }
    }
}

async fn accept(
    store: &Store,
    me: PersonId,
    term: TermId,
    revision: i64,
    places: &[NewPlace],
) -> Result<(), Error> {
    let mut tx = store.write(actor(me)).await?;
    tx.accept_timetable(term, revision, places).await?;
    tx.commit().await
}

async fn told(store: &Store, term: TermId) -> Vec<(bool, bool)> {
    let places = store.read().await.unwrap().places(Some(term)).await.unwrap();
    places.iter().map(|place| (place.told, place.locked)).collect()
}

on_both!(whoever_stays_stays_told_and_locked, |store| async move {
    let class = class(&store).await;
    let first = [class.place(0, 0, 0, 2), class.place(1, 1, 0, 2)];
    accept(&store, class.me, class.term, 0, &first).await.unwrap();
    assert_eq!(told(&store, class.term).await, [(false, false), (false, false)]);
    let mut tx = store.write(actor(class.me)).await.unwrap();
    for rug in [0, 1] {
        tx.mark_told(class.term, class.rugs[rug]).await.unwrap();
    }
    tx.lock_place(class.term, class.rugs[0], true).await.unwrap();
    tx.commit().await.unwrap();
    // The first keeps its place, the second moves by a week.
    let next = [class.place(0, 0, 0, 2), class.place(1, 1, 1, 3), class.place(2, 0, 3, 5)];
    accept(&store, class.me, class.term, 1, &next).await.unwrap();
    assert_eq!(told(&store, class.term).await, [(true, true), (false, false), (false, false)]);
    // Every part of a place moves: later, longer, on another frame.
    let last = [class.place(0, 1, 1, 4), class.place(1, 0, 0, 5)];
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.accept_timetable(class.term, 2, &last).await.unwrap();
    tx.commit().await.unwrap();
    let kept = store.read().await.unwrap().places(Some(class.term)).await.unwrap();
    for wanted in &last {
        let place = kept.iter().find(|place| place.rug_id == wanted.rug).unwrap();
        assert_eq!(
            (place.frame_id, place.from_meeting, place.to_meeting),
            (wanted.frame, wanted.from, wanted.to)
        );
    }
    let stale = accept(&store, class.me, class.term, 1, &first).await;
    assert!(matches!(stale, Err(Error::Stale)), "{stale:?}");
    let table = store.read().await.unwrap().timetable(class.term).await.unwrap().unwrap();
    assert_eq!((table.revision, table.who.as_deref()), (3, Some("Ines Probe")));
    assert_eq!(store.read().await.unwrap().broken_invariants().await.unwrap(), Vec::<String>::new());
});

on_both!(of_twenty_who_accept_at_once_one_does_and_the_others_are_told, |store| async move {
    let class = class(&store).await;
    let race: Vec<_> = (0..20)
        .map(|n| {
            let store = store.clone();
            let (me, term) = (class.me, class.term);
            let places = [class.place(n % 3, n % 2, 0, 2), class.place((n + 1) % 3, n % 2, 3, 5)];
            tokio::spawn(async move { accept(&store, me, term, 0, &places).await })
        })
        .collect();
    let mut done = 0;
    for one in race {
        match one.await.unwrap() {
            Ok(()) => done += 1,
            Err(Error::Stale) => {}
            Err(other) => panic!("{other}"),
        }
    }
    assert_eq!(done, 1);
    let mut read = store.read().await.unwrap();
    assert_eq!(read.places(Some(class.term)).await.unwrap().len(), 2);
    assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());
});

on_both!(a_turn_given_while_the_frame_is_handed_out_is_in_the_way, |store| async move {
    let class = class(&store).await;
    accept(&store, class.me, class.term, 0, &[class.place(0, 0, 1, 2), class.place(1, 1, 3, 4)])
        .await
        .unwrap();
    let weeks = |weeks: i64| {
        let today = noon().to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
        Day(today.checked_add(weeks.weeks()).unwrap())
    };
    let breaks = async |frame: usize, rug: usize, due_on: Day| {
        let mut tx = store.write(actor(class.me)).await.unwrap();
        let what = HandOut { frame: class.frames[frame], rug: class.rugs[rug], rods: None, due_on };
        tx.hand_out(LoanId::new(), &what).await.unwrap();
        // What isn't kept changes nothing for the next.
        tx.places(None).await.unwrap().iter().any(|place| place.is_broken_by(&what))
    };
    assert!(breaks(0, 1, weeks(2)).await, "the first rug waits for it from next week on");
    assert!(!breaks(0, 1, weeks(1)).await, "it is back in time");
    assert!(!breaks(0, 0, weeks(5)).await, "its own turn");
    assert!(!breaks(1, 2, weeks(3)).await, "back on the very day");
    assert!(breaks(1, 2, weeks(4)).await);
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.set_rug_state(class.rugs[1], thrumhall::store::rugs::RugState::GivenUp).await.unwrap();
    tx.commit().await.unwrap();
    assert!(!breaks(1, 2, weeks(4)).await, "nobody waits any more");
});

on_both!(a_rug_that_changes_its_term_leaves_its_place_there, |store| async move {
    let class = class(&store).await;
    accept(&store, class.me, class.term, 0, &[class.place(0, 0, 0, 2), class.place(1, 1, 0, 2)])
        .await
        .unwrap();
    let other = TermId::new();
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.add_term(other, "Flood", "").await.unwrap();
    let moved = class.place(0, 1, 3, 5);
    tx.accept_timetable(other, 0, &[moved]).await.unwrap();
    tx.commit().await.unwrap();
    let places = store.read().await.unwrap().places(None).await.unwrap();
    let place = places.iter().find(|place| place.rug_id == moved.rug).unwrap();
    assert_eq!(
        (place.term_id, place.frame_id, place.from_meeting, place.to_meeting),
        (other, moved.frame, moved.from, moved.to)
    );
    assert_eq!(places.len(), 2, "one place a rug");
});

on_both!(a_frame_promised_twice_is_found, |store| async move {
    let class = class(&store).await;
    let twice = [class.place(0, 0, 0, 2), class.place(1, 0, 2, 4)];
    accept(&store, class.me, class.term, 0, &twice).await.unwrap();
    let broken = store.read().await.unwrap().broken_invariants().await.unwrap();
    assert!(broken.len() == 1 && broken[0].starts_with("two rugs have one frame"), "{broken:?}");
});

on_both!(wishes_and_absences_are_kept_and_replaced, |store| async move {
    let class = class(&store).await;
    let wish = TurnWish { rug_id: class.rugs[0], priority: 3, not_before: Some(class.meetings[2]) };
    let away = |meeting: usize| Absence { meeting_id: class.meetings[meeting], person_id: class.weaver };
    for (absences, wish) in
        [(vec![away(1), away(2)], wish), (vec![away(2)], TurnWish { priority: 2, ..wish })]
    {
        let mut tx = store.write(actor(class.me)).await.unwrap();
        tx.wish_turn(class.term, wish).await.unwrap();
        tx.set_absences(class.term, &absences).await.unwrap();
        tx.commit().await.unwrap();
        let mut read = store.read().await.unwrap();
        assert_eq!(read.turn_wishes(class.term).await.unwrap(), [wish]);
        assert_eq!(read.absences(class.term).await.unwrap(), absences);
    }
});
