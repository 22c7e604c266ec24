//! Rugs and their bands.
use thrumhall::planning::chart::Chart;
use thrumhall::planning::warp::nail_rows::NailRows;
use thrumhall::planning::warp::winding::{Nail, Winding};
use thrumhall::planning::warp::yarn::Yarn;
use thrumhall::planning::weighed::{USUAL_SCALE, USUAL_TAPE};
use thrumhall::planning::{Kind, WovenFrom};
use thrumhall::store::cloth::bundles::{BundleFields, Sheets};
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::rugs::cloth::Part;
use thrumhall::store::rugs::results::ResultFields;
use thrumhall::store::rugs::{Colour, Making, RugBand, RugFields, RugState};
use thrumhall::store::{Error, PersonId, RugId, Store};
use thrumhall::units::{Length, Mass, Units};

use super::cloth;
use crate::support::{actor, on_both};

fn colour(name: &str, hex: &str) -> Colour {
    Colour { name: name.into(), hex: hex.into() }
}

fn band(inches: f64) -> RugBand {
    let height = Length::inches(inches);
    RugBand {
        height,
        first: colour("Cream", "#f1e7cf"),
        other: colour("Rust", "#b2552a"),
        strip: Some(Length::inches(0.75)),
        chart: Some(Chart::parse("xx.\n..x").unwrap().moved(1, 1)),
    }
}

/// A small rug with a measured pitch and a sample, so that every column is filled.
fn fields(name: &str) -> RugFields {
    RugFields {
        name: name.into(),
        term_id: None,
        span_nm: Length::inches(33.0),
        width_nm: Length::inches(18.0),
        nails: 33,
        pitch_nm: Some(Length::inches(0.5625)),
        making: Making {
            nail_rows: NailRows::SetOff { far_nails: 32, by: Some(Length::inches(0.25)) },
            woven_width_nm: Some(Length::inches(17.0)),
            winding: Winding {
                doubled: true,
                left_out: vec![Nail { far: true, number: 5 }],
                ..Winding::default()
            },
            woven_from: WovenFrom::BothEndsOtherFirst,
        },
        strip_width_nm: Length::inches(1.5),
        warp_strip_nm: None,
        warp_yarn: None,
        warp_kind: Kind::Percale,
        weft_kind: Kind::Flannel,
        fringe_nm: Length::inches(3.0),
        backing: true,
        strands_trade: false,
        unit_size: 2,
        rugs_before: 1,
        home_minutes: 60,
        sample_length_nm: Some(Length::inches(4.0)),
        sample_rows: Some(17),
        sample_mass_mg: Some(Mass::from_grams(98.0)),
    }
}

async fn weaver(store: &Store) -> PersonId {
    let id = PersonId::new();
    let person = PersonFields { name: "Ana".into(), contact: String::new(), units: None };
    let mut tx = store.write(actor_of_nobody()).await.unwrap();
    tx.add_person(id, Role::Weaver, &person, None).await.unwrap();
    tx.commit().await.unwrap();
    id
}

fn actor_of_nobody() -> thrumhall::store::Actor {
    thrumhall::store::Actor { person: None, at: crate::support::noon() }
}

async fn add(store: &Store, weaver: PersonId, name: &str) -> RugId {
    let id = RugId::new();
    let mut tx = store.write(actor(weaver)).await.unwrap();
    tx.add_rug(id, weaver, &fields(name), &[band(12.0), band(20.0)]).await.unwrap();
    tx.commit().await.unwrap();
    id
}

on_both!(a_rug_reads_back_as_it_was_chosen, |store| async move {
    let ana = weaver(&store).await;
    let id = add(&store, ana, "Low tide").await;
    let rug = store.read().await.unwrap().rug(id).await.unwrap().unwrap();
    assert_eq!(rug.fields, fields("Low tide"));
    assert_eq!(rug.bands, [band(12.0), band(20.0)]);
    assert_eq!((rug.weaver.as_str(), rug.state, rug.revision), ("Ana", RugState::Planned, 1));
    assert_eq!(rug.length(), Length::inches(32.0));
    assert_eq!(rug.colours().len(), 2);
});

on_both!(a_changed_rug_has_its_new_bands_only, |store| async move {
    let ana = weaver(&store).await;
    let id = add(&store, ana, "Low tide").await;
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.change_rug(id, 1, &fields("High tide"), &[band(30.0)]).await.unwrap();
    tx.commit().await.unwrap();
    let rug = store.read().await.unwrap().rug(id).await.unwrap().unwrap();
    assert_eq!((rug.fields.name.as_str(), rug.revision, rug.bands.len()), ("High tide", 2, 1));

    let mut tx = store.write(actor(ana)).await.unwrap();
    let stale = tx.change_rug(id, 1, &fields("Spring tide"), &[band(30.0)]).await;
    assert!(matches!(stale, Err(Error::Stale)));
});

on_both!(every_choice_can_be_changed, |store| async move {
    let ana = weaver(&store).await;
    let id = add(&store, ana, "Low tide").await;
    let term = thrumhall::store::TermId::new();
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    let other = RugFields {
        name: "High tide".into(),
        term_id: Some(term),
        span_nm: Length::inches(44.0),
        width_nm: Length::inches(24.0),
        nails: 44,
        pitch_nm: Some(Length::inches(0.5)),
        making: Making {
            nail_rows: NailRows::SetOff { far_nails: 43, by: Some(Length::inches(0.125)) },
            woven_width_nm: Some(Length::inches(20.0)),
            winding: Winding { every: 2, extra_wraps: 1, ..Winding::default() },
            woven_from: WovenFrom::BothEnds,
        },
        strip_width_nm: Length::inches(1.25),
        warp_strip_nm: Some(Length::inches(1.0)),
        warp_yarn: Some(Yarn {
            length: Length::inches(4921.3),
            mass: Mass::from_grams(200.0),
            thickness: Some(Length::millimetres(2.5)),
        }),
        warp_kind: Kind::Poplin,
        weft_kind: Kind::Denim,
        fringe_nm: Length::inches(4.0),
        backing: false,
        strands_trade: true,
        unit_size: 3,
        rugs_before: 2,
        home_minutes: 90,
        sample_length_nm: Some(Length::inches(5.0)),
        sample_rows: Some(21),
        sample_mass_mg: Some(Mass::from_grams(120.0)),
    };
    let bands = [RugBand { first: colour("Navy", "#1d2b53"), strip: None, ..band(40.0) }];
    tx.change_rug(id, 1, &other, &bands).await.unwrap();
    tx.commit().await.unwrap();
    let rug = store.read().await.unwrap().rug(id).await.unwrap().unwrap();
    assert_eq!(rug.fields, other);
    assert_eq!(rug.bands, bands);
});

on_both!(a_list_is_of_one_weaver_or_of_all, |store| async move {
    let (ana, bo) = (weaver(&store).await, weaver(&store).await);
    for (person, name) in [(ana, "First"), (bo, "Second"), (ana, "Third")] {
        add(&store, person, name).await;
    }
    let mut read = store.read().await.unwrap();
    let names = |rugs: Vec<thrumhall::store::rugs::Rug>| {
        rugs.into_iter().map(|rug| (rug.fields.name, rug.bands.len())).collect::<Vec<_>>()
    };
    let hers = names(read.rugs(Some(ana), None).await.unwrap());
    assert_eq!(hers, [("Third".to_owned(), 2), ("First".to_owned(), 2)]);
    assert_eq!(read.rugs(None, None).await.unwrap().len(), 3);
});

on_both!(half_a_sample_is_refused_by_the_database, |store| async move {
    let ana = weaver(&store).await;
    let half = RugFields { sample_rows: None, ..fields("Half") };
    let mut tx = store.write(actor(ana)).await.unwrap();
    let refused = tx.add_rug(RugId::new(), ana, &half, &[band(12.0)]).await.unwrap_err();
    assert!(refused.violates("ck_rug__sample"), "{refused}");
});

on_both!(a_rug_remembers_the_bundles_its_cloth_is_measured_from, |store| async move {
    let ana = weaver(&store).await;
    let id = add(&store, ana, "Low tide").await;
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.found_workroom("Test Loft", "UTC", Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    let size = Some((Length::inches(96.0), Length::inches(66.0)));
    let fields = BundleFields { sheets: Some(Sheets::plain(3, size)), ..cloth::navy(true) };
    let bundle = cloth::add(&store, ana, &fields, &cloth::grams(1600.0)).await;
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.set_rug_cloth(id, Some(bundle), None).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let rug = read.rug(id).await.unwrap().unwrap();
    assert_eq!(
        (rug.measured.len(), rug.measured[0].part, rug.measured[0].bundle_id),
        (1, Part::Warp, bundle)
    );
    let weighed = rug.measured[0].weighed();
    assert_eq!((weighed.mass, weighed.sheets), (Mass::from_grams(1600.0), 3));
    assert_eq!((weighed.scale, weighed.tape), (USUAL_SCALE, USUAL_TAPE), "the columns' defaults");
    assert_eq!(read.rugs(Some(ana), None).await.unwrap()[0].measured, rug.measured);
    drop(read);
    let other = cloth::add(&store, ana, &fields, &cloth::grams(1500.0)).await;
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.set_rug_cloth(id, Some(other), Some(bundle)).await.unwrap();
    tx.commit().await.unwrap();
    let measured = store.read().await.unwrap().rug(id).await.unwrap().unwrap().measured;
    let parts: Vec<_> = measured.iter().map(|one| (one.part, one.bundle_id)).collect();
    assert_eq!(parts, [(Part::Warp, other), (Part::Weft, bundle)]);
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.set_rug_cloth(id, None, None).await.unwrap();
    tx.commit().await.unwrap();
    assert!(store.read().await.unwrap().rug(id).await.unwrap().unwrap().measured.is_empty());
});

on_both!(what_a_rug_took_says_whether_it_was_woven_by_a_chart, |store| async move {
    let ana = weaver(&store).await;
    let charted = add(&store, ana, "Low tide").await;
    let plain = RugId::new();
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.add_rug(plain, ana, &fields("Ebb"), &[RugBand { chart: None, ..band(32.0) }]).await.unwrap();
    for (rug, rows) in [(charted, 150), (plain, 140)] {
        tx.finish_rug(rug, &ResultFields { rows_woven: Some(rows), ..ResultFields::default() })
            .await
            .unwrap();
    }
    tx.commit().await.unwrap();
    let results = store.read().await.unwrap().rug_results().await.unwrap();
    let mut told: Vec<_> = results.iter().map(|one| (one.result.rows_woven, one.charted)).collect();
    told.sort_unstable();
    assert_eq!(told, [(Some(140), false), (Some(150), true)]);
});
