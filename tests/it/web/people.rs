//! People's pages and each person's own settings.
use crate::support::browser::World;

#[tokio::test]
async fn an_instructor_adds_a_weaver_and_a_second_press_adds_nobody() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let key = browser.get("/people/new").await.is(200).field("key");
    let typed = [
        ("key", key.as_str()),
        ("role", "weaver"),
        ("name", "Nils O’Dær ✂"),
        ("contact", "bell at the door"),
    ];
    let first = browser.post("/people", &typed).await.to().to_owned();
    let second = browser.post("/people", &typed).await.to().to_owned();
    assert_eq!(first, second);
    let names = browser.get("/people").await.all("tbody th");
    assert_eq!(names, ["Ines Probe", "Nils O’Dær ✂"]);
}

#[tokio::test]
async fn wrong_input_comes_back_at_the_field() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let long = "x".repeat(10_000);
    let page = browser.post("/people", &[("role", "weaver"), ("name", &long)]).await.is(422);
    assert_eq!(page.error("name"), "The name is 10000 characters long; 120 are the most.");
    assert_eq!(page.field("name"), long);
    let page = browser.post("/people", &[("role", "captain"), ("name", "a\u{202e}b")]).await.is(422);
    assert_eq!(page.error("role"), "Choose what this person is here.");
    assert_eq!(page.error("name"), "The name holds a character that can’t be seen. Type it anew.");
    let page = browser.post("/people", &[("role", "volunteer"), ("name", "Bo")]).await.is(422);
    assert!(page.error("passphrase").contains("15 are the fewest"));
}

#[tokio::test]
async fn the_second_editor_is_told_what_changed_and_keeps_what_was_typed() {
    let world = World::new().await;
    let (weaver, _) = world.weaver().await;
    let (_, mut browser) = world.instructor().await;
    let path = format!("/people/{weaver}");
    let revision = browser.get(&path).await.is(200).field("revision");
    let edit = |name| [("revision", revision.as_str()), ("name", name), ("contact", "")];
    browser.post(&path, &edit("Wanda First")).await.is(303);
    let page = browser.post(&path, &edit("Wanda Second")).await.is(409);
    assert_eq!(page.field("name"), "Wanda Second");
    assert_eq!(
        page.error("name"),
        "The name was changed by Ines Probe and is now: Wanda First. Keep yours by saving again."
    );
    let now = page.field("revision");
    browser.post(&path, &[("revision", &now), ("name", "Wanda Second"), ("contact", "")]).await.is(303);
    assert_eq!(browser.get(&path).await.one("h1"), "Wanda Second");
}

#[tokio::test]
async fn an_older_form_of_ones_own_settings_is_told_what_changed_and_keeps_what_was_typed() {
    let world = World::new().await;
    let (weaver, mut theirs) = world.weaver().await;
    let (_, mut browser) = world.instructor().await;
    let revision = theirs.get("/me").await.is(200).field("revision");
    let path = format!("/people/{weaver}");
    let other = browser.get(&path).await.is(200).field("revision");
    browser.post(&path, &[("revision", &other), ("name", "Wanda First"), ("contact", "")]).await.is(303);
    let edit = |revision| [("revision", revision), ("name", "Wanda Second"), ("contact", ""), ("units", "")];
    let page = theirs.post("/me", &edit(&revision)).await.is(409);
    assert_eq!(page.field("name"), "Wanda Second");
    assert_eq!(
        page.error("name"),
        "The name was changed by Ines Probe and is now: Wanda First. Keep yours by saving again."
    );
    theirs.post("/me", &edit(&page.field("revision"))).await.is(303);
    assert_eq!(browser.get(&path).await.one("h1"), "Wanda Second");
}

#[tokio::test]
async fn whoever_left_is_let_in_no_more() {
    let world = World::new().await;
    let (weaver, mut theirs) = world.weaver().await;
    let (_, mut browser) = world.instructor().await;
    theirs.get("/me").await.is(200);
    browser.post(&format!("/people/{weaver}/leave"), &[]).await.is(303);
    theirs.get("/me").await.is(303);
    assert!(!browser.get("/people").await.text.contains("Wanda"));
}

#[tokio::test]
async fn settings_are_saved_and_wrong_ones_refused() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let revision = browser.get("/workroom").await.is(200).field("revision");
    let typed =
        [("revision", revision.as_str()), ("workroom", ""), ("units", "cubits"), ("time_zone", "UTC")];
    let page = browser.post("/workroom", &typed).await.is(422);
    assert_eq!(page.wrong_fields(), ["workroom", "units", "scale", "tape"]);
    page.error_names("scale", &["weight"]);
    page.error_names("tape", &["length"]);
    let typed = [
        ("scale", "5 g"),
        ("tape", "5 mm"),
        ("revision", revision.as_str()),
        ("workroom", "Sail Loft"),
        ("units", "metric"),
        ("time_zone", "UTC"),
    ];
    assert_eq!(browser.post("/workroom", &typed).await.to(), "/workroom?said=saved");
    let page = browser.get("/workroom?said=saved").await;
    assert_eq!((page.one(".notice"), page.one(".house-name")), ("Saved.".into(), "Sail Loft".into()));

    let revision = browser.get("/me").await.is(200).field("revision");
    let page = browser.post("/me", &[("revision", &revision), ("name", " "), ("units", "")]).await.is(422);
    page.only_error_at("name");
}

#[tokio::test]
async fn the_record_says_who_did_what_and_can_be_taken_away() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    browser.post("/people", &[("role", "weaver"), ("name", "=Nils"), ("contact", "")]).await.is(303);
    let page = browser.get("/record").await.is(200);
    assert!(page.one("tbody tr").contains("Ines Probe person added"));
    let table = browser.get("/record.csv").await.is(200);
    assert!(
        table.text.starts_with(
            "when,who,what,which,did,particulars\r\n2026-10-07T18:00:00-07:00,Ines Probe,person,"
        )
    );
}
