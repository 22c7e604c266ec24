//! `thrumhall check`, run as a program: a rich and sound class leaves every question silent, whatever in it looks broken;
//! and a database with exactly one fault makes the question for it answer, naming the row, and no other question.
mod class;
mod cloth_faults;
mod faults;

use std::collections::BTreeSet;

use thrumhall::store::Store;

use crate::support::behind::Behind;
use crate::support::program::{Ran, database, thrumhall};
use crate::support::{Database, on_both};

/// One fault, put in by hand.
pub struct Fault {
    /// The question that it breaks.
    pub question: &'static str,
    /// What is wrong: which part of the question should see it.
    pub what: &'static str,
    /// The statements that put it in.
    pub done: Vec<String>,
    /// A query for the names of the broken rows.
    pub rows: &'static str,
    /// Another question that the same fault cannot help breaking.
    pub also: Option<&'static str>,
}

fn check(store: &Store) -> Ran {
    let [flag, place] = database(store);
    thrumhall(&["check", &flag, &place])
}

/// Asked of a file alone, and tested below.
const LOST: &str = "a row names another that isn't there";

/// What was found: the question, and the row.
fn found(ran: &Ran) -> Vec<(String, String)> {
    let broken = ran.lines().into_iter().filter_map(|line| line.strip_prefix("broken: "));
    broken
        .map(|line| {
            let (question, row) = line.rsplit_once(": ").unwrap();
            (question.to_owned(), row.to_owned())
        })
        .collect()
}

fn all_faults() -> Vec<Fault> {
    let mut all = faults::faults();
    all.extend(cloth_faults::faults());
    all
}

#[test]
fn each_question_has_a_fault_here() {
    let ran = thrumhall(&["check", "--list"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let asked: BTreeSet<&str> = ran.lines().into_iter().collect();
    let faults = all_faults();
    let answered: BTreeSet<&str> = faults.iter().map(|fault| fault.question).collect();
    assert_eq!(asked, answered, "left: what the program asks; right: what has a fault in this folder");
}

#[test]
fn where_no_database_is_all_is_not_well() {
    let folder = tempfile::tempdir().unwrap();
    let ran = thrumhall(&["check", "--data", folder.path().to_str().unwrap()]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""), "{ran:?}");
    assert!(!ran.err.is_empty());
}

on_both!(one_fault_is_answered_by_its_question_alone, |store| async move {
    class::gather(&store).await;
    let sound = check(&store);
    let mut missed: Vec<String> = found(&sound).iter().map(|it| format!("a sound class: {it:?}")).collect();
    if sound.code != Some(0) || sound.lines().len() != 1 {
        missed.push(format!("a sound class: {sound:?}"));
    }
    let mut hand = Behind::unguarded(&store).await;
    for Fault { question, what, done, rows, also } in all_faults() {
        for statement in &done {
            assert!(hand.run(statement).await > 0, "{what}: nothing was done by {statement}");
        }
        let mut expected = hand.texts(rows).await;
        assert!(!expected.is_empty(), "{what}: no row is to be named by {rows}");
        let ran = check(&store);
        let (mut named, others): (Vec<_>, Vec<_>) = found(&ran)
            .into_iter()
            .filter(|it| !found(&sound).contains(it))
            // SQLite looks at the rules that were lifted here for the fault, too, by two questions of its own.
            .filter(|(asked, row)| asked == question || !(row.contains("constraint failed") || asked == LOST))
            .partition(|(asked, _)| asked == question);
        let mut named: Vec<String> = named.drain(..).map(|(_, row)| row).collect();
        named.sort();
        expected.sort();
        let others: BTreeSet<&str> = others.iter().map(|(asked, _)| asked.as_str()).collect();
        if ran.code != Some(1) || named != expected || others != also.into_iter().collect() {
            missed.push(format!(
                "{question} ({what}): exit {:?}, named {named:?} for {expected:?}; others that answered: {others:?}",
                ran.code
            ));
        }
        hand.restore().await;
    }
    let mended = check(&store);
    if mended.out != sound.out {
        missed.push(format!("with each fault mended: {mended:?}"));
    }
    assert!(missed.is_empty(), "{}", missed.join("\n"));
});

#[tokio::test(flavor = "multi_thread")]
async fn a_file_that_is_damaged_or_has_lost_a_row_is_found_out() {
    let database = Database::lite().await;
    class::gather(&database.store).await;
    let Store::Sqlite(pool) = &database.store else { unreachable!() };
    let mut hand = pool.acquire().await.unwrap();
    for statement in ["PRAGMA foreign_keys = OFF", "DELETE FROM absence", "DELETE FROM term"] {
        sqlx::query(statement).execute(&mut *hand).await.unwrap();
    }
    drop(hand);
    let ran = check(&database.store);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    assert!(ran.out.contains("of meeting (row 1), one of term"), "{}", ran.out);
    sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)").execute(pool).await.unwrap();
    let file = database.file().unwrap();
    let mut bytes = std::fs::read(&file).unwrap();
    // The index by which frames are found by their tags: its cells are turned round.
    let root: i64 = sqlx::query_scalar("SELECT rootpage FROM sqlite_master WHERE name = 'u_frame__tag_key'")
        .fetch_one(pool)
        .await
        .unwrap();
    let place = usize::try_from(root - 1).unwrap() * 4096;
    bytes[place + 3900..place + 4090].reverse();
    std::fs::write(&file, bytes).unwrap();
    let ran = check(&database.store);
    assert!(ran.code == Some(1) && ran.out.contains("the file is damaged"), "{ran:?}");
    database.drop().await;
}
