//! What time brings is told once, by the workroom's day; and what each notice says, for people and for programs.
use jiff::civil::date;
use jiff::{Timestamp, ToSpan as _};
use thrumhall::clock::Clock;
use thrumhall::notify::{kind, words};
use thrumhall::store::frames::Condition;
use thrumhall::store::loans::{HandOut, TakeBack};
use thrumhall::store::notices::Event;
use thrumhall::store::people::Role;
use thrumhall::store::rugs::RugState;
use thrumhall::store::terms::Meeting;
use thrumhall::store::timetable::NewPlace;
use thrumhall::store::{Day, LoanId, MeetingId, PersonId, Store, TermId, TimeOfDay};
use thrumhall::units::dates::Hours;

use super::{dispatcher, found, found_in, receiver, url};
use crate::support::loft::{self, usual};
use crate::support::receivers::Receiver;
use crate::support::{actor, noon, on_both};

on_both!(time_brings_notices_once, |store| async move {
    let me = found(&store).await;
    let frame = loft::frame(&store, me, &usual("S1")).await;
    let weaver = loft::person(&store, Role::Weaver, "Ana").await;
    let rug = loft::rug(&store, weaver, "Tide", &usual(""), None).await;
    let due: jiff::civil::Date = "2026-10-09".parse().unwrap();
    let loan = LoanId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.hand_out(loan, &HandOut { frame, rug, rods: None, due_on: Day(due) }).await.unwrap();
    tx.commit().await.unwrap();
    let clock = Clock::fixed(noon());
    let dispatcher = dispatcher(&store, &clock, true);
    assert_eq!(dispatcher.tick().await.unwrap().told, 0);
    // On its day it isn't overdue yet; on the next it is, and that is told once.
    clock.set("2026-10-09T23:59:00Z".parse().unwrap());
    assert_eq!(dispatcher.tick().await.unwrap().told, 0);
    clock.set("2026-10-10T00:00:00Z".parse().unwrap());
    assert_eq!(dispatcher.tick().await.unwrap().told, 1);
    assert_eq!(dispatcher.tick().await.unwrap().told, 0);
    let mut tx = store.write(actor(me)).await.unwrap();
    let later = due.checked_add(2.days()).unwrap();
    tx.move_due(loan, Day(due), Day(later)).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(dispatcher.tick().await.unwrap().told, 0);
    clock.set("2026-10-12T08:00:00Z".parse().unwrap());
    assert_eq!(dispatcher.tick().await.unwrap().told, 1);
    let told = store.read().await.unwrap().notices(9).await.unwrap();
    assert!(matches!(&told[0].event, Event::Overdue { frame, due, .. } if frame == "S1" && *due == later));
    assert!(told.iter().all(|notice| notice.shared));
});

/// A frame out to somebody until a day.
async fn lent(store: &Store, me: PersonId, (tag, weaver): (&str, PersonId), due: &str) -> LoanId {
    let frame = loft::frame(store, me, &usual(tag)).await;
    let rug = loft::rug(store, weaver, &format!("{tag}’s rug"), &usual(""), None).await;
    let id = LoanId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    let due_on = Day(due.parse().unwrap());
    tx.hand_out(id, &HandOut { frame, rug, rods: None, due_on }).await.unwrap();
    tx.commit().await.unwrap();
    id
}

fn at(moment: &str) -> Timestamp {
    moment.parse().unwrap()
}

/// Source: IANA time zone database: in October 2026 Auckland is thirteen hours before UTC, Los Angeles seven behind it. There
/// a day begins while UTC has another.
const MIDNIGHTS: [(&str, &str); 3] = [
    ("Pacific/Auckland", "2026-10-09T11:00:00Z"),
    ("America/Los_Angeles", "2026-10-10T07:00:00Z"),
    ("UTC", "2026-10-10T00:00:00Z"),
];

async fn overdue_by_the_workrooms_day(store: Store, zone: &str, midnight: &str) {
    let me = found_in(&store, zone).await;
    let (ana, ben) =
        (loft::person(&store, Role::Weaver, "Ana").await, loft::person(&store, Role::Weaver, "Ben").await);
    lent(&store, me, ("A-1", ana), "2026-10-09").await;
    lent(&store, me, ("B-1", ben), "2026-10-09").await;
    let returned = lent(&store, me, ("C-1", ben), "2026-10-09").await;
    let mut tx = store.write(actor(me)).await.unwrap();
    let back = TakeBack {
        condition: Condition::Sound,
        rug: RugState::Weaving,
        rods_bent: 0,
        rods_missing: 0,
        note: String::new(),
    };
    tx.take_back(returned, &back).await.unwrap();
    tx.commit().await.unwrap();
    let bridge = Receiver::new([]).await;
    receiver(&store, me, url(bridge.at), false).await;
    let clock = Clock::fixed(at(midnight) - 1.microsecond());
    let dispatcher = dispatcher(&store, &clock, true);
    assert_eq!(dispatcher.tick().await.unwrap().told, 0, "{zone}: overdue on the day that it is due");
    clock.set(at(midnight));
    let round = dispatcher.tick().await.unwrap();
    assert_eq!((round.told, round.sent), (2, 2), "{zone}: not overdue on the day after");
    let mut said: Vec<_> = bridge
        .got()
        .iter()
        .map(|got| {
            let body: serde_json::Value = serde_json::from_str(&got.body).unwrap();
            let (data, of) = (&body["data"], &body["data"]["event"]);
            assert_eq!((&body["type"], &of["due"]), (&"frame.overdue".into(), &"2026-10-09".into()));
            format!("{} {} {}", of["frame"], of["weaver"], data["people"])
        })
        .collect();
    said.sort();
    assert_eq!(said, [r#""A-1" "Ana" [{"name":"Ana"}]"#, r#""B-1" "Ben" [{"name":"Ben"}]"#]);
    assert_eq!(dispatcher.tick().await.unwrap().told, 0, "told twice");
    clock.set(at(midnight) + 720.hours());
    assert_eq!(dispatcher.tick().await.unwrap().told, 0, "told again a month later");
}

on_both!(a_frame_is_overdue_by_the_workrooms_day_in_auckland, |store| async move {
    overdue_by_the_workrooms_day(store, MIDNIGHTS[0].0, MIDNIGHTS[0].1).await;
});
on_both!(a_frame_is_overdue_by_the_workrooms_day_in_los_angeles, |store| async move {
    overdue_by_the_workrooms_day(store, MIDNIGHTS[1].0, MIDNIGHTS[1].1).await;
});

/// A turn on Saturday the 17th, in a workroom of a zone: told from the 10th on, a week ahead.
async fn turn_by_the_workrooms_day(store: Store, zone: &str, midnight: &str) {
    let me = found_in(&store, zone).await;
    let (ana, term) = (loft::person(&store, Role::Weaver, "Ana").await, TermId::new());
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    let mut meetings = Vec::new();
    for day in [date(2026, 10, 17), date(2026, 10, 31)] {
        let id = MeetingId::new();
        let (on_day, starts_at) = (Day(day), TimeOfDay("18:30".parse().unwrap()));
        tx.add_meeting(&Meeting { id, term_id: term, on_day, starts_at, minutes: 120, called_off: false })
            .await
            .unwrap();
        meetings.push(id);
    }
    tx.enrol(term, ana).await.unwrap();
    tx.commit().await.unwrap();
    let frame = loft::frame(&store, me, &usual("S1")).await;
    let rug = loft::rug(&store, ana, "Tide", &usual(""), Some(term)).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    let place = NewPlace { rug, frame, from: meetings[0], to: meetings[1] };
    tx.accept_timetable(term, 0, &[place]).await.unwrap();
    tx.commit().await.unwrap();
    let clock = Clock::fixed(at(midnight) - 1.microsecond());
    let dispatcher = dispatcher(&store, &clock, true);
    assert_eq!(dispatcher.tick().await.unwrap().told, 0, "{zone}: told eight days ahead");
    clock.set(at(midnight));
    assert_eq!(dispatcher.tick().await.unwrap().told, 1, "{zone}: not told a week ahead");
    let told = store.read().await.unwrap().notices(9).await.unwrap();
    let expected = Event::YourTurn {
        frame: "S1".into(),
        rug: "Tide".into(),
        weaver: "Ana".into(),
        day: date(2026, 10, 17),
        starts: "18:30".parse().unwrap(),
        until: date(2026, 10, 31),
    };
    assert_eq!(told[0].event, expected);
    assert_eq!(dispatcher.tick().await.unwrap().told, 0, "told twice");
}

on_both!(a_turn_is_told_a_week_ahead_by_the_workrooms_day_in_auckland, |store| async move {
    turn_by_the_workrooms_day(store, MIDNIGHTS[0].0, MIDNIGHTS[0].1).await;
});
on_both!(a_turn_is_told_a_week_ahead_by_the_workrooms_day_in_los_angeles, |store| async move {
    turn_by_the_workrooms_day(store, MIDNIGHTS[1].0, MIDNIGHTS[1].1).await;
});

/// What each event is called to programs, and what its words must name for people; no other's words have it all.
#[test]
fn each_kind_of_notice_says_what_happened() {
    let (term, day, starts) = ("Ebb", date(2026, 10, 14), "18:30".parse().unwrap());
    let (frame, rug, weaver) = ("S1", "Tide", "Ana");
    let of = [
        (
            Event::Overdue { frame: frame.into(), rug: rug.into(), weaver: weaver.into(), due: day },
            "frame.overdue",
            vec![frame, rug, weaver, "Wednesday 14 October", "overdue", "due back"],
        ),
        (
            Event::CalledOff { term: term.into(), day, starts },
            "meeting.called-off",
            vec![term, "Wednesday 14 October", "18:30", "Called off", "won’t take place"],
        ),
        (
            Event::OnAgain { term: term.into(), day, starts },
            "meeting.on-again",
            vec![term, "Wednesday 14 October", "18:30", "On again", "takes place"],
        ),
        (
            Event::YourTurn {
                frame: frame.into(),
                rug: rug.into(),
                weaver: weaver.into(),
                day,
                starts,
                until: date(2026, 11, 4),
            },
            "frame.your-turn",
            vec![frame, rug, weaver, "Wednesday 14 October", "18:30", "Wednesday 4 November", "turn"],
        ),
        (
            Event::PlaceFree { term: "Flood".into(), weaver: weaver.into() },
            "place.free",
            vec!["Flood", weaver, "place"],
        ),
        (
            Event::DueSoon { frame: frame.into(), rug: rug.into(), weaver: weaver.into(), due: day },
            "frame.due-soon",
            vec![frame, rug, weaver, "Wednesday 14 October", "is due on"],
        ),
        (
            Event::ClothShort { rug: rug.into(), weaver: weaver.into(), colour: "Navy".into() },
            "rug.cloth-short",
            vec!["Navy", rug, weaver, "run out"],
        ),
        (
            Event::MayNotFinish { rug: rug.into(), weaver: weaver.into() },
            "rug.may-not-finish",
            vec![rug, weaver, "finished"],
        ),
        (Event::Trial, "trial", vec!["trial"]),
    ];
    for (at, (event, called, named)) in of.iter().enumerate() {
        assert_eq!(kind(event), *called);
        let has = |event| {
            let words = words(event, Hours::TwentyFour);
            let said = format!("{}\n{}", words.subject, words.text);
            named.iter().all(|name| said.contains(name))
        };
        for (other, (event, ..)) in of.iter().enumerate() {
            assert_eq!(has(event), other == at, "{called}: {:?}", words(event, Hours::TwentyFour));
        }
    }
}
