//! Runs tests of the built program, held within limits of time, memory and disk, and cleans up after those cut short.
use std::fs::{self, File};
use std::os::unix::process::CommandExt as _;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::Result;
use sqlx::{Connection as _, PgConnection};

use crate::build::Build;

/// Kilobytes of memory and blocks of half a kilobyte that a test's process may have: a fault may make a loop endless.
/// Its time on the processor is written down, which says how much work it is however busy the machine.
const LIMITS: &str =
    r#"ulimit -v 6000000; ulimit -f 2000000; "$@"; code=$?; times >"$TMPDIR/times.txt"; exit $code"#;

/// What a run came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    Passed,
    /// This test failed, and what its panic said.
    Failed(String, String),
    TimedOut,
}

/// One of those that run tests side by side: with a place for temporary files and a PostgreSQL role of its own, so that what
/// a failed test leaves behind can be told from what others do. It may all that the tests need, such as lifting constraints.
pub struct Worker {
    tests: PathBuf,
    tree: PathBuf,
    scratch: PathBuf,
    server: String,
    role: Option<String>,
}

/// What is switched on.
#[derive(Clone, Copy)]
pub enum Switch<'a> {
    Off,
    On(usize),
    Trace(&'a std::path::Path),
}

fn server() -> String {
    std::env::var("THRUMHALL_TEST_PG").unwrap_or_else(|_| "postgres://postgres@127.0.0.1:5432/test".into())
}

fn block_on<T>(work: impl Future<Output = T>) -> Result<T> {
    Ok(tokio::runtime::Builder::new_current_thread().enable_all().build()?.block_on(work))
}

async fn execute(connection: &mut PgConnection, text: String) -> Result<(), sqlx::Error> {
    sqlx::query(sqlx::AssertSqlSafe(text)).execute(connection).await.map(|_| ())
}

impl Worker {
    pub fn new(build: &Build, number: usize) -> Result<Self> {
        let scratch = build.folders.build.join(format!("scratch{number}"));
        fs::create_dir_all(&scratch)?;
        let name = format!("thrumhall_mutation_{}_{number}", std::process::id());
        let role = block_on(async {
            let mut admin = PgConnection::connect(&server()).await?;
            execute(&mut admin, format!("CREATE ROLE {name} LOGIN SUPERUSER")).await
        })?
        .is_ok()
        .then_some(name);
        let tree = build.folders.tree();
        Ok(Self { tests: build.tests.clone(), tree, scratch, server: server(), role })
    }

    /// The server's address for this worker's role.
    fn address(&self) -> String {
        match (&self.role, self.server.split_once("://"), self.server.rsplit_once('@')) {
            (Some(role), Some((scheme, _)), Some((_, host))) => format!("{scheme}://{role}@{host}"),
            _ => self.server.clone(),
        }
    }

    fn command(&self, switch: Switch) -> Command {
        let mut command = Command::new("sh");
        command.args(["-c", LIMITS, "sh"]).arg(&self.tests);
        command.current_dir(&self.tree).env("TMPDIR", &self.scratch).env("THRUMHALL_TEST_PG", self.address());
        // Lets the test harness stop at the first failure, which it calls unstable.
        command.env("RUSTC_BOOTSTRAP", "1").env("RUST_BACKTRACE", "0");
        match switch {
            Switch::Off => {}
            Switch::On(id) => {
                command.env("MUTANT", id.to_string());
            }
            Switch::Trace(file) => {
                command.env("MUTANT_TRACE", file);
            }
        }
        command
    }

    /// The names of all tests.
    pub fn list(&self) -> Result<Vec<String>> {
        let list = self.command(Switch::Off).args(["--list", "--format=terse"]).output()?;
        let text = String::from_utf8(list.stdout)?;
        Ok(text.lines().filter_map(|line| line.strip_suffix(": test")).map(str::to_owned).collect())
    }

    /// Runs these tests one after the other until one fails.
    pub fn run(&self, tests: &[&str], switch: Switch, limit: Duration) -> Result<Outcome> {
        let mut command = self.command(switch);
        command.args(tests);
        self.finish(command.args(["--exact", "--test-threads=1"]), limit)
    }

    /// Runs the tests whose names have one of these in them.
    pub fn run_matching(&self, filters: &[&str], switch: Switch, limit: Duration) -> Result<Outcome> {
        self.finish(self.command(switch).args(filters).arg("--test-threads=1"), limit)
    }

    /// Seconds on the processor of the last run.
    pub fn work(&self) -> f64 {
        let text = fs::read_to_string(self.scratch.join("times.txt")).unwrap_or_default();
        let seconds = |word: &str| -> Option<f64> {
            let (minutes, seconds) = word.strip_suffix('s')?.split_once('m')?;
            Some(minutes.parse::<f64>().ok()? * 60.0 + seconds.parse::<f64>().ok()?)
        };
        text.lines().nth(1).unwrap_or("").split_whitespace().filter_map(seconds).sum()
    }

    fn finish(&self, command: &mut Command, limit: Duration) -> Result<Outcome> {
        let said = self.scratch.join("said.txt");
        let said_file = File::create(&said)?;
        command.args(["-Z", "unstable-options", "--fail-fast"]).process_group(0);
        let mut child =
            command.stdin(Stdio::null()).stdout(said_file.try_clone()?).stderr(said_file).spawn()?;
        let began = Instant::now();
        let mut pause = 1;
        let status = loop {
            if let Some(status) = child.try_wait()? {
                break Some(status);
            }
            if began.elapsed() > limit {
                break None;
            }
            thread::sleep(Duration::from_millis(pause));
            pause = (pause + 1).min(10);
        };
        if status.is_some_and(|status| status.success()) {
            return Ok(Outcome::Passed);
        }
        if status.is_none() {
            // The group is the child's own: whatever it started is stopped with it.
            Command::new("kill").args(["-KILL", "--", &format!("-{}", child.id())]).status()?;
            child.wait()?;
        }
        let text = String::from_utf8_lossy(&fs::read(&said)?).into_owned();
        self.clean()?;
        Ok(if status.is_none() { Outcome::TimedOut } else { failure(&text) })
    }

    /// Takes away what tests that were cut short left behind.
    fn clean(&self) -> Result<()> {
        for entry in fs::read_dir(&self.scratch)? {
            let path = entry?.path();
            if path.is_dir() {
                fs::remove_dir_all(path)?;
            }
        }
        let Some(role) = &self.role else { return Ok(()) };
        let dropped: Result<(), sqlx::Error> = block_on(async {
            let mut admin = PgConnection::connect(&self.server).await?;
            let question = "SELECT d.datname FROM pg_database d JOIN pg_roles r ON r.oid = d.datdba WHERE r.rolname = $1";
            let left: Vec<(String,)> = sqlx::query_as(question).bind(role).fetch_all(&mut admin).await?;
            for (name,) in left {
                execute(&mut admin, format!("DROP DATABASE IF EXISTS {name} WITH (FORCE)")).await?;
            }
            Ok(())
        })?;
        Ok(dropped?)
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        let cleaned = self.clean();
        if let (Ok(()), Some(role)) = (cleaned, &self.role) {
            let _ = block_on(async {
                let mut admin = PgConnection::connect(&self.server).await?;
                execute(&mut admin, format!("DROP ROLE {role}")).await
            });
        }
    }
}

/// Which test failed first and what its panic said, from what the harness printed.
fn failure(text: &str) -> Outcome {
    let name = text
        .lines()
        .find_map(|line| line.strip_prefix("test ")?.strip_suffix(" ... FAILED"))
        .or_else(|| text.lines().rev().find_map(|line| line.strip_prefix("test ")?.strip_suffix(" ... ")))
        .unwrap_or("?");
    let mut lines = text.lines().skip_while(|line| !line.contains(" panicked at "));
    let place = lines.next().and_then(|line| line.split_once(" panicked at ")).map_or("", |(_, place)| place);
    let mut message: Vec<&str> =
        lines.take_while(|line| !line.starts_with("note: ") && !line.is_empty()).collect();
    message.truncate(4);
    Outcome::Failed(name.to_owned(), format!("{place} {}", message.join(" ")).trim().to_owned())
}
