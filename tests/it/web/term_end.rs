//! Closing a term.
use thrumhall::store::TermId;
use thrumhall::store::people::Role;

use crate::support::browser::World;
use crate::support::loft::{self, usual};
use crate::support::{actor, days};

#[tokio::test]
async fn a_term_is_closed_with_what_is_left_in_sight_and_can_be_opened_again() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let store = world.store();
    let term = TermId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    tx.commit().await.unwrap();
    let weaver = loft::person(store, Role::Weaver, "Wanda").await;
    let rug = loft::rug(store, weaver, "Tide", &usual(""), Some(term)).await;
    let frame = loft::frame(store, me, &usual("S1")).await.to_string();
    let hand_out = [("frame", frame.as_str()), ("rod", "none"), ("rods", "2"), ("due_on", "2026-10-21")];
    browser.post(&format!("/rugs/{rug}/hand-out"), &hand_out).await.is(303);
    let page = browser.get(&format!("/terms/{term}/close")).await.is(200);
    let lines = page.all(".acts .act-text");
    let due = format!("S1, Wanda Tide, due {}", days::short("2026-10-21"));
    assert_eq!(lines, [due.as_str(), "Wanda Tide weaving"]);
    assert!(page.text.contains("1 frame is still out."));

    let close = format!("/terms/{term}/close");
    assert_eq!(browser.post(&close, &[]).await.to(), format!("/terms/{term}?said=term-closed"));
    assert!(browser.get(&close).await.text.contains("This term is closed."));
    assert!(!browser.get("/rugs/new").await.text.contains(">Ebb<"), "new rugs aren't woven in it");
    // Closing twice says nothing twice.
    browser.post(&close, &[]).await.is(303);
    browser.post(&format!("/terms/{term}/open"), &[]).await.is(303);
    assert!(browser.get("/rugs/new").await.text.contains(">Ebb<"));
    let record = browser.get("/record").await.all("main li, main tbody tr");
    let lines = |words: &str| record.iter().filter(|line| line.contains(words)).count();
    assert_eq!((lines("opened the term “Ebb” again"), lines("closed the term “Ebb”")), (1, 1), "{record:?}");
}
