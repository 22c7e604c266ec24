//! Ids within a weaver's own forms, and what a form that comes back says: neither reaches what is another's.
use super::acts::form;
use super::class::{Class, class, id_in, pairs, rug_form};
use super::kept::{difference, kept};
use super::looks::holds_nothing_of;
use crate::support::browser::{Browser, Page};

/// Nothing that exists.
const NOTHING: &str = "01890000-0000-7000-8000-000000000000";

fn and(mut form: Vec<(String, String)>, more: &[(&str, &str)]) -> Vec<(String, String)> {
    form.retain(|(name, _)| more.iter().all(|(other, _)| name != other));
    form.extend(more.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())));
    form
}

async fn post(browser: &Browser, address: &str, form: &[(String, String)]) -> Page {
    browser.clone().post(address, &pairs(form)).await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_weaver_plans_for_herself_whatever_the_form_says() {
    let class = class().await;
    let (ana, bea) = (&class.ana, &class.bea);
    let hers = [("weaver", bea.id.as_str()), ("weaver_id", &bea.id), ("person", &bea.id)];
    let rug = and(rug_form("Quillon", "stray", &class.term), &hers);
    let made = post(&ana.browser, "/rugs", &rug).await;
    let made = format!("/rugs/{}", id_in(made.to()));
    ana.browser.clone().get(&made).await.is(200);
    bea.browser.clone().get(&made).await.is(404);
    let kept_hers = and(rug, &[("revision", "1"), ("name", "Quillon changed")]);
    post(&ana.browser, &made, &kept_hers).await.is(303);
    ana.browser.clone().get(&made).await.is(200);
    bea.browser.clone().get(&made).await.is(404);
    let panels = and(form(&class, "/rugs/any-size", None), &hers);
    let led = post(&ana.browser, "/rugs/any-size", &panels).await;
    ana.browser.clone().get(led.to()).await.is(200);
    let mine = ana.browser.clone().get("/my").await.is(200);
    assert!(mine.text.contains("Stray tide"), "the panels are not hers: {}", mine.text);
    let theirs = bea.browser.clone().get("/my").await.is(200);
    assert!(!theirs.text.contains("Stray tide") && !theirs.text.contains("Quillon"), "{}", theirs.text);
}

#[tokio::test(flavor = "multi_thread")]
async fn ids_of_others_within_a_form_reach_nothing() {
    let class = class().await;
    let (ana, bea) = (&class.ana, &class.bea);
    let before = kept(&class.world.database).await;
    let (planned, weaving) = (format!("/rugs/{}", ana.rugs[0]), format!("/rugs/{}", ana.rugs[1]));
    let of = |fields: &[(&str, &str)]| and(Vec::new(), fields);
    for (address, form) in [
        (format!("{weaving}/log/undo"), of(&[("entry", &bea.log_entry)])),
        (format!("{planned}/log/undo"), of(&[("entry", &ana.log_entry)])),
        (format!("{planned}/log/undo"), of(&[("entry", &bea.log_entry), ("rug", &bea.rugs[1])])),
        (format!("{planned}/log/undo"), of(&[("entry", NOTHING)])),
        (format!("{planned}/cloth"), of(&[("warp", NOTHING), ("weft", "")])),
        (format!("{planned}/cloth"), of(&[("warp", &bea.rugs[0]), ("weft", "")])),
        ("/rugs".to_owned(), rug_form("Quillon", "stray", NOTHING)),
        ("/rugs".to_owned(), rug_form("Quillon", "stray", &bea.id)),
        (planned.clone(), and(rug_form("Quillon", "stray", NOTHING), &[("revision", "1")])),
        (
            "/rugs/any-size".to_owned(),
            and(super::acts::form(&class, "/rugs/any-size", None), &[("term", NOTHING)]),
        ),
    ] {
        let page = post(&ana.browser, &address, &form).await;
        let status = page.status.as_u16();
        assert!((400..500).contains(&status), "{address} with {form:?} got {status}: {}", page.text);
        holds_nothing_of(&[bea, &class.cleo, &class.dora], &without(page, &form), "a weaver", &address);
        let after = kept(&class.world.database).await;
        assert_eq!(difference(&before, &after), [""; 0], "{address} with {form:?} changed something");
    }
}

/// The page without what was typed, which it may give back.
fn without(mut page: Page, form: &[(String, String)]) -> Page {
    for (_, value) in form.iter().filter(|(_, value)| value.len() == NOTHING.len()) {
        page.text = page.text.replace(value.as_str(), "");
    }
    page
}

#[tokio::test(flavor = "multi_thread")]
async fn a_persons_settings_are_their_own_and_make_nobody_more_than_they_are() {
    let class = class().await;
    let (ana, bea) = (&class.ana, &class.bea);
    let was = class.instructor.clone().get(&format!("/people/{}", bea.id)).await.is(200);
    let typed = [
        ("name", "Ana Quillon"),
        ("contact", "Quillon moved"),
        ("units", "metric"),
        ("revision", "1"),
        ("id", &bea.id),
        ("person", &bea.id),
        ("role", "instructor"),
    ];
    ana.browser.clone().post("/me", &typed).await.is(303);
    let now = class.instructor.clone().get(&format!("/people/{}", bea.id)).await.is(200);
    let contact = |page: &Page| page.one("textarea[name=contact]");
    for field in ["name", "revision"] {
        assert_eq!(was.field(field), now.field(field), "another’s {field} changed");
    }
    assert_eq!(contact(&was), contact(&now), "another’s contact changed");
    let mine = class.instructor.clone().get(&format!("/people/{}", ana.id)).await.is(200);
    assert_eq!(contact(&mine), "Quillon moved");
    ana.browser.clone().get("/people").await.is(403);
    ana.browser.clone().get("/frames").await.is(403);
    // A person who opens a form twice is told what changed meanwhile: their own, nobody else's.
    let late = ana.browser.clone().post("/me", &typed).await;
    assert_eq!(late.status, 409, "an older form overwrote a newer one");
    holds_nothing_of(
        &[bea, &class.cleo, &class.dora],
        &without(late, &[(String::new(), bea.id.clone())]),
        "a weaver",
        "/me",
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_one_weaver_was_found_to_be_like_is_not_told_to_another() {
    let class = class().await;
    let (ana, bea) = (&class.ana, &class.bea);
    let looked = |class: &Class, weaver: &str| {
        and(rug_form("Quillon", "look", &class.term), &[("look", "yes"), ("weaver", weaver)])
    };
    let figures = |page: &Page| {
        let shown = page.all("main dd, main .need, main table");
        assert!(shown.len() > 3, "no figures to compare: {}", page.text);
        shown
    };
    // Bea wove much slower: to the staff her preview differs from Ana's.
    let slow = format!("/rugs/{}/finish", bea.rugs[2]);
    let took = [("rows", "127"), ("woven", "32 in"), ("weave_minutes", "5000"), ("prepare_minutes", "900")];
    bea.browser.clone().post(&slow, &took).await.is(303);
    let of = async |browser: &Browser, weaver: &str| {
        figures(&post(browser, "/rugs", &looked(&class, weaver)).await.is(200))
    };
    let (for_ana, for_bea) = (of(&class.instructor, &ana.id).await, of(&class.instructor, &bea.id).await);
    assert_ne!(for_ana, for_bea, "a weaver’s own pace makes no difference, so that none can be told");
    assert_eq!(
        of(&ana.browser, &bea.id).await,
        of(&ana.browser, "").await,
        "a weaver is shown another’s pace"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_form_that_comes_back_names_nobody_else() {
    let class = class().await;
    let (ana, others) = (&class.ana, [&class.bea, &class.cleo, &class.dora]);
    let (planned, weaving) = (format!("/rugs/{}", ana.rugs[0]), format!("/rugs/{}", ana.rugs[1]));
    let edited = |revision| and(rug_form("Quillon", "again", &class.term), &[("revision", revision)]);
    let bad = and(
        Vec::new(),
        &[("name", ""), ("rows", "many"), ("width", "wide"), ("warp", "none"), ("revision", "1")],
    );
    post(&class.instructor, &planned, &edited("1")).await.is(303);
    for (address, form, status) in [
        ("/rugs".to_owned(), bad.clone(), 422),
        ("/rugs/any-size".to_owned(), bad.clone(), 422),
        (planned.clone(), bad.clone(), 422),
        // The instructor changed it meanwhile.
        (planned.clone(), edited("1"), 409),
        (format!("{weaving}/log"), bad.clone(), 422),
        (format!("{weaving}/finish"), bad.clone(), 422),
        (format!("{planned}/cloth"), bad.clone(), 422),
        ("/me".to_owned(), bad.clone(), 422),
        ("/rugs".to_owned(), and(edited(""), &[("more", "yes")]), 200),
        ("/rugs".to_owned(), and(edited(""), &[("hold", "yes")]), 200),
        (planned.clone(), and(edited("1"), &[("look", "yes")]), 200),
    ] {
        let page = post(&ana.browser, &address, &form).await.is(status);
        holds_nothing_of(&others, &page, "a weaver", &address);
    }
}
