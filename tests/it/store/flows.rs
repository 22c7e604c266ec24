//! Where cloth went: the sums are the ledger's.
use thrumhall::store::RequestKey;
use thrumhall::store::cloth::bundles::{BundleFields, BundleState};
use thrumhall::store::cloth::ledger::Reason;
use thrumhall::units::Mass;

use super::cloth::{add, grams, navy, volunteer};
use crate::support::{actor, on_both};

on_both!(every_entry_is_told_and_a_reversal_counts_as_what_it_reverses, |store| async move {
    let who = volunteer(&store).await;
    let hotel = BundleFields { source: "hotel".into(), ..navy(false) };
    let (one, two) =
        (add(&store, who, &hotel, &grams(1_000.0)).await, add(&store, who, &navy(true), &grams(500.0)).await);
    let mut tx = store.write(actor(who)).await.unwrap();
    let step = (BundleState::Arrived, BundleState::Ready);
    tx.move_bundle(one, RequestKey::new(), step, Some(&grams(980.0))).await.unwrap().unwrap();
    tx.pull(one, RequestKey::new(), &grams(300.0), "").await.unwrap().unwrap();
    tx.put_back(one, RequestKey::new(), &grams(50.0), "").await.unwrap().unwrap();
    tx.scrap(two, RequestKey::new(), Some(&grams(100.0)), "").await.unwrap().unwrap();
    tx.count_bundle(two, RequestKey::new(), &grams(390.0), "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let scrap = store.read().await.unwrap().ledger(two).await.unwrap()[1].id;
    let mut tx = store.write(actor(who)).await.unwrap();
    tx.undo_entry(two, scrap, RequestKey::new()).await.unwrap().unwrap();
    tx.commit().await.unwrap();

    let mut read = store.read().await.unwrap();
    let flows = read.flows().await.unwrap();
    let sum = |reason: Reason, source: &str| -> Mass {
        let of = flows.iter().filter(|flow| flow.reason == reason && flow.source == source);
        of.map(|flow| flow.change_mg).sum()
    };
    assert!(flows.iter().all(|flow| flow.reason != Reason::Reversal));
    assert_eq!(sum(Reason::Wash, "hotel"), Mass::from_grams(-20.0));
    assert_eq!(sum(Reason::Pulled, "hotel") + sum(Reason::PutBack, "hotel"), Mass::from_grams(-250.0));
    assert_eq!(sum(Reason::Scrap, ""), Mass::ZERO, "undone");
    assert_eq!(sum(Reason::Count, ""), Mass::from_grams(-10.0));
    let mut there = Mass::ZERO;
    for bundle in [one, two] {
        there += read.bundle(bundle).await.unwrap().unwrap().balance_mg;
    }
    assert_eq!(flows.iter().map(|flow| flow.change_mg).sum::<Mass>(), there, "nothing is left out");
    assert_eq!(read.sources().await.unwrap(), ["hotel"]);
});
