//! What each rug asks of a share-out, and what the shelf offers it: small workrooms where the right number is known by reason.
//! Two weavers everywhere, with rugs of the same colours.
mod asked;
mod found;

use serde_json::Value;
use thrumhall::cli::reckon::{ReckonArgs, run};
use thrumhall::store::people::Role;
use thrumhall::store::{Actor, RugId};
use thrumhall::units::Units;

use super::rugs::with;
use crate::support::browser::{Browser, World};
use crate::support::noon;
use crate::support::share_outs::{Part, begin};

/// What of a bundle's weight is counted on as strip where its hems weren't measured and no bundle was cut up: 94 % by half of
/// all cloth, 85 % by one in ten (from memory); so much less that a need with a doubt of 9 % is covered as often as before.
pub fn counted() -> f64 {
    let decile = 1.281_551_565_544_6;
    let own = (0.94_f64 / 0.85).ln() / decile;
    0.94 * (decile * (0.09 - own.hypot(0.09))).exp()
}

/// Whole grams of cloth that are taken for so much strip.
pub fn weighed_for(strip: f64) -> f64 {
    (strip / counted() + 1e-6).floor()
}

/// Ana and Ben each plan the same rug, 12 in of white and navy and 20 in of white; the workroom weighs in grams.
struct Room {
    world: World,
    /// The instructor's.
    browser: Browser,
    ana: Browser,
    ben: Browser,
    /// Ana's and Ben's.
    rugs: [RugId; 2],
}

async fn room(form: &[(&str, &str)]) -> Room {
    let world = World::empty().await;
    let mut tx = world.store().write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", "UTC", Units::Metric).await.unwrap();
    tx.commit().await.unwrap();
    let (_, browser) = world.instructor().await;
    let (_, mut ana) = world.enter(Role::Weaver, "Ana Probe").await;
    let (_, mut ben) = world.enter(Role::Weaver, "Ben Probe").await;
    let rugs = [rug(&mut ana, form).await, rug(&mut ben, form).await];
    Room { world, browser, ana, ben, rugs }
}

async fn rug(weaver: &mut Browser, form: &[(&str, &str)]) -> RugId {
    let to = weaver.post("/rugs", &with(form)).await.to().to_owned();
    to.split('?').next().unwrap().rsplit('/').next().unwrap().parse().unwrap()
}

impl Room {
    /// A washed or unwashed bundle of percale or another kind; its number.
    async fn bundle(&mut self, number: i64, colour: &str, kind: &str, grams: u32, washed: bool) {
        let weight = format!("{grams} g");
        let washed = if washed { "yes" } else { "no" };
        let fields = [("kind", kind), ("colour", colour), ("weight", weight.as_str()), ("washed", washed)];
        self.browser.post("/cloth/weigh-in", &fields).await.is(303);
        let page = self.browser.get("/cloth").await.is(200);
        assert!(
            page.text.contains(&format!(">{number}<")),
            "bundle {number} isn’t on the shelf: {}",
            page.text
        );
    }

    async fn asked(&mut self, rugs: &[RugId]) -> Vec<Part> {
        begin(&mut self.browser, rugs, 2, 200).await.wanted(&self.world).await
    }

    /// What one rug asks for warp, white and navy.
    async fn of(&mut self, rug: RugId) -> [f64; 3] {
        let parts = self.asked(&[rug]).await;
        assert!(parts.iter().all(|part| part.rug == rug), "only what was picked: {parts:?}");
        ["warp", "White", "Navy"].map(|name| grams(&parts, rug, name))
    }

    async fn pull(&mut self, promise: &str, grams: &str) {
        let path = format!("/promises/{promise}/pull");
        self.browser.post(&path, &[("pull_weight", grams)]).await.is(303);
    }

    /// An hour later.
    fn clock_on(&self) {
        self.world.clock.set(self.world.clock.now() + jiff::SignedDuration::from_hours(1));
    }
}

fn grams(parts: &[Part], rug: RugId, name: &str) -> f64 {
    let mut own = parts.iter().filter(|part| part.rug == rug && part.name == name).map(|part| part.grams);
    let grams = own.next().unwrap_or_else(|| panic!("no {name} in {parts:?}"));
    assert_eq!(own.next(), None, "{name} twice: {parts:?}");
    grams
}

/// The same rug by `reckon`, which knows no share-out.
fn reckoned(more: &[&str]) -> Value {
    #[derive(clap::Parser)]
    struct Line {
        #[command(flatten)]
        args: ReckonArgs,
    }
    let rug =
        ["reckon", "--span", "33 in", "--width", "18 in", "--nails", "33", "--rugs-before", "0", "--json"];
    let bands = ["--band", "12 in: white/navy", "--band", "20 in: white"];
    let line = <Line as clap::Parser>::try_parse_from([&rug[..], &bands, more].concat()).unwrap();
    let mut out = Vec::new();
    run(&line.args, &mut out).unwrap();
    serde_json::from_slice(&out).unwrap()
}

/// To take of warp, white and navy, by `reckon`.
fn take(told: &Value) -> [f64; 3] {
    let colour = |at: usize| told["weft"]["colours"][at]["mass_g"]["take"].as_f64().unwrap();
    [told["cloth"]["warp_g"]["take"].as_f64().unwrap(), colour(0), colour(1)]
}

/// The small rug of these tests, by `reckon`.
pub(super) fn reckoned_small() -> Value {
    reckoned(&[])
}
