//! Rods and their counts.
use thrumhall::store::rods::{Rod, RodAct};
use thrumhall::store::{Error, PersonId, RodId, Store};
use thrumhall::units::Length;

use crate::support::loft;
use crate::support::{actor, on_both};

async fn count(store: &Store, me: PersonId, id: RodId, act: RodAct, rods: i64) -> Result<(), Error> {
    let mut tx = store.write(actor(me)).await?;
    tx.count_rods(id, act, rods).await?;
    tx.commit().await
}

async fn rod(store: &Store, id: RodId) -> Rod {
    store.read().await.unwrap().rod(id).await.unwrap().unwrap()
}

on_both!(every_act_moves_its_own_counts, |store| async move {
    let me = loft::instructor(&store).await;
    let id = loft::rods(&store, me, 36.0, 10).await;
    for (act, rods, owned, bent) in [
        (RodAct::Bought, 2, 12, 0),
        (RodAct::FoundBent, 5, 12, 5),
        (RodAct::Straightened, 2, 12, 3),
        (RodAct::Scrapped, 3, 9, 0),
        (RodAct::Lost, 4, 5, 0),
    ] {
        count(&store, me, id, act, rods).await.unwrap();
        let rod = rod(&store, id).await;
        assert_eq!((rod.owned, rod.bent, rod.out_now), (owned, bent, 0), "{act}");
    }
});

on_both!(no_act_takes_more_than_there_are, |store| async move {
    let me = loft::instructor(&store).await;
    let id = loft::rods(&store, me, 36.0, 4).await;
    count(&store, me, id, RodAct::FoundBent, 1).await.unwrap();
    for (act, rods) in
        [(RodAct::FoundBent, 4), (RodAct::Lost, 4), (RodAct::Straightened, 2), (RodAct::Scrapped, 2)]
    {
        let refused = count(&store, me, id, act, rods).await.unwrap_err();
        assert!(refused.violates("ck_rod__counts"), "{act}: {refused}");
    }
    assert_eq!(rod(&store, id).await.inside(), 3);
});

on_both!(many_who_lose_rods_at_once_never_lose_more_than_there_are, |store| async move {
    let me = loft::instructor(&store).await;
    let id = loft::rods(&store, me, 36.0, 7).await;
    let tasks: Vec<_> = (0..20)
        .map(|_| {
            let store = store.clone();
            tokio::spawn(async move { count(&store, me, id, RodAct::Lost, 1).await })
        })
        .collect();
    let mut lost = 0;
    for task in tasks {
        match task.await.unwrap() {
            Ok(()) => lost += 1,
            Err(refused) => assert!(refused.violates("ck_rod__counts"), "{refused}"),
        }
    }
    assert_eq!((lost, rod(&store, id).await.owned), (7, 0));
});

on_both!(a_size_is_listed_once_and_its_second_editor_is_told, |store| async move {
    let me = loft::instructor(&store).await;
    let id = loft::rods(&store, me, 36.0, 4).await;
    let (length, diameter) = (Length::inches(36.0), Length::inches(0.125));
    let mut tx = store.write(actor(me)).await.unwrap();
    let again = tx.add_rod(RodId::new(), length, diameter, 1).await.unwrap_err();
    assert!(again.violates("u_rod__length_nm__diameter_nm"), "{again}");
    drop(tx);
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.change_rod(id, 1, Length::inches(37.0), diameter).await.unwrap();
    assert!(matches!(tx.change_rod(id, 1, length, diameter).await, Err(Error::Stale)));
    tx.commit().await.unwrap();
    assert_eq!(rod(&store, id).await.length_nm, Length::inches(37.0));
});
