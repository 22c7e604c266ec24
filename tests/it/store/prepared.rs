//! Every SQL text in the store's sources is prepared on both databases, which catches a wrong table or column even in a
//! statement that no other test runs.
use std::path::Path;

use sqlx::{Executor as _, SqlSafeStr as _};
use thrumhall::store::Store;

use crate::support::on_both;

/// The string literals of the store's sources that begin with a verb of SQL.
fn statements() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/store");
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let source = std::fs::read_to_string(&path).unwrap();
        let file = path.file_name().unwrap().to_string_lossy().into_owned();
        for literal in literals(&source) {
            let verb = literal.split_whitespace().next().unwrap_or("");
            if ["SELECT", "INSERT", "UPDATE", "DELETE", "WITH"].contains(&verb) {
                found.push((file.clone(), literal));
            }
        }
    }
    found
}

/// Plain string literals of Rust source; the store's SQL uses no escapes.
fn literals(source: &str) -> Vec<String> {
    let code: Vec<&str> = source.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
    code.join("\n").split('"').skip(1).step_by(2).map(str::to_owned).collect()
}

on_both!(every_statement_can_be_prepared, |store| async move {
    let statements = statements();
    assert!(statements.len() > 20, "only {} statements found", statements.len());
    for (file, text) in statements {
        let sql = sqlx::AssertSqlSafe(text.clone()).into_sql_str();
        let outcome = match &store {
            Store::Lite(pool) => pool.acquire().await.unwrap().prepare(sql).await.map(|_| ()),
            Store::Pg(pool) => pool.acquire().await.unwrap().prepare(sql).await.map(|_| ()),
        };
        outcome.unwrap_or_else(|error| panic!("{file}: {error}\n{text}"));
    }
});
