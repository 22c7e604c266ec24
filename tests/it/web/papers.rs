//! Papers from their pages: who gets which, what the live page says to an old one, and label sheets with wrong measures.
use thrumhall::store::rugs::{Making, RugBand};
use thrumhall::units::Length;

use crate::support::actor;
use crate::support::browser::{Browser, Page, World};
use crate::support::loft::{self, usual};

#[track_caller]
fn is_pdf(page: Page) -> Page {
    let page = page.is(200);
    assert_eq!(page.headers["content-type"], "application/pdf");
    assert!(page.text.starts_with("%PDF-1.7"));
    page
}

async fn rug_of(world: &World, name: &str) -> (String, Browser, Browser) {
    let (_, instructor) = world.instructor().await;
    let (weaver, hers) = world.enter(thrumhall::store::people::Role::Weaver, name).await;
    let rug = loft::rug(world.store(), weaver, "Tide", &usual(""), None).await;
    (format!("/rugs/{rug}"), instructor, hers)
}

#[tokio::test]
async fn each_paper_of_a_rug_comes_from_its_page() {
    let world = World::new().await;
    let (path, mut me, mut hers) = rug_of(&world, "Wanda Probe").await;
    let (_, mut other) = world.enter(thrumhall::store::people::Role::Weaver, "Oda Probe").await;
    let page = me.get(&path).await.is(200);
    for paper in
        ["card.pdf", "card.pdf?print=large", "tape.pdf", "reading.pdf", "reading.pdf?print=large", "care.pdf"]
    {
        let link = format!("{path}/{paper}");
        let more = if link.contains('?') { '&' } else { '?' };
        for size in ["letter", "a4"] {
            let sized = page
                .attrs("#papers .sizes a", "href")
                .into_iter()
                .any(|to| to == format!("{link}{more}size={size}"));
            assert!(sized, "no way leads to {paper} on {size}");
        }
        is_pdf(me.get(&link).await);
        let mine = is_pdf(hers.get(&link).await);
        assert!(mine.headers["content-disposition"].to_str().unwrap().contains("tide"));
        other.get(&link).await.is(404);
    }
    // Inches go with Letter, unless somebody asks for the other: 612 × 792 and 595.28 × 841.89 points.
    assert!(me.get(&format!("{path}/card.pdf")).await.text.contains("[0 0 612 792]"));
    assert!(me.get(&format!("{path}/card.pdf?size=a4")).await.text.contains("[0 0 595.27"));
}

#[tokio::test]
async fn an_old_paper_is_told_what_changed() {
    let world = World::new().await;
    let (path, mut me, _) = rug_of(&world, "Wanda Probe").await;
    let id = path.rsplit('/').next().unwrap().parse().unwrap();
    let link = me.get(&format!("{path}/card")).await.is(200);
    assert!(link.text.contains("<svg class=\"qr\""));
    // The code's address, as the paper has it: revision, warp, weft and rows.
    let rug = world.store().read().await.unwrap().rug(id).await.unwrap().unwrap();
    let fresh = me.get(&format!("{path}?paper=1.0.0.0")).await.is(200);
    let was = fresh.all("[aria-label=\"Your paper is out of date\"] li");
    assert_eq!(was.len(), 3, "{was:?}");
    assert!(was[0].starts_with("Warp, joined in one ball: 0 in on your paper"), "{was:?}");
    let figure = |at: usize, end: &str| {
        let now = was[at].rsplit("on your paper, ").next().unwrap();
        now.strip_suffix(end).unwrap().to_owned()
    };
    let rows: i64 = figure(2, " now.").parse().unwrap();
    assert!(rows > 50);
    // Somebody makes it shorter, and then gives it another name.
    let mut fields = rug.fields.clone();
    fields.making = Making::default();
    let colour = rug.bands[0].first.clone();
    let bands = [RugBand {
        height: Length::inches(20.0),
        first: colour.clone(),
        other: colour,
        strip: None,
        chart: None,
    }];
    let mut tx = world.store().write(actor(rug.weaver_id)).await.unwrap();
    tx.change_rug(rug.id, 1, &fields, &bands).await.unwrap();
    tx.commit().await.unwrap();
    let mut tx = world.store().write(actor(rug.weaver_id)).await.unwrap();
    fields.name = "Low tide".into();
    tx.change_rug(rug.id, 2, &fields, &bands).await.unwrap();
    tx.commit().await.unwrap();
    let told = me.get(&format!("{path}?paper=1.1.1.{rows}")).await.is(200);
    let told = told.one("[aria-label=\"Your paper is out of date\"]");
    assert!(told.contains("It is revision 1; the plan is revision 3 now."), "{told}");
    assert!(told.contains(&format!("Rows: {rows} on your paper, ")), "{told}");
    assert!(told.contains("name Low tide") && told.contains("bands 20 in "), "{told}");
    // A paper of the second revision isn't told of the change that it knows.
    let told =
        me.get(&format!("{path}?paper=2.1.1.1")).await.one("[aria-label=\"Your paper is out of date\"]");
    assert!(told.contains("name Low tide") && !told.contains("bands 20 in"), "{told}");
    // Nonsense in the address is no paper.
    for nonsense in ["", "3", "3.1.1", "a.b.c.d", "3.1.1.99999999999999999999", "-1.1.1.1"] {
        let page = me.get(&format!("{path}?paper={nonsense}")).await.is(200);
        assert!(page.all("[role=status]").is_empty(), "{nonsense}");
    }
}

#[tokio::test]
async fn tags_are_made_on_sheets_that_fit_and_refused_on_others() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    loft::frame(world.store(), me, &usual("S1")).await;
    let page = browser.get("/frames/tags").await.is(200);
    let names =
        ["size", "across", "down", "wide", "high", "left", "top", "between", "below", "skip", "edges"];
    let query = |page: &Page, changed: &[(&str, &str)]| {
        let mut query = form_urlencoded::Serializer::new(String::new());
        for name in names {
            let own = changed.iter().find(|(known, _)| *known == name).map(|(_, value)| (*value).to_owned());
            let value = own.unwrap_or_else(|| match name {
                "size" => "letter".into(),
                name => page.field(name),
            });
            query.append_pair(name, &value);
        }
        format!("/frames/tags.pdf?{}", query.finish())
    };
    is_pdf(browser.get(&query(&page, &[])).await);
    for (field, value, why) in [
        ("wide", "3 in", "the paper is 215.9 mm wide"),
        ("high", "2 in", "the paper is 279.4 mm high"),
        ("wide", "1/2 in", "at least 25 mm wide"),
        ("high", "1/4 in", "12 mm high"),
        ("across", "0", "from 1 to 12"),
        ("left", "a hand", "a hand"),
    ] {
        let refused = browser.get(&query(&page, &[(field, value)])).await.is(422);
        assert!(refused.error(field).contains(why), "{field}: {}", refused.error(field));
        assert_eq!(refused.field(field), value, "what was typed is lost");
    }
    let none = browser
        .get(
            "/cloth/tags.pdf?size=a4&across=3&down=7&wide=60&high=30&left=10&top=10&between=0&below=0&skip=0",
        )
        .await;
    assert!(none.is(422).error("from").contains("Nothing of this is there"));
}

#[tokio::test]
async fn a_template_needs_measures_that_can_be() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let page = browser.get("/frames/build").await.is(200);
    let link = page.attr("a[href^='/frames/build/template.pdf']", "href");
    is_pdf(browser.get(&link).await);
    assert!(
        browser.get("/frames/build/template.pdf?width=0").await.to().starts_with("/frames/build?width=0")
    );
    let frame = loft::frame(world.store(), me, &usual("S1")).await;
    is_pdf(browser.get(&format!("/frames/{frame}/template.pdf")).await);
    browser.get("/frames/none/template.pdf").await.is(404);
}

#[tokio::test]
async fn the_cards_of_a_class_are_one_file() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let term = thrumhall::store::TermId::new();
    let mut tx = world.store().write(actor(me)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    tx.commit().await.unwrap();
    let path = format!("/terms/{term}");
    assert!(!browser.get(&path).await.text.contains("cards.pdf"), "nothing to print yet");
    browser.get(&format!("{path}/cards.pdf")).await.is(404);
    for name in ["Ana", "Ben", "Cleo"] {
        let weaver = loft::person(world.store(), thrumhall::store::people::Role::Weaver, name).await;
        loft::rug(world.store(), weaver, name, &usual(""), Some(term)).await;
    }
    let page = browser.get(&path).await.is(200);
    for size in ["letter", "a4"] {
        assert!(page.text.contains(&format!("href=\"{path}/cards.pdf?size={size}\"")));
    }
    let pdf = is_pdf(browser.get(&format!("{path}/cards.pdf")).await);
    assert_eq!(pdf.text.matches("/Type/Page/").count() + pdf.text.matches("/Type /Page\n").count(), 3);
    is_pdf(browser.get(&format!("{path}/care.pdf")).await);
    is_pdf(browser.get(&format!("{path}/wall.pdf")).await);
}

/// Where a browser reached the program by an address of this machine alone, codes lead nowhere for everybody else.
#[tokio::test(flavor = "multi_thread")]
async fn pages_that_print_or_show_a_code_say_when_only_this_machine_can_open_it() {
    let world = World::new().await;
    let (weaver, _) = world.weaver().await;
    let (_, mut browser) = world.instructor().await;
    let rug =
        crate::support::loft::rug(world.store(), weaver, "Tide", &crate::support::loft::usual("S1"), None)
            .await;
    let asked = [
        ("GET", format!("/rugs/{rug}")),
        ("GET", format!("/rugs/{rug}/card")),
        ("GET", format!("/rugs/{rug}/reading")),
        ("GET", "/cloth/tags".to_owned()),
        ("GET", "/frames/tags".to_owned()),
        ("GET", "/pull".to_owned()),
        ("POST", format!("/people/{weaver}/link")),
        ("POST", "/me/calendar".to_owned()),
    ];
    for (method, path) in asked {
        for (host, warned) in [("127.0.0.1:8080", true), ("localhost:8080", true), ("loft.test", false)] {
            let mut request = browser.request(method, &path).header("sec-fetch-site", "same-origin");
            request.headers_mut().unwrap().insert(axum::http::header::HOST, host.parse().unwrap());
            let page = browser.send(request.body(axum::body::Body::empty()).unwrap()).await.is(200);
            let words = format!("Codes lead to http://{host}, which only this machine can open");
            assert_eq!(page.text.contains(&words), warned, "{path} at {host}");
        }
    }
}
