//! Planning a rug, its page, its card.
use thrumhall::store::terms::Meeting;
use thrumhall::store::{Day, TimeOfDay};
use thrumhall::store::{MeetingId, PersonId, TermId};

use crate::support::browser::{Browser, World};
use crate::support::days::short;
use crate::support::{actor, forms};

/// A rug for the usual small frame, a third of it in checks; the weaver's name comes from the session or the form.
const SMALL: &[(&str, &str)] = &[
    ("name", "Low tide"),
    ("band-1-height", "12 in"),
    ("band-1-first", "white"),
    ("band-1-other", "navy"),
    ("band-2-height", "20 in"),
    ("band-2-first", "white"),
    ("band-2-other", "white"),
];

/// The same form with some fields otherwise.
pub(super) fn with<'a>(changes: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    forms::rug(&forms::with(changes, SMALL))
}

/// A weaver who planned the small rug: where its page is.
pub(super) async fn planned(browser: &mut Browser) -> String {
    let to = browser.post("/rugs", &with(&[])).await.to().to_owned();
    to.split('?').next().unwrap().to_owned()
}

#[tokio::test]
async fn a_weaver_plans_a_rug_and_sees_what_it_needs() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    weaver.get("/rugs/new").await.is(200);
    let page = planned(&mut weaver).await;
    assert_eq!(weaver.get("/my").await.to(), page, "the only rug is where a weaver wants to be");
    let shown = weaver.get(&page).await.is(200);
    assert_eq!(shown.one("h1"), "Low tide");
    // Common practice, no source: 2 · nails · span is about 60 1/2 yd for 18 × 33 in with 33 nails.
    let facts = shown.all(".facts dd");
    assert!(facts.iter().any(|fact| fact.starts_with("60.5 yd")), "{facts:?}");
    assert_eq!(shown.all("figure.rug svg title").len(), 2);
    assert!(!shown.text.contains(" style="), "the content policy forbids inline style");
    assert!(shown.all(".facts dd").iter().any(|fact| fact == "65 on 33 nails per end"));
}

#[tokio::test]
async fn every_number_leads_to_how_it_was_worked_out() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let page = planned(&mut weaver).await;
    let shown = weaver.get(&page).await;
    let worked = weaver.get(&format!("{page}/worked")).await.is(200);
    assert!(explained(&shown.text, &worked.text).len() > 10);
    assert!(worked.text.contains("a default nobody measured"));
}

/// The keys that a page's links to its workings lead to; each stands on the page of workings, and so does what that page links to.
pub fn explained(shown: &str, worked: &str) -> Vec<String> {
    let keys = |page: &str, selector: &str| -> Vec<String> {
        let links = scraper::Selector::parse(selector).unwrap();
        let document = scraper::Html::parse_document(page);
        let key =
            |link: scraper::ElementRef<'_>| link.attr("href").unwrap().split('#').nth(1).unwrap().to_owned();
        document.select(&links).map(key).collect()
    };
    let asked = keys(shown, "main a[href*='/worked'][href*='#']");
    for key in asked.iter().chain(&keys(worked, ".working a[href^='#']")) {
        assert!(worked.contains(&format!("id=\"{key}\"")), "nothing explains {key}");
    }
    asked
}

#[tokio::test]
async fn a_sample_is_said_to_be_measured_and_narrows_the_weight() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let plain = planned(&mut weaver).await;
    let sampled = with(&[("sample_length", "4 in"), ("sample_rows", "17"), ("sample_mass", "98 g")]);
    let measured = weaver.post("/rugs", &sampled).await.to().split('?').next().unwrap().to_owned();
    let worked = weaver.get(&format!("{measured}/worked")).await;
    assert!(worked.text.contains("measured here"));
    let ranges = |text: &str| text.matches("class=\"range\"").count();
    let (a, b) = (weaver.get(&plain).await, weaver.get(&measured).await);
    assert_eq!(ranges(&a.text), ranges(&b.text));
    assert_ne!(a.all(".need"), b.all(".need"));
}

#[tokio::test]
async fn the_card_is_one_paper_with_what_hangs_on_the_frame() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let page = planned(&mut weaver).await;
    let card = weaver.get(&format!("{page}/card")).await.is(200);
    assert_eq!(card.all("article.paper").len(), 1);
    let paper = card.one("article.paper");
    for wanted in [
        "Low tide",
        "First row.",
        "Colour changes, measured from the start",
        "Revision 1 of the plan",
        "Take care",
        "Care of the rug",
    ] {
        assert!(paper.contains(wanted), "no {wanted} in {paper}");
    }
    assert_eq!(card.all(".qr svg").len(), 1);
}

#[tokio::test]
async fn steps_are_put_on_the_terms_meetings() {
    let world = World::new().await;
    let (weaver, mut browser) = world.weaver().await;
    let term = TermId::new();
    let mut tx = world.store().write(actor(weaver)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    for (day, off) in
        [("2026-09-30", false), ("2026-10-07", false), ("2026-10-14", true), ("2026-10-21", false)]
    {
        let meeting = Meeting {
            id: MeetingId::new(),
            term_id: term,
            on_day: Day(day.parse().unwrap()),
            starts_at: TimeOfDay("18:30".parse().unwrap()),
            minutes: 150,
            called_off: off,
        };
        tx.add_meeting(&meeting).await.unwrap();
    }
    tx.commit().await.unwrap();
    let term = term.to_string();
    let page = browser.post("/rugs", &with(&[("term", &term)])).await.to().to_owned();
    let shown = browser.get(&page).await;
    let days = shown.all(".steps time");
    assert_eq!(
        days,
        [short("2026-10-07"), short("2026-10-21"), "after the term".to_owned()],
        "past and called-off meetings don't count"
    );
    assert!(shown.text.contains("are lacking"), "300 minutes are too few for a rug of seven hours");
}

#[tokio::test]
async fn wrong_input_comes_back_at_the_field_with_everything_typed() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let cases: &[(&str, &str, &str, &[&str])] = &[
        ("name", "", "name", &[]),
        ("span", "1 mile", "span", &["1 mile", "length"]),
        ("span", "5280 ft", "span", &["63360 in", "4 in", "144 in"]),
        ("width", "-18 in", "width", &["-18 in", "zero", "4 in", "144 in"]),
        ("width", "0", "width", &["zero", "4 in", "144 in"]),
        ("nails", "many", "nails", &["3", "600", "many"]),
        ("pitch", "3 in", "pitch", &["33", "3 in", "96 in", "18 in"]),
        ("strip_width", "9 in", "strip_width", &["9 in", "1/4 in", "6 in"]),
        ("warp_kind", "silk", "warp_kind", &["warp"]),
        ("band-1-height", "40 in", "band-1-height", &["1", "40 in", "1/8 in", "33 in"]),
        ("band-2-height", "29 in", "band-1-height", &["33 in"]),
        ("band-1-first", "", "band-1-first", &["colour", "1"]),
        ("fringe", "٣ in", "fringe", &["٣ in", "length"]),
        ("unit_size", "0", "unit_size", &["0", "1", "6"]),
        ("home_minutes", "1e3", "home_minutes", &["1e3"]),
    ];
    for &(field, typed, at, values) in cases {
        let page = weaver.post("/rugs", &with(&[(field, typed)])).await.is(422);
        page.only_error_at(at);
        page.error_names(at, values);
        assert_eq!(page.field("strip_width"), if field == "strip_width" { typed } else { "1 1/2 in" });
    }
    // A sample is measured, counted and weighed, or there is none.
    let page = weaver.post("/rugs", &with(&[("sample_length", "4 in")])).await.is(422);
    assert_eq!(page.wrong_fields(), ["sample_rows", "sample_mass"]);
    let page = weaver.post("/rugs", &with(&[("sample_mass", "1,006 kg")])).await.is(422);
    assert_eq!(page.wrong_fields(), ["sample_length", "sample_rows", "sample_mass"]);
    page.error_names("sample_mass", &["1.006 kg", "1006 kg"]);
    assert!(weaver.get("/my").await.is(200).text.contains("No rug yet"));
}

#[tokio::test]
async fn more_bands_gives_more_rows_and_changes_nothing_else() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rows = |page: &crate::support::browser::Page| page.all(".band-row").len();
    let page = weaver.post("/rugs", &with(&[("more", "yes"), ("name", "")])).await.is(200);
    assert_eq!((rows(&page), page.all(".error").len()), (8, 0));
}

#[tokio::test]
async fn another_weavers_rug_is_as_good_as_none() {
    let world = World::new().await;
    let (_, mut owner) = world.weaver().await;
    let page = planned(&mut owner).await;
    let (_, mut other) = world.enter(thrumhall::store::people::Role::Weaver, "Otto Probe").await;
    for path in [page.clone(), format!("{page}/card"), format!("{page}/edit"), format!("{page}/worked")] {
        other.get(&path).await.is(404);
    }
    other.post(&page, &with(&[])).await.is(404);
    let (_, mut volunteer) = world.volunteer().await;
    volunteer.get(&page).await.is(200);
}

#[tokio::test]
async fn an_instructor_plans_for_a_weaver_and_the_second_editor_is_told() {
    let world = World::new().await;
    let (weaver, mut theirs) = world.weaver().await;
    let (_, mut instructor) = world.instructor().await;
    let id = weaver.to_string();
    let page = instructor.post("/rugs", &with(&[])).await.is(422);
    assert_eq!(page.error("weaver"), "Choose whose rug it is.");
    let nobody = PersonId::new().to_string();
    instructor.post("/rugs", &with(&[("weaver", &nobody)])).await.is(422);
    let page = instructor.post("/rugs", &with(&[("weaver", &id)])).await.to().to_owned();
    let page = page.split('?').next().unwrap().to_owned();
    let revision = theirs.get(&format!("{page}/edit")).await.is(200).field("revision");
    let edit = |name| with(&[("revision", revision.as_str()), ("name", name)]);
    instructor.post(&page, &edit("High tide")).await.is(303);
    let clash = theirs.post(&page, &edit("Spring tide")).await.is(409);
    assert_eq!(clash.field("name"), "Spring tide");
    assert_eq!(
        clash.error("name"),
        "The name was changed by Ines Probe and is now: High tide. Keep yours by saving again."
    );
}

#[tokio::test]
async fn what_was_typed_in_any_unit_reads_back_as_typed() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let typed = with(&[("span", "84 cm"), ("band-2-height", "20 1/16 in"), ("strip_width", "38 mm")]);
    let page = weaver.post("/rugs", &typed).await.to().split('?').next().unwrap().to_owned();
    let form = weaver.get(&format!("{page}/edit")).await;
    assert_eq!(form.field("span"), "84 cm");
    assert_eq!(form.field("band-2-height"), "20 1/16 in");
    assert_eq!(form.field("strip_width"), "3.8 cm");
}

#[tokio::test]
async fn what_a_rug_needs_is_seen_while_it_is_planned_and_nothing_is_kept() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let needs = |page: &crate::support::browser::Page| page.one("#preview");
    let seen = weaver.post("/rugs", &with(&[("look", "yes"), ("name", "")])).await.is(200);
    assert!(needs(&seen).contains("18 in × 32 in"), "{}", needs(&seen));
    let longer = weaver.post("/rugs", &with(&[("look", "yes"), ("band-2-height", "21 in")])).await;
    assert_ne!(needs(&seen), needs(&longer));
    let wrong = weaver.post("/rugs", &with(&[("look", "yes"), ("band-1-height", "twelve")])).await.is(200);
    assert!(needs(&wrong).contains("can't be read as a length"), "{}", needs(&wrong));
    assert!(weaver.get("/my").await.is(200).text.contains("No rug yet"));
}

/// By hand: a warp of ¾ in takes half the cloth of one of 1½ in, give and joins alike.
#[tokio::test]
async fn the_warp_may_have_strips_of_its_own_width() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let page = planned(&mut weaver).await;
    let form = weaver.get(&format!("{page}/edit")).await.is(200);
    let revision = form.field("revision");
    let own = with(&[("warp_strip", "3/4 in"), ("revision", &revision)]);
    weaver.post(&page, &own).await.is(303);
    assert_eq!(weaver.get(&format!("{page}/edit")).await.is(200).field("warp_strip"), "3/4 in");
    let shown = weaver.get(&page).await.is(200);
    assert!(shown.text.contains(", 3/4 in wide"), "{}", shown.text);
    let card = weaver.get(&format!("{page}/card")).await.is(200);
    assert!(card.text.contains("3/4 in wide"), "{}", card.text);
    let sheets = weaver.get(&format!("{page}/sheets?part=warp")).await.is(200);
    assert_eq!(sheets.field("strip"), "3/4 in");
    let worked = weaver.get(&format!("{page}/worked")).await.is(200);
    assert!(worked.text.contains("Thickness of the wound warp strip"), "{}", worked.text);

    // Too wide for the nails, and no width at all.
    for (typed, words) in [("6 in", "The widest strip that fits is"), ("1/8 in", "1/8 in"), ("wide", "wide")]
    {
        let wrong = weaver.post("/rugs", &with(&[("warp_strip", typed), ("nails", "60")])).await.is(422);
        wrong.only_error_at("warp_strip");
        assert!(wrong.error("warp_strip").contains(words), "{}", wrong.error("warp_strip"));
        assert_eq!(wrong.field("warp_strip"), typed);
    }
}

/// By hand: some 55 m of a yarn of 1.6 g a metre.
#[tokio::test]
async fn the_warp_may_be_of_bought_yarn() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let page = planned(&mut weaver).await;
    let form = weaver.get(&format!("{page}/edit")).await.is(200);
    let revision = form.field("revision");
    let yarn = [
        ("warp_yarn_length", "125 m"),
        ("warp_yarn_mass", "200 g"),
        ("warp_yarn_thickness", "2 mm"),
        ("revision", &revision),
    ];
    weaver.post(&page, &with(&yarn)).await.is(303);
    let again = weaver.get(&format!("{page}/edit")).await.is(200);
    assert_eq!(again.field("warp_yarn_thickness"), "2 mm");
    let shown = weaver.get(&page).await.is(200);
    assert!(shown.text.contains("Warp yarn") && shown.text.contains("1 ball"), "{}", shown.text);
    assert!(shown.text.contains("2.0 mm thick"), "{}", shown.text);
    let card = weaver.get(&format!("{page}/card")).await.is(200);
    for words in ["Warp yarn", "Balls and joins", "1 ball", "2.0 mm thick; take"] {
        assert!(card.text.contains(words), "{words}: {}", card.text);
    }
    assert!(!card.text.contains("strips 90 in long"), "{}", card.text);
    let worked = weaver.get(&format!("{page}/worked")).await.is(200);
    assert!(
        worked.text.contains("Thickness of the warp yarn") && !worked.text.contains("Warp cloth"),
        "{}",
        worked.text
    );
    let sheets = weaver.get(&format!("{page}/sheets?part=warp")).await.is(200);
    assert!(sheets.text.contains("takes no sheets"), "{}", sheets.text);

    // A ball without its weight, one that is too heavy for its length, one too thick for the nails.
    for (field, typed, words) in [
        ("warp_yarn_mass", "", "weight"),
        ("warp_yarn_mass", "19 kg", "Is it the weight of that length?"),
        ("warp_yarn_thickness", "20 mm", "The thickest that fits is 9.7 mm"),
        ("warp_yarn_length", "long", "long"),
    ] {
        let mut asked =
            vec![("warp_yarn_length", "125 m"), ("warp_yarn_mass", "200 g"), ("warp_yarn_thickness", "2 mm")];
        asked.retain(|(name, _)| *name != field);
        asked.push((field, typed));
        let wrong = weaver.post("/rugs", &with(&asked)).await.is(422);
        wrong.only_error_at(field);
        assert!(wrong.error(field).to_lowercase().contains(&words.to_lowercase()), "{}", wrong.error(field));
        assert_eq!(wrong.field(field), typed);
    }
}

/// By hand: a bar of 72 in gives both rods, a rug without backing and yarn costs nothing more.
#[tokio::test]
async fn a_rug_says_what_it_costs_where_the_class_says_what_it_pays() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let (_, mut instructor) = world.instructor().await;
    let page = planned(&mut weaver).await;
    assert!(!weaver.get(&page).await.is(200).text.contains("What it costs"));
    let revision = instructor.get("/workroom").await.is(200).field("revision");
    let settings = |more: &[(&'static str, &'static str)]| {
        let mut typed = vec![
            ("workroom", "Sail Loft"),
            ("units", "inches"),
            ("time_zone", "UTC"),
            ("scale", "5 g"),
            ("tape", "5 mm"),
            ("currency", "$"),
        ];
        typed.extend_from_slice(more);
        typed
    };
    for (field, typed) in [("rod_price", "dear"), ("rod_length", ""), ("rod_price", "")] {
        let mut wrong = settings(&[("rod_price", "4.5"), ("rod_length", "72 in"), ("revision", "1")]);
        wrong.retain(|(name, _)| *name != field);
        wrong.push((field, typed));
        let told = instructor.post("/workroom", &wrong).await.is(422);
        told.only_error_at(field);
        assert_eq!(told.field(field), typed);
    }
    let mut right = settings(&[
        ("rod_price", "4.5"),
        ("rod_length", "72 in"),
        ("yarn_price", "9"),
        ("yarn_mass", "500 g"),
    ]);
    right.push(("revision", revision.leak()));
    instructor.post("/workroom", &right).await.is(303);
    let kept = instructor.get("/workroom").await.is(200);
    let fields =
        ["rod_price", "rod_length", "yarn_price", "yarn_mass", "liner_price"].map(|name| kept.field(name));
    assert_eq!(fields, ["4.50", "72 in", "9.00", "500 g", ""]);
    for reader in [&mut weaver, &mut instructor] {
        let shown = reader.get(&page).await.is(200);
        let cost = shown.one("#cost");
        assert!(cost.contains("Edge rods") && cost.contains("$4.50") && cost.contains("Together"), "{cost}");
        assert!(!cost.contains("Warp yarn") && !cost.contains("liner"), "{cost}");
    }
    // Another's form, filled in before that, tells what changed.
    let mut late = settings(&[("rod_price", "5"), ("rod_length", "72 in")]);
    late.push(("revision", "1"));
    let told = instructor.post("/workroom", &late).await.is(409);
    assert!(told.text.contains("The price of a rod"), "{}", told.text);
}
