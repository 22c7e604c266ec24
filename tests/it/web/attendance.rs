//! Who is here: ticked on Today, on a meeting's page, and by weavers themselves.
use jiff::ToSpan as _;
use thrumhall::store::PersonId;
use thrumhall::store::people::Role;

use crate::support::browser::{Browser, World};
use crate::support::evening;
use crate::support::loft::{self, usual};

/// A term of four weekly meetings from the fixtures' evening on, and its address.
async fn term(browser: &mut Browser, weavers: &[PersonId]) -> String {
    let typed = [
        ("name", "Ebb"),
        ("day", "2026-10-07"),
        ("count", "4"),
        ("every", "1"),
        ("starts", "18:30"),
        ("minutes", "90"),
    ];
    let path = browser.post("/terms", &typed).await.to().replace("?said=added", "");
    let ids: Vec<String> = weavers.iter().map(ToString::to_string).collect();
    let chosen: Vec<(&str, &str)> = ids.iter().map(|id| ("weaver", id.as_str())).collect();
    browser.post(&format!("{path}/enrol"), &chosen).await.is(303);
    path
}

const TICKED: &str = "input[name=here][checked]";

#[tokio::test]
async fn who_is_here_is_ticked_on_today_and_only_those_who_stood_there_change() {
    let world = World::new().await;
    let (wanda, _) = world.weaver().await;
    let (bo, _) = world.enter(Role::Weaver, "Bo Probe").await;
    let (_, mut browser) = world.instructor().await;
    world.clock.set(evening());
    let path = term(&mut browser, &[wanda, bo]).await;
    let page = browser.get("/today").await.is(200);
    let roll = page.attr("#roll", "action");
    assert_eq!(page.attrs("input[name=shown]", "value"), [bo.to_string(), wanda.to_string()]);
    assert!(page.all(TICKED).is_empty());

    let (w, b) = (wanda.to_string(), bo.to_string());
    let both = [("shown", &*b), ("shown", &*w), ("here", &*w), ("back", "today")];
    assert_eq!(browser.post(&roll, &both).await.to(), "/today?said=roll");
    assert_eq!(browser.get("/today").await.attrs(TICKED, "value"), std::slice::from_ref(&w));
    assert_eq!(browser.get("/today").await.one("[aria-label=Expected] summary b"), "1 of 2");
    // Bo's tick, from a page on which Wanda didn't stand, leaves hers.
    browser.post(&roll, &[("shown", &b), ("here", &b)]).await.is(303);
    assert_eq!(browser.get(&roll).await.is(200).attrs(TICKED, "value"), [b.clone(), w.clone()]);
    browser.post(&roll, &[("shown", &b)]).await.is(303);
    assert_eq!(browser.get(&roll).await.attrs(TICKED, "value"), std::slice::from_ref(&w));
    // Somebody of another term, or nobody at all, isn't there.
    let (cy, _) = world.enter(Role::Weaver, "Cy Probe").await;
    browser.post(&roll, &[("here", &cy.to_string()), ("here", "nobody")]).await.is(303);
    assert_eq!(browser.get(&roll).await.attrs(TICKED, "value"), [w]);
    let record = browser.get("/record").await.text;
    assert!(record.contains("noted who was at the meeting on 2026-10-07"), "{record}");
    assert_eq!(browser.get(&path).await.attrs("a[href$='/attendance']", "href").len(), 5);
}

#[tokio::test]
async fn a_weaver_says_by_their_own_link_that_they_are_here_or_cannot_come() {
    let world = World::new().await;
    let (wanda, mut own) = world.weaver().await;
    let (_, mut browser) = world.instructor().await;
    world.clock.set(evening());
    term(&mut browser, &[wanda]).await;
    let rug = loft::rug(world.store(), wanda, "Tide", &usual(""), None).await;
    let rug = format!("/rugs/{rug}");
    let page = own.get(&rug).await.is(200);
    assert_eq!(page.attrs("[name=coming]", "value"), ["here", "away"]);
    let meeting = page.field("meeting");
    let say = |coming| {
        [("meeting", meeting.as_str()), ("coming", coming), ("rug", rug.trim_start_matches("/rugs/"))]
    };
    assert_eq!(own.post("/my/coming", &say("here")).await.to(), format!("{rug}?said=coming"));
    assert_eq!(browser.get("/today").await.attrs(TICKED, "value"), [wanda.to_string()]);
    assert_eq!(own.get(&rug).await.attrs("[name=coming]", "value"), ["expected"]);
    own.post("/my/coming", &say("away")).await.is(303);
    let page = browser.get("/today").await.is(200);
    assert!(
        page.all(TICKED).is_empty() && page.one("[aria-label=Expected] .badge") == "can’t come",
        "{}",
        page.text
    );
    own.post("/my/coming", &say("expected")).await.is(303);
    assert_ne!(browser.get("/today").await.one("[aria-label=Expected] .badge"), "can’t come");
    own.post("/my/coming", &say("perhaps")).await.is(400);
    // An instructor's own page of her rug asks nothing; and of next week's meeting nobody is here yet.
    assert!(browser.get(&rug).await.all("[name=coming]").is_empty());
    world.clock.set(evening() + 24.hours());
    let page = own.get(&rug).await.is(200);
    assert_eq!(page.attrs("[name=coming]", "value"), ["away"]);
    own.post("/my/coming", &say("here")).await.is(400);
    let next = page.field("meeting");
    own.post("/my/coming", &[("meeting", &next), ("coming", "here")]).await.is(400);
    own.post("/my/coming", &[("meeting", &next), ("coming", "away")]).await.is(303);
    // Her own file says so.
    let data = own.get("/me/data.json").await.is(200).text;
    assert!(data.contains("\"absences\"") && data.contains("2026-10-14"), "{data}");
}

#[tokio::test]
async fn who_seldom_comes_is_less_likely_to_finish() {
    let world = World::new().await;
    let (wanda, _) = world.weaver().await;
    let (bo, _) = world.enter(Role::Weaver, "Bo Probe").await;
    let (_, mut browser) = world.instructor().await;
    world.clock.set(evening());
    let path = term(&mut browser, &[wanda, bo]).await;
    let id = path.trim_start_matches("/terms/").parse().ok();
    let mut rugs = Vec::new();
    for (weaver, name) in [(wanda, "Tide"), (bo, "Reef")] {
        rugs.push(loft::rug(world.store(), weaver, name, &usual(""), id).await);
    }
    let roll = browser.get("/today").await.attr("#roll", "action");
    let (w, b) = (wanda.to_string(), bo.to_string());
    browser.post(&roll, &[("shown", &w), ("shown", &b), ("here", &b)]).await.is(303);
    world.clock.set(evening() + 24.hours());
    let page = browser.get("/today").await.is(200);
    let late = page.all(".can-wait .act-text");
    let wandas =
        late.iter().position(|line| line.contains("Tide") && line.contains("came to 0 of 1 meetings"));
    let bos = late
        .iter()
        .position(|line| line.contains("Reef") && line.contains("likely") && !line.contains("came to"));
    // Each rug's own page counts it, too.
    let own = browser.get(&format!("/rugs/{}", rugs[0])).await.is(200).text;
    assert!(own.contains("Counted with attendance: 0 of 1 meetings so far."), "{own}");
    assert!(!browser.get(&format!("/rugs/{}", rugs[1])).await.text.contains("Counted with attendance"));
    // Both are the same rug with the same time ahead: who came is as likely to finish or likelier, and stands later.
    assert!(wandas.is_some() && bos.is_none_or(|bos| wandas.unwrap() < bos), "{late:?}");
}
