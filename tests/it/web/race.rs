//! Two instructors at once, on both databases: they hand out, take back and work the timetable out again in any order. No
//! frame is promised twice, and the slower one is told what changed, with what they typed still there.
use std::sync::Arc;
use std::time::Duration;

use thrumhall::clock::Clock;
use thrumhall::store::people::Role;
use thrumhall::store::{Actor, RugId};
use thrumhall::web::{App, Config, service};
use tokio::sync::Barrier;

use super::hand_out::{as_offered, borrowed};
use super::timetable::{accepted, lay};
use crate::support::browser::{Browser, Page, enter};
use crate::support::{noon, on_both};

/// A day that nobody would be offered, to see it again.
const TYPED: &str = "2026-11-19";

/// How one act ended: it was done, or somebody was quicker.
#[derive(Debug, PartialEq, Eq)]
enum End {
    Done,
    Told,
}

/// Waits for all the others, so that nobody acts on a page that was loaded after somebody else acted.
async fn meet(together: &Barrier) {
    tokio::time::timeout(Duration::from_mins(1), together.wait()).await.expect("everybody comes");
}

/// Looks at a rug's hand-out page, waits for the other, and hands out what was offered; who insists, also against a
/// timetable that was accepted meanwhile.
async fn hand_out(mut browser: Browser, rug: RugId, insists: bool, together: Arc<Barrier>) -> End {
    let path = format!("/rugs/{rug}/hand-out");
    let page = browser.get(&path).await.is(200);
    meet(&together).await;
    // Where the page has nothing to offer, somebody was quicker before it was even asked for.
    if page.all("[name=due_on]").is_empty() {
        return End::Told;
    }
    let mut offered = as_offered(&page);
    offered.retain(|(name, _)| *name != "due_on");
    offered.push(("due_on", TYPED.into()));
    if insists {
        offered.push(("against", "yes".into()));
    }
    let answer = browser.post(&path, &borrowed(&offered)).await;
    match answer.status.as_u16() {
        303 => End::Done,
        409 | 422 => {
            assert!(!answer.all("#errors li").is_empty(), "nobody says why: {}", answer.text);
            if !answer.all("[name=due_on]").is_empty() {
                assert_eq!(answer.field("due_on"), TYPED, "what was typed is lost");
            }
            End::Told
        }
        _ => panic!("{}: {}", answer.status, answer.text),
    }
}

/// Takes the first frame back that is out.
async fn take_back(mut browser: Browser, together: Arc<Barrier>) -> End {
    let list = browser.get("/loans").await.is(200);
    let out = list.all("td.row-act a");
    let link = (!out.is_empty()).then(|| list.attr("td.row-act a", "href"));
    meet(&together).await;
    let Some(link) = link else { return End::Told };
    let page = browser.get(&link).await;
    if page.status == 303 {
        return End::Told;
    }
    let fields = [
        ("key", page.is(200).field("key")),
        ("condition", "sound".into()),
        ("rug", "planned".into()),
        ("rods_bent", "0".into()),
        ("rods_missing", "0".into()),
        ("note", "typed by one of two".into()),
    ];
    let answer = browser.post(&link, &borrowed(&fields)).await;
    match answer.status.as_u16() {
        303 if answer.to().contains("taken-back") => End::Done,
        303 | 409 => End::Told,
        _ => panic!("{}: {}", answer.status, answer.text),
    }
}

/// Works the timetable out and accepts it.
async fn replan(mut browser: Browser, path: String, together: Arc<Barrier>) -> End {
    let proposal: Page = browser.get(&format!("{path}/timetable/new?sure=half&gap=0")).await.is(200);
    meet(&together).await;
    let fields = accepted(&proposal);
    let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
    let answer = browser.post(&format!("{path}/timetable"), &fields).await;
    match answer.status.as_u16() {
        303 => End::Done,
        409 => {
            assert!(answer.one("#errors").contains("eanwhile"), "{}", answer.text);
            // What stands there now can be accepted at once: nothing has to be set up again.
            assert!(!accepted(&answer).is_empty());
            End::Told
        }
        _ => panic!("{}: {}", answer.status, answer.text),
    }
}

on_both!(two_instructors_hand_out_take_back_and_replan_at_once, |store| async move {
    let router = service(App::new(store.clone(), Clock::fixed(noon()), Config::default()));
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", "UTC", thrumhall::units::Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    let (me, mut ines) = enter(&router, &store, Role::Instructor, "Ines Probe").await;
    let (_, ida) = enter(&router, &store, Role::Instructor, "Ida Probe").await;
    let weavers = ["Ana", "Ben", "Cleo", "Dov"];
    let (term, path, _, rugs) = lay(&store, (me, &mut ines), 6, &["S1", "S2"], &weavers).await;
    let (mut handed_out, mut taken_back, mut replanned, mut told) = (0, 0, 0, 0);
    for round in 0..8 {
        let together = Arc::new(Barrier::new(6));
        let (one, other) = (rugs[round % 4], rugs[(round + 1) % 4]);
        let outs = [
            tokio::spawn(hand_out(ines.clone(), one, true, together.clone())),
            tokio::spawn(hand_out(ida.clone(), other, false, together.clone())),
        ];
        let backs = [
            tokio::spawn(take_back(ines.clone(), together.clone())),
            tokio::spawn(take_back(ida.clone(), together.clone())),
        ];
        let plans = [
            tokio::spawn(replan(ines.clone(), path.clone(), together.clone())),
            tokio::spawn(replan(ida.clone(), path.clone(), together.clone())),
        ];
        for (tasks, done) in [(outs, &mut handed_out), (backs, &mut taken_back), (plans, &mut replanned)] {
            for task in tasks {
                match task.await.unwrap() {
                    End::Done => *done += 1,
                    End::Told => told += 1,
                }
            }
        }
        let mut read = store.read().await.unwrap();
        assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new(), "round {round}");
        assert_eq!(read.loans_out().await.unwrap().len(), handed_out - taken_back, "round {round}");
        // Each accepted timetable is one revision: none was laid over another unseen.
        let revision = read.timetable(term).await.unwrap().map_or(0, |table| table.revision as usize);
        assert_eq!(revision, replanned, "round {round}");
        // A frame's turns never overlap.
        let places = read.places(Some(term)).await.unwrap();
        for pair in places.windows(2).filter(|pair| pair[0].frame_id == pair[1].frame_id) {
            assert!(pair[0].to_day < pair[1].from_day, "{pair:?}");
        }
    }
    // Once nobody races, the timetable can be worked out again.
    assert_eq!(replan(ines.clone(), path.clone(), Arc::new(Barrier::new(1))).await, End::Done);
    assert!(handed_out > 0 && taken_back > 0 && told > 0, "{handed_out} {taken_back} {told}");
});
