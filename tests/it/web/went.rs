//! Where the cloth went, weighed by hand: every way it can go, each in its own column and by the workroom's own day.
use crate::support::browser::{Browser, World};

/// The rows of the table whose first cells are these.
async fn rows(browser: &mut Browser, by: &str) -> Vec<String> {
    let table = browser.get("/cloth/went.csv").await.is(200).table();
    table.lines().filter(|line| line.starts_with(&format!("{by},"))).map(str::to_owned).collect()
}

#[tokio::test]
async fn each_way_that_cloth_can_go_has_its_column() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let unwashed = [
        ("kind", "percale"),
        ("colour", "navy"),
        ("weight", "1300 g"),
        ("tare", "300 g"),
        ("washed", "no"),
        ("source", "hotel"),
    ];
    browser.post("/cloth/weigh-in", &unwashed).await.is(303);
    let other = [("kind", "percale"), ("colour", "red"), ("weight", "500 g"), ("washed", "yes")];
    browser.post("/cloth/weigh-in", &other).await.is(303);
    let bundle = browser.get("/cloth?q=hotel").await.attr("tbody th a", "href");
    let washed = [("from", "arrived"), ("to", "ready"), ("state_weight", "980 g")];
    browser.post(&format!("{bundle}/state"), &washed).await.is(303);
    browser.post(&format!("{bundle}/pull"), &[("pull_weight", "300 g")]).await.is(303);
    browser.post(&format!("{bundle}/put-back"), &[("put_back_weight", "60 g")]).await.is(303);
    browser.post(&format!("{bundle}/scrap"), &[("scrap_weight", "7 g")]).await.is(303);
    assert_eq!(rows(&mut browser, "source").await[0], "source,hotel,1000,240,20,7,0,733");
    // Found by counting: less than the ledger says, with the basket off; then more.
    let counted = [("count_weight", "1003 g"), ("count_tare", "300 g")];
    browser.post(&format!("{bundle}/count"), &counted).await.is(303);
    assert_eq!(rows(&mut browser, "source").await[0], "source,hotel,1000,240,20,7,30,703");
    browser.post(&format!("{bundle}/count"), &[("count_weight", "710 g")]).await.is(303);
    assert_eq!(rows(&mut browser, "source").await[0], "source,hotel,1000,240,20,7,23,710");
    // Cutting moves it to its strips, which come from where it came from.
    let cut = [("cut_weight", "200 g"), ("cut_width", "1 1/2 in")];
    browser.post(&format!("{bundle}/cut"), &cut).await.is(303);
    assert_eq!(
        rows(&mut browser, "source").await,
        ["source,hotel,1000,240,20,7,23,710", "source,not said,500,0,0,0,0,500"]
    );
    assert_eq!(rows(&mut browser, "all").await, ["all,all,1500,240,20,7,23,1210"]);
}

#[tokio::test]
async fn what_is_undone_went_nowhere() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let came = [("kind", "percale"), ("colour", "navy"), ("weight", "900 g"), ("washed", "yes")];
    browser.post("/cloth/weigh-in", &came).await.is(303);
    let bundle = browser.get("/cloth").await.attr("tbody th a", "href");
    for (act, field) in [("pull", "pull_weight"), ("scrap", "scrap_weight"), ("count", "count_weight")] {
        browser.post(&format!("{bundle}/{act}"), &[(field, "200 g")]).await.is(303);
        assert_ne!(rows(&mut browser, "all").await, ["all,all,900,0,0,0,0,900"], "{act}");
        let page = browser.get(&bundle).await.is(200).text;
        let latest = page.rsplit_once("name=\"entry\" value=\"").expect("nothing may be undone").1;
        let (entry, _) = latest.split_once('"').unwrap();
        browser.post(&format!("{bundle}/undo"), &[("entry", entry)]).await.is(303);
        assert_eq!(rows(&mut browser, "all").await, ["all,all,900,0,0,0,0,900"], "{act}, undone");
    }
}

/// It is Wednesday evening in the workroom, and Thursday in UTC.
#[tokio::test]
async fn an_evening_belongs_to_the_workrooms_day() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    for (name, day) in [("Ebb", "2026-10-07"), ("Flood", "2026-10-08")] {
        let term = [
            ("name", name),
            ("day", day),
            ("starts", "18:30"),
            ("minutes", "120"),
            ("count", "1"),
            ("every", "1"),
        ];
        instructor.post("/terms", &term).await.is(303);
    }
    let came = [("kind", "percale"), ("colour", "navy"), ("weight", "900 g"), ("washed", "yes")];
    instructor.post("/cloth/weigh-in", &came).await.is(303);
    assert_eq!(rows(&mut instructor, "term").await, ["term,Ebb,900,0,0,0,0,900"]);
}
