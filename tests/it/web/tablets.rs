//! The tablet at the scale that volunteers share: what it reaches, whose its weigh-ins are, and how it ends.
use axum::http::header;
use jiff::ToSpan as _;
use thrumhall::store::people::Role;
use thrumhall::web::table;

use super::cloth::typed;
use crate::support::browser::{Browser, Page, World};
use crate::support::evening;

const NAMES: &str = "/cloth/weigh-in/names";

/// A workroom with two volunteers and a weaver, whose instructor made a device the scale's until 21:00 (in Los Angeles).
struct Evening {
    world: World,
    /// The instructor on a device of her own.
    instructor: Browser,
    /// The cookie that she had on the device that she gave.
    given: String,
    tablet: Browser,
    vera: String,
    viggo: String,
    weaver: String,
    opened: Page,
}

async fn open() -> Evening {
    let world = World::new().await;
    let (ines, instructor) = world.instructor().await;
    let (viggo, _) = world.volunteer().await;
    let (vera, _) = world.enter(Role::Volunteer, "Vera Probe").await;
    let (weaver, _) = world.weaver().await;
    let (_, other) = world.enter(Role::Instructor, "Odo Probe").await;
    let mut tablet = instructor;
    let given = tablet.cookie.clone().unwrap();
    let opened = tablet.post("/tablets", &[("until", "21:00")]).await;
    assert_ne!(ines, vera);
    Evening {
        world,
        instructor: other,
        given,
        tablet,
        vera: vera.to_string(),
        viggo: viggo.to_string(),
        weaver: weaver.to_string(),
        opened,
    }
}

/// The scale's page of somebody.
fn of(person: &str) -> String {
    format!("/cloth/weigh-in?by={person}")
}

#[tokio::test]
async fn opening_one_ends_the_instructors_session_there_and_shows_the_volunteers_names() {
    let mut evening = open().await;
    assert_eq!(evening.opened.to(), "/cloth/weigh-in/names?said=tablet-opened");
    let set: Vec<&str> =
        evening.opened.headers.get_all(header::SET_COOKIE).iter().map(|set| set.to_str().unwrap()).collect();
    assert!(set.iter().any(|set| set.starts_with("thrumhall=") && set.contains("HttpOnly")), "{set:?}");
    let mut hers = evening.world.stranger();
    hers.cookie = Some(evening.given.clone());
    assert_eq!(hers.get("/today").await.to(), "/sign-in?to=%2Ftoday", "her session there goes on");
    let names = evening.tablet.get(NAMES).await.is(200);
    assert_eq!(names.all(".names a"), ["Vera Probe", "Viggo Probe"], "nobody but the volunteers");
    assert!(!names.text.contains("Wanda") && !names.text.contains("Ines"));
    assert_eq!(names.attr(".names a", "href"), of(&evening.vera));
    assert!(names.all("footer a").is_empty() && names.all("header nav").is_empty());
}

#[tokio::test]
async fn what_is_weighed_in_is_theirs_whose_name_was_tapped() {
    let mut evening = open().await;
    let page = evening.tablet.get(&of(&evening.vera)).await.is(200);
    assert_eq!(page.one("[data-standing-name]"), "Vera Probe");
    assert_eq!(page.attr("[data-somebody-else]", "href"), NAMES);
    let action = page.attr("form[data-weigh-in]", "action");
    let to = evening.tablet.post(&action, &typed(&[])).await.to().to_owned();
    let page = evening.tablet.get(&to).await.is(200);
    assert_eq!(page.one(".tag-number b"), "1");
    assert_eq!(page.one("[data-standing-name]"), "Vera Probe");
    // The page of the next is another's: what was Vera's isn't among it.
    evening.tablet.post(&of(&evening.viggo), &typed(&[("weight", "3 lb")])).await.is(303);
    let his = evening.tablet.get(&of(&evening.viggo)).await.is(200);
    assert_eq!((his.all("tbody tr").len(), his.one("#evening")), (1, "This evening, by Viggo Probe".into()));
    let record = evening.instructor.get("/record.csv").await.is(200).table();
    for (who, what) in [("Vera Probe", "weighed in at"), ("Viggo Probe", "weighed in at")] {
        assert!(
            record.lines().any(|line| line.contains(who) && line.contains(",tablet,") && line.contains(what)),
            "{who}: {record}"
        );
    }
    let bundle = to.split("done=").nth(1).unwrap().split('&').next().unwrap();
    assert!(
        record.lines().any(|line| line.contains("Vera Probe") && line.contains(&format!("bundle,{bundle}")))
    );
}

#[tokio::test]
async fn nobody_but_a_volunteer_who_is_here_weighs_in_at_it() {
    let mut evening = open().await;
    let mut left = evening.world.enter(Role::Volunteer, "Lars Probe").await;
    let lars = left.0.to_string();
    assert_eq!(left.1.get("/cloth/weigh-in").await.is(200).one("h1"), "Weigh in");
    evening.instructor.post(&format!("/people/{lars}/leave"), &[]).await.is(303);
    for nobody in [evening.weaver.as_str(), &lars, "01890000-0000-7000-8000-000000000000", "x", ""] {
        assert_eq!(evening.tablet.get(&of(nobody)).await.to(), NAMES, "{nobody:?} stands there");
        let page = evening.tablet.post(&of(nobody), &typed(&[])).await.is(403);
        assert_eq!(
            (page.one("h1"), page.attr("main a.button", "href")),
            ("First your name".into(), NAMES.into())
        );
    }
    assert_eq!(evening.instructor.get("/cloth.csv").await.is(200).table().lines().count(), 1);
    // A name in an address is nobody's session.
    let mut stranger = evening.world.stranger();
    assert!(stranger.get(&of(&evening.vera)).await.to().starts_with("/sign-in"));
    stranger.post(&of(&evening.vera), &typed(&[])).await.is(401);
    // Nor does it make somebody who is signed in another.
    evening.instructor.post(&of(&evening.vera), &typed(&[])).await.is(303);
    assert_eq!(evening.instructor.get("/cloth/weigh-in").await.is(200).all("tbody tr").len(), 1);
}

#[tokio::test]
async fn a_stolen_one_reaches_the_scale_and_nothing_else() {
    let mut evening = open().await;
    let scale = ["/cloth/weigh-in", "/cloth/weigh-in/names", "/cloth/weigh-in/names/end", "/cloth/{id}/undo"];
    let free = ["/static/{*path}", "/healthz", "/readyz"];
    let mut tried = 0;
    for route in table() {
        assert_eq!(route.at_scale, scale.contains(&route.path), "{} {}", route.method, route.path);
        if route.at_scale || free.contains(&route.path) {
            continue;
        }
        let path = route
            .path
            .replace("{id}", "01890000-0000-7000-8000-000000000000")
            .replace("{number}", "1")
            .replace("{tag}", "1")
            .replace("{token}", "no-such-token");
        // With a name tapped, and without.
        for address in [path.clone(), format!("{path}?by={}", evening.vera)] {
            tried += 1;
            if route.method == "GET" {
                let page = evening.tablet.get(&address).await;
                assert_eq!(page.to(), NAMES, "{address}");
                assert!(page.text.is_empty(), "{address} tells something");
            } else {
                evening.tablet.post(&address, &[]).await.is(403);
            }
        }
    }
    assert!(tried > 200, "{tried}");
}

#[tokio::test]
async fn it_takes_back_what_was_weighed_in_there_and_touches_no_other_bundle() {
    let mut evening = open().await;
    let to = evening.tablet.post(&of(&evening.vera), &typed(&[])).await.to().to_owned();
    let page = evening.tablet.get(&to).await.is(200);
    let (action, entry) = (page.attr("#undo", "action"), page.attr("#undo [name=entry]", "value"));
    let undo = [("entry", entry.as_str()), ("back", "weigh-in")];
    // Under another's name, and for another bundle, it is refused.
    evening.tablet.post(&action.replace(&evening.vera, &evening.viggo), &undo).await.is(403);
    let other = action.replace(action.split('/').nth(2).unwrap(), "01890000-0000-7000-8000-000000000000");
    evening.tablet.post(&other, &undo).await.is(403);
    evening.tablet.post(&action, &[("entry", "x")]).await.is(403);
    assert_eq!(evening.instructor.get("/cloth.csv").await.is(200).table().lines().count(), 2);
    let back = evening.tablet.post(&action, &undo).await.to().to_owned();
    assert!(back.ends_with(&format!("&by={}", evening.vera)), "{back}");
    assert_eq!(evening.tablet.get(&back).await.is(200).all(".badge"), ["undone"]);
    // A second time there is nothing to undo; what became of the bundle isn't shown.
    let again = evening.tablet.post(&action, &undo).await.to().to_owned();
    assert!(again.contains("said=not-undone"), "{again}");
}

#[tokio::test]
async fn a_form_that_comes_back_is_still_theirs() {
    let mut evening = open().await;
    let page = evening.tablet.post(&of(&evening.vera), &typed(&[("weight", "heavy")])).await.is(422);
    assert_eq!(page.field("weight"), "heavy");
    assert_eq!(page.attr("form[data-weigh-in]", "action"), of(&evening.vera));
    assert_eq!(page.one("[data-standing-name]"), "Vera Probe");
}

#[tokio::test]
async fn it_goes_back_to_the_names_by_itself_without_a_script_too() {
    let mut evening = open().await;
    let page = evening.tablet.get(&of(&evening.vera)).await.is(200);
    assert!(
        page.text
            .contains(r#"<noscript><meta http-equiv="refresh" content="300;url=/cloth/weigh-in/names">"#)
    );
    assert!(page.text.contains("/static/tablet.js"));
    let own = evening.world.enter(Role::Volunteer, "Una Probe").await.1.get("/cloth/weigh-in").await.is(200);
    assert!(!own.text.contains("http-equiv") && !own.text.contains("/static/tablet.js"));
}

#[tokio::test]
async fn the_page_that_it_keeps_for_without_a_network_names_nobody() {
    let mut evening = open().await;
    let page = evening.tablet.get(&format!("/cloth/weigh-in?offline=yes&by={}", evening.vera)).await.is(200);
    assert!(!page.text.contains("Vera") && !page.text.contains(&evening.vera));
    assert_eq!(page.attr("form[data-weigh-in]", "data-who"), "");
    assert!(page.attr("form[data-weigh-in]", "data-by").is_empty());
}

#[tokio::test]
async fn it_ends_at_its_hour_by_any_instructor_and_by_itself() {
    // At its hour: three after six.
    let mut evening = open().await;
    evening.world.clock.set(minutes_later(179));
    evening.tablet.get(NAMES).await.is(200);
    evening.world.clock.set(minutes_later(180));
    assert!(evening.tablet.get(NAMES).await.to().starts_with("/sign-in"));
    evening.tablet.post(&of(&evening.vera), &typed(&[])).await.is(401);

    // By another instructor, from the list and from the sessions.
    for from in ["/tablets", "/me"] {
        let mut evening = open().await;
        let act = evening.instructor.get(from).await.is(200).attr("form[action^='/tablets/']", "action");
        assert_eq!(evening.instructor.post(&act, &[]).await.to(), "/tablets?said=tablet-ended");
        assert!(evening.tablet.get(NAMES).await.to().starts_with("/sign-in"), "{from}");
        evening.instructor.post(&act, &[]).await.is(404);
    }

    // From itself.
    let mut evening = open().await;
    let gone = evening.tablet.post("/cloth/weigh-in/names/end", &[]).await;
    assert_eq!(gone.to(), "/sign-in?said=tablet-ended");
    assert!(evening.tablet.cookie.is_none());
    assert!(!gone.headers.contains_key("clear-site-data"), "what waits on the device is somebody's work");
    assert!(evening.instructor.get("/tablets").await.is(200).all("form[action^='/tablets/']").is_empty());
}

fn minutes_later(minutes: i64) -> jiff::Timestamp {
    evening() + minutes.minutes()
}

#[tokio::test]
async fn it_is_opened_for_an_evening_and_for_somebody() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let page = instructor.post("/tablets", &[("until", "21:00")]).await.is(422);
    assert!(page.text.contains("add a volunteer among the people first"));
    world.volunteer().await;
    for (until, words) in
        [("", "a time such as 18:30"), ("late", "a time such as 18:30"), ("06:01", "12 hours at most")]
    {
        let page = instructor.post("/tablets", &[("until", until)]).await.is(422);
        assert_eq!(page.field("until"), until);
        assert!(page.one("#until-error").contains(words), "{until}");
    }
    instructor.get("/today").await.is(200);
}
