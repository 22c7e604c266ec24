//! A rug of any size from the frames there are.
use thrumhall::store::frames::Condition;
use thrumhall::store::people::Role;
use thrumhall::units::Length;

use super::rugs::explained;
use crate::support::browser::World;
use crate::support::loft;

const ASK: &str =
    "/rugs/any-size?width=36+in&length=64+in&tolerance=1+in&most=12&strip_width=1.5+in&kind=percale";
const WISH: [(&str, &str); 6] = [
    ("width", "36 in"),
    ("length", "64 in"),
    ("tolerance", "1 in"),
    ("most", "12"),
    ("strip_width", "1.5 in"),
    ("kind", "percale"),
];

#[tokio::test]
async fn four_panels_of_the_usual_frame_are_drawn_and_reckoned() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let page = browser.get("/rugs/any-size").await.is(200);
    assert!(page.text.contains("There is no frame in use yet."));
    loft::frame(world.store(), me, &loft::usual("S1")).await;
    let page = browser.get(ASK).await.is(200);
    assert!(page.text.contains("4 panels, 36 in × 64 in"), "{}", page.text);
    // The seams: 64 in up the middle and 36 in across.
    assert!(page.all(".facts dd").contains(&"100 in".to_owned()), "{:?}", page.all(".facts dd"));
    assert_eq!(page.all("figure.drawing svg title"), ["The rug's panels"]);
    let row = page.one("tbody tr");
    assert!(
        row.starts_with("1, 2, 3, 4 18 in × 32 in 18 in × 33 in, 33 nails per end1 frame here: 4 rounds"),
        "{row}"
    );
    assert!(page.text.contains("no rug of fewer panels comes near enough"));
}

#[tokio::test]
async fn what_panels_take_is_worked_out_number_by_number() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    loft::frame(world.store(), me, &loft::usual("S1")).await;
    let shown = browser.get(ASK).await.is(200);
    let worked = browser.get(&ASK.replace("any-size?", "any-size/worked?")).await.is(200);
    assert!(explained(&shown.text, &worked.text).len() >= 6);
    let weaving = worked.one("section[id='kind1.minutes.weave'] h2");
    assert_eq!(weaving, "Panel 1, 2, 3, 4: Weaving");
    // Nothing to explain: back to where it is asked, and said what is wrong.
    let back = browser.get("/rugs/any-size/worked?width=soon").await.to().to_owned();
    browser.get(&back).await.is(422);
}

#[tokio::test]
async fn broken_and_retired_frames_weave_nothing() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let broken = thrumhall::store::frames::FrameFields { condition: Condition::Broken, ..loft::usual("S1") };
    loft::frame(world.store(), me, &broken).await;
    let page = browser.get(ASK).await.is(200);
    assert_eq!(page.one(".empty p"), "There is no frame in use to weave panels on.");
    loft::frame(world.store(), me, &loft::large("L1")).await;
    let page = browser.get(ASK).await.is(200);
    let why = page.one(".empty p");
    assert!(
        why.starts_with("No 12 or fewer panels of these sizes come within 1 in of 36 in × 64 in, among arrangements cut edge to edge or turned like a pinwheel, four parts round a fifth."),
        "{why}"
    );
    assert!(why.ends_with("tick that."));
}

#[tokio::test]
async fn wrong_wishes_come_back_at_their_fields() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    loft::frame(world.store(), me, &loft::usual("S1")).await;
    let cases: &[(&str, &str, &str, &[&str])] = &[
        ("width", "width=36+in", "width=3+in", &["3 in", "4 in", "480 in"]),
        ("length", "length=64+in", "length=", &[]),
        ("most", "most=12", "most=25", &["25", "1", "24"]),
        ("kind", "kind=percale", "kind=silk", &["cloth"]),
    ];
    for &(field, from, to, values) in cases {
        let page = browser.get(&ASK.replace(from, to)).await.is(422);
        page.only_error_at(field);
        page.error_names(field, values);
        assert!(page.all("figure.drawing").is_empty());
    }
    let page = browser.get(&ASK.replace("width=36+in", "width=a+yard")).await.is(422);
    assert_eq!(page.field("width"), "a yard");
}

#[tokio::test]
async fn the_panels_become_rugs_of_one_weaver_once() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    loft::frame(world.store(), me, &loft::usual("S1")).await;
    let wanda = world.enter(Role::Weaver, "Wanda Probe").await.0;
    let id = wanda.to_string();
    let key = browser.get(ASK).await.field("key");
    let plan = |over: &[(&'static str, &'static str)]| {
        let mine = [
            ("key", key.clone()),
            ("weaver", id.clone()),
            ("name", "Quay".into()),
            ("first", "navy".into()),
            ("other", "sand".into()),
        ];
        let wish = WISH.map(|(name, value)| (name, value.to_owned()));
        let mut all: Vec<(&str, String)> = wish.into_iter().chain(mine).collect();
        for (name, value) in over {
            all.retain(|(known, _)| known != name);
            all.push((name, (*value).to_owned()));
        }
        all
    };
    for (field, value) in [("name", ""), ("weaver", ""), ("first", "no such colour")] {
        let typed = plan(&[(field, value)]);
        let typed: Vec<(&str, &str)> = typed.iter().map(|(name, value)| (*name, value.as_str())).collect();
        let page = browser.post("/rugs/any-size", &typed).await.is(422);
        page.only_error_at(field);
        assert_eq!(page.field("width"), "36 in", "what was wanted stays");
    }
    let typed = plan(&[]);
    let typed: Vec<(&str, &str)> = typed.iter().map(|(name, value)| (*name, value.as_str())).collect();
    for _ in 0..2 {
        assert_eq!(browser.post("/rugs/any-size", &typed).await.to(), "/rugs?said=panels");
    }
    let rugs = world.store().read().await.unwrap().rugs(Some(wanda), None).await.unwrap();
    let mut names: Vec<&str> = rugs.iter().map(|rug| rug.fields.name.as_str()).collect();
    names.sort_unstable();
    assert_eq!(
        names,
        ["Quay, panel 1 of 4", "Quay, panel 2 of 4", "Quay, panel 3 of 4", "Quay, panel 4 of 4"]
    );
    assert!(rugs.iter().all(|rug| rug.fields.nails == 33 && rug.bands[0].first.name == "Navy"));
}

#[tokio::test]
async fn a_weaver_plans_narrower_panels_for_themselves() {
    let world = World::new().await;
    let (me, _) = world.instructor().await;
    loft::frame(world.store(), me, &loft::usual("S1")).await;
    let (wanda, mut browser) = world.weaver().await;
    let typed = [
        ("width", "30 in"),
        ("length", "32 in"),
        ("tolerance", "1 in"),
        ("most", "12"),
        ("narrower", "yes"),
        ("strip_width", "1.5 in"),
        ("kind", "percale"),
        ("name", "Slip"),
        ("first", "navy"),
        ("other", "sand"),
    ];
    assert_eq!(browser.post("/rugs/any-size", &typed).await.to(), "/my?said=panels");
    let rugs = world.store().read().await.unwrap().rugs(Some(wanda), None).await.unwrap();
    assert_eq!(rugs.len(), 2);
    assert!(rugs.iter().all(|rug| rug.fields.making.woven_width_nm == Some(Length::inches(15.0))));
    let shown = browser.get(&format!("/rugs/{}", rugs[0].id)).await.is(200);
    // 15 in of the 18 in frame: 15 / (18/32) = 26.7 spaces, so 28 nails of its 33.
    assert!(
        shown.all(".facts dd").iter().any(|fact| fact.contains("on 28 nails per end")),
        "{:?}",
        shown.all(".facts dd")
    );
}
