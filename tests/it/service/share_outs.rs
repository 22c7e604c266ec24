//! A share-out whose program stopped is worked out by the next program on its database.
use std::time::{Duration, Instant};

use thrumhall::planning::Kind;
use thrumhall::store::cloth::share_outs::{Limits, PartNeed, RugPart, ShareOutState};
use thrumhall::store::people::Role;
use thrumhall::store::{Actor, ShareOutId};
use thrumhall::units::{Mass, Units};

use super::program::Served;
use crate::support::program::database;
use crate::support::{actor, loft, noon, on_both};

on_both!(a_share_out_whose_program_stopped_is_worked_out_by_the_next, |store| async move {
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", "UTC", Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    let me = loft::instructor(&store).await;
    let weaver = loft::person(&store, Role::Weaver, "Wanda").await;
    let rug_id = loft::rug(&store, weaver, "Tide", &loft::usual("S1"), None).await;
    let part = RugPart { rug_id, warp: true, colour_name: String::new(), colour_hex: String::new() };
    let need = PartNeed { part, kind: Kind::Percale, wanted_mg: Mass::from_grams(400.0) };
    let id = ShareOutId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    let limits = Limits { most: 2, seconds: 1, most_off: 25 };
    tx.begin_share_out(id, limits, &[need], &[]).await.unwrap();
    tx.commit().await.unwrap();
    // Nobody works at it: whoever began it is gone. Of two programs that begin now one does.
    let place = database(&store);
    let place = place.map(String::from);
    let _served = match store {
        thrumhall::store::Store::Sqlite(_) => vec![Served::begin(&place, &[])],
        thrumhall::store::Store::Pg(_) => vec![Served::begin(&place, &[]), Served::begin(&place, &[])],
    };
    let until = Instant::now() + Duration::from_secs(30);
    loop {
        let found = store.read().await.unwrap().share_out(id).await.unwrap().unwrap();
        if found.state == ShareOutState::Proposed {
            break;
        }
        assert!(Instant::now() < until, "{found:?}");
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    let record = store.read().await.unwrap().broken_invariants().await.unwrap();
    assert_eq!(record, Vec::<String>::new());
});
