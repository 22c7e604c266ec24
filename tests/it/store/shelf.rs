//! The shelf: what is found on it, and what it adds up to.
use thrumhall::planning::Kind;
use thrumhall::planning::colour::{Family, Hex};
use thrumhall::planning::usable::SizeFrom;
use thrumhall::store::RequestKey;
use thrumhall::store::cloth::bundles::{BundleFields, BundleState, Sheets};
use thrumhall::store::cloth::shelf::ShelfFilter;
use thrumhall::units::Length;

use super::cloth::{add, grams, navy, volunteer};
use crate::support::{actor, on_both};

on_both!(the_shelf_is_searched_and_added_up, |store| async move {
    let who = volunteer(&store).await;
    let sheets = Some(Sheets {
        from: SizeFrom::Label,
        ..Sheets::plain(2, Some((Length::inches(96.0), Length::inches(66.0))))
    });
    let percale = BundleFields { note: "from the Ångström hotel, 100%".into(), sheets, ..navy(true) };
    add(&store, who, &percale, &grams(1000.0)).await;
    let mustard = Hex::rgb(0x00c3_9a2c);
    let denim =
        BundleFields { kind: Kind::Denim, colour_name: "Mustard".into(), colour_hex: mustard, ..navy(false) };
    add(&store, who, &denim, &grams(700.0)).await;
    let second = Some(("Off-white stripe".into(), Hex::rgb(0x00f8_f7f2)));
    let striped = BundleFields { second, ..navy(true) };
    let striped_id = add(&store, who, &striped, &grams(300.0)).await;
    let gone = add(&store, who, &navy(true), &grams(10.0)).await;
    let mut tx = store.write(actor(who)).await.unwrap();
    tx.scrap(gone, RequestKey::new(), None, "").await.unwrap().unwrap();
    tx.commit().await.unwrap();

    let found = async |filter: ShelfFilter| {
        let mut read = store.read().await.unwrap();
        let bundles = read.bundles(&filter, 100, 0).await.unwrap();
        let totals = read.shelf_totals(&filter).await.unwrap();
        let counted: i64 = totals.iter().map(|total| total.bundles).sum();
        assert_eq!(usize::try_from(counted), Ok(bundles.len()), "totals and list agree");
        bundles.iter().map(|bundle| bundle.tag).collect::<Vec<_>>()
    };
    let text = |text: &str| ShelfFilter { text: text.into(), notes: true, ..ShelfFilter::default() };
    assert_eq!(found(ShelfFilter::default()).await, [3, 2, 1]);
    assert_eq!(found(ShelfFilter { empty: true, ..ShelfFilter::default() }).await, [4, 3, 2, 1]);
    assert_eq!(found(text("1")).await, [1]);
    assert_eq!(found(text("ÅNGSTRÖM navy sheet")).await, [1]);
    assert_eq!(found(text("100%")).await, [1]);
    assert_eq!(
        found(ShelfFilter { notes: false, ..text("100%") }).await,
        [0; 0],
        "notes aren't for everybody"
    );
    assert_eq!(found(text("navy stripe")).await, [3]);
    assert_eq!(found(text("white")).await, [3], "by the family of either colour");
    assert_eq!(found(text("1_0")).await, [0; 0]);
    assert_eq!(found(text("yellow")).await, [2]);
    assert_eq!(found(ShelfFilter { kind: Some(Kind::Denim), ..text("") }).await, [2]);
    assert_eq!(found(ShelfFilter { family: Some(Family::Blue), ..text("") }).await, [3, 1]);
    assert_eq!(found(ShelfFilter { state: Some(BundleState::Arrived), ..text("") }).await, [2]);

    let mut read = store.read().await.unwrap();
    let totals = read.shelf_totals(&ShelfFilter::default()).await.unwrap();
    let weights: Vec<_> = totals.iter().map(|t| (t.kind, t.state, t.balance_mg.grams())).collect();
    assert_eq!(
        weights,
        [(Kind::Denim, BundleState::Arrived, 700.0), (Kind::Percale, BundleState::Ready, 1300.0)]
    );
    let found = read.bundle(striped_id).await.unwrap().unwrap();
    assert_eq!(found.second(), Some(("Off-white stripe", Hex::rgb(0x00f8_f7f2))));
    assert_eq!((found.colour_family, found.colour_hex), (Family::Blue, navy(true).colour_hex));
    let first = read.bundles(&text("hotel"), 1, 0).await.unwrap().remove(0);
    // 1000 g over two sheets of 66 × 96 in (4.0877 m² each, 1 in = 25.4 mm exactly): 122.3 g/m².
    assert!((first.areal().unwrap().gsm() - 122.317).abs() < 0.001, "{:?}", first.areal());
});
