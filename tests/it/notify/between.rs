//! What somebody does between a notice's queueing and its attempt, or while a receiver takes its time.
use std::sync::Arc;
use std::time::Duration;

use jiff::SignedDuration;
use thrumhall::clock::Clock;
use thrumhall::notify::{Dispatcher, Tick, secret_of};
use thrumhall::secrets;
use thrumhall::store::notices::DeliveryState;
use thrumhall::store::notices::receivers::ReceiverFields;
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::{PersonId, ReceiverId, Store, Write};
use tokio::sync::Notify;

use super::{called_off, deliveries, dispatcher, found, receiver, tell, url, verify};
use crate::support::receivers::{Behaviour, Receiver, status};
use crate::support::{actor, noon, on_both};

/// A change by an instructor.
macro_rules! act {
    ($store:expr, $me:expr, |$tx:ident| $does:expr) => {{
        let mut $tx: Write = $store.write(actor($me)).await.unwrap();
        $does.await.unwrap();
        $tx.commit().await.unwrap();
    }};
}

fn bridge(url: String, contacts: bool, paused: bool) -> ReceiverFields {
    ReceiverFields { name: "Bridge".into(), url, contacts, paused }
}

fn minutes(minutes: i64) -> SignedDuration {
    SignedDuration::from_mins(minutes)
}

/// Ana, whose contact is known.
async fn ana(store: &Store, me: PersonId) -> PersonId {
    let id = PersonId::new();
    let fields = PersonFields { name: "Ana".into(), contact: "harbourline 7".into(), units: None };
    act!(store, me, |tx| tx.add_person(id, Role::Weaver, &fields, None));
    id
}

on_both!(a_paused_receiver_is_sent_nothing_until_it_goes_on, |store| async move {
    let me = found(&store).await;
    let busy = Receiver::new([status("503 Service Unavailable")]).await;
    let (id, secret) = receiver(&store, me, url(busy.at), false).await;
    tell(&store, me, 1, &[]).await;
    let clock = Clock::fixed(noon());
    let dispatcher = dispatcher(&store, &clock, true);
    assert_eq!(dispatcher.tick().await.unwrap().failed, 1);
    act!(store, me, |tx| tx.change_receiver(id, 1, &bridge(url(busy.at), false, true)));
    for after in [1, 60, 3 * 24 * 60] {
        clock.set(noon() + minutes(after));
        assert_eq!(dispatcher.tick().await.unwrap(), Tick::default(), "a paused receiver is sent what waits");
    }
    // What happens meanwhile isn't meant for it at all.
    act!(store, me, |tx| async {
        tx.call_off(thrumhall::store::MeetingId::new(), true).await?;
        tx.enqueue(&("meanwhile".into(), called_off(), Vec::new())).await
    });
    assert_eq!(dispatcher.tick().await.unwrap(), Tick::default());
    act!(store, me, |tx| tx.change_receiver(id, 2, &bridge(url(busy.at), false, false)));
    assert_eq!(dispatcher.tick().await.unwrap(), Tick { told: 0, sent: 1, failed: 0 });
    let got = busy.got();
    assert_eq!(got.len(), 2);
    assert_eq!(got[0].headers["webhook-id"], got[1].headers["webhook-id"]);
    verify(&secret, &got[1]);
});

on_both!(only_a_receiver_that_may_know_is_told_how_to_reach_the_people_concerned, |store| async move {
    let me = found(&store).await;
    let (ticked, plain) = (Receiver::new([]).await, Receiver::new([]).await);
    receiver(&store, me, url(ticked.at), true).await;
    receiver(&store, me, url(plain.at), false).await;
    let ana = ana(&store, me).await;
    tell(&store, me, 1, &[ana]).await;
    assert_eq!(dispatcher(&store, &Clock::fixed(noon()), true).tick().await.unwrap().sent, 2);
    let people = |receiver: &Receiver| {
        let body: serde_json::Value = serde_json::from_str(&receiver.got()[0].body).unwrap();
        body["data"]["people"].clone()
    };
    assert_eq!(people(&ticked), serde_json::json!([{ "name": "Ana", "contact": "harbourline 7" }]));
    assert_eq!(people(&plain), serde_json::json!([{ "name": "Ana" }]));
    assert!(!plain.got()[0].body.contains("harbourline"));
});

/// What a receiver is changed to while it takes its time over the first of two notices.
#[derive(Clone, Copy, PartialEq)]
enum Meanwhile {
    Paused,
    Removed,
    Renewed,
    KnowsLess,
    Moved,
}

async fn meanwhile(store: Store, what: Meanwhile) {
    let me = found(&store).await;
    let let_go = Arc::new(Notify::new());
    let slow = Receiver::new([Behaviour::AnswersWhenLet("200 OK", let_go.clone())]).await;
    let other = Receiver::new([]).await;
    let (id, secret) = receiver(&store, me, url(slow.at), true).await;
    let ana = ana(&store, me).await;
    tell(&store, me, 2, &[ana]).await;
    let patient = patient(&store, &Clock::fixed(noon()));
    let going = tokio::spawn(async move { patient.tick().await.unwrap() });
    slow.arrived.notified().await;
    let renewed = secret_of(secrets::random());
    match what {
        Meanwhile::Paused => {
            act!(store, me, |tx| tx.change_receiver(id, 1, &bridge(url(slow.at), true, true)));
        }
        Meanwhile::Removed => act!(store, me, |tx| tx.remove_receiver(id)),
        Meanwhile::Renewed => act!(store, me, |tx| tx.renew_secret(id, &renewed)),
        Meanwhile::KnowsLess => {
            act!(store, me, |tx| tx.change_receiver(id, 1, &bridge(url(slow.at), false, false)));
        }
        Meanwhile::Moved => {
            act!(store, me, |tx| tx.change_receiver(id, 1, &bridge(url(other.at), true, false)));
        }
    }
    let_go.notify_one();
    let sent = going.await.unwrap().sent;
    let (here, there) = (slow.got(), other.got());
    verify(&secret, &here[0]);
    match what {
        Meanwhile::Paused | Meanwhile::Removed => assert_eq!((sent, here.len()), (1, 1), "sent all the same"),
        Meanwhile::Renewed => {
            assert_eq!((sent, here.len()), (2, 2));
            verify(&renewed, &here[1]);
        }
        Meanwhile::KnowsLess => {
            assert_eq!((sent, here.len()), (2, 2));
            assert!(!here[1].body.contains("harbourline"), "{}", here[1].body);
        }
        Meanwhile::Moved => assert_eq!((sent, here.len(), there.len()), (2, 1, 1), "sent to where it was"),
    }
}

fn patient(store: &Store, clock: &Clock) -> Dispatcher {
    Dispatcher::new(store.clone(), clock.clone(), true, None, Duration::from_mins(1)).unwrap()
}

on_both!(a_pause_holds_for_what_stands_in_line, |store| async move {
    meanwhile(store, Meanwhile::Paused).await;
});
on_both!(a_removal_holds_for_what_stands_in_line, |store| async move {
    meanwhile(store, Meanwhile::Removed).await;
});
on_both!(a_new_secret_signs_what_stands_in_line, |store| async move {
    meanwhile(store, Meanwhile::Renewed).await;
});
on_both!(contacts_taken_away_are_not_sent_with_what_stands_in_line, |store| async move {
    meanwhile(store, Meanwhile::KnowsLess).await;
});
on_both!(what_stands_in_line_goes_to_the_new_address, |store| async move {
    meanwhile(store, Meanwhile::Moved).await;
});

/// A delivery whose first attempt has no answer yet: its receiver, what lets it answer, and the dispatcher that waits.
struct Held {
    receiver: ReceiverId,
    slow: Receiver,
    let_go: Arc<Notify>,
    going: tokio::task::JoinHandle<Tick>,
    clock: Clock,
}

async fn held(store: &Store, me: PersonId, answer: &'static str, then: &'static str) -> Held {
    let let_go = Arc::new(Notify::new());
    let slow = Receiver::new([Behaviour::AnswersWhenLet(answer, let_go.clone()), status(then)]).await;
    let (receiver, _) = receiver(store, me, url(slow.at), false).await;
    tell(store, me, 1, &[]).await;
    let clock = Clock::fixed(noon());
    let patient = patient(store, &clock);
    let going = tokio::spawn(async move { patient.tick().await.unwrap() });
    slow.arrived.notified().await;
    Held { receiver, slow, let_go, going, clock }
}

impl Held {
    /// Lets the first attempt have its answer, and waits until that is kept.
    async fn answered(self) {
        self.let_go.notify_one();
        self.going.await.unwrap();
    }
}

on_both!(a_late_answer_takes_nothing_back_that_somebody_told, |store| async move {
    let me = found(&store).await;
    for (n, answer) in ["503 Service Unavailable", "200 OK"].into_iter().enumerate() {
        let held = held_of(&store, me, n, answer).await;
        let id =
            deliveries(&store).await.into_iter().find(|one| one.state == DeliveryState::Waiting).unwrap().id;
        act!(store, me, |tx| tx.mark_handled(id));
        held.answered().await;
        let now = deliveries(&store).await.into_iter().find(|one| one.id == id).unwrap();
        assert_eq!(now.state, DeliveryState::Told, "a late {answer} overwrites what somebody told");
    }
});

/// The same as [`held`], for the test that holds one after another.
async fn held_of(store: &Store, me: PersonId, n: usize, answer: &'static str) -> Held {
    if n > 0 {
        for one in store.read().await.unwrap().receivers().await.unwrap() {
            act!(store, me, |tx| tx.remove_receiver(one.id));
        }
        let let_go = Arc::new(Notify::new());
        let slow = Receiver::new([Behaviour::AnswersWhenLet(answer, let_go.clone())]).await;
        let (receiver, _) = receiver(store, me, url(slow.at), false).await;
        act!(store, me, |tx| tx.try_receiver(receiver));
        let clock = Clock::fixed(noon());
        let patient = patient(store, &clock);
        let going = tokio::spawn(async move { patient.tick().await.unwrap() });
        slow.arrived.notified().await;
        return Held { receiver, slow, let_go, going, clock };
    }
    held(store, me, answer, "200 OK").await
}

on_both!(a_late_failure_brings_nothing_back_for_a_receiver_that_was_removed, |store| async move {
    let me = found(&store).await;
    let held = held(&store, me, "503 Service Unavailable", "200 OK").await;
    let id = held.receiver;
    act!(store, me, |tx| tx.remove_receiver(id));
    let before = deliveries(&store).await.remove(0);
    assert_eq!(before.state, DeliveryState::GivenUp);
    held.answered().await;
    let after = deliveries(&store).await.remove(0);
    assert_eq!((after.state, after.answer), (DeliveryState::GivenUp, before.answer), "it waits for nobody");
});

on_both!(an_attempt_whose_lease_ran_out_overwrites_nothing_of_the_next, |store| async move {
    let me = found(&store).await;
    for then in ["200 OK", "503 Service Unavailable"] {
        for one in store.read().await.unwrap().receivers().await.unwrap() {
            act!(store, me, |tx| tx.remove_receiver(one.id));
        }
        let let_go = Arc::new(Notify::new());
        let slow = Receiver::new([
            Behaviour::AnswersWhenLet("500 Internal Server Error", let_go.clone()),
            status(then),
        ])
        .await;
        let (id, _) = receiver(&store, me, url(slow.at), false).await;
        act!(store, me, |tx| tx.try_receiver(id));
        let clock = Clock::fixed(noon());
        let first = patient(&store, &clock);
        let going = tokio::spawn(async move { first.tick().await.unwrap() });
        slow.arrived.notified().await;
        // Three times its patience later somebody else may.
        clock.set(noon() + minutes(3) - SignedDuration::from_micros(1));
        assert_eq!(patient(&store, &clock).tick().await.unwrap(), Tick::default(), "taken up by two at once");
        clock.set(noon() + minutes(3));
        let second = patient(&store, &clock).tick().await.unwrap();
        assert_eq!(second.sent + second.failed, 1);
        let newest =
            async || deliveries(&store).await.into_iter().max_by_key(|one| one.id.to_string()).unwrap();
        let before = newest().await;
        let_go.notify_one();
        going.await.unwrap();
        let after = newest().await;
        assert_eq!(after.state, before.state, "after {then} a late failure");
        assert_eq!(
            (after.next_at, after.answer),
            (before.next_at, before.answer),
            "after {then} a late failure"
        );
    }
});

on_both!(what_arrived_late_has_arrived, |store| async move {
    let me = found(&store).await;
    let held = held(&store, me, "200 OK", "503 Service Unavailable").await;
    held.clock.set(noon() + minutes(3));
    assert_eq!(patient(&store, &held.clock).tick().await.unwrap().failed, 1);
    let (clock, slow) = (held.clock.clone(), held.slow.clone());
    held.answered().await;
    assert_eq!(deliveries(&store).await[0].state, DeliveryState::Sent);
    clock.set(noon() + minutes(60));
    assert_eq!(patient(&store, &clock).tick().await.unwrap(), Tick::default());
    assert_eq!(slow.got().len(), 2);
});
