//! Rugs that are wound and woven otherwise than usual: their forms, the way of the warp, the reading card, two variants.
use super::rugs::with;
use crate::support::browser::{Browser, World};

async fn planned(browser: &mut Browser, changes: &[(&str, &str)]) -> String {
    browser.post("/rugs", &with(changes)).await.to().split('?').next().unwrap().to_owned()
}

const UNUSUAL: &[(&str, &str)] = &[
    ("far_nails", "32"),
    ("set_off", "9/32 in"),
    ("woven_width", "15 in"),
    ("doubled", "yes"),
    ("every", "1"),
    ("left_out", "near 9, far 20"),
    ("woven_from", "both ends"),
    ("band-1-strip", "3/4 in"),
];

#[tokio::test]
async fn what_was_typed_of_a_winding_comes_back_in_the_form() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let page = planned(&mut weaver, UNUSUAL).await;
    let form = weaver.get(&format!("{page}/edit")).await.is(200);
    for (name, typed) in UNUSUAL.iter().filter(|(name, _)| !["doubled", "woven_from"].contains(name)) {
        assert_eq!(form.field(name), *typed, "{name}");
    }
    assert!(form.text.contains(r#"value="both ends" checked"#));
    let usual = planned(&mut weaver, &[]).await;
    let form = weaver.get(&format!("{usual}/edit")).await;
    assert_eq!((form.field("every").as_str(), form.field("far_nails").as_str()), ("1", ""));
}

#[tokio::test]
async fn a_winding_that_cannot_be_is_refused_at_its_field() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let cases: &[(&str, &str, &str, &[&str])] = &[
        ("left_out", "near 99", "left_out", &["near 99", "33"]),
        ("left_out", "the bent one", "left_out", &["the bent one"]),
        ("every", "7", "every", &["7", "1", "6"]),
        ("extra_wraps", "-1", "extra_wraps", &["-1", "0", "3"]),
        ("woven_width", "19 in", "woven_width", &["19 in", "2 in", "18 in"]),
        ("woven_width", "narrow", "woven_width", &["narrow", "length"]),
        ("far_nails", "2", "far_nails", &["2", "3", "600"]),
        ("set_off", "far", "set_off", &["far", "length"]),
        ("near_places", "0; 1/2 in; oak", "near_places", &["3", "oak"]),
        // One row alone can't be placed: it is the other one's places that are missing.
        ("far_places", "0, 1 in, 2 in", "near_places", &["near row"]),
        ("band-1-strip", "9 in", "band-1-strip", &["9 in", "1/4 in", "6 in"]),
    ];
    for &(name, typed, at, values) in cases {
        let answer = weaver.post("/rugs", &with(&[(name, typed)])).await.is(422);
        answer.only_error_at(at);
        answer.error_names(at, values);
        assert!(answer.text.contains(typed), "{name} lost {typed}");
    }
    // Rows that can be read but don't belong to the frame.
    let few = with(&[("near_places", "0; 1 in"), ("far_places", "0; 1 in; 2 in")]);
    let answer = weaver.post("/rugs", &few).await.is(422);
    answer.error_names("near_places", &["2", "33"]);
}

#[tokio::test]
async fn the_way_of_the_warp_is_drawn_from_both_sides() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let page = planned(&mut weaver, &[("left_out", "near 12")]).await;
    let shown = weaver.get(&format!("{page}/way")).await.is(200);
    assert_eq!(shown.all("figure.way svg").len(), 2);
    assert!(shown.one(".lead").contains("tied at far 1"), "{}", shown.one(".lead"));
    assert!(shown.all(".facts dd").contains(&"64".to_owned()), "one nail less, one strand less");
    let unequal = planned(&mut weaver, &[("far_nails", "30")]).await;
    let shown = weaver.get(&format!("{unequal}/way")).await.is(200);
    assert!(
        shown.all(".facts dd").iter().any(|fact| fact == "near 1, near 33"),
        "{:?}",
        shown.all(".facts dd")
    );
    let rug = weaver.get(&unequal).await;
    assert!(rug.all(".notice").contains(&"2 nails of the longer row stay empty.".to_owned()));
}

#[tokio::test]
async fn the_reading_card_gives_the_rows_in_the_order_of_weaving() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let page = planned(&mut weaver, &[]).await;
    let card = weaver.get(&format!("{page}/reading")).await.is(200);
    let rows = card.all(".reading tbody tr");
    assert_eq!(
        rows,
        [
            "1–48 (48) A White B Navy odd rows A White, even rows B Navy 12 in",
            "49–128 (80) A White A White A White 32 in"
        ]
    );
    let both = planned(&mut weaver, &[("woven_from", "both ends")]).await;
    let card = weaver.get(&format!("{both}/reading")).await.is(200);
    let rows = card.all(".reading tbody tr");
    assert_eq!(rows[0], "From the start to the middle");
    assert_eq!(rows[3], "The frame turned: from the far end to the middle");
    assert_eq!(rows[4], "1–64 (64) A White A White A White 16 in");
    assert!(
        card.one("article.paper")
            .contains("The halves meet after 64 rows from the start and 64 from the far end")
    );
    let rug = weaver.get(&both).await;
    assert!(
        rug.all(".notice").iter().any(|notice| notice.contains("the figure jumps")),
        "{:?}",
        rug.all(".notice")
    );
}

#[tokio::test]
async fn two_variants_stand_side_by_side_and_change_over() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let page = planned(&mut weaver, &[]).await;
    let setting_aside = with(&[("hold", "yes"), ("revision", "1")]);
    let set_aside = weaver.post(&page, &setting_aside).await.is(200);
    let held = set_aside.field("held");
    assert_eq!(set_aside.all(".variants svg title").len(), 2);
    assert!(set_aside.all(".variant-table strong").is_empty(), "nothing differs yet");
    let changed = with(&[("held", &held), ("look", "yes"), ("band-2-height", "10 in")]);
    let beside = weaver.post(&page, &changed).await.is(200);
    let rows = beside.all(".variant-table tbody tr");
    assert!(rows.contains(&"Woven size 18 in × 32 in 18 in × 22 in".to_owned()), "{rows:?}");
    assert!(rows.contains(&"Warp strands 65 the same".to_owned()), "{rows:?}");
    let swapped =
        weaver.post(&page, &with(&[("held", &held), ("swap", "yes"), ("band-2-height", "10 in")])).await;
    let swapped = swapped.is(200);
    assert_eq!(swapped.field("band-2-height"), "20 in");
    assert!(
        swapped.all(".variant-table tbody tr").contains(&"Woven size 18 in × 22 in 18 in × 32 in".to_owned())
    );
    let dropped = weaver.post(&page, &with(&[("held", &held), ("drop", "yes")])).await.is(200);
    assert_eq!((dropped.field("held").as_str(), dropped.all(".variant-table").len()), ("", 0));
    // A field that somebody made up is as good as none that can be planned.
    let odd = weaver.post(&page, &with(&[("held", "%ff&&=a"), ("look", "yes")])).await.is(200);
    assert_eq!(odd.all(".variant-table").len(), 0);
    assert_eq!(
        weaver.get(&page).await.one(".page-head .lead").matches("32 in").count(),
        1,
        "nothing was kept"
    );
}
