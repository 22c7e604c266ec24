//! Ways that would end in a wall: no term runs and a frame is out, a rug that was begun has no frame, a rug that isn't done when
//! its term ends.
use thrumhall::store::people::Role;
use thrumhall::store::{PersonId, RugId, TermId};

use crate::support::actor;
use crate::support::browser::{Browser, World};
use crate::support::loft::{self, usual};

struct Class {
    term: TermId,
    rug: RugId,
    weaver: PersonId,
}

/// A term with a weaver and their rug, on the frame S1.
async fn class(world: &World, me: PersonId, browser: &mut Browser) -> Class {
    let store = world.store();
    let term = TermId::new();
    let weaver = loft::person(store, Role::Weaver, "Wanda").await;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    tx.enrol(term, weaver).await.unwrap();
    tx.commit().await.unwrap();
    let rug = loft::rug(store, weaver, "Tide", &usual(""), Some(term)).await;
    let frame = loft::frame(store, me, &usual("S1")).await.to_string();
    let hand_out = [("frame", frame.as_str()), ("rod", "none"), ("rods", "2"), ("due_on", "2026-12-21")];
    browser.post(&format!("/rugs/{rug}/hand-out"), &hand_out).await.is(303);
    Class { term, rug, weaver }
}

async fn loan(browser: &mut Browser) -> String {
    browser.get("/loans").await.is(200).attr("a[href^='/loans/']", "href")
}

#[tokio::test]
async fn with_the_only_term_ended_today_shows_what_is_out_and_not_done() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let class = class(&world, me, &mut browser).await;
    browser.post("/cloth/weigh-in", &super::cloth::typed(&[("washed", "no")])).await.is(303);
    browser.post(&format!("/terms/{}/close", class.term), &[]).await.is(303);
    let page = browser.get("/today").await.is(200);
    assert_eq!(page.all(".stat b"), ["None running", "1", "1"]);
    let lines = page.all(".acts .act-text");
    assert!(lines[0].starts_with("S1, Wanda"), "{lines:?}");
    assert!(page.text.contains("Cloth to wash"), "unwashed cloth is out of sight");
    let back = page.attr(".acts a[href$='/take-back']", "href");
    let fields = [("condition", "sound"), ("rug", "weaving"), ("rods_bent", "0"), ("rods_missing", "0")];
    browser.post(&back, &fields).await.is(303);
    // Its rug is still there, to get a frame again.
    let page = browser.get("/today").await.is(200);
    assert_eq!(page.attr(".acts a[href$='/hand-out']", "href"), format!("/rugs/{}/hand-out", class.rug));
}

#[tokio::test]
async fn a_rug_taken_back_still_being_woven_gets_a_frame_again() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let class = class(&world, me, &mut browser).await;
    let hand_out = format!("/rugs/{}/hand-out", class.rug);
    let offered = async |browser: &mut Browser, page: &str| {
        browser.get(page).await.is(200).attrs("main a", "href").contains(&hand_out)
    };
    let rug = format!("/rugs/{}", class.rug);
    assert!(!offered(&mut browser, &rug).await && !offered(&mut browser, "/today").await, "it has a frame");
    let taken = format!("{}/take-back", loan(&mut browser).await);
    let fields = [("condition", "sound"), ("rug", "weaving"), ("rods_bent", "0"), ("rods_missing", "0")];
    browser.post(&taken, &fields).await.is(303);
    assert!(offered(&mut browser, &rug).await && offered(&mut browser, "/today").await, "no way to a frame");
    let form = browser.get(&hand_out).await.is(200);
    let frame = form.attr("[name=frame]", "value");
    let again = [("frame", frame.as_str()), ("rod", "none"), ("rods", "2"), ("due_on", "2026-12-21")];
    browser.post(&hand_out, &again).await.is(303);
    assert!(browser.get(&rug).await.one(".lead").contains("weaving, on frame S1"));
}

#[tokio::test]
async fn rugs_that_are_not_done_go_on_in_the_next_term_with_their_frames() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let class = class(&world, me, &mut browser).await;
    let end = format!("/terms/{}/close", class.term);
    assert_eq!(browser.get(&end).await.is(200).attr("main .section p a", "href"), "/terms/new");
    let next = TermId::new();
    let mut tx = world.store().write(actor(me)).await.unwrap();
    tx.add_term(next, "Flood", "").await.unwrap();
    tx.commit().await.unwrap();
    let page = browser.get(&end).await.is(200);
    assert_eq!(page.attr("#into option[selected]", "value"), next.to_string());
    assert_eq!(page.attrs("input[name=rug][checked]", "value"), [class.rug.to_string()]);

    let (go_on, into, rug) =
        (format!("/terms/{}/go-on", class.term), next.to_string(), class.rug.to_string());
    browser.post(&go_on, &[("into", &into)]).await.is(422).only_error_at("rug");
    let page = browser.post(&go_on, &[("into", &class.term.to_string()), ("rug", &rug)]).await.is(422);
    page.only_error_at("into");
    assert_eq!(
        page.attrs("input[name=rug][checked]", "value"),
        std::slice::from_ref(&rug),
        "what was ticked is lost"
    );
    let other = loft::rug(world.store(), class.weaver, "Reef", &usual(""), None).await.to_string();
    browser.post(&go_on, &[("into", &into), ("rug", &other)]).await.is(422).only_error_at("rug");
    browser.post(&go_on, &[("into", &into), ("rug", &rug)]).await.is(303);

    let lead = browser.get(&format!("/rugs/{rug}")).await.is(200).one(".lead");
    assert!(lead.contains("Flood") && lead.contains("on frame S1"), "{lead}");
    assert!(browser.get(&format!("/terms/{next}")).await.text.contains("Wanda"), "not enrolled");
    assert!(browser.get(&end).await.all("input[name=rug]").is_empty());
    let record = browser.get("/record").await.text;
    assert!(record.contains("moved the rug “Tide” to the term “Flood”"), "{record}");
}
