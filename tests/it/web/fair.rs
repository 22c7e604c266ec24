//! One person's long jobs never make another wait: while somebody floods the program with share-outs, timetables and panels,
//! another's page and another's own search come as if nobody did.
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use thrumhall::store::people::Role;

use crate::support::browser::{Browser, World};

/// How much longer anything may take because of somebody else.
const LONGEST: Duration = Duration::from_secs(2);

/// Panels for a rug as large as a room, to the inch: of all searches the one that takes the longest, some seconds in a test.
const LARGE: [(&str, &str); 7] = [
    ("width", "17 ft"),
    ("length", "23 ft"),
    ("tolerance", "0 in"),
    ("most", "24"),
    ("narrower", "yes"),
    ("strip_width", "1.5 in"),
    ("kind", "percale"),
];

/// The same of a small one.
const SMALL: [(&str, &str); 6] = [
    ("width", "36 in"),
    ("length", "33 in"),
    ("tolerance", "3 in"),
    ("most", "4"),
    ("strip_width", "1.5 in"),
    ("kind", "percale"),
];

fn asked(fields: &[(&str, &str)]) -> String {
    let query = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
    format!("/rugs/any-size?{query}")
}

/// The middle one of five times.
async fn usually(browser: &mut Browser, path: &str) -> Duration {
    let mut times = Vec::new();
    for _ in 0..5 {
        let begun = Instant::now();
        browser.get(path).await.is(200);
        times.push(begun.elapsed());
    }
    times.sort();
    times[2]
}

/// Asks again and again, and counts how often it is sent away because so much of this person's waits already.
async fn flood(mut browser: Browser, path: String, refused: Arc<AtomicUsize>) {
    loop {
        let page = browser.get(&path).await;
        refused.fetch_add(usize::from(page.status == 429), Ordering::Relaxed);
        // Whoever is sent away asks again at once, but for what a network takes.
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_persons_flood_of_searches_keeps_nobody_else_waiting() {
    let world = World::empty().await;
    thrumhall::cli::demo::fill(world.store(), world.clock.now()).await.unwrap();
    let (_, mut greedy) = world.enter(Role::Instructor, "Greta Probe").await;
    let (_, mut other) = world.enter(Role::Weaver, "Wanda Probe").await;
    let (page, search) = ("/my", asked(&SMALL));
    let alone = [usually(&mut other, page).await, usually(&mut other, &search).await];

    let mut read = world.store().read().await.unwrap();
    let term = read.terms().await.unwrap().into_iter().find(|term| term.closed_at.is_none()).unwrap().id;
    let rugs = read.rugs(None, None).await.unwrap();
    drop(read);
    let open: Vec<String> =
        rugs.iter().filter(|rug| rug.state.is_open()).map(|rug| rug.id.to_string()).collect();
    let mut fields = vec![("most", "6"), ("seconds", "60"), ("most_off", "200")];
    fields.extend(open.iter().map(|id| ("rug", id.as_str())));
    let begun = greedy.post("/share-out", &fields).await.to().to_owned();
    assert_eq!(greedy.post("/share-out", &fields).await.status, 429, "a second one at the same time");
    let refused = Arc::new(AtomicUsize::new(0));
    let paths = [asked(&LARGE), format!("/terms/{term}/timetable/new"), format!("/terms/{term}/cards.pdf")];
    let many: Vec<_> = (0..12)
        .map(|n| tokio::spawn(flood(greedy.clone(), paths[n % 3].clone(), Arc::clone(&refused))))
        .collect();
    while refused.load(Ordering::Relaxed) == 0 {
        assert!(many.iter().all(|one| !one.is_finished()), "whoever floods fell over");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }

    let beside = [usually(&mut other, page).await, usually(&mut other, &search).await];
    let working = greedy.get(&begun).await.headers.contains_key("refresh");
    many.iter().for_each(tokio::task::JoinHandle::abort);
    greedy.post(&format!("{begun}/stop"), &[]).await;
    assert!(working, "the share-out was over too soon to be in anybody's way");
    for (what, (alone, beside)) in ["a page", "a search"].iter().zip(alone.into_iter().zip(beside)) {
        assert!(beside < alone + LONGEST, "{what} takes {alone:?} alone, {beside:?} beside a flood");
    }
}
