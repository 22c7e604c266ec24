//! Statements find their rows by an index where the table grows with the years: asked of SQLite's own planner for every text in
//! the store's sources, and of PostgreSQL's for those of the pages that are looked at most.
use sqlx::AssertSqlSafe;
use thrumhall::store::Store;

use super::prepared::texts;
use crate::support::on_both;

/// Tables that have thousands of rows after ten years.
const LARGE: [&str; 9] =
    ["bundle", "cloth_entry", "change", "rug", "rug_band", "rug_log", "rug_log_left", "rug_result", "loan"];

/// Texts, by their first words, that pass through a large table by design, and why.
const THROUGH: &[(&str, &str)] = &[
    ("SELECT c.id, c.at, p.name AS who", "the record is read from its newest end, a page at a time"),
    ("SELECT (SELECT COUNT(*) FROM person", "whether there is any at all, which the first row answers"),
    ("SELECT r.name AS rug, l.at", "all that is kept of one person, whom they ask it for"),
    ("SELECT r.name AS rug, s.at", "all that is kept of one person"),
    ("SELECT c.at, COALESCE(c.person_id", "all that is kept of one person"),
    ("SELECT r.*, (SELECT CAST(SUM", "the newest results, read from the newest end"),
    ("SELECT r.*, p.name AS weaver", "all rugs, in a part that runs only where all are asked for"),
    ("SELECT r.id, r.name, p.name AS weaver", "words are looked for in every rug, from the newest end"),
    ("SELECT b.rug_id, b.height_nm", "the bands of all rugs, likewise"),
    ("SELECT c.rug_id, c.part", "the cloth of all rugs, likewise"),
    ("SELECT l.id, l.frame_id", "the loans that came back, read from the newest end"),
    ("SELECT b.source, COALESCE(o.reason", "where all cloth went"),
    (
        "SELECT b.kind, CAST(SUM(CASE WHEN e.reason = 'cut'",
        "what the latest cuts showed, read from the newest end, once for each revision",
    ),
    (
        "SELECT b.id, b.tag, b.kind, b.colour_name, b.colour_hex, b.colour_family",
        "words are looked for in every bundle",
    ),
    ("SELECT b.*, e.change_mg AS first_mg", "words are looked for in every bundle"),
    (
        "SELECT b.kind, b.colour_name, b.colour_hex FROM bundle",
        "the bundles that came last, from the newest end",
    ),
    ("SELECT DISTINCT b.source", "which words were used for a source"),
    ("SELECT b.kind, b.state, COUNT(*)", "sums of what words find"),
    ("SELECT b.id AS bundle_id, b.tag", "a stocktake's lines in the order of the shelf"),
    ("SELECT 'change' AS what", "every text that may name somebody who is erased"),
    ("SELECT b.id, b.note || ' '", "bundles of before their words were kept"),
    ("WITH pulled AS", "every promise: those before it lay claim to the same cloth"),
    ("SELECT 'turn:'", "the rugs of turns that are to be told, once in five seconds"),
];

async fn plan(store: &Store, text: &str) -> Vec<String> {
    let places = (1..=30).rev().find(|n| text.contains(&format!("${n}"))).unwrap_or(0);
    match store {
        Store::Sqlite(pool) => {
            let lines: Vec<(i64, i64, i64, String)> =
                sqlx::query_as(AssertSqlSafe(format!("EXPLAIN QUERY PLAN {text}")))
                    .fetch_all(pool)
                    .await
                    .unwrap_or_else(|error| panic!("{error}\n{text}"));
            lines.into_iter().map(|line| line.3).collect()
        }
        Store::Pg(pool) => {
            let mut one = pool.acquire().await.unwrap();
            let nothing = vec!["NULL"; places].join(", ");
            let call = if places == 0 { String::new() } else { format!("({nothing})") };
            for set in ["SET enable_seqscan = off", "SET plan_cache_mode = force_generic_plan"] {
                sqlx::query(AssertSqlSafe(set)).execute(&mut *one).await.unwrap();
            }
            let name = format!("p{}", thrumhall::store::ChangeId::new().to_string().replace('-', ""));
            sqlx::raw_sql(AssertSqlSafe(format!("PREPARE {name} AS {text}")))
                .execute(&mut *one)
                .await
                .unwrap_or_else(|error| panic!("{error}\n{text}"));
            sqlx::query_scalar(AssertSqlSafe(format!("EXPLAIN EXECUTE {name}{call}")))
                .fetch_all(&mut *one)
                .await
                .unwrap_or_else(|error| panic!("{error}\n{text}"))
        }
    }
}

/// The large tables that a plan passes through from end to end.
fn through(text: &str, plan: &[String]) -> Vec<String> {
    let aliases = |table: &str| {
        let words: Vec<&str> = text.split_whitespace().collect();
        let named = words.windows(2).filter(|pair| pair[0].trim_matches(|c| "(),".contains(c)) == table);
        let mut all: Vec<String> =
            named.map(|pair| pair[1].trim_matches(|c| "(),".contains(c)).to_owned()).collect();
        all.push(table.to_owned());
        all
    };
    let large: Vec<String> = LARGE.iter().flat_map(|table| aliases(table)).collect();
    let scanned = plan.iter().filter_map(|line| {
        let line = line.trim().trim_start_matches("->").trim();
        // A partial index is as short as what it holds.
        if let Some(rest) = line.strip_prefix("SCAN ") {
            let name = rest.split(' ').next()?;
            let partial = [
                "i_bundle__on_shelf",
                "i_bundle__sums",
                "i_rug__open",
                "i_rug__pattern",
                "u_loan__frame_id",
                "u_loan__rug_id",
            ];
            if partial.iter().any(|index| rest.contains(index)) {
                return None;
            }
            return large.iter().any(|one| one == name).then(|| line.to_owned());
        }
        let rest = line.strip_prefix("Seq Scan on ")?;
        let name = rest.split(' ').next()?;
        LARGE.contains(&name).then(|| line.to_owned())
    });
    scanned.collect()
}

on_both!(large_tables_are_not_passed_through_from_end_to_end, |store| async move {
    let mut wrong = Vec::new();
    let mut used = vec![false; THROUGH.len()];
    for text in texts().into_iter().filter(|text| !text.starts_with("INSERT")) {
        let scanned = through(&text, &plan(&store, &text).await);
        if scanned.is_empty() {
            continue;
        }
        let folded = text.split_whitespace().collect::<Vec<_>>().join(" ");
        match THROUGH.iter().position(|(begins, _)| folded.starts_with(begins)) {
            Some(known) => used[known] = true,
            None => wrong.push(format!("{}\n    {folded}", scanned.join("; "))),
        }
    }
    assert!(wrong.is_empty(), "{} texts:\n{}", wrong.len(), wrong.join("\n"));
    if matches!(store, Store::Sqlite(_)) {
        let idle: Vec<&str> =
            THROUGH.iter().zip(used).filter(|(_, used)| !used).map(|(known, _)| known.0).collect();
        assert!(idle.is_empty(), "no text passes through any more: {idle:?}");
    }
});
