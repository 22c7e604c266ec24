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

/// What somebody is given by an instructor before they choose their own.
const GIVEN: &str = "seven herrings for a lamp";

/// Adds a volunteer with [`GIVEN`]: their page.
async fn given(instructor: &mut Browser, name: &str) -> String {
    let typed = [("role", "volunteer"), ("name", name), ("passphrase", GIVEN), ("again", GIVEN)];
    instructor.post("/people", &typed).await.to().split('?').next().unwrap().to_owned()
}

/// Adds a volunteer who chose [`PHRASE`]: their page.
pub(super) async fn volunteer(world: &World, instructor: &mut Browser, name: &str) -> String {
    let path = given(instructor, name).await;
    let mut me = sign_in(world, name, GIVEN).await.0;
    let own = [("old", GIVEN), ("passphrase", PHRASE), ("again", PHRASE)];
    assert_eq!(me.post("/me/passphrase", &own).await.to(), "/me?said=passphrase");
    path
}

/// A weaver's personal link.
async fn weavers_link(instructor: &mut Browser) -> String {
    let to = instructor.post("/people", &[("role", "weaver"), ("name", "Wanda")]).await.to().to_owned();
    let link = format!("{}/link", to.split('?').next().unwrap());
    let link = instructor.post(&link, &[]).await.is(200).attr("main a[href*='/enter/']", "href");
    link[link.find("/enter/").unwrap()..].to_owned()
}

/// The attributes of each cookie that an answer sets, that of the session first: its name, then each in small letters.
fn cookies(page: &Page) -> Vec<Vec<String>> {
    let mut all: Vec<_> = page
        .headers
        .get_all(header::SET_COOKIE)
        .iter()
        .map(|set| attributes(set.to_str().unwrap()))
        .collect();
    all.sort();
    all
}

fn attributes(set: &str) -> Vec<String> {
    let mut parts = set.split("; ");
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
    let entering = world.stranger().follow_link(&link).await.is(303);
    let out = again.post("/sign-out", &[]).await.is(303);
    (world, [setting_up, signing_in.is(303), entering], out)
}

#[tokio::test]
async fn the_cookie_is_out_of_reach_of_scripts_other_sites_and_other_hosts() {
    let days = |days: i64| format!("max-age={}", days * 24 * 3600);
    let (year, longer) = (days(365), days(400));
    let tls =
        Config { public_url: Some("https://rugs.example".into()), behind_proxy: true, ..Config::default() };
    for (config, name, secure) in [(Config::default(), "thrumhall", false), (tls, "__Host-thrumhall", true)] {
        let (_, ways, out) = each_way(config).await;
        let device = format!("{name}-device");
        // On a device that others may use the session goes with the browser.
        let ages = [None, None, Some(&year)];
        for (page, age) in ways.iter().zip(ages) {
            let told = |name: &str, age: Option<&String>| {
                let mut expected = vec![name.to_owned(), "httponly".into()];
                expected.extend(age.cloned());
                expected.extend(["path=/".into(), "samesite=lax".into()]);
                expected.extend(secure.then(|| "secure".to_owned()));
                expected
            };
            let mut expected = vec![told(name, age)];
            expected.extend(age.is_none().then(|| told(&device, Some(&longer))));
            assert_eq!(cookies(page), expected);
            assert!(page.headers[header::CACHE_CONTROL].to_str().unwrap().contains("no-store"));
        }
        // A browser drops it only when told with the attributes that it was set with.
        let [dropped] = cookies(&out).try_into().unwrap();
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
async fn a_session_ends_when_it_is_not_used() {
    let (world, mut founder) = set_up(Config::default()).await;
    let link = weavers_link(&mut founder).await;
    volunteer(&world, &mut founder, "Viggo").await;
    let (mut helper, _) = sign_in(&world, "Viggo", PHRASE).await;
    let mut own = world.stranger();
    let fields = [("name", "Ana Brook"), ("passphrase", PHRASE), ("own-device", "yes")];
    own.post("/sign-in", &fields).await.is(303);
    let mut weaver = world.stranger();
    weaver.follow_link(&link).await.is(303);
    let out = "/sign-in?to=%2Fme";
    let at = |moment: Timestamp| world.clock.set(moment);
    // Used now and then it goes on; an hour and a half before it would end it was used last.
    for hours in [5, 10, 20, 21] {
        at(evening() + hours.hours());
        founder.get("/me").await.is(200);
    }
    assert_eq!(helper.get("/me").await.to(), out, "a session outlives twelve idle hours");
    helper.post("/me/calendar", &[]).await.is(401);
    at(evening() + 33.hours() - 1.microsecond());
    founder.clone().get("/me").await.is(200);
    let days = |days: i64| evening() + 33.hours() + (days * 24).hours();
    at(days(1));
    assert_eq!(founder.get("/me").await.to(), out);
    // One's own device, within thirty days; a weaver's, within ninety.
    for (browser, idle, most) in [(&mut own, 30, 180), (&mut weaver, 90, 365)] {
        let mut day = idle - 2;
        while day < most - 2 {
            at(days(day));
            browser.get("/me").await.is(200);
            day += idle - 1;
        }
        at(days(most));
        assert_eq!(browser.get("/me").await.to(), out, "a session lasts for ever");
        at(evening());
    }
}

#[tokio::test]
async fn whoever_was_given_a_passphrase_chooses_their_own_first() {
    let (world, mut ana) = set_up(Config::default()).await;
    let path = given(&mut ana, "Viggo").await;
    let (mut viggo, page) = sign_in(&world, "Viggo", GIVEN).await;
    page.is(303);
    for page in ["/cloth", "/cloth/weigh-in", "/me"] {
        assert_eq!(
            viggo.get(page).await.to(),
            "/me/passphrase",
            "{page} opens to a passphrase that two know"
        );
    }
    viggo.post("/me/calendar", &[]).await.is(403);
    viggo.get("/me/passphrase").await.is(200);
    let choose = |phrase| [("old", GIVEN), ("passphrase", phrase), ("again", phrase)];
    viggo.post("/me/passphrase", &choose(GIVEN)).await.is(422).only_error_at("passphrase");
    assert_eq!(viggo.post("/me/passphrase", &choose(PHRASE)).await.to(), "/me?said=passphrase");
    viggo.get("/cloth").await.is(200);
    sign_in(&world, "Viggo", GIVEN).await.1.is(422);
    // It is the same when an instructor gives another one.
    ana.post(&format!("{path}/passphrase"), &[("passphrase", GIVEN), ("again", GIVEN)]).await.is(303);
    let mut viggo = sign_in(&world, "Viggo", GIVEN).await.0;
    assert_eq!(viggo.get("/cloth").await.to(), "/me/passphrase");
}

#[tokio::test]
async fn ones_sessions_are_listed_and_ended_one_by_one_or_all() {
    let (world, mut desk) = set_up(Config::default()).await;
    let mut phone = sign_in(&world, "Ana Brook", PHRASE).await.0;
    let mut third = sign_in(&world, "Ana Brook", PHRASE).await.0;
    let page = desk.get("/me").await.is(200);
    assert_eq!(page.all("form[action='/me/sessions/end']").len(), 3);
    let others = page.all("form[action='/me/sessions/end'] button").len();
    assert_eq!(others, 2, "the one that asks is ended by signing out");
    assert!(!page.text.contains(&secret_of(&phone)), "a secret is shown");
    // Somebody else's can't be ended, whatever they are called.
    let handle = page.field("session");
    let (_, mut other) = world.weaver().await;
    other.post("/me/sessions/end", &[("session", &handle)]).await.is(404);
    assert_eq!(
        desk.post("/me/sessions/end", &[("session", &handle)]).await.to(),
        "/me?said=signed-out-there"
    );
    let open = async |browser: &mut Browser| browser.get("/me").await.status.as_u16() == 200;
    let open_now = [open(&mut desk).await, open(&mut phone).await, open(&mut third).await];
    assert_eq!(open_now.into_iter().filter(|open| *open).count(), 2);
    assert!(open_now[0]);
    assert_eq!(desk.post("/me/sessions/end-all", &[]).await.to(), "/sign-in?said=signed-out-everywhere");
    for browser in [&mut desk, &mut phone, &mut third] {
        assert!(!open(browser).await);
    }
    assert!(open(&mut other).await);
    // Entering again on one device ends what it held.
    let (mut again, _) = sign_in(&world, "Ana Brook", PHRASE).await;
    let mut held = again.clone();
    again.post("/sign-in", &[("name", "Ana Brook"), ("passphrase", PHRASE)]).await.is(303);
    assert!(open(&mut again).await && !open(&mut held).await);
}

fn secret_of(browser: &Browser) -> String {
    browser.cookie.clone().unwrap().split_once('=').unwrap().1.to_owned()
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
    let path = volunteer(&world, &mut ana, "Viggo").await;
    let (mut desk, _) = sign_in(&world, "Viggo", PHRASE).await;
    let (mut phone, _) = sign_in(&world, "Viggo", PHRASE).await;
    let fresh = "five words of linen, then";
    let change = |old| [("old", old), ("passphrase", fresh), ("again", fresh)];
    let wrong = desk.post("/me/passphrase", &change("not the one it was")).await.is(422);
    wrong.error("old");
    phone.get("/me").await.is(200);
    let mut before = desk.clone();
    let changed = desk.post("/me/passphrase", &change(PHRASE)).await;
    assert_eq!(changed.to(), "/me?said=passphrase");
    for (who, browser) in [("the other device", &mut phone), ("the old session of this one", &mut before)] {
        assert!(browser.get("/me").await.to().starts_with("/sign-in"), "{who} is still signed in");
    }
    desk.get("/me").await.is(200);
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

/// Source: W3C Clear Site Data, 3.1: what a browser keeps for us besides cookies goes with this answer.
#[tokio::test]
async fn signing_out_clears_the_device() {
    let world = World::new().await;
    let (_, mut volunteer) = world.volunteer().await;
    let page = volunteer.post("/sign-out", &[]).await.is(303);
    assert_eq!(page.headers["clear-site-data"], "\"storage\"");
    assert!(volunteer.cookie.is_none());
}

/// Source: W3C Service Workers, 6.1, Service-Worker-Allowed: without it a script opens only what lies beside it.
#[tokio::test]
async fn what_opens_without_a_network_is_the_scale_alone_and_names_nobody() {
    let world = World::new().await;
    let (_, mut volunteer) = world.volunteer().await;
    let script = volunteer.get("/static/weigh-in-offline.js").await.is(200);
    assert_eq!(script.headers["service-worker-allowed"], "/cloth/weigh-in");
    assert!(!volunteer.get("/static/app.js").await.headers.contains_key("service-worker-allowed"));
    let kept = volunteer.get("/cloth/weigh-in?offline=yes").await.is(200);
    assert!(!kept.text.contains("Viggo") && !kept.text.contains("sign-out"), "{}", kept.text);
    assert_eq!(kept.one("h1"), "Weigh in");
    // Another's weigh-ins that wait on a device can be told from one's own.
    let (_, mut other) = world.instructor().await;
    let who = |page: &crate::support::browser::Page| page.attr("[data-weigh-in]", "data-who");
    assert_ne!(who(&kept), who(&other.get("/cloth/weigh-in").await));
    assert_eq!(who(&kept), who(&volunteer.get("/cloth/weigh-in").await));
}

#[tokio::test]
async fn tables_begin_with_the_mark_of_utf_8() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    for path in
        ["/record.csv", "/cloth.csv", "/loans.csv", "/frames.csv", "/cloth/went.csv", "/cloth/import.csv"]
    {
        let bytes = instructor.file(path).await;
        assert!(bytes.starts_with(b"\xef\xbb\xbf") && !bytes[3..].starts_with(b"\xef\xbb\xbf"), "{path}");
    }
}
