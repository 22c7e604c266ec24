//! The work on a share-out: on a thread of its own, telling the database how far it is, so that any page can ask, and any
//! copy of the program can stop it.
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use super::needs::{Question, wanting};
use crate::clock::Clock;
use crate::optimize::share_out::{Progress, solve};
use crate::services::{Error, Result};
use crate::store::cloth::share_outs::{Limits, PartNeed, Told};
use crate::store::{Actor, PersonId, RugId, ShareOutId, Store, Write};
use crate::units::Units;

/// How often the work is asked how far it is.
const LOOK: Duration = Duration::from_millis(400);
/// One seed for all: the same stock and needs give about the same share-out.
const SEED: u64 = 20_261_125;

/// What the thread and its watcher share.
#[derive(Default)]
struct Watch {
    stop: AtomicBool,
    told: Mutex<Option<Told>>,
}

fn thousandths(amount: f64) -> i64 {
    (amount * 1e3).round().clamp(0.0, 9e15) as i64
}

fn told(progress: Progress, spent: f64) -> Told {
    let (cost, bound) = (thousandths(progress.cost), thousandths(progress.bound));
    Told { spent: thousandths(spent.min(1.0)), cost, bound: bound.min(cost) }
}

/// Who began it, and where it is written down.
struct Job {
    store: Store,
    clock: Clock,
    person: PersonId,
}

impl Job {
    async fn write(&self) -> Result<Write> {
        let actor = Actor { person: Some(self.person), at: self.clock.now() };
        Ok(self.store.write(actor).await?)
    }

    async fn give_up(&self, id: ShareOutId) -> Result<()> {
        let mut tx = self.write().await?;
        tx.drop_share_out(id).await?;
        Ok(tx.commit().await?)
    }
}

/// Begins the work and doesn't wait for it.
pub fn begin(
    (store, clock, person): (Store, Clock, PersonId),
    id: ShareOutId,
    question: Question,
    seconds: i64,
) {
    let job = Job { store, clock, person };
    tokio::spawn(async move {
        if let Err(error) = work(&job, id, question, seconds).await {
            tracing::error!(%error, share_out = %id, "a share-out broke off");
            if let Err(error) = job.give_up(id).await {
                tracing::error!(%error, share_out = %id, "and can't be set aside");
            }
        }
    });
}

async fn work(job: &Job, id: ShareOutId, question: Question, seconds: i64) -> Result<()> {
    let watch = Arc::new(Watch::default());
    let problem = question.job.problem().map_err(|e| Error::Fault(e.to_string()))?;
    let seen = Arc::clone(&watch);
    let mut thread = tokio::task::spawn_blocking(move || {
        let began = Instant::now();
        solve(&problem, SEED, &mut |progress| {
            let spent = began.elapsed().as_secs_f64() / seconds as f64;
            *seen.told.lock().unwrap_or_else(PoisonError::into_inner) = Some(told(progress, spent));
            if seen.stop.load(Ordering::Relaxed) { 1.0 } else { spent }
        })
    });
    let answer = loop {
        tokio::select! {
            done = &mut thread => break done.map_err(|e| Error::Fault(e.to_string()))?,
            () = tokio::time::sleep(LOOK) => {
                if job.store.read().await?.share_out_stops(id).await? {
                    watch.stop.store(true, Ordering::Relaxed);
                }
                let far = *watch.told.lock().unwrap_or_else(PoisonError::into_inner);
                if let Some(far) = far {
                    let mut tx = job.write().await?;
                    tx.tell_share_out(id, far).await?;
                    tx.commit().await?;
                }
            }
        }
    };
    let far = told(Progress { cost: answer.cost, bound: answer.bound }, 1.0);
    let mut tx = job.write().await?;
    tx.finish_share_out(id, far, &question.promises(&answer)).await?;
    tx.commit().await?;
    Ok(())
}

/// Shares the cloth out to these rugs, looking so many times whether to go on, and accepts what is found: for the demo,
/// which has no time to watch.
pub async fn share_out_at_once(
    store: &Store,
    actor: Actor,
    rugs: &[RugId],
    looks: u32,
) -> Result<ShareOutId> {
    let limits = Limits { most: 2, seconds: 3, most_off: 25 };
    let mut read = store.read().await?;
    let standing = read.promises().await?;
    let all = wanting(&mut read, &standing, Units::Inches).await?;
    let needs: Vec<PartNeed> =
        all.into_iter().filter(|one| rugs.contains(&one.rug.id)).flat_map(|one| one.needs).collect();
    let offered = read.offered().await?;
    drop(read);
    let question = Question::of(&needs, &offered, &standing, &[], (limits, false));
    let problem = question.job.problem().map_err(|e| Error::Fault(e.to_string()))?;
    let mut seen = 0;
    let answer = solve(&problem, SEED, &mut |_| {
        seen += 1;
        f64::from(seen) / f64::from(looks)
    });
    let id = ShareOutId::new();
    let mut tx = store.write(actor).await?;
    tx.begin_share_out(id, limits, &needs, &[]).await?;
    let far = told(Progress { cost: answer.cost, bound: answer.bound }, 1.0);
    tx.finish_share_out(id, far, &question.promises(&answer)).await?;
    if tx.accept_share_out(id, false).await?.is_err() {
        return Err(Error::Fault("the cloth went while it was shared out".into()));
    }
    tx.commit().await?;
    Ok(id)
}
