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
    assert_eq!(page.error("name"), "The name is 10000 characters long; at most 120 are allowed.");
    assert_eq!(page.field("name"), long);
    let page = browser.post("/people", &[("role", "captain"), ("name", "a\u{202e}b")]).await.is(422);
    assert_eq!(page.error("role"), "Choose what this person is here.");
    assert_eq!(page.error("name"), "The name has an invisible character in it. Please type it again.");
    let page = browser.post("/people", &[("role", "volunteer"), ("name", "Bo")]).await.is(422);
    assert!(page.error("passphrase").contains("it needs at least 15"));
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
    assert_eq!(browser.get("/people").await.all("tbody th"), ["Ines Probe"]);
}

#[tokio::test]
async fn nobody_sets_a_passphrase_for_somebody_who_left() {
    let world = World::new().await;
    let (viggo, _) = world.volunteer().await;
    let (_, mut browser) = world.instructor().await;
    let path = format!("/people/{viggo}/passphrase");
    let typed = [("passphrase", "seven herrings for a lamp"), ("again", "seven herrings for a lamp")];
    browser.post(&path, &typed).await.is(303);
    browser.post(&format!("/people/{viggo}/leave"), &[]).await.is(303);
    browser.post(&path, &typed).await.is(404);
    let page = browser.get(&format!("/people/{viggo}")).await.is(200);
    assert!(page.all("form[action$='/passphrase']").is_empty(), "it is still offered");
    let mut tx = world.store().write(crate::support::actor(viggo)).await.unwrap();
    assert!(matches!(tx.set_passphrase(viggo, "hash".into()).await, Err(thrumhall::store::Error::Stale)));
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
    assert!(page.one("tbody tr").contains("Ines Probe added =Nils as weaver"));
    let table = browser.get("/record.csv").await.is(200).table();
    assert!(
        table.starts_with(
            "when,who,what,which,did,particulars\r\n2026-10-07T18:00:00-07:00,Ines Probe,person,"
        )
    );
}

#[tokio::test]
async fn who_leaves_is_reached_no_more_and_can_be_erased_once_the_box_is_ticked() {
    let world = World::new().await;
    let (weaver, mut theirs) = world.weaver().await;
    let (me, mut browser) = world.instructor().await;
    let path = format!("/people/{weaver}");
    browser.post(&format!("{path}/leave"), &[]).await.is(303);
    let page = browser.get("/people").await.is(200);
    assert_eq!(page.attr("section[aria-labelledby='gone'] a", "href"), path);
    assert!(!browser.get(&path).await.text.contains("at the quay"));
    // A contact isn't taken in again.
    let revision = browser.get(&path).await.field("revision");
    let typed = [("name", "Wanda Probe"), ("contact", "by post"), ("revision", revision.as_str())];
    browser.post(&path, &typed).await.is(303);
    assert_eq!(world.store().read().await.unwrap().person(weaver).await.unwrap().unwrap().contact, "");

    let erase = format!("{path}/erase");
    browser.get(&erase).await.is(200);
    browser.post(&erase, &[]).await.is(422).only_error_at("sure");
    assert_eq!(browser.post(&erase, &[("sure", "yes")]).await.to(), "/people?said=erased");
    assert_eq!(browser.get(&path).await.one("h1"), "Somebody who left");
    assert!(browser.get(&path).await.all("main form").is_empty());
    browser.post(&erase, &[("sure", "yes")]).await.is(404);
    browser.post(&format!("/people/{me}/erase"), &[("sure", "yes")]).await.is(400);
    theirs.get("/me").await.is(303);
    for page in ["/people", "/record", "/record.csv", "/notices"] {
        assert!(!browser.get(page).await.text.contains("Wanda"), "{page}");
    }
}

#[tokio::test]
async fn a_person_takes_their_own_data_away_and_nobody_elses() {
    let world = World::new().await;
    let (weaver, mut theirs) = world.weaver().await;
    let (_, mut other) = world.enter(thrumhall::store::people::Role::Weaver, "Bo Probe").await;
    let (_, mut browser) = world.instructor().await;
    theirs.post("/rugs", &super::rugs::with(&[])).await.is(303);
    let revision = theirs.get("/me").await.field("revision");
    let typed =
        [("name", "Wanda Probe"), ("contact", "red boat"), ("units", "metric"), ("revision", &revision)];
    theirs.post("/me", &typed).await.is(303);
    assert_eq!(theirs.get("/me").await.attr("a[href$='data.json']", "href"), "/me/data.json");
    let page = theirs.get("/me/data.json").await.is(200);
    assert!(page.headers["content-disposition"].to_str().unwrap().contains("attachment"));
    let data: serde_json::Value = serde_json::from_str(&page.text).unwrap();
    assert_eq!(data["person"]["id"], weaver.to_string());
    assert_eq!(
        (&data["person"]["contact"], &data["person"]["units"]),
        (&"red boat".into(), &"metric".into())
    );
    assert_eq!(data["rugs"][0]["name"], "Low tide");
    assert_eq!(data["rugs"][0]["bands"].as_array().map(Vec::len), Some(2));
    assert_eq!(data["ways_in"]["sessions"].as_array().map(Vec::len), Some(1));
    let acts: Vec<_> = data["record"].as_array().unwrap().iter().map(|line| line["did"].clone()).collect();
    assert!(acts.contains(&"signed in".into()) && acts.contains(&"changed".into()), "{acts:?}");
    assert!(!page.text.contains("Bo Probe") && !other.get("/me/data.json").await.text.contains("Wanda"));
    let by_instructor = browser.get(&format!("/people/{weaver}/data.json")).await.is(200).text;
    assert_eq!(by_instructor, page.text);
    other.get(&format!("/people/{weaver}/data.json")).await.is(403);
}

#[tokio::test]
async fn what_is_kept_is_told_to_everybody() {
    let world = World::new().await;
    let page = world.stranger().get("/what-is-kept").await.is(200);
    let days = thrumhall::store::retention::NOTICE_DAYS;
    assert!(page.all("tbody tr").iter().any(|row| row.contains(&format!("{days} days"))), "{}", page.text);
    assert_eq!(page.attr("footer a[href='/what-is-kept']", "href"), "/what-is-kept");
}
