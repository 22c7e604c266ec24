//! All that a database holds, to compare before and after.
use std::collections::BTreeMap;

use sqlx::{Connection as _, SqliteConnection};

use crate::support::Database;

/// Each table's rows as text, by the table's name.
pub type Kept = BTreeMap<String, Vec<String>>;

/// Everything that is kept, on SQLite.
pub async fn kept(database: &Database) -> Kept {
    let file = database.file().expect("a database in a file");
    let mut connection = SqliteConnection::connect(&format!("sqlite://{}", file.display())).await.unwrap();
    let names =
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name";
    let names: Vec<String> = sqlx::query_scalar(names).fetch_all(&mut connection).await.unwrap();
    let mut kept = Kept::new();
    for name in names {
        let columns = format!("SELECT name FROM pragma_table_info('{name}') ORDER BY cid");
        let columns: Vec<String> =
            sqlx::query_scalar(sqlx::AssertSqlSafe(columns)).fetch_all(&mut connection).await.unwrap();
        let columns: Vec<String> =
            columns.iter().map(|column| format!("'{column}=' || quote(\"{column}\")")).collect();
        let rows = format!("SELECT {} FROM \"{name}\" ORDER BY 1", columns.join(" || ' ' || "));
        let rows = sqlx::query_scalar(sqlx::AssertSqlSafe(rows)).fetch_all(&mut connection).await.unwrap();
        kept.insert(name, rows);
    }
    connection.close().await.unwrap();
    assert!(kept.len() > 10 && !kept["change"].is_empty(), "the record is read");
    kept
}

/// The rows that are in one and not in the other, with their tables.
pub fn difference(before: &Kept, after: &Kept) -> Vec<String> {
    let mut differ = Vec::new();
    for (name, rows) in after {
        let was = before.get(name).map_or(&[][..], Vec::as_slice);
        differ
            .extend(rows.iter().filter(|row| !was.contains(row)).map(|row| format!("now in {name}: {row}")));
        differ.extend(
            was.iter().filter(|row| !rows.contains(row)).map(|row| format!("gone from {name}: {row}")),
        );
    }
    differ
}
