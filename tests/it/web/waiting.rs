//! A class that is full: who comes later waits in order, and gets a place when one is free.
use thrumhall::store::people::Role;
use thrumhall::store::{PersonId, TermId};

use crate::support::browser::{Browser, World};

const TERM: [(&str, &str); 7] = [
    ("name", "Ebb"),
    ("day", "2026-10-07"),
    ("count", "4"),
    ("every", "1"),
    ("starts", "18:30"),
    ("minutes", "90"),
    ("most", "2"),
];

async fn class(names: [&str; 4]) -> (World, Browser, String, [PersonId; 4]) {
    let world = World::new().await;
    let mut people = [PersonId::new(); 4];
    for (id, name) in people.iter_mut().zip(names) {
        *id = world.enter(Role::Weaver, name).await.0;
    }
    let (_, mut browser) = world.instructor().await;
    let path = browser.post("/terms", &TERM).await.to().replace("?said=added", "");
    (world, browser, path, people)
}

#[tokio::test]
async fn who_comes_when_the_class_is_full_waits_and_is_moved_up_in_order() {
    let (world, mut browser, path, [ana, bo, cy, di]) = class(["Ana", "Bo", "Cy", "Di"]).await;
    let enrol = format!("{path}/enrol");
    let ids = [ana, bo, cy].map(|id| id.to_string());
    let three: Vec<(&str, &str)> = ids.iter().map(|id| ("weaver", id.as_str())).collect();
    assert_eq!(browser.post(&enrol, &three).await.to(), format!("{path}?said=some-wait"));
    // The last may be enrolled from their own page, too, and is told that it is full.
    let page = browser.get(&format!("/people/{di}")).await.is(200);
    assert!(page.text.contains("Ebb is full"), "{}", page.text);
    let id = path.trim_start_matches("/terms/");
    let put = browser.post(&format!("/people/{di}/enrol"), &[("term", id)]).await;
    assert_eq!(put.to(), format!("/people/{di}?said=waits"));
    let waiting = |page: &crate::support::browser::Page| page.all(".waiting strong");
    let page = browser.get(&path).await.is(200);
    assert_eq!(waiting(&page), ["1. Cy", "2. Di"]);
    assert!(page.one("h2 small").contains("2 of 2, full"), "{}", page.one("h2 small"));
    assert_eq!(browser.get("/terms").await.one("td[data-label=Weavers]"), "2 of 2, 2 waiting");

    let act = format!("{path}/waiting");
    let of =
        |person: &PersonId, what: &'static str| [("person", person.to_string()), ("do", what.to_owned())];
    let post = async |browser: &mut Browser, fields: [(&str, String); 2]| {
        browser.post(&act, &fields.each_ref().map(|(name, value)| (*name, value.as_str()))).await
    };
    // Nobody gets a place that isn't there.
    post(&mut browser, of(&cy, "place")).await.is(422).only_error_at("waiting");
    assert_eq!(post(&mut browser, of(&di, "up")).await.to(), format!("{path}?said=moved-up"));
    assert_eq!(waiting(&browser.get(&path).await), ["1. Di", "2. Cy"]);
    // A place that is free is kept for who waits: somebody new doesn't take it.
    browser.post(&format!("{path}/withdraw"), &[("person", &bo.to_string())]).await.is(303);
    browser.post(&enrol, &[("weaver", &bo.to_string())]).await.is(303);
    let page = browser.get(&path).await;
    assert_eq!(waiting(&page), ["1. Di", "2. Cy", "3. Bo"]);
    assert!(page.text.contains("A place is free"), "{}", page.text);
    assert_eq!(post(&mut browser, of(&di, "place")).await.to(), format!("{path}?said=place-given"));
    assert_eq!(waiting(&browser.get(&path).await), ["1. Cy", "2. Bo"]);
    let messages = browser.get("/messages").await.is(200);
    assert_eq!(messages.all(".message h2"), ["Di"]);
    assert!(messages.one(".message textarea").contains("A place in Ebb is free, and it’s yours."));
    assert_eq!(post(&mut browser, of(&bo, "off")).await.to(), format!("{path}?said=waits-no-more"));
    assert_eq!(post(&mut browser, of(&bo, "off")).await.status.as_u16(), 404);
    // Whoever leaves the workroom waits no more.
    browser.post(&format!("/people/{cy}/leave"), &[]).await.is(303);
    assert!(waiting(&browser.get(&path).await).is_empty());
    let mut read = world.store().read().await.unwrap();
    let term: TermId = id.parse().unwrap();
    let names: Vec<String> = read.enrolled(term).await.unwrap().into_iter().map(|one| one.name).collect();
    assert_eq!(names, ["Ana", "Di"]);
    assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());
    let record = browser.get("/record").await.text;
    for said in ["put somebody on the waiting list", "moved somebody up", "off the waiting list"] {
        assert!(record.contains(said), "{said}");
    }
}

#[tokio::test]
async fn the_size_of_a_class_is_changed_and_a_wrong_one_is_said_at_its_field() {
    let (world, mut browser, path, [ana, ..]) = class(["Ana", "Bo", "Cy", "Di"]).await;
    let save = async |browser: &mut Browser, most: &str, revision: &str| {
        let fields = [("name", "Ebb"), ("note", ""), ("most", most), ("revision", revision)];
        browser.post(&path, &fields).await
    };
    let edit = browser.get(&format!("{path}/edit")).await.is(200);
    assert_eq!(edit.field("most"), "2");
    let revision = edit.field("revision");
    for wrong in ["0", "many", "-3", "1000"] {
        let page = save(&mut browser, wrong, &revision).await.is(422);
        page.only_error_at("most");
        assert_eq!(page.field("most"), wrong);
    }
    save(&mut browser, "", &revision).await.is(303);
    assert_eq!(save(&mut browser, "5", &revision).await.status.as_u16(), 409);
    let all: Vec<String> = [ana].iter().map(ToString::to_string).collect();
    browser.post(&format!("{path}/enrol"), &[("all", "yes"), ("weaver", &all[0])]).await.is(303);
    let page = browser.get(&path).await.is(200);
    assert!(page.all(".waiting").is_empty() && page.all("h2 small").is_empty());
    let (_, mut own) = world.enter(Role::Weaver, "Fay").await;
    assert!(!own.get("/my").await.text.contains("waiting list"));
}

#[tokio::test]
async fn who_waits_reads_so_on_their_own_page() {
    let (world, mut browser, path, [ana, bo, ..]) = class(["Ana", "Bo", "Cy", "Di"]).await;
    let (fay, mut own) = world.enter(Role::Weaver, "Fay").await;
    for person in [ana, bo, fay] {
        browser.post(&format!("{path}/enrol"), &[("weaver", &person.to_string())]).await.is(303);
    }
    let page = own.get("/my").await.is(200);
    assert!(page.text.contains("You are on the waiting list of Ebb: you are next."), "{}", page.text);
    let data = browser.get(&format!("/people/{fay}/data.json")).await.is(200);
    assert!(data.text.contains("waiting_for") && data.text.contains("Ebb"), "{}", data.text);
}
