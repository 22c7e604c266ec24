//! Second factors, half-way sign-ins and links to a new passphrase.
use jiff::{Timestamp, ToSpan as _};
use thrumhall::clock::Clock;
use thrumhall::secrets::secret_hash;
use thrumhall::store::auth::half_way::{HalfWay, LINK_MINUTES, MINUTES, TRIES};
use thrumhall::store::auth::second_factors::MOST_FAILURES;
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::{Actor, EntityKind, PersonId, Store, Write};

use crate::support::program::{database, thrumhall};
use crate::support::{actor, noon, on_both};

async fn add(store: &Store, role: Role, name: &str) -> PersonId {
    let id = PersonId::new();
    let fields = PersonFields { name: name.into(), contact: String::new(), units: None };
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.add_person(id, role, &fields, None).await.unwrap();
    tx.commit().await.unwrap();
    id
}

async fn at(store: &Store, person: PersonId, at: Timestamp) -> Write {
    store.write(Actor { person: Some(person), at }).await.unwrap()
}

async fn with_everything(store: &Store, person: PersonId) {
    let mut tx = store.write(actor(person)).await.unwrap();
    tx.add_passkey(person, "my phone", "c1", "{}").await.unwrap();
    assert!(tx.begin_one_time_codes(person, "SECRET").await.unwrap());
    assert!(!tx.confirm_one_time_codes(person, "ANOTHER", 7).await.unwrap());
    assert!(tx.confirm_one_time_codes(person, "SECRET", 7).await.unwrap());
    tx.replace_recovery_codes(person, &["r1".into(), "r2".into()]).await.unwrap();
    tx.commit().await.unwrap();
}

async fn counted(store: &Store, person: PersonId) -> (i64, i64, i64) {
    let factors = store.read().await.unwrap().factors(person).await.unwrap();
    (factors.passkeys, factors.codes, factors.recovery_codes)
}

on_both!(each_code_is_used_once_and_recovery_codes_go_with_the_last_factor, |store| async move {
    let ana = add(&store, Role::Instructor, "Ana").await;
    let bo = add(&store, Role::Volunteer, "Bo").await;
    with_everything(&store, ana).await;
    assert_eq!(counted(&store, ana).await, (1, 1, 2));
    assert_eq!(counted(&store, bo).await, (0, 0, 0));
    let mut tx = store.write(actor(ana)).await.unwrap();
    // A secret in use isn't replaced by another.
    assert!(!tx.begin_one_time_codes(ana, "NEW").await.unwrap());
    for (step, used) in [(7, false), (6, false), (9, true), (9, false), (8, false), (10, true)] {
        assert_eq!(tx.use_code_step(ana, step).await.unwrap(), used, "step {step}");
    }
    assert!(!tx.use_recovery_code(bo, "r1").await.unwrap(), "somebody else's");
    assert!(tx.use_recovery_code(ana, "r1").await.unwrap());
    assert!(!tx.use_recovery_code(ana, "r1").await.unwrap());
    tx.commit().await.unwrap();
    assert_eq!(counted(&store, ana).await, (1, 1, 1));
    let mut tx = store.write(actor(ana)).await.unwrap();
    let key = tx.passkeys(ana).await.unwrap()[0].id;
    assert!(!tx.remove_passkey(bo, key).await.unwrap(), "somebody else's");
    assert!(tx.remove_passkey(ana, key).await.unwrap());
    tx.commit().await.unwrap();
    assert_eq!(counted(&store, ana).await, (0, 1, 1));
    let mut tx = store.write(actor(ana)).await.unwrap();
    assert!(tx.remove_one_time_codes(ana).await.unwrap());
    assert!(!tx.remove_one_time_codes(ana).await.unwrap());
    tx.commit().await.unwrap();
    assert_eq!(counted(&store, ana).await, (0, 0, 0));
});

/// Source: NIST SP 800-63B-4 (2025), 3.2.2: at most 100 wrong ones in a row by one account.
const MOST: i64 = 100;

on_both!(after_a_hundred_wrong_codes_in_a_row_no_code_is_taken, |store| async move {
    let ana = add(&store, Role::Instructor, "Ana").await;
    with_everything(&store, ana).await;
    assert_eq!(MOST_FAILURES, MOST);
    let mut tx = store.write(actor(ana)).await.unwrap();
    for n in 1..=MOST {
        assert!(!tx.one_time_code(ana).await.unwrap().unwrap().is_closed(), "try {n}");
        assert!(tx.count_code_try(ana).await.unwrap(), "try {n}");
    }
    assert!(!tx.count_code_try(ana).await.unwrap());
    assert!(tx.one_time_code(ana).await.unwrap().unwrap().is_closed());
    // Another way in opens it again.
    tx.forgive_code_tries(ana).await.unwrap();
    assert!(tx.count_code_try(ana).await.unwrap());
    tx.commit().await.unwrap();
});

on_both!(what_was_begun_ends_by_time_by_tries_by_being_ended_and_by_a_new_passphrase, |store| async move {
    let ana = add(&store, Role::Instructor, "Ana").await;
    let there = async |hash: &str, at: Timestamp| {
        let mut read = store.read().await.unwrap();
        read.half_way(hash, HalfWay::SecondStep, at)
            .await
            .unwrap()
            .map(|begun| (begun.person_id, begun.state))
    };
    let mut tx = store.write(actor(ana)).await.unwrap();
    for hash in ["one", "two"] {
        assert!(tx.begin(hash, HalfWay::SecondStep, Some(ana), "to=/x").await.unwrap());
    }
    tx.commit().await.unwrap();
    let last = noon() + MINUTES.minutes() - 1.microsecond();
    assert_eq!(there("one", last).await, Some((Some(ana), "to=/x".into())));
    assert_eq!(there("one", noon() + MINUTES.minutes()).await, None);
    let mut read = store.read().await.unwrap();
    assert!(read.half_way("one", HalfWay::PasskeyAsked, noon()).await.unwrap().is_none(), "another kind");
    drop(read);
    let mut tx = store.write(actor(ana)).await.unwrap();
    for n in 1..=TRIES {
        assert!(tx.count_step("one").await.unwrap(), "try {n}");
    }
    assert!(!tx.count_step("one").await.unwrap());
    assert!(tx.end("one").await.unwrap());
    assert!(!tx.end("one").await.unwrap());
    tx.set_passphrase(ana, "hash".into()).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(there("two", noon()).await, None, "begun by the passphrase from before");
});

on_both!(who_leaves_leaves_no_factor_behind, |store| async move {
    let ana = add(&store, Role::Instructor, "Ana").await;
    let bo = add(&store, Role::Volunteer, "Bo").await;
    with_everything(&store, bo).await;
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.make_let_in_link("link", bo, false).await.unwrap();
    tx.begin("step", HalfWay::SecondStep, Some(bo), "").await.unwrap();
    tx.person_leaves(bo).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(counted(&store, bo).await, (0, 0, 0));
    let mut read = store.read().await.unwrap();
    assert!(read.let_in_link("link", noon()).await.unwrap().is_none());
    assert!(read.half_way("step", HalfWay::SecondStep, noon()).await.unwrap().is_none());
    assert!(read.passkey_by_credential("c1").await.unwrap().is_none());
});

// The service may run or not: the command speaks to the database alone.
on_both!(the_command_prints_a_link_that_works_once_and_says_who_is_there, |store| async move {
    let ana = add(&store, Role::Instructor, "Ana Brook").await;
    add(&store, Role::Weaver, "Wanda").await;
    let [flag, place] = database(&store);
    let run = |arguments: &[&str]| thrumhall(&[arguments, &[flag.as_str(), place.as_str()]].concat());
    let hash = |out: &str| secret_hash(out.trim_end().rsplit('/').next().unwrap());
    let first = run(&["let-in", "ana  brook", "--public-url", "https://rugs.example"]);
    assert_eq!(first.code, Some(0), "{first:?}");
    let link = first.lines().pop().unwrap().to_owned();
    assert!(link.starts_with("https://rugs.example/let-in/"), "{link}");
    let now = Clock::System.now();
    let found = async |hash: &str, at: Timestamp| {
        let link = store.read().await.unwrap().let_in_link(hash, at).await.unwrap();
        link.map(|link| (link.person_id, link.forget_factors))
    };
    assert_eq!(found(&hash(&first.out), now).await, Some((ana, false)));
    assert_eq!(found(&hash(&first.out), now + (LINK_MINUTES + 1).minutes()).await, None);
    let second = run(&["let-in", "Ana Brook", "--without-second-factor"]);
    assert_eq!(found(&hash(&second.out), now).await, Some((ana, true)));
    assert_eq!(found(&hash(&first.out), now).await, None, "the one before still works");
    let mut tx = at(&store, ana, now).await;
    assert!(tx.use_let_in_link(&hash(&second.out)).await.unwrap());
    assert!(!tx.use_let_in_link(&hash(&second.out)).await.unwrap());
    drop(tx);
    for name in ["Nobody", "Wanda"] {
        let none = run(&["let-in", name]);
        assert_eq!((none.code, none.out.as_str()), (Some(1), ""));
        assert!(none.err.contains(name) && none.err.contains("Ana Brook (instructor)"), "{}", none.err);
    }
    let mut read = store.read().await.unwrap();
    let of = read.audit_log_of(EntityKind::Person, &ana.to_string()).await.unwrap();
    let acts: Vec<&str> = of.iter().map(|change| change.act.as_str()).collect();
    assert_eq!(acts.iter().filter(|act| **act == "link to a new passphrase made").count(), 2, "{acts:?}");
});
