//! A class added at once, and its links on one sheet.
use crate::support::browser::World;

#[tokio::test]
async fn a_pasted_list_becomes_weavers_enrolled_in_the_term_and_all_or_none_are_added() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let fields = [
        ("name", "Ebb"),
        ("note", ""),
        ("day", "2026-10-14"),
        ("starts", "18:30"),
        ("minutes", "120"),
        ("count", "2"),
        ("every", "1"),
    ];
    let answer = browser.post("/terms", &fields).await;
    let term = answer.to().split('?').next().unwrap().to_owned();
    let id = term.rsplit('/').next().unwrap();
    // The only running term is chosen already.
    assert_eq!(browser.get("/people/many").await.is(200).attr("select#term option[selected]", "value"), id);

    let long = "x".repeat(121);
    let bad = format!("Wanda Tide, on the quay\n\n{long}\n, nobody");
    let page = browser.post("/people/many", &[("list", &bad), ("term", id)]).await.is(422);
    page.only_error_at("list");
    let error = page.error("list");
    assert!(error.contains("Line 3") && error.contains("Line 4") && !error.contains("Line 1"), "{error}");
    assert!(page.one("textarea#list").starts_with("Wanda Tide, on the quay"), "what was typed is kept");
    assert!(
        !browser.get("/people").await.text.contains("Wanda Tide"),
        "one of a list that isn't whole was added"
    );

    let list = "Wanda Tide, on the quay\r\n\r\n\"Otto Reef\";0123\r\nNoor Sand\tby the pump";
    let key = browser.get("/people/many").await.field("key");
    let fields = [("list", list), ("term", id), ("key", &*key)];
    assert_eq!(browser.post("/people/many", &fields).await.to(), "/people/links?said=people-added");
    assert_eq!(
        browser.post("/people/many", &fields).await.to(),
        "/people/links?said=people-added",
        "sent twice"
    );
    let rows = browser.get("/people").await.is(200).all("tbody tr");
    let weavers: Vec<_> = rows.into_iter().filter(|row| row.contains("weaver")).collect();
    assert_eq!(
        weavers,
        ["Noor Sand weaver by the pump", "Otto Reef weaver 0123", "Wanda Tide weaver on the quay"]
    );
    let shown = browser.get(&term).await.is(200).text;
    assert!(["Noor Sand", "Otto Reef", "Wanda Tide"].iter().all(|name| shown.contains(name)), "not enrolled");

    browser.post(&format!("{term}/close"), &[]).await.is(303);
    let page = browser.post("/people/many", &[("list", "Ada Shoal"), ("term", id)]).await.is(422);
    page.only_error_at("term");
}

#[tokio::test]
async fn a_twin_name_is_asked_back_and_taken_when_it_is_meant() {
    let world = World::new().await;
    world.weaver().await;
    let (_, mut browser) = world.instructor().await;
    let before = browser.get("/people").await.all("tbody tr").len();
    for list in ["wanda  PROBE", "Ada Shoal\nAda Shoal"] {
        let page = browser.post("/people/many", &[("list", list)]).await.is(422);
        page.only_error_at("list");
        assert_eq!(page.all("#twins").len(), 1, "{list}: nowhere to say that they are two");
    }
    assert_eq!(browser.get("/people").await.all("tbody tr").len(), before);
    browser.post("/people/many", &[("list", "Wanda Probe"), ("twins", "yes")]).await.is(303);
    assert_eq!(browser.get("/people").await.all("tbody tr").len(), before + 1);
}

#[tokio::test]
async fn links_are_made_for_those_ticked_and_each_opens_its_own_page() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    browser.post("/people/many", &[("list", "Ada Shoal\nBo Reef\nCem Sand")]).await.is(303);
    let page = browser.get("/people/links").await.is(200);
    assert_eq!(page.all("input[name=person][checked]").len(), 3, "nobody has a link yet");
    page_has_no_link(&browser.post("/people/links", &[]).await.is(422).text);
    let ids: Vec<String> = ["Ada Shoal", "Bo Reef"]
        .iter()
        .map(|name| {
            let labels = page.all("label.check");
            let at = labels.iter().position(|label| label == name).unwrap();
            page.attrs("input[name=person]", "value")[at].clone()
        })
        .collect();
    let fields: Vec<(&str, &str)> = ids.iter().map(|id| ("person", id.as_str())).collect();
    let sheet = browser.post("/people/links", &fields).await.is(200);
    assert_eq!(sheet.all(".link-sheet h2"), ["Ada Shoal", "Bo Reef"]);
    let links = sheet.attrs(".link-sheet a", "href");
    for (link, name) in links.iter().zip(["Ada Shoal", "Bo Reef"]) {
        let path = &link[link.find("/enter/").unwrap()..];
        let mut theirs = world.stranger();
        theirs.post(path, &[]).await.is(303);
        assert!(theirs.get("/me").await.is(200).text.contains(name), "{link}");
    }
    // Whoever has one isn't ticked any more: a second press on the page would take it from them.
    let page = browser.get("/people/links").await;
    assert_eq!(page.all("input[name=person][checked]").len(), 1);
}

fn page_has_no_link(text: &str) {
    assert!(!text.contains("/enter/"));
}

#[tokio::test]
async fn somebody_added_is_enrolled_and_given_a_link_from_their_page_and_a_twin_is_asked_back() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let typed = [("name", "Ebb"), ("day", "2026-10-07"), ("count", "2"), ("every", "1"), ("starts", "18:30")];
    let term = browser
        .post("/terms", &[&typed[..], &[("minutes", "90")]].concat())
        .await
        .to()
        .replace("?said=added", "");
    let to = browser.post("/people", &[("role", "weaver"), ("name", "Ada Shoal")]).await.to().to_owned();
    let page = browser.get(&to).await.is(200);
    let path = to.replace("?said=added", "");
    let acts = page.attrs("main form", "action");
    assert!(acts.contains(&format!("{path}/link")) && acts.contains(&format!("{path}/enrol")), "{acts:?}");
    assert!(page.attrs("main a", "href").contains(&"/people/new".to_owned()), "no way to add another");
    let id = page.field("term");
    assert_eq!(
        browser.post(&format!("{path}/enrol"), &[("term", &id)]).await.to(),
        format!("{path}?said=enrolled")
    );
    assert!(browser.get(&term).await.text.contains("Ada Shoal"));
    assert!(!browser.get(&path).await.attrs("main form", "action").contains(&format!("{path}/enrol")));

    let twin = [("role", "weaver"), ("name", "ada  shoal"), ("contact", "by the pump")];
    let page = browser.post("/people", &twin).await.is(422);
    page.only_error_at("name");
    assert_eq!((page.field("name"), page.all("#twins").len()), ("ada  shoal".into(), 1));
    let to = browser.post("/people", &[&twin[..], &[("twins", "yes")]].concat()).await.to().to_owned();
    assert_eq!(browser.get(&to).await.attr(".notice a", "href"), path, "the twins don't know of each other");

    // All who aren't enrolled are, by one press.
    browser.post("/people/many", &[("list", "Bo Reef\nCem Sand")]).await.is(303);
    browser.post(&format!("{term}/enrol"), &[("all", "yes")]).await.is(303);
    let page = browser.get(&term).await.is(200);
    assert_eq!(
        page.all("section:last-of-type tbody th"),
        ["Ada Shoal", "ada  shoal", "Bo Reef", "Cem Sand"]
            .map(|name| name.split_whitespace().collect::<Vec<_>>().join(" "))
    );
    // Who is called otherwise by now may be called like somebody else: that is asked, too, and what was typed stays.
    let other = browser.post("/people", &[("role", "weaver"), ("name", "Dov")]).await.to().to_owned();
    let (other, _) = other.split_once('?').unwrap();
    let renamed = [("name", "Ada Shoal"), ("contact", "by the mill"), ("units", ""), ("revision", "1")];
    let page = browser.post(other, &renamed).await.is(422);
    page.only_error_at("name");
    assert_eq!((page.field("name"), page.all("#twins").len()), ("Ada Shoal".into(), 1));
    browser.post(other, &[&renamed[..], &[("twins", "yes")]].concat()).await.is(303);
    // The name that they have anyway isn't asked about again.
    let again = [("name", "Ada Shoal"), ("contact", "by the pump"), ("units", ""), ("revision", "2")];
    browser.post(other, &again).await.is(303);
}

#[tokio::test]
async fn a_long_list_of_people_is_shown_in_parts_and_searched() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    for part in 0..2 {
        let list: Vec<String> = (0..70).map(|n| format!("Weaver {part}{n:02}")).collect();
        browser.post("/people/many", &[("list", &list.join("\n"))]).await.is(303);
    }
    let page = browser.get("/people").await.is(200);
    assert_eq!(page.all("tbody tr").len(), 100);
    let next = page.attr("a[href*='page=2']", "href");
    assert_eq!(browser.get(&next).await.is(200).all("tbody tr").len(), 41);
    assert_eq!(browser.get("/people?q=weaver+105").await.is(200).all("tbody th"), ["Weaver 105"]);
}
