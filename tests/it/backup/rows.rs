//! All rows of all tables, read without the program's help: by the databases' own lists and as JSON.
use std::collections::BTreeMap;

use serde_json::{Map, Value};
use thrumhall::store::Store;

/// The rows of each table, in an order of their own; flags are numbers, as SQLite has them.
pub type Rows = BTreeMap<String, Vec<String>>;

fn told(row: &str) -> String {
    let row: Map<String, Value> = serde_json::from_str(row).unwrap();
    let plain = |value: Value| value.as_bool().map_or(value, |is| Value::from(i64::from(is)));
    let row: BTreeMap<String, Value> = row.into_iter().map(|(name, value)| (name, plain(value))).collect();
    serde_json::to_string(&row).unwrap()
}

pub async fn all_rows(store: &Store) -> Rows {
    let mut all = Rows::new();
    match store {
        Store::Sqlite(pool) => {
            let names = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'";
            let names: Vec<String> = sqlx::query_scalar(names).fetch_all(pool).await.unwrap();
            for name in names {
                let columns = format!("SELECT name FROM pragma_table_info('{name}')");
                let columns: Vec<String> =
                    sqlx::query_scalar(sqlx::AssertSqlSafe(columns)).fetch_all(pool).await.unwrap();
                let pairs: Vec<String> = columns.iter().map(|it| format!("'{it}', \"{it}\"")).collect();
                if name == "_sqlx_migrations" {
                    continue;
                }
                let rows = format!("SELECT json_object({}) FROM \"{name}\"", pairs.join(", "));
                let rows: Vec<String> =
                    sqlx::query_scalar(sqlx::AssertSqlSafe(rows)).fetch_all(pool).await.unwrap();
                all.insert(name, rows.iter().map(|row| told(row)).collect());
            }
        }
        Store::Pg(pool) => {
            let names = "SELECT CAST(tablename AS TEXT) FROM pg_tables WHERE schemaname = 'public'";
            let names: Vec<String> = sqlx::query_scalar(names).fetch_all(pool).await.unwrap();
            for name in names.into_iter().filter(|name| name != "_sqlx_migrations") {
                let rows = format!("SELECT CAST(row_to_json(t) AS TEXT) FROM \"{name}\" t");
                let rows: Vec<String> =
                    sqlx::query_scalar(sqlx::AssertSqlSafe(rows)).fetch_all(pool).await.unwrap();
                all.insert(name, rows.iter().map(|row| told(row)).collect());
            }
        }
    }
    for rows in all.values_mut() {
        rows.sort();
    }
    all
}
