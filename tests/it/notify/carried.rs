//! A delivery is carried until it arrives, by one dispatcher at a time, under one id, and to nobody who mustn't be asked.
use jiff::SignedDuration;
use thrumhall::clock::Clock;
use thrumhall::notify::Tick;
use thrumhall::store::notices::DeliveryState;
use thrumhall::store::people::Role;

use super::{PATIENCE, deliveries, dispatcher, found, receiver, tell, url, verify};
use crate::support::loft;
use crate::support::receivers::{Behaviour, Receiver, status};
use crate::support::{actor, noon, on_both};

on_both!(
    a_receiver_that_fails_hangs_points_inward_and_answers_late_gets_it_under_one_id,
    |store| async move {
        let me = found(&store).await;
        let trap = Receiver::new([]).await;
        let inward = format!("location: http://{}/inside?secret=1\r\n", trap.at);
        let hostile = Receiver::new([
            status("500 Internal Server Error"),
            Behaviour::Hangs,
            Behaviour::Answers("307 Temporary Redirect", inward.clone()),
            Behaviour::Answers("302 Found", inward),
            Behaviour::HangsUp,
            Behaviour::AnswersLate(PATIENCE * 2),
        ])
        .await;
        let (_, secret) = receiver(&store, me, url(hostile.at), false).await;
        let weaver = loft::person(&store, Role::Weaver, "Ana").await;
        tell(&store, me, 1, &[weaver]).await;
        let clock = Clock::fixed(noon());
        let dispatcher = dispatcher(&store, &clock, true);
        let mut said = Vec::new();
        for attempt in 1..=7 {
            let round = dispatcher.tick().await.unwrap();
            let expected =
                Tick { told: 0, sent: usize::from(attempt == 7), failed: usize::from(attempt < 7) };
            assert_eq!(round, expected, "attempt {attempt}");
            // Before its time comes nothing is tried again.
            assert_eq!(dispatcher.tick().await.unwrap(), Tick::default());
            let now = deliveries(&store).await;
            assert_eq!(now.len(), 1);
            assert_eq!(now[0].attempts, attempt);
            said.push(now[0].answer.clone());
            clock.set(now[0].next_at.0.max(clock.now()));
        }
        assert_eq!(
            said,
            [
                "It answered 500 Internal Server Error.",
                "No answer within 0.4 s.",
                "It answered 307 Temporary Redirect and points elsewhere, where nothing is sent.",
                "It answered 302 Found and points elsewhere, where nothing is sent.",
                "The connection broke.",
                "No answer within 0.4 s.",
                "It answered 200 OK.",
            ]
        );
        // After seven attempts spread over most of a day: 1 + 5 + 30 + 120 + 360 + 720 minutes.
        assert_eq!(clock.now().duration_since(noon()), SignedDuration::from_mins(1236));
        assert!(trap.got().is_empty(), "something went where the redirect led: {:?}", trap.got());
        let got = hostile.got();
        assert_eq!(got.len(), 7);
        for one in &got {
            verify(&secret, one);
            assert_eq!(one.headers["webhook-id"], got[0].headers["webhook-id"]);
            assert_eq!(one.body, got[0].body);
            assert!(!one.body.contains("contact"), "{}", one.body);
        }
        // The time is that of the attempt, so that an old message can be refused.
        let times: Vec<i64> =
            got.iter().map(|one| one.headers["webhook-timestamp"].parse().unwrap()).collect();
        assert!(times.is_sorted() && times[0] < times[6], "{times:?}");
        let body: serde_json::Value = serde_json::from_str(&got[0].body).unwrap();
        assert_eq!(body["type"], "meeting.called-off");
        assert_eq!(body["data"]["people"], serde_json::json!([{ "name": "Ana" }]));
        assert_eq!(body["data"]["id"], *got[0].headers["webhook-id"]);
        assert_eq!(
            body["data"]["text"],
            "The meeting of Ebb on Wednesday 14 October at 18:30 won’t take place."
        );
    }
);

on_both!(nobody_within_is_asked_unless_allowed, |store| async move {
    let me = found(&store).await;
    let neighbour = Receiver::new([]).await;
    receiver(&store, me, url(neighbour.at), true).await;
    // A name that leads inward is found out when it is looked up.
    receiver(&store, me, format!("http://localhost:{}/hook", neighbour.at.port()), true).await;
    receiver(&store, me, format!("http://[::ffff:127.0.0.1]:{}/hook", neighbour.at.port()), true).await;
    tell(&store, me, 1, &[]).await;
    let clock = Clock::fixed(noon());
    assert_eq!(dispatcher(&store, &clock, false).tick().await.unwrap(), Tick { told: 0, sent: 0, failed: 3 });
    for one in deliveries(&store).await {
        assert_eq!(
            one.answer,
            "Not asked: it leads to a private address, which this program was not told to allow."
        );
    }
    assert!(neighbour.got().is_empty());
    clock.set(noon() + SignedDuration::from_mins(1));
    assert_eq!(dispatcher(&store, &clock, true).tick().await.unwrap(), Tick { told: 0, sent: 3, failed: 0 });
});

on_both!(given_up_after_three_days_and_sent_again_under_the_same_id, |store| async move {
    let me = found(&store).await;
    let shut = Receiver::new((0..9).map(|_| status("410 Gone"))).await;
    receiver(&store, me, url(shut.at), false).await;
    tell(&store, me, 1, &[]).await;
    let clock = Clock::fixed(noon());
    let dispatcher = dispatcher(&store, &clock, true);
    for _ in 0..9 {
        assert_eq!(dispatcher.tick().await.unwrap().failed, 1);
        clock.set(deliveries(&store).await[0].next_at.0.max(clock.now()));
    }
    let given_up = deliveries(&store).await.remove(0);
    assert_eq!((given_up.state, given_up.attempts), (DeliveryState::GivenUp, 9));
    assert_eq!(clock.now().duration_since(noon()), SignedDuration::from_mins(4116));
    clock.set(clock.now() + SignedDuration::from_hours(24 * 30));
    assert_eq!(dispatcher.tick().await.unwrap(), Tick::default());
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.send_again(given_up.id).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(dispatcher.tick().await.unwrap().sent, 1);
    let got = shut.got();
    assert_eq!(got.len(), 10);
    assert!(got.iter().all(|one| one.headers["webhook-id"] == got[0].headers["webhook-id"]));
});

on_both!(one_who_stops_in_the_middle_leaves_it_to_the_next, |store| async move {
    let me = found(&store).await;
    let bridge = Receiver::new([]).await;
    receiver(&store, me, url(bridge.at), false).await;
    tell(&store, me, 1, &[]).await;
    let clock = Clock::fixed(noon());
    // The first one shares out and takes the delivery up, and then is no more.
    let mut tx = store.write(actor(me)).await.unwrap();
    for notice in store.read().await.unwrap().unshared().await.unwrap() {
        tx.share(notice.id, &[]).await.unwrap();
    }
    tx.commit().await.unwrap();
    let due = store.read().await.unwrap().deliveries_due(noon().into(), 9).await.unwrap().remove(0);
    let lease = noon() + SignedDuration::from_secs(30);
    let mut tx = store.write(actor(me)).await.unwrap();
    assert!(tx.claim(&due, lease).await.unwrap().is_some());
    tx.commit().await.unwrap();
    let dispatcher = dispatcher(&store, &clock, true);
    assert_eq!(dispatcher.tick().await.unwrap(), Tick::default());
    clock.set(lease);
    assert_eq!(dispatcher.tick().await.unwrap().sent, 1);
    assert_eq!(bridge.got().len(), 1);
});

on_both!(of_several_couriers_each_notice_is_carried_by_one, |store| async move {
    let me = found(&store).await;
    let bridge = Receiver::new([]).await;
    receiver(&store, me, url(bridge.at), false).await;
    tell(&store, me, 25, &[]).await;
    let clock = Clock::fixed(noon());
    let going: Vec<_> = (0..4)
        .map(|_| {
            let dispatcher = dispatcher(&store, &clock, true);
            tokio::spawn(async move { dispatcher.tick().await.unwrap() })
        })
        .collect();
    let mut sent = 0;
    for one in going {
        sent += one.await.unwrap().sent;
    }
    sent += dispatcher(&store, &clock, true).tick().await.unwrap().sent;
    assert_eq!(sent, 25);
    let mut ids: Vec<_> = bridge.got().into_iter().map(|one| one.headers["webhook-id"].clone()).collect();
    assert_eq!(ids.len(), 25);
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), 25);
});

on_both!(a_receiver_that_hangs_holds_up_no_other, |store| async move {
    let me = found(&store).await;
    let (stuck, quick) = (Receiver::new((0..99).map(|_| Behaviour::Hangs)).await, Receiver::new([]).await);
    receiver(&store, me, url(stuck.at), false).await;
    receiver(&store, me, url(quick.at), false).await;
    tell(&store, me, 12, &[]).await;
    let round = dispatcher(&store, &Clock::fixed(noon()), true).tick().await.unwrap();
    // One attempt at the one that hangs, after which the rest for it waits; everything for the other.
    assert_eq!(round, Tick { told: 0, sent: 12, failed: 1 });
    assert_eq!((stuck.got().len(), quick.got().len()), (1, 12));
});
