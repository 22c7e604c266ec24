//! What answers are like whatever is asked: what they tell browsers, what becomes of markup, of odd methods, fields and paths; and how
//! secrets are kept.
use axum::body::Body;
use axum::http::header;
use jiff::ToSpan as _;
use thrumhall::store::Store;

use crate::support::browser::{Page, World};
use crate::support::{evening, forms};

const PHRASE: &str = "four words of wool";

/// Adds a volunteer who signs in with [`PHRASE`].
async fn volunteer(world: &World, name: &str) {
    let (_, mut instructor) = world.instructor().await;
    let typed = [("role", "volunteer"), ("name", name), ("passphrase", PHRASE), ("again", PHRASE)];
    instructor.post("/people", &typed).await.is(303);
}

#[tokio::test]
async fn every_answer_tells_browsers_what_they_may_do() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    for path in [
        "/people",
        "/cloth.csv",
        "/static/app.js",
        "/static/mark.svg",
        "/healthz",
        "/no/such/page",
        "/cloth?q=%00",
    ] {
        let page = instructor.get(path).await;
        let told = |name: &str| page.headers.get(name).map_or("", |value| value.to_str().unwrap());
        let policy: Vec<&str> = told("content-security-policy").split(';').map(str::trim).collect();
        for part in ["default-src 'none'", "base-uri 'none'", "form-action 'self'", "frame-ancestors 'none'"]
        {
            assert!(policy.contains(&part), "{path} lacks {part}: {policy:?}");
        }
        for part in policy {
            assert!(
                !part.contains("unsafe") && !part.contains('*') && !part.contains("http"),
                "{path}: {part}"
            );
        }
        assert_eq!(told("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(told("referrer-policy"), "same-origin", "{path}");
        assert_eq!(told("cross-origin-opener-policy"), "same-origin", "{path}");
        assert_eq!(told("cross-origin-resource-policy"), "same-origin", "{path}");
        assert!(!page.headers.contains_key(header::ACCESS_CONTROL_ALLOW_ORIGIN), "{path}");
        assert!(!page.headers.contains_key(header::SERVER), "{path}");
    }
}

#[tokio::test]
async fn text_says_its_encoding() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    for (path, kind) in [
        ("/people", "text/html"),
        ("/no/such/page", "text/html"),
        ("/cloth.csv", "text/csv"),
        ("/static/style.css", "text/css"),
        ("/static/app.js", "text/javascript"),
        ("/static/mark.svg", "image/svg+xml"),
        ("/healthz", "text/plain"),
    ] {
        let page = instructor.get(path).await;
        let told = page.headers[header::CONTENT_TYPE].to_str().unwrap().to_lowercase();
        assert_eq!(told, format!("{kind}; charset=utf-8"), "{path}");
    }
}

/// What would be a script, a picture that runs one, and the end of an attribute or of a text within SQL.
const MARKUP: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>";

#[track_caller]
fn shows_markup_as_text(page: &Page, at: &str) {
    for raw in ["<script>alert", "<img src=x"] {
        assert!(!page.text.contains(raw), "{at} holds {raw}: {}", page.text);
    }
}

#[tokio::test]
async fn markup_that_is_typed_is_shown_as_text() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let typed = [("role", "weaver"), ("name", MARKUP), ("contact", MARKUP)];
    let person = instructor.post("/people", &typed).await.to().split('?').next().unwrap().to_owned();
    let list = instructor.get("/people").await.is(200);
    assert!(list.all("tbody th").iter().any(|name| name == MARKUP), "{:?}", list.all("tbody th"));
    shows_markup_as_text(&list, "the list");
    let page = instructor.get(&person).await.is(200);
    assert_eq!(page.field("name"), MARKUP);
    assert_eq!(page.one("textarea[name=contact]"), MARKUP);
    shows_markup_as_text(&page, "the page");
    shows_markup_as_text(&instructor.get("/record").await.is(200), "the record");
    // A form that comes back.
    let wrong = [("role", "weaver"), ("name", ""), ("contact", MARKUP)];
    shows_markup_as_text(&instructor.post("/people", &wrong).await.is(422), "the form");

    // A rug: its page with its drawings, and the name of its paper's file.
    let (_, mut weaver) = world.weaver().await;
    let bands =
        [("name", MARKUP), ("band-1-height", "32 in"), ("band-1-first", "white"), ("band-1-other", "navy")];
    let rug = weaver.post("/rugs", &forms::rug(&bands)).await.to().split('?').next().unwrap().to_owned();
    let page = weaver.get(&rug).await.is(200);
    assert_eq!(page.one("h1"), MARKUP);
    shows_markup_as_text(&page, "the rug");
    let paper = weaver.get(&format!("{rug}/card.pdf")).await.is(200);
    let file = paper.headers[header::CONTENT_DISPOSITION].to_str().unwrap();
    let name = file.strip_prefix("inline; filename=\"").and_then(|rest| rest.strip_suffix(".pdf\"")).unwrap();
    assert!(
        !name.is_empty() && name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-'),
        "{file}"
    );

    // A search, of words that would end a text within SQL.
    let bundle = [("kind", "percale"), ("colour", "navy"), ("weight", "2 lb"), ("washed", "yes")];
    instructor.post("/cloth/weigh-in", &bundle).await.is(303);
    for words in [MARKUP, "x%' OR '1'='1", "x'; DELETE FROM bundle; --", "%", "_"] {
        let query = form_urlencoded::Serializer::new(String::new()).append_pair("q", words).finish();
        let page = instructor.get(&format!("/cloth?{query}")).await.is(200);
        assert_eq!(page.field("q"), words);
        assert!(!page.all(".empty h2").is_empty(), "{words} finds something");
        shows_markup_as_text(&page, "the search");
    }
    assert!(instructor.get("/cloth").await.all(".empty h2").is_empty(), "the bundle is gone");
}

#[tokio::test]
async fn methods_that_nobody_offers_are_refused() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let cookie = instructor.cookie.clone().unwrap();
    for method in ["TRACE", "PUT", "PATCH", "DELETE", "OPTIONS"] {
        for path in ["/people", "/healthz", "/static/style.css"] {
            let request = instructor.request(method, path).header("sec-fetch-site", "same-origin");
            let page = instructor.send(request.body(Body::empty()).unwrap()).await.is(405);
            assert!(!page.text.contains(&cookie), "{method} tells the cookie back");
        }
    }
}

#[tokio::test]
async fn a_field_given_twice_counts_once() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    // What an address says is no field of a form.
    instructor.post("/people?role=weaver&name=Third", &[]).await.is(422);
    let typed =
        [("role", "weaver"), ("role", "instructor"), ("name", "First"), ("name", "Second"), ("contact", "")];
    let person =
        instructor.post("/people?name=Third", &typed).await.to().split('?').next().unwrap().to_owned();
    let names = instructor.get("/people").await.all("tbody th");
    assert!(names.iter().any(|name| name == "First"), "{names:?}");
    assert!(!names.iter().any(|name| name == "Second" || name == "Third"), "{names:?}");
    assert_eq!(instructor.get(&person).await.is(200).field("name"), "First");
}

#[tokio::test]
async fn only_our_own_files_are_served() {
    let world = World::new().await;
    let mut stranger = world.stranger();
    stranger.get("/static/style.css").await.is(200);
    for path in [
        "/static",
        "/static/",
        "/static/../Cargo.toml",
        "/static/%2e%2e/Cargo.toml",
        "/static/..%2fCargo.toml",
        "/static//etc/passwd",
        "/.git/config",
        "/.env",
        "/Cargo.toml",
        "/migrations/0001_people.sql",
        "/thrumhall.sqlite",
        "/static/thrumhall.sqlite",
    ] {
        let page = stranger.get(path).await.is(404);
        assert!(!page.text.contains("[package]"), "{path}");
    }
}

/// Source: OWASP Password Storage Cheat Sheet: argon2id with m = 19 MiB, t = 2, p = 1. NIST SP 800-63B-4 (2025), 3.1.1.2: a salt of
/// 32 bits at least, and no change for the sake of time.
#[tokio::test]
async fn a_passphrase_is_kept_as_argon2id_and_a_session_as_a_hash() {
    let world = World::new().await;
    volunteer(&world, "Viggo").await;
    let Store::Sqlite(pool) = world.store() else { unreachable!("the pages are tried on SQLite") };
    let kept: String =
        sqlx::query_scalar("SELECT passphrase_hash FROM person WHERE passphrase_hash IS NOT NULL")
            .fetch_one(pool)
            .await
            .unwrap();
    let parts: Vec<&str> = kept.split('$').collect();
    assert_eq!(parts[..4], ["", "argon2id", "v=19", "m=19456,t=2,p=1"], "{kept}");
    // Base64 of 16 bytes of salt and of 32 of hash.
    assert_eq!((parts[4].len(), parts[5].len(), parts.len()), (22, 43, 6), "{kept}");

    // Years later it opens as it did.
    world.clock.set(evening() + (5 * 365 * 24).hours());
    let mut browser = world.stranger();
    browser.post("/sign-in", &[("name", "Viggo"), ("passphrase", PHRASE)]).await.is(303);
    let secret = browser.cookie.unwrap().split_once('=').unwrap().1.to_owned();
    // 256 bits in base64 for addresses.
    assert_eq!(secret.len(), 43, "{secret}");
    let sessions: Vec<String> =
        sqlx::query_scalar("SELECT token_hash FROM session").fetch_all(pool).await.unwrap();
    assert!(
        !sessions.is_empty() && sessions.iter().all(|hash| hash.len() == 64 && *hash != secret),
        "{sessions:?}"
    );
    assert!(sessions.contains(&thrumhall::secrets::secret_hash(&secret)));
}

#[tokio::test]
async fn signing_out_is_on_every_page() {
    let world = World::new().await;
    let (_, instructor) = world.instructor().await;
    let (_, volunteer) = world.volunteer().await;
    let (_, weaver) = world.weaver().await;
    for (browser, paths) in [
        (instructor, &["/today", "/people", "/frames", "/workroom", "/record", "/me", "/no/such/page"][..]),
        (volunteer, &["/cloth", "/cloth/weigh-in", "/frames", "/me", "/people"]),
        (weaver, &["/cloth", "/rugs/new", "/me", "/frames"]),
    ] {
        for path in paths {
            let page = browser.clone().get(path).await;
            assert_eq!(
                page.all("form[method=post][action='/sign-out'] button").len(),
                1,
                "{path}: {}",
                page.text
            );
        }
    }
}

#[tokio::test]
async fn passphrases_are_hidden_and_can_be_pasted() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let mut seen = 0;
    for (page, fields) in [
        (world.stranger().get("/sign-in").await, &[("passphrase", "current-password")][..]),
        (instructor.get("/people/new").await, &[("passphrase", "new-password"), ("again", "new-password")]),
    ] {
        for (name, filled_in_as) in fields {
            let field = format!("input[name={name}]");
            assert_eq!(page.attr(&field, "type"), "password");
            assert_eq!(
                page.attr(&field, "autocomplete"),
                *filled_in_as,
                "a password manager knows the field"
            );
            assert_eq!(
                page.all(&format!("{field}[readonly], {field}[onpaste], {field}[maxlength]")).len(),
                0
            );
            seen += 1;
        }
    }
    assert_eq!(seen, 3);
}
