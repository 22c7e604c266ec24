//! Promises beside each other: two rugs, two bundles, two share-outs; what one does leaves the other alone.
use thrumhall::planning::Kind;
use thrumhall::store::cloth::bundles::BundleState;
use thrumhall::store::cloth::ledger::Refusal;
use thrumhall::store::cloth::promises::{Promise, PromiseState};
use thrumhall::store::cloth::share_outs::NewPromise;
use thrumhall::store::cloth::share_outs::{Limits, PartNeed, RugPart, ShareOutState, Told};
use thrumhall::store::people::Role;
use thrumhall::store::rugs::RugState;
use thrumhall::store::terms::Meeting;
use thrumhall::store::{
    BundleId, Day, MeetingId, PersonId, PromiseId, RequestKey, RugId, ShareOutId, Store, TermId, TimeOfDay,
};
use thrumhall::units::Mass;

use super::cloth::{add, grams, navy};
use crate::support::{actor, loft, on_both};

const LIMITS: Limits = Limits { most: 2, seconds: 3, most_off: 25 };
const TOLD: Told = Told { spent: 1_000, cost: 2_000, bound: 1_900 };

struct Class {
    me: PersonId,
    term: TermId,
    tide: RugId,
    ebb: RugId,
    bundles: [BundleId; 2],
}

async fn class(store: &Store) -> Class {
    let me = loft::instructor(store).await;
    let term = TermId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    tx.add_meeting(&Meeting {
        id: MeetingId::new(),
        term_id: term,
        on_day: Day(jiff::civil::date(2026, 10, 14)),
        starts_at: TimeOfDay(jiff::civil::time(18, 0, 0, 0)),
        minutes: 120,
        called_off: false,
    })
    .await
    .unwrap();
    tx.commit().await.unwrap();
    let mut rugs = Vec::new();
    for (name, term) in [("Tide", Some(term)), ("Ebb", None)] {
        let weaver = loft::person(store, Role::Weaver, &format!("{name} Weaver")).await;
        rugs.push(loft::rug(store, weaver, name, &loft::usual("S1"), term).await);
    }
    let bundles = [
        add(store, me, &navy(true), &grams(1_000.0)).await,
        add(store, me, &navy(true), &grams(800.0)).await,
    ];
    Class { me, term, tide: rugs[0], ebb: rugs[1], bundles }
}

fn part(rug_id: RugId, colour: &str) -> RugPart {
    RugPart { rug_id, warp: false, colour_name: colour.into(), colour_hex: "#2b5f75".into() }
}

/// A proposal: for a rug, from a bundle, so many grams.
async fn propose(store: &Store, class: &Class, wants: &[(RugId, usize, f64)]) -> ShareOutId {
    let id = ShareOutId::new();
    let mut tx = store.write(actor(class.me)).await.unwrap();
    let (mut needs, mut found) = (Vec::new(), Vec::new());
    for (rug, bundle, mass) in wants {
        let promised = Mass::from_grams(*mass);
        needs.push(PartNeed {
            part: part(*rug, &format!("sea {bundle}")),
            kind: Kind::Percale,
            wanted_mg: promised,
        });
        found.push(NewPromise {
            part: part(*rug, &format!("sea {bundle}")),
            bundle: class.bundles[*bundle],
            promised,
        });
    }
    tx.begin_share_out(id, LIMITS, &needs, &[]).await.unwrap();
    tx.finish_share_out(id, TOLD, &found).await.unwrap();
    tx.commit().await.unwrap();
    id
}

async fn accept(store: &Store, class: &Class, id: ShareOutId) {
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.accept_share_out(id, false).await.unwrap().unwrap();
    tx.commit().await.unwrap();
}

async fn pull(store: &Store, class: &Class, id: PromiseId, mass: f64) -> Result<Mass, Refusal> {
    let mut tx = store.write(actor(class.me)).await.unwrap();
    let done = tx.pull_promise(id, RequestKey::new(), &grams(mass)).await.unwrap();
    if done.is_ok() {
        tx.commit().await.unwrap();
    }
    done
}

async fn put_back(store: &Store, class: &Class, id: PromiseId, mass: f64) -> Result<Mass, Refusal> {
    let mut tx = store.write(actor(class.me)).await.unwrap();
    let done = tx.put_promise_back(id, RequestKey::new(), &grams(mass)).await.unwrap();
    if done.is_ok() {
        tx.commit().await.unwrap();
    }
    done
}

async fn of(store: &Store, rug: RugId) -> Vec<Promise> {
    store.read().await.unwrap().promises_to(rug).await.unwrap()
}

fn g(mass: f64) -> Mass {
    Mass::from_grams(mass)
}

on_both!(what_is_pulled_stays_pulled_when_another_share_out_is_accepted, |store| async move {
    let class = class(&store).await;
    let first =
        propose(&store, &class, &[(class.tide, 0, 300.0), (class.tide, 1, 200.0), (class.ebb, 1, 100.0)])
            .await;
    accept(&store, &class, first).await;
    let pulled = of(&store, class.tide).await[0].id;
    pull(&store, &class, pulled, 310.0).await.unwrap();
    let second = propose(&store, &class, &[(class.tide, 1, 250.0)]).await;
    accept(&store, &class, second).await;
    let tide: Vec<_> = of(&store, class.tide).await.iter().map(|p| (p.promised_mg, p.pulled_mg)).collect();
    assert_eq!(tide, [(g(300.0), Some(g(310.0))), (g(250.0), None)], "pulled stays, unpulled is replaced");
    let ebb: Vec<_> = of(&store, class.ebb).await.iter().map(|p| (p.promised_mg, p.state)).collect();
    assert_eq!(
        ebb,
        [(g(100.0), PromiseState::Standing)],
        "a rug that the second doesn't serve keeps its cloth"
    );
    let mut read = store.read().await.unwrap();
    let of_first: Vec<_> = read.promises_of(first).await.unwrap().iter().map(|p| p.state).collect();
    assert_eq!(of_first, [PromiseState::Standing, PromiseState::Released, PromiseState::Standing]);
    // A pull that was undone is no pull: then the next acceptance releases it.
    let ledger = read.ledger(class.bundles[0]).await.unwrap();
    drop(read);
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.undo_entry(class.bundles[0], ledger[1].id, RequestKey::new()).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let third = propose(&store, &class, &[(class.tide, 1, 120.0)]).await;
    accept(&store, &class, third).await;
    let tide: Vec<_> = of(&store, class.tide).await.iter().map(|p| p.promised_mg).collect();
    assert_eq!(tide, [g(120.0)]);
});

on_both!(no_more_comes_back_of_a_promise_than_was_pulled_for_it, |store| async move {
    let class = class(&store).await;
    let id = propose(&store, &class, &[(class.tide, 0, 300.0), (class.ebb, 0, 400.0)]).await;
    accept(&store, &class, id).await;
    let (tide, ebb) = (of(&store, class.tide).await[0].id, of(&store, class.ebb).await[0].id);
    assert_eq!(
        put_back(&store, &class, tide, 1.0).await,
        Err(Refusal::TooMuchBack { out: g(0.0) }),
        "nothing is out"
    );
    pull(&store, &class, tide, 300.0).await.unwrap();
    pull(&store, &class, ebb, 400.0).await.unwrap();
    let too_much = put_back(&store, &class, tide, 301.0).await;
    assert_eq!(too_much, Err(Refusal::TooMuchBack { out: g(300.0) }), "though 700 g of the bundle are out");
    put_back(&store, &class, tide, 50.0).await.unwrap();
    let again = put_back(&store, &class, tide, 1.0).await;
    assert_eq!(again, Err(Refusal::TooMuchBack { out: g(0.0) }), "the rest came back already");
    assert_eq!(
        store.read().await.unwrap().bundle(class.bundles[0]).await.unwrap().unwrap().balance_mg,
        g(350.0)
    );
    let other = of(&store, class.ebb).await.remove(0);
    assert_eq!((other.pulled_mg, other.back_mg), (Some(g(400.0)), None));
});

on_both!(a_promise_is_asked_for_by_rug_by_bundle_and_by_share_out, |store| async move {
    let class = class(&store).await;
    let first = propose(&store, &class, &[(class.tide, 1, 300.0), (class.tide, 0, 200.0)]).await;
    let second = propose(&store, &class, &[(class.ebb, 0, 100.0)]).await;
    accept(&store, &class, first).await;
    let mut read = store.read().await.unwrap();
    let sums =
        |list: Vec<Promise>| -> Vec<(i64, Mass)> { list.iter().map(|p| (p.tag, p.promised_mg)).collect() };
    assert_eq!(
        sums(read.promises().await.unwrap()),
        [(1, g(200.0)), (2, g(300.0))],
        "in the order of the shelf"
    );
    assert_eq!(sums(read.promises_of(second).await.unwrap()), [(1, g(100.0))], "a proposal");
    assert_eq!(sums(read.promises_to(class.ebb).await.unwrap()), []);
    assert_eq!(sums(read.promises_from(class.bundles[0]).await.unwrap()), [(1, g(200.0))]);
    let offered: Vec<_> =
        read.offered().await.unwrap().iter().map(|o| (o.tag, o.balance_mg, o.promised_mg)).collect();
    assert_eq!(offered, [(1, g(1_000.0), g(200.0)), (2, g(800.0), g(300.0))], "a proposal takes nothing");
    drop(read);
    accept(&store, &class, second).await;
    let released = of(&store, class.tide).await[0].id;
    let mut tx = store.write(actor(class.me)).await.unwrap();
    assert!(tx.release_promise(released).await.unwrap());
    assert!(!tx.release_promise(released).await.unwrap(), "released once");
    assert!(!tx.release_promise(PromiseId::new()).await.unwrap());
    tx.scrap(class.bundles[1], RequestKey::new(), None, "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let offered: Vec<_> = read.offered().await.unwrap().iter().map(|o| (o.tag, o.promised_mg)).collect();
    assert_eq!(offered, [(1, g(100.0))], "what holds nothing isn't offered");
    let broken: Vec<_> =
        read.promises().await.unwrap().iter().map(|p| (p.tag, p.broken().is_some())).collect();
    assert_eq!(broken, [(1, false), (2, true)]);
});

on_both!(what_finished_rugs_took_is_told_by_term, |store| async move {
    let class = class(&store).await;
    let id = propose(&store, &class, &[(class.tide, 0, 300.0), (class.ebb, 1, 400.0)]).await;
    accept(&store, &class, id).await;
    let (tide, ebb) = (of(&store, class.tide).await[0].id, of(&store, class.ebb).await[0].id);
    for (promise, mass) in [(tide, 300.0), (ebb, 400.0)] {
        pull(&store, &class, promise, mass).await.unwrap();
    }
    put_back(&store, &class, tide, 20.0).await.unwrap();
    let took = async |term| store.read().await.unwrap().in_finished_rugs(term).await.unwrap();
    assert_eq!(took(None).await, g(0.0), "no rug is finished");
    for (rug, state) in [(class.tide, RugState::Finished), (class.ebb, RugState::GivenUp)] {
        let mut tx = store.write(actor(class.me)).await.unwrap();
        tx.set_rug_state(rug, state).await.unwrap();
        tx.commit().await.unwrap();
    }
    assert_eq!((took(None).await, took(Some(class.term)).await), (g(280.0), g(280.0)));
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.set_rug_state(class.ebb, RugState::Finished).await.unwrap();
    let ledger = store.read().await.unwrap().ledger(class.bundles[0]).await.unwrap();
    tx.undo_entry(class.bundles[0], ledger[2].id, RequestKey::new()).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    assert_eq!(
        (took(None).await, took(Some(class.term)).await),
        (g(700.0), g(300.0)),
        "nothing came back after all"
    );
    assert_eq!(took(Some(TermId::new())).await, g(0.0));
});

on_both!(a_share_out_moves_from_state_to_state_and_only_so, |store| async move {
    let class = class(&store).await;
    let (one, other) = (ShareOutId::new(), ShareOutId::new());
    let need = |rug| PartNeed { part: part(rug, "sea"), kind: Kind::Percale, wanted_mg: g(100.0) };
    let found =
        |rug, mass| NewPromise { part: part(rug, "sea"), bundle: class.bundles[0], promised: g(mass) };
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.begin_share_out(one, LIMITS, &[need(class.tide), need(class.ebb)], &[found(class.ebb, 60.0)])
        .await
        .unwrap();
    tx.commit().await.unwrap();
    // Somebody else's, since one person has one worked out at a time.
    let ada = loft::person(&store, Role::Instructor, "Ada").await;
    let mut tx = store.write(actor(ada)).await.unwrap();
    tx.begin_share_out(other, LIMITS, &[need(class.ebb)], &[]).await.unwrap();
    tx.commit().await.unwrap();
    let mut tx = store.write(actor(ada)).await.unwrap();
    let second = tx.begin_share_out(ShareOutId::new(), LIMITS, &[need(class.ebb)], &[]).await.unwrap_err();
    assert!(second.violates("u_share_out__person_id"), "{second}");
    drop(tx);
    let mut tx = store.write(actor(class.me)).await.unwrap();
    assert!(!tx.choose_for_part(one, &part(class.tide, "sea"), &[]).await.unwrap(), "not while it works");
    tx.stop_share_out(one).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    assert!(read.share_out_stops(one).await.unwrap() && !read.share_out_stops(other).await.unwrap());
    assert!(read.share_out_stops(ShareOutId::new()).await.unwrap(), "one that is gone stops");
    let needs = read.share_out_needs(one).await.unwrap();
    assert_eq!(needs.iter().map(|n| n.rug.as_str()).collect::<Vec<_>>(), ["Tide", "Ebb"]);
    drop(read);
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.finish_share_out(one, TOLD, &[found(class.tide, 80.0)]).await.unwrap();
    tx.finish_share_out(one, TOLD, &[found(class.tide, 90.0)]).await.unwrap();
    let later = Told { spent: 5, cost: 6, bound: 7 };
    tx.tell_share_out(one, later).await.unwrap();
    tx.tell_share_out(other, later).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let of = |p: Vec<Promise>| -> Vec<(String, Mass, bool)> {
        p.into_iter().map(|p| (p.rug, p.promised_mg, p.locked)).collect()
    };
    let promised = [("Ebb".to_owned(), g(60.0), true), ("Tide".to_owned(), g(80.0), false)];
    assert_eq!(of(read.promises_of(one).await.unwrap()), promised, "proposed once");
    let told: Vec<_> =
        read.share_outs(9).await.unwrap().iter().map(|s| (s.id, s.state, s.spent, s.cost, s.rugs)).collect();
    let expected = [
        (other, ShareOutState::Working, 5, Some(6), 1),
        (one, ShareOutState::Proposed, 1_000, Some(2_000), 2),
    ];
    assert_eq!(told, expected, "the newest first; one that is done is told nothing more");
    drop(read);
    let mut tx = store.write(actor(class.me)).await.unwrap();
    assert!(tx.choose_for_part(one, &part(class.tide, "sea"), &[found(class.tide, 70.0)]).await.unwrap());
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let promised = [("Ebb".to_owned(), g(60.0), true), ("Tide".to_owned(), g(70.0), true)];
    assert_eq!(
        of(read.promises_of(one).await.unwrap()),
        promised,
        "one part is chosen anew, the other stays"
    );
    assert_eq!(read.share_out(one).await.unwrap().unwrap().cost, None, "by hand, nobody knows the cost");
    drop(read);
    accept(&store, &class, one).await;
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.drop_share_out(one).await.unwrap();
    tx.drop_share_out(other).await.unwrap();
    tx.commit().await.unwrap();
    let states: Vec<_> =
        store.read().await.unwrap().share_outs(9).await.unwrap().iter().map(|s| s.state).collect();
    assert_eq!(states, [ShareOutState::Dropped, ShareOutState::Accepted], "what is accepted isn't set aside");
    assert_eq!(store.read().await.unwrap().share_outs(1).await.unwrap().len(), 1);
    let bundle = store.read().await.unwrap().bundle(class.bundles[0]).await.unwrap().unwrap();
    assert_eq!(bundle.state, BundleState::Ready);
});
