//! What each rug asks: what its plan says to take, less what is woven, lies on the scale or was pulled.
use thrumhall::store::RugId;

use super::{Room, counted, grams, reckoned, room, rug, take};
use crate::support::browser::Browser;
use crate::support::share_outs::{Begun, begin};

async fn log(weaver: &mut Browser, rug: RugId, fields: &[(&str, &str)]) {
    weaver.post(&format!("/rugs/{rug}/log"), fields).await.is(303);
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
async fn a_warp_and_a_fringe_of_bought_yarn_ask_for_no_cloth() {
    let yarn = [("fringe", "4 in"), ("warp_yarn_length", "125 m"), ("warp_yarn_mass", "200 g")];
    let mut room = room(&yarn).await;
    let [ana, _] = room.rugs;
    let asked = room.asked(&[ana]).await;
    let names: Vec<&str> = asked.iter().map(|part| part.name.as_str()).collect();
    assert_eq!(names.len(), 2, "{names:?}");
    assert!(!names.contains(&"warp"), "{names:?}");
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
    let ended = [ana, ben].map(|rug| rug.to_string());
    let fields = [
        ("rug", ended[0].as_str()),
        ("rug", &ended[1]),
        ("most", "2"),
        ("most_off", "200"),
        ("seconds", "3"),
    ];
    let page = room.browser.post("/share-out", &fields).await.is(422);
    assert_eq!(page.attr("#errors a", "href"), "#rugs");
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
    near(
        room.of(ana).await[1],
        wanted[1] - 300.0 * counted(),
        "the strip in 300 g was pulled, whatever was promised",
    );
    all_near(room.of(ben).await, wanted);
    room.browser.post(&format!("/promises/{promise}/back"), &[("back_weight", "120 g")]).await.is(303);
    near(room.of(ana).await[1], wanted[1] - 180.0 * counted(), "120 g of them came back");
    // Woven white (24 of its 208 strands in 24 rows) came out of those 180 g; when more is woven than was pulled here,
    // it was had from elsewhere.
    let mut browser = room.ana.clone();
    log(&mut browser, ana, &[("rows", "24"), ("minutes", "30")]).await;
    near(room.of(ana).await[1], wanted[1] - 180.0 * counted(), "what is woven was pulled before");
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
    near(room.of(ana).await[1], weighed - 90.0 * counted(), "pulled since");
    room.clock_on();
    log(&mut browser, ana, &[("rows", "10"), ("minutes", "1"), ("left-1", "190 g")]).await;
    near(room.of(ana).await[1], weighed - 90.0, "weighed again, as strip, with the new cloth");
}
