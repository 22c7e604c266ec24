//! What each rug asks of a share-out, and what the shelf offers it: small workrooms where the right number is known by reason.
//! Two weavers everywhere, with rugs of the same colours.
use serde_json::Value;
use thrumhall::cli::reckon::{ReckonArgs, run};
use thrumhall::craft::units::Units;
use thrumhall::store::people::Role;
use thrumhall::store::{Actor, RugId};

use super::rugs::with;
use crate::support::browser::{Browser, World};
use crate::support::noon;
use crate::support::share_outs::{Begun, Given, Part, begin};

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
}

fn grams(parts: &[Part], rug: RugId, name: &str) -> f64 {
    let mut own = parts.iter().filter(|part| part.rug == rug && part.name == name).map(|part| part.grams);
    let grams = own.next().unwrap_or_else(|| panic!("no {name} in {parts:?}"));
    assert_eq!(own.next(), None, "{name} twice: {parts:?}");
    grams
}

async fn log(weaver: &mut Browser, rug: RugId, fields: &[(&str, &str)]) {
    weaver.post(&format!("/rugs/{rug}/log"), fields).await.is(303);
}

/// The same rug by `reckon`, which knows no share-out.
fn reckoned(more: &[&str]) -> Value {
    #[derive(clap::Parser)]
    struct Line {
        #[command(flatten)]
        args: ReckonArgs,
    }
    let rug = ["reckon", "--span", "33 in", "--width", "18 in", "--nails", "33", "--json"];
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

#[track_caller]
fn near(found: f64, wanted: f64, what: &str) {
    assert!((found - wanted).abs() < 0.01, "{what}: {found} g instead of {wanted} g");
}

#[track_caller]
fn all_near(found: [f64; 3], wanted: [f64; 3]) {
    for ((found, wanted), what) in found.into_iter().zip(wanted).zip(["warp", "white", "navy"]) {
        near(found, wanted, what);
    }
}

#[tokio::test]
async fn a_new_rug_asks_for_what_its_plan_says_to_take() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let plan = reckoned(&[]);
    let wanted = take(&plan);
    assert!(
        wanted[0] > 1.02 * plan["cloth"]["warp_g"]["expected"].as_f64().unwrap(),
        "take is more than expected"
    );
    all_near(room.of(ana).await, wanted);
    let both = room.asked(&[ana, ben]).await;
    assert_eq!(both.len(), 6, "{both:?}");
    for rug in [ana, ben] {
        all_near(["warp", "White", "Navy"].map(|name| grams(&both, rug, name)), wanted);
    }
}

#[tokio::test]
async fn fringe_is_asked_with_the_warp_until_it_is_pulled_whatever_is_wound() {
    let mut room = room(&[("fringe", "4 in")]).await;
    let [ana, _] = room.rugs;
    let (plain, fringed) = (take(&reckoned(&[])), reckoned(&["--fringe", "4 in"]));
    // Fringe is cut from the warp's cloth: as heavy for its length.
    let warp = &fringed["warp"]["length_mm"]["expected"];
    let per_mm = fringed["cloth"]["warp_g"]["expected"].as_f64().unwrap() / warp.as_f64().unwrap();
    let fringe = fringed["finishing"]["fringe_mm"]["take"].as_f64().unwrap() * per_mm;
    let asked = room.of(ana).await;
    let found = asked[0] - plain[0];
    assert!(
        fringe > 50.0 && (0.95..1.25).contains(&(found / fringe)),
        "{found} g of fringe, about {fringe} wanted"
    );
    let mut ana_browser = room.ana.clone();
    log(&mut ana_browser, ana, &[("rows", "1"), ("minutes", "5")]).await;
    let wound = room.of(ana).await;
    near(wound[0], found, "the warp is wound, the fringe is still to come");
}

#[tokio::test]
async fn warp_and_weft_ask_for_their_own_kinds_of_cloth() {
    let mut room = room(&[("warp_kind", "poplin"), ("weft_kind", "flannel")]).await;
    let [ana, _] = room.rugs;
    for part in room.asked(&[ana]).await {
        assert_eq!(part.kind, if part.name == "warp" { "poplin" } else { "flannel" }, "{part:?}");
    }
    // Cloth that isn't the like of it serves neither.
    room.bundle(1, "white", "flannel", 9_000, true).await;
    room.bundle(2, "white", "jersey", 9_000, true).await;
    room.bundle(3, "white", "denim", 9_000, true).await;
    let share_out = begin(&mut room.browser, &[ana], 6, 200).await;
    let found = share_out.found(&room.world, &mut room.browser).await;
    assert!(found.iter().all(|given| given.bundle == 1), "only flannel is like flannel: {found:?}");
    assert!(found.iter().any(|given| given.name == "White"), "{found:?}");
}

#[tokio::test]
async fn warp_takes_nothing_that_is_unfit_for_it() {
    let mut room = room(&[("warp_kind", "percale")]).await;
    let [ana, _] = room.rugs;
    room.bundle(1, "white", "jersey", 9_000, true).await;
    room.bundle(2, "white", "interlock", 9_000, true).await;
    room.bundle(3, "white", "terry", 9_000, true).await;
    let share_out = begin(&mut room.browser, &[ana], 6, 200).await;
    let found = share_out.found(&room.world, &mut room.browser).await;
    assert_eq!(found, [], "cloth that stretches or sheds is no percale");
    // Jersey is woven as weft where the rug says so, but never wound for a percale warp.
    let weaver = &mut room.ana.clone();
    let soft = rug(weaver, &[("name", "Soft"), ("weft_kind", "jersey")]).await;
    let share_out = begin(&mut room.browser, &[soft], 6, 200).await;
    let found = share_out.found(&room.world, &mut room.browser).await;
    assert!(
        !found.is_empty() && found.iter().all(|given| given.name != "warp" && given.bundle == 1),
        "{found:?}"
    );
}

#[tokio::test]
async fn what_is_woven_is_not_asked_for_again_and_only_of_that_rug() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let wanted = take(&reckoned(&[]));
    let mut browser = room.ana.clone();
    // 48 rows of 128 are the checks: then no navy is to come, and of white (24 and 80 rows of both strands) 160 of 208.
    log(&mut browser, ana, &[("rows", "48"), ("minutes", "60")]).await;
    all_near(room.of(ana).await, [0.0, wanted[1] * 160.0 / 208.0, 0.0]);
    all_near(room.of(ben).await, wanted);
    log(&mut browser, ana, &[("rows", "128"), ("minutes", "60")]).await;
    all_near(room.of(ana).await, [0.0, 0.0, 0.0]);
}

#[tokio::test]
async fn finished_and_given_up_rugs_ask_for_nothing() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let spare = rug(&mut room.ben.clone(), &[("name", "Spare")]).await;
    room.browser.post(&format!("/rugs/{ana}/state"), &[("state", "finished")]).await.is(303);
    room.browser.post(&format!("/rugs/{ben}/state"), &[("state", "given up")]).await.is(303);
    let start = room.browser.get("/share-out").await.is(200);
    let offered = start.all("tbody th a");
    assert_eq!(offered, ["Spare"], "{offered:?}");
    assert_eq!(room.asked(&[ana, ben]).await, []);
    let parts = room.asked(&[ana, ben, spare]).await;
    assert!(parts.iter().all(|part| part.rug == spare), "{parts:?}");
}

#[tokio::test]
async fn a_rest_on_the_scale_is_what_there_is() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let (mut browser, mut other) = (room.ana.clone(), room.ben.clone());
    // The same rug at the same row: 100 g more in hand is 100 g less to be found.
    log(&mut browser, ana, &[("rows", "48"), ("minutes", "60"), ("left-1", "150 g")]).await;
    log(&mut other, ben, &[("rows", "48"), ("minutes", "60"), ("left-1", "50 g")]).await;
    let (more, less) = (room.of(ana).await[1], room.of(ben).await[1]);
    near(less - more, 100.0, "what Ben lacks beyond Ana");
    let plan = reckoned(&[]);
    let to_come = plan["weft"]["colours"][0]["mass_g"]["take"].as_f64().unwrap() * 160.0 / 208.0;
    assert!((0.9..1.3).contains(&((more + 150.0) / to_come)), "{more} g and 150 g for about {to_come} g");
    log(&mut browser, ana, &[("rows", "50"), ("minutes", "5"), ("left-1", "9 kg")]).await;
    all_near([room.of(ana).await[1], room.of(ben).await[1], 0.0], [0.0, less, 0.0]);
}

/// Ana's rug gets white, and its promise for white is pulled with so much.
async fn promised(room: &mut Room, rug: RugId, name: &str) -> (Begun, String) {
    let share_out = begin(&mut room.browser, &[rug], 2, 6).await;
    share_out.answer(&mut room.browser).await;
    share_out.accept(&mut room.browser).await;
    let promise = share_out.promises(&room.world, rug, name).await.remove(0);
    (share_out, promise)
}

#[tokio::test]
async fn what_was_pulled_and_stayed_out_was_had_be_it_more_or_less_than_promised() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    room.bundle(1, "white", "percale", 9_000, true).await;
    let wanted = take(&reckoned(&[]));
    let (_, promise) = promised(&mut room, ana, "White").await;
    room.pull(&promise, "300 g").await;
    near(room.of(ana).await[1], wanted[1] - 300.0, "300 g were pulled, whatever was promised");
    all_near(room.of(ben).await, wanted);
    room.browser.post(&format!("/promises/{promise}/back"), &[("back_weight", "120 g")]).await.is(303);
    near(room.of(ana).await[1], wanted[1] - 180.0, "120 g of them came back");
    // Woven white (24 of its 208 strands in 24 rows) came out of those 180 g; when more is woven than was pulled here,
    // it was had from elsewhere.
    let mut browser = room.ana.clone();
    log(&mut browser, ana, &[("rows", "24"), ("minutes", "30")]).await;
    near(room.of(ana).await[1], wanted[1] - 180.0, "what is woven was pulled before");
    log(&mut browser, ana, &[("rows", "88"), ("minutes", "60")]).await;
    near(room.of(ana).await[1], wanted[1] * 80.0 / 208.0, "more is woven than was pulled");
}

#[tokio::test]
async fn cloth_pulled_after_the_rest_was_weighed_is_had_and_cloth_pulled_before_lay_on_the_scale() {
    let mut room = room(&[]).await;
    let [ana, _] = room.rugs;
    room.bundle(1, "white", "percale", 9_000, true).await;
    let (_, first) = promised(&mut room, ana, "White").await;
    room.pull(&first, "300 g").await;
    room.clock_on();
    let mut browser = room.ana.clone();
    log(&mut browser, ana, &[("rows", "10"), ("minutes", "10"), ("left-1", "100 g")]).await;
    let weighed = room.of(ana).await[1];
    room.clock_on();
    let (_, second) = promised(&mut room, ana, "White").await;
    room.pull(&second, "90 g").await;
    near(room.of(ana).await[1], weighed - 90.0, "pulled since");
    room.clock_on();
    log(&mut browser, ana, &[("rows", "10"), ("minutes", "1"), ("left-1", "190 g")]).await;
    near(room.of(ana).await[1], weighed - 90.0, "weighed again, with the new cloth");
}

impl Room {
    /// An hour later.
    fn clock_on(&self) {
        self.world.clock.set(self.world.clock.now() + jiff::SignedDuration::from_hours(1));
    }
}

/// The rules of a share-out, written apart: nothing overdrawn, nobody gets more than asked, or from more bundles than may be.
/// `free` is what each bundle has to give to these rugs.
#[track_caller]
fn keeps_the_rules(wanted: &[Part], found: &[Given], most: usize, free: &[(i64, f64)]) {
    for part in wanted {
        let own: Vec<&Given> =
            found.iter().filter(|given| given.rug == part.rug && given.name == part.name).collect();
        let given: f64 = own.iter().map(|given| given.grams).sum();
        // Cloth is given in whole grams, the last one begun.
        assert!(given < part.grams + 1.0, "{given} g for {part:?}");
        assert!(own.len() <= most, "{} bundles for {part:?}", own.len());
        let mut bundles: Vec<i64> = own.iter().map(|given| given.bundle).collect();
        bundles.dedup();
        assert_eq!(bundles.len(), own.len(), "one bundle twice for {part:?}");
    }
    assert!(
        found.iter().all(|given| wanted.iter().any(|part| part.rug == given.rug && part.name == given.name))
    );
    for (bundle, free) in free {
        let given: f64 = found.iter().filter(|given| given.bundle == *bundle).map(|given| given.grams).sum();
        assert!(given <= *free, "bundle {bundle} gives {given} g of {free} g");
    }
    let known = |given: &Given| free.iter().any(|(bundle, _)| *bundle == given.bundle);
    assert!(found.iter().all(known), "a bundle that has nothing to give: {found:?}");
}

fn given_to(found: &[Given], rug: RugId, name: &str) -> f64 {
    found.iter().filter(|given| given.rug == rug && given.name == name).map(|given| given.grams).sum()
}

#[tokio::test]
async fn cloth_promised_to_others_is_not_offered_but_ones_own_is() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let [warp, white, navy] = take(&reckoned(&[])).map(f64::ceil);
    // All white there is: enough for Ana's warp and white, and 200 g more.
    let all = (warp + white + 200.0) as u32;
    room.bundle(1, "white", "percale", all, true).await;
    room.bundle(2, "white", "percale", 5_000, false).await;
    let first = begin(&mut room.browser, &[ana], 2, 6).await;
    let found = first.found(&room.world, &mut room.browser).await;
    let wanted = first.wanted(&room.world).await;
    keeps_the_rules(&wanted, &found, 2, &[(1, f64::from(all))]);
    assert_eq!(
        ["warp", "White", "Navy"].map(|name| given_to(&found, ana, name)),
        [warp, white, 0.0],
        "{navy} g lack"
    );
    // A proposal promises nothing yet.
    let proposal = begin(&mut room.browser, &[ben], 2, 6).await;
    let found = proposal.found(&room.world, &mut room.browser).await;
    assert_eq!(given_to(&found, ben, "warp") + given_to(&found, ben, "White"), warp + white);
    first.accept(&mut room.browser).await;
    let second = begin(&mut room.browser, &[ben], 2, 6).await;
    let found = second.found(&room.world, &mut room.browser).await;
    keeps_the_rules(&second.wanted(&room.world).await, &found, 2, &[(1, 200.0)]);
    assert_eq!(
        found.iter().map(|given| given.grams).sum::<f64>(),
        200.0,
        "what Ana wasn't promised: {found:?}"
    );
    // Shared out again, Ana's own promises are hers to give up and to have again.
    let again = first.again(&mut room.browser, &[], false).await;
    let found = again.found(&room.world, &mut room.browser).await;
    assert_eq!(["warp", "White"].map(|name| given_to(&found, ana, name)), [warp, white]);
    // Ben accepts his 200 g; then nothing is left for a third, but washing the other bundle would help.
    second.accept(&mut room.browser).await;
    let spare = rug(&mut room.ben.clone(), &[("name", "Spare")]).await;
    let third = begin(&mut room.browser, &[spare], 2, 6).await;
    assert_eq!(third.found(&room.world, &mut room.browser).await, []);
    assert!(third.answer(&mut room.browser).await.all("table")[0].contains("Wash bundle 2"));
}

#[tokio::test]
async fn what_is_locked_is_kept_and_counted() {
    let mut room = room(&[]).await;
    let [ana, _] = room.rugs;
    let [_, white, _] = take(&reckoned(&[]));
    room.bundle(1, "white", "percale", 300, true).await;
    room.bundle(2, "white", "percale", 310, true).await;
    room.bundle(3, "white", "percale", 9_000, true).await;
    let first = begin(&mut room.browser, &[ana], 2, 6).await;
    first.answer(&mut room.browser).await;
    // Part 2 is white: by hand 290 g of bundle 1, which locks it.
    room.browser.post(&format!("{}/choose/2", first.path), &[("take-1", "290 g")]).await.is(303);
    let keep = first.promises(&room.world, ana, "White").await;
    let second = first.again(&mut room.browser, &keep, false).await;
    let found = second.found(&room.world, &mut room.browser).await;
    let whites: Vec<&Given> = found.iter().filter(|given| given.name == "White").collect();
    let kept: Vec<_> = whites.iter().filter(|given| given.locked).collect();
    assert_eq!(kept.len(), 1, "{found:?}");
    assert_eq!((kept[0].bundle, kept[0].grams), (1, 290.0));
    let wanted = second.wanted(&room.world).await;
    keeps_the_rules(&wanted, &found, 2, &[(1, 300.0), (2, 310.0), (3, 9_000.0)]);
    let rest = white.ceil() - 290.0;
    assert!(
        (given_to(&found, ana, "White") - white).abs() < 1.01,
        "{rest} g are found for the rest: {found:?}"
    );
    assert!(whites.len() == 2 && whites.iter().all(|given| given.locked || given.bundle != 1), "{found:?}");
}

/// Shares out for Ana, keeping so much of bundle 1 for her white, chosen by hand.
async fn with_locked(room: &mut Room, locked: &str) -> (Vec<Part>, Vec<Given>) {
    let ana = room.rugs[0];
    let first = begin(&mut room.browser, &[ana], 2, 6).await;
    first.answer(&mut room.browser).await;
    room.browser.post(&format!("{}/choose/2", first.path), &[("take-1", locked)]).await.is(303);
    let keep = first.promises(&room.world, ana, "White").await;
    let second = first.again(&mut room.browser, &keep, false).await;
    let found = second.found(&room.world, &mut room.browser).await;
    (second.wanted(&room.world).await, found)
}

#[tokio::test]
async fn locked_cloth_is_gone_from_its_bundle_and_its_bundle_counts_among_the_most() {
    // Nothing but 300 g: the warp can have no more than what isn't locked.
    let mut room = self::room(&[]).await;
    room.bundle(1, "white", "percale", 300, true).await;
    let (wanted, found) = with_locked(&mut room, "290 g").await;
    keeps_the_rules(&wanted, &found, 2, &[(1, 300.0)]);
    // Three bundles would be needed for white: the locked one and one more are two.
    let mut room = self::room(&[]).await;
    for number in 1..=4 {
        room.bundle(number, "white", "percale", 300, true).await;
    }
    let (wanted, found) = with_locked(&mut room, "290 g").await;
    keeps_the_rules(&wanted, &found, 2, &[1, 2, 3, 4].map(|bundle| (bundle, 300.0)));
    let whites = found.iter().filter(|given| given.name == "White").count();
    assert_eq!(whites, 2, "{found:?}");
    // All comes from one bundle, of which a part is locked: the rest isn't a second promise of it to the same part.
    let mut room = self::room(&[]).await;
    room.bundle(1, "white", "percale", 9_000, true).await;
    let (wanted, found) = with_locked(&mut room, "290 g").await;
    keeps_the_rules(&wanted, &found, 2, &[(1, 9_000.0)]);
}

#[tokio::test]
async fn a_colour_too_far_off_is_left_and_of_two_the_nearer_is_taken() {
    let mut room = room(&[]).await;
    let [ana, _] = room.rugs;
    room.bundle(1, "red", "percale", 9_000, true).await;
    room.bundle(2, "navy", "percale", 9_000, true).await;
    let strict = begin(&mut room.browser, &[ana], 2, 12).await;
    let found = strict.found(&room.world, &mut room.browser).await;
    assert_eq!(given_to(&found, ana, "White"), 0.0, "neither is white: {found:?}");
    assert!(
        given_to(&found, ana, "Navy") > 0.0 && given_to(&found, ana, "warp") > 0.0,
        "warp may have any: {found:?}"
    );
    assert!(found.iter().filter(|given| given.name == "Navy").all(|given| given.bundle == 2), "{found:?}");
    let loose = begin(&mut room.browser, &[ana], 2, 200).await;
    let found = loose.found(&room.world, &mut room.browser).await;
    assert!(given_to(&found, ana, "White") > 0.0, "any colour rather than none: {found:?}");
}

#[tokio::test]
async fn few_changes_keeps_the_bundle_that_a_rug_was_promised() {
    let mut room = room(&[]).await;
    let [ana, _] = room.rugs;
    room.bundle(1, "cream", "percale", 9_000, true).await;
    let first = begin(&mut room.browser, &[ana], 1, 25).await;
    let found = first.found(&room.world, &mut room.browser).await;
    assert!(given_to(&found, ana, "White") > 0.0, "cream is near enough: {found:?}");
    first.accept(&mut room.browser).await;
    room.bundle(2, "white", "percale", 9_000, true).await;
    let white = |found: &[Given]| -> Vec<i64> {
        found.iter().filter(|given| given.name == "White").map(|given| given.bundle).collect()
    };
    let few = first.again(&mut room.browser, &[], true).await;
    assert_eq!(white(&few.found(&room.world, &mut room.browser).await), [1]);
    let free = first.again(&mut room.browser, &[], false).await;
    assert_eq!(white(&free.found(&room.world, &mut room.browser).await), [2]);
}

#[tokio::test]
async fn by_hand_one_chooses_from_washed_cloth_that_is_promised_to_nobody_else() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let [warp, white, _] = take(&reckoned(&[])).map(f64::ceil);
    room.bundle(1, "white", "percale", 3_000, true).await;
    room.bundle(2, "white", "percale", 500, false).await;
    let theirs = begin(&mut room.browser, &[ben], 2, 6).await;
    theirs.answer(&mut room.browser).await;
    theirs.accept(&mut room.browser).await;
    let mine = begin(&mut room.browser, &[ana], 2, 6).await;
    mine.answer(&mut room.browser).await;
    // Ben has his warp and white of it for good, and Ana's own warp is spoken for: the rest is free for her white.
    let free = 3_000.0 - 2.0 * warp - white;
    let page = room.browser.get(&format!("{}/choose/2", mine.path)).await.is(200);
    assert_eq!(
        page.all("tbody tr").len(),
        1,
        "what isn't washed can't be chosen: {:?}",
        page.all("tbody tr")
    );
    assert_eq!(page.one("td[data-label=Free]"), format!("{free} g"));
    let path = format!("{}/choose/2", mine.path);
    room.browser.post(&path, &[("take-1", &format!("{} g", free + 1.0))]).await.is(422);
    room.browser.post(&path, &[("take-1", &format!("{free} g"))]).await.is(303);
    // Accepted and shared out again, what Ana had is hers to choose from anew.
    mine.accept(&mut room.browser).await;
    let again = mine.again(&mut room.browser, &[], false).await;
    again.answer(&mut room.browser).await;
    let page = room.browser.get(&format!("{}/choose/2", again.path)).await.is(200);
    assert_eq!(page.one("td[data-label=Free]"), format!("{free} g"));
}

#[tokio::test]
async fn what_is_lacking_is_summed_and_bought_by_kind_and_colour() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let [warp, white, navy] = take(&reckoned(&[]));
    room.bundle(1, "navy", "percale", 500, false).await;
    room.bundle(2, "red", "percale", 500, false).await;
    room.bundle(3, "navy", "terry", 500, false).await;
    let page = begin(&mut room.browser, &[ana, ben], 2, 25).await.answer(&mut room.browser).await;
    let rows = page.all("tr:has(td[data-label=Lacking])");
    let row = |name: &str| {
        rows.iter().find(|row| row.starts_with(name)).unwrap_or_else(|| panic!("{name}: {rows:?}"))
    };
    for (name, one) in [("Warp", warp), ("White", white), ("Navy", navy)] {
        let both = 2.0 * one;
        let row = row(name);
        assert!(row.contains("for 2 rugs"), "{row}");
        let grams = format!("{} g", both.round());
        assert!(row.contains(&grams), "{grams} in {row}");
        // A twin flat sheet is 66 × 96 in; percale weighs 130 g/m².
        let twin = 66.0 * 96.0 * 0.0254 * 0.0254 * 130.0;
        let twins = format!("{:.1}", both / twin);
        assert!(row.contains(&format!(" {twins} ")), "{twins} in {row}");
        // Enough for both is bought, and not a sheet too much.
        let bought = row.split(" g in all").next().unwrap().rsplit(' ').next().unwrap();
        let bought: f64 = bought.parse().unwrap();
        assert!(bought + 3.0 > both && bought < both + twin, "{bought} g for {both} g: {row}");
    }
    assert!(row("Navy").contains("Wash bundle 1") && !row("Navy").contains("bundle 2"), "{}", row("Navy"));
    assert!(!row("Navy").contains("bundle 3") && !row("White").contains("Wash"), "{rows:?}");
    // Washed cloth that is taken for them needs no wash.
    room.bundle(4, "navy", "percale", 50, true).await;
    let page = begin(&mut room.browser, &[ana, ben], 2, 25).await.answer(&mut room.browser).await;
    assert!(!page.all("tr:has(td[data-label=Lacking])").iter().any(|row| row.contains("Wash bundle 4")));
    // Cloth of another kind is lacked by itself.
    let heavy = rug(&mut room.ana.clone(), &[("name", "Heavy"), ("weft_kind", "denim")]).await;
    let page = begin(&mut room.browser, &[ana, heavy], 2, 25).await.answer(&mut room.browser).await;
    let rows = page.all("tr:has(td[data-label=Lacking])");
    let whites: Vec<&String> = rows.iter().filter(|row| row.starts_with("White")).collect();
    assert_eq!(whites.len(), 2, "{rows:?}");
    assert!(whites.iter().all(|row| row.contains("for 1 rug")), "{whites:?}");
    // Denim is 330 g/m².
    let denim = whites.iter().find(|row| row.contains("denim")).unwrap();
    let heavy_white = take(&reckoned_heavy())[1];
    let sheets = format!("{:.1}", heavy_white / (66.0 * 96.0 * 0.0254 * 0.0254 * 330.0));
    assert!(denim.contains(&format!(" {sheets} ")), "{sheets} in {denim}");
}

/// The small rug of these tests, by `reckon`.
pub(super) fn reckoned_small() -> Value {
    reckoned(&[])
}

fn reckoned_heavy() -> Value {
    reckoned(&["--kind", "denim"])
}
