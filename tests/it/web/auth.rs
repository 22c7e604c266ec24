//! First start, signing in, personal links.
use axum::body::Body;
use axum::http::header;
use jiff::ToSpan as _;
use thrumhall::secrets;
use thrumhall::store::Actor;

use crate::support::browser::World;
use crate::support::{evening, noon};

async fn with_setup_link(world: &World) -> String {
    let secret = secrets::secret();
    let mut tx = world.store().write(Actor { person: None, at: noon() }).await.unwrap();
    tx.set_setup_link(&secrets::secret_hash(&secret)).await.unwrap();
    tx.commit().await.unwrap();
    format!("/setup/{secret}")
}

const SETUP: &[(&str, &str)] = &[
    ("workroom", "Net Loft"),
    ("units", "metric"),
    ("time_zone", "Europe/London"),
    ("name", "Ana Brook"),
    ("passphrase", "four words of wool"),
    ("again", "four words of wool"),
];

#[tokio::test]
async fn the_first_instructor_sets_up_once_and_can_sign_in_again() {
    let world = World::empty().await;
    let link = with_setup_link(&world).await;
    let mut browser = world.stranger();
    browser.get(&link).await.is(200);
    assert_eq!(browser.post(&link, SETUP).await.to(), "/today");
    assert_eq!(browser.get("/people").await.is(200).one("tbody th"), "Ana Brook");
    browser.get(&link).await.is(404);

    browser.post("/sign-out", &[]).await.is(303);
    assert_eq!(browser.get("/people").await.to(), "/sign-in?to=%2Fpeople");
    let typed = [("name", "ana  brook"), ("passphrase", "four words of wool"), ("to", "/people")];
    let page = browser.post("/sign-in", &typed).await;
    assert_eq!(page.to(), "/people");
    let cookie = page.headers[header::SET_COOKIE].to_str().unwrap();
    assert!(
        cookie.contains("HttpOnly") && cookie.contains("SameSite=Lax") && cookie.contains("Path=/"),
        "{cookie}"
    );
    browser.get("/people").await.is(200);
}

#[tokio::test]
async fn wrong_setup_comes_back_with_what_was_typed() {
    let world = World::empty().await;
    let link = with_setup_link(&world).await;
    let typed = [
        ("workroom", "Net Loft"),
        ("time_zone", "Atlantis/Deep"),
        ("name", ""),
        ("passphrase", "short"),
        ("again", "short"),
    ];
    let page = world.stranger().post(&link, &typed).await.is(422);
    assert_eq!(page.field("workroom"), "Net Loft");
    assert_eq!(page.wrong_fields(), ["units", "time_zone", "name", "passphrase"]);
    page.error_names("passphrase", &["5", "15"]);
}

#[tokio::test]
async fn tries_are_limited_by_name_and_the_right_passphrase_waits_too() {
    let world = World::empty().await;
    let link = with_setup_link(&world).await;
    world.stranger().post(&link, SETUP).await.is(303);
    let mut browser = world.stranger();
    for _ in 0..5 {
        let page = browser
            .post("/sign-in", &[("name", "Ana Brook"), ("passphrase", "not this one, no")])
            .await
            .is(422);
        assert!(page.error("name").starts_with("This name and this passphrase"));
        assert_eq!(page.field("name"), "Ana Brook");
    }
    let right = [("name", "Ana Brook"), ("passphrase", "four words of wool")];
    let page = browser.post("/sign-in", &right).await.is(429);
    assert_eq!(page.headers[header::RETRY_AFTER], "960");
    world.clock.set(evening() + 16.minutes());
    browser.post("/sign-in", &right).await.is(303);
}

#[tokio::test]
async fn a_personal_link_opens_the_weavers_page_and_leaves_the_address() {
    let world = World::new().await;
    let (weaver, _) = world.weaver().await;
    let (_, mut instructor) = world.instructor().await;
    let page = instructor.post(&format!("/people/{weaver}/link"), &[]).await.is(200);
    let link = page.attr("main a[href*='/enter/']", "href");
    let path = link.strip_prefix("http://loft.test").unwrap();
    let mut phone = world.stranger();
    // Whatever looks at the link, for a preview or for safety, opens nothing by it.
    for method in ["GET", "HEAD"] {
        let request = phone.request(method, path).body(Body::empty()).unwrap();
        let page = phone.send(request).await.is(200);
        assert!(page.headers.get(header::SET_COOKIE).is_none() && phone.cookie.is_none(), "{method} opens");
        assert!(!page.text.contains("Wanda"), "a preview shows whose it is");
    }
    let button = phone.get(path).await.attr("main form", "action");
    assert_eq!(phone.post(&button, &[]).await.to(), "/");
    assert_eq!(phone.get("/").await.to(), "/my");

    instructor.post(&format!("/people/{weaver}/link"), &[]).await.is(200);
    world.stranger().get(path).await.is(404);
    world.stranger().post(path, &[]).await.is(404);
    assert_eq!(phone.get("/").await.to(), "/sign-in", "the old link's session ends with it");
}

#[tokio::test]
async fn a_database_that_is_gone_is_said_so() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    world.store().close().await;
    let page = instructor.get("/people").await.is(503);
    assert_eq!(page.one("h1"), "Just a moment");
    assert_eq!(page.headers[header::RETRY_AFTER], "30");
    world.stranger().get("/readyz").await.is(503);
    assert_eq!(world.stranger().get("/healthz").await.is(200).text, "ok\n", "the program lives all the same");
    instructor.get("/static/style.css").await.is(200);
}
