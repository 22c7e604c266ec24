//! A design for each weaver of a term who has none, and keeping those that are ticked; and a rug kept as a pattern from its board.
use thrumhall::store::people::Role;
use thrumhall::store::{PersonId, TermId};

use super::share_out::bundle;
use crate::support::browser::{Browser, Page, World};
use crate::support::{actor, forms, loft};

/// A term of three weavers, of whom one has a rug, and cloth for so many pounds of each colour.
async fn world(pounds: f64) -> (World, Browser, String, Vec<PersonId>) {
    let world = World::new().await;
    let (who, instructor) = world.instructor().await;
    loft::frame(world.store(), who, &loft::usual("S1")).await;
    let term = TermId::new();
    let mut weavers = Vec::new();
    for name in ["Ada Probe", "Bo Probe", "Cy Probe"] {
        weavers.push(loft::person(world.store(), Role::Weaver, name).await);
    }
    let mut tx = world.store().write(actor(who)).await.unwrap();
    tx.add_term(term, "Neap", "").await.unwrap();
    for weaver in &weavers {
        tx.enrol(term, *weaver).await.unwrap();
    }
    tx.commit().await.unwrap();
    loft::rug(world.store(), weavers[2], "Tide", &loft::usual("S1"), Some(term)).await;
    for (name, rrggbb) in [("Sea", 0x002b_5f75), ("Sand", 0x00d9_c9a3), ("White", 0x00f8_f7f2)] {
        bundle(&world, who, name, rrggbb, pounds, true).await;
    }
    (world, instructor, format!("/terms/{term}/designs"), weavers)
}

/// The address of the form as the page has it, with these fields over it.
fn asked(page: &Page, path: &str, fields: &[(&str, &str)]) -> String {
    let mut query = form_urlencoded::Serializer::new(String::new());
    query.append_pair("size", &page.attr("#size option", "value")).append_pair("strip_width", "1.5 in");
    for weaver in page.attrs("input[name=weaver][checked]", "value") {
        query.append_pair("weaver", &weaver);
    }
    query.extend_pairs(fields);
    format!("{path}?{}", query.finish())
}

#[tokio::test]
async fn each_weaver_without_a_rug_gets_a_design_and_those_ticked_are_planned() {
    let (_world, mut instructor, path, weavers) = world(4.0).await;
    let term = path.trim_end_matches("/designs");
    assert!(
        instructor.get(term).await.is(200).attrs("main a", "href").contains(&path),
        "the term leads here"
    );
    let page = instructor.get(&path).await.is(200);
    assert!(page.text.contains("Nothing is kept before"), "{}", page.text);
    assert_eq!(page.attrs("input[name=weaver]", "value").len(), 2, "Cy has a rug");
    let page = instructor.get(&asked(&page, &path, &[])).await.is(200);
    assert_eq!(page.one("#designs h2"), "All 2 are covered");
    assert_eq!(page.all("article.design figure.rug svg title").len(), 2);
    assert!(page.text.contains("The two most alike are Ada Probe’s and Bo Probe’s"), "{}", page.text);
    // One by one: only Ada's is kept.
    let action = page.attr("#designs form[method=post]", "action");
    let names = page.attrs("#designs form input[type=hidden]", "name");
    let values = page.attrs("#designs form input[type=hidden]", "value");
    let mut fields: Vec<(&str, &str)> =
        names.iter().zip(&values).map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let none = instructor.post(&action, &fields).await.is(422);
    assert_eq!(none.error("plan"), "Tick at least one design.");
    assert_eq!(none.all("article.design").len(), 2, "the designs are still there");
    let ada = weavers[0].to_string();
    fields.push(("plan", &ada));
    let kept = instructor.post(&action, &fields).await.is(303);
    assert_eq!(kept.to(), format!("{term}?said=designs"));
    let page = instructor.get(&path).await.is(200);
    assert_eq!(page.attrs("input[name=weaver]", "value"), [weavers[1].to_string()], "Ada has one now");
    let rugs = instructor.get("/rugs").await.is(200);
    assert!(rugs.text.contains("Ada Probe") && !rugs.text.contains("Bo Probe"), "{}", rugs.text);
    // Sent again it plans nothing more.
    instructor.post(&action, &fields).await;
    fields[0].1 = "01900000-0000-7000-8000-000000000001";
    let late = instructor.post(&action, &fields).await.is(422);
    assert!(late.error("plan").contains("has a rug by now"), "{}", late.error("plan"));
}

#[tokio::test]
async fn who_goes_without_is_told_why_and_what_is_proven() {
    let (_world, mut instructor, path, _) = world(1.6).await;
    let page = instructor.get(&path).await.is(200);
    let page = instructor.get(&asked(&page, &path, &[])).await.is(200);
    assert_eq!(page.one("#designs h2"), "1 of 2 are covered");
    assert!(page.text.contains("No more than 1 can be covered at once"), "{}", page.text);
    assert!(
        page.text.contains("and") && page.text.contains("is free. A smaller frame takes less."),
        "{}",
        page.text
    );
}

#[tokio::test]
async fn a_question_for_a_class_that_cannot_be_read_comes_back() {
    let (_world, mut instructor, path, weavers) = world(4.0).await;
    let page = instructor.get(&path).await.is(200);
    let nobody = instructor.get(&format!("{path}?strip_width=1.5+in&size=none")).await.is(422);
    assert!(!nobody.error("size").is_empty());
    let size = form_urlencoded::Serializer::new(String::new())
        .append_pair("size", &page.attr("#size option", "value"))
        .append_pair("strip_width", "1.5 in")
        .finish();
    instructor.get(&format!("{path}?{size}")).await.is(422).only_error_at("weaver");
    let own = format!("size-{}", weavers[0]);
    let page = instructor.get(&asked(&page, &path, &[(&own, "none")])).await.is(422);
    assert!(page.text.contains("Choose a frame’s size for Ada Probe."), "{}", page.text);
}

#[tokio::test]
async fn an_instructor_keeps_a_class_pattern_from_the_board() {
    let (_world, mut instructor, _, weavers) = world(4.0).await;
    let board = instructor.get("/rugs/new").await.is(200);
    assert_eq!(board.all("button[name=pattern]"), ["Keep as class pattern"]);
    let weaver = weavers[0].to_string();
    let form = forms::rug(&[
        ("weaver", weaver.as_str()),
        ("pattern", "yes"),
        ("name", "Spring tide"),
        ("band-1-height", "32 in"),
        ("band-1-first", "navy"),
        ("band-1-other", "white"),
    ]);
    instructor.post("/rugs", &form).await.is(303);
    let fresh = instructor.get("/rugs/new").await.is(200);
    assert!(fresh.text.contains("Spring tide"), "it can be started from");
}

#[tokio::test]
async fn a_band_of_the_board_is_kept_in_the_designs_around_it() {
    let (_world, mut instructor, _, _) = world(4.0).await;
    let board = instructor.get("/rugs/new").await.is(200);
    let around = board.attr(".board a[href^='/rugs/suggest']", "href");
    let around = around.trim_end_matches("#designs");
    let page = instructor.get(around).await;
    // The board begins with one band, which is the whole rug: nothing is left to design around it.
    assert_eq!(page.all("input[name=keep][checked]").len(), 1, "{}", page.text);
    let half = around.replace("812800000", "203200000");
    let page = instructor.get(&half).await.is(200);
    assert!(!page.all("article.design").is_empty(), "{}", page.text);
    for band in page.all("article.design details li:last-child") {
        assert!(band.ends_with(", kept"), "the first band from the start is kept: {band}");
    }
    let wrong = instructor.get(&format!("{half}&keep=blue")).await.is(422);
    assert!(!wrong.error("keep").is_empty());
}
