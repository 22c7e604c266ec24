//! Building a frame, and rods to buy.
use crate::support::browser::World;
use crate::support::loft;

const FRAME: &str = "/frames/build?width=18+in&span=33+in&pitch=9/16+in&nails=&nail=0.1+in&timber=1.5+in&clearance=1.5+in&board=96+in&kerf=1/8+in&corner=half-lap";

/// Common practice, no source: 18 × 33 in has 33 nails per end and takes 36 in rods.
#[tokio::test]
async fn the_usual_frame_is_laid_out_and_can_be_listed() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    for page in [browser.get("/frames/build").await.is(200), browser.get(FRAME).await.is(200)] {
        let facts = page.all(".facts dd");
        assert_eq!(facts[0], "66: 33 in the upper row, 33 in the lower, 9/16 in apart");
        assert!(facts.iter().any(|fact| fact == "two of 36 in or longer; buy 1 of 72 in"), "{facts:?}");
        assert_eq!(page.all(".places li").len(), 33);
        assert!(page.one(".caution").contains("wear eye protection"));
    }
    let page = browser.get(FRAME).await;
    let listing = page.attr("a.button[href^=\"/frames/new?\"]", "href");
    let form = browser.get(&listing).await.is(200);
    assert_eq!(
        (form.field("span"), form.field("width"), form.field("nails")),
        ("33 in".into(), "18 in".into(), "33".into())
    );
}

#[tokio::test]
async fn nails_settle_the_pitch() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let page = browser.get(&FRAME.replace("nails=", "nails=37&staggered=yes")).await.is(200);
    assert_eq!(page.all(".facts dd")[0], "73: 37 in the upper row, 36 in the lower, 1/2 in apart");
    assert!(page.all("a.button[href^=\"/frames/new?\"]").is_empty(), "volunteers list no frames");
}

#[tokio::test]
async fn measures_that_make_no_frame_come_back_at_their_fields() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let cases: &[(&str, &str, &str, &[&str])] = &[
        ("width", "width=18+in", "width=3+in", &["3 in", "4 in", "144 in"]),
        ("pitch", "pitch=9/16+in", "pitch=5+in", &["5 in", "1/8 in", "4 in"]),
        ("nails", "nails=", "nails=3", &["9 in", "1/8 in", "4 in"]),
        ("corner", "corner=half-lap", "corner=glue", &["corners"]),
        ("board", "board=96+in", "board=20+in", &["members", "boards"]),
        ("span", "span=33+in", "span=80+in", &["rod", "span"]),
    ];
    for &(field, from, to, values) in cases {
        let page = browser.get(&FRAME.replace(from, to)).await.is(422);
        page.only_error_at(field);
        page.error_names(field, values);
        assert!(page.all(".places li").is_empty());
    }
}

#[tokio::test]
async fn rods_owned_are_set_against_rods_needed() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let page = browser.get("/rods/buy").await.is(200);
    assert!(page.text.contains("No frame is in use, and none is wanted."));
    for tag in ["S1", "S2", "S3"] {
        loft::frame(world.store(), me, &loft::usual(tag)).await;
    }
    loft::rods(world.store(), me, 36.0, 3).await;
    let page = browser.get("/rods/buy").await.is(200);
    assert_eq!(page.all(".stat b"), ["6", "3", "3"], "needed, served, missing");
    // Three rods of 36 in: 72 + 36 in, nothing left over.
    assert_eq!(page.all(".section h2")[0], "Buy 1 of 72 in, 1 of 36 in");
    assert_eq!(page.all("figure.drawing svg title"), ["How the bars are cut"]);
    assert!(page.text.contains("Proven: no mix of those lengths is shorter."));
    let page = browser.get("/rods/buy?more-838200000=2&span=44+in&frames=1&kerf=0+in").await.is(200);
    assert_eq!(page.all(".stat b"), ["12", "3", "9"]);
    loft::rods(world.store(), me, 48.0, 20).await;
    let page = browser.get("/rods/buy").await.is(200);
    assert_eq!(page.one(".notice"), "The rods that are owned serve every frame. Nothing is to be bought.");
}

#[tokio::test]
async fn wrong_numbers_of_frames_come_back_at_their_fields() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    loft::frame(world.store(), me, &loft::usual("S1")).await;
    let cases: &[(&str, &str, &[&str])] = &[
        ("more-838200000=51&kerf=0", "more-838200000", &["51", "0", "50"]),
        // The number of frames is missing.
        ("span=44+in&frames=&kerf=0", "frames", &["1", "50"]),
        ("span=70+in&frames=1&kerf=0", "span", &["70 in", "4 in", "69 in"]),
        ("kerf=1+in", "kerf", &["1 in", "0 in", "1/2 in"]),
    ];
    for &(query, field, values) in cases {
        let page = browser.get(&format!("/rods/buy?{query}")).await.is(422);
        page.only_error_at(field);
        page.error_names(field, values);
    }
    let page = browser.get("/rods/buy?span=70+in&frames=1&kerf=0").await;
    assert_eq!(page.field("span"), "70 in");
}
