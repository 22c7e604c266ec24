//! People, links and sessions.
use jiff::ToSpan as _;
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::{Actor, Error, PersonId, RequestKey, Store};
use thrumhall::units::Units;

use crate::support::browser::lasting;
use crate::support::{actor, noon, on_both};

fn fields(name: &str) -> PersonFields {
    PersonFields { name: name.into(), contact: String::new(), units: None }
}

async fn add(store: &Store, role: Role, name: &str) -> Result<PersonId, Error> {
    let id = PersonId::new();
    let mut tx = store.write(Actor { person: None, at: noon() }).await?;
    tx.add_person(id, role, &fields(name), None).await?;
    tx.commit().await?;
    Ok(id)
}

on_both!(two_who_sign_in_may_not_share_a_name_but_weavers_may, |store| async move {
    add(&store, Role::Instructor, "Ana  Brook").await.unwrap();
    let again = add(&store, Role::Volunteer, "ana brook").await.unwrap_err();
    assert!(again.violates("u_person__name_key"), "{again}");
    add(&store, Role::Weaver, "Ana Brook").await.unwrap();
    add(&store, Role::Weaver, "Ana Brook").await.unwrap();
});

on_both!(a_link_works_until_it_is_replaced, |store| async move {
    let weaver = add(&store, Role::Weaver, "Ana").await.unwrap();
    for hash in ["first", "second"] {
        let mut tx = store.write(actor(weaver)).await.unwrap();
        tx.replace_link(weaver, hash).await.unwrap();
        tx.commit().await.unwrap();
    }
    let mut read = store.read().await.unwrap();
    assert_eq!(read.link_owner("first").await.unwrap(), None);
    assert_eq!(read.link_owner("second").await.unwrap(), Some(weaver));
});

on_both!(a_session_ends_when_its_time_is_up, |store| async move {
    let weaver = add(&store, Role::Weaver, "Ana").await.unwrap();
    let mut tx = store.write(actor(weaver)).await.unwrap();
    tx.found_workroom("Loft", "UTC", Units::Metric).await.unwrap();
    tx.open_session("token", weaver, lasting(2.hours())).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let visitor = read.visitor("token", noon() + 1.hour()).await.unwrap().unwrap();
    assert_eq!(
        (visitor.name.as_str(), visitor.role, visitor.workroom_units),
        ("Ana", Role::Weaver, Units::Metric)
    );
    assert!(read.visitor("token", noon() + 2.hours()).await.unwrap().is_none());
});

on_both!(the_second_of_two_editors_is_told, |store| async move {
    let weaver = add(&store, Role::Weaver, "Ana").await.unwrap();
    let mut tx = store.write(actor(weaver)).await.unwrap();
    tx.change_person(weaver, 1, &fields("Ana B.")).await.unwrap();
    tx.commit().await.unwrap();
    let mut tx = store.write(actor(weaver)).await.unwrap();
    let stale = tx.change_person(weaver, 1, &fields("Ana C.")).await;
    assert!(matches!(stale, Err(Error::Stale)));
});

on_both!(a_form_sent_twice_is_done_once, |store| async move {
    let key = RequestKey::new();
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.idempotent(key, "/first").await.unwrap();
    tx.add_person(PersonId::new(), Role::Weaver, &fields("Ana"), None).await.unwrap();
    tx.commit().await.unwrap();
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    let again = tx.idempotent(key, "/second").await;
    assert!(matches!(again, Err(Error::Repeated(to)) if to == "/first"));
});

on_both!(a_change_without_a_line_in_the_record_is_not_kept, |store| async move {
    let tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    assert!(matches!(tx.commit().await, Err(Error::Unrecorded)));
});

on_both!(failures_count_up_and_start_over_after_the_window, |store| async move {
    for expected in 1..=3 {
        let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
        tx.count_try("name ana", noon() - 15.minutes()).await.unwrap();
        tx.commit().await.unwrap();
        let counted = store.read().await.unwrap().tries("name ana").await.unwrap().unwrap();
        assert_eq!(counted.failures, expected);
    }
    let later = noon() + 1.hour();
    let mut tx = store.write(Actor { person: None, at: later }).await.unwrap();
    tx.count_try("name ana", later - 15.minutes()).await.unwrap();
    tx.commit().await.unwrap();
    let counted = store.read().await.unwrap().tries("name ana").await.unwrap().unwrap();
    assert_eq!((counted.failures, counted.first_at.0), (1, later));
});

on_both!(a_fresh_database_breaks_no_invariant, |store| async move {
    assert_eq!(store.read().await.unwrap().broken_invariants().await.unwrap(), Vec::<String>::new());
});
