//! The demo's class: it fills either database, breaks nothing, and shows every page something to show.
use jiff::ToSpan as _;
use thrumhall::cli::demo::{fill, fill_years};
use thrumhall::store::Day;
use thrumhall::store::cloth::bundles::BundleState;
use thrumhall::store::cloth::shelf::ShelfFilter;
use thrumhall::store::people::Role;
use thrumhall::store::rugs::RugState;

use crate::support::browser::World;
use crate::support::days::short;
use crate::support::{noon, on_both};

on_both!(the_demo_fills_a_class_and_breaks_no_invariant, |store| async move {
    let ways_in = fill(&store, noon()).await.unwrap();
    let roles: Vec<Role> = ways_in.iter().map(|way| way.0).collect();
    assert_eq!(roles, [Role::Instructor, Role::Volunteer, Role::Weaver]);
    let mut read = store.read().await.unwrap();
    assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());

    let people = read.people().await.unwrap();
    let count = |role| people.iter().filter(|person| person.role == role).count();
    assert_eq!([count(Role::Instructor), count(Role::Volunteer), count(Role::Weaver)], [2, 3, 22]);
    let today = noon().to_zoned_datetime(jiff::tz::TimeZone::get("America/New_York").unwrap()).date();
    let term = read.terms().await.unwrap().remove(0);
    let meetings = read.meetings(term.id).await.unwrap();
    assert_eq!((meetings.len(), term.meetings), (10, 9));
    assert_eq!(meetings.iter().filter(|meeting| meeting.on_day < Day(today)).count(), 4);

    let rugs = read.rugs(None, None).await.unwrap();
    for state in RugState::ALL {
        assert!(rugs.iter().any(|rug| rug.state == *state), "no rug is {state}");
    }
    assert_eq!((rugs.len(), read.frames().await.unwrap().len()), (26, 14));
    assert_eq!(read.rug_results().await.unwrap().len(), 9);
    let out = read.loans_out().await.unwrap();
    assert_eq!(out.len(), 9);
    assert_eq!(out.iter().filter(|loan| loan.due_on < Day(today)).count(), 1, "one is overdue");
    assert_eq!(out.iter().filter(|loan| loan.due_on == Day(today)).count(), 1, "one is due today");
    let due: Vec<String> =
        read.frames_due(Day(today)).await.unwrap().into_iter().map(|due| due.frame_tag).collect();
    assert_eq!(due, ["S2", "S3"]);
    let expected = read.expected(term.id).await.unwrap();
    assert_eq!(expected.iter().filter(|line| line.frame_tag.is_some()).count(), 9);
    assert_eq!(expected.iter().filter(|line| line.rug_id.is_none()).count(), 4);
    let counts = read.counts().await.unwrap();
    assert_eq!((counts.frames_out, counts.unwashed), (9, 10));

    let shelf = read.bundles(&ShelfFilter { empty: true, ..ShelfFilter::default() }, 200, 0).await.unwrap();
    assert_eq!(shelf.len(), 91);
    assert_eq!(shelf.iter().filter(|bundle| bundle.made_from.is_some()).count(), 1, "one is strips");
    for state in BundleState::ALL {
        assert!(shelf.iter().any(|bundle| bundle.state == *state), "no bundle is {state}");
    }
});

#[tokio::test]
async fn each_link_enters_as_its_role_again_and_again() {
    let world = World::empty().await;
    let ways_in = fill(world.store(), noon()).await.unwrap();
    for (role, path) in &ways_in {
        let first = match role {
            Role::Instructor => "/today",
            Role::Volunteer => "/cloth/weigh-in",
            Role::Weaver => "/my",
        };
        for _ in 0..2 {
            let mut browser = world.stranger();
            assert_eq!(browser.follow_link(path).await.to(), "/");
            assert_eq!(browser.get("/").await.to(), first);
        }
    }
}

#[tokio::test]
async fn today_shows_the_demos_evening_and_leads_to_each_act() {
    let world = World::empty().await;
    // Noon on the harbour's clock is the afternoon in UTC; the meeting is still ahead.
    let ways_in = fill(world.store(), noon() + 4.hours()).await.unwrap();
    world.clock.set(noon() + 4.hours());
    let mut browser = world.stranger();
    browser.follow_link(&ways_in[0].1).await.is(303);
    let page = browser.get("/today").await.is(200);
    assert_eq!(page.one(".house-name"), "Saltern Row Workroom (made up)");
    assert_eq!(page.all(".stat b"), ["Tonight", "5 of 9", "21", "9"]);
    assert!(page.all(".steps").is_empty(), "nothing is left to set up");
    let settle = page.all("[aria-labelledby=settle] h3");
    assert_eq!(
        settle,
        [
            "Frames to come back",
            "Waiting for a frame",
            "Cloth may run out",
            "Promised cloth is gone",
            "Can wait"
        ]
    );
    let folded = page.all("[aria-labelledby=settle] summary");
    assert_eq!(
        folded,
        [
            "Waiting for a frame, later 5",
            "No rug yet 4",
            "Cloth to pull 13",
            // One until first rugs were told to take half again to twice as long.
            "May not finish 2",
            "Cloth to wash 10"
        ]
    );
    let lines = page.all("[aria-labelledby=settle] .act-text");
    assert_eq!(lines[0], format!("S2, Bram Oakum overdue since {} Herring bones", short("2026-09-30")));
    assert_eq!(lines[1], "S3, Corisande Pell due today Breakwater");
    for way in ["/take-back", "/hand-out"] {
        let to = page.attr(&format!("[aria-labelledby=settle] a[href$='{way}']"), "href");
        browser.get(&to).await.is(200);
    }
    for path in ["/terms", "/rugs", "/people", "/record", "/frames"] {
        browser.get(path).await.is(200);
    }
}

/// What a filled database says of its years, without ids.
async fn told(store: &thrumhall::store::Store) -> Vec<String> {
    let mut read = store.read().await.unwrap();
    let mut told: Vec<String> = read.people().await.unwrap().into_iter().map(|one| one.name).collect();
    told.extend(read.found_who_left("", 500, 0).await.unwrap().into_iter().map(|one| one.name));
    told.extend(
        read.rugs(None, None)
            .await
            .unwrap()
            .into_iter()
            .map(|rug| format!("{} {} {:?} {:?}", rug.fields.name, rug.state, rug.bands, rug.made_at)),
    );
    let all = ShelfFilter { empty: true, ..ShelfFilter::default() };
    told.extend(read.bundles(&all, i64::MAX, 0).await.unwrap().into_iter().map(|bundle| {
        format!(
            "{} {} {} {} {:?}",
            bundle.tag,
            bundle.colour_name,
            bundle.balance_mg.mg(),
            bundle.entries,
            bundle.made_at
        )
    }));
    told
}

on_both!(years_before_the_term_are_filled_and_break_no_invariant, |store| async move {
    fill_years(&store, noon(), 1).await.unwrap();
    let mut read = store.read().await.unwrap();
    assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());
    assert_eq!(read.damage().await.unwrap(), Vec::<String>::new());
    let terms = read.terms().await.unwrap();
    assert_eq!((terms.len(), terms.iter().filter(|term| term.closed_at.is_some()).count()), (5, 4));
    assert_eq!(terms[0].name, "Ebb to Flood", "the demo's own term is the newest");
    assert_eq!(read.rugs(None, None).await.unwrap().len(), 26 + 90);
    let all = ShelfFilter { empty: true, ..ShelfFilter::default() };
    let bundles = read.bundles(&all, i64::MAX, 0).await.unwrap();
    assert_eq!(bundles.len(), 91 + 1200);
    let entries: i64 = bundles.iter().map(|bundle| bundle.entries).sum();
    assert!((10_500..13_500).contains(&entries), "{entries} lines");
    let here: Vec<_> =
        read.people().await.unwrap().into_iter().filter(|one| one.role == Role::Weaver).collect();
    assert_eq!((here.len(), read.found_who_left("", 500, 0).await.unwrap().len()), (22, 22 + 3 * 6));
    // A shelf that one could fill by hand, however long ago the class began.
    assert!(read.shelf(&ShelfFilter::default(), i64::MAX, 0).await.unwrap().len() < 500);
});

#[tokio::test]
async fn the_same_years_are_made_up_each_time() {
    let (one, other) = (World::empty().await, World::empty().await);
    fill_years(one.store(), noon(), 1).await.unwrap();
    fill_years(other.store(), noon(), 1).await.unwrap();
    assert_eq!(told(one.store()).await, told(other.store()).await);
}
