//! Backups that are made by themselves, and the page that says so.
use jiff::ToSpan as _;
use thrumhall::backup::schedule::Schedule;
use thrumhall::clock::Clock;
use thrumhall::store::Store;
use thrumhall::store::backups::BackupState;
use thrumhall::web::Config;

use crate::support::browser::World;
use crate::support::{noon, on_both};

fn schedule(dir: &std::path::Path) -> Schedule {
    Schedule { dir: Some(dir.to_path_buf()), every_hours: 24, keep: 2, elsewhere: false }
}

fn names(dir: &std::path::Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(dir).unwrap().map(|it| it.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

on_both!(one_is_made_when_it_is_due_and_the_oldest_go, |store| async move {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("kept");
    let (schedule, clock) = (schedule(&dir), Clock::fixed(noon()));
    let due = || schedule.make_if_due(&store, &clock);
    assert_eq!(due().await.unwrap(), Some(dir.join("thrumhall-20261007T120000Z.zip")));
    std::fs::write(dir.join("thrumhall-mine.zip"), "somebody's own").unwrap();
    std::fs::write(dir.join("thrumhall-20200101T000000Z.txt"), "another").unwrap();
    clock.set(noon() + 23.hours() + 59.minutes());
    assert_eq!(due().await.unwrap(), None, "a day isn't over");
    for day in 1..=3 {
        clock.set(noon() + (24 * day).hours());
        assert!(due().await.unwrap().is_some());
    }
    let kept = [
        "thrumhall-20200101T000000Z.txt",
        "thrumhall-20261009T120000Z.zip",
        "thrumhall-20261010T120000Z.zip",
        "thrumhall-mine.zip",
    ];
    assert_eq!(names(&dir), kept);
    let runs = store.read().await.unwrap().backup_runs(10).await.unwrap();
    assert_eq!(runs.len(), 4);
    assert!(runs.iter().all(|run| run.state == BackupState::Good && run.bytes > Some(1000)));
});

on_both!(of_two_copies_one_makes_it, |store| async move {
    let folder = tempfile::tempdir().unwrap();
    let (schedule, clock) = (schedule(folder.path()), Clock::fixed(noon()));
    let copy = |store: Store| {
        let (schedule, clock) = (schedule.clone(), clock.clone());
        tokio::task::spawn_blocking(move || {
            tokio::runtime::Handle::current().block_on(schedule.make_if_due(&store, &clock))
        })
    };
    let copies: Vec<_> = (0..6).map(|_| copy(store.clone())).collect();
    let mut made = 0;
    for one in copies {
        made += usize::from(one.await.unwrap().unwrap().is_some());
    }
    assert_eq!((made, names(folder.path()).len()), (1, 1));
});

on_both!(one_that_fails_is_noted_and_tried_again, |store| async move {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("kept");
    std::fs::write(&dir, "a file stands in its way").unwrap();
    let (schedule, clock) = (schedule(&dir), Clock::fixed(noon()));
    assert_eq!(schedule.make_if_due(&store, &clock).await.unwrap(), None);
    let run = store.read().await.unwrap().backup_runs(1).await.unwrap().remove(0);
    assert_eq!(run.state, BackupState::Failed);
    assert!(run.failure.contains("kept"), "{}", run.failure);
    std::fs::remove_file(&dir).unwrap();
    assert_eq!(schedule.make_if_due(&store, &clock).await.unwrap(), None, "not at once");
    clock.set(noon() + 15.minutes());
    assert!(schedule.make_if_due(&store, &clock).await.unwrap().is_some());
});

#[tokio::test(flavor = "multi_thread")]
async fn instructors_see_when_the_last_was_made_and_are_told_when_it_is_old() {
    let folder = tempfile::tempdir().unwrap();
    let kept = schedule(folder.path());
    let world = World::with(Config { backups: kept.clone(), ..Config::default() }).await;
    let mut tx = world.store().write(thrumhall::store::Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", "America/Los_Angeles", thrumhall::units::Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    let (_, mut browser) = world.instructor().await;
    let page = browser.get("/workroom/backups").await.is(200);
    assert!(page.one("[aria-labelledby=last]").contains("hasn’t made one yet"), "{}", page.text);
    kept.make_if_due(world.store(), &world.clock).await.unwrap().unwrap();
    let page = browser.get("/workroom/backups").await.is(200);
    assert_eq!(page.all("tbody .badge.good").len(), 1);
    assert!(page.one("[aria-labelledby=last]").contains("thrumhall-20261008T010000Z.zip"));
    let warned = |page: &crate::support::browser::Page| page.all("a[href='/workroom/backups']").len();
    assert_eq!(warned(&browser.get("/today").await.is(200)), 0);
    world.clock.set(world.clock.now() + 50.hours());
    assert_eq!(warned(&browser.get("/today").await.is(200)), 1);
    assert_eq!(browser.get("/workroom/backups").await.is(200).all(".notice.warn").len(), 1);
    kept.make_if_due(world.store(), &world.clock).await.unwrap().unwrap();
    assert_eq!(warned(&browser.get("/today").await.is(200)), 0);
}
