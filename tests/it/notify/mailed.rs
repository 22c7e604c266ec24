//! Notices by mail: to whom they concern, from the workroom, as one mail however often it is tried.
use jiff::SignedDuration;
use thrumhall::clock::Clock;
use thrumhall::notify::{Dispatcher, Mail, Tick};
use thrumhall::store::notices::Event;
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::{MeetingId, PersonId, Store};

use super::{PATIENCE, deliveries, found, tell};
use crate::support::receivers::{mail_server, mail_server_that};
use crate::support::{actor, noon, on_both};

on_both!(mail_goes_to_whom_it_concerns, |store| async move {
    let me = found(&store).await;
    let (at, mails) = mail_server("nobody@quay.example").await;
    let mut people = Vec::new();
    for (name, contact) in [
        ("Ana Ölund", "phone 555 0100, ana@quay.example (evenings)"),
        ("Ben", "nobody@quay.example"),
        ("Cleo", "by the net shed"),
    ] {
        let id = PersonId::new();
        let fields = PersonFields { name: name.into(), contact: contact.into(), units: None };
        let mut tx = store.write(actor(me)).await.unwrap();
        tx.add_person(id, Role::Weaver, &fields, None).await.unwrap();
        tx.commit().await.unwrap();
        people.push(id);
    }
    tell(&store, me, 1, &people).await;
    let clock = Clock::fixed(noon());
    let mail = Mail::new(&format!("smtp://{at}"), "rugs@loft.example", PATIENCE).unwrap();
    let dispatcher = Dispatcher::new(store.clone(), clock.clone(), false, Some(mail), PATIENCE).unwrap();
    assert_eq!(dispatcher.tick().await.unwrap(), Tick { told: 0, sent: 1, failed: 1 });
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

async fn weaver(store: &Store, me: PersonId, name: &str, contact: &str) -> PersonId {
    let id = PersonId::new();
    let fields = PersonFields { name: name.into(), contact: contact.into(), units: None };
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_person(id, Role::Weaver, &fields, None).await.unwrap();
    tx.commit().await.unwrap();
    id
}

/// A header's value, unfolded (RFC 5322, 2.2.3).
fn header(mail: &str, name: &str) -> String {
    let head = mail.split("\r\n\r\n").next().unwrap().replace("\r\n ", " ");
    let found: Vec<_> = head.lines().filter_map(|line| line.strip_prefix(&format!("{name}: "))).collect();
    assert_eq!(found.len(), 1, "{name} in {mail}");
    found[0].to_owned()
}

on_both!(a_mail_is_from_the_workroom_and_to_its_reader_alone, |store| async move {
    let me = found(&store).await;
    let (at, mails) = mail_server("nobody@quay.example").await;
    let ana = weaver(&store, me, "Ana Reed", "ana@quay.example").await;
    let ben = weaver(&store, me, "Ben Shaw", "ben@quay.example").await;
    // What happens at the same time and concerns another isn't theirs.
    let cleo = weaver(&store, me, "Cleo Marsh", "nobody@quay.example").await;
    tell(&store, me, 1, &[ana, ben]).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.call_off(MeetingId::new(), true).await.unwrap();
    tx.enqueue(&("hers".into(), Event::Trial, vec![cleo])).await.unwrap();
    tx.commit().await.unwrap();
    let mail = Mail::new(&format!("smtp://{at}"), "rugs@loft.example", PATIENCE).unwrap();
    let mail = mail.leading_to(Some("https://rugs.example".into()));
    let dispatcher =
        Dispatcher::new(store.clone(), Clock::fixed(noon()), false, Some(mail), PATIENCE).unwrap();
    assert_eq!(dispatcher.tick().await.unwrap(), Tick { told: 0, sent: 2, failed: 1 });
    let mut taken = mails.lock().unwrap().clone();
    taken.sort_by_key(|mail| header(mail, "To"));
    assert_eq!(taken.len(), 2, "{taken:?}");
    for (mail, name, address) in
        [(&taken[0], "Ana Reed", "ana@quay.example"), (&taken[1], "Ben Shaw", "ben@quay.example")]
    {
        let bare = |header: String| header.replace('"', "");
        // Source: RFC 2045, 4; RFC 3834, 5.
        assert_eq!(header(mail, "MIME-Version"), "1.0");
        assert_eq!(header(mail, "Auto-Submitted"), "auto-generated");
        assert!(mail.contains("https://rugs.example/\r\n"), "{mail}");
        assert_eq!(bare(header(mail, "From")), "Test Loft <rugs@loft.example>");
        assert_eq!(bare(header(mail, "To")), format!("{name} <{address}>"));
        let envelope: Vec<_> = mail.lines().take(2).map(str::to_lowercase).collect();
        assert!(envelope[0].starts_with("mail from:<rugs@loft.example>"), "{envelope:?}");
        assert!(envelope[1].starts_with(&format!("rcpt to:<{address}>")), "{envelope:?}");
        assert!(mail.contains(&format!("Hello {name},")), "{mail}");
        for other in ["Ana Reed", "Ben Shaw", "Cleo Marsh"].into_iter().filter(|other| *other != name) {
            assert!(!mail.contains(other), "{name} is told of {other}: {mail}");
        }
    }
    assert_ne!(header(&taken[0], "Message-ID"), header(&taken[1], "Message-ID"));
});

on_both!(a_mail_tried_again_is_the_same_mail, |store| async move {
    let me = found(&store).await;
    let (at, mails) = mail_server_that("refused@quay.example", ["451 later", "451 later"]).await;
    let ana = weaver(&store, me, "Ana Reed", "ana@quay.example").await;
    tell(&store, me, 1, &[ana]).await;
    let clock = Clock::fixed(noon());
    let mail = Mail::new(&format!("smtp://{at}"), "rugs@loft.example", PATIENCE).unwrap();
    let dispatcher = Dispatcher::new(store.clone(), clock.clone(), false, Some(mail), PATIENCE).unwrap();
    for minutes in [0, 1, 6] {
        clock.set(noon() + SignedDuration::from_mins(minutes));
        dispatcher.tick().await.unwrap();
    }
    let taken = mails.lock().unwrap().clone();
    assert_eq!(taken.len(), 3);
    for mail in &taken {
        assert_eq!(header(mail, "Message-ID"), header(&taken[0], "Message-ID"), "another mail each time");
        assert_eq!(header(mail, "To"), header(&taken[0], "To"));
    }
    assert_eq!(dispatcher.tick().await.unwrap(), Tick::default(), "sent again though it arrived");
});

on_both!(a_mail_goes_to_where_its_reader_is_reached_by_then, |store| async move {
    let me = found(&store).await;
    let (at, mails) = mail_server("old@quay.example").await;
    let ana = weaver(&store, me, "Ana Reed", "old@quay.example").await;
    tell(&store, me, 1, &[ana]).await;
    let clock = Clock::fixed(noon());
    let mail = Mail::new(&format!("smtp://{at}"), "rugs@loft.example", PATIENCE).unwrap();
    let dispatcher = Dispatcher::new(store.clone(), clock.clone(), false, Some(mail), PATIENCE).unwrap();
    assert_eq!(dispatcher.tick().await.unwrap().failed, 1);
    let moved = async |revision, contact: &str| {
        let fields = PersonFields { name: "Ana Reed".into(), contact: contact.into(), units: None };
        let mut tx = store.write(actor(me)).await.unwrap();
        tx.change_person(ana, revision, &fields).await.unwrap();
        tx.commit().await.unwrap();
    };
    // No address any more: nothing is sent to the old one.
    moved(1, "by the net shed").await;
    clock.set(noon() + SignedDuration::from_mins(1));
    assert_eq!(dispatcher.tick().await.unwrap().failed, 1);
    assert!(mails.lock().unwrap().is_empty());
    moved(2, "new@quay.example").await;
    clock.set(noon() + SignedDuration::from_mins(6));
    assert_eq!(dispatcher.tick().await.unwrap().sent, 1);
    let taken = mails.lock().unwrap().clone();
    assert_eq!((taken.len(), header(&taken[0], "To").contains("new@quay.example")), (1, true));
    assert_eq!(deliveries(&store).await.len(), 1);
});
