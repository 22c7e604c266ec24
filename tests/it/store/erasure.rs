//! Erasing somebody: nothing tells who it was, and everything still adds up. And what is past its time goes.
use std::collections::BTreeSet;

use jiff::ToSpan as _;
use thrumhall::store::auth::{Device, Stay};
use thrumhall::store::cloth::bundles::BundleFields;
use thrumhall::store::cloth::shelf::ShelfFilter;
use thrumhall::store::frames::Condition;
use thrumhall::store::loans::{HandOut, TakeBack};
use thrumhall::store::notices::Event;
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::rugs::RugState;
use thrumhall::store::{Actor, Day, LoanId, NOBODY, NotErased, PersonId, RequestKey, Store};
use thrumhall::units::Units;

use super::cloth::{add, grams, navy};
use crate::support::behind::Behind;
use crate::support::loft::{self, usual};
use crate::support::{Database, actor, noon, on_both};

fn stay() -> Stay {
    Stay { idle: 2.hours(), most: 2.hours(), device: Device::Computer }
}

const NAME: &str = "Wanda Ölmark";
/// What nothing may hold any more: her name, what she was called before, where she was reached.
const WORDS: [&str; 4] = ["Ölmark", "ölmark", "Reel", "quay.example"];

/// Somebody with all that can be known of them, and a frame out.
async fn known(store: &Store, me: PersonId) -> (PersonId, LoanId) {
    let wanda = PersonId::new();
    let fields = |name: &str| PersonFields {
        name: name.into(),
        contact: "wanda@quay.example".into(),
        units: Some(Units::Metric),
    };
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_person(wanda, Role::Weaver, &fields("Wanda \"Reel\" Before"), None).await.unwrap();
    tx.change_person(wanda, 1, &fields(NAME)).await.unwrap();
    tx.replace_link(wanda, "link").await.unwrap();
    tx.replace_calendar_link(wanda, "calendar").await.unwrap();
    tx.lock_calendar_told(wanda).await.unwrap();
    tx.open_session("session", wanda, stay()).await.unwrap();
    let due = jiff::civil::date(2026, 10, 1);
    let overdue = Event::Overdue { frame: "F1".into(), rug: "Wave".into(), weaver: NAME.into(), due };
    tx.enqueue(&("overdue".into(), overdue, vec![wanda])).await.unwrap();
    tx.commit().await.unwrap();
    let rug = loft::rug(store, wanda, "wanda ölmark’s wave", &usual(""), None).await;
    let frame = loft::frame(store, me, &usual("Q1")).await;
    let cloth = BundleFields { note: format!("for {NAME}, soft"), source: NAME.into(), ..navy(true) };
    add(store, wanda, &cloth, &grams(1000.0)).await;
    let loan = LoanId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    let due_on = Day(jiff::civil::date(2026, 11, 25));
    tx.hand_out(loan, &HandOut { frame, rug, rods: None, due_on }).await.unwrap();
    tx.commit().await.unwrap();
    (wanda, loan)
}

async fn telling(store: &Store) -> Vec<String> {
    let rows = Behind::beside(store).await.everything().await;
    rows.into_iter().filter(|row| WORDS.iter().any(|word| row.contains(word))).collect()
}

on_both!(nothing_tells_who_was_erased_and_everything_adds_up, |store| async move {
    let me = loft::instructor(&store).await;
    let (wanda, loan) = known(&store, me).await;
    assert!(telling(&store).await.len() >= 7, "the class is rich enough to try");
    let mut tx = store.write(actor(me)).await.unwrap();
    let refused = tx.erase_person(wanda).await;
    assert!(matches!(refused, Err(NotErased::FrameOut(tag)) if tag == "Q1"), "its frame would be nobody's");
    drop(tx);
    let mut tx = store.write(actor(me)).await.unwrap();
    let how = TakeBack {
        condition: Condition::Sound,
        rug: RugState::Finished,
        rods_bent: 0,
        rods_missing: 0,
        note: format!("brought by {NAME}"),
    };
    tx.take_back(loan, &how).await.unwrap();
    tx.commit().await.unwrap();
    let data = store.read().await.unwrap().personal_data(wanda).await.unwrap().unwrap();
    assert_eq!(data["person"]["name"], NAME);

    let mut tx = store.write(actor(me)).await.unwrap();
    tx.erase_person(wanda).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(telling(&store).await, Vec::<String>::new());
    let mut read = store.read().await.unwrap();
    assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());
    let person = read.person(wanda).await.unwrap().unwrap();
    assert_eq!((person.name.as_str(), person.contact.as_str()), (NOBODY, ""));
    // What she did is there: the rug, the loan, the cloth and its ledger.
    let rug = read.rugs(Some(wanda), None).await.unwrap().remove(0);
    assert_eq!((rug.fields.name.as_str(), rug.state), ("Somebody who left’s wave", RugState::Finished));
    assert_eq!(read.loan(loan).await.unwrap().unwrap().note, format!("brought by {NOBODY}"));
    let soft = ShelfFilter { text: "soft".into(), notes: true, ..ShelfFilter::default() };
    let found = read.bundles(&soft, 10, 0).await.unwrap();
    assert_eq!((found.len(), found[0].note.as_str()), (1, "for Somebody who left, soft"));
    assert_eq!(found[0].balance_mg.grams(), 1000.0);
    assert!(!read.found_who_left("", 50, 0).await.unwrap().iter().any(|one| one.id == wanda));
    // The record says that it happened, by whom, and not to whom it was.
    let line = read.audit_log_before(None, 1).await.unwrap().remove(0).change;
    assert_eq!((line.act.as_str(), line.detail.as_str()), ("erased", "{}"));
    assert_eq!(line.who.as_deref(), Some("Ines Probe"));
    drop(read);
    let mut tx = store.write(actor(me)).await.unwrap();
    assert!(matches!(tx.erase_person(wanda).await, Err(NotErased::Already)));
});

on_both!(others_keep_names_that_only_begin_alike, |store| async move {
    let me = loft::instructor(&store).await;
    let ana = loft::person(&store, Role::Weaver, "Ana").await;
    let anatole = loft::person(&store, Role::Weaver, "Anatole").await;
    let rug = loft::rug(&store, anatole, "Banana for ANA", &usual(""), None).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.erase_person(ana).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    assert_eq!(read.person(anatole).await.unwrap().unwrap().name, "Anatole");
    assert_eq!(read.rug(rug).await.unwrap().unwrap().fields.name, "Banana for Somebody who left");
    let told = read.audit_log_before(None, 100).await.unwrap();
    assert!(told.iter().any(|line| line.change.detail.contains("Anatole")));
});

/// Where a person is referred to: what erasing removes, and what it keeps of somebody who has no name any more. A table that
/// is new has to be thought of here, and in `erase_person`.
const GONE: [&str; 17] = [
    "absence.person_id",
    "attendance.person_id",
    "calendar_link.person_id",
    "calendar_told.person_id",
    "delivery.person_id",
    "done_request.person_id",
    "entry_link.person_id",
    "half_way.person_id",
    "known_device.person_id",
    "let_in_link.person_id",
    "notice_person.person_id",
    "one_time_code.person_id",
    "passkey.person_id",
    "recovery_code.person_id",
    "session.person_id",
    "tablet.opened_by",
    "waiting.person_id",
];
const KEPT: [&str; 12] = [
    "change.person_id",
    "cloth_entry.person_id",
    "enrolment.person_id",
    "loan.handed_out_by",
    "loan.taken_back_by",
    "rug.weaver_id",
    "rug_log.person_id",
    "rug_result.person_id",
    "share_out.person_id",
    "stocktake.begun_by",
    "stocktake.closed_by",
    "stocktake_line.person_id",
];

#[tokio::test]
async fn each_place_that_refers_to_a_person_is_thought_of() {
    let database = Database::lite().await;
    let mut hand = Behind::beside(&database.store).await;
    let found = hand
        .texts(
            "SELECT m.name || '.' || f.\"from\" FROM sqlite_master m, pragma_foreign_key_list(m.name) f
             WHERE m.type = 'table' AND f.\"table\" = 'person'",
        )
        .await;
    let found: BTreeSet<&str> = found.iter().map(String::as_str).collect();
    let known: BTreeSet<&str> = GONE.into_iter().chain(KEPT).chain(["timetable.person_id"]).collect();
    assert_eq!(found, known, "left: what refers to a person; right: what is thought of");
}

on_both!(what_is_past_its_time_goes_and_the_rest_stays, |store| async move {
    let me = loft::instructor(&store).await;
    let long_ago = Actor { person: Some(me), at: noon() - (24 * 500).hours() };
    for (at, name) in [(long_ago, "old"), (actor(me), "new")] {
        let mut tx = store.write(at).await.unwrap();
        tx.idempotent(RequestKey::new(), &format!("/{name}")).await.unwrap();
        tx.open_session(name, me, stay()).await.unwrap();
        tx.replace_link(me, &format!("{name} link")).await.unwrap();
        tx.replace_link(me, &format!("{name} link again")).await.unwrap();
        tx.open_session(&format!("{name} session"), me, stay()).await.unwrap();
        tx.enqueue(&(format!("{name} notice"), Event::Trial, vec![me])).await.unwrap();
        tx.commit().await.unwrap();
    }
    let mut tx = store.write(actor(me)).await.unwrap();
    let notice = tx.unshared().await.unwrap().remove(0);
    tx.share(notice.id, &[me]).await.unwrap();
    tx.sweep().await.unwrap();
    tx.commit().await.unwrap();
    let rows = Behind::beside(&store).await.everything().await;
    let told: Vec<&String> = rows
        .iter()
        .filter(|row| !row.starts_with("change:") && row.contains("old") && !row.contains("old link again"))
        .collect();
    assert!(told.is_empty(), "{told:?}");
    let count = |table: &str| rows.iter().filter(|row| row.starts_with(&format!("{table}: "))).count();
    let left = ["done_request", "session", "entry_link", "notice", "notice_person", "delivery"].map(count);
    // Of the links those stay that were replaced just now.
    assert_eq!(left, [1, 1, 3, 1, 1, 0]);
    assert!(count("change") > 5, "the record stays");
});
