//! The workroom as a model: a small world written apart, in which random people do random things, taken in the service at
//! the same time through its pages alone. Whatever an answer, a list, a table or `check` says otherwise than the model is
//! a fault of one of the two.
//!
//! `THRUMHALL_MODEL_CASES` sets how many sequences each test takes; `THRUMHALL_MODEL_STEPS` how long they are. A sequence
//! that failed is kept by its seed in `tests/proptest-regressions/model/` and tried first from then on.
mod acts;
mod cloth;
mod driver;
mod house;
mod learn;
mod promises;
mod shrink;
mod state;
mod stocktakes;
mod views;

use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseError, TestError, TestRunner};

use crate::support::Database;
use acts::Act;
use driver::Run;
use house::{AUCKLAND, BERLIN, Home, LOS_ANGELES, UTC};
use shrink::Parted;

fn number(variable: &str, usual: usize) -> usize {
    std::env::var(variable).ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

/// Random sequences in one workroom on one kind of database.
fn play(home: &Home, postgres: bool) {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let steps = number("THRUMHALL_MODEL_STEPS", 120);
    // A server answers over a socket and each sequence has a database of its own there: it takes twice as long.
    let config = Config {
        cases: number("THRUMHALL_MODEL_CASES", if postgres { 2 } else { 3 }) as u32,
        max_shrink_iters: 0,
        source_file: Some(file!()),
        test_name: Some(home.zone),
        ..Config::default()
    };
    let play = |start: &str, acts: &[Act]| runtime.block_on(on_a_database(postgres, home.zone, start, acts));
    let drawn = prop::collection::vec(acts::drawn(), steps / 2..=steps);
    let whole = drawn.prop_map(|drawn| acts::opening().into_iter().chain(drawn).collect::<Vec<Act>>());
    let sequence = (prop::sample::select(home.starts), whole);
    let tried = TestRunner::new(config)
        .run(&sequence, |(start, acts)| play(start, &acts).map_err(|parted| TestCaseError::fail(parted.why)));
    match tried {
        Ok(()) => {}
        Err(TestError::Fail(_, (start, acts))) => {
            let (acts, why) = shrink::smallest(acts, |acts| play(start, acts).err());
            let told: Vec<String> = acts.iter().map(|act| format!("  {act:?}")).collect();
            panic!(
                "the service and the model part.\n{why}\nFrom {start} in {}:\n{}",
                home.zone,
                told.join("\n")
            );
        }
        Err(TestError::Abort(why)) => panic!("{why}"),
    }
}

async fn on_a_database(postgres: bool, zone: &str, start: &str, acts: &[Act]) -> Result<(), Parted> {
    let database = if postgres { Database::pg().await } else { Some(Database::lite().await) };
    let Some(database) = database else { return Ok(()) };
    let played = one(&database, zone, start, acts).await;
    database.drop().await;
    played
}

async fn one(database: &Database, zone: &str, start: &str, acts: &[Act]) -> Result<(), Parted> {
    let mut run = Run::begin(database, zone, start).await.map_err(|why| Parted { after: 0, why })?;
    for (n, act) in acts.iter().enumerate() {
        run.act(act).await.map_err(|why| Parted { after: n + 1, why })?;
    }
    run.see_all().await.map_err(|why| Parted { after: acts.len(), why })
}

macro_rules! in_zones {
    ($($name:ident: $home:expr),+ $(,)?) => {$(
        mod $name {
            #[test]
            fn lite() {
                super::play(&$home, false);
            }

            #[test]
            fn pg() {
                super::play(&$home, true);
            }
        }
    )+};
}

in_zones! {
    auckland: super::AUCKLAND,
    berlin: super::BERLIN,
    los_angeles: super::LOS_ANGELES,
    utc: super::UTC,
}
