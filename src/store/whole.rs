//! The database as a whole: which tables there are, by the schema itself, and all their rows, to be taken away and put back.
//! No table is named here, so that one added later is in every backup.
use futures_util::TryStreamExt as _;
use sqlx::{AssertSqlSafe, Row};

use super::Error;
use super::tx::{Conn, Read, Write, sql};

/// What a column holds: there are no other types (see `columns`).
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ColumnType {
    /// Text.
    Text,
    /// A whole number of 64 bits.
    Bigint,
    /// True or false.
    Boolean,
}

/// A column.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// What it holds.
    #[serde(rename = "type")]
    pub kind: ColumnType,
}

/// A table: its columns in the order of their names, and those that tell its rows apart.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// The columns of its primary key.
    pub key: Vec<String>,
}

/// A value of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Value {
    /// Text, or nothing.
    Text(Option<String>),
    /// A number, or nothing.
    Bigint(Option<i64>),
    /// True, false, or nothing.
    Boolean(Option<bool>),
}

/// How many values one statement puts in at most; SQLite takes 32,766, PostgreSQL 65,535.
const VALUES_AT_ONCE: usize = 4_000;

/// A name of the schema as it stands in a statement. Ours are plain words; an archive from elsewhere may hold anything.
fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

impl Read {
    /// All tables, by their names.
    ///
    /// # Errors
    /// [`Error::Fault`] for a column of a type that the program doesn't use.
    pub async fn tables(&mut self) -> Result<Vec<Table>, Error> {
        type Line = (String, String, String, i64);
        let lines: Vec<Line> = match self.tx.conn() {
            Conn::Sqlite(c) => {
                sqlx::query_as(
                    "/* columns */ SELECT m.name, c.name, lower(c.type), CAST(c.pk AS BIGINT)
                     FROM sqlite_master m JOIN pragma_table_info(m.name) c
                     WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite%' AND m.name <> '_sqlx_migrations'
                     ORDER BY m.name, c.name",
                )
                .fetch_all(c)
                .await?
            }
            Conn::Pg(c) => {
                sqlx::query_as(
                    "/* columns */ SELECT CAST(t.relname AS TEXT), CAST(a.attname AS TEXT), format_type(a.atttypid, a.atttypmod),
                         CAST(COALESCE(array_position(i.indkey, a.attnum), -1) + 1 AS BIGINT)
                     FROM pg_class t JOIN pg_namespace n ON n.oid = t.relnamespace
                     JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum > 0 AND NOT a.attisdropped
                     LEFT JOIN pg_index i ON i.indrelid = t.oid AND i.indisprimary
                     WHERE n.nspname = current_schema() AND t.relkind = 'r' AND t.relname <> '_sqlx_migrations'
                     ORDER BY CAST(t.relname AS TEXT) COLLATE \"C\", CAST(a.attname AS TEXT) COLLATE \"C\"",
                )
                .fetch_all(c)
                .await?
            }
        };
        let mut tables: Vec<Table> = Vec::new();
        let mut keys: Vec<(i64, String)> = Vec::new();
        for (table, name, kind, place) in lines {
            let kind = match kind.as_str() {
                "text" => ColumnType::Text,
                "bigint" => ColumnType::Bigint,
                "boolean" => ColumnType::Boolean,
                other => {
                    let what = format!("{table}.{name} is of the type {other}");
                    return Err(Error::Fault(sqlx::Error::Configuration(what.into())));
                }
            };
            if tables.last().is_none_or(|last| last.name != table) {
                keys.clear();
                tables.push(Table { name: table, columns: Vec::new(), key: Vec::new() });
            }
            let Some(last) = tables.last_mut() else { continue };
            if place > 0 {
                keys.push((place, name.clone()));
                keys.sort();
                last.key = keys.iter().map(|(_, name)| name.clone()).collect();
            }
            last.columns.push(Column { name, kind });
        }
        Ok(tables)
    }

    /// Hands over every row of a table, in the order of its key and the same on both databases. They come one by one, so that a
    /// large table needs no more memory than a small one.
    pub async fn each_row<E: From<Error>>(
        &mut self,
        table: &Table,
        mut take: impl FnMut(Vec<Value>) -> Result<(), E>,
    ) -> Result<(), E> {
        let columns: Vec<String> = table.columns.iter().map(|column| quoted(&column.name)).collect();
        let mut by: Vec<&Column> = table
            .key
            .iter()
            .filter_map(|key| table.columns.iter().find(|column| column.name == *key))
            .collect();
        if by.is_empty() {
            by = table.columns.iter().collect();
        }
        let order = |text: &str| {
            let by: Vec<String> = by
                .iter()
                .map(|c| quoted(&c.name) + if c.kind == ColumnType::Text { text } else { "" })
                .collect();
            by.join(", ")
        };
        let select = format!("/* whole */ SELECT {} FROM {}", columns.join(", "), quoted(&table.name));
        let failed = |e| E::from(Error::from(e));
        match self.tx.conn() {
            Conn::Sqlite(c) => {
                let text = AssertSqlSafe(format!("{select} ORDER BY {}", order("")));
                let mut rows = sqlx::query(text).fetch(c);
                while let Some(row) = rows.try_next().await.map_err(failed)? {
                    take(values(table, &row).map_err(failed)?)?;
                }
            }
            Conn::Pg(c) => {
                let text = AssertSqlSafe(format!("{select} ORDER BY {}", order(" COLLATE \"C\"")));
                let mut rows = sqlx::query(text).fetch(c);
                while let Some(row) = rows.try_next().await.map_err(failed)? {
                    take(values(table, &row).map_err(failed)?)?;
                }
            }
        }
        Ok(())
    }

    /// The version of the tables: the last migration.
    pub async fn schema(&mut self) -> Result<i64, Error> {
        sql!(val i64, self, "SELECT MAX(version) FROM _sqlx_migrations")
    }

    /// Whether nobody works with this database yet: no workroom was set up, and nobody is in it.
    pub async fn nobody_is_here(&mut self) -> Result<bool, Error> {
        let here =
            sql!(val i64, self, "SELECT (SELECT COUNT(*) FROM workroom) + (SELECT COUNT(*) FROM person)")?;
        Ok(here == 0)
    }

    /// How many rows a table has.
    pub async fn count_of(&mut self, table: &Table) -> Result<i64, Error> {
        let text = format!("/* whole */ SELECT COUNT(*) FROM {}", quoted(&table.name));
        Ok(match self.tx.conn() {
            Conn::Sqlite(c) => sqlx::query_scalar(AssertSqlSafe(text)).fetch_one(c).await?,
            Conn::Pg(c) => sqlx::query_scalar(AssertSqlSafe(text)).fetch_one(c).await?,
        })
    }

    /// What is wrong with the file itself, and rows that name others which aren't there. PostgreSQL keeps both by itself.
    pub async fn damage(&mut self) -> Result<Vec<String>, Error> {
        let Conn::Sqlite(c) = self.tx.conn() else { return Ok(Vec::new()) };
        let said: Vec<(String,)> = sqlx::query_as("PRAGMA integrity_check(100)").fetch_all(&mut *c).await?;
        let mut found: Vec<String> = said
            .into_iter()
            .filter(|(line,)| line != "ok")
            .map(|(line,)| format!("the file is damaged: {line}"))
            .collect();
        let lost: Vec<(String, Option<i64>, String, i64)> =
            sqlx::query_as("PRAGMA foreign_key_check").fetch_all(c).await?;
        found.extend(lost.into_iter().map(|(table, row, other, _)| {
            let row = row.map_or_else(String::new, |row| format!(" (row {row})"));
            format!("a row names another that isn't there: of {table}{row}, one of {other}")
        }));
        Ok(found)
    }
}

fn values<'r, R: Row>(table: &Table, row: &'r R) -> Result<Vec<Value>, sqlx::Error>
where
    usize: sqlx::ColumnIndex<R>,
    String: sqlx::Decode<'r, R::Database> + sqlx::Type<R::Database>,
    i64: sqlx::Decode<'r, R::Database> + sqlx::Type<R::Database>,
    bool: sqlx::Decode<'r, R::Database> + sqlx::Type<R::Database>,
{
    let value = |(i, column): (usize, &Column)| {
        Ok(match column.kind {
            ColumnType::Text => Value::Text(row.try_get(i)?),
            ColumnType::Bigint => Value::Bigint(row.try_get(i)?),
            ColumnType::Boolean => Value::Boolean(row.try_get(i)?),
        })
    };
    table.columns.iter().enumerate().map(value).collect()
}

impl Write {
    /// Makes ready for rows that come table by table: what one names may come later. Everything that stands in the tables goes.
    /// [`Write::all_is_in`] ends it.
    pub(crate) async fn begin_filling(&mut self, tables: &[Table]) -> Result<(), Error> {
        match self.tx.conn() {
            Conn::Sqlite(c) => {
                sqlx::query("PRAGMA defer_foreign_keys = ON").execute(c).await?;
            }
            Conn::Pg(_) => self.references("DEFERRABLE INITIALLY DEFERRED").await?,
        }
        for table in tables {
            let empty = format!("/* whole */ DELETE FROM {}", quoted(&table.name));
            match self.tx.conn() {
                Conn::Sqlite(c) => sqlx::query(AssertSqlSafe(empty)).execute(c).await.map(|_| ())?,
                Conn::Pg(c) => sqlx::query(AssertSqlSafe(empty)).execute(c).await.map(|_| ())?,
            }
        }
        Ok(())
    }

    /// How references are checked, on PostgreSQL: at each row, or when all are in.
    async fn references(&mut self, how: &str) -> Result<(), Error> {
        let Conn::Pg(c) = self.tx.conn() else { return Ok(()) };
        let all: Vec<(String,)> = sqlx::query_as(
            "/* references */ SELECT format('ALTER TABLE %s ALTER CONSTRAINT %I ', c.conrelid::regclass, c.conname)
             FROM pg_constraint c JOIN pg_namespace n ON n.oid = c.connamespace
             WHERE n.nspname = current_schema() AND c.contype = 'f'",
        )
        .fetch_all(&mut *c)
        .await?;
        for (one,) in all {
            sqlx::query(AssertSqlSafe(one + how)).execute(&mut *c).await?;
        }
        Ok(())
    }

    /// Puts rows into a table, several at once.
    pub(crate) async fn fill(&mut self, table: &Table, rows: &[Vec<Value>]) -> Result<(), Error> {
        for some in rows.chunks(Self::rows_at_once(table)) {
            let columns: Vec<String> = table.columns.iter().map(|column| quoted(&column.name)).collect();
            let mut n = 0;
            let mut places = || {
                let row: Vec<String> = columns
                    .iter()
                    .map(|_| {
                        n += 1;
                        format!("${n}")
                    })
                    .collect();
                format!("({})", row.join(", "))
            };
            let places: Vec<String> = some.iter().map(|_| places()).collect();
            let text = format!(
                "/* whole */ INSERT INTO {} ({}) VALUES {}",
                quoted(&table.name),
                columns.join(", "),
                places.join(", ")
            );
            match self.tx.conn() {
                Conn::Sqlite(c) => {
                    let all = some.iter().flatten().cloned();
                    all.fold(sqlx::query(AssertSqlSafe(text)), |query, value| match value {
                        Value::Text(text) => query.bind(text),
                        Value::Bigint(number) => query.bind(number),
                        Value::Boolean(is) => query.bind(is),
                    })
                    .execute(c)
                    .await
                    .map(|_| ())?;
                }
                Conn::Pg(c) => {
                    let all = some.iter().flatten().cloned();
                    all.fold(sqlx::query(AssertSqlSafe(text)), |query, value| match value {
                        Value::Text(text) => query.bind(text),
                        Value::Bigint(number) => query.bind(number),
                        Value::Boolean(is) => query.bind(is),
                    })
                    .execute(c)
                    .await
                    .map(|_| ())?;
                }
            }
        }
        Ok(())
    }

    /// How many rows of a table go into one statement.
    pub(crate) fn rows_at_once(table: &Table) -> usize {
        (VALUES_AT_ONCE / table.columns.len().max(1)).max(1)
    }

    /// Ends what [`Write::begin_filling`] began: every row that another names must be there now.
    pub(crate) async fn all_is_in(&mut self) -> Result<(), Error> {
        match self.tx.conn() {
            Conn::Sqlite(_) => {}
            Conn::Pg(c) => {
                sqlx::query("SET CONSTRAINTS ALL IMMEDIATE").execute(c).await?;
                self.references("NOT DEFERRABLE").await?;
            }
        }
        // What the database is at came with it.
        self.skip_audit_unseen();
        Ok(())
    }
}
