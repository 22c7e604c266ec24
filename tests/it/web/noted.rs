//! Notes on rugs and people, rugs copied, and patterns of the class.
use thrumhall::store::people::Role;

use crate::support::browser::World;
use crate::support::loft::{self, usual};

#[tokio::test]
async fn a_note_on_a_rug_is_for_its_weaver_and_staff_and_two_at_once_both_stay() {
    let world = World::new().await;
    let (wanda, mut own) = world.weaver().await;
    let (_, mut other) = world.enter(Role::Weaver, "Bo Probe").await;
    let (_, mut volunteer) = world.volunteer().await;
    let rug = format!("/rugs/{}", loft::rug(world.store(), wanda, "Tide", &usual(""), None).await);
    let note = format!("{rug}/note");
    own.post(&note, &[("was", ""), ("note", "bad wrist: short evenings")]).await.is(303);
    let page = volunteer.get(&rug).await.is(200);
    assert_eq!(page.one("#rug-note"), "bad wrist: short evenings");
    assert!(page.one("#note .hint").contains("Wanda Probe"), "it doesn't say who reads it");
    // From a page that didn't show it yet.
    volunteer.post(&note, &[("was", ""), ("note", "lent her the soft hook")]).await.is(303);
    let both = own.get(&rug).await.one("#rug-note");
    assert!(both.contains("bad wrist") && both.contains("soft hook"), "{both}");
    own.post(&note, &[("was", "bad wrist: short evenings\r\nlent her the soft hook"), ("note", "")])
        .await
        .is(303);
    assert_eq!(own.get(&rug).await.one("#rug-note"), "");
    own.post(&note, &[("was", ""), ("note", &"x".repeat(2001))]).await.is(400);
    other.post(&note, &[("was", ""), ("note", "mine")]).await.is(404);
    // The record, which others read, doesn't hold what was noted.
    let (_, mut instructor) = world.instructor().await;
    let record = instructor.get("/record").await.is(200).text;
    assert!(record.contains("changed the note on the rug “Tide”") && !record.contains("wrist"), "{record}");
}

#[tokio::test]
async fn a_note_on_a_person_is_for_instructors_and_goes_when_they_leave() {
    let world = World::new().await;
    let (wanda, mut own) = world.weaver().await;
    let (_, mut instructor) = world.instructor().await;
    let (_, mut volunteer) = world.volunteer().await;
    let path = format!("/people/{wanda}");
    instructor.post(&format!("{path}/note"), &[("was", ""), ("note", "comes by the late bus")]).await.is(303);
    assert_eq!(instructor.get(&path).await.one("#note"), "comes by the late bus");
    volunteer.post(&format!("{path}/note"), &[("note", "no")]).await.is(403);
    assert!(own.get("/me/data.json").await.text.contains("comes by the late bus"), "not in their own data");
    instructor.post(&format!("{path}/leave"), &[]).await.is(303);
    assert!(!instructor.get(&format!("{path}/data.json")).await.text.contains("late bus"), "it is kept");
}

#[tokio::test]
async fn a_rug_is_copied_and_a_class_pattern_is_where_weavers_start() {
    let world = World::new().await;
    let (wanda, mut own) = world.weaver().await;
    let (_, mut other) = world.enter(Role::Weaver, "Bo Probe").await;
    let (_, mut instructor) = world.instructor().await;
    let rug = loft::rug(world.store(), wanda, "Tide", &usual(""), None).await;
    let copy = format!("/rugs/new?copy={rug}");
    let page = own.get(&copy).await.is(200);
    assert_eq!((page.field("name"), page.field("span")), ("Tide".into(), "33 in".into()));
    assert_eq!(page.field("band-1-height"), "33 in");
    assert_eq!(page.attr("form[data-planner]", "action"), "/rugs", "it would change the first");
    // Another weaver's rug is as good as none, until it is a pattern.
    other.get(&copy).await.is(404);
    other.post(&format!("/rugs/{rug}/pattern"), &[("pattern", "yes")]).await.is(403);
    instructor.post(&format!("/rugs/{rug}/pattern"), &[("pattern", "yes")]).await.is(303);
    let page = other.get("/rugs/new").await.is(200);
    assert!(page.attrs("main a", "href").contains(&copy));
    let page = other.get(&copy).await.is(200);
    assert!(page.field("band-1-height") == "33 in" && !page.text.contains("Wanda"), "it names its weaver");
    other.get(&format!("/rugs/{rug}")).await.is(404);
    instructor.post(&format!("/rugs/{rug}/pattern"), &[]).await.is(303);
    other.get(&copy).await.is(404);
}
