//! Personal links and calendars: whose they open, and when they no longer do.
use jiff::ToSpan as _;

use super::class::{CONTACT, calendar_link, class, id_in, personal_link};
use super::looks::holds_nothing_of;
use super::reading::told;
use crate::support::evening;

#[tokio::test(flavor = "multi_thread")]
async fn a_calendar_has_its_owners_things_and_nobody_elses() {
    let mut class = class().await;
    // A course that Bea alone goes to.
    let fields = [
        ("name", "Brackett evenings"),
        ("day", "2026-10-21"),
        ("starts", "09:15"),
        ("minutes", "60"),
        ("count", "1"),
        ("every", "1"),
    ];
    let evenings = id_in(class.instructor.post("/terms", &fields).await.to());
    class.instructor.post(&format!("/terms/{evenings}/enrol"), &[("weaver", &class.bea.id)]).await.is(303);
    let everybody = [&class.ana, &class.bea, &class.cleo, &class.dora];
    for me in [&class.ana, &class.bea] {
        let feed = class.world.stranger().get(&me.feed).await.is(200);
        let others: Vec<_> = everybody.into_iter().filter(|one| one.mark != me.mark).collect();
        holds_nothing_of(&others, &feed, me.mark, "her calendar");
        let told = told(&feed);
        let ids = |mark: &str| told.matches(&format!("uid:{mark}-")).count();
        // A loan that is out, not the one that is back; six meetings, and one of the course that is Bea's alone.
        assert_eq!(ids("loan"), 1, "{told}");
        assert!(told.contains(&format!("uid:loan-{}@", me.loans[0])), "{told}");
        assert_eq!(ids("meeting"), if me.mark == class.bea.mark { 7 } else { 6 }, "{told}");
        assert!(
            told.contains(&format!("{} drift", me.mark.to_lowercase())),
            "nothing to do for the planned rug"
        );
        assert!(!told.contains(CONTACT), "{told}");
    }
    for (who, browser) in [("a volunteer", &class.volunteer), ("an instructor", &class.instructor)] {
        let mut browser = browser.clone();
        let link = calendar_link(&mut browser).await;
        let told = told(&class.world.stranger().get(&link).await.is(200));
        for one in everybody {
            assert!(
                told.contains(&format!("uid:loan-{}@", one.loans[0])),
                "{who} misses {}’s frame",
                one.mark
            );
        }
        assert!(!told.contains(CONTACT), "{who} reads how to reach somebody: {told}");
    }
    // Somebody else's link makes mine no older.
    let theirs = calendar_link(&mut class.bea.browser).await;
    class.world.stranger().get(&class.bea.feed).await.is(404);
    class.world.stranger().get(&theirs).await.is(200);
    class.world.stranger().get(&class.ana.feed).await.is(200);
}

#[tokio::test(flavor = "multi_thread")]
async fn whoever_left_opens_nothing_and_gets_no_new_link() {
    let mut class = class().await;
    let (cleo, id) = (&class.cleo, class.cleo.id.clone());
    for path in [&cleo.link, &cleo.feed] {
        let page = class.world.stranger().get(path).await.is(404);
        holds_nothing_of(&[cleo], &page, "whoever has an old link", path);
    }
    cleo.browser.clone().post("/me/calendar", &[]).await.is(401);
    class.instructor.post(&format!("/people/{id}/link"), &[]).await.is(404);
    class.instructor.post(&format!("/people/{id}/passphrase"), &[]).await.is(404);
    // Links are weavers'; the staff has passphrases, and a link would be a way round them.
    let staff = class.volunteer_id.clone();
    class.instructor.post(&format!("/people/{staff}/link"), &[]).await.is(404);
    class.instructor.post(&format!("/people/{}/passphrase", class.ana.id), &[]).await.is(404);
    // A volunteer who leaves is out at once, with what they had open and their calendar.
    let feed = calendar_link(&mut class.volunteer).await;
    class.world.stranger().get(&feed).await.is(200);
    class.instructor.post(&format!("/people/{staff}/leave"), &[]).await.is(303);
    assert!(class.volunteer.get("/cloth/weigh-in").await.to().starts_with("/sign-in"));
    class.volunteer.post("/cloth/count", &[("kind", ""), ("family", "")]).await.is(401);
    class.world.stranger().get(&feed).await.is(404);
    // Nobody who left is offered where somebody is to be chosen.
    for page in ["/rugs/new", "/rugs/any-size"] {
        let told = told(&class.instructor.get(page).await.is(200));
        assert!(!told.contains(&id) && !told.contains("danforth"), "{page} offers whoever left");
    }
    // The list of people names them apart from those who are here.
    let here = class.instructor.get("/people").await.is(200).all("tbody tr").join(" ").to_lowercase();
    assert!(!here.contains("danforth"), "{here}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_replaced_link_shows_out_whoever_came_by_it_and_nobody_else() {
    let mut class = class().await;
    let dora = &class.dora;
    class.world.stranger().get(&dora.link).await.is(404);
    assert!(dora.browser.clone().get("/my").await.to().starts_with("/sign-in"));
    class.ana.browser.clone().get("/my").await.is(200);
    let id = dora.id.clone();
    let fresh = personal_link(&mut class.instructor, &id).await;
    let mut phone = class.world.stranger();
    let entered = phone.follow_link(&fresh).await;
    assert_eq!(entered.to(), "/", "the secret stays in the address");
    let held = told(&entered);
    let secret = id_in(&fresh).to_lowercase();
    assert!(!held.contains(&secret), "the secret goes on: {held}");
    phone.get("/my").await.is(200);
    // The same link opens another device, and the first stays.
    let mut second = class.world.stranger();
    second.follow_link(&fresh).await.is(303);
    phone.get("/my").await.is(200);
    assert_ne!(phone.cookie, second.cookie, "each device has a session of its own");
    // Signing out on one leaves the other.
    let gone = second.clone();
    second.post("/sign-out", &[]).await.is(303);
    assert!(
        gone.clone().get("/my").await.to().starts_with("/sign-in"),
        "the session is open after signing out"
    );
    phone.get("/my").await.is(200);
    // A weaver stays until nobody has looked for ninety days, to the moment.
    let ninety_days = (90 * 24).hours();
    class.world.clock.set(evening() + ninety_days - 1.microsecond());
    phone.get("/my").await.is(200);
    class.world.clock.set(evening() + ninety_days - 1.microsecond() + ninety_days - 1.microsecond());
    phone.get("/my").await.is(200);
    class.world.clock.set(evening() + ninety_days * 3);
    assert!(phone.get("/my").await.to().starts_with("/sign-in"), "a session outlives its time");
}
