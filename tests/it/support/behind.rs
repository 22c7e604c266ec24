//! A hand behind the program's back: a connection of its own, on which the database's guards can be lifted.
use sqlx::pool::PoolConnection;
use sqlx::{Postgres, Sqlite};
use thrumhall::store::Store;

/// Tables that a fault is put into.
const TABLES: [&str; 18] = [
    "enrolment",
    "waiting",
    "bundle",
    "cloth_entry",
    "rod",
    "loan",
    "person",
    "rug_log",
    "promise",
    "share_out",
    "place",
    "rug_band",
    "change",
    "session",
    "entry_link",
    "calendar_link",
    "calendar_told",
    "absence",
];

/// Unique indexes that stand in a fault's way. Those that belong to a table's own constraints stay.
const INDEXES: [&str; 5] = [
    "u_loan__frame_id",
    "u_loan__rug_id",
    "u_bundle__tag",
    "u_place__frame_id__from_meeting",
    "u_share_out__person_id",
];

pub enum Behind {
    Sqlite(PoolConnection<Sqlite>),
    Pg(PoolConnection<Postgres>),
}

impl Behind {
    /// A connection beside the program's own.
    pub async fn beside(store: &Store) -> Self {
        match store {
            Store::Sqlite(pool) => Self::Sqlite(pool.acquire().await.unwrap()),
            Store::Pg(pool) => Self::Pg(pool.acquire().await.unwrap()),
        }
    }

    /// Every row of every table as text, led by the table's name.
    pub async fn everything(&mut self) -> Vec<String> {
        let lite = matches!(self, Self::Sqlite(_));
        let names = if lite {
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
        } else {
            "SELECT CAST(tablename AS TEXT) FROM pg_tables WHERE schemaname = 'public'"
        };
        let mut all = Vec::new();
        for name in self.texts(names).await {
            let row = if lite {
                let columns = self.texts(&format!("SELECT name FROM pragma_table_info('{name}')")).await;
                let quoted = columns.iter().map(|column| format!("quote(\"{column}\")"));
                quoted.collect::<Vec<_>>().join(" || ' ' || ")
            } else {
                "CAST(t AS TEXT)".to_owned()
            };
            all.extend(self.texts(&format!("SELECT '{name}: ' || {row} FROM \"{name}\" t")).await);
        }
        all
    }

    /// A connection on which nothing is checked any more, and a copy of what is in the tables now.
    pub async fn unguarded(store: &Store) -> Self {
        let mut hand = Self::beside(store).await;
        match &hand {
            Self::Sqlite(_) => {
                hand.run("PRAGMA foreign_keys = OFF").await;
                hand.run("PRAGMA ignore_check_constraints = ON").await;
            }
            Self::Pg(_) => {
                hand.run("SET session_replication_role = replica").await;
                let checks = hand
                    .texts(
                        "SELECT 'ALTER TABLE ' || c.conrelid::regclass || ' DROP CONSTRAINT ' || c.conname
                         FROM pg_constraint c WHERE c.contype = 'c' AND c.connamespace = 'public'::regnamespace",
                    )
                    .await;
                for check in checks {
                    hand.run(&check).await;
                }
            }
        }
        for index in INDEXES {
            hand.run(&format!("DROP INDEX {index}")).await;
        }
        for table in TABLES {
            hand.run(&format!("CREATE TABLE kept_{table} AS SELECT * FROM {table}")).await;
        }
        hand
    }

    /// Brings back what was in the tables when the guards were lifted.
    pub async fn restore(&mut self) {
        self.run("BEGIN").await;
        for table in TABLES {
            self.run(&format!("DELETE FROM {table}")).await;
            self.run(&format!("INSERT INTO {table} SELECT * FROM kept_{table}")).await;
        }
        self.run("COMMIT").await;
    }

    /// Runs a statement, and answers how many rows it touched.
    pub async fn run(&mut self, statement: &str) -> u64 {
        let sql = sqlx::AssertSqlSafe(statement.to_owned());
        match self {
            Self::Sqlite(c) => sqlx::query(sql).execute(&mut **c).await.map(|done| done.rows_affected()),
            Self::Pg(c) => sqlx::query(sql).execute(&mut **c).await.map(|done| done.rows_affected()),
        }
        .unwrap_or_else(|error| panic!("{error}\n{statement}"))
    }

    /// The only column of a query.
    pub async fn texts(&mut self, query: &str) -> Vec<String> {
        let sql = sqlx::AssertSqlSafe(query.to_owned());
        match self {
            Self::Sqlite(c) => sqlx::query_scalar(sql).fetch_all(&mut **c).await,
            Self::Pg(c) => sqlx::query_scalar(sql).fetch_all(&mut **c).await,
        }
        .unwrap_or_else(|error| panic!("{error}\n{query}"))
    }
}
