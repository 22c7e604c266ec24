//! Every route by every role and by nobody, against a table written by hand; and the layers around all of them.
use axum::body::Body;
use axum::http::header;
use thrumhall::web::{Config, table};

use crate::support::browser::World;

/// Who may use each page: a(nyone), s(igned in), v(olunteers and instructors), i(nstructors), t(he tablet at the
/// scale, which is none of them: `tablets.rs`). A route that is missing
/// here, or here and nowhere else, fails the test.
const TABLE: &[(&str, &str, char)] = &[
    ("GET", "/", 'a'),
    ("GET", "/calendar/{token}", 'a'),
    ("GET", "/cautions", 'a'),
    ("GET", "/cloth", 's'),
    ("GET", "/cloth.csv", 'v'),
    ("GET", "/cloth/import", 'v'),
    ("GET", "/cloth/import.csv", 'v'),
    ("GET", "/cloth/sheets", 'v'),
    ("GET", "/cloth/weigh-in", 'v'),
    ("GET", "/cloth/weigh-in/names", 't'),
    ("GET", "/cloth/count", 'v'),
    ("GET", "/cloth/count/{id}", 'v'),
    ("GET", "/cloth/count/{id}/close", 'v'),
    ("GET", "/cloth/went", 'v'),
    ("GET", "/cloth/went.csv", 'v'),
    ("GET", "/cloth/{id}", 'v'),
    ("GET", "/cloth/{id}/correct", 'v'),
    ("GET", "/find", 's'),
    ("POST", "/pull", 'v'),
    ("POST", "/people/{id}/enrol", 'i'),
    ("POST", "/people/{id}/note", 'i'),
    ("POST", "/rugs/{id}/note", 's'),
    ("POST", "/rugs/{id}/pattern", 'i'),
    ("GET", "/meetings/{id}/attendance", 'v'),
    ("POST", "/meetings/{id}/attendance", 'v'),
    ("POST", "/my/coming", 's'),
    ("POST", "/cloth/{id}/correct", 'v'),
    ("POST", "/terms/{id}/go-on", 'i'),
    ("GET", "/enter/{token}", 'a'),
    ("GET", "/frames", 'v'),
    ("GET", "/frames.csv", 'v'),
    ("GET", "/frames/build", 'v'),
    ("GET", "/frames/new", 'i'),
    ("GET", "/frames/{id}", 'v'),
    ("GET", "/frames/{id}/edit", 'i'),
    ("GET", "/frames/{id}/hand-out", 'i'),
    ("GET", "/healthz", 'a'),
    ("GET", "/let-in/{token}", 'a'),
    ("GET", "/readyz", 'a'),
    ("GET", "/loans", 'v'),
    ("GET", "/loans.csv", 'v'),
    ("GET", "/loans/{id}", 's'),
    ("GET", "/loans/{id}/take-back", 'i'),
    ("GET", "/me", 's'),
    ("GET", "/me/data.json", 's'),
    ("GET", "/me/passphrase", 'v'),
    ("GET", "/me/second-factor", 'v'),
    ("GET", "/me/second-factor/codes", 'v'),
    ("GET", "/my", 's'),
    ("GET", "/cloth/tags", 'v'),
    ("GET", "/cloth/tags.pdf", 'v'),
    ("GET", "/frames/tags", 'v'),
    ("GET", "/frames/tags.pdf", 'v'),
    ("GET", "/frames/build/template.pdf", 'v'),
    ("GET", "/frames/{id}/template.pdf", 'v'),
    ("GET", "/loans/{id}/slip.pdf", 's'),
    ("GET", "/pull.pdf", 'v'),
    ("GET", "/rugs/{id}/card.pdf", 's'),
    ("GET", "/rugs/{id}/tape.pdf", 's'),
    ("GET", "/rugs/{id}/reading.pdf", 's'),
    ("GET", "/rugs/{id}/care.pdf", 's'),
    ("GET", "/terms/{id}/cards.pdf", 'v'),
    ("GET", "/terms/{id}/care.pdf", 'v'),
    ("GET", "/terms/{id}/wall.pdf", 'v'),
    ("GET", "/tonight", 'i'),
    ("GET", "/tonight.pdf", 'i'),
    ("GET", "/terms/{id}/attendance", 'v'),
    ("GET", "/terms/{id}/attendance.pdf", 'v'),
    ("GET", "/terms/{id}/log-sheet", 'v'),
    ("GET", "/terms/{id}/log-sheet.pdf", 'v'),
    ("GET", "/terms/{id}/exhibition", 'v'),
    ("GET", "/terms/{id}/exhibition.pdf", 'v'),
    ("GET", "/cloth/weigh-in/sheet", 'v'),
    ("GET", "/cloth/weigh-in/sheet.pdf", 'v'),
    ("GET", "/cloth/count/{id}/list", 'v'),
    ("GET", "/cloth/count/{id}/list.pdf", 'v'),
    ("GET", "/cloth/colours", 's'),
    ("GET", "/cloth/colours.pdf", 's'),
    ("GET", "/rugs/{id}/booklet", 's'),
    ("GET", "/rugs/{id}/booklet.pdf", 's'),
    ("GET", "/rugs/{id}/first-row", 's'),
    ("GET", "/rugs/{id}/first-row.pdf", 's'),
    ("GET", "/rugs/{id}/tally", 's'),
    ("GET", "/rugs/{id}/tally.pdf", 's'),
    ("GET", "/rugs/{id}/exhibition", 's'),
    ("GET", "/rugs/{id}/exhibition.pdf", 's'),
    ("GET", "/rugs/{id}/sheets.pdf", 's'),
    ("GET", "/cloth/sheets.pdf", 'v'),
    ("GET", "/rugs/any-size/sewing", 's'),
    ("GET", "/rugs/any-size/sewing.pdf", 's'),
    ("GET", "/b/{tag}", 'v'),
    ("GET", "/look", 'i'),
    ("GET", "/messages", 'i'),
    ("POST", "/messages/told", 'i'),
    ("POST", "/terms/{id}/waiting", 'i'),
    ("GET", "/notices", 'i'),
    ("GET", "/notices/receivers/new", 'i'),
    ("GET", "/notices/receivers/{id}", 'i'),
    ("GET", "/people", 'i'),
    ("GET", "/people/links", 'i'),
    ("GET", "/people/many", 'i'),
    ("GET", "/people/new", 'i'),
    ("GET", "/people/{id}", 'i'),
    ("GET", "/people/{id}/data.json", 'i'),
    ("GET", "/people/{id}/erase", 'i'),
    ("GET", "/people/{id}/second-factor", 'i'),
    ("GET", "/promises/{id}", 'v'),
    ("GET", "/pull", 'v'),
    ("GET", "/record", 'i'),
    ("GET", "/record.csv", 'i'),
    ("GET", "/rods", 'v'),
    ("GET", "/rods/buy", 'v'),
    ("GET", "/rods/new", 'i'),
    ("GET", "/rods/{id}", 'v'),
    ("GET", "/rugs", 'v'),
    ("GET", "/rugs/any-size", 's'),
    ("GET", "/rugs/any-size/worked", 's'),
    ("GET", "/rugs/suggest", 's'),
    ("GET", "/terms/{id}/designs", 'i'),
    ("POST", "/terms/{id}/designs", 'i'),
    ("GET", "/rugs/rests", 's'),
    ("GET", "/rugs/new", 's'),
    ("GET", "/rugs/{id}", 's'),
    ("GET", "/rugs/{id}/card", 's'),
    ("GET", "/rugs/{id}/cloth", 's'),
    ("GET", "/rugs/{id}/count", 's'),
    ("GET", "/rugs/{id}/guide", 's'),
    ("GET", "/rugs/{id}/stepper", 's'),
    ("GET", "/guide/stepper", 's'),
    ("GET", "/rugs/{id}/edit", 's'),
    ("GET", "/rugs/{id}/finish", 's'),
    ("GET", "/rugs/{id}/hand-out", 'i'),
    ("GET", "/rugs/{id}/sheets", 's'),
    ("GET", "/rugs/{id}/log", 's'),
    ("GET", "/rugs/{id}/reading", 's'),
    ("GET", "/rugs/{id}/way", 's'),
    ("GET", "/rugs/{id}/worked", 's'),
    ("GET", "/setup/{token}", 'a'),
    ("GET", "/share-out", 'i'),
    ("GET", "/share-out/{id}", 'i'),
    ("GET", "/share-out/{id}/choose/{number}", 'i'),
    ("GET", "/sign-in", 'a'),
    ("GET", "/sign-in/second-step", 'a'),
    ("GET", "/static/{*path}", 'a'),
    ("GET", "/tablets", 'i'),
    ("GET", "/terms", 'i'),
    ("GET", "/terms/new", 'i'),
    ("GET", "/terms/{id}", 'i'),
    ("GET", "/terms/{id}/close", 'i'),
    ("GET", "/terms/{id}/timetable", 'v'),
    ("GET", "/terms/{id}/timetable/new", 'i'),
    ("GET", "/terms/{id}/turns", 'i'),
    ("GET", "/terms/{id}/edit", 'i'),
    ("GET", "/today", 'i'),
    ("GET", "/what-is-kept", 'a'),
    ("GET", "/workroom", 'i'),
    ("GET", "/workroom/backups", 'i'),
    ("POST", "/cloth/count", 'v'),
    ("POST", "/cloth/count/{id}/close", 'v'),
    ("POST", "/cloth/count/{id}/line", 'v'),
    ("POST", "/cloth/import", 'v'),
    ("POST", "/cloth/weigh-in", 'v'),
    ("POST", "/cloth/weigh-in/names/end", 't'),
    ("POST", "/cloth/{id}/count", 'v'),
    ("POST", "/cloth/{id}/cut", 'v'),
    ("POST", "/cloth/{id}/pull", 'v'),
    ("POST", "/cloth/{id}/put-back", 'v'),
    ("POST", "/cloth/{id}/place", 'v'),
    ("POST", "/cloth/{id}/scrap", 'v'),
    ("POST", "/cloth/{id}/state", 'v'),
    ("POST", "/cloth/{id}/undo", 'v'),
    ("POST", "/enter/{token}", 'a'),
    ("POST", "/frames", 'i'),
    ("POST", "/frames/{id}", 'i'),
    ("POST", "/frames/{id}/hand-out", 'i'),
    ("POST", "/frames/{id}/restore", 'i'),
    ("POST", "/frames/{id}/retire", 'i'),
    ("POST", "/let-in/{token}", 'a'),
    ("POST", "/loans/{id}/due", 'i'),
    ("POST", "/loans/{id}/take-back", 'i'),
    ("POST", "/me", 's'),
    ("POST", "/me/calendar", 's'),
    ("POST", "/me/passphrase", 'v'),
    ("POST", "/me/passphrase/strength", 'v'),
    ("POST", "/me/sessions/end", 's'),
    ("POST", "/me/sessions/end-all", 's'),
    ("POST", "/me/second-factor/codes", 'v'),
    ("POST", "/me/second-factor/codes/confirm", 'v'),
    ("POST", "/me/second-factor/codes/remove", 'v'),
    ("POST", "/me/second-factor/passkeys", 'v'),
    ("POST", "/me/second-factor/passkeys/begin", 'v'),
    ("POST", "/me/second-factor/passkeys/{id}/remove", 'v'),
    ("POST", "/me/second-factor/recovery", 'v'),
    ("POST", "/meetings/{id}/off", 'i'),
    ("POST", "/meetings/{id}/on", 'i'),
    ("POST", "/notices/deliveries/{id}/again", 'i'),
    ("POST", "/notices/deliveries/{id}/told", 'i'),
    ("POST", "/notices/receivers", 'i'),
    ("POST", "/notices/receivers/{id}", 'i'),
    ("POST", "/notices/receivers/{id}/remove", 'i'),
    ("POST", "/notices/receivers/{id}/secret", 'i'),
    ("POST", "/notices/receivers/{id}/try", 'i'),
    ("POST", "/people", 'i'),
    ("POST", "/people/links", 'i'),
    ("POST", "/people/many", 'i'),
    ("POST", "/people/{id}", 'i'),
    ("POST", "/people/{id}/erase", 'i'),
    ("POST", "/people/{id}/leave", 'i'),
    ("POST", "/people/{id}/link", 'i'),
    ("POST", "/people/{id}/passphrase", 'i'),
    ("POST", "/people/{id}/second-factor/remove", 'i'),
    ("POST", "/promises/{id}/back", 'v'),
    ("POST", "/promises/{id}/pull", 'v'),
    ("POST", "/promises/{id}/release", 'i'),
    ("POST", "/rods", 'i'),
    ("POST", "/rods/{id}", 'i'),
    ("POST", "/rods/{id}/count", 'i'),
    ("POST", "/rugs", 's'),
    ("POST", "/rugs/any-size", 's'),
    ("POST", "/rugs/{id}", 's'),
    ("POST", "/rugs/{id}/cloth", 's'),
    ("POST", "/rugs/{id}/finish", 's'),
    ("POST", "/rugs/{id}/hand-out", 'i'),
    ("POST", "/rugs/{id}/log", 's'),
    ("POST", "/rugs/{id}/log/undo", 's'),
    ("POST", "/rugs/{id}/rows", 's'),
    ("POST", "/rugs/{id}/state", 's'),
    ("POST", "/setup/{token}", 'a'),
    ("POST", "/setup/{token}/strength", 'a'),
    ("POST", "/share-out", 'i'),
    ("POST", "/share-out/{id}/accept", 'i'),
    ("POST", "/share-out/{id}/again", 'i'),
    ("POST", "/share-out/{id}/drop", 'i'),
    ("POST", "/share-out/{id}/choose/{number}", 'i'),
    ("POST", "/share-out/{id}/stop", 'i'),
    ("POST", "/sign-in", 'a'),
    ("POST", "/sign-in/passkey", 'a'),
    ("POST", "/sign-in/passkey/begin", 'a'),
    ("POST", "/sign-in/second-step", 'a'),
    ("POST", "/sign-in/second-step/passkey", 'a'),
    ("POST", "/sign-out", 'a'),
    ("POST", "/tablets", 'i'),
    ("POST", "/tablets/{id}/end", 'i'),
    ("POST", "/terms", 'i'),
    ("POST", "/terms/{id}", 'i'),
    ("POST", "/terms/{id}/absences", 'i'),
    ("POST", "/terms/{id}/close", 'i'),
    ("POST", "/terms/{id}/enrol", 'i'),
    ("POST", "/terms/{id}/meetings", 'i'),
    ("POST", "/terms/{id}/open", 'i'),
    ("POST", "/terms/{id}/timetable", 'i'),
    ("POST", "/terms/{id}/timetable/lock", 'i'),
    ("POST", "/terms/{id}/timetable/told", 'i'),
    ("POST", "/terms/{id}/turns", 'i'),
    ("POST", "/terms/{id}/withdraw", 'i'),
    ("POST", "/workroom", 'i'),
];

#[test]
fn the_table_names_every_route_and_no_other() {
    let mut routes: Vec<(String, String)> =
        table().iter().map(|route| (route.method.to_string(), route.path.to_owned())).collect();
    routes.sort();
    let mut written: Vec<(String, String)> =
        TABLE.iter().map(|(method, path, _)| ((*method).to_owned(), (*path).to_owned())).collect();
    written.sort();
    assert_eq!(routes, written);
}

#[tokio::test]
async fn every_route_lets_in_whom_the_table_lets_in() {
    let world = World::new().await;
    let (_, volunteer) = world.volunteer().await;
    let (_, weaver) = world.weaver().await;
    let (_, instructor) = world.instructor().await;
    let visitors = [
        ("nobody", "a", world.stranger()),
        ("weaver", "as", weaver),
        ("volunteer", "asv", volunteer),
        ("instructor", "asvi", instructor),
    ];
    for (method, path, who) in TABLE {
        // Ids and tokens that exist nowhere: anyone who is let in finds nothing there, which is not a refusal.
        let address = path
            .replace("{id}", "01890000-0000-7000-8000-000000000000")
            .replace("{number}", "1")
            .replace("{tag}", "1")
            .replace("{token}", "no-such-token")
            .replace("{*path}", "style.css");
        for (name, may, browser) in &visitors {
            // Each try has a new session: signing out must not show the others out.
            let mut browser = browser.clone();
            if ["/sign-out", "/me/sessions/end-all"].contains(path) && *name != "nobody" {
                continue;
            }
            let page = match *method {
                "GET" => browser.get(&address).await,
                _ => browser.post(&address, &[]).await,
            };
            let status = page.status.as_u16();
            let refused = match (*name, *method) {
                ("nobody", "GET") => page.headers.get(header::LOCATION).is_some_and(|to| {
                    let to = to.to_str().unwrap();
                    to == "/sign-in" && *path != "/" || to.starts_with("/sign-in?to=")
                }),
                ("nobody", _) => status == 401,
                _ => status == 403,
            };
            assert_eq!(refused, !may.contains(*who), "{name} at {method} {address} got {status}");
            assert_ne!(status, 500, "{name} at {method} {address}: {}", page.text);
        }
    }
}

#[tokio::test]
async fn acts_sent_from_other_sites_are_refused() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    for (name, value) in [
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
        ("origin", "https://evil.example"),
    ] {
        let request = instructor
            .request("POST", "/people")
            .header(name, value)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from("role=weaver&name=Eve"))
            .unwrap();
        let page = instructor.send(request).await.is(403);
        assert_eq!(page.one("h1"), "Refused");
    }
    assert!(!instructor.get("/people").await.text.contains("Eve"));
}

#[tokio::test]
async fn every_answer_carries_the_security_headers() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    for path in ["/people", "/static/style.css", "/nowhere"] {
        let page = instructor.get(path).await;
        let policy = page.headers[header::CONTENT_SECURITY_POLICY].to_str().unwrap();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"), "{policy}");
        assert_eq!(page.headers[header::X_CONTENT_TYPE_OPTIONS], "nosniff");
        assert_eq!(page.headers[header::X_FRAME_OPTIONS], "DENY");
    }
    assert_eq!(instructor.get("/people").await.headers[header::CACHE_CONTROL], "no-store");
}

#[tokio::test]
async fn behind_tls_browsers_are_told_to_stay_with_it() {
    let config =
        Config { public_url: Some("https://rugs.example".into()), behind_proxy: true, ..Config::default() };
    let world = World::with(config).await;
    let page = world.stranger().get("/sign-in").await.is(200);
    assert!(page.headers.contains_key(header::STRICT_TRANSPORT_SECURITY));
}

#[tokio::test]
async fn an_unknown_address_offers_a_way_on() {
    let page = World::new().await.stranger().get("/no/such/page").await.is(404);
    assert_eq!(page.one("h1"), "Not here");
    assert_eq!(page.attr("main a.button", "href"), "/");
}
