//! Sessions: how long each lasts, what its cookie says, and what ends it.
use axum::http::header;
use jiff::{Timestamp, ToSpan as _};
use thrumhall::secrets;
use thrumhall::store::Actor;
use thrumhall::web::Config;

use crate::support::browser::{Browser, Page, World};
use crate::support::{evening, noon};

pub(super) const PHRASE: &str = "four words of wool";

/// A link that sets the workroom up; each one made puts the one before out of use.
pub(super) async fn setup_link(world: &World) -> String {
    let secret = secrets::secret();
    let mut tx = world.store().write(Actor { person: None, at: noon() }).await.unwrap();
    tx.set_setup_link(&secrets::secret_hash(&secret)).await.unwrap();
    tx.commit().await.unwrap();
    format!("/setup/{secret}")
}

/// What the first instructor types.
pub(super) fn setup(name: &str) -> [(&str, &str); 6] {
    [
        ("workroom", "Net Loft"),
        ("units", "metric"),
        ("time_zone", "America/Los_Angeles"),
        ("name", name),
        ("passphrase", PHRASE),
        ("again", PHRASE),
    ]
}

/// A workroom set up by Ana Brook, who can sign in with [`PHRASE`].
pub(super) async fn set_up(config: Config) -> (World, Browser) {
    let world = World::with(config).await;
    let link = setup_link(&world).await;
    let mut browser = world.stranger();
    browser.post(&link, &setup("Ana Brook")).await.is(303);
    (world, browser)
}

pub(super) async fn sign_in(world: &World, name: &str, phrase: &str) -> (Browser, Page) {
    let mut browser = world.stranger();
    let page = browser.post("/sign-in", &[("name", name), ("passphrase", phrase)]).await;
    (browser, page)
}

/// Adds a volunteer with [`PHRASE`]: their page.
pub(super) async fn volunteer(instructor: &mut Browser, name: &str) -> String {
    let typed = [("role", "volunteer"), ("name", name), ("passphrase", PHRASE), ("again", PHRASE)];
    instructor.post("/people", &typed).await.to().split('?').next().unwrap().to_owned()
}

/// A weaver's personal link.
async fn weavers_link(instructor: &mut Browser) -> String {
    let to = instructor.post("/people", &[("role", "weaver"), ("name", "Wanda")]).await.to().to_owned();
    let link = format!("{}/link", to.split('?').next().unwrap());
    let link = instructor.post(&link, &[]).await.is(200).attr("main a[href*='/enter/']", "href");
    link[link.find("/enter/").unwrap()..].to_owned()
}

/// The attributes of the cookie that an answer sets: its name first, each in small letters.
fn cookie(page: &Page) -> Vec<String> {
    let all: Vec<_> = page.headers.get_all(header::SET_COOKIE).iter().collect();
    assert_eq!(all.len(), 1, "{all:?}");
    let mut parts = all[0].to_str().unwrap().split("; ");
    let name = parts.next().unwrap().split('=').next().unwrap().to_owned();
    let mut attributes: Vec<String> = parts.map(str::to_lowercase).collect();
    attributes.sort();
    [vec![name], attributes].concat()
}

/// Each way in, and the answer that opens a session by it; then that of going out.
async fn each_way(config: Config) -> (World, [Page; 3], Page) {
    let world = World::with(config).await;
    let link = setup_link(&world).await;
    let mut first = world.stranger();
    let setting_up = first.post(&link, &setup("Ana Brook")).await.is(303);
    let (mut again, signing_in) = sign_in(&world, "Ana Brook", PHRASE).await;
    let link = weavers_link(&mut first).await;
    let entering = world.stranger().get(&link).await.is(303);
    let out = again.post("/sign-out", &[]).await.is(303);
    (world, [setting_up, signing_in.is(303), entering], out)
}

#[tokio::test]
async fn the_cookie_is_out_of_reach_of_scripts_other_sites_and_other_hosts() {
    let fortnight = format!("max-age={}", 14 * 24 * 3600);
    let term_and_a_half = format!("max-age={}", 180 * 24 * 3600);
    let tls =
        Config { public_url: Some("https://rugs.example".into()), behind_proxy: true, ..Config::default() };
    for (config, name, secure) in [(Config::default(), "thrumhall", false), (tls, "__Host-thrumhall", true)] {
        let (_, ways, out) = each_way(config).await;
        let ages = [&fortnight, &fortnight, &term_and_a_half];
        for (page, age) in ways.iter().zip(ages) {
            let mut expected = vec![name, "httponly", age, "path=/", "samesite=lax"];
            expected.extend(secure.then_some("secure"));
            assert_eq!(cookie(page), expected);
            assert!(page.headers[header::CACHE_CONTROL].to_str().unwrap().contains("no-store"));
        }
        // A browser drops it only when told with the attributes that it was set with.
        let dropped = cookie(&out);
        assert_eq!((dropped[0].as_str(), dropped.contains(&"secure".to_owned())), (name, secure));
        assert!(
            dropped.contains(&"max-age=0".to_owned()) && dropped.contains(&"path=/".to_owned()),
            "{dropped:?}"
        );
    }
}

#[tokio::test]
async fn behind_tls_a_cookie_that_any_neighbour_could_set_opens_nothing() {
    let tls = Config { public_url: Some("https://rugs.example".into()), ..Config::default() };
    let (_world, mut browser) = set_up(tls).await;
    let held = browser.cookie.clone().unwrap();
    let secret = held.strip_prefix("__Host-thrumhall=").unwrap();
    browser.get("/people").await.is(200);
    browser.cookie = Some(format!("thrumhall={secret}"));
    assert!(browser.get("/people").await.to().starts_with("/sign-in"));
}

/// The session ends when its cookie does, at both sides of the moment.
#[tokio::test]
async fn a_session_lasts_a_fortnight_for_the_staff_and_a_term_and_a_half_for_weavers() {
    let (world, mut founder) = set_up(Config::default()).await;
    let link = weavers_link(&mut founder).await;
    volunteer(&mut founder, "Viggo").await;
    let (mut instructor, _) = sign_in(&world, "Ana Brook", PHRASE).await;
    let (mut helper, _) = sign_in(&world, "Viggo", PHRASE).await;
    let mut weaver = world.stranger();
    weaver.get(&link).await.is(303);
    let days = |days: i64| evening() + (days * 24).hours();
    let at = |moment: Timestamp| world.clock.set(moment);
    at(days(14) - 1.microsecond());
    for browser in [&mut founder, &mut instructor, &mut helper, &mut weaver] {
        browser.get("/me").await.is(200);
    }
    at(days(14));
    for browser in [&mut founder, &mut instructor, &mut helper] {
        assert_eq!(browser.get("/me").await.to(), "/sign-in?to=%2Fme", "a session outlives its fortnight");
        browser.post("/me/calendar", &[]).await.is(401);
    }
    at(days(180) - 1.microsecond());
    weaver.get("/me").await.is(200);
    at(days(180));
    assert_eq!(weaver.get("/me").await.to(), "/sign-in?to=%2Fme");
}

#[tokio::test]
async fn signing_out_ends_the_session_and_no_other() {
    let (world, mut first) = set_up(Config::default()).await;
    let (mut second, _) = sign_in(&world, "Ana Brook", PHRASE).await;
    let mut copied = second.clone();
    assert!(second.post("/sign-out", &[]).await.to().starts_with("/sign-in"));
    assert!(copied.get("/me").await.to().starts_with("/sign-in"), "the cookie still opens after signing out");
    copied.post("/me/calendar", &[]).await.is(401);
    first.get("/me").await.is(200);
    // Nobody is signed in: nothing to end, and nothing wrong.
    world.stranger().post("/sign-out", &[]).await.is(303);
}

#[tokio::test]
async fn a_new_passphrase_shows_every_device_out_and_the_old_one_opens_nothing() {
    let (world, mut ana) = set_up(Config::default()).await;
    let path = volunteer(&mut ana, "Viggo").await;
    let (mut desk, _) = sign_in(&world, "Viggo", PHRASE).await;
    let (mut phone, _) = sign_in(&world, "Viggo", PHRASE).await;
    let fresh = "five words of linen, then";
    let change = |old| [("old", old), ("passphrase", fresh), ("again", fresh)];
    let wrong = desk.post("/me/passphrase", &change("not the one it was")).await.is(422);
    wrong.error("old");
    phone.get("/me").await.is(200);
    let changed = desk.post("/me/passphrase", &change(PHRASE)).await;
    assert!(changed.to().starts_with("/sign-in"));
    for (who, browser) in [("the other device", &mut phone), ("the device itself", &mut desk)] {
        assert!(browser.get("/me").await.to().starts_with("/sign-in"), "{who} is still signed in");
    }
    ana.get("/me").await.is(200);
    sign_in(&world, "Viggo", PHRASE).await.1.is(422);
    let (mut desk, page) = sign_in(&world, "Viggo", fresh).await;
    page.is(303);
    // The same when an instructor sets it.
    let set = [("passphrase", PHRASE), ("again", PHRASE)];
    ana.post(&format!("{path}/passphrase"), &set).await.is(303);
    assert!(
        desk.get("/me").await.to().starts_with("/sign-in"),
        "a session outlives a passphrase that was set anew"
    );
    sign_in(&world, "Viggo", fresh).await.1.is(422);
    sign_in(&world, "Viggo", PHRASE).await.1.is(303);
    ana.get("/me").await.is(200);
}
