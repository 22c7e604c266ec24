//! The two ways into the database: [`Read`] for a steady view, [`Write`] for a change by somebody, kept only on `commit`.
use jiff::Timestamp;
use serde_json::Value;
use sqlx::{PgConnection, Postgres, Sqlite, SqliteConnection, Transaction};

use super::columns::{Instant, string_enum};
use super::revision::{self, Revision};
use super::{ChangeId, Error, PersonId, RequestKey, Store};

/// A transaction on whichever database is behind, which counts its statements.
pub(crate) struct Tx {
    /// There until it is committed.
    on: Option<On>,
    kind: &'static str,
    statements: u32,
}

enum On {
    Sqlite(Transaction<'static, Sqlite>),
    Pg(Transaction<'static, Postgres>),
}

/// A borrowed connection, for the two arms of [`sql!`].
pub(crate) enum Conn<'a> {
    Sqlite(&'a mut SqliteConnection),
    Pg(&'a mut PgConnection),
}

/// Kinds of transactions.
const READ: &str = "read";
const WRITE: &str = "write";

impl Tx {
    fn new(on: On, kind: &'static str) -> Self {
        Self { on: Some(on), kind, statements: 0 }
    }

    /// The connection, for one statement.
    pub(crate) fn conn(&mut self) -> Conn<'_> {
        self.statements += 1;
        match self.on.as_mut() {
            Some(On::Sqlite(tx)) => Conn::Sqlite(tx),
            Some(On::Pg(tx)) => Conn::Pg(tx),
            None => unreachable!("committing consumes the transaction"),
        }
    }

    async fn commit(mut self) -> Result<(), Error> {
        match self.on.take() {
            Some(On::Sqlite(tx)) => tx.commit().await,
            Some(On::Pg(tx)) => tx.commit().await,
            None => unreachable!("committing consumes the transaction"),
        }
        .map_err(Error::at_commit)
    }
}

impl Drop for Tx {
    fn drop(&mut self) {
        if self.kind == WRITE {
            revision::change_ended();
        }
        tracing::debug!(target: TRANSACTIONS, kind = self.kind, statements = self.statements, "transaction");
    }
}

/// What transactions are logged under when they end, each with its kind (`read` or `write`) and the number of its statements.
pub const TRANSACTIONS: &str = "thrumhall::transactions";

/// One SQL text on either database: `sql!(all Row, tx, "SELECT …", a, b)` gives a `Vec<Row>`, `opt` an `Option<Row>`,
/// `one` a `Row`, `val` a single value of the type, `exec` the number of rows touched.
macro_rules! sql {
    (@ $tx:expr, |$c:ident, $D:ident| $e:expr) => {
        match $tx.tx.conn() {
            $crate::store::tx::Conn::Sqlite($c) => { type $D = sqlx::Sqlite; $e }
            $crate::store::tx::Conn::Pg($c) => { type $D = sqlx::Postgres; $e }
        }
    };
    (all $t:ty, $tx:expr, $s:expr $(, $b:expr)* $(,)?) => {
        $crate::store::tx::sql!(@ $tx, |c, D| sqlx::query_as::<D, $t>($s)$(.bind($b))*.fetch_all(c).await)
            .map_err($crate::store::Error::from)
    };
    (opt $t:ty, $tx:expr, $s:expr $(, $b:expr)* $(,)?) => {
        $crate::store::tx::sql!(@ $tx, |c, D| sqlx::query_as::<D, $t>($s)$(.bind($b))*.fetch_optional(c).await)
            .map_err($crate::store::Error::from)
    };
    (one $t:ty, $tx:expr, $s:expr $(, $b:expr)* $(,)?) => {
        $crate::store::tx::sql!(@ $tx, |c, D| sqlx::query_as::<D, $t>($s)$(.bind($b))*.fetch_one(c).await)
            .map_err($crate::store::Error::from)
    };
    (val $t:ty, $tx:expr, $s:expr $(, $b:expr)* $(,)?) => {
        $crate::store::tx::sql!(@ $tx, |c, D| sqlx::query_scalar::<D, $t>($s)$(.bind($b))*.fetch_one(c).await)
            .map_err($crate::store::Error::from)
    };
    (exec $tx:expr, $s:expr $(, $b:expr)* $(,)?) => {
        $crate::store::tx::sql!(@ $tx, |c, D| sqlx::query::<D>($s)$(.bind($b))*.execute(c).await.map(|done| done.rows_affected()))
            .map_err($crate::store::Error::from)
    };
}
pub(crate) use sql;

/// A steady view of the database: everything read through one of these is of one moment.
pub struct Read {
    pub(crate) tx: Tx,
    /// What the database is at, once that is known.
    pub(super) at: Option<Revision>,
    /// Whether it belongs to a change.
    pub(super) changing: bool,
}

/// A change by somebody at some moment. Nothing is kept until [`Write::commit`], and nothing without a line in the record.
///
/// It reads as a [`Read`] does, and sees what it wrote itself: whatever decides about a change is read inside it.
pub struct Write {
    read: Read,
    pub(crate) actor: Actor,
    recorded: bool,
    /// Whether a page could show what was changed.
    seen: bool,
}

impl std::ops::Deref for Write {
    type Target = Read;

    fn deref(&self) -> &Read {
        &self.read
    }
}

impl std::ops::DerefMut for Write {
    fn deref_mut(&mut self) -> &mut Read {
        &mut self.read
    }
}

/// Who is making a change, and when.
#[derive(Clone, Copy, Debug)]
pub struct Actor {
    /// The person; `None` for the program itself (first start, an unknown visitor).
    pub person: Option<PersonId>,
    /// The moment, from the clock at the edge.
    pub at: Timestamp,
}

string_enum! {
    /// What a line of the record is about.
    EntityKind {
        /// The workroom's own settings.
        Workroom = "workroom",
        /// A person.
        Person = "person",
        /// A frame.
        Frame = "frame",
        /// A size of rod.
        Rod = "rod",
        /// A loan.
        Loan = "loan",
        /// A bundle of cloth.
        Bundle = "bundle",
        /// A term.
        Term = "term",
        /// A meeting.
        Meeting = "meeting",
        /// A rug.
        Rug = "rug",
        /// A share-out of cloth.
        ShareOut = "share-out",
        /// A stocktake.
        Stocktake = "stocktake",
        /// A receiver of notices.
        Receiver = "receiver",
        /// A tablet at the scale.
        Tablet = "tablet",
    }
}

impl Store {
    /// Opens a steady view.
    pub async fn read(&self) -> Result<Read, Error> {
        let on = match self {
            Self::Sqlite(pool) => pool.begin().await.map(On::Sqlite),
            Self::Pg(pool) => {
                pool.begin_with("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY").await.map(On::Pg)
            }
        };
        let on = match on {
            Ok(on) => on,
            Err(error) => return Err(self.first_cause(error).await),
        };
        Ok(Read { tx: Tx::new(on, READ), at: None, changing: false })
    }

    /// Opens a steady view for a reader of whole tables, which takes as long as they are large: the limit of a statement's time is
    /// for pages.
    pub async fn read_at_leisure(&self) -> Result<Read, Error> {
        let mut read = self.read().await?;
        if let Conn::Pg(c) = read.tx.conn() {
            sqlx::query("/* leisure */ SET LOCAL statement_timeout = 0").execute(c).await?;
        }
        Ok(read)
    }

    /// Opens a change by `actor`. On SQLite the write lock is taken at once: a change that reads first and locks later
    /// fails under two writers.
    pub async fn write(&self, actor: Actor) -> Result<Write, Error> {
        let on = match self {
            Self::Sqlite(pool) => pool.begin_with("BEGIN IMMEDIATE").await.map(On::Sqlite),
            Self::Pg(pool) => pool.begin().await.map(On::Pg),
        };
        let on = match on {
            Ok(on) => on,
            Err(error) => return Err(self.first_cause(error).await),
        };
        let read = Read { tx: Tx::new(on, WRITE), at: None, changing: true };
        Ok(Write { read, actor, recorded: false, seen: false })
    }
}

impl Write {
    /// Writes that something can be written, for the page that says so.
    pub async fn sign_of_life(&mut self) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "INSERT INTO sign_of_life (id, at) VALUES (1, $1) ON CONFLICT (id) DO UPDATE SET at = $1",
            at
        )?;
        self.skip_audit_unseen();
        Ok(())
    }

    /// Goes on as somebody else at another moment, in the same change: for many years that are filled in at once.
    pub(crate) fn go_on_as(&mut self, actor: Actor) {
        self.actor = actor;
    }

    /// The moment of the change.
    pub(crate) fn now(&self) -> Instant {
        Instant(self.actor.at)
    }

    /// Keeps everything done through this change.
    ///
    /// # Errors
    /// [`Error::Unrecorded`] when no line was written to the record.
    pub async fn commit(mut self) -> Result<(), Error> {
        if !self.recorded {
            return Err(Error::Unrecorded);
        }
        if self.seen {
            self.raise_revision().await?;
        }
        self.read.tx.commit().await
    }

    /// Writes a line of the record: who (this change's actor) did what to which thing.
    pub(crate) async fn audit_log(
        &mut self,
        entity: EntityKind,
        id: impl ToString,
        act: &'static str,
        detail: Value,
    ) -> Result<(), Error> {
        let Actor { person, at } = self.actor;
        sql!(
            exec self,
            "INSERT INTO change (id, at, person_id, noun, noun_id, act, detail) VALUES ($1, $2, $3, $4, $5, $6, $7)",
            ChangeId::new(),
            Instant(at),
            person,
            entity,
            id.to_string(),
            act,
            detail.to_string()
        )?;
        (self.recorded, self.seen) = (true, true);
        Ok(())
    }

    /// For what the record need not hold: sessions that ran out, counted sign-in attempts.
    pub(crate) fn skip_audit(&mut self) {
        (self.recorded, self.seen) = (true, true);
    }

    /// For what the record need not hold and no page that is kept in memory shows, such as when a session was last used: it
    /// leaves the database at the same revision.
    pub(crate) fn skip_audit_unseen(&mut self) {
        self.recorded = true;
    }

    /// Marks a form's key as acted on, leading to `outcome`; the first thing a change does.
    ///
    /// # Errors
    /// [`Error::Repeated`] with the first outcome when the key was used before: then nothing more is to be done.
    pub async fn idempotent(&mut self, key: RequestKey, outcome: &str) -> Result<(), Error> {
        // The insert waits for a racing twin to finish, so the second sees the first one's outcome.
        let Actor { person, at } = self.actor;
        let fresh = sql!(
            exec self,
            "INSERT INTO done_request (key, person_id, at, outcome) VALUES ($1, $2, $3, $4) ON CONFLICT (key) DO NOTHING",
            key,
            person,
            Instant(at),
            outcome
        )?;
        if fresh == 1 {
            return Ok(());
        }
        Err(Error::Repeated(sql!(val String, self, "SELECT outcome FROM done_request WHERE key = $1", key)?))
    }
}

impl Read {
    /// What the database is at in this view; `None` within a change, which sees what nobody else does, and where it isn't
    /// known.
    pub async fn revision(&mut self) -> Result<Option<Revision>, Error> {
        if self.changing {
            return Ok(None);
        }
        if self.at.is_none() {
            let found = sql!(
                opt(Revision,),
                self,
                "SELECT w.word || COALESCE((SELECT MAX(c.id) FROM change c), '') FROM database_revision w"
            )?;
            self.at = found.map(|(at,)| at);
        }
        Ok(self.at.clone().filter(Revision::is_known))
    }

    /// Notes what the database is at, where something that was read in this view told.
    pub fn known_at(&mut self, revision: Revision) {
        self.at = Some(revision);
    }
}

impl Write {
    /// Puts another word. The last thing before a change is kept.
    async fn raise_revision(&mut self) -> Result<(), Error> {
        sql!(exec self, "UPDATE database_revision SET word = $1 WHERE id = 'now'", ChangeId::new())?;
        Ok(())
    }
}

/// Turns "no row was touched" into [`Error::Stale`], for updates that name the revision they read.
pub(crate) fn check_revision(rows: u64) -> Result<(), Error> {
    if rows == 0 { Err(Error::Stale) } else { Ok(()) }
}
