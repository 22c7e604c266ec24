//! Second factors through the pages: codes of an app, recovery codes, passkeys as far as no authenticator is needed, what is
//! asked for when somebody signs in, and what is done when a factor is lost.
use jiff::ToSpan as _;
use thrumhall::clock::Clock;
use thrumhall::web::Config;
use totp_rs::{Builder, Secret};

use super::sessions::{PHRASE, set_up, sign_in, volunteer};
use crate::support::browser::{Browser, Page, World};
use crate::support::evening;
use crate::support::program::{database, thrumhall};

/// How many recovery codes are given at a time.
const RECOVERY_CODES: usize = 10;

/// What an app with this secret shows so many seconds from now.
fn shown(world: &World, secret: &str, seconds: i64) -> String {
    let app = Builder::new().with_secret(Secret::try_from_base32(secret).unwrap()).with_account_name("-");
    app.build().unwrap().generate((world.clock.now().as_second() + seconds).unsigned_abs()).to_string()
}

/// Sets an app up: its secret, and the recovery codes that are given with it.
async fn with_app(world: &World, browser: &mut Browser) -> (String, Vec<String>) {
    let to = browser.post("/me/second-factor/codes", &[]).await.to().to_owned();
    let page = browser.get(&to).await.is(200);
    let secret = page.one(".key").replace(' ', "");
    assert!(page.attr("main .sheet a", "href").contains(&format!("secret={secret}")));
    let wrong = [("code", "000000")];
    browser.post("/me/second-factor/codes/confirm", &wrong).await.is(422).only_error_at("code");
    let code = shown(world, &secret, 0);
    let page = browser.post("/me/second-factor/codes/confirm", &[("code", &code)]).await.is(200);
    // A secret that is in use is never shown again.
    assert_eq!(browser.get("/me/second-factor/codes").await.to(), "/me/second-factor");
    (secret, page.all(".recovery-codes li"))
}

async fn second(browser: &mut Browser, code: &str) -> Page {
    browser.post("/sign-in/second-step", &[("code", code)]).await
}

/// Signs in as far as the second step.
async fn half_way(world: &World, name: &str) -> Browser {
    let (browser, page) = sign_in(world, name, PHRASE).await;
    assert_eq!(page.to(), "/sign-in/second-step");
    browser
}

async fn is_in(browser: &mut Browser) -> bool {
    browser.get("/me").await.status == 200
}

#[tokio::test]
async fn with_an_app_the_passphrase_alone_opens_nothing_and_a_code_opens_once() {
    let (world, mut ana) = set_up(Config::default()).await;
    let (secret, recovery) = with_app(&world, &mut ana).await;
    assert_eq!(recovery.len(), RECOVERY_CODES);
    let fields = [("name", "Ana Brook"), ("passphrase", PHRASE), ("to", "/frames?x=1")];
    let mut browser = world.stranger();
    assert_eq!(browser.post("/sign-in", &fields).await.to(), "/sign-in/second-step");
    assert!(!is_in(&mut browser).await, "half-way is in");
    let step = browser.get("/sign-in/second-step").await.is(200);
    assert!(!step.text.contains("data-passkey="), "somebody without passkeys is asked for one");
    second(&mut browser, "").await.is(422).only_error_at("code");
    let used = shown(&world, &secret, 0);
    second(&mut browser, &used).await.is(422).only_error_at("code");
    second(&mut browser, &shown(&world, &secret, 60)).await.is(422).only_error_at("code");
    let mut twin = browser.clone();
    let next = shown(&world, &secret, 30);
    assert_eq!(second(&mut browser, &next).await.to(), "/frames?x=1", "the way back is lost");
    assert!(is_in(&mut browser).await);
    // The half-way sign-in is over, and so is the code.
    assert!(second(&mut twin, &next).await.to().starts_with("/sign-in?"));
    second(&mut half_way(&world, "Ana Brook").await, &next).await.is(422);
    // Time goes on, and with it the app.
    world.clock.set(evening() + 1.minute());
    let mut later = half_way(&world, "Ana Brook").await;
    let code = shown(&world, &secret, 0);
    assert_eq!(second(&mut later, &code).await.to(), "/");
}

#[tokio::test]
async fn half_way_ends_after_five_tries_at_once_and_after_ten_minutes() {
    let (world, mut ana) = set_up(Config::default()).await;
    let (secret, recovery) = with_app(&world, &mut ana).await;
    let browser = half_way(&world, "Ana Brook").await;
    let mut tries = Vec::new();
    for n in 0..12 {
        let mut browser = browser.clone();
        tries.push(tokio::spawn(
            async move { second(&mut browser, &format!("00000{}", n % 10)).await.status },
        ));
    }
    let mut looked_at = 0;
    for one in tries {
        looked_at += usize::from(one.await.unwrap() == 422);
    }
    assert_eq!(looked_at, 5, "tries at once are not counted before they are looked at");
    let mut browser = browser;
    assert!(
        second(&mut browser, &recovery[0]).await.to().starts_with("/sign-in?"),
        "a right one comes too late"
    );
    assert!(!is_in(&mut browser).await);
    let mut slow = half_way(&world, "Ana Brook").await;
    world.clock.set(evening() + 10.minutes());
    let code = shown(&world, &secret, 0);
    assert!(second(&mut slow, &code).await.to().starts_with("/sign-in?"));
    assert!(slow.get("/sign-in/second-step").await.to().starts_with("/sign-in?"));
    assert!(!is_in(&mut slow).await);
}

#[tokio::test]
async fn recovery_codes_open_once_and_new_ones_end_the_old() {
    let (world, mut ana) = set_up(Config::default()).await;
    let (_, codes) = with_app(&world, &mut ana).await;
    let mut browser = half_way(&world, "Ana Brook").await;
    assert_eq!(second(&mut browser, &codes[3].to_lowercase()).await.to(), "/");
    assert!(browser.get("/me/second-factor").await.text.contains("9 left"));
    let mut again = half_way(&world, "Ana Brook").await;
    second(&mut again, &codes[3]).await.is(422);
    let new = browser.post("/me/second-factor/recovery", &[]).await.is(200).all(".recovery-codes li");
    assert_eq!(new.len(), RECOVERY_CODES);
    second(&mut again, &codes[4]).await.is(422);
    assert_eq!(second(&mut again, &new[0]).await.to(), "/");
    // Without a factor there is nothing to recover.
    browser.post("/me/second-factor/codes/remove", &[]).await.is(303);
    assert_eq!(browser.post("/me/second-factor/recovery", &[]).await.to(), "/me/second-factor");
    assert_eq!(sign_in(&world, "Ana Brook", PHRASE).await.1.to(), "/");
}

#[tokio::test]
async fn a_session_that_was_left_open_can_change_no_factor() {
    let (world, mut ana) = set_up(Config::default()).await;
    world.clock.set(evening() + 15.minutes() + 1.microsecond());
    for path in ["/me/second-factor/codes", "/me/second-factor/codes/confirm", "/me/second-factor/recovery"] {
        assert_eq!(ana.post(path, &[]).await.to(), "/me/second-factor");
    }
    ana.post("/me/second-factor/passkeys/begin", &[]).await.is(409);
    let page = ana.get("/me/second-factor").await.is(200);
    assert!(page.all("main form button").is_empty(), "{}", page.text);
    let (mut fresh, _) = sign_in(&world, "Ana Brook", PHRASE).await;
    with_app(&world, &mut fresh).await;
    ana.post("/me/second-factor/codes/remove", &[]).await.is(303);
    assert_eq!(ana.get("/me/second-factor/codes").await.to(), "/me/second-factor");
    half_way(&world, "Ana Brook").await;
}

#[tokio::test]
async fn where_it_is_required_nothing_else_opens_before_it_is_set_up() {
    let (world, mut ana) = set_up(Config::default()).await;
    volunteer(&world, &mut ana, "Viggo").await;
    let (mut viggo, _) = sign_in(&world, "Viggo", PHRASE).await;
    let (_, mut weaver) = world.weaver().await;
    let page = ana.get("/workroom").await;
    let mut fields: Vec<(&str, String)> =
        ["workroom", "scale", "tape", "revision"].map(|name| (name, page.field(name))).into();
    fields.extend([("time_zone", "UTC".into()), ("units", "metric".into()), ("second_factor", "yes".into())]);
    let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
    with_app(&world, &mut ana).await;
    ana.post("/workroom", &fields).await.is(303);
    assert!(ana.get("/workroom").await.is(200).text.contains("value=\"yes\" checked"));
    for path in ["/cloth", "/me", "/frames"] {
        assert_eq!(viggo.get(path).await.to(), "/me/second-factor", "{path}");
    }
    let act = [("kind", "percale"), ("colour", "navy"), ("weight", "2 lb"), ("washed", "yes")];
    viggo.post("/cloth/weigh-in", &act).await.is(403);
    weaver.get("/my").await.is(200);
    viggo.get("/me/second-factor").await.is(200);
    with_app(&world, &mut viggo).await;
    viggo.get("/cloth").await.is(200);
    viggo.post("/me/second-factor/codes/remove", &[]).await.is(303);
    assert_eq!(viggo.get("/cloth").await.to(), "/me/second-factor");
}

#[tokio::test]
async fn another_instructor_takes_a_lost_factor_off_and_the_record_says_so() {
    let (world, mut ana) = set_up(Config::default()).await;
    let viggo_page = volunteer(&world, &mut ana, "Viggo").await;
    let (mut viggo, _) = sign_in(&world, "Viggo", PHRASE).await;
    with_app(&world, &mut viggo).await;
    assert!(ana.get(&format!("{viggo_page}/second-factor")).await.is(200).all("main button").len() == 1);
    ana.post(&format!("{viggo_page}/second-factor/remove"), &[]).await.is(303);
    assert!(!is_in(&mut viggo).await, "the lost device is still signed in");
    assert_eq!(sign_in(&world, "Viggo", PHRASE).await.1.to(), "/");
    assert!(ana.get("/record").await.text.contains("removed Viggo’s second factor"));
    // One's own go on one's own page, after signing in; nobody else's but through an instructor.
    let me = ana.get("/people").await.attr("tbody th a", "href");
    ana.post(&format!("{me}/second-factor/remove"), &[]).await.is(400);
    let (mut viggo, _) = sign_in(&world, "Viggo", PHRASE).await;
    viggo.post(&format!("{me}/second-factor/remove"), &[]).await.is(403);
}

#[tokio::test]
async fn whoever_cant_get_in_any_more_is_let_in_by_a_link_that_works_once() {
    let (world, mut ana) = set_up(Config::default()).await;
    let (_, recovery) = with_app(&world, &mut ana).await;
    let [flag, place] = database(world.store());
    world.clock.set(Clock::System.now());
    let link = async |more: &[&str]| {
        let ran = thrumhall(&[&["let-in", "Ana Brook", &flag, &place], more].concat());
        assert_eq!(ran.code, Some(0), "{ran:?}");
        let link = ran.lines().pop().unwrap().to_owned();
        link[link.find("/let-in/").unwrap()..].to_owned()
    };
    let first = link(&[]).await;
    let mut browser = world.stranger();
    assert!(browser.get(&first).await.is(200).one("h1").contains("Ana Brook"));
    browser
        .post(&first, &[("passphrase", "short"), ("again", "short")])
        .await
        .is(422)
        .only_error_at("passphrase");
    let new = "a heron on the pier at dusk";
    let fields = [("passphrase", new), ("again", new)];
    browser.post(&first, &fields).await.is(303);
    browser.post(&first, &fields).await.is(404);
    browser.get(&first).await.is(404);
    assert!(!is_in(&mut ana).await, "the devices from before are still signed in");
    sign_in(&world, "Ana Brook", PHRASE).await.1.is(422);
    // The second step stays what it was …
    let (mut ana, page) = sign_in(&world, "Ana Brook", new).await;
    assert_eq!(page.to(), "/sign-in/second-step");
    second(&mut ana, &recovery[0]).await.is(303);
    // … unless that is lost, too.
    let second = link(&["--without-second-factor"]).await;
    browser.post(&second, &fields).await.is(303);
    assert_eq!(sign_in(&world, "Ana Brook", new).await.1.to(), "/");
}

#[tokio::test]
async fn passkeys_are_asked_for_only_where_browsers_have_them_and_rubbish_opens_nothing() {
    // Kept to the end: its database goes with it.
    let (_plain, mut ana) = set_up(Config::default()).await;
    // The tests' address is plain http.
    ana.post("/me/second-factor/passkeys/begin", &[]).await.is(409);
    let page = ana.get("/me/second-factor").await.is(200);
    assert!(page.text.contains("http://loft.test") && !page.text.contains("data-passkey="));

    let tls = Config { public_url: Some("https://rugs.example".into()), ..Config::default() };
    let (world, mut ana) = set_up(tls).await;
    let begun: serde_json::Value =
        serde_json::from_str(&ana.post("/me/second-factor/passkeys/begin", &[]).await.is(200).text).unwrap();
    assert_eq!(begun["ask"]["rp"]["id"], "rugs.example");
    assert_eq!(begun["ask"]["user"]["name"], "Ana Brook");
    let token = begun["begun"].as_str().unwrap().to_owned();
    for credential in [
        "",
        "{}",
        "[]",
        "{\"rawId\":\"AA\",\"response\":{\"clientDataJSON\":\"AA\",\"attestationObject\":\"AA\"}}",
    ] {
        let fields = [("begun", token.as_str()), ("credential", credential), ("name", "mine")];
        let page = ana.post("/me/second-factor/passkeys", &fields).await.is(422);
        assert_eq!(page.field("name"), "mine");
    }
    let mut stranger = world.stranger();
    let begun: serde_json::Value =
        serde_json::from_str(&stranger.post("/sign-in/passkey/begin", &[]).await.is(200).text).unwrap();
    assert_eq!(begun["ask"]["userVerification"], "required");
    assert_eq!(begun["ask"]["allowCredentials"], serde_json::json!([]));
    let other: serde_json::Value =
        serde_json::from_str(&stranger.post("/sign-in/passkey/begin", &[]).await.is(200).text).unwrap();
    assert_ne!(begun["ask"]["challenge"], other["ask"]["challenge"]);
    for credential in [
        "",
        "{}",
        "{\"rawId\":\"AA\",\"response\":{\"clientDataJSON\":\"AA\",\"authenticatorData\":\"AA\",\"signature\":\"AA\"}}",
    ] {
        let fields = [("begun", begun["begun"].as_str().unwrap()), ("credential", credential)];
        assert!(stranger.post("/sign-in/passkey", &fields).await.to().starts_with("/sign-in?"));
        assert!(!is_in(&mut stranger).await);
    }
}

/// Asks for a passkey's question from an address.
async fn ask_from(mut browser: Browser, peer: &str) -> u16 {
    let request = browser.request("POST", "/sign-in/passkey/begin").header("sec-fetch-site", "same-origin");
    let mut request = request.body(axum::body::Body::empty()).unwrap();
    let peer: std::net::SocketAddr = format!("{peer}:40123").parse().unwrap();
    request.extensions_mut().insert(axum::extract::ConnectInfo(peer));
    browser.send(request).await.status.as_u16()
}

#[tokio::test]
async fn questions_for_a_passkey_are_counted_by_address() {
    let tls = Config { public_url: Some("https://rugs.example".into()), ..Config::default() };
    let world = World::with(tls).await;
    let mut asking = tokio::task::JoinSet::new();
    for _ in 0..40 {
        asking.spawn(ask_from(world.stranger(), "198.51.100.7"));
    }
    let all = asking.join_all().await;
    let answered = |status| all.iter().filter(|one| **one == status).count();
    assert_eq!((answered(200), answered(429)), (30, 10), "{all:?}");
    assert_eq!(ask_from(world.stranger(), "198.51.100.8").await, 200, "another address is shut out");
    world.clock.set(evening() + 15.minutes() - 1.microsecond());
    assert_eq!(ask_from(world.stranger(), "198.51.100.7").await, 429);
    world.clock.set(evening() + 15.minutes());
    assert_eq!(ask_from(world.stranger(), "198.51.100.7").await, 200);
}
