//! Logging a rug, saying that it is finished, and what is made of it.
use jiff::ToSpan as _;
use thrumhall::store::people::Role;
use thrumhall::store::terms::Meeting;
use thrumhall::store::{Day, MeetingId, TermId, TimeOfDay};

use super::rugs::{explained, planned, with};
use crate::support::browser::{Browser, World};
use crate::support::{actor, noon};

async fn log(browser: &mut Browser, rug: &str, fields: &[(&str, &str)]) {
    let to = browser.post(&format!("{rug}/log"), fields).await.to().to_owned();
    assert!(to.starts_with(&format!("{rug}?said=logged")), "{to}");
}

#[tokio::test]
async fn a_weaver_logs_and_sees_where_the_rug_is() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    let form = weaver.get(&format!("{rug}/log")).await.is(200);
    assert_eq!(form.all("form.sheet label").len(), 5, "rows, length, minutes, and two colours");
    log(&mut weaver, &rug, &[("rows", "0"), ("minutes", "70"), ("left-1", "36 oz"), ("left-2", "6 oz")])
        .await;
    log(
        &mut weaver,
        &rug,
        &[("rows", "40"), ("woven", "10 in"), ("minutes", "120"), ("left-1", "30 oz"), ("left-2", "1 oz")],
    )
    .await;
    let shown = weaver.get(&rug).await.is(200);
    assert_eq!(shown.one("#standing h2"), "Where I am");
    let standing = shown.one("#standing");
    assert!(standing.contains("Row 40 of about 128: 10 in of 32 in woven."), "{standing}");
    assert!(standing.contains("Band 1, White and Navy: about 8 rows more, then White."), "{standing}");
    assert!(standing.contains("in 2 h of log"), "{standing}");
    assert_eq!(shown.attr("#standing progress", "value"), "40");
    // 8 rows of navy are to come; 40 took 5 oz: an ounce is just about enough.
    let colours = shown.all(".lasting > li");
    assert!(colours[0].starts_with("White will last") && colours[1].starts_with("Navy"), "{colours:?}");
    assert!(weaver.get(&format!("{rug}/log")).await.one(".lead").contains("Last time: 40 rows, 10 in"));
    assert!(weaver.get(&rug).await.one("form[action$='/state']").contains("The rug is weaving"));
}

#[tokio::test]
async fn where_a_rug_stands_is_worked_out_number_by_number() {
    let world = World::new().await;
    let (me, _) = world.instructor().await;
    let (_, mut weaver) = world.weaver().await;
    let term = term(&world, me).await.to_string();
    let rug =
        weaver.post("/rugs", &with(&[("term", &term)])).await.to().split('?').next().unwrap().to_owned();
    for (rows, minutes, left) in [("0", "70", "36 oz"), ("40", "120", "30 oz")] {
        log(&mut weaver, &rug, &[("rows", rows), ("minutes", minutes), ("left-1", left)]).await;
    }
    let (shown, worked) = (weaver.get(&rug).await, weaver.get(&format!("{rug}/worked")).await.is(200));
    let keys = explained(&shown.text, &worked.text);
    for key in ["weave_left", "other_left", "pace", "chance"] {
        assert!(keys.contains(&format!("progress.{key}")), "{key} leads nowhere");
    }
    assert!(keys.contains(&"lasting.1.chance".to_owned()));
    let pace = worked.all("section[id='progress.pace'] dd");
    assert!(pace[2].ends_with("from the rug’s log") && pace[3].starts_with("2 h from"), "{pace:?}");
}

#[tokio::test]
async fn a_colour_that_runs_out_comes_with_what_helps() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let (_, mut volunteer) = world.volunteer().await;
    for (colour, weight) in [("navy", "2 lb"), ("yellow", "5 lb")] {
        let bundle = [("kind", "percale"), ("colour", colour), ("weight", weight), ("washed", "yes")];
        volunteer.post("/cloth/weigh-in", &bundle).await.is(303);
    }
    let rug = planned(&mut weaver).await;
    log(&mut weaver, &rug, &[("rows", "20"), ("left-2", "0.5 oz")]).await;
    let line = weaver.get(&rug).await.one(".lasting > li");
    assert!(line.contains("Navy will run out") && line.contains("On the shelf: bundle 1, Navy"), "{line}");
    assert!(!line.contains("Yellow") && line.contains("make the bands with Navy shorter"), "{line}");
}

#[tokio::test]
async fn wrong_input_comes_back_at_the_field_with_what_was_typed() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    let cases: &[(&str, &str, &str, &[&str])] = &[
        ("rows", "many", "rows", &["0", "3000", "many"]),
        ("rows", "-3", "rows", &["-3", "0", "3000"]),
        ("woven", "40 in", "woven", &["40 in", "0 in", "32 in"]),
        ("woven", "twelve", "woven", &["twelve", "length"]),
        ("minutes", "0", "minutes", &["0"]),
        ("left-2", "3 stones", "left-2", &["3 stones", "weight"]),
        ("left-1", "200 lb", "left-1", &["200 lb"]),
        ("woven", "", "rows", &["figure"]),
    ];
    for &(field, typed, at, values) in cases {
        let page = weaver.post(&format!("{rug}/log"), &[(field, typed)]).await.is(422);
        page.only_error_at(at);
        page.error_names(at, values);
        assert_eq!(page.field(field), typed);
    }
    let slip = weaver.post(&format!("{rug}/log"), &[("rows", "400"), ("woven", "4 in")]).await.is(422);
    slip.error_names("rows", &["400", "4 in"]);
    assert_eq!(slip.field("woven"), "4 in");
    assert!(weaver.get(&rug).await.all("#standing").is_empty(), "nothing was kept");
    let cases: &[(&str, &str, &[&str])] = &[
        ("rows", "0", &["0"]),
        ("woven", "1 mile", &["1 mile", "length"]),
        ("weft", "1,006 kg", &["1.006 kg", "1006 kg"]),
        ("weave_minutes", "6 h", &["6 h"]),
        ("prepare_minutes", "-1", &["-1"]),
        // A warp is longer than once along the frame.
        ("warp", "3 in", &["3 in", "33 in"]),
        // A tenth larger than its frame: it was measured wrong.
        ("finished_length", "40 in", &["40 in"]),
        ("finished_width", "20 in", &["20 in"]),
    ];
    for &(field, typed, values) in cases {
        let page = weaver.post(&format!("{rug}/finish"), &[(field, typed)]).await.is(422);
        page.only_error_at(field);
        page.error_names(field, values);
        assert_eq!(page.field(field), typed);
    }
}

#[tokio::test]
async fn the_same_form_twice_logs_once_and_a_mistake_is_undone() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    let key = weaver.get(&format!("{rug}/log")).await.field("key");
    for _ in 0..2 {
        weaver.post(&format!("{rug}/log"), &[("key", &key), ("rows", "12")]).await.is(303);
    }
    log(&mut weaver, &rug, &[("rows", "90")]).await;
    let shown = weaver.get(&rug).await;
    assert_eq!(shown.all("#standing tbody tr").len(), 2);
    let entry = shown.field("entry");
    weaver.post(&format!("{rug}/log/undo"), &[("entry", &entry)]).await.is(303);
    let shown = weaver.get(&rug).await;
    assert!(shown.one("#standing").contains("Row 12 of about 128"), "{}", shown.one("#standing"));
    let lines = shown.all("#standing tbody tr");
    assert!(
        lines.len() == 3 && lines[0].contains("an entry undone") && lines[1].contains("(undone)"),
        "{lines:?}"
    );
    weaver.post(&format!("{rug}/log/undo"), &[("entry", &entry)]).await.is(303);
    assert_eq!(weaver.get(&rug).await.all("#standing tbody tr").len(), 3, "once is enough");
    weaver.post(&format!("{rug}/log/undo"), &[("entry", "what")]).await.is(400);
    let nothing = MeetingId::new().to_string();
    weaver.post(&format!("{rug}/log/undo"), &[("entry", &nothing)]).await.is(404);
}

#[tokio::test]
async fn another_weavers_log_is_as_good_as_none_and_staff_may_help() {
    let world = World::new().await;
    let (_, mut owner) = world.weaver().await;
    let rug = planned(&mut owner).await;
    let (_, mut other) = world.enter(Role::Weaver, "Otto Probe").await;
    for path in ["log", "finish"] {
        other.get(&format!("{rug}/{path}")).await.is(404);
        other.post(&format!("{rug}/{path}"), &[("rows", "3")]).await.is(404);
    }
    other.post(&format!("{rug}/log/undo"), &[]).await.is(404);
    let (_, mut volunteer) = world.volunteer().await;
    log(&mut volunteer, &rug, &[("rows", "3")]).await;
    let shown = volunteer.get(&rug).await;
    assert_eq!(shown.one("#standing h2"), "Where it is");
    assert!(shown.one("#standing tbody").contains("Viggo Probe"));
}

#[tokio::test]
async fn finishing_asks_what_it_took_and_the_next_plan_has_learnt_it() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    log(&mut weaver, &rug, &[("rows", "0"), ("minutes", "70"), ("left-1", "26 oz"), ("left-2", "10 oz")])
        .await;
    log(
        &mut weaver,
        &rug,
        &[("rows", "140"), ("woven", "32 in"), ("minutes", "400"), ("left-1", "2 oz"), ("left-2", "3 oz")],
    )
    .await;
    let form = weaver.get(&format!("{rug}/finish")).await.is(200);
    for (field, filled) in [
        ("rows", "140"),
        ("woven", "32 in"),
        ("weft", "1 lb 15 oz"),
        ("weave_minutes", "400"),
        ("prepare_minutes", "70"),
        ("warp", ""),
    ] {
        assert_eq!(form.field(field), filled, "{field}");
    }
    let took = [
        ("rows", "140"),
        ("woven", "32 in"),
        ("weft", "1 lb 15 oz"),
        ("weave_minutes", "400"),
        ("prepare_minutes", ""),
        ("finished_length", "31 in"),
        ("finished_width", "17 1/2 in"),
    ];
    let to = weaver.post(&format!("{rug}/finish"), &took).await.to().to_owned();
    let shown = weaver.get(&to).await.is(200);
    assert_eq!(shown.all("#took dd"), ["140", "32 in", "1 lb 15 oz", "6 h 40 min", "31 in", "17 1/2 in"]);
    assert!(shown.all("#standing").is_empty());
    weaver.post(&format!("{rug}/log"), &[("rows", "3")]).await.is(422);
    assert_eq!(weaver.get(&format!("{rug}/finish")).await.field("prepare_minutes"), "");

    let next = weaver
        .post("/rugs", &with(&[("name", "High tide")]))
        .await
        .to()
        .split('?')
        .next()
        .unwrap()
        .to_owned();
    let worked = weaver.get(&format!("{next}/worked")).await.one(".workings");
    assert!(worked.contains("(1 rug, 1 of this frame size, 1 of this cloth, 1 of this weaver)"), "{worked}");
    let preview = weaver.post("/rugs", &with(&[("look", "yes")])).await.one("#preview");
    let learnt = weaver.get(&next).await.all(".need .take");
    assert!(preview.contains(&learnt[1]), "{preview} has {learnt:?}");
}

#[tokio::test]
async fn finished_without_a_number_is_finished() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    weaver.post(&format!("{rug}/finish"), &[]).await.is(303);
    let shown = weaver.get(&rug).await;
    assert!(shown.one("#took").contains("Nothing noted yet"));
    weaver.post(&format!("{rug}/finish"), &[]).await.is(303);
}

/// A term of two evenings of 150 minutes, today's and the next week's.
async fn term(world: &World, by: thrumhall::store::PersonId) -> TermId {
    let term = TermId::new();
    let mut tx = world.store().write(actor(by)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    for day in ["2026-10-07", "2026-10-14"] {
        let meeting = Meeting {
            id: MeetingId::new(),
            term_id: term,
            on_day: Day(day.parse().unwrap()),
            starts_at: TimeOfDay("18:30".parse().unwrap()),
            minutes: 150,
            called_off: false,
        };
        tx.add_meeting(&meeting).await.unwrap();
    }
    tx.enrol(term, by).await.unwrap();
    tx.commit().await.unwrap();
    term
}

#[tokio::test]
async fn today_says_who_runs_short_and_who_may_not_finish_by_the_log() {
    let world = World::new().await;
    let (wanda, mut weaver) = world.weaver().await;
    let (_, mut instructor) = world.instructor().await;
    let term = term(&world, wanda).await.to_string();
    let rug =
        weaver.post("/rugs", &with(&[("term", &term)])).await.to().split('?').next().unwrap().to_owned();
    let late = |page: &crate::support::browser::Page| {
        page.all("[aria-labelledby=settle] .act-text").into_iter().find(|line| line.contains("of 10"))
    };
    let before = late(&instructor.get("/today").await).unwrap();
    assert!(before.starts_with("Wanda Probe unlikely: 0 of 10"), "seven hours don't fit into five: {before}");
    world.clock.set(noon() + 8.hours());
    log(&mut weaver, &rug, &[("rows", "100"), ("woven", "25 in"), ("minutes", "150"), ("left-2", "0")]).await;
    let page = instructor.get("/today").await;
    assert_eq!(late(&page), None, "a quarter is left for two evenings");
    log(&mut weaver, &rug, &[("rows", "20"), ("left-2", "0.5 oz")]).await;
    let page = instructor.get("/today").await;
    let lines = page.all("[aria-labelledby=settle] .act-text");
    assert!(lines.iter().any(|line| line == "Wanda Probe Navy will run out Low tide"), "{lines:?}");
    assert!(page.attr("a[href$='#lasting']", "href").starts_with(&rug));
}
