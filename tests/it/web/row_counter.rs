//! The row counter: presses add up, whoever and whatever they come from, and the log follows.
use axum::body::Body;
use axum::http::header;
use jiff::ToSpan as _;
use serde_json::Value;

use super::rugs::planned;
use crate::support::browser::{Browser, Page, World};
use crate::support::noon;

/// A press as the page's script sends it.
async fn press(browser: &mut Browser, rug: &str, fields: &[(&str, &str)]) -> Page {
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
    let request = browser
        .request("POST", &format!("{rug}/rows"))
        .header("sec-fetch-site", "same-origin")
        .header(header::ACCEPT, "application/json")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    browser.send(request.body(Body::from(body)).unwrap()).await
}

fn json(page: &Page) -> Value {
    serde_json::from_str(&page.text).unwrap()
}

async fn form(browser: &mut Browser, rug: &str, more: &str) {
    let from = browser.get(&format!("{rug}/count")).await.attr(".count-acts [name=from]", "value");
    let to = browser.post(&format!("{rug}/rows"), &[("more", more), ("from", &from)]).await.is(303);
    assert_eq!(to.to(), format!("{rug}#count"));
}

#[tokio::test]
async fn rows_are_counted_one_by_one_and_an_evening_is_one_entry() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    for more in ["1", "1", "1", "-1"] {
        form(&mut weaver, &rug, more).await;
    }
    let shown = weaver.get(&rug).await.is(200);
    assert_eq!(shown.one("[data-count]"), "2");
    assert_eq!(shown.one("[data-next]"), "46 more, then White");
    assert_eq!(shown.attr("#standing progress", "value"), "2");
    assert!(shown.one("#standing").contains("Row 2 of about 128"));
    assert_eq!(shown.all("#standing tbody tr").len(), 1, "one entry goes on");
    assert!(shown.one("form[action$='/state']").contains("The rug is weaving"));
    // The line in the picture: two rows of 128 up 32 in, from the bottom.
    let here = shown.attr("[data-here]", "transform");
    assert_eq!(here, format!("translate(0 {:.1})", 32.0 * 25.4 * (1.0 - 2.0 / 128.0)));
    // The next day begins another.
    world.clock.set(noon() + 24.hours());
    form(&mut weaver, &rug, "1").await;
    let shown = weaver.get(&rug).await;
    let lines = shown.all("#standing tbody tr");
    assert!(lines.len() == 2 && lines[0].contains("3 rows") && lines[1].contains("2 rows"), "{lines:?}");
}

#[tokio::test]
async fn it_says_when_the_next_colour_comes_and_a_stretch_can_be_ticked_off() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    let count = weaver.get(&format!("{rug}/count")).await.is(200);
    assert_eq!(count.one("[data-next]"), "48 rows of White and Navy now");
    assert_eq!(count.all(".stretches li").len(), 2, "bands that are woven alike are one stretch");
    weaver.post(&format!("{rug}/rows"), &[("to", "47")]).await.is(303);
    let next = |page: &Page| page.one("[data-next]");
    assert_eq!(next(&weaver.get(&rug).await), "1 more, then White");
    form(&mut weaver, &rug, "1").await;
    let shown = weaver.get(&rug).await;
    assert_eq!(next(&shown), "80 rows of White now");
    assert_eq!(shown.all(".stretches .done").len(), 1);
    weaver.post(&format!("{rug}/rows"), &[("to", "127")]).await.is(303);
    assert_eq!(next(&weaver.get(&rug).await), "1 more, then it is woven");
    // More rows than were planned are counted, too.
    form(&mut weaver, &rug, "3").await;
    let shown = weaver.get(&rug).await;
    assert_eq!(
        (shown.one("[data-count]"), next(&shown)),
        ("130".into(), "All the planned rows are woven.".into())
    );
}

#[tokio::test]
async fn two_devices_add_up_and_a_press_sent_twice_counts_once() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let (_, mut instructor) = world.instructor().await;
    let rug = planned(&mut weaver).await;
    let key = "0190a000-0000-4000-8000-000000000001";
    for _ in 0..2 {
        let answer = press(&mut weaver, &rug, &[("more", "5"), ("from", ""), ("key", key)]).await.is(200);
        assert_eq!(json(&answer)["rows"], 5);
    }
    let answer = press(&mut instructor, &rug, &[("more", "2"), ("from", "")]).await.is(200);
    assert_eq!(json(&answer)["rows"], 7);
    let answer = press(&mut weaver, &rug, &[("more", "1"), ("from", "")]).await.is(200);
    assert_eq!(json(&answer)["rows"], 8);
    let lines = weaver.get(&rug).await.all("#standing tbody tr");
    assert!(lines.len() == 3 && lines[1].contains("7 rows"), "each says whose it is: {lines:?}");
}

#[tokio::test]
async fn a_figure_written_down_meanwhile_stands_and_what_was_counted_before_is_asked_about() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    press(&mut weaver, &rug, &[("more", "5"), ("from", "")]).await.is(200);
    weaver.post(&format!("{rug}/log"), &[("rows", "20")]).await.is(303);
    let late = json(&press(&mut weaver, &rug, &[("more", "3"), ("from", "")]).await.is(409));
    assert_eq!((&late["rows"], &late["words"]), (&20.into(), &"Meanwhile row 20 was written down.".into()));
    let again = press(&mut weaver, &rug, &[("more", "3"), ("from", late["from"].as_str().unwrap())]).await;
    assert_eq!(json(&again.is(200))["rows"], 23);
    // A form from a page that is as old comes back at its field.
    let page = weaver.post(&format!("{rug}/rows"), &[("more", "1"), ("from", "")]).await.is(422);
    page.only_error_at("rows");
    page.error_names("rows", &["23"]);
}

#[tokio::test]
async fn what_says_nothing_or_is_of_a_finished_rug_counts_nothing() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    for fields in
        [[("more", "many"), ("from", "")], [("more", "0"), ("from", "")], [("more", "1"), ("from", "there")]]
    {
        weaver.post(&format!("{rug}/rows"), &fields).await.is(400);
    }
    weaver.post(&format!("{rug}/rows"), &[("to", "-4")]).await.is(400);
    weaver.post(&format!("{rug}/rows"), &[("to", "4000")]).await.is(400);
    assert!(weaver.get(&rug).await.all("#standing").is_empty(), "nothing was kept");
    weaver.post(&format!("{rug}/finish"), &[]).await.is(303);
    weaver.post(&format!("{rug}/rows"), &[("more", "1"), ("from", "")]).await.is(422);
    let answer = json(&press(&mut weaver, &rug, &[("more", "1"), ("from", "")]).await.is(409));
    assert!(answer["words"].as_str().unwrap().contains("finished"));
}

#[tokio::test]
async fn minutes_written_down_after_a_count_teach_the_pace_of_its_rows() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let counted = planned(&mut weaver).await;
    press(&mut weaver, &counted, &[("more", "40"), ("from", "")]).await.is(200);
    weaver.post(&format!("{counted}/log"), &[("minutes", "120")]).await.is(303);
    let written = planned(&mut weaver).await;
    weaver.post(&format!("{written}/log"), &[("rows", "40"), ("minutes", "120")]).await.is(303);
    let pace = |page: Page| {
        let facts = page.all("#standing dd");
        facts.into_iter().find(|fact| fact.contains("twists a minute")).unwrap()
    };
    let (counted, written) = (pace(weaver.get(&counted).await), pace(weaver.get(&written).await));
    assert_eq!(counted, written);
    assert!(counted.contains("in 2 h of log"), "{counted}");
}
