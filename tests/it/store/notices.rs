//! Notices in the database: who is told what when, to which receivers, and what a paused or removed one misses.
use jiff::civil::{date, time};
use jiff::{Timestamp, ToSpan as _};
use thrumhall::store::loans::HandOut;
use thrumhall::store::notices::receivers::ReceiverFields;
use thrumhall::store::notices::{DeliveryState, Due, Event, PendingEvent};
use thrumhall::store::people::Role;
use thrumhall::store::rugs::RugState;
use thrumhall::store::terms::Meeting;
use thrumhall::store::timetable::NewPlace;
use thrumhall::store::{
    Actor, Day, Error, Instant, LoanId, MeetingId, NoticeId, PersonId, ReceiverId, Store, TermId, TimeOfDay,
};

use crate::support::loft::{self, usual};
use crate::support::{actor, noon, on_both};

const fn day(n: i8) -> Day {
    Day(date(2026, 10, n))
}

fn fields(name: &str) -> ReceiverFields {
    ReceiverFields {
        name: name.into(),
        url: format!("https://{name}.example/"),
        contacts: false,
        paused: false,
    }
}

async fn receiver(store: &Store, me: PersonId, fields: &ReceiverFields) -> ReceiverId {
    let id = ReceiverId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_receiver(id, fields, &format!("secret of {}", fields.name)).await.unwrap();
    tx.commit().await.unwrap();
    id
}

/// A notice of a moment, to some people; its deliveries aren't made yet.
async fn told(store: &Store, me: PersonId, about: &str, at: Timestamp, people: &[PersonId]) -> NoticeId {
    let notice: PendingEvent = (about.to_owned(), Event::Trial, people.to_vec());
    let mut tx = store.write(Actor { person: Some(me), at }).await.unwrap();
    assert!(tx.enqueue(&notice).await.unwrap());
    assert!(!tx.enqueue(&notice).await.unwrap(), "the same is told once");
    tx.try_receiver(ReceiverId::new()).await.unwrap_err();
    drop(tx);
    let mut tx = store.write(Actor { person: Some(me), at }).await.unwrap();
    tx.enqueue(&notice).await.unwrap();
    tx.end_session("").await.unwrap();
    tx.commit().await.unwrap();
    store.read().await.unwrap().unshared().await.unwrap().last().unwrap().id
}

async fn share(store: &Store, notice: NoticeId, people: &[PersonId]) {
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.share(notice, people).await.unwrap();
    tx.commit().await.unwrap();
}

/// To whom what waits goes at a moment, and how the attempts before went.
async fn due(store: &Store, at: Timestamp) -> Vec<(String, i64)> {
    let due = store.read().await.unwrap().deliveries_due(Instant(at), 99).await.unwrap();
    due.into_iter().map(|d| (d.url.or(d.person).unwrap(), d.attempts)).collect()
}

fn to(list: &[(&str, i64)]) -> Vec<(String, i64)> {
    list.iter().map(|(whom, attempts)| ((*whom).to_owned(), *attempts)).collect()
}

on_both!(a_notice_goes_once_to_those_who_are_there_and_listen, |store| async move {
    let me = loft::instructor(&store).await;
    let ana = loft::person(&store, Role::Weaver, "Ana").await;
    let bo = loft::person(&store, Role::Weaver, "Bo").await;
    let (b, a) =
        (receiver(&store, me, &fields("bridge")).await, receiver(&store, me, &fields("Attic")).await);
    let gone = receiver(&store, me, &fields("gone")).await;
    receiver(&store, me, &ReceiverFields { paused: true, ..fields("paused") }).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.remove_receiver(gone).await.unwrap();
    assert!(matches!(tx.remove_receiver(gone).await, Err(Error::Stale)));
    assert!(matches!(tx.change_receiver(gone, 2, &fields("back")).await, Err(Error::Stale)));
    assert!(matches!(tx.renew_secret(gone, "x").await, Err(Error::Stale)));
    tx.change_receiver(b, 1, &ReceiverFields { contacts: true, ..fields("bridge") }).await.unwrap();
    assert!(
        matches!(tx.change_receiver(b, 1, &fields("other")).await, Err(Error::Stale)),
        "an older revision"
    );
    tx.renew_secret(a, "another").await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let list = read.receivers().await.unwrap();
    let seen: Vec<_> =
        list.iter().map(|r| (r.name.as_str(), r.secret.as_str(), r.contacts, r.paused)).collect();
    let expected = [
        ("Attic", "another", false, false),
        ("bridge", "secret of bridge", true, false),
        ("paused", "secret of paused", false, true),
    ];
    assert_eq!(seen, expected, "by name, whatever its case");
    assert!(read.receiver(gone).await.unwrap().is_none() && read.receiver(a).await.unwrap().is_some());
    drop(read);

    let early = told(&store, me, "one", noon(), &[ana, ana, bo]).await;
    let late = told(&store, me, "two", noon() + 1.minute(), &[bo]).await;
    let mut read = store.read().await.unwrap();
    assert_eq!(read.unshared().await.unwrap().iter().map(|n| n.id).collect::<Vec<_>>(), [early, late]);
    assert_eq!(read.notices(9).await.unwrap().iter().map(|n| n.id).collect::<Vec<_>>(), [late, early]);
    assert_eq!(read.notices(1).await.unwrap().len(), 1);
    let concerned: Vec<_> =
        read.recipients().await.unwrap().into_iter().map(|c| (c.notice_id, c.person_id)).collect();
    assert_eq!(concerned, [(early, ana), (early, bo), (late, bo)]);
    drop(read);
    share(&store, early, &[ana]).await;
    share(&store, early, &[ana, bo]).await;
    assert_eq!(store.read().await.unwrap().unshared().await.unwrap().len(), 1, "the other isn't shared yet");
    let mut whom = due(&store, noon()).await;
    whom.sort();
    assert_eq!(whom, to(&[("Ana", 0), ("https://Attic.example/", 0), ("https://bridge.example/", 0)]));
    assert!(due(&store, noon() - 1.second()).await.is_empty(), "not before its time");
});

on_both!(a_delivery_waits_arrives_or_is_given_up_and_stays_so, |store| async move {
    use DeliveryState::{GivenUp, Sent, Told, Waiting};

    let me = loft::instructor(&store).await;
    let (one, two) = (receiver(&store, me, &fields("one")).await, receiver(&store, me, &fields("two")).await);
    let notice = told(&store, me, "it", noon(), &[]).await;
    share(&store, notice, &[]).await;
    let waiting = store.read().await.unwrap().deliveries_due(Instant(noon()), 9).await.unwrap();
    let delivery = |of: ReceiverId| waiting.iter().find(|d| d.receiver_id == Some(of)).unwrap();
    let (first, second) = (delivery(one), delivery(two));
    assert_eq!(store.read().await.unwrap().deliveries_due(Instant(noon()), 1).await.unwrap().len(), 2);
    assert!(store.read().await.unwrap().deliveries_due(Instant(noon()), 0).await.unwrap().is_empty());

    let lease = noon() + 1.minute();
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    let taken = tx.claim(first, lease).await.unwrap().expect("nobody has it");
    assert!(tx.claim(first, lease).await.unwrap().is_none(), "another copy has it");
    tx.commit().await.unwrap();
    assert_eq!(due(&store, noon()).await, to(&[("https://two.example/", 0)]));
    assert_eq!(
        due(&store, lease).await,
        to(&[("https://two.example/", 0), ("https://one.example/", 1)]),
        "unless that one died"
    );

    let attempt = async |due: &Due, state, answer: &'static str, again| {
        let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
        tx.attempted(due, state, answer, again).await.unwrap();
        tx.commit().await.unwrap();
    };
    let states = async || {
        let list = store.read().await.unwrap().deliveries(9).await.unwrap();
        list.into_iter().map(|d| (d.to_name, d.state, d.answer, d.gone)).collect::<Vec<_>>()
    };
    let line = |name: &str, state, answer: &str, gone| (name.to_owned(), state, answer.to_owned(), gone);
    attempt(&taken, Waiting, "503", noon() + 5.minutes()).await;
    attempt(second, GivenUp, "410", noon()).await;
    assert_eq!(states().await, [line("one", Waiting, "503", false), line("two", GivenUp, "410", false)]);
    assert_eq!(
        due(&store, noon() + 5.minutes()).await,
        to(&[("https://one.example/", 1)]),
        "given up is given up"
    );
    assert_eq!(store.read().await.unwrap().counts().await.unwrap().undelivered, 1);

    let mark_handled = async |id| {
        let mut tx = store.write(actor(me)).await.unwrap();
        tx.mark_handled(id).await.unwrap();
        tx.commit().await.unwrap();
    };
    let send_again = async |id, after: i64| {
        let mut tx = store.write(Actor { person: Some(me), at: noon() + after.minutes() }).await.unwrap();
        tx.send_again(id).await.unwrap();
        tx.commit().await.unwrap();
    };
    mark_handled(second.id).await;
    attempt(second, GivenUp, "late", noon()).await;
    attempt(&taken, Sent, "200", noon()).await;
    attempt(&taken, Waiting, "late", noon()).await;
    mark_handled(first.id).await;
    send_again(first.id, 7).await;
    assert_eq!(
        states().await,
        [line("one", Sent, "200", false), line("two", Told, "410", false)],
        "what arrived has arrived"
    );
    send_again(second.id, 7).await;
    assert!(due(&store, noon() + 6.minutes()).await.is_empty());
    assert_eq!(
        due(&store, noon() + 7.minutes()).await,
        to(&[("https://two.example/", 0)]),
        "from the start, from now"
    );

    let mut tx = store.write(actor(me)).await.unwrap();
    tx.change_receiver(two, 1, &ReceiverFields { paused: true, ..fields("two") }).await.unwrap();
    tx.commit().await.unwrap();
    assert!(due(&store, noon() + 1.hour()).await.is_empty(), "what waits for a paused one goes on waiting");
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.remove_receiver(two).await.unwrap();
    tx.commit().await.unwrap();
    send_again(second.id, 8).await;
    let seen = states().await;
    assert_eq!(
        (seen[0].1, seen[1].1, seen[1].3),
        (Sent, GivenUp, true),
        "nothing is sent to one that was removed"
    );
    assert_eq!(store.read().await.unwrap().counts().await.unwrap().undelivered, 0, "nor missed by it");

    let acts = async |who: String| {
        let lines = store
            .read()
            .await
            .unwrap()
            .audit_log_of(thrumhall::store::EntityKind::Receiver, &who)
            .await
            .unwrap();
        lines
            .into_iter()
            .map(|line| line.act)
            .filter(|act| act.contains("told") || act.contains("sent"))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        acts(two.to_string()).await,
        ["sent again", "sent again", "told instead"],
        "under the receiver’s own id"
    );
    assert!(acts(second.id.to_string()).await.is_empty());

    let three = receiver(&store, me, &fields("three")).await;
    let notice = told(&store, me, "that", noon(), &[]).await;
    share(&store, notice, &[]).await;
    let waiting = store.read().await.unwrap().deliveries_due(Instant(noon()), 9).await.unwrap();
    let third = waiting.iter().find(|d| d.receiver_id == Some(three)).unwrap();
    attempt(third, GivenUp, "410", noon()).await;
    send_again(third.id, 9).await;
    let again = due(&store, noon() + 9.minutes()).await;
    assert!(
        again.contains(&("https://three.example/".to_owned(), 0)),
        "another’s removal is nothing to it: {again:?}"
    );
});

/// A weaver with a rug in a term, and its place on a frame from one of two meetings on.
async fn turns(store: &Store) -> (PersonId, TermId, Vec<MeetingId>, Vec<thrumhall::store::RugId>) {
    let me = loft::instructor(store).await;
    let term = TermId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    let mut meetings = Vec::new();
    for on in [6, 7, 14, 15] {
        let starts_at = TimeOfDay(time(18, 0, 0, 0));
        let meeting = Meeting {
            id: MeetingId::new(),
            term_id: term,
            on_day: day(on),
            starts_at,
            minutes: 120,
            called_off: false,
        };
        tx.add_meeting(&meeting).await.unwrap();
        meetings.push(meeting.id);
    }
    tx.commit().await.unwrap();
    let mut rugs = Vec::new();
    let mut places = Vec::new();
    for (n, name) in ["Ana", "Bo", "Cleo", "Dora"].into_iter().enumerate() {
        let weaver = loft::person(store, Role::Weaver, name).await;
        let rug = loft::rug(store, weaver, "Tide", &usual(""), Some(term)).await;
        let frame = loft::frame(store, me, &usual(&format!("K-{n}"))).await;
        places.push(NewPlace { rug, frame, from: meetings[n], to: meetings[3] });
        rugs.push(rug);
    }
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.accept_timetable(term, 0, &places).await.unwrap();
    tx.commit().await.unwrap();
    (me, term, meetings, rugs)
}

async fn pending_events(store: &Store) -> Vec<PendingEvent> {
    store.read().await.unwrap().pending_events(day(7), day(14)).await.unwrap()
}

fn whose(list: &[PendingEvent]) -> Vec<String> {
    let weaver = |it: &PendingEvent| match &it.1 {
        Event::YourTurn { weaver, day, .. } => format!("{weaver} on {day}"),
        Event::Overdue { weaver, due, .. } => format!("{weaver} due {due}"),
        other => panic!("{other:?}"),
    };
    list.iter().map(weaver).collect()
}

on_both!(a_turn_is_told_from_a_week_before_to_its_day, |store| async move {
    let (me, term, meetings, rugs) = turns(&store).await;
    let list = pending_events(&store).await;
    assert_eq!(
        whose(&list),
        ["Bo on 2026-10-07", "Cleo on 2026-10-14"],
        "neither yesterday's nor in eight days"
    );
    let weaver = store.read().await.unwrap().rug(rugs[1]).await.unwrap().unwrap().weaver_id;
    assert_eq!(list[0].2, [weaver]);
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.enqueue(&list[0]).await.unwrap();
    tx.end_session("").await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(whose(&pending_events(&store).await), ["Cleo on 2026-10-14"], "told once");
    // One after the other: the meeting is off, the term is closed, the rug has begun, the weaver left.
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.call_off(meetings[2], true).await.unwrap();
    tx.commit().await.unwrap();
    assert!(pending_events(&store).await.is_empty(), "the meeting is off");
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.call_off(meetings[2], false).await.unwrap();
    tx.close_term(term, true).await.unwrap();
    tx.commit().await.unwrap();
    assert!(pending_events(&store).await.is_empty(), "the term is closed");
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.close_term(term, false).await.unwrap();
    tx.set_rug_state(rugs[2], RugState::Weaving).await.unwrap();
    tx.commit().await.unwrap();
    assert!(pending_events(&store).await.is_empty(), "the rug is begun");
    let cleo = store.read().await.unwrap().rug(rugs[2]).await.unwrap().unwrap().weaver_id;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.set_rug_state(rugs[2], RugState::Planned).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(whose(&pending_events(&store).await), ["Cleo on 2026-10-14"]);
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.person_leaves(cleo).await.unwrap();
    tx.commit().await.unwrap();
    assert!(pending_events(&store).await.is_empty(), "she left");
});

on_both!(a_frame_is_overdue_from_the_day_after_and_told_once_for_each_day, |store| async move {
    let (me, term, _, rugs) = turns(&store).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.close_term(term, true).await.unwrap();
    let frames = store.read().await.unwrap().frames().await.unwrap();
    let loans = [LoanId::new(), LoanId::new(), LoanId::new()];
    for (n, due) in [(0, day(7)), (1, day(6)), (2, day(5))] {
        let what = HandOut { frame: frames[n].id, rug: rugs[n], rods: None, due_on: due };
        tx.hand_out(loans[n], &what).await.unwrap();
    }
    tx.commit().await.unwrap();
    let list = pending_events(&store).await;
    assert_eq!(whose(&list), ["Cleo due 2026-10-05", "Bo due 2026-10-06"], "due today isn't overdue");
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.enqueue(&list[0]).await.unwrap();
    let how = thrumhall::store::loans::TakeBack {
        condition: thrumhall::store::frames::Condition::Sound,
        rug: RugState::Planned,
        rods_bent: 0,
        rods_missing: 0,
        note: String::new(),
    };
    tx.take_back(loans[1], &how).await.unwrap();
    tx.commit().await.unwrap();
    assert!(pending_events(&store).await.is_empty(), "told, and taken back");
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.move_due(loans[2], day(5), day(6)).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(
        whose(&pending_events(&store).await),
        ["Cleo due 2026-10-06"],
        "another day is another matter"
    );
});
