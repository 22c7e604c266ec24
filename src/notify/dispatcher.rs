//! Carries notices: makes those that time brings, shares them out to their receivers, and tries each delivery until it
//! arrives or has been tried for days.
//!
//! A delivery is taken up before it is tried, with a time by which somebody else may; so of several programs on one
//! database one tries it, and one that stops in the middle loses nothing. It may arrive twice then, under the same id.
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use jiff::{SignedDuration, Timestamp, ToSpan as _};
use reqwest::{Client, Url, header, redirect};
use tokio::task::JoinSet;

use super::guard::{Guard, Private};
use super::mail::{Failure, Mail};
use super::webhook::sign;
use super::words::{address_in, body, words};
use crate::clock::Clock;
use crate::notify::outward;
use crate::store::notices::{DeliveryState, Due, Recipient};
use crate::store::workroom::Workroom;
use crate::store::{self, Actor, Day, PersonId, ReceiverId, Store};

/// How long one attempt may take.
pub const PATIENCE: Duration = Duration::from_secs(10);
/// How long until an attempt that failed is made again, in minutes: eight more, over three days.
const AGAIN: [i64; 8] = [1, 5, 30, 2 * 60, 6 * 60, 12 * 60, 24 * 60, 24 * 60];
/// The most deliveries to one receiver, and the most mails, that are taken up at once.
const AT_ONCE: i64 = 50;
/// How many days ahead a weaver is told that their turn comes.
const SOON: i64 = 7;

/// Carries notices for one workroom.
#[derive(Clone)]
pub struct Dispatcher {
    store: Store,
    clock: Clock,
    client: Client,
    guard: Guard,
    mail: Option<Mail>,
    patience: Duration,
}

/// What is under way, each receiver's by itself: how many arrived, and how many failed.
type Carrying = JoinSet<Result<(usize, usize), store::Error>>;

/// The receivers that are being carried to; `None` is whoever gets mail. One gets one thing at a time.
#[derive(Clone, Default)]
struct Busy(Arc<Mutex<BTreeSet<Option<ReceiverId>>>>);

/// A receiver that is being carried to, for as long as this lives.
struct Place(Busy, Option<ReceiverId>);

impl Busy {
    fn take(&self, receiver: Option<ReceiverId>) -> Option<Place> {
        let new = self.0.lock().unwrap_or_else(PoisonError::into_inner).insert(receiver);
        new.then(|| Place(self.clone(), receiver))
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        self.0.0.lock().unwrap_or_else(PoisonError::into_inner).remove(&self.1);
    }
}

/// What one round did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tick {
    /// Notices that time brought.
    pub told: usize,
    /// Deliveries that arrived.
    pub sent: usize,
    /// Attempts that failed.
    pub failed: usize,
}

impl Dispatcher {
    /// A dispatcher that waits `patience` for an answer, asks private addresses only when `inside`, and sends mail where a
    /// server is named.
    ///
    /// # Errors
    /// When no TLS can be set up.
    pub fn new(
        store: Store,
        clock: Clock,
        inside: bool,
        mail: Option<Mail>,
        patience: Duration,
    ) -> Result<Self, reqwest::Error> {
        let guard = Guard { inside };
        let client = outward::client()
            .redirect(redirect::Policy::none())
            .no_proxy()
            .dns_resolver(guard)
            .timeout(patience)
            .build()?;
        Ok(Self { store, clock, client, guard, mail, patience })
    }

    /// One round: tells what time brought, shares out, and tries what is due, to its end.
    pub async fn tick(&self) -> Result<Tick, store::Error> {
        let busy = Busy::default();
        let (mut done, mut going) = self.set_out(&busy).await?;
        while let Some(carried) = going.join_next().await {
            let (sent, failed) = carried.unwrap_or(Ok((0, 1)))?;
            done.sent += sent;
            done.failed += failed;
        }
        Ok(done)
    }

    /// Tells what time brought, shares out, and sets out with what is due to those who aren't being carried to already. Nobody
    /// waits for anybody else.
    async fn set_out(&self, busy: &Busy) -> Result<(Tick, Carrying), store::Error> {
        let mut read = self.store.read().await?;
        let nothing = || (Tick::default(), Carrying::new());
        let Some(workroom) = read.workroom().await? else { return Ok(nothing()) };
        let today = self.clock.now().to_zoned_datetime(workroom.zone()).date();
        let soon = today.checked_add(SOON.days()).unwrap_or(today);
        let pending_events = read.pending_events(Day(today), Day(soon)).await?;
        drop(read);
        let mut done = Tick::default();
        if !pending_events.is_empty() {
            let mut tx = self.write().await?;
            for one in &pending_events {
                done.told += usize::from(tx.enqueue(one).await?);
            }
            tx.skip_audit();
            tx.commit().await?;
        }
        self.share().await?;
        let mut read = self.store.read().await?;
        // Later than what was just shared out, which is due from that moment on.
        let due = read.deliveries_due(self.clock.now().into(), AT_ONCE).await?;
        if due.is_empty() {
            return Ok((done, Carrying::new()));
        }
        let recipients = read.recipients().await?;
        drop(read);
        // Receivers don't wait for one another; one receiver gets one thing at a time.
        let mut queues: BTreeMap<_, Vec<Due>> = BTreeMap::new();
        for one in due {
            queues.entry(one.receiver_id).or_default().push(one);
        }
        let mut going = Carrying::new();
        for (receiver, queue) in queues {
            let Some(place) = busy.take(receiver) else { continue };
            let (dispatcher, workroom, recipients) = (self.clone(), workroom.clone(), recipients.clone());
            going.spawn(async move {
                let _place = place;
                dispatcher.deliver(&workroom, queue, &recipients).await
            });
        }
        Ok((done, going))
    }

    async fn write(&self) -> Result<store::Write, store::Error> {
        self.store.write(Actor { person: None, at: self.clock.now() }).await
    }

    /// Makes the deliveries of notices that have none yet: to every receiver, and by mail to whom they concern.
    async fn share(&self) -> Result<(), store::Error> {
        let mut read = self.store.read().await?;
        let new = read.unshared().await?;
        if new.is_empty() {
            return Ok(());
        }
        let recipients = read.recipients().await?;
        drop(read);
        let mut tx = self.write().await?;
        for notice in new {
            let reached = |who: &&Recipient| who.notice_id == notice.id && address_in(&who.contact).is_some();
            let by_mail: Vec<PersonId> = match self.mail {
                Some(_) => recipients.iter().filter(reached).map(|who| who.person_id).collect(),
                None => Vec::new(),
            };
            tx.share(notice.id, &by_mail).await?;
        }
        tx.commit().await
    }

    /// Tries one receiver's deliveries, or the mail, one after the other. Where nobody takes anything the rest waits for
    /// the next round: it will hardly fare better.
    async fn deliver(
        &self,
        workroom: &Workroom,
        queue: Vec<Due>,
        recipients: &[Recipient],
    ) -> Result<(usize, usize), store::Error> {
        let (mut sent, mut failed) = (0, 0);
        for due in queue {
            let lease = self.clock.now() + SignedDuration::try_from(self.patience * 3).unwrap_or_default();
            let mut tx = self.write().await?;
            let ours = tx.claim(&due, lease).await?;
            tx.commit().await?;
            let Some(due) = ours else { continue };
            let outcome = match due.receiver_id {
                Some(_) => self.post(workroom, &due, recipients).await.map_err(Failure::Whole),
                None => self.mail(workroom, &due).await,
            };
            let (state, again) = next(outcome.is_ok(), due.attempts, self.clock.now());
            let (said, go_on) = match outcome {
                Ok(said) => (said, true),
                Err(Failure::One(said)) => (said, true),
                Err(Failure::Whole(said)) => (said, false),
            };
            tracing::info!(delivery = %due.id, state = state.word(), "{said}");
            let mut tx = self.write().await?;
            tx.attempted(&due, state, &said, again).await?;
            tx.commit().await?;
            if state == DeliveryState::Sent {
                sent += 1;
            } else {
                failed += 1;
            }
            if !go_on {
                break;
            }
        }
        Ok((sent, failed))
    }

    /// Posts to a receiver. Only a status from 200 to 299 says that it has the message; what else it answers is not read.
    async fn post(&self, workroom: &Workroom, due: &Due, recipients: &[Recipient]) -> Result<String, String> {
        let url = due.url.as_deref().and_then(|url| url.parse::<Url>().ok());
        let url = url.ok_or("The receiver’s address can’t be read.")?;
        if !self.guard.allows(&url) {
            return Err(format!("Not asked: {Private}."));
        }
        let people: Vec<&Recipient> =
            recipients.iter().filter(|who| who.notice_id == due.notice_id).collect();
        let contacts = due.contacts.unwrap_or_default();
        let text = body(
            (&workroom.name, workroom.wall().hours),
            due.notice_id,
            due.at,
            &due.event,
            &people,
            contacts,
        );
        let (id, now) = (due.notice_id.to_string(), self.clock.now());
        let signature =
            sign(due.secret.as_deref().unwrap_or_default(), &id, now, &text).map_err(|e| e.to_string())?;
        let request = self
            .client
            .post(url)
            .header(header::CONTENT_TYPE, "application/json")
            .header("webhook-id", id)
            .header("webhook-timestamp", now.as_second())
            .header("webhook-signature", signature)
            .body(text);
        match request.send().await {
            Ok(answer) if answer.status().is_success() => Ok(format!("It answered {}.", answer.status())),
            Ok(answer) if answer.status().is_redirection() => {
                Err(format!("It answered {} and points elsewhere, where nothing is sent.", answer.status()))
            }
            Ok(answer) => Err(format!("It answered {}.", answer.status())),
            Err(error) => Err(why(&error, self.patience)),
        }
    }

    async fn mail(&self, workroom: &Workroom, due: &Due) -> Result<String, Failure> {
        let nobody = || Failure::Whole("No mail server is named any more.".to_owned());
        let mail = self.mail.as_ref().ok_or_else(nobody)?;
        let address = due.contact.as_deref().and_then(address_in).and_then(|word| word.parse().ok());
        let nowhere = || Failure::One("Their contact holds no e-mail address any more.".to_owned());
        let address = address.ok_or_else(nowhere)?;
        let name = due.person.as_deref().unwrap_or_default();
        mail.send(due.id, &workroom.name, (name, address), &words(&due.event, workroom.wall().hours)).await
    }

    /// Rounds without end, `pause` apart. What goes wrong in one is logged, and the next begins afresh.
    pub async fn run(self, pause: Duration) {
        let wait = |error: store::Error| tracing::warn!("notices wait: {error}");
        let busy = Busy::default();
        let mut rounds = Vec::new();
        loop {
            match self.set_out(&busy).await {
                Ok((_, going)) => rounds.push(going),
                Err(error) => wait(error),
            }
            tokio::time::sleep(pause).await;
            for round in &mut rounds {
                while let Some(carried) = round.try_join_next() {
                    if let Ok(Err(error)) = carried {
                        wait(error);
                    }
                }
            }
            rounds.retain(|round| !round.is_empty());
        }
    }
}

/// How far a delivery is after its attempt number `before + 1`, and when it is tried again.
fn next(arrived: bool, before: i64, now: Timestamp) -> (DeliveryState, Timestamp) {
    if arrived {
        return (DeliveryState::Sent, now);
    }
    match AGAIN.get(before as usize) {
        Some(minutes) => (DeliveryState::Waiting, now + SignedDuration::from_mins(*minutes)),
        None => (DeliveryState::GivenUp, now),
    }
}

/// Why nobody answered, without what the error tells of the address.
fn why(error: &reqwest::Error, patience: Duration) -> String {
    let mut cause: Option<&dyn std::error::Error> = std::error::Error::source(error);
    while let Some(within) = cause {
        if within.is::<Private>() {
            return format!("Not asked: {within}.");
        }
        cause = within.source();
    }
    if error.is_timeout() {
        return format!("No answer within {} s.", patience.as_secs_f64());
    }
    if error.is_connect() { "It can’t be reached.".into() } else { "The connection broke.".into() }
}
