//! Ways in, sessions, failed attempts, request keys and the record: each person's own, up to the moment they end.
use jiff::ToSpan as _;
use thrumhall::store::audit_log::NamedChange;
use thrumhall::store::auth::{Device, Stay};
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::{Actor, EntityKind, Error, PersonId, RequestKey, Store, TermId};
use thrumhall::units::Units;

use crate::support::browser::lasting;
use crate::support::{actor, noon, on_both};

/// An instructor and two weavers, each with a link, a calendar link and a session.
async fn people(store: &Store) -> [PersonId; 3] {
    let ids = [PersonId::new(), PersonId::new(), PersonId::new()];
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Loft", "Pacific/Auckland", Units::Metric).await.unwrap();
    for (id, (role, name)) in
        ids.iter().zip([(Role::Instructor, "Ines"), (Role::Weaver, "Ana"), (Role::Weaver, "Bo")])
    {
        let fields = PersonFields { name: name.into(), contact: String::new(), units: None };
        let hash = (role == Role::Instructor).then(|| "hash of Ines".to_owned());
        tx.add_person(*id, role, &fields, hash).await.unwrap();
        tx.replace_link(*id, &format!("link of {name}")).await.unwrap();
        tx.replace_calendar_link(*id, &format!("calendar of {name}")).await.unwrap();
        tx.open_session(&format!("session of {name}"), *id, lasting(2.hours())).await.unwrap();
    }
    tx.commit().await.unwrap();
    ids
}

/// Who is let in by what they hold.
async fn let_in(store: &Store) -> Vec<&'static str> {
    let mut read = store.read().await.unwrap();
    let mut inside = Vec::new();
    for held in ["session of Ines", "session of Ana", "session of Bo"] {
        if let Some(visitor) = read.visitor(held, noon()).await.unwrap() {
            assert!(held.ends_with(&visitor.name), "{held} lets {} in", visitor.name);
            inside.push(held);
        }
    }
    for held in ["link of Ines", "link of Ana", "link of Bo"] {
        if let Some(owner) = read.link_owner(held).await.unwrap() {
            let name = read.person(owner).await.unwrap().unwrap().name;
            assert!(held.ends_with(&name), "{held} lets {name} in");
            inside.push(held);
        }
    }
    for held in ["calendar of Ines", "calendar of Ana", "calendar of Bo"] {
        if let Some(owner) = read.calendar_owner(held).await.unwrap() {
            assert!(held.ends_with(&owner.name), "{held} shows {}'s", owner.name);
            inside.push(held);
        }
    }
    inside
}

const ALL: [&str; 9] = [
    "session of Ines",
    "session of Ana",
    "session of Bo",
    "link of Ines",
    "link of Ana",
    "link of Bo",
    "calendar of Ines",
    "calendar of Ana",
    "calendar of Bo",
];

fn all_but(gone: &[&str]) -> Vec<&'static str> {
    ALL.into_iter().filter(|held| !gone.contains(held)).collect()
}

on_both!(each_way_in_is_closed_for_its_person_alone, |store| async move {
    let [ines, ana, bo] = people(&store).await;
    assert_eq!(let_in(&store).await, all_but(&[]));
    let mut read = store.read().await.unwrap();
    assert!(read.visitor("", noon()).await.unwrap().is_none());
    assert!(
        read.has_calendar_link(ana).await.unwrap() && !read.has_calendar_link(PersonId::new()).await.unwrap()
    );
    let ana_here = read.visitor("session of Ana", noon()).await.unwrap().unwrap();
    assert_eq!((ana_here.person_id, ana_here.role), (ana, Role::Weaver));
    assert!(read.visitor("session of Ana", noon() + 2.hours() - 1.second()).await.unwrap().is_some());
    assert!(read.visitor("session of Ana", noon() + 2.hours()).await.unwrap().is_none(), "its time is up");
    drop(read);

    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.end_session("session of Ana").await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(let_in(&store).await, all_but(&["session of Ana"]));

    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.open_session("session of Ana", ana, lasting(2.hours())).await.unwrap();
    tx.replace_link(bo, "another link of Bo").await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(
        let_in(&store).await,
        all_but(&["session of Bo", "link of Bo", "calendar of Bo"]),
        "whoever came in by it goes too, and so does the calendar"
    );

    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.replace_calendar_link(bo, "another calendar of Bo").await.unwrap();
    tx.set_passphrase(ines, "new hash of Ines".into()).await.unwrap();
    tx.commit().await.unwrap();
    let gone = ["session of Bo", "link of Bo", "calendar of Bo", "session of Ines"];
    assert_eq!(let_in(&store).await, all_but(&gone), "a new passphrase ends sessions of that person alone");
    assert_eq!(
        store.read().await.unwrap().lock(" INES ").await.unwrap().unwrap().passphrase_hash.unwrap(),
        "new hash of Ines"
    );
    assert!(store.read().await.unwrap().lock("Ana").await.unwrap().is_none(), "weavers have no passphrase");

    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.person_leaves(ana).await.unwrap();
    assert!(matches!(tx.person_leaves(ana).await, Err(Error::Stale)), "nobody leaves twice");
    tx.commit().await.unwrap();
    let gone = [gone.as_slice(), &["session of Ana", "link of Ana", "calendar of Ana"]].concat();
    assert_eq!(let_in(&store).await, all_but(&gone));
    // Even a link and a session that are made after they left don't let them in.
    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.replace_link(ana, "link of Ana again").await.unwrap();
    tx.open_session("session of Ana", ana, lasting(2.hours())).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(let_in(&store).await, all_but(&gone));
    assert_eq!(store.read().await.unwrap().link_owner("link of Ana again").await.unwrap(), None);
    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.person_leaves(ines).await.unwrap();
    tx.commit().await.unwrap();
    assert!(store.read().await.unwrap().lock("Ines").await.unwrap().is_none(), "she left");
});

on_both!(a_session_in_use_moves_its_end_no_further_than_it_may_go, |store| async move {
    let [ines, ana, _] = people(&store).await;
    let at = |minutes: i64| noon() + minutes.minutes();
    let mut tx = store.write(actor(ines)).await.unwrap();
    let stay = Stay { idle: 1.hour(), most: 3.hours(), device: Device::Phone };
    tx.open_session("moving", ana, stay).await.unwrap();
    tx.commit().await.unwrap();
    let is_due = async |minutes| {
        let visitor = store.read().await.unwrap().visitor("moving", at(minutes)).await.unwrap();
        visitor.map(|visitor| visitor.is_due(at(minutes)))
    };
    let used = async |minutes| {
        let mut tx = store.write(Actor { person: Some(ana), at: at(minutes) }).await.unwrap();
        tx.session_in_use("moving").await.unwrap();
        tx.session_in_use("session of Bo").await.unwrap();
        tx.commit().await.unwrap();
        let sessions = store.read().await.unwrap().sessions(ana, at(minutes)).await.unwrap();
        sessions.iter().find(|one| one.token_hash == "moving").map(|one| (one.seen_at.0, one.expires_at.0))
    };
    // Not each request writes: one in a twelfth of the time that it may lie idle does.
    assert_eq!((is_due(4).await, is_due(5).await), (Some(false), Some(true)));
    assert_eq!(used(30).await, Some((at(30), at(90))));
    assert_eq!((is_due(89).await, is_due(90).await), (Some(true), None), "it ends by disuse");
    assert_eq!(used(89).await, Some((at(89), at(149))));
    assert_eq!(used(140).await, Some((at(140), at(180))), "it lasts for longer than it may at most");
    assert_eq!(used(180).await, None, "what has ended goes on");
});

on_both!(a_session_is_ended_by_its_owner_alone, |store| async move {
    let [ines, ana, bo] = people(&store).await;
    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.open_session(&"a".repeat(64), ana, lasting(1.hour())).await.unwrap();
    tx.know_device("phone", ana).await.unwrap();
    tx.know_device("phone", bo).await.unwrap();
    tx.commit().await.unwrap();
    let mut tx = store.write(actor(bo)).await.unwrap();
    assert!(!tx.end_session_called(bo, &"a".repeat(16)).await.unwrap());
    assert!(!tx.end_session_called(ana, "").await.unwrap());
    assert!(tx.end_session_called(ana, &"a".repeat(16)).await.unwrap());
    tx.end_sessions(ana).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(let_in(&store).await, all_but(&["session of Ana"]));
    let mut read = store.read().await.unwrap();
    assert!(!read.knows_device("phone", ana).await.unwrap() && read.knows_device("phone", bo).await.unwrap());
});

on_both!(a_link_works_as_long_as_a_term_of_its_owners_runs, |store| async move {
    let [ines, ana, _] = people(&store).await;
    let terms = [TermId::new(), TermId::new()];
    let mut tx = store.write(actor(ines)).await.unwrap();
    for term in terms {
        tx.add_term(term, &term.to_string(), "").await.unwrap();
        tx.enrol(term, ana).await.unwrap();
    }
    tx.commit().await.unwrap();
    let close = async |term, closed, minutes: i64| {
        let mut tx = store.write(Actor { person: Some(ines), at: noon() + minutes.minutes() }).await.unwrap();
        tx.close_term(term, closed).await.unwrap();
        tx.commit().await.unwrap();
        let held = let_in(&store).await;
        (held.contains(&"link of Ana"), held.contains(&"calendar of Ana"), held.contains(&"link of Bo"))
    };
    assert_eq!(close(terms[0], true, 1).await, (true, true, true));
    assert_eq!(close(terms[1], true, 2).await, (false, false, true), "it outlives its term");
    assert_eq!(close(terms[0], false, 3).await, (true, true, true));
    assert_eq!(close(terms[0], true, 4).await, (false, false, true));
    // One that is made afterwards is meant to work.
    let mut tx = store.write(Actor { person: Some(ines), at: noon() + 5.minutes() }).await.unwrap();
    tx.replace_link(ana, "afterwards").await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(store.read().await.unwrap().link_owner("afterwards").await.unwrap(), Some(ana));
});

on_both!(the_setup_link_works_once_and_only_the_last, |store| async move {
    for hash in ["first", "second"] {
        let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
        tx.set_setup_link(hash).await.unwrap();
        tx.commit().await.unwrap();
    }
    let mut read = store.read().await.unwrap();
    assert!(!read.setup_waits_for("first").await.unwrap() && read.setup_waits_for("second").await.unwrap());
    drop(read);
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    assert!(!tx.use_setup_link("first").await.unwrap());
    assert!(tx.use_setup_link("second").await.unwrap());
    assert!(!tx.use_setup_link("second").await.unwrap());
});

on_both!(failures_are_counted_for_each_by_itself_and_forgotten_so, |store| async move {
    let count = async |who: &'static str, after: i64| {
        let at = noon() + after.minutes();
        let mut tx = store.write(Actor { person: None, at }).await.unwrap();
        tx.count_try(who, at - 15.minutes()).await.unwrap();
        tx.commit().await.unwrap();
        let counted = store.read().await.unwrap().tries(who).await.unwrap().unwrap();
        (counted.failures, counted.first_at.0)
    };
    assert_eq!(count("name ana", 0).await, (1, noon()));
    assert_eq!(count("name ana", 14).await, (2, noon()), "the window begins with the first");
    assert_eq!(count("name bo", 15).await, (1, noon() + 15.minutes()));
    assert_eq!(count("name ana", 15).await, (1, noon() + 15.minutes()), "and is a quarter of an hour");
    assert_eq!(count("name ana", 29).await, (2, noon() + 15.minutes()));
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.forget_tries("name ana").await.unwrap();
    tx.count_try("name cleo", noon()).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    assert!(read.tries("name ana").await.unwrap().is_none());
    assert_eq!(read.tries("name bo").await.unwrap().unwrap().failures, 1);
});

on_both!(a_key_that_was_used_leads_where_it_led_and_others_are_free, |store| async move {
    let [ines, ana, _] = people(&store).await;
    let (one, other) = (RequestKey::new(), RequestKey::new());
    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.idempotent(one, "/one").await.unwrap();
    tx.end_session("nobody's").await.unwrap();
    tx.commit().await.unwrap();
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.idempotent(other, "/other").await.unwrap();
    let again = tx.idempotent(one, "/elsewhere").await;
    assert!(matches!(again, Err(Error::Repeated(to)) if to == "/one"), "whoever asks");
    drop(tx);
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.idempotent(other, "/later").await.unwrap();
});

on_both!(the_record_is_read_page_by_page_and_by_thing, |store| async move {
    let [ines, ana, bo] = people(&store).await;
    for (who, whom) in [(ines, ana), (ines, bo), (ana, ana)] {
        let mut tx = store.write(actor(who)).await.unwrap();
        tx.replace_calendar_link(whom, &RequestKey::new().to_string()).await.unwrap();
        tx.commit().await.unwrap();
    }
    let mut read = store.read().await.unwrap();
    let seen = |list: &[NamedChange]| -> Vec<(Option<String>, String)> {
        list.iter().map(|line| (line.change.who.clone(), line.change.entity_id.clone())).collect()
    };
    let page = read.audit_log_before(None, 2).await.unwrap();
    let (ines_name, ana_name) = (Some("Ines".to_owned()), Some("Ana".to_owned()));
    assert_eq!(seen(&page), [(ana_name.clone(), ana.to_string()), (ines_name.clone(), bo.to_string())]);
    let next = read.audit_log_before(Some(page[1].change.id), 2).await.unwrap();
    assert_eq!(
        seen(&next),
        [(ines_name, ana.to_string()), (None, bo.to_string())],
        "after the last of that page"
    );
    let of_ana = read.audit_log_of(EntityKind::Person, &ana.to_string()).await.unwrap();
    let acts: Vec<&str> = of_ana.iter().map(|change| change.act.as_str()).collect();
    assert_eq!(
        acts,
        [
            "calendar link replaced",
            "calendar link replaced",
            "signed in",
            "calendar link replaced",
            "link replaced",
            "added"
        ]
    );
    assert!(
        read.audit_log_of(EntityKind::Frame, &ana.to_string()).await.unwrap().is_empty(),
        "another kind of thing"
    );
});

on_both!(whoever_edits_names_the_revision_they_saw, |store| async move {
    let [ines, ana, bo] = people(&store).await;
    let fields =
        |name: &str| PersonFields { name: name.into(), contact: "quay".into(), units: Some(Units::Inches) };
    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.change_person(ana, 1, &fields("Ana B.")).await.unwrap();
    tx.commit().await.unwrap();
    for (id, revision) in [(ana, 1), (ana, 3), (PersonId::new(), 1)] {
        let mut tx = store.write(actor(ines)).await.unwrap();
        let stale = tx.change_person(id, revision, &fields("Ana C.")).await;
        assert!(matches!(stale, Err(Error::Stale)), "{revision}");
    }
    let mut read = store.read().await.unwrap();
    let (ana, bo) = (read.person(ana).await.unwrap().unwrap(), read.person(bo).await.unwrap().unwrap());
    assert_eq!((ana.name.as_str(), ana.revision, bo.name.as_str(), bo.revision), ("Ana B.", 2, "Bo", 1));
    let mut workroom = read.workroom().await.unwrap().unwrap();
    drop(read);
    workroom.name = "Net loft".into();
    for (revision, kept) in [(2, false), (1, true), (1, false), (2, true)] {
        let mut tx = store.write(actor(ines)).await.unwrap();
        workroom.revision = revision;
        let done = tx.change_workroom(&workroom).await;
        assert_eq!(done.is_ok(), kept, "{revision}");
        if kept {
            tx.commit().await.unwrap();
        }
    }
});
