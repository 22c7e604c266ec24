//! Who gets a turn where not everybody can, who keeps theirs, and what is told of it.
use jiff::Timestamp;
use thrumhall::store::RugId;

use super::{Class, class};
use crate::support::loft::{large, usual};
use crate::support::timetables::{help, turns, without};
use crate::support::{actor, noon};
use crate::web::rugs::with;

#[tokio::test]
async fn the_one_that_waits_longest_comes_first_then_who_is_urgent_then_what_is_locked() {
    let mut class = class(2).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let (ana_person, ana) = class.weaver("Ana", &usual("")).await;
    // Ben's rug was planned a day before Ana's, though it was entered after it.
    let ben_person = class.enrolled("Ben").await;
    let before: Timestamp = noon() - jiff::SignedDuration::from_hours(24);
    class.world.clock.set(before);
    let (weaver, term) = (ben_person.to_string(), class.term.to_string());
    let plain = [("name", "Ben’s rug"), ("weaver", &*weaver), ("term", &*term), ("rugs_before", "7")];
    let to = class.browser.post("/rugs", &with(&plain)).await.to().to_owned();
    let ben: RugId = to.split('?').next().unwrap().rsplit('/').next().unwrap().parse().unwrap();
    class.world.clock.set(noon());
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ben", "2026-10-07", "2026-10-14"]]);
    assert!(without(&page)[0].1.contains("Others of its size come first"), "{:?}", without(&page));
    assert!(page.one(".lead.section").contains("Proven"), "{}", page.one(".lead.section"));
    class.accept(&page).await;
    class.wish(&[ana, ben], &[(format!("urgent-{ana}"), "3".into())]).await;
    let urgent = class.proposal().await;
    Class::are(&urgent, &[["S1", "Ana", "2026-10-07", "2026-10-14"]]);
    // Locked, Ben stays all the same.
    let id = ben.to_string();
    class
        .browser
        .post(&format!("{}/timetable/lock", class.path), &[("rug", &id), ("locked", "yes")])
        .await
        .is(303);
    Class::are(&class.proposal().await, &[["S1", "Ben", "2026-10-07", "2026-10-14"]]);
    class
        .browser
        .post(&format!("{}/timetable/lock", class.path), &[("rug", &id), ("locked", "no")])
        .await
        .is(303);
    Class::are(&class.proposal().await, &[["S1", "Ana", "2026-10-07", "2026-10-14"]]);
    // Who left the term or the workroom holds nothing.
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.withdraw(class.term, ana_person).await.unwrap();
    tx.commit().await.unwrap();
    Class::are(&class.proposal().await, &[["S1", "Ben", "2026-10-07", "2026-10-14"]]);
}

#[tokio::test]
async fn rugs_of_those_who_left_and_rugs_that_are_done_want_no_turn() {
    let mut class = class(4).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    let (ben, _) = class.weaver("Ben", &usual("")).await;
    class.weaver("Cleo", &usual("")).await;
    class.browser.post(&format!("/rugs/{ana}/state"), &[("state", "finished")]).await.is(303);
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.withdraw(class.term, ben).await.unwrap();
    tx.commit().await.unwrap();
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Cleo", "2026-10-07", "2026-10-14"]]);
    assert_eq!(without(&page), []);
}

#[tokio::test]
async fn who_was_told_a_day_keeps_it_when_a_frame_comes_in() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    let page = class.proposal().await;
    class.accept(&page).await;
    class.frame(&usual("S0")).await;
    let page = class.proposal().await;
    assert_eq!(turns(&page).iter().map(|turn| turn[0].as_str()).collect::<Vec<_>>(), ["S1", "S1"]);
    assert!(page.text.contains("No changes: everybody keeps"), "{}", page.text);
}

#[tokio::test]
async fn a_rug_on_a_frame_stays_there_until_it_is_done_and_is_told_when_that_is_too_late() {
    let mut class = class(3).await;
    let frames = [class.frame(&usual("S1")).await, class.frame(&usual("S2")).await];
    class.rods(36.0, 8).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    class.hand_out(ana, frames[1], None, "2026-10-21").await;
    Class::are(
        &class.proposal().await,
        &[["S1", "Ben", "2026-10-07", "2026-10-14"], ["S2", "Ana", "now", "2026-10-14"]],
    );
    // At the last meeting two are still needed: she keeps the frame, and the page says so.
    class.clock("2026-10-20T12:00:00Z");
    let page = class.proposal().await;
    Class::are(&page, &[["S2", "Ana", "now", "2026-10-21"]]);
    assert!(page.all("td[data-label=State]")[0].contains("needs 2 meetings, 1 are left"), "{}", page.text);
}

#[tokio::test]
async fn nobody_takes_a_frame_from_who_has_it_however_urgent() {
    let mut class = class(2).await;
    let frame = class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let (_, ben) = class.weaver("Ben", &usual("")).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.hand_out(ana, frame, None, "2026-10-14").await;
    class.wish(&[ana, ben], &[(format!("urgent-{ben}"), "3".into())]).await;
    Class::are(&class.proposal().await, &[["S1", "Ana", "now", "2026-10-14"]]);
}

#[tokio::test]
async fn what_would_help_is_told_with_what_it_brings() {
    let mut class = class(3).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 2).await;
    class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    class.weaver("Cleo", &usual("")).await;
    class.weaver("Dora", &large("")).await;
    let page = class.proposal().await;
    assert_eq!(turns(&page).len(), 1);
    let told = help(&page);
    let of = |start: &str| told.iter().find(|(what, _)| what.starts_with(start)).map(|(_, gained)| *gained);
    assert_eq!(of("With one more frame of 18 in × 33 in"), Some(1), "it brings its rods: {told:?}");
    assert_eq!(of("With one more meeting"), Some(1), "{told:?}");
    let why = without(&page);
    let of = |who: &str| why.iter().find(|(other, _)| other == who).map(|(_, why)| why.clone()).unwrap();
    assert!(of("Dora").contains("no frame of its size"), "{why:?}");
    assert!(of("Ben").contains("Others of its size come first"), "{why:?}");
    assert!(
        page.one(".lead.section").starts_with("1 of 4 rugs get their turn. Proven"),
        "{}",
        page.one(".lead.section")
    );
}

#[tokio::test]
async fn a_moved_turn_is_told_as_moved() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    let page = class.proposal().await;
    assert!(page.all(".plain-list li")[0].contains("new"), "{}", page.text);
    class.accept(&page).await;
    assert!(class.proposal().await.text.contains("No changes: everybody keeps"));
    // Half is woven, and she comes for the rest: she begins later and ends as before.
    class.browser.post(&format!("/rugs/{ana}/log"), &[("rows", "100")]).await.is(303);
    class.wish(&[ana], &[(format!("from-{ana}"), class.meetings[1].to_string())]).await;
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ana", "2026-10-14", "2026-10-14"]]);
    assert!(page.all(".plain-list li")[0].contains("moved"), "{}", page.text);
    class.browser.post(&format!("/meetings/{}/off", class.meetings[1]), &[]).await.is(303);
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ana", "2026-10-07", "2026-10-07"]]);
    assert!(page.all(".plain-list li")[0].contains("moved"), "{}", page.text);
}
