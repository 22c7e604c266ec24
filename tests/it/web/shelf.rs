//! The shelf: found through, turned page by page, and as much of it as a weaver sees.
use axum::http::header;

use super::cloth::weigh;
use crate::support::browser::{Page, World};

#[tokio::test]
async fn the_shelf_is_found_through_and_taken_away() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    weigh(&mut browser, &[("note", "=from the hotel")]).await;
    weigh(&mut browser, &[("kind", "denim"), ("colour", "mustard"), ("washed", "no"), ("weight", "1 kg")])
        .await;
    let tags = |page: Page| page.all("section:first-of-type tbody th");
    assert_eq!(tags(browser.get("/cloth").await.is(200)), ["2", "1"]);
    assert_eq!(tags(browser.get("/cloth?q=NAVY+sheet").await), ["1"]);
    assert_eq!(tags(browser.get("/cloth?kind=denim").await), ["2"]);
    assert_eq!(tags(browser.get("/cloth?colour=blue&state=ready").await), ["1"]);
    // Words that mean nothing filter nothing, however odd.
    assert_eq!(tags(browser.get("/cloth?kind=velvet&state=%7e&page=-9").await), ["2", "1"]);
    let page = browser.get("/cloth?q=%25&kind=denim").await;
    assert_eq!(page.one(".empty h2"), "Nothing fits");
    assert_eq!((page.field("q"), page.attr("#kind option[selected]", "value")), ("%".into(), "denim".into()));
    let page = browser.get("/cloth").await;
    assert_eq!(page.all(".stat b"), ["2 lb 3 1/2 oz", "2 lb 3 1/2 oz", "2"]);

    let table = browser.get("/cloth.csv?colour=blue").await.is(200);
    assert_eq!(table.headers[header::CONTENT_TYPE], "text/csv; charset=utf-8");
    let wanted = "1,percale,Navy,#22305a,blue,ready,1006.408,1006.408,,,2026-10-07T18:00:00-07:00,'=from the hotel,,,,,,,,,";
    assert_eq!(table.table().lines().skip(1).collect::<Vec<_>>(), [wanted]);
}

#[tokio::test]
async fn a_weaver_sees_the_shelf_without_names_or_acts() {
    let world = World::new().await;
    let (_, mut volunteer) = world.volunteer().await;
    let bundle = weigh(&mut volunteer, &[("note", "kept for Ottilie"), ("source", "Magda’s attic")]).await;
    let (_, mut weaver) = world.weaver().await;
    let page = weaver.get("/cloth").await.is(200);
    assert_eq!(page.all("section:first-of-type tbody th"), ["1"]);
    assert!(!page.text.contains("Ottilie") && !page.text.contains("Viggo"), "{}", page.text);
    // The card of colours is everybody's.
    let acts = "main a[href^='/cloth/']:not([href='/cloth/colours']), main form[method=post]";
    assert!(page.all(acts).is_empty());
    for named in ["ottilie", "magda", "attic"] {
        let path = format!("/cloth?q={named}");
        assert_eq!(weaver.get(&path).await.one(".empty h2"), "Nothing fits", "{named}");
        assert_eq!(volunteer.get(&path).await.all("section:first-of-type tbody th"), ["1"], "{named}");
    }
    weaver.get(&bundle).await.is(403);
    weaver.get("/cloth.csv").await.is(403);
}

#[tokio::test]
async fn a_long_shelf_is_turned_page_by_page() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    for _ in 0..101 {
        weigh(&mut browser, &[]).await;
    }
    let page = browser.get("/cloth?q=navy").await;
    assert_eq!(page.all("section:first-of-type tbody tr").len(), 100);
    let older = page.attr(".pages a", "href");
    let page = browser.get(&older).await;
    assert_eq!(page.all("section:first-of-type tbody th"), ["1"]);
    assert_eq!(page.attr(".pages a", "href"), "/cloth?q=navy");
    assert_eq!(page.all(".stat b")[2], "101");
}
