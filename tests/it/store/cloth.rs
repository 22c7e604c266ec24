//! The cloth ledger.
use jiff::ToSpan as _;
use proptest::prelude::*;
use proptest::strategy::ValueTree as _;
use proptest::test_runner::TestRunner;
use thrumhall::planning::Kind;
use thrumhall::planning::colour::{Family, Hex};
use thrumhall::store::cloth::bundles::{Bundle, BundleFields, BundleState};
use thrumhall::store::cloth::ledger::{Lot, Reason, Refusal, Weighing};
use thrumhall::store::cloth::shelf::ShelfFilter;
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::{Actor, BundleId, EntryId, Error, Instant, PersonId, RequestKey, Store};
use thrumhall::units::{Mass, Units};

use crate::support::{actor, noon, on_both};

pub async fn volunteer(store: &Store) -> PersonId {
    let id = PersonId::new();
    let fields = PersonFields { name: "Viggo".into(), contact: String::new(), units: None };
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.add_person(id, Role::Volunteer, &fields, None).await.unwrap();
    tx.commit().await.unwrap();
    id
}

pub fn navy(washed: bool) -> BundleFields {
    BundleFields::plain(Kind::Percale, "Navy", Hex::rgb(0x0022_305a), washed)
}

pub fn grams(g: f64) -> Weighing {
    Weighing { typed: format!("{g} g"), gross: Mass::from_grams(g), tare: Mass::ZERO }
}

pub async fn add(store: &Store, who: PersonId, fields: &BundleFields, weighing: &Weighing) -> BundleId {
    let id = BundleId::new();
    let mut tx = store.write(actor(who)).await.unwrap();
    tx.weigh_in(id, RequestKey::new(), fields, weighing).await.unwrap();
    tx.commit().await.unwrap();
    id
}

async fn bundle(store: &Store, id: BundleId) -> Bundle {
    store.read().await.unwrap().bundle(id).await.unwrap().unwrap()
}

async fn entry(store: &Store, id: BundleId, seq: usize) -> EntryId {
    store.read().await.unwrap().ledger(id).await.unwrap()[seq - 1].id
}

/// One act with a fresh key, kept when it is taken.
macro_rules! act {
    ($store:expr, $who:expr, |$tx:ident, $key:ident| $act:expr) => {{
        let $key = RequestKey::new();
        let mut $tx = $store.write(actor($who)).await.unwrap();
        let done = $act.await.unwrap();
        if done.is_ok() {
            $tx.commit().await.unwrap();
        }
        done
    }};
}

on_both!(weigh_ins_get_running_tags_and_keep_what_was_typed, |store| async move {
    let who = volunteer(&store).await;
    let weighing = Weighing {
        typed: "2 lb 3.5 oz".into(),
        gross: Mass::parse("2 lb 3.5 oz", Units::Inches).unwrap(),
        tare: Mass::from_grams(200.0),
    };
    let first = add(&store, who, &navy(false), &weighing).await;
    let second = add(&store, who, &navy(true), &grams(500.0)).await;
    let (first, second) = (bundle(&store, first).await, bundle(&store, second).await);
    assert_eq!((first.tag, second.tag), (1, 2));
    assert_eq!((first.state, second.state), (BundleState::Arrived, BundleState::Ready));
    assert_eq!(first.colour_family, Family::Blue);
    // 35.5 oz of 28.349 523 125 g each are 1006.408 g (international pound, 1959), less the basket.
    assert_eq!(first.balance_mg, Mass::from_mg(806_408));
    let ledger = store.read().await.unwrap().ledger(first.id).await.unwrap();
    assert_eq!(ledger.len(), 1);
    assert_eq!((ledger[0].typed.as_str(), ledger[0].tare_mg), ("2 lb 3.5 oz", Mass::from_grams(200.0)));
    assert_eq!((ledger[0].reason, ledger[0].who.as_str()), (Reason::WeighedIn, "Viggo"));
});

on_both!(a_repeated_weigh_in_adds_nothing, |store| async move {
    let who = volunteer(&store).await;
    let key = RequestKey::new();
    let race = (0..8).map(|n| {
        let store = store.clone();
        tokio::spawn(async move {
            let mut tx = store.write(actor(who)).await.unwrap();
            let to = format!("/{n}");
            match tx.idempotent(key, &to).await {
                Ok(()) => {
                    tx.weigh_in(BundleId::new(), key, &navy(true), &grams(500.0)).await.unwrap();
                    tx.commit().await.unwrap();
                    to
                }
                Err(Error::Repeated(to)) => to,
                Err(other) => panic!("{other}"),
            }
        })
    });
    let mut led_to = Vec::new();
    for one in race.collect::<Vec<_>>() {
        led_to.push(one.await.unwrap());
    }
    led_to.dedup();
    assert_eq!(led_to.len(), 1, "all are led to the same page");
    let shelf = store.read().await.unwrap().bundles(&ShelfFilter::default(), 100, 0).await.unwrap();
    assert_eq!(shelf.len(), 1);
    // Even without the form's key in front, the ledger takes a request's key once.
    let mut tx = store.write(actor(who)).await.unwrap();
    let again = tx.weigh_in(BundleId::new(), key, &navy(true), &grams(500.0)).await.unwrap_err();
    assert!(again.violates("u_cloth_entry__request_key"), "{again}");
});

on_both!(undo_is_exact_and_happens_once, |store| async move {
    let who = volunteer(&store).await;
    let id = add(&store, who, &navy(true), &grams(5000.0)).await;
    act!(store, who, |tx, key| tx.pull(id, key, &grams(1234.567), "for the blue rug")).unwrap();
    let pull = entry(&store, id, 2).await;
    // The weigh-in can't be undone while some of it is out.
    let first = entry(&store, id, 1).await;
    let refused = act!(store, who, |tx, key| tx.undo_entry(id, first, key));
    assert_eq!(refused, Err(Refusal::TooMuch { there: Mass::from_mg(3_765_433) }));

    assert_eq!(act!(store, who, |tx, key| tx.undo_entry(id, pull, key)), Ok(Mass::from_grams(5000.0)));
    assert_eq!(act!(store, who, |tx, key| tx.undo_entry(id, pull, key)), Err(Refusal::Reversed));
    let reversal = entry(&store, id, 3).await;
    assert_eq!(act!(store, who, |tx, key| tx.undo_entry(id, reversal, key)), Err(Refusal::Reversed));
    assert_eq!(act!(store, who, |tx, key| tx.undo_entry(id, first, key)), Ok(Mass::ZERO));
    let ledger = store.read().await.unwrap().ledger(id).await.unwrap();
    let changes: Vec<i64> = ledger.iter().map(|e| e.change_mg.mg()).collect();
    assert_eq!(changes, [5_000_000, -1_234_567, 1_234_567, -5_000_000]);
    assert_eq!(ledger[2].reverses_seq, Some(2));
    assert_eq!(ledger[1].reversed_by, Some(3));
    let other = add(&store, who, &navy(true), &grams(1.0)).await;
    assert_eq!(act!(store, who, |tx, key| tx.undo_entry(other, first, key)), Err(Refusal::NoEntry));
});

on_both!(unwashed_cloth_is_neither_pulled_nor_put_back, |store| async move {
    let who = volunteer(&store).await;
    let id = add(&store, who, &navy(false), &grams(1000.0)).await;
    for state in [BundleState::Arrived, BundleState::Washing] {
        let refused = act!(store, who, |tx, key| tx.pull(id, key, &grams(1.0), ""));
        assert_eq!(refused, Err(Refusal::NotReady(state)));
        let refused = act!(store, who, |tx, key| tx.put_back(id, key, &grams(1.0), ""));
        assert_eq!(refused, Err(Refusal::NotReady(state)));
        if state == BundleState::Arrived {
            let step = (BundleState::Arrived, BundleState::Washing);
            act!(store, who, |tx, key| tx.move_bundle(id, key, step, None)).unwrap();
        }
    }
    // Lint stays in the wash: 1000 g become 985 g.
    let step = (BundleState::Washing, BundleState::Ready);
    act!(store, who, |tx, key| tx.move_bundle(id, key, step, Some(&grams(985.0)))).unwrap();
    assert_eq!(bundle(&store, id).await.balance_mg, Mass::from_grams(985.0));
    let refused = act!(store, who, |tx, key| tx.move_bundle(id, key, step, None));
    assert_eq!(refused, Err(Refusal::StateIs(BundleState::Ready)), "somebody else was quicker");

    // It may go back to the wash until somebody pulls from it.
    let (back, forth) =
        ((BundleState::Ready, BundleState::Washing), (BundleState::Washing, BundleState::Ready));
    act!(store, who, |tx, key| tx.move_bundle(id, key, back, None)).unwrap();
    act!(store, who, |tx, key| tx.move_bundle(id, key, forth, None)).unwrap();
    act!(store, who, |tx, key| tx.pull(id, key, &grams(100.0), "")).unwrap();
    let refused = act!(store, who, |tx, key| tx.move_bundle(id, key, back, None));
    assert_eq!(refused, Err(Refusal::WasPulled));
    assert_eq!(store.read().await.unwrap().broken_invariants().await.unwrap(), Vec::<String>::new());
});

on_both!(no_more_comes_back_than_went_out, |store| async move {
    let who = volunteer(&store).await;
    let id = add(&store, who, &navy(true), &grams(1000.0)).await;
    act!(store, who, |tx, key| tx.pull(id, key, &grams(300.0), "")).unwrap();
    let refused = act!(store, who, |tx, key| tx.put_back(id, key, &grams(301.0), ""));
    assert_eq!(refused, Err(Refusal::TooMuchBack { out: Mass::from_grams(300.0) }));
    act!(store, who, |tx, key| tx.put_back(id, key, &grams(120.0), "")).unwrap();
    let pull = entry(&store, id, 2).await;
    let refused = act!(store, who, |tx, key| tx.undo_entry(id, pull, key));
    assert_eq!(refused, Err(Refusal::TooMuchBack { out: Mass::from_grams(180.0) }));
    let back = entry(&store, id, 3).await;
    act!(store, who, |tx, key| tx.undo_entry(id, back, key)).unwrap();
    assert_eq!(act!(store, who, |tx, key| tx.undo_entry(id, pull, key)), Ok(Mass::from_grams(1000.0)));
});

on_both!(counting_sets_the_balance_and_scrap_may_take_all, |store| async move {
    let who = volunteer(&store).await;
    let id = add(&store, who, &navy(false), &grams(1000.0)).await;
    let change = act!(store, who, |tx, key| tx.count_bundle(id, key, &grams(990.0), ""));
    assert_eq!(change, Ok(Mass::from_grams(-10.0)));
    let unchanged = act!(store, who, |tx, key| tx.count_bundle(id, key, &grams(990.0), ""));
    assert_eq!(unchanged, Err(Refusal::Unchanged));
    let some = act!(store, who, |tx, key| tx.scrap(id, key, Some(&grams(90.0)), "stained"));
    assert_eq!(some, Ok(Mass::from_grams(900.0)));
    assert_eq!(act!(store, who, |tx, key| tx.scrap(id, key, None, "mould")), Ok(Mass::ZERO));
    let refused = act!(store, who, |tx, key| tx.scrap(id, key, None, ""));
    assert_eq!(refused, Err(Refusal::TooMuch { there: Mass::ZERO }));
    let none = act!(store, who, |tx, key| tx.pull(BundleId::new(), key, &grams(1.0), ""));
    assert_eq!(none, Err(Refusal::NoBundle));
});

on_both!(of_twenty_racing_pulls_as_many_succeed_as_the_bundle_covers, |store| async move {
    let who = volunteer(&store).await;
    let id = add(&store, who, &navy(true), &grams(4999.0)).await;
    let race: Vec<_> = (0..20)
        .map(|_| {
            let store = store.clone();
            tokio::spawn(
                async move { act!(store, who, |tx, key| tx.pull(id, key, &grams(300.0), "")).is_ok() },
            )
        })
        .collect();
    let mut pulled = 0;
    for one in race {
        pulled += usize::from(one.await.unwrap());
    }
    assert_eq!(pulled, 16);
    assert_eq!(bundle(&store, id).await.balance_mg, Mass::from_grams(199.0));
    assert_eq!(store.read().await.unwrap().broken_invariants().await.unwrap(), Vec::<String>::new());
});

#[derive(Clone, Debug)]
enum Step {
    Pull(i64),
    PutBack(i64),
    Scrap(i64),
    Count(i64),
    Undo(usize),
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let some = 1_i64..900_000;
    let step = prop_oneof![
        some.clone().prop_map(Step::Pull),
        some.clone().prop_map(Step::PutBack),
        some.clone().prop_map(Step::Scrap),
        some.prop_map(Step::Count),
        (0_usize..12).prop_map(Step::Undo),
    ];
    proptest::collection::vec(step, 24)
}

/// Takes a step with a key; answers whether the ledger took it.
async fn take(store: &Store, who: PersonId, id: BundleId, key: RequestKey, step: &Step) -> bool {
    let weighed = |mg| Weighing { typed: format!("{mg} mg"), gross: Mass::from_mg(mg), tare: Mass::ZERO };
    let ledger = store.read().await.unwrap().ledger(id).await.unwrap();
    let mut tx = store.write(actor(who)).await.unwrap();
    match tx.idempotent(key, "/done").await {
        Ok(()) => {}
        Err(Error::Repeated(_)) => return false,
        Err(other) => panic!("{other}"),
    }
    let done = match step {
        Step::Pull(mg) => tx.pull(id, key, &weighed(*mg), "").await,
        Step::PutBack(mg) => tx.put_back(id, key, &weighed(*mg), "").await,
        Step::Scrap(mg) => tx.scrap(id, key, Some(&weighed(*mg)), "").await,
        Step::Count(mg) => tx.count_bundle(id, key, &weighed(*mg), "").await,
        Step::Undo(nth) => tx.undo_entry(id, ledger[nth % ledger.len()].id, key).await,
    };
    if done.unwrap().is_ok() {
        tx.commit().await.unwrap();
        return true;
    }
    false
}

on_both!(whatever_people_do_at_once_the_sums_hold, |store| async move {
    let who = volunteer(&store).await;
    let mut runner = TestRunner::deterministic();
    for _ in 0..3 {
        let id = add(&store, who, &navy(true), &grams(2000.0)).await;
        let plan = steps().new_tree(&mut runner).unwrap().current();
        let keys: Vec<RequestKey> = plan.iter().map(|_| RequestKey::new()).collect();
        let crowd: Vec<_> = plan
            .chunks(6)
            .zip(keys.chunks(6))
            .map(|(steps, keys)| {
                let (store, steps, keys) = (store.clone(), steps.to_vec(), keys.to_vec());
                tokio::spawn(async move {
                    let mut taken = Vec::new();
                    for (step, key) in steps.iter().zip(keys) {
                        if take(&store, who, id, key, step).await {
                            taken.push((step.clone(), key));
                        }
                    }
                    taken
                })
            })
            .collect();
        let mut taken = Vec::new();
        for one in crowd {
            taken.extend(one.await.unwrap());
        }
        let before = store.read().await.unwrap().ledger(id).await.unwrap();
        assert_eq!(before.len(), taken.len() + 1, "each step taken is one entry");
        let sum: Mass = before.iter().map(|entry| entry.change_mg).sum();
        assert_eq!(bundle(&store, id).await.balance_mg, sum);
        assert!(before.iter().all(|entry| entry.after_mg >= Mass::ZERO));
        for (step, key) in &taken {
            assert!(!take(&store, who, id, *key, step).await, "a replay is taken for a replay");
        }
        let after = store.read().await.unwrap().ledger(id).await.unwrap();
        assert_eq!(after.len(), before.len(), "a replay adds nothing");
    }
    assert_eq!(store.read().await.unwrap().broken_invariants().await.unwrap(), Vec::<String>::new());
});

/// Runs a statement behind the program's back, as somebody with the database open in an editor would.
pub async fn by_hand(store: &Store, statement: &'static str) -> Result<u64, Error> {
    Ok(match store {
        Store::Sqlite(pool) => sqlx::query(statement).execute(pool).await?.rows_affected(),
        Store::Pg(pool) => sqlx::query(statement).execute(pool).await?.rows_affected(),
    })
}

on_both!(the_database_itself_refuses_edits_of_the_ledger, |store| async move {
    let who = volunteer(&store).await;
    let id = add(&store, who, &navy(true), &grams(1000.0)).await;
    act!(store, who, |tx, key| tx.pull(id, key, &grams(300.0), "")).unwrap();
    act!(store, who, |tx, key| tx.pull(id, key, &grams(200.0), "")).unwrap();
    let edits = [
        ("UPDATE cloth_entry SET change_mg = 2000000, after_mg = 2000000 WHERE seq = 1", ""),
        ("UPDATE cloth_entry SET change_mg = -1 WHERE seq = 2", "ck_cloth_entry__sum"),
        ("UPDATE cloth_entry SET before_mg = 1, change_mg = -1, after_mg = 0 WHERE seq = 3", ""),
        ("DELETE FROM cloth_entry WHERE seq = 1", ""),
        ("DELETE FROM cloth_entry WHERE seq = 2", ""),
        ("UPDATE bundle SET balance_mg = -1", "ck_bundle__balance"),
    ];
    for (edit, constraint) in edits {
        let refused = by_hand(&store, edit).await.unwrap_err();
        assert!(matches!(&refused, Error::Broken(_)), "{edit}: {refused}");
        assert!(constraint.is_empty() || refused.violates(constraint), "{edit}: {refused}");
    }
    assert_eq!(store.read().await.unwrap().broken_invariants().await.unwrap(), Vec::<String>::new());
});

on_both!(an_evenings_weigh_ins_are_the_persons_own, |store| async move {
    let (who, other) = (volunteer(&store).await, PersonId::new());
    let fields = PersonFields { name: "Vera".into(), contact: String::new(), units: None };
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.add_person(other, Role::Volunteer, &fields, None).await.unwrap();
    tx.commit().await.unwrap();
    let id = add(&store, who, &navy(true), &grams(500.0)).await;
    add(&store, other, &navy(true), &grams(600.0)).await;
    let first = entry(&store, id, 1).await;
    act!(store, who, |tx, key| tx.undo_entry(id, first, key)).unwrap();
    let mut read = store.read().await.unwrap();
    let mine = read.weighed_in_by(who, Instant(noon() - 1.hour())).await.unwrap();
    assert_eq!(mine.iter().map(|one| (one.tag, one.undone)).collect::<Vec<_>>(), [(1, true)]);
    assert!(read.weighed_in_by(who, Instant(noon() + 1.hour())).await.unwrap().is_empty());
    drop(read);
    add(&store, who, &navy(true), &grams(700.0)).await;
    let mut tx = store.write(Actor { person: Some(who), at: noon() - 30.minutes() }).await.unwrap();
    tx.weigh_in(BundleId::new(), RequestKey::new(), &navy(true), &grams(800.0)).await.unwrap();
    tx.commit().await.unwrap();
    let mine = store.read().await.unwrap().weighed_in_by(who, Instant(noon() - 1.hour())).await.unwrap();
    let tags: Vec<i64> = mine.iter().map(|one| one.tag).collect();
    assert_eq!(tags, [3, 1, 4], "the newest first, whatever its number");
});

on_both!(a_list_comes_in_whole_and_once, |store| async move {
    let who = volunteer(&store).await;
    add(&store, who, &navy(true), &grams(10.0)).await;
    let lot = |n: i32| Lot { fields: navy(n % 2 == 0), weighing: grams(f64::from(n)) };
    let lots: Vec<Lot> = (1..=300).map(lot).collect();
    let key = RequestKey::new();
    let mut tx = store.write(actor(who)).await.unwrap();
    assert_eq!(tx.weigh_in_list(key, &lots).await.unwrap(), (2, 301));
    tx.commit().await.unwrap();
    // Without the form's key in front, the ledger itself refuses the same list, and no row of it stays.
    let mut tx = store.write(actor(who)).await.unwrap();
    let again = tx.weigh_in_list(key, &lots).await.unwrap_err();
    assert!(again.violates("u_cloth_entry__request_key"), "{again}");
    drop(tx);

    let mut read = store.read().await.unwrap();
    let shelf = read.bundles(&ShelfFilter::default(), 1000, 0).await.unwrap();
    assert_eq!(shelf.len(), 301);
    assert_eq!((shelf[0].tag, shelf[0].balance_mg, shelf[0].entries), (301, Mass::from_grams(300.0), 1));
    assert_eq!((shelf[0].state, shelf[1].state), (BundleState::Ready, BundleState::Arrived));
    let ledger = read.ledger(shelf[0].id).await.unwrap();
    assert_eq!((ledger[0].typed.as_str(), ledger[0].who.as_str()), ("300 g", "Viggo"));
    let record = read.audit_log_before(None, 1).await.unwrap();
    assert_eq!(record[0].change.act, "list taken in");
    // 1 + 2 + … + 300 = 300 · 301 / 2.
    assert!(record[0].change.detail.contains("45150"), "{}", record[0].change.detail);
    assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());
    drop(read);
    // The next at the scale goes on after the list, and the list's bundles are pulled from like any other.
    act!(store, who, |tx, key| tx.pull(shelf[0].id, key, &grams(100.0), "")).unwrap();
    let next = add(&store, who, &navy(true), &grams(10.0)).await;
    assert_eq!(bundle(&store, next).await.tag, 302);
});
