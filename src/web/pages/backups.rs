//! Backups: when the last good one was made, what became of those before, and how they are made here.
use askama_web::WebTemplate;
use axum::extract::State;
use jiff::Timestamp;

use crate::backup::schedule::Schedule;
use crate::store::Read;
use crate::store::backups::{BackupRun, BackupState};
use crate::units::dates;
use crate::web::http::route::{Route, Who, get};
use crate::web::{App, CurrentUser, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/workroom/backups", Who::Instructor, show)]
}

/// How many are shown.
const LINES: i64 = 30;

#[derive(askama::Template, WebTemplate)]
#[template(path = "backups/show.html")]
struct BackupsPage {
    layout: Layout,
    last: Option<BackupLine>,
    old: bool,
    schedule: Schedule,
    lines: Vec<BackupLine>,
}

struct BackupLine {
    when: String,
    size: String,
    tone: &'static str,
    run: BackupRun,
}

impl BackupLine {
    fn of(run: BackupRun, me: &CurrentUser) -> Self {
        let tone = match run.state {
            BackupState::Running => "plain",
            BackupState::Good => "good",
            BackupState::Failed => "bad",
        };
        let when = dates::moment(run.begun_at, &me.wall());
        Self { when, size: run.bytes.map_or_else(String::new, size), tone, run }
    }
}

/// A size in words of three figures.
fn size(bytes: i64) -> String {
    let bytes = bytes as f64;
    if bytes < 1e6 { format!("{:.0} kB", (bytes / 1e3).ceil()) } else { format!("{:.1} MB", bytes / 1e6) }
}

impl BackupsPage {
    fn dir(&self) -> Option<String> {
        self.schedule.dir.as_ref().map(|dir| dir.display().to_string())
    }

    fn every(&self) -> String {
        match self.schedule.every_hours {
            1 => "every hour".into(),
            24 => "every day".into(),
            hours if hours % 24 == 0 => format!("every {} days", hours / 24),
            hours => format!("every {hours} hours"),
        }
    }
}

/// Since when there was no good backup, where that is so long that somebody has to look.
pub(super) async fn overdue(read: &mut Read, schedule: &Schedule, now: Timestamp) -> Result<Option<Since>> {
    let last = read.last_good_backup().await?;
    let made = read.workroom_made_at().await?;
    let (since, any) = match (&last, made) {
        (Some(run), _) => (run.begun_at, true),
        (None, Some(made)) => (made, false),
        (None, None) => return Ok(None),
    };
    Ok(schedule.is_old(since.into(), now).then_some(Since { any, at: since.into() }))
}

/// How old the last good backup is.
pub(super) struct Since {
    /// Whether there ever was one; the moment is the workroom's otherwise.
    pub any: bool,
    /// When it was made.
    pub at: Timestamp,
}

async fn show(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<BackupsPage> {
    let schedule = app.config.backups.clone();
    let old = overdue(&mut read, &schedule, app.clock.now()).await?.is_some();
    let last = read.last_good_backup().await?.map(|run| BackupLine::of(run, &me));
    let runs = read.backup_runs(LINES).await?;
    let lines = runs.into_iter().map(|run| BackupLine::of(run, &me)).collect();
    Ok(BackupsPage { layout: me.layout(), last, old, schedule, lines })
}
