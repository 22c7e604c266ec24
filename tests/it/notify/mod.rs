//! Notices on their way: what they say, to whom, how often they are tried, and what may happen meanwhile.
mod between;
mod carried;
mod mailed;
mod signed;
mod slow;
mod told;
mod tries;

use std::net::SocketAddr;
use std::time::Duration;

use data_encoding::BASE64;
use hmac::{Hmac, KeyInit as _, Mac as _};
use thrumhall::clock::Clock;
use thrumhall::notify::{Dispatcher, secret_of};
use thrumhall::secrets;
use thrumhall::store::notices::receivers::ReceiverFields;
use thrumhall::store::notices::{Delivery, Event};
use thrumhall::store::{Actor, MeetingId, PersonId, ReceiverId, Store};

use crate::support::loft;
use crate::support::receivers::Got;
use crate::support::{actor, noon};

pub(super) const PATIENCE: Duration = Duration::from_millis(400);

pub(super) fn dispatcher(store: &Store, clock: &Clock, inside: bool) -> Dispatcher {
    Dispatcher::new(store.clone(), clock.clone(), inside, None, PATIENCE).unwrap()
}

pub(super) async fn found(store: &Store) -> PersonId {
    found_in(store, "UTC").await
}

/// A workroom on the clock of a zone, and its instructor.
pub(super) async fn found_in(store: &Store, zone: &str) -> PersonId {
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", zone, thrumhall::units::Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    loft::instructor(store).await
}

pub(super) async fn receiver(
    store: &Store,
    me: PersonId,
    url: String,
    contacts: bool,
) -> (ReceiverId, String) {
    let (id, secret) = (ReceiverId::new(), secret_of(secrets::random()));
    let mut tx = store.write(actor(me)).await.unwrap();
    let fields = ReceiverFields { name: "Bridge".into(), url, contacts, paused: false };
    tx.add_receiver(id, &fields, &secret).await.unwrap();
    tx.commit().await.unwrap();
    (id, secret)
}

pub(super) fn url(at: SocketAddr) -> String {
    format!("http://{at}/hook")
}

pub(super) fn called_off() -> Event {
    Event::CalledOff {
        term: "Ebb".into(),
        day: "2026-10-14".parse().unwrap(),
        starts: "18:30".parse().unwrap(),
    }
}

/// So many notices about nothing in particular that concern these people.
pub(super) async fn tell(store: &Store, me: PersonId, many: usize, people: &[PersonId]) {
    let mut tx = store.write(actor(me)).await.unwrap();
    // A change needs something to record, or something that turns out to be so already.
    tx.call_off(MeetingId::new(), true).await.unwrap();
    for n in 0..many {
        tx.enqueue(&(format!("test:{n}"), called_off(), people.to_vec())).await.unwrap();
    }
    tx.commit().await.unwrap();
}

pub(super) async fn deliveries(store: &Store) -> Vec<Delivery> {
    store.read().await.unwrap().deliveries(1000).await.unwrap()
}

/// What a receiver does by the Standard Webhooks specification: the signature over id, time and body, in constant time.
pub(super) fn verify(secret: &str, got: &Got) {
    let (id, time) = (&got.headers["webhook-id"], &got.headers["webhook-timestamp"]);
    let key = BASE64.decode(secret.strip_prefix("whsec_").unwrap().as_bytes()).unwrap();
    let mut mac = Hmac::<sha2::Sha256>::new_from_slice(&key).unwrap();
    mac.update(format!("{id}.{time}.{}", got.body).as_bytes());
    let signature = got.headers["webhook-signature"].strip_prefix("v1,").unwrap();
    mac.verify_slice(&BASE64.decode(signature.as_bytes()).unwrap()).expect("the signature fits");
}
