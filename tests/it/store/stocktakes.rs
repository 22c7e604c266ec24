//! Stocktakes: the shelf weighed again.
use jiff::ToSpan as _;
use thrumhall::planning::Kind;
use thrumhall::store::cloth::ledger::Reason;
use thrumhall::store::cloth::ledger::Weighing;
use thrumhall::store::cloth::stocktakes::Difference;
use thrumhall::store::people::Role;
use thrumhall::store::{Actor, BundleId, Instant, PersonId, RequestKey, StocktakeId, Store};
use thrumhall::units::Mass;

use super::cloth::{add, grams, navy, volunteer};
use crate::support::{actor, loft, noon, on_both};

async fn begun(store: &Store, who: PersonId, kind: Option<Kind>) -> StocktakeId {
    let id = StocktakeId::new();
    let mut tx = store.write(actor(who)).await.unwrap();
    tx.begin_stocktake(id, kind, None).await.unwrap();
    tx.commit().await.unwrap();
    id
}

async fn count(store: &Store, who: PersonId, id: StocktakeId, bundle: BundleId, mass: Option<f64>) -> bool {
    let mut tx = store.write(actor(who)).await.unwrap();
    let weighing = mass.map(grams);
    let taken = tx.count_line(id, bundle, weighing.as_ref()).await.unwrap();
    tx.commit().await.unwrap();
    taken
}

async fn close(store: &Store, who: PersonId, id: StocktakeId) -> bool {
    let lines = store.read().await.unwrap().counted(id).await.unwrap();
    let differences: Vec<Difference> = lines
        .into_iter()
        .filter_map(|line| {
            let change = line.difference().filter(|difference| *difference != Mass::ZERO)?;
            let weighing = grams(line.net_mg.unwrap_or(Mass::ZERO).grams());
            Some(Difference { bundle: line.bundle_id, change, weighing, reason: "taken".into() })
        })
        .collect();
    let mut tx = store.write(actor(who)).await.unwrap();
    let closed = tx.close_stocktake(id, &differences).await.unwrap();
    if closed {
        tx.commit().await.unwrap();
    }
    closed
}

on_both!(what_is_pulled_after_it_was_weighed_is_no_difference, |store| async move {
    let who = volunteer(&store).await;
    let mut bundles = Vec::new();
    for mass in [1_000.0, 2_000.0, 500.0] {
        bundles.push(add(&store, who, &navy(true), &grams(mass)).await);
    }
    add(&store, who, &navy(false), &grams(900.0)).await;
    let id = begun(&store, who, Some(Kind::Percale)).await;
    let later = add(&store, who, &navy(true), &grams(700.0)).await;
    let listed = store.read().await.unwrap().counted(id).await.unwrap();
    assert_eq!(
        listed.iter().map(|line| line.tag).collect::<Vec<_>>(),
        [1, 2, 3, 5],
        "unwashed cloth isn't counted"
    );
    assert!(count(&store, who, id, bundles[0], Some(990.0)).await);
    assert!(count(&store, who, id, bundles[0], Some(950.0)).await, "weighed twice, the second counts");
    assert!(count(&store, who, id, bundles[1], Some(2_000.0)).await);
    assert!(count(&store, who, id, bundles[2], None).await);
    assert!(count(&store, who, id, later, Some(700.0)).await);
    let mut tx = store.write(actor(who)).await.unwrap();
    tx.pull(bundles[0], RequestKey::new(), &grams(300.0), "").await.unwrap().unwrap();
    // Nearly all of what isn't found is taken meanwhile: no balance goes under nothing.
    tx.pull(bundles[2], RequestKey::new(), &grams(450.0), "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
    assert!(close(&store, who, id).await);
    assert!(!close(&store, who, id).await, "closed once");
    assert!(!count(&store, who, id, bundles[1], Some(1.0)).await, "nothing is counted any more");
    let mut read = store.read().await.unwrap();
    let mut balances = Vec::new();
    for bundle in &bundles {
        balances.push(read.bundle(*bundle).await.unwrap().unwrap().balance_mg.grams());
    }
    assert_eq!(balances, [650.0, 2_000.0, 0.0]);
    let ledger = read.ledger(bundles[0]).await.unwrap();
    let last = ledger.last().unwrap();
    assert_eq!(
        (last.reason, last.change_mg, last.note.as_str()),
        (Reason::Count, Mass::from_grams(-50.0), "taken")
    );
    assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());
});

on_both!(who_counted_last_and_when_stand_beside_the_count, |store| async move {
    let viggo = volunteer(&store).await;
    let wilma = loft::person(&store, Role::Volunteer, "Wilma").await;
    let bundle = add(&store, viggo, &navy(true), &grams(1_000.0)).await;
    let id = begun(&store, viggo, None).await;
    begun(&store, wilma, Some(Kind::Denim)).await;
    let mut read = store.read().await.unwrap();
    assert_eq!(read.stocktake(id).await.unwrap().unwrap().who, "Viggo");
    drop(read);
    assert!(count(&store, viggo, id, bundle, Some(990.0)).await);
    let later = Instant(noon() + 20.minutes());
    let mut tx = store.write(Actor { person: Some(wilma), at: later.0 }).await.unwrap();
    tx.pull(bundle, RequestKey::new(), &grams(100.0), "").await.unwrap().unwrap();
    let basket = Weighing { tare: Mass::from_grams(40.0), ..grams(935.0) };
    assert!(tx.count_line(id, bundle, Some(&basket)).await.unwrap());
    tx.commit().await.unwrap();
    let line = store.read().await.unwrap().counted(id).await.unwrap().remove(0);
    assert_eq!((line.who.as_deref(), line.at), (Some("Wilma"), Some(later)));
    assert_eq!(line.typed.as_deref(), Some("935 g"));
    let mass = |grams| Some(Mass::from_grams(grams));
    assert_eq!((line.net_mg, line.tare_mg, line.balance_mg), (mass(895.0), mass(40.0), mass(900.0)));
});

on_both!(two_who_close_at_once_correct_the_ledger_once, |store| async move {
    let who = volunteer(&store).await;
    let bundle = add(&store, who, &navy(true), &grams(1_000.0)).await;
    let id = begun(&store, who, None).await;
    count(&store, who, id, bundle, Some(800.0)).await;
    let race: Vec<_> = (0..8)
        .map(|_| {
            let store = store.clone();
            tokio::spawn(async move { close(&store, who, id).await })
        })
        .collect();
    let mut closed = 0;
    for one in race {
        closed += i32::from(one.await.unwrap());
    }
    assert_eq!(closed, 1);
    assert_eq!(store.read().await.unwrap().bundle(bundle).await.unwrap().unwrap().balance_mg.grams(), 800.0);
});

on_both!(nothing_is_counted_on_a_stocktake_while_it_is_closed, |store| async move {
    let who = volunteer(&store).await;
    let bundle = add(&store, who, &navy(true), &grams(1_000.0)).await;
    let id = begun(&store, who, None).await;
    let mut closing = store.write(actor(who)).await.unwrap();
    closing.lock_stocktake(id).await.unwrap();
    assert_eq!(closing.counted(id).await.unwrap()[0].net_mg, None);
    // Somebody weighs on meanwhile: their line must not be kept behind the back of what it is closed by.
    let other = store.clone();
    let counting = tokio::spawn(async move { count(&other, who, id, bundle, Some(900.0)).await });
    tokio::time::sleep(std::time::Duration::from_millis(200)).await;
    assert!(!counting.is_finished());
    assert!(closing.close_stocktake(id, &[]).await.unwrap());
    closing.commit().await.unwrap();
    assert!(!counting.await.unwrap(), "it is closed, and says so");
    assert_eq!(store.read().await.unwrap().counted(id).await.unwrap()[0].net_mg, None);
});
