//! Weighing: what is on the scale with a basket, and what stocktakes and the flows make of it.
use jiff::ToSpan as _;
use thrumhall::planning::Kind;
use thrumhall::planning::colour::{Family, Hex};
use thrumhall::store::cloth::bundles::{BundleFields, BundleState};
use thrumhall::store::cloth::ledger::{Reason, Weighing};
use thrumhall::store::{Actor, BundleId, PersonId, RequestKey, StocktakeId, Store};
use thrumhall::units::Mass;

use super::cloth::{add, grams, navy, volunteer};
use crate::support::{actor, noon, on_both};

/// So many grams on the scale, 250 g of them the basket.
fn in_basket(g: f64) -> Weighing {
    Weighing { typed: format!("{g} g"), gross: Mass::from_grams(g), tare: Mass::from_grams(250.0) }
}

async fn balance(store: &Store, id: BundleId) -> f64 {
    store.read().await.unwrap().bundle(id).await.unwrap().unwrap().balance_mg.grams()
}

on_both!(the_basket_is_never_cloth, |store| async move {
    let who = volunteer(&store).await;
    let key = RequestKey::new;
    let id = add(&store, who, &navy(false), &in_basket(1250.0)).await;
    assert_eq!(balance(&store, id).await, 1000.0);
    let mut tx = store.write(actor(who)).await.unwrap();
    let step = (BundleState::Arrived, BundleState::Ready);
    tx.move_bundle(id, key(), step, Some(&in_basket(1230.0))).await.unwrap().unwrap();
    let pulled = tx.pull(id, key(), &in_basket(550.0), "").await.unwrap();
    assert_eq!(pulled, Ok(Mass::from_grams(680.0)));
    let back = tx.put_back(id, key(), &in_basket(350.0), "").await.unwrap();
    assert_eq!(back, Ok(Mass::from_grams(780.0)));
    let change = tx.count_bundle(id, key(), &in_basket(1000.0), "").await.unwrap();
    assert_eq!(change, Ok(Mass::from_grams(-30.0)));
    let left = tx.scrap(id, key(), Some(&in_basket(300.0)), "").await.unwrap();
    assert_eq!(left, Ok(Mass::from_grams(700.0)));
    tx.commit().await.unwrap();
    assert_eq!(balance(&store, id).await, 700.0);
    let ledger = store.read().await.unwrap().ledger(id).await.unwrap();
    let seen: Vec<_> = ledger.iter().map(|e| (e.reason, e.change_mg.grams(), e.tare_mg.grams())).collect();
    assert_eq!(
        seen,
        [
            (Reason::WeighedIn, 1000.0, 250.0),
            (Reason::Wash, -20.0, 250.0),
            (Reason::Pulled, -300.0, 250.0),
            (Reason::PutBack, 100.0, 250.0),
            (Reason::Count, -30.0, 250.0),
            (Reason::Scrap, -50.0, 250.0),
        ]
    );
});

on_both!(what_a_count_found_is_part_of_where_cloth_went, |store| async move {
    let who = volunteer(&store).await;
    let hotel = BundleFields { source: "hotel".into(), ..navy(true) };
    let jumble = BundleFields { source: "jumble".into(), ..navy(true) };
    let (one, two) =
        (add(&store, who, &hotel, &grams(1000.0)).await, add(&store, who, &jumble, &grams(500.0)).await);
    let mut tx = store.write(actor(who)).await.unwrap();
    tx.count_bundle(one, RequestKey::new(), &grams(960.0), "").await.unwrap().unwrap();
    tx.count_bundle(two, RequestKey::new(), &grams(525.0), "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let later = Actor { person: Some(who), at: noon() + 1.hour() };
    let counted = store.read().await.unwrap().ledger(two).await.unwrap()[1].id;
    let mut tx = store.write(later).await.unwrap();
    tx.undo_entry(two, counted, RequestKey::new()).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let flows = store.read().await.unwrap().flows().await.unwrap();
    let seen: Vec<_> =
        flows.iter().map(|f| (f.source.as_str(), f.reason, f.change_mg.grams(), f.at.0 > noon())).collect();
    assert_eq!(
        seen,
        [
            ("hotel", Reason::WeighedIn, 1000.0, false),
            ("jumble", Reason::WeighedIn, 500.0, false),
            ("hotel", Reason::Count, -40.0, false),
            ("jumble", Reason::Count, 25.0, false),
            ("jumble", Reason::Count, -25.0, true),
        ],
        "in time, and a reversal as what it reverses"
    );
    assert_eq!(store.read().await.unwrap().sources().await.unwrap(), ["hotel", "jumble"]);
});

async fn begun(store: &Store, who: PersonId, of: (Option<Kind>, Option<Family>)) -> StocktakeId {
    let id = StocktakeId::new();
    let mut tx = store.write(actor(who)).await.unwrap();
    tx.begin_stocktake(id, of.0, of.1).await.unwrap();
    tx.commit().await.unwrap();
    id
}

on_both!(a_stocktake_counts_its_kind_and_its_colours_as_they_stood, |store| async move {
    let who = volunteer(&store).await;
    let denim = BundleFields { kind: Kind::Denim, ..navy(true) };
    let mustard =
        BundleFields { colour_hex: Hex::rgb(0x00c3_9a2c), colour_name: "Mustard".into(), ..navy(true) };
    let mut bundles = Vec::new();
    for fields in [&navy(true), &denim, &mustard, &navy(false), &navy(true)] {
        bundles.push(add(&store, who, fields, &grams(1000.0)).await);
    }
    let mut tx = store.write(actor(who)).await.unwrap();
    tx.scrap(bundles[4], RequestKey::new(), None, "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let all = begun(&store, who, (None, None)).await;
    let percale = begun(&store, who, (Some(Kind::Percale), None)).await;
    let blue = begun(&store, who, (None, Some(Family::Blue))).await;
    // What comes in later isn't counted by those that were begun before.
    let late = Actor { person: Some(who), at: noon() + 1.second() };
    let mut tx = store.write(late).await.unwrap();
    tx.weigh_in(BundleId::new(), RequestKey::new(), &navy(true), &grams(70.0)).await.unwrap();
    tx.commit().await.unwrap();
    let tags = async |id| {
        let lines = store.read().await.unwrap().counted(id).await.unwrap();
        lines.iter().map(|line| line.tag).collect::<Vec<_>>()
    };
    assert_eq!(tags(all).await, [1, 2, 3], "ready, and there is something of it");
    assert_eq!(tags(percale).await, [1, 3]);
    assert_eq!(tags(blue).await, [1, 2]);
    let mut tx = store.write(actor(who)).await.unwrap();
    assert!(tx.count_line(all, bundles[0], Some(&in_basket(1200.0))).await.unwrap());
    assert!(!tx.count_line(all, bundles[3], Some(&grams(1.0))).await.unwrap(), "unwashed");
    assert!(!tx.count_line(StocktakeId::new(), bundles[0], None).await.unwrap());
    tx.commit().await.unwrap();
    let mut tx = store.write(actor(who)).await.unwrap();
    tx.scrap(bundles[0], RequestKey::new(), None, "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let line = read.counted(all).await.unwrap().remove(0);
    assert_eq!(
        line.difference(),
        Some(Mass::from_grams(-50.0)),
        "950 g of cloth for 1000 g, though it is gone by now"
    );
    assert_eq!(read.counted(percale).await.unwrap().len(), 1, "its line is the other stocktake's");
    drop(read);
    let mut tx = store.write(actor(who)).await.unwrap();
    assert!(tx.close_stocktake(percale, &[]).await.unwrap());
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let list = read.stocktakes(9).await.unwrap();
    let seen: Vec<_> = list.iter().map(|s| (s.id, s.lines, s.closed_at.is_some())).collect();
    assert_eq!(
        seen,
        [(blue, 0, false), (all, 1, false), (percale, 0, true)],
        "open ones first, the newest first"
    );
    assert_eq!(read.stocktakes(1).await.unwrap().len(), 1);
    let one = read.stocktake(percale).await.unwrap().unwrap();
    assert_eq!((one.kind, one.family, one.who.as_str()), (Some(Kind::Percale), None, "Viggo"));
});
