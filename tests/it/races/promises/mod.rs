//! Promised cloth at two copies at once: share-outs accepted, promises pulled, put back and released, and the rest of the
//! bundle pulled past them.
mod acts;
mod in_order;
mod once;

use crate::support::browser::Browser;

/// How many people act at once.
const PEOPLE: usize = 4;

/// Weighs cloth in that any part of a rug may be made of, and answers the bundle's address.
async fn weigh_in(me: &mut Browser, grams: i64) -> String {
    let weight = format!("{grams} g");
    let fields = [("kind", "percale"), ("colour", "cream"), ("weight", weight.as_str()), ("washed", "yes")];
    let to = me.post("/cloth/weigh-in", &fields).await;
    format!("/cloth/{}", to.to().split("done=").nth(1).unwrap())
}

async fn moved(me: &mut Browser, bundle: &str, from: &str, to: &str) {
    me.post(&format!("{bundle}/state"), &[("from", from), ("to", to)]).await.is(303);
}

/// Has cloth found for a rug, whatever its colour, and answers the address of the proposal.
async fn propose(me: &mut Browser, rug: &str) -> String {
    let fields = [("rug", rug), ("most", "1"), ("seconds", "1"), ("most_off", "200")];
    let to = me.post("/share-out", &fields).await.to().to_owned();
    // The page asks for itself again until there is an answer.
    while me.get(&to).await.is(200).headers.contains_key("refresh") {
        tokio::task::yield_now().await;
    }
    to
}
