//! Tablets at the scale: open until their end and no longer, nobody's session, and only volunteers stand at one.
use jiff::ToSpan as _;
use thrumhall::store::people::Role;
use thrumhall::store::{Actor, Store, TabletId};
use thrumhall::units::Units;

use crate::support::loft;
use crate::support::{actor, noon, on_both};

async fn opened(store: &Store, by: thrumhall::store::PersonId, hours: i64) -> TabletId {
    let id = TabletId::new();
    let mut tx = store.write(actor(by)).await.unwrap();
    tx.open_tablet(id, &format!("tablet {id}"), noon() + hours.hours()).await.unwrap();
    tx.commit().await.unwrap();
    id
}

on_both!(a_tablet_is_open_until_its_end_and_is_nobodys_session, |store| async move {
    let me = loft::instructor(&store).await;
    let id = opened(&store, me, 3).await;
    let hash = format!("tablet {id}");
    let mut read = store.read().await.unwrap();
    assert!(read.visitor(&hash, noon()).await.unwrap().is_none(), "it lets nobody in as somebody");
    assert_eq!(read.tablet(&hash, noon()).await.unwrap().unwrap().id, id);
    assert!(read.tablet("another", noon()).await.unwrap().is_none());
    let end = noon() + 3.hours();
    assert!(read.tablet(&hash, end - 1.second()).await.unwrap().is_some());
    assert!(read.tablet(&hash, end).await.unwrap().is_none());
    assert_eq!(read.open_tablets(noon()).await.unwrap().len(), 1);
    assert_eq!(read.open_tablets(end).await.unwrap().len(), 0);
    drop(read);
    let mut tx = store.write(actor(me)).await.unwrap();
    assert!(tx.end_tablet(id).await.unwrap());
    assert!(!tx.end_tablet(id).await.unwrap(), "it ended already");
    tx.commit().await.unwrap();
    assert!(store.read().await.unwrap().tablet(&hash, noon()).await.unwrap().is_none());
});

on_both!(no_tablet_is_open_for_more_than_twelve_hours, |store| async move {
    let me = loft::instructor(&store).await;
    opened(&store, me, 12).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    let late = tx.open_tablet(TabletId::new(), "late", noon() + 12.hours() + 1.second()).await;
    assert!(late.unwrap_err().violates("ck_tablet__evening"));
    drop(tx);
    let mut tx = store.write(actor(me)).await.unwrap();
    let past = tx.open_tablet(TabletId::new(), "past", noon()).await;
    assert!(past.unwrap_err().violates("ck_tablet__evening"));
});

on_both!(only_volunteers_who_are_here_stand_at_a_tablet, |store| async move {
    let me = loft::instructor(&store).await;
    let vera = loft::person(&store, Role::Volunteer, "Vera").await;
    let ansel = loft::person(&store, Role::Volunteer, "Ansel").await;
    let wanda = loft::person(&store, Role::Weaver, "Wanda").await;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.found_workroom("Loft", "UTC", Units::Metric).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let names: Vec<String> = read.volunteers().await.unwrap().into_iter().map(|one| one.name).collect();
    assert_eq!(names, ["Ansel", "Vera"]);
    let stands = read.at_tablet(vera).await.unwrap().unwrap();
    assert_eq!((stands.person_id, stands.role, stands.name.as_str()), (vera, Role::Volunteer, "Vera"));
    for nobody in [me, wanda] {
        assert!(read.at_tablet(nobody).await.unwrap().is_none());
    }
    drop(read);
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.person_leaves(ansel).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    assert!(read.at_tablet(ansel).await.unwrap().is_none());
    assert_eq!(read.volunteers().await.unwrap().len(), 1);
});

on_both!(a_tablet_ends_when_who_opened_it_leaves, |store| async move {
    let me = loft::instructor(&store).await;
    let other = loft::person(&store, Role::Instructor, "Ossian").await;
    let (hers, mine) = (opened(&store, other, 2).await, opened(&store, me, 2).await);
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.person_leaves(other).await.unwrap();
    tx.commit().await.unwrap();
    let open = store.read().await.unwrap().open_tablets(noon()).await.unwrap();
    assert_eq!(open.iter().map(|one| one.id).collect::<Vec<_>>(), [mine]);
    assert_ne!(hers, mine);
});

on_both!(its_use_is_noted_once_a_minute_and_its_end_does_not_move, |store| async move {
    let me = loft::instructor(&store).await;
    let id = opened(&store, me, 2).await;
    let hash = format!("tablet {id}");
    let tablet = store.read().await.unwrap().tablet(&hash, noon()).await.unwrap().unwrap();
    assert!(!tablet.is_due(noon() + 59.seconds()));
    assert!(tablet.is_due(noon() + 60.seconds()));
    let later = noon() + 90.minutes();
    let mut tx = store.write(Actor { person: None, at: later }).await.unwrap();
    tx.tablet_in_use(id).await.unwrap();
    tx.commit().await.unwrap();
    let after = store.read().await.unwrap().tablet(&hash, later).await.unwrap().unwrap();
    assert_eq!((after.used_at.0, after.ends_at.0), (later, tablet.ends_at.0));
    let mut tx = store.write(Actor { person: None, at: noon() + 2.hours() }).await.unwrap();
    tx.sweep().await.unwrap();
    tx.commit().await.unwrap();
    assert!(store.read().await.unwrap().open_tablets(noon()).await.unwrap().is_empty(), "it is cleared away");
});
