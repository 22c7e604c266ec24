//! Share-outs and promises: what is promised never exceeds what is there, and what breaks is shown.
use thrumhall::planning::Kind;
use thrumhall::store::cloth::acceptance::NotAccepted;
use thrumhall::store::cloth::bundles::BundleState;
use thrumhall::store::cloth::ledger::{Refusal, Weighing};
use thrumhall::store::cloth::promises::{Broken, Promise};
use thrumhall::store::cloth::share_outs::NewPromise;
use thrumhall::store::cloth::share_outs::{Limits, PartNeed, RugPart, ShareOutState, Told};
use thrumhall::store::people::Role;
use thrumhall::store::{BundleId, PersonId, RequestKey, RugId, ShareOutId, Store};
use thrumhall::units::Mass;

use super::cloth::{add, grams, navy};
use crate::support::{actor, loft, on_both};

const LIMITS: Limits = Limits { most: 2, seconds: 3, most_off: 25 };
const TOLD: Told = Told { spent: 1_000, cost: 2_000, bound: 1_900 };

struct Class {
    who: PersonId,
    rugs: Vec<RugId>,
    bundle: BundleId,
}

/// Two rugs and a washed bundle of a kilogram.
async fn class(store: &Store) -> Class {
    let who = loft::instructor(store).await;
    let mut rugs = Vec::new();
    for name in ["Tide", "Ebb"] {
        let weaver = loft::person(store, Role::Weaver, &format!("{name} Weaver")).await;
        rugs.push(loft::rug(store, weaver, name, &loft::usual("S1"), None).await);
    }
    let bundle = add(store, who, &navy(true), &grams(1_000.0)).await;
    Class { who, rugs, bundle }
}

fn sea(rug_id: RugId) -> RugPart {
    RugPart { rug_id, warp: false, colour_name: "sea".into(), colour_hex: "#2b5f75".into() }
}

/// A proposal of so many grams for a rug.
async fn propose(store: &Store, class: &Class, rug: RugId, mass: f64) -> ShareOutId {
    let id = ShareOutId::new();
    let promised = Mass::from_grams(mass);
    let need = PartNeed { part: sea(rug), kind: Kind::Percale, wanted_mg: promised };
    let found = NewPromise { part: sea(rug), bundle: class.bundle, promised };
    let mut tx = store.write(actor(class.who)).await.unwrap();
    tx.begin_share_out(id, LIMITS, &[need], &[]).await.unwrap();
    tx.finish_share_out(id, TOLD, &[found]).await.unwrap();
    tx.commit().await.unwrap();
    id
}

async fn accept(store: &Store, class: &Class, id: ShareOutId) -> Result<(), NotAccepted> {
    let mut tx = store.write(actor(class.who)).await.unwrap();
    let done = tx.accept_share_out(id, false).await.unwrap();
    if done.is_ok() {
        tx.commit().await.unwrap();
    }
    done
}

async fn accept_over_newer(store: &Store, class: &Class, id: ShareOutId) {
    let mut tx = store.write(actor(class.who)).await.unwrap();
    tx.accept_share_out(id, true).await.unwrap().unwrap();
    tx.commit().await.unwrap();
}

async fn standing(store: &Store) -> Vec<Promise> {
    store.read().await.unwrap().promises().await.unwrap()
}

on_both!(an_older_proposal_replaces_a_newer_one_only_when_it_is_said_so, |store| async move {
    let class = class(&store).await;
    let mut ids = Vec::new();
    for (rug, mass) in [(0, 200.0), (0, 250.0), (1, 100.0), (0, 300.0)] {
        ids.push(propose(&store, &class, class.rugs[rug], mass).await);
    }
    accept(&store, &class, ids[1]).await.unwrap();
    assert_eq!(accept(&store, &class, ids[0]).await, Err(NotAccepted::Newer));
    accept(&store, &class, ids[2]).await.unwrap();
    let masses = async || {
        let mut all: Vec<f64> = standing(&store).await.iter().map(|one| one.promised_mg.grams()).collect();
        all.sort_by(f64::total_cmp);
        all
    };
    assert_eq!(masses().await, [100.0, 250.0], "what was refused changed nothing");
    accept_over_newer(&store, &class, ids[0]).await;
    assert_eq!(masses().await, [100.0, 200.0]);
    accept(&store, &class, ids[3]).await.unwrap();
    assert_eq!(masses().await, [100.0, 300.0], "a newer one replaces without a word");
    // What was pulled isn't taken away by an older one, so nothing is in its way.
    let again = propose(&store, &class, class.rugs[1], 50.0).await;
    let latest = propose(&store, &class, class.rugs[1], 60.0).await;
    accept(&store, &class, latest).await.unwrap();
    let promise =
        standing(&store).await.into_iter().find(|one| one.promised_mg == Mass::from_grams(60.0)).unwrap().id;
    let weighing = Weighing { typed: "60 g".into(), gross: Mass::from_grams(60.0), tare: Mass::ZERO };
    let mut tx = store.write(actor(class.who)).await.unwrap();
    tx.pull_promise(promise, RequestKey::new(), &weighing).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    accept(&store, &class, again).await.unwrap();
});

on_both!(what_was_pulled_since_a_proposal_is_not_promised_a_second_time, |store| async move {
    let class = class(&store).await;
    let rug = class.rugs[0];
    let first = propose(&store, &class, rug, 200.0).await;
    accept(&store, &class, first).await.unwrap();
    // Worked out while nothing was pulled: all of it is needed.
    let counted = async |id| {
        let standing = standing(&store).await;
        let mut tx = store.write(actor(class.who)).await.unwrap();
        tx.note_had_already(id, &standing).await.unwrap();
        tx.sign_of_life().await.unwrap();
        tx.commit().await.unwrap();
    };
    let second = propose(&store, &class, rug, 200.0).await;
    counted(second).await;
    let promise = standing(&store).await[0].id;
    let weighing = Weighing { typed: "200 g".into(), gross: Mass::from_grams(200.0), tare: Mass::ZERO };
    let key = RequestKey::new();
    let mut tx = store.write(actor(class.who)).await.unwrap();
    tx.pull_promise(promise, key, &weighing).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    assert_eq!(accept(&store, &class, second).await, Err(NotAccepted::Pulled(rug)));
    assert_eq!(standing(&store).await.len(), 1, "what was refused changed nothing");
    // One that counted with it is accepted.
    let third = propose(&store, &class, rug, 50.0).await;
    counted(third).await;
    accept(&store, &class, third).await.unwrap();
    // And the second, too, once all of it came back.
    let mut tx = store.write(actor(class.who)).await.unwrap();
    tx.put_promise_back(promise, RequestKey::new(), &weighing).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    accept_over_newer(&store, &class, second).await;
    let open: Vec<f64> = standing(&store)
        .await
        .iter()
        .filter(|one| one.is_open())
        .map(|one| one.promised_mg.grams())
        .collect();
    assert_eq!(open, [200.0]);
});

on_both!(beyond_its_promise_a_pull_reaches_what_is_free_and_no_further, |store| async move {
    let class = class(&store).await;
    let held = 1000.0;
    for (rug, mass) in [(0, 300.0), (1, 500.0)] {
        let id = propose(&store, &class, class.rugs[rug], mass).await;
        accept(&store, &class, id).await.unwrap();
    }
    let there = standing(&store).await;
    assert_eq!(there[0].balance_mg.grams(), held, "the bundle of the class");
    let mut tx = store.write(actor(class.who)).await.unwrap();
    for (promise, most) in [(0, 500.0), (1, 700.0)] {
        let most = Mass::from_grams(most);
        assert_eq!(tx.pullable(there[promise].id).await.unwrap(), Some(most), "promise {promise}");
    }
    let weighing = Weighing { typed: "300 g".into(), gross: Mass::from_grams(300.0), tare: Mass::ZERO };
    tx.pull_promise(there[0].id, RequestKey::new(), &weighing).await.unwrap().unwrap();
    assert_eq!(tx.pullable(there[0].id).await.unwrap(), None, "it was pulled");
});

on_both!(more_than_there_is_is_never_promised, |store| async move {
    let class = class(&store).await;
    let first = propose(&store, &class, class.rugs[0], 700.0).await;
    let second = propose(&store, &class, class.rugs[1], 400.0).await;
    assert!(standing(&store).await.is_empty(), "a proposal promises nothing");
    accept(&store, &class, first).await.unwrap();
    assert_eq!(accept(&store, &class, first).await, Err(NotAccepted::StateIs(ShareOutState::Accepted)));
    assert_eq!(accept(&store, &class, second).await, Err(NotAccepted::Gone(1)));
    let all = standing(&store).await;
    assert_eq!((all.len(), all[0].promised_mg, all[0].broken()), (1, Mass::from_grams(700.0), None));
    // The same rug's earlier promise makes room for its next.
    let again = propose(&store, &class, class.rugs[0], 600.0).await;
    accept(&store, &class, again).await.unwrap();
    accept(&store, &class, second).await.unwrap();
    let sum: Mass = standing(&store).await.iter().map(|promise| promise.promised_mg).sum();
    assert_eq!(sum, Mass::from_grams(1_000.0));
    let offered = store.read().await.unwrap().offered().await.unwrap();
    assert_eq!((offered[0].promised_mg, offered[0].balance_mg), (sum, sum));
    assert!(store.read().await.unwrap().broken_invariants().await.unwrap().is_empty());
});

on_both!(two_acceptances_at_once_promise_no_gram_twice, |store| async move {
    let class = class(&store).await;
    let ids = [
        propose(&store, &class, class.rugs[0], 700.0).await,
        propose(&store, &class, class.rugs[1], 700.0).await,
    ];
    let (one, other) = tokio::join!(accept(&store, &class, ids[0]), accept(&store, &class, ids[1]));
    assert!(one.is_ok() != other.is_ok(), "{one:?} and {other:?}");
    assert_eq!(standing(&store).await.len(), 1);
});

on_both!(a_promise_that_its_bundle_no_longer_covers_is_shown_broken, |store| async move {
    let class = class(&store).await;
    for (rug, mass) in [(class.rugs[0], 600.0), (class.rugs[1], 300.0)] {
        let id = propose(&store, &class, rug, mass).await;
        accept(&store, &class, id).await.unwrap();
    }
    let mut tx = store.write(actor(class.who)).await.unwrap();
    tx.count_bundle(class.bundle, RequestKey::new(), &grams(800.0), "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let broken: Vec<_> = standing(&store).await.iter().map(Promise::broken).collect();
    assert_eq!(
        broken,
        [None, Some(Broken::Short { there: Mass::from_grams(200.0) })],
        "the first keeps its cloth"
    );
    let mut tx = store.write(actor(class.who)).await.unwrap();
    let step = (BundleState::Ready, BundleState::Washing);
    tx.move_bundle(class.bundle, RequestKey::new(), step, None).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let all = standing(&store).await;
    assert!(all.iter().all(|promise| promise.broken() == Some(Broken::NotReady(BundleState::Washing))));
    let mut tx = store.write(actor(class.who)).await.unwrap();
    let pulled = tx.pull_promise(all[0].id, RequestKey::new(), &grams(100.0)).await.unwrap();
    assert_eq!(pulled, Err(Refusal::NotReady(BundleState::Washing)), "unwashed cloth is never pulled");
});

on_both!(unwashed_cloth_is_never_promised, |store| async move {
    let class = class(&store).await;
    let id = propose(&store, &class, class.rugs[0], 500.0).await;
    let mut tx = store.write(actor(class.who)).await.unwrap();
    let step = (BundleState::Ready, BundleState::Washing);
    tx.move_bundle(class.bundle, RequestKey::new(), step, None).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    assert_eq!(accept(&store, &class, id).await, Err(NotAccepted::Gone(1)));
});

on_both!(pulling_settles_a_promise_and_undoing_the_pull_opens_it_again, |store| async move {
    let class = class(&store).await;
    let id = propose(&store, &class, class.rugs[0], 500.0).await;
    accept(&store, &class, id).await.unwrap();
    let promise = standing(&store).await.remove(0);
    let key = RequestKey::new();
    let mut tx = store.write(actor(class.who)).await.unwrap();
    let left = tx.pull_promise(promise.id, key, &grams(520.0)).await.unwrap();
    assert_eq!(left, Ok(Mass::from_grams(480.0)));
    let twice = tx.pull_promise(promise.id, RequestKey::new(), &grams(10.0)).await.unwrap();
    assert_eq!(twice, Err(Refusal::Unchanged));
    let too_much = tx.put_promise_back(promise.id, RequestKey::new(), &grams(521.0)).await.unwrap();
    assert_eq!(too_much, Err(Refusal::TooMuchBack { out: Mass::from_grams(520.0) }));
    let left = tx.put_promise_back(promise.id, RequestKey::new(), &grams(20.0)).await.unwrap();
    assert_eq!(left, Ok(Mass::from_grams(500.0)));
    assert!(!tx.release_promise(promise.id).await.unwrap(), "what was pulled isn't released");
    tx.commit().await.unwrap();
    let now = standing(&store).await.remove(0);
    assert_eq!((now.pulled_mg, now.back_mg), (Some(Mass::from_grams(520.0)), Some(Mass::from_grams(20.0))));
    assert_eq!(store.read().await.unwrap().offered().await.unwrap()[0].promised_mg, Mass::ZERO);

    let ledger = store.read().await.unwrap().ledger(class.bundle).await.unwrap();
    assert_eq!(ledger[1].note, "promised to Tide");
    let mut tx = store.write(actor(class.who)).await.unwrap();
    tx.undo_entry(class.bundle, ledger[2].id, RequestKey::new()).await.unwrap().unwrap();
    tx.undo_entry(class.bundle, ledger[1].id, RequestKey::new()).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    assert!(standing(&store).await[0].is_open());
    let mut tx = store.write(actor(class.who)).await.unwrap();
    assert!(tx.release_promise(promise.id).await.unwrap());
    tx.commit().await.unwrap();
    assert!(standing(&store).await.is_empty());
    assert!(store.read().await.unwrap().broken_invariants().await.unwrap().is_empty());
});
