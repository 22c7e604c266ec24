//! Notices on their way: signed, tried until they arrive, under one id, and to nobody who mustn't be asked.
use std::net::SocketAddr;
use std::time::Duration;

use data_encoding::BASE64;
use hmac::{Hmac, KeyInit as _, Mac as _};
use jiff::{SignedDuration, Timestamp, ToSpan as _};
use thrumhall::edge::{self, Clock};
use thrumhall::exchange::notices::{Courier, Mail, Round, is_public, secret_of, sign};
use thrumhall::store::loans::HandOut;
use thrumhall::store::notices::{Delivery, DeliveryState, Happening};
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::receivers::ReceiverFields;
use thrumhall::store::{Actor, Day, LoanId, MeetingId, PersonId, ReceiverId, Store};

use crate::support::loft::{self, usual};
use crate::support::receivers::{Behaviour, Got, Receiver, mail_server, status};
use crate::support::{actor, noon, on_both};

/// Source: the reference libraries of the Standard Webhooks specification, which share this vector.
#[test]
fn a_signature_is_that_of_the_specification() {
    let at = Timestamp::from_second(1_614_265_330).unwrap();
    let signed = sign(
        "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
        "msg_p5jXN8AQM9LWM0D4loKWxJek",
        at,
        r#"{"test": 2432232314}"#,
    );
    assert_eq!(signed.unwrap(), "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
    for bad in ["", "whsec_", "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "whsec_not base64"] {
        assert!(sign(bad, "id", at, "{}").is_err(), "{bad:?}");
    }
}

/// Source: IANA, IPv4 and IPv6 Special-Purpose Address Registries (RFC 6890), an address of each entry that is not
/// globally reachable; and some that are.
#[test]
fn private_addresses_are_told_from_public_ones() {
    let private = [
        "0.0.0.0",
        "0.1.2.3",
        "10.0.0.1",
        "100.64.0.1",
        "100.127.255.255",
        "127.0.0.1",
        "127.9.9.9",
        "169.254.169.254",
        "172.16.0.1",
        "172.31.255.255",
        "192.0.0.8",
        "192.0.2.1",
        "192.88.99.1",
        "192.168.1.1",
        "198.18.0.1",
        "198.19.255.255",
        "198.51.100.7",
        "203.0.113.9",
        "224.0.0.1",
        "240.0.0.1",
        "255.255.255.255",
        "::",
        "::1",
        "::ffff:127.0.0.1",
        "::ffff:10.0.0.1",
        "64:ff9b::7f00:1",
        "64:ff9b:1::1",
        "100::1",
        "2001::1",
        "2001:2::1",
        "2001:db8::1",
        "2002:7f00:1::",
        "2002:c0a8:101::1",
        "3fff::1",
        "5f00::1",
        "fc00::1",
        "fd12:3456::1",
        "fe80::1",
        "ff02::1",
        "::127.0.0.1",
    ];
    for address in private {
        assert!(!is_public(address.parse().unwrap()), "{address}");
    }
    let public = [
        "1.1.1.1",
        "100.63.255.255",
        "100.128.0.1",
        "172.15.0.1",
        "172.32.0.1",
        "192.0.1.1",
        "198.17.0.1",
        "198.20.0.1",
        "223.255.255.255",
        "2606:4700::1",
        "2001:4860::8888",
        "2a00::1",
        "::ffff:1.1.1.1",
        "64:ff9b::101:101",
    ];
    for address in public {
        assert!(is_public(address.parse().unwrap()), "{address}");
    }
}

const PATIENCE: Duration = Duration::from_millis(400);

fn courier(store: &Store, clock: &Clock, inside: bool) -> Courier {
    Courier::new(store.clone(), clock.clone(), inside, None, PATIENCE).unwrap()
}

async fn found(store: &Store) -> PersonId {
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", "UTC", thrumhall::craft::units::Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    loft::instructor(store).await
}

async fn receiver(store: &Store, me: PersonId, url: String, contacts: bool) -> (ReceiverId, String) {
    let (id, secret) = (ReceiverId::fresh(), secret_of(edge::random()));
    let mut tx = store.write(actor(me)).await.unwrap();
    let fields = ReceiverFields { name: "Bridge".into(), url, contacts, paused: false };
    tx.add_receiver(id, &fields, &secret).await.unwrap();
    tx.commit().await.unwrap();
    (id, secret)
}

fn url(at: SocketAddr) -> String {
    format!("http://{at}/hook")
}

fn called_off() -> Happening {
    Happening::CalledOff {
        term: "Ebb".into(),
        day: "2026-10-14".parse().unwrap(),
        starts: "18:30".parse().unwrap(),
    }
}

/// So many notices about nothing in particular that concern these people.
async fn tell(store: &Store, me: PersonId, many: usize, people: &[PersonId]) {
    let mut tx = store.write(actor(me)).await.unwrap();
    // A change needs something to record, or something that turns out to be so already.
    tx.call_off(MeetingId::fresh(), true).await.unwrap();
    for n in 0..many {
        tx.tell(&(format!("test:{n}"), called_off(), people.to_vec())).await.unwrap();
    }
    tx.commit().await.unwrap();
}

async fn deliveries(store: &Store) -> Vec<Delivery> {
    store.read().await.unwrap().deliveries(1000).await.unwrap()
}

/// What a receiver does by the Standard Webhooks specification: the signature over id, time and body, in constant time.
fn verify(secret: &str, got: &Got) {
    let (id, time) = (&got.headers["webhook-id"], &got.headers["webhook-timestamp"]);
    let key = BASE64.decode(secret.strip_prefix("whsec_").unwrap().as_bytes()).unwrap();
    let mut mac = Hmac::<sha2::Sha256>::new_from_slice(&key).unwrap();
    mac.update(format!("{id}.{time}.{}", got.body).as_bytes());
    let signature = got.headers["webhook-signature"].strip_prefix("v1,").unwrap();
    mac.verify_slice(&BASE64.decode(signature.as_bytes()).unwrap()).expect("the signature fits");
}

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
        let courier = courier(&store, &clock, true);
        let mut said = Vec::new();
        for attempt in 1..=7 {
            let round = courier.round().await.unwrap();
            let expected =
                Round { told: 0, sent: usize::from(attempt == 7), failed: usize::from(attempt < 7) };
            assert_eq!(round, expected, "attempt {attempt}");
            // Before its time comes nothing is tried again.
            assert_eq!(courier.round().await.unwrap(), Round::default());
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
    assert_eq!(courier(&store, &clock, false).round().await.unwrap(), Round { told: 0, sent: 0, failed: 3 });
    for one in deliveries(&store).await {
        assert_eq!(
            one.answer,
            "Not asked: it leads to a private address, which this program was not told to allow."
        );
    }
    assert!(neighbour.got().is_empty());
    clock.set(noon() + SignedDuration::from_mins(1));
    assert_eq!(courier(&store, &clock, true).round().await.unwrap(), Round { told: 0, sent: 3, failed: 0 });
});

on_both!(given_up_after_three_days_and_sent_again_under_the_same_id, |store| async move {
    let me = found(&store).await;
    let shut = Receiver::new((0..9).map(|_| status("410 Gone"))).await;
    receiver(&store, me, url(shut.at), false).await;
    tell(&store, me, 1, &[]).await;
    let clock = Clock::fixed(noon());
    let courier = courier(&store, &clock, true);
    for _ in 0..9 {
        assert_eq!(courier.round().await.unwrap().failed, 1);
        clock.set(deliveries(&store).await[0].next_at.0.max(clock.now()));
    }
    let given_up = deliveries(&store).await.remove(0);
    assert_eq!((given_up.state, given_up.attempts), (DeliveryState::GivenUp, 9));
    assert_eq!(clock.now().duration_since(noon()), SignedDuration::from_mins(4116));
    clock.set(clock.now() + SignedDuration::from_hours(24 * 30));
    assert_eq!(courier.round().await.unwrap(), Round::default());
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.send_again(given_up.id).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(courier.round().await.unwrap().sent, 1);
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
    assert!(tx.take_up(&due, lease).await.unwrap());
    tx.commit().await.unwrap();
    let courier = courier(&store, &clock, true);
    assert_eq!(courier.round().await.unwrap(), Round::default());
    clock.set(lease);
    assert_eq!(courier.round().await.unwrap().sent, 1);
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
            let courier = courier(&store, &clock, true);
            tokio::spawn(async move { courier.round().await.unwrap() })
        })
        .collect();
    let mut sent = 0;
    for one in going {
        sent += one.await.unwrap().sent;
    }
    sent += courier(&store, &clock, true).round().await.unwrap().sent;
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
    let round = courier(&store, &Clock::fixed(noon()), true).round().await.unwrap();
    // One attempt at the one that hangs, after which the rest for it waits; everything for the other.
    assert_eq!(round, Round { told: 0, sent: 12, failed: 1 });
    assert_eq!((stuck.got().len(), quick.got().len()), (1, 12));
});

on_both!(time_brings_notices_once, |store| async move {
    let me = found(&store).await;
    let frame = loft::frame(&store, me, &usual("S1")).await;
    let weaver = loft::person(&store, Role::Weaver, "Ana").await;
    let rug = loft::rug(&store, weaver, "Tide", &usual(""), None).await;
    let due: jiff::civil::Date = "2026-10-09".parse().unwrap();
    let loan = LoanId::fresh();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.hand_out(loan, &HandOut { frame, rug, rods: None, due_on: Day(due) }).await.unwrap();
    tx.commit().await.unwrap();
    let clock = Clock::fixed(noon());
    let courier = courier(&store, &clock, true);
    assert_eq!(courier.round().await.unwrap().told, 0);
    // On its day it isn't overdue yet; on the next it is, and that is told once.
    clock.set("2026-10-09T23:59:00Z".parse().unwrap());
    assert_eq!(courier.round().await.unwrap().told, 0);
    clock.set("2026-10-10T00:00:00Z".parse().unwrap());
    assert_eq!(courier.round().await.unwrap().told, 1);
    assert_eq!(courier.round().await.unwrap().told, 0);
    let mut tx = store.write(actor(me)).await.unwrap();
    let later = due.checked_add(2.days()).unwrap();
    tx.move_due(loan, Day(due), Day(later)).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(courier.round().await.unwrap().told, 0);
    clock.set("2026-10-12T08:00:00Z".parse().unwrap());
    assert_eq!(courier.round().await.unwrap().told, 1);
    let told = store.read().await.unwrap().notices(9).await.unwrap();
    assert!(
        matches!(&told[0].happening, Happening::Overdue { frame, due, .. } if frame == "S1" && *due == later)
    );
    assert!(told.iter().all(|notice| notice.shared));
});

on_both!(mail_goes_to_whom_it_concerns, |store| async move {
    let me = found(&store).await;
    let (at, mails) = mail_server("nobody@quay.example").await;
    let mut people = Vec::new();
    for (name, contact) in [
        ("Ana Ölund", "phone 555 0100, ana@quay.example (evenings)"),
        ("Ben", "nobody@quay.example"),
        ("Cleo", "by the net shed"),
    ] {
        let id = PersonId::fresh();
        let fields = PersonFields { name: name.into(), contact: contact.into(), units: None };
        let mut tx = store.write(actor(me)).await.unwrap();
        tx.add_person(id, Role::Weaver, &fields, None).await.unwrap();
        tx.commit().await.unwrap();
        people.push(id);
    }
    tell(&store, me, 1, &people).await;
    let clock = Clock::fixed(noon());
    let mail = Mail::new(&format!("smtp://{at}"), "rugs@loft.example", PATIENCE).unwrap();
    let courier = Courier::new(store.clone(), clock.clone(), false, Some(mail), PATIENCE).unwrap();
    assert_eq!(courier.round().await.unwrap(), Round { told: 0, sent: 1, failed: 1 });
    let taken = mails.lock().unwrap().clone();
    assert_eq!(taken.len(), 1);
    assert!(taken[0].contains("ana@quay.example") && taken[0].contains("From: "), "{}", taken[0]);
    assert!(taken[0].contains("Subject: Called off: Wednesday 14 October"), "{}", taken[0]);
    let ways = deliveries(&store).await;
    let answers: Vec<_> = ways.iter().map(|way| (way.to_name.as_str(), way.answer.as_str())).collect();
    assert_eq!(
        answers,
        [("Ana Ölund", "The mail server took it: 250."), ("Ben", "The mail server refused it: 550.")]
    );
    // The id of the mail is the delivery's: a second copy can be told for what it is.
    assert!(taken[0].contains(&format!("Message-ID: <{}@loft.example>", ways[0].id)), "{}", taken[0]);
    assert!(Mail::new("mail.example", "rugs@loft.example", PATIENCE).is_err());
    assert!(Mail::new("smtps://mail.example", "rugs", PATIENCE).is_err());
});
