//! Logs of rugs under way, and what finished rugs took.
use thrumhall::store::people::Role;
use thrumhall::store::rugs::log::LogFields;
use thrumhall::store::rugs::results::ResultFields;
use thrumhall::store::rugs::{Colour, RugState};
use thrumhall::store::{LogId, RugId, Store};
use thrumhall::units::{Length, Mass};

use crate::support::loft::{self, usual};
use crate::support::{actor, on_both};

fn sea() -> Colour {
    Colour { name: "sea".into(), hex: "#2b5f75".into() }
}

fn figures() -> LogFields {
    LogFields {
        rows: Some(40),
        woven: Some(Length::inches(9.5)),
        minutes: Some(120),
        left: vec![(sea(), Mass::from_grams(230.0))],
    }
}

async fn rug(store: &Store) -> (thrumhall::store::PersonId, RugId) {
    let weaver = loft::person(store, Role::Weaver, "Ana").await;
    (weaver, loft::rug(store, weaver, "Low tide", &usual("S1"), None).await)
}

async fn log(store: &Store, by: thrumhall::store::PersonId, rug: RugId, fields: &LogFields) -> LogId {
    let id = LogId::new();
    let mut tx = store.write(actor(by)).await.unwrap();
    tx.log_rug(id, rug, fields).await.unwrap();
    tx.commit().await.unwrap();
    id
}

on_both!(an_entry_reads_back_and_begins_the_weaving, |store| async move {
    let (ana, rug) = rug(&store).await;
    let before = LogFields { rows: Some(0), minutes: Some(70), ..LogFields::default() };
    log(&store, ana, rug, &before).await;
    assert_eq!(store.read().await.unwrap().rug(rug).await.unwrap().unwrap().state, RugState::Planned);
    let id = log(&store, ana, rug, &figures()).await;
    let mut read = store.read().await.unwrap();
    assert_eq!(read.rug(rug).await.unwrap().unwrap().state, RugState::Weaving);
    let entries = read.rug_log(rug).await.unwrap();
    assert_eq!(entries.iter().map(|entry| &entry.fields).collect::<Vec<_>>(), [&before, &figures()]);
    assert_eq!((entries[1].id, entries[1].who.as_str(), entries[1].counts()), (id, "Ana", true));
    assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());
});

on_both!(a_length_begins_the_weaving_as_rows_do, |store| async move {
    let (ana, rug) = rug(&store).await;
    for (woven, state) in [(Length::ZERO, RugState::Planned), (Length::inches(0.5), RugState::Weaving)] {
        log(&store, ana, rug, &LogFields { woven: Some(woven), ..LogFields::default() }).await;
        assert_eq!(store.read().await.unwrap().rug(rug).await.unwrap().unwrap().state, state);
    }
});

on_both!(a_mistake_is_undone_once_by_a_later_entry, |store| async move {
    let (ana, rug) = rug(&store).await;
    let id = log(&store, ana, rug, &figures()).await;
    let undo = async |entry, of| {
        let mut tx = store.write(actor(ana)).await.unwrap();
        let undone = tx.undo_log(LogId::new(), of, entry).await.unwrap();
        if undone {
            tx.commit().await.unwrap();
        }
        undone
    };
    let other = loft::rug(&store, ana, "Another", &usual("S2"), None).await;
    assert!(!undo(id, other).await, "an entry of another rug");
    assert!(undo(id, rug).await);
    assert!(!undo(id, rug).await, "twice");
    let mut read = store.read().await.unwrap();
    let entries = read.rug_log(rug).await.unwrap();
    assert_eq!(entries.len(), 2, "nothing is taken away");
    assert!(entries.iter().all(|entry| !entry.counts()));
    assert_eq!(entries[1].undoes, Some(id));
    assert!(!undo(entries[1].id, rug).await, "an undoing stays");
    assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());
});

on_both!(a_terms_log_is_of_the_rugs_being_woven, |store| async move {
    let ines = loft::instructor(&store).await;
    let term = thrumhall::store::TermId::new();
    let mut tx = store.write(actor(ines)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    tx.commit().await.unwrap();
    let ana = loft::person(&store, Role::Weaver, "Ana").await;
    let weaving = loft::rug(&store, ana, "Weaving", &usual("S1"), Some(term)).await;
    let done = loft::rug(&store, ana, "Done", &usual("S2"), Some(term)).await;
    let elsewhere = loft::rug(&store, ana, "Elsewhere", &usual("S3"), None).await;
    for rug in [weaving, done, elsewhere] {
        log(&store, ana, rug, &figures()).await;
    }
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.set_rug_state(done, RugState::Finished).await.unwrap();
    tx.commit().await.unwrap();
    let entries = store.read().await.unwrap().term_log(term).await.unwrap();
    assert_eq!(entries.iter().map(|entry| entry.rug_id).collect::<Vec<_>>(), [weaving]);
});

on_both!(what_a_finished_rug_took_is_kept_corrected_and_taught, |store| async move {
    let (ana, rug) = rug(&store).await;
    let finish = async |fields: &ResultFields| {
        let mut tx = store.write(actor(ana)).await.unwrap();
        tx.finish_rug(rug, fields).await.unwrap();
        tx.commit().await.unwrap();
    };
    finish(&ResultFields::default()).await;
    let mut read = store.read().await.unwrap();
    assert_eq!(read.rug(rug).await.unwrap().unwrap().state, RugState::Finished);
    assert_eq!(read.rug_result(rug).await.unwrap(), None, "finished without numbers");
    drop(read);
    let took =
        ResultFields { rows_woven: Some(140), weft_mg: Some(Mass::from_grams(830.0)), ..Default::default() };
    finish(&took).await;
    let corrected = ResultFields { weave_minutes: Some(410), warp_nm: Some(Length::inches(2100.0)), ..took };
    finish(&corrected).await;
    let mut read = store.read().await.unwrap();
    assert_eq!(read.rug_result(rug).await.unwrap(), Some(corrected));
    drop(read);
    let corrected = ResultFields {
        rows_woven: Some(141),
        woven_nm: Some(Length::inches(32.0)),
        weft_mg: Some(Mass::from_grams(835.0)),
        weave_minutes: Some(415),
        prepare_minutes: Some(70),
        warp_nm: Some(Length::inches(2_110.0)),
        finished_length_nm: Some(Length::inches(31.0)),
        finished_width_nm: None,
    };
    finish(&corrected).await;
    let mut read = store.read().await.unwrap();
    let results = read.rug_results().await.unwrap();
    assert_eq!(results.len(), 1);
    assert_eq!(
        (results[0].weaver_id, results[0].result),
        (ana, corrected),
        "each figure is the last one told"
    );
    assert_eq!((results[0].length_nm, results[0].fields.nails), (Length::inches(33.0), 33));
    drop(read);
    let mut tx = store.write(actor(ana)).await.unwrap();
    tx.set_rug_state(rug, RugState::Weaving).await.unwrap();
    tx.commit().await.unwrap();
    let results = store.read().await.unwrap().rug_results().await.unwrap();
    assert!(results.is_empty(), "a rug that goes on teaches nothing yet");
});

on_both!(impossible_figures_are_refused_by_the_database, |store| async move {
    let (ana, rug) = rug(&store).await;
    let mut tx = store.write(actor(ana)).await.unwrap();
    let wrong = LogFields { rows: Some(-1), ..LogFields::default() };
    assert!(tx.log_rug(LogId::new(), rug, &wrong).await.unwrap_err().violates("ck_rug_log__figures"));
    drop(tx);
    let mut tx = store.write(actor(ana)).await.unwrap();
    let wrong = ResultFields { weave_minutes: Some(0), ..ResultFields::default() };
    assert!(tx.finish_rug(rug, &wrong).await.unwrap_err().violates("ck_rug_result__figures"));
    drop(tx);
    let mut tx = store.write(actor(ana)).await.unwrap();
    let washed = ResultFields { finished_width_nm: Some(Length::inches(17.5)), ..ResultFields::default() };
    tx.finish_rug(rug, &washed).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(
        store.read().await.unwrap().rug_result(rug).await.unwrap(),
        Some(washed),
        "one side is all that is said"
    );
});
