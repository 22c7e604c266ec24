//! Who must be told what: a text for each person, to copy or to send from one's own phone.
use jiff::civil::date;
use thrumhall::store::loans::HandOut;
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::{Day, LoanId, PersonId};

use crate::support::browser::{Browser, World};
use crate::support::loft::{self, usual};
use crate::support::{actor, evening};

/// A weaver whom one can reach so, with a frame that is due on a day of October 2026, in a term of four Wednesdays.
async fn lent(
    world: &World,
    browser: &mut Browser,
    me: PersonId,
    contact: &str,
    due: i8,
) -> (PersonId, String) {
    let (wanda, _) = world.weaver().await;
    let mut tx = world.store().write(actor(me)).await.unwrap();
    let fields = PersonFields { name: "Wanda Probe".into(), contact: contact.into(), units: None };
    tx.change_person(wanda, 1, &fields).await.unwrap();
    tx.commit().await.unwrap();
    let rug = loft::rug(world.store(), wanda, "Tide", &usual(""), None).await;
    let frame = loft::frame(world.store(), me, &usual("S1")).await;
    let mut tx = world.store().write(actor(me)).await.unwrap();
    let due_on = Day(date(2026, 10, due));
    tx.hand_out(LoanId::new(), &HandOut { frame, rug, rods: None, due_on }).await.unwrap();
    tx.commit().await.unwrap();
    world.clock.set(evening());
    let typed = [
        ("name", "Ebb"),
        ("day", "2026-10-07"),
        ("count", "4"),
        ("every", "1"),
        ("starts", "18:30"),
        ("minutes", "90"),
    ];
    let path = browser.post("/terms", &typed).await.to().replace("?said=added", "");
    browser.post(&format!("{path}/enrol"), &[("weaver", &wanda.to_string())]).await.is(303);
    (wanda, path)
}

/// What a link to a phone's own programs carries, its escapes undone (RFC 3986, 2.1).
fn unescaped(link: &str) -> String {
    let query = link.split_once('?').unwrap().1.replace('+', "%2B");
    form_urlencoded::parse(query.as_bytes()).find(|(name, _)| name == "body").unwrap().1.into_owned()
}

#[tokio::test]
async fn a_frame_overdue_is_one_message_until_somebody_told_them() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let contact = "+1 201-555-0142 or wanda@quay.example";
    let (wanda, _) = lent(&world, &mut browser, me, contact, 5).await;
    assert_eq!(browser.get("/today").await.is(200).one("a[href='/messages'] b"), "1");
    let page = browser.get("/messages").await.is(200);
    assert_eq!(page.all(".message h2"), ["Wanda Probe"]);
    assert_eq!(page.all(".message .badge"), ["frame overdue"]);
    let text = page.one(".message textarea");
    assert!(
        text.starts_with("Hello Wanda, Frame S1, with Tide on it, was due back on Monday 5 October 2026."),
        "{text}"
    );
    assert!(text.contains("Wed 7 Oct, 18:30") && text.ends_with("Test Loft"), "{text}");
    let links = page.attrs(".message .actions a", "href");
    assert!(links[0].starts_with("sms:+12015550142?body="), "{links:?}");
    assert!(links[1].starts_with("mailto:wanda@quay.example?subject=Test%20Loft&body="), "{links:?}");
    let fold = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!([fold(unescaped(&links[0])), fold(unescaped(&links[1]))], [text.clone(), text]);

    let about = page.attr("[name=about]", "value");
    let person = wanda.to_string();
    // What was never to be told is told by no form.
    browser.post("/messages/told", &[("person", &person), ("about", "nothing")]).await.is(303);
    assert_eq!(browser.get("/messages").await.all(".message").len(), 1);
    let told = [("person", person.as_str()), ("about", about.as_str())];
    assert_eq!(browser.post("/messages/told", &told).await.to(), "/messages?said=told");
    assert!(browser.get("/messages").await.all(".message").is_empty());
    assert!(browser.get("/today").await.all("a[href='/messages'] b").is_empty());
    // Pressed twice it is told once.
    browser.post("/messages/told", &told).await.is(303);
    let notices = browser.get("/notices").await.is(200);
    assert!(notices.one("tbody td[data-label='How it went']").contains("Wanda Probe: you told them"));
    assert!(browser.get("/record").await.text.contains("told Wanda Probe themselves"));
}

#[tokio::test]
async fn a_meeting_called_off_and_on_again_is_told_as_it_stands_now() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let (_, term) = lent(&world, &mut browser, me, "by the quay", 28).await;
    let off = browser.get(&term).await.attrs("form[action^='/meetings/']", "action")[1].clone();
    browser.post(&off, &[]).await.is(303);
    let page = browser.get("/messages").await.is(200);
    assert_eq!(page.all(".message .badge"), ["called off"]);
    assert!(page.one(".message textarea").contains("We don’t meet on Wednesday 14 October 2026, 18:30"));
    // Neither a number nor an address: the text can be copied, and how to reach them stands beside it.
    assert!(page.all(".message .actions a").is_empty());
    assert_eq!(page.one(".message .hint"), "by the quay");
    browser.post(&off.replace("/off", "/on"), &[]).await.is(303);
    assert_eq!(browser.get("/messages").await.all(".message .badge"), ["on again"]);
    // A day that is over is no news.
    world.clock.set("2026-10-16T12:00:00Z".parse().unwrap());
    assert!(browser.get("/messages").await.all(".message").is_empty());
}

#[tokio::test]
async fn when_the_class_meets_goes_to_everybody_on_the_workrooms_clock() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    lent(&world, &mut browser, me, "wanda@quay.example", 28).await;
    let (bo, _) = world.enter(Role::Weaver, "Bo").await;
    let term = browser.get("/terms").await.attr("tbody a", "href");
    browser.post(&format!("{term}/enrol"), &[("weaver", &bo.to_string())]).await.is(303);
    let settings = browser.get("/workroom").await.is(200);
    assert_eq!(settings.attrs("[name=clock][checked]", "value"), ["24"]);
    let fields = [
        ("workroom", "Test Loft"),
        ("time_zone", "America/Los_Angeles"),
        ("units", "inches"),
        ("clock", "12"),
        ("scale", "0.25 oz"),
        ("tape", "1/16 in"),
        ("revision", &settings.field("revision")),
    ];
    browser.post("/workroom", &fields).await.is(303);
    let page = browser.get("/messages").await.is(200);
    let text = page.one("#dates");
    assert!(text.contains("Ebb meets on Wednesday 7 October 2026, 6:30 pm"), "{text}");
    let mail = page.attr("details .actions a", "href");
    assert!(mail.starts_with("mailto:?bcc=wanda@quay.example&subject=Ebb&body="), "{mail}");
    assert!(page.one("details .hint + .hint").contains("Bo"), "{}", page.text);
    assert!(browser.get("/today").await.text.contains("6:30 pm"), "one clock everywhere");
    assert!(browser.get("/tonight").await.text.contains("6:30 pm"));
}
