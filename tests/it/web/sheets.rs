//! Which sheets to cut.
use super::rug_cloth::sheets;
use crate::support::browser::World;
use crate::support::loft;

const ASK: &str = "/cloth/sheets?asked=yes&wanted=60+yd&strip=1.5+in&join=2+in&least=12+in&way=cut&lot-1-count=3&lot-1-length=96+in&lot-1-width=66+in&lot-1-hem=1+in";

/// By hand: 66 in less two hems of 1 in gives 42 lanes of 1½ in, 94 in long; 60 yd = 2160 in take n strips with
/// 94·n − 2·(n − 1) ≥ 2160, so n = 24.
#[tokio::test]
async fn straight_strips_from_typed_sheets() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    browser.get("/cloth/sheets").await.is(200);
    let page = browser.get(ASK).await.is(200);
    assert_eq!(page.all(".stat b")[..3], ["1", "24", "23"], "sheets, strips, joins");
    assert_eq!(page.one(".plain-list li"), "Row 1: 1 of 3 sheets");
    assert!(
        page.one("figure.drawing figcaption").starts_with("Row 1: strips 1–24"),
        "{}",
        page.one("figure figcaption")
    );
    assert!(page.text.contains("Proven: no other choice of these sheets has fewer joins"));
    let torn = browser.get(&ASK.replace("way=cut", "way=torn")).await.is(200);
    assert!(torn.text.contains("the tear follows the thread"));
    let continuous = browser.get(&ASK.replace("way=cut", "way=continuous")).await.is(200);
    assert_eq!(continuous.all(".stat b")[..3], ["1", "1", "0"]);
    // A worn middle, the length of the sheet, costs its lanes: two strips more than half a sheet stays clear.
    let worn = format!(
        "{ASK}&lot-1-stain-1-from=0+in&lot-1-stain-1-to=96+in&lot-1-stain-1-left=20+in&lot-1-stain-1-right=60+in"
    );
    let page = browser.get(&worn).await.is(200);
    assert_eq!(page.all(".stat b")[0], "2", "one sheet is no longer enough");
}

#[tokio::test]
async fn a_rug_is_offered_the_shelfs_own_sheets() {
    let world = World::new().await;
    let (_, mut staff) = world.instructor().await;
    let (wanda, mut weaver) = world.weaver().await;
    let rug = loft::rug(world.store(), wanda, "Tide", &loft::usual("S1"), None).await;
    let page = weaver.get(&format!("/rugs/{rug}/sheets")).await.is(200);
    assert!(page.one(".notice").starts_with("No bundle on the shelf has this cloth"), "{}", page.text);
    sheets(&mut staff, "flannel", "navy", "9", "9 lb").await;
    sheets(&mut staff, "percale", "navy", "4", "4 lb 12 oz").await;
    let page = weaver.get(&format!("/rugs/{rug}/sheets")).await.is(200);
    assert_eq!(page.one("h1"), "Sheets for the warp of Tide");
    assert!(
        page.one(".plain-list li").starts_with("Bundle 2, Navy: 1 of "),
        "{}",
        page.one(".plain-list li")
    );
    assert!(page.field("wanted").ends_with(" yd"));
    // The rug's two colours, sea and sand, are far from navy.
    let parts = page.all("nav[aria-label='Parts of the rug'] a");
    assert_eq!(parts, ["Warp", "Weft: sea", "Weft: sand"]);
    let page = weaver.get(&format!("/rugs/{rug}/sheets?part=colour-1")).await.is(200);
    assert!(page.one(".notice").starts_with("No bundle on the shelf has this cloth in this colour"));
}

#[tokio::test]
async fn a_bundle_fills_in_what_was_left_empty() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let id = sheets(&mut browser, "percale", "navy", "4", "4 lb 12 oz").await;
    let page = browser.get(&format!("/cloth/sheets?bundle={id}")).await.is(200);
    assert_eq!((page.field("lot-1-count"), page.field("lot-1-length")), ("4".into(), "96 in".into()));
    let ask = format!(
        "/cloth/sheets?asked=yes&wanted=60+yd&strip=1.5+in&join=2+in&least=12+in&way=any&lot-1-bundle={id}&lot-1-count=&lot-1-length=&lot-1-width="
    );
    let page = browser.get(&ask).await.is(200);
    assert_eq!(page.field("lot-1-width"), "66 in");
    assert!(
        page.one(".plain-list li").starts_with("Bundle 1, Navy: 1 of 4 sheets, about 1 lb 3 oz"),
        "{}",
        page.one(".plain-list li")
    );
    let typed = [("kind", "percale"), ("colour", "navy"), ("weight", "2 lb"), ("washed", "yes")];
    let to = browser.post("/cloth/weigh-in", &typed).await.to().to_owned();
    let bare = to.strip_prefix("/cloth/weigh-in?done=").unwrap().to_owned();
    let page = browser.get(&ask.replace(&id, &bare)).await.is(422);
    assert_eq!(page.error("lot-1-length"), "No sheet of bundle 2 was measured: type how large they are.");
}

#[tokio::test]
async fn what_can_not_be_cut_comes_back_at_its_field() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let upside_down = "&lot-1-stain-1-from=20+in&lot-1-stain-1-to=10+in&lot-1-stain-1-left=1+in\
                       &lot-1-stain-1-right=5+in&lot-1-hem";
    let cases: &[(&str, &str, &str, &[&str])] = &[
        ("wanted", "wanted=60+yd", "wanted=", &[]),
        ("wanted", "wanted=60+yd", "wanted=6000+yd", &["216000 in", "1 in", "36000 in"]),
        ("strip", "strip=1.5+in", "strip=9+in", &["9 in", "1/4 in", "6 in"]),
        ("least", "least=12+in", "least=1+in", &["1 in", "2 in", "240 in"]),
        ("way", "way=cut", "way=chewed", &["strips"]),
        ("lot-1-count", "lot-1-count=3", "lot-1-count=121", &["121", "1", "120"]),
        ("lot-1-hem", "lot-1-hem=1+in", "lot-1-hem=40+in", &["40 in", "0 in", "33 in"]),
        ("lot-1-stain-1-to", "&lot-1-hem", upside_down, &["10 in", "20 in", "96 in"]),
    ];
    for &(field, from, to, values) in cases {
        let page = browser.get(&ASK.replace(from, to)).await.is(422);
        page.only_error_at(field);
        page.error_names(field, values);
        assert!(page.all("figure.drawing").is_empty());
    }
    let page = browser.get(&ASK.replace("wanted=60+yd", "wanted=1000+yd")).await.is(422);
    assert!(page.error("wanted").starts_with("These sheets give at most "), "{}", page.error("wanted"));
    assert_eq!(page.field("wanted"), "1000 yd");
    let page = browser
        .get("/cloth/sheets?asked=yes&wanted=60+yd&strip=1.5+in&join=2+in&least=12+in&way=cut")
        .await
        .is(422);
    assert_eq!(
        page.error("lot-1-bundle"),
        "Choose a bundle, or type how many sheets there are and how large they are."
    );
}
