//! The work on a share-out: on a thread of its own, telling the database how far it is, so that any page can ask, and any
//! copy of the program can stop it.
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use jiff::SignedDuration;
use tokio::sync::watch;
use tokio::task::JoinSet;

use super::needs::{Question, wanting};
use super::touching::Touching;
use crate::clock::Clock;
use crate::optimize::share_out::{Progress, USUAL_PACE, solve};
use crate::services::{Error, Result};
use crate::store::cloth::share_outs::{Limits, NewPromise, PartNeed, Told};
use crate::store::{Actor, PersonId, RugId, ShareOutId, Store, Write};
use crate::units::Units;

/// How often the work is asked how far it is.
const LOOK: Duration = Duration::from_millis(400);
/// Work that has told nothing for so long has broken off: its program was stopped meanwhile.
const SILENT: SignedDuration = SignedDuration::from_secs(15);
/// How many times the seconds that were given a busy machine may take.
const OVERTIME: f64 = 1.5;
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

/// The share-outs that this program works out.
#[derive(Clone)]
pub struct ShareOuts {
    store: Store,
    clock: Clock,
    going: Arc<Mutex<JoinSet<()>>>,
    leaving: Arc<watch::Sender<bool>>,
}

/// Who began it, and where it is written down.
struct Job {
    store: Store,
    clock: Clock,
    person: Option<PersonId>,
    leaving: watch::Receiver<bool>,
}

impl Job {
    async fn write(&self) -> Result<Write> {
        let actor = Actor { person: self.person, at: self.clock.now() };
        Ok(self.store.write(actor).await?)
    }

    async fn give_up(&self, id: ShareOutId) -> Result<()> {
        let mut tx = self.write().await?;
        tx.drop_share_out(id).await?;
        Ok(tx.commit().await?)
    }

    /// Leaves it to the next program on this database.
    async fn leave(&self, id: ShareOutId) -> Result<()> {
        let mut tx = self.write().await?;
        tx.leave_share_out(id).await?;
        Ok(tx.commit().await?)
    }
}

impl ShareOuts {
    /// None yet.
    pub fn new(store: Store, clock: Clock) -> Self {
        Self { store, clock, going: Arc::default(), leaving: Arc::new(watch::Sender::new(false)) }
    }

    /// Begins the work and doesn't wait for it.
    pub fn begin(&self, person: Option<PersonId>, id: ShareOutId, question: Question, seconds: i64) {
        let (store, clock, leaving) = (self.store.clone(), self.clock.clone(), self.leaving.subscribe());
        let job = Job { store, clock, person, leaving };
        let mut going = self.going.lock().unwrap_or_else(PoisonError::into_inner);
        while going.try_join_next().is_some() {}
        going.spawn(async move {
            if let Err(error) = work(&job, id, question, seconds).await {
                tracing::error!(%error, share_out = %id, "a share-out broke off");
                // Where the database is away nothing is told of it any more, and it is taken up again.
                if let Err(error) = job.give_up(id).await {
                    tracing::error!(%error, share_out = %id, "and can't be set aside");
                }
            }
        });
    }

    /// Leaves what goes on to the next program on this database.
    pub async fn leave(&self) {
        let _ = self.leaving.send(true);
        let mut going = std::mem::take(&mut *self.going.lock().unwrap_or_else(PoisonError::into_inner));
        while going.join_next().await.is_some() {}
    }

    /// Looks again and again for share-outs that nobody works out any more, since their program stopped, and takes them up.
    pub async fn take_up_again(&self, pause: Duration) {
        loop {
            if let Err(error) = self.take_up_one().await {
                tracing::warn!(%error, "share-outs that broke off wait");
            }
            tokio::time::sleep(pause).await;
        }
    }

    /// Takes up one share-out that broke off, if there is any: with what it needs as it was, and with the cloth as it is now.
    /// Of several programs on one database one does.
    ///
    /// # Errors
    /// Where the database can't be asked.
    pub async fn take_up_one(&self) -> Result<Option<ShareOutId>> {
        let silent = self.clock.now() - SILENT;
        let mut read = self.store.read().await?;
        let Some(left) = read.silent_share_out(silent.into()).await? else { return Ok(None) };
        let needs: Vec<PartNeed> =
            read.share_out_needs(left.id).await?.into_iter().map(|row| row.need).collect();
        let locked: Vec<NewPromise> = read
            .promises_of(left.id)
            .await?
            .into_iter()
            .map(|one| NewPromise { part: one.part, bundle: one.bundle_id, promised: one.promised_mg })
            .collect();
        let standing = read.promises().await?;
        let offered = read.offered_beside(&standing).await?;
        let touching = Touching::of(&read.rugs(None, None).await?);
        drop(read);
        let mut tx = self.store.write(Actor { person: None, at: self.clock.now() }).await?;
        let ours = tx.take_up_share_out(&left).await?;
        tx.commit().await?;
        if !ours {
            return Ok(None);
        }
        tracing::info!(share_out = %left.id, "a share-out that broke off is taken up again");
        let question =
            Question::of(&needs, &offered, &standing, &locked, &touching, (left.limits(), left.few));
        self.begin(left.person_id, left.id, question, left.seconds);
        Ok(Some(left.id))
    }
}

/// Stops a search when nobody watches it any more.
struct StopWhenDropped(Arc<Watch>);

impl Drop for StopWhenDropped {
    fn drop(&mut self) {
        self.0.stop.store(true, Ordering::Relaxed);
    }
}

async fn told_to_leave(leaving: &mut watch::Receiver<bool>) {
    let _ = leaving.wait_for(|leaving| *leaving).await;
}

async fn work(job: &Job, id: ShareOutId, question: Question, seconds: i64) -> Result<()> {
    let watch = Arc::new(Watch::default());
    let stop = StopWhenDropped(Arc::clone(&watch));
    let mut leaving = job.leaving.clone();
    let problem = question.job.problem().map_err(|e| Error::Fault(e.to_string()))?;
    let seen = Arc::clone(&watch);
    let mut thread = tokio::task::spawn_blocking(move || {
        let began = Instant::now();
        solve(&problem, SEED, &mut |progress| {
            // The work is counted, so that a busy machine comes to the same; the time is the last stop.
            let done = progress.work as f64 / (seconds as f64 * USUAL_PACE);
            let spent = done.max(began.elapsed().as_secs_f64() / (seconds as f64 * OVERTIME));
            *seen.told.lock().unwrap_or_else(PoisonError::into_inner) = Some(told(progress, spent));
            if seen.stop.load(Ordering::Relaxed) { 1.0 } else { spent }
        })
    });
    let answer = loop {
        tokio::select! {
            done = &mut thread => break done.map_err(|e| Error::Fault(e.to_string()))?,
            () = told_to_leave(&mut leaving) => return job.leave(id).await,
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
    drop(stop);
    let far = told(Progress { cost: answer.cost, bound: answer.bound, work: answer.work }, 1.0);
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
    let touching = Touching::of(all.iter().map(|one| &one.rug));
    let needs: Vec<PartNeed> =
        all.into_iter().filter(|one| rugs.contains(&one.rug.id)).flat_map(|one| one.needs).collect();
    let offered = read.offered().await?;
    drop(read);
    let question = Question::of(&needs, &offered, &standing, &[], &touching, (limits, false));
    let problem = question.job.problem().map_err(|e| Error::Fault(e.to_string()))?;
    let mut seen = 0;
    let answer = solve(&problem, SEED, &mut |_| {
        seen += 1;
        f64::from(seen) / f64::from(looks)
    });
    let id = ShareOutId::new();
    let mut tx = store.write(actor).await?;
    tx.begin_share_out(id, limits, &needs, &[]).await?;
    let far = told(Progress { cost: answer.cost, bound: answer.bound, work: answer.work }, 1.0);
    tx.finish_share_out(id, far, &question.promises(&answer)).await?;
    if tx.accept_share_out(id, false).await?.is_err() {
        return Err(Error::Fault("the cloth went while it was shared out".into()));
    }
    tx.commit().await?;
    Ok(id)
}
