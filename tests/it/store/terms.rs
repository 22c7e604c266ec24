//! Terms, meetings, enrolment, and what the Today page reads.
use jiff::civil::{date, time};
use thrumhall::store::people::Role;
use thrumhall::store::terms::Meeting;
use thrumhall::store::waiting::Seat;
use thrumhall::store::{Actor, Day, Error, MeetingId, PersonId, Store, TermId, TimeOfDay};
use thrumhall::units::Units;

use crate::support::loft::person;
use crate::support::{noon, on_both};

const DAYS: [i8; 3] = [7, 14, 21];

fn meeting(term_id: TermId, day: i8) -> Meeting {
    Meeting {
        id: MeetingId::new(),
        term_id,
        on_day: Day(date(2026, 10, day)),
        starts_at: TimeOfDay(time(18, 30, 0, 0)),
        minutes: 150,
        called_off: false,
    }
}

/// A term of three meetings, without weavers.
async fn term(store: &Store) -> (TermId, Vec<Meeting>) {
    let id = TermId::new();
    let meetings: Vec<Meeting> = DAYS.iter().map(|day| meeting(id, *day)).collect();
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.add_term(id, "Ebb", "upstairs").await.unwrap();
    for meeting in &meetings {
        tx.add_meeting(meeting).await.unwrap();
    }
    tx.commit().await.unwrap();
    (id, meetings)
}

on_both!(a_term_counts_the_meetings_that_take_place, |store| async move {
    let (id, meetings) = term(&store).await;
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.call_off(meetings[2].id, true).await.unwrap();
    tx.call_off(meetings[2].id, true).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let term = read.term(id).await.unwrap().unwrap();
    assert_eq!((term.name.as_str(), term.note.as_str(), term.meetings), ("Ebb", "upstairs", 2));
    assert_eq!(term.last_day, Some(Day(date(2026, 10, 14))));
    let running = read.running_terms().await.unwrap();
    assert_eq!((running.len(), running[0].name.as_str()), (1, "Ebb"));
    let called_off: Vec<bool> = running[0].meetings.iter().map(|meeting| meeting.called_off).collect();
    assert_eq!(called_off, [false, false, true]);
    assert_eq!(read.meeting(meetings[0].id).await.unwrap().as_ref(), Some(&meetings[0]));
    assert!(read.term(TermId::new()).await.unwrap().is_none());
});

on_both!(two_meetings_of_a_term_are_never_at_once, |store| async move {
    let (id, _) = term(&store).await;
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    let twice = tx.add_meeting(&meeting(id, 14)).await.unwrap_err();
    assert!(twice.violates("u_meeting__term_id__on_day__starts_at"), "{twice}");
});

on_both!(who_comes_to_a_full_term_waits_in_order, |store| async move {
    let (id, _) = term(&store).await;
    let mut weavers = Vec::new();
    for name in ["Ada", "Bo", "Cy"] {
        weavers.push(person(&store, Role::Weaver, name).await);
    }
    let [ada, bo, cy] = weavers[..] else { unreachable!() };
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.limit_term(id, Some(1)).await.unwrap();
    assert_eq!(tx.enrol_or_wait(id, ada).await.unwrap(), Seat::Enrolled);
    assert_eq!(tx.enrol_or_wait(id, ada).await.unwrap(), Seat::Enrolled, "once more is the same");
    for who in [bo, cy, bo] {
        assert_eq!(tx.enrol_or_wait(id, who).await.unwrap(), Seat::Waiting);
    }
    tx.commit().await.unwrap();
    let order = async || {
        let waiting = store.read().await.unwrap().waiting(id).await.unwrap();
        waiting.into_iter().map(|one| one.person_id).collect::<Vec<_>>()
    };
    assert_eq!(order().await, [bo, cy]);
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.move_up(id, cy).await.unwrap();
    assert!(!tx.give_place(id, cy).await.unwrap(), "there is none");
    tx.limit_term(id, Some(2)).await.unwrap();
    assert_eq!(tx.places_left(id).await.unwrap(), Some(1));
    assert_eq!(tx.own_waits(bo).await.unwrap()[0].before, 1);
    assert!(tx.give_place(id, cy).await.unwrap());
    tx.stop_waiting(id, bo).await.unwrap();
    tx.commit().await.unwrap();
    assert!(order().await.is_empty());
    assert!(store.read().await.unwrap().broken_invariants().await.unwrap().is_empty());
});

on_both!(weavers_are_enrolled_once_and_nobody_else_is, |store| async move {
    let (id, _) = term(&store).await;
    let (bo, ana) = (person(&store, Role::Weaver, "Bo").await, person(&store, Role::Weaver, "ana").await);
    let viggo = person(&store, Role::Volunteer, "Viggo").await;
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    for someone in [bo, bo, viggo, PersonId::new()] {
        tx.enrol(id, someone).await.unwrap();
    }
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let names = |list: Vec<thrumhall::store::terms::Enrolled>| -> Vec<String> {
        list.into_iter().map(|one| one.name).collect()
    };
    assert_eq!(names(read.enrolled(id).await.unwrap()), ["Bo"]);
    assert_eq!(names(read.not_enrolled(id).await.unwrap()), ["ana"]);
    drop(read);

    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    assert!(matches!(tx.withdraw(id, ana).await, Err(Error::Stale)));
    tx.withdraw(id, bo).await.unwrap();
    tx.commit().await.unwrap();
    assert!(store.read().await.unwrap().enrolled(id).await.unwrap().is_empty());
});

on_both!(a_weaver_who_left_is_counted_no_more, |store| async move {
    let (id, _) = term(&store).await;
    let bo = person(&store, Role::Weaver, "Bo").await;
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Loft", "UTC", Units::Inches).await.unwrap();
    tx.enrol(id, bo).await.unwrap();
    tx.person_leaves(bo).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    assert_eq!(read.term(id).await.unwrap().unwrap().weavers, 0);
    assert!(read.expected(id).await.unwrap().is_empty());
    assert_eq!(read.counts().await.unwrap().weavers, 0);
});

on_both!(the_second_editor_of_a_term_is_told, |store| async move {
    let (id, _) = term(&store).await;
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.change_term(id, 1, "Flood", "").await.unwrap();
    assert!(matches!(tx.change_term(id, 1, "Ebb", "").await, Err(Error::Stale)));
});
