//! The Today page.
use jiff::ToSpan as _;
use thrumhall::store::PersonId;
use thrumhall::store::people::Role;

use crate::support::browser::{Browser, World};
use crate::support::days::short;
use crate::support::evening;

async fn with_term(browser: &mut Browser, weavers: &[PersonId]) {
    let typed = [
        ("name", "Ebb"),
        ("day", "2026-10-07"),
        ("count", "2"),
        ("every", "1"),
        ("starts", "18:30"),
        ("minutes", "90"),
    ];
    let to = browser.post("/terms", &typed).await.to().to_owned();
    let path = to.split('?').next().unwrap();
    let ids: Vec<String> = weavers.iter().map(ToString::to_string).collect();
    let chosen: Vec<(&str, &str)> = ids.iter().map(|id| ("weaver", id.as_str())).collect();
    browser.post(&format!("{path}/enrol"), &chosen).await.is(303);
}

#[tokio::test]
async fn a_new_workroom_is_told_what_to_set_up_next() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let page = browser.get("/today").await.is(200);
    assert_eq!(page.one(".steps .next strong"), "A term");
    assert_eq!(page.attr(".steps .next a", "href"), "/terms/new");
    world.weaver().await;
    let page = browser.get("/today").await.is(200);
    assert_eq!(page.one(".steps .done strong"), "Weavers");
}

#[tokio::test]
async fn the_next_meeting_is_said_in_words() {
    let world = World::new().await;
    let (wanda, _) = world.weaver().await;
    let (_, mut browser) = world.instructor().await;
    with_term(&mut browser, &[wanda]).await;
    let page = browser.get("/today").await.is(200);
    let today = short("2026-10-07");
    assert_eq!(page.one(".stat"), format!("Next meeting Tonight {today}, 18:30, for 1 h 30 min"));
    assert_eq!(page.all(".stat")[1], "Ebb 1 of 2 meetings");
    let later = short("2026-10-14");
    for (at, when) in [(1.hours(), "Tonight"), (3.hours(), &*later), (144.hours(), "Tomorrow")] {
        world.clock.set(evening() + at);
        assert_eq!(browser.get("/today").await.one(".stat b"), when);
    }
    world.clock.set(evening() + (24 * 20).hours());
    assert_eq!(browser.get("/today").await.one(".stat b"), "No meeting");
}

#[tokio::test]
async fn whoever_has_no_rug_is_named_with_the_way_to_one() {
    let world = World::new().await;
    let (wanda, _) = world.weaver().await;
    let (bo, _) = world.enter(Role::Weaver, "Bo Probe").await;
    let (_, mut browser) = world.instructor().await;
    with_term(&mut browser, &[wanda, bo]).await;
    let page = browser.get("/today").await.is(200);
    assert_eq!(page.attr(".acts a", "href"), format!("/rugs/new?weaver={bo}"));
    assert_eq!(page.all("[aria-label=Expected] strong"), ["Bo Probe", "Wanda Probe"]);
}
