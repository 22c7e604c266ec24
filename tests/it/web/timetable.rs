//! The timetable's pages: worked out, accepted, followed by hand-outs, broken and worked out again.
use thrumhall::store::people::Role;
use thrumhall::store::{FrameId, PersonId, RugId, Store, TermId};

use crate::support::actor;
use crate::support::browser::{Browser, Page, World};
use crate::support::days::short;
use crate::support::loft::{self, usual};
use crate::support::named::assert_names;
use crate::support::timetables::turns;

/// A term of four-hour Wednesdays, some frames, and one rug for each weaver; the clock stands at noon on the first.
struct Class {
    world: World,
    me: PersonId,
    browser: Browser,
    term: TermId,
    path: String,
    frames: Vec<FrameId>,
    rugs: Vec<RugId>,
}

async fn class(meetings: u32, frames: &[&str], weavers: &[&str]) -> Class {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let (term, path, frames, rugs) = lay(world.store(), (me, &mut browser), meetings, frames, weavers).await;
    Class { world, me, browser, term, path, frames, rugs }
}

/// The same, over any database: the term, its page, the frames and the rugs.
pub(super) async fn lay(
    store: &Store,
    (me, browser): (PersonId, &mut Browser),
    meetings: u32,
    frames: &[&str],
    weavers: &[&str],
) -> (TermId, String, Vec<FrameId>, Vec<RugId>) {
    let count = meetings.to_string();
    let fields = [
        ("name", "Ebb to Flood"),
        ("day", "2026-10-07"),
        ("starts", "18:30"),
        ("minutes", "240"),
        ("count", count.as_str()),
        ("every", "1"),
    ];
    let path = browser.post("/terms", &fields).await.to().split('?').next().unwrap().to_owned();
    let term: TermId = path.rsplit('/').next().unwrap().parse().unwrap();
    let (mut made, mut rugs) = (Vec::new(), Vec::new());
    for tag in frames {
        made.push(loft::frame(store, me, &usual(tag)).await);
    }
    loft::rods(store, me, 36.0, 20).await;
    for name in weavers {
        let weaver = loft::person(store, Role::Weaver, name).await;
        let mut tx = store.write(actor(me)).await.unwrap();
        tx.enrol(term, weaver).await.unwrap();
        tx.commit().await.unwrap();
        rugs.push(loft::rug(store, weaver, &format!("{name}’s rug"), &usual(""), Some(term)).await);
    }
    (term, path, made, rugs)
}

impl Class {
    async fn proposal(&mut self) -> Page {
        self.browser.get(&format!("{}/timetable/new?sure=half&gap=0", self.path)).await.is(200)
    }

    async fn accept(&mut self, proposal: &Page) -> Page {
        let fields = accepted(proposal);
        let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        self.browser.post(&format!("{}/timetable", self.path), &fields).await
    }

    async fn timetable(&mut self) -> Page {
        self.browser.get(&format!("{}/timetable", self.path)).await.is(200)
    }
}

/// What the proposal's form would send.
pub(super) fn accepted(proposal: &Page) -> Vec<(String, String)> {
    let document = scraper::Html::parse_document(&proposal.text);
    let selector = scraper::Selector::parse("form[action$='/timetable'] input").unwrap();
    let pair = |input: scraper::ElementRef<'_>| {
        (input.attr("name").unwrap().to_owned(), input.attr("value").unwrap().to_owned())
    };
    document.select(&selector).map(pair).collect()
}

#[tokio::test]
async fn one_frame_goes_from_hand_to_hand_and_hand_outs_follow() {
    let mut class = class(6, &["S1"], &["Ana", "Ben"]).await;
    assert!(class.timetable().await.text.contains("No timetable yet"));
    let proposal = class.proposal().await;
    assert!(proposal.one(".lead.section").starts_with("2 of 2 rugs get their turn."), "{}", proposal.text);
    assert_eq!(proposal.all("figure.wall svg title"), ["Who has which frame when"]);
    // Six hours of weaving are two meetings of four.
    assert_eq!(
        turns(&proposal),
        [["S1", "Ana", "2026-10-07", "2026-10-14"], ["S1", "Ben", "2026-10-21", "2026-10-28"]]
    );
    assert_eq!(proposal.all("td[data-label=Rug]"), ["Ana’s rug", "Ben’s rug"]);
    let to = class.accept(&proposal).await.to().to_owned();
    assert_eq!(to, format!("{}/timetable?said=timetable", class.path));
    let held = class.timetable().await;
    assert_eq!(held.all("#tell li").len(), 2, "both are to be told");
    let told = held.attr("#tell input[name=rug]", "value");
    class.browser.post(&format!("{}/timetable/told", class.path), &[("rug", &told)]).await.is(303);
    assert_eq!(class.timetable().await.all("#tell li").len(), 1);

    // A rug's own page says when; so does handing out, and the frame isn't given away unnoticed.
    let (ana, ben, frame) = (class.rugs[0], class.rugs[1], class.frames[0]);
    let page = class.browser.get(&format!("/rugs/{ben}")).await.is(200);
    let oct = |day: u32| short(&format!("2026-10-{day:02}"));
    assert!(page.text.contains(&format!("frame S1, {} to {}", oct(21), oct(28))), "{}", page.text);
    let offer = class.browser.get(&format!("/frames/{frame}/hand-out")).await.is(200);
    assert_eq!(offer.attr("input[name=rug][checked]", "value"), ana.to_string());
    assert_eq!(offer.field("due_on"), "2026-10-14");
    let against = [("frame", frame.to_string()), ("rug", ben.to_string())];
    let rest = [("rod", "none"), ("rods", "2"), ("due_on", "2026-10-14")];
    let mut fields: Vec<(&str, &str)> = against.iter().map(|(a, b)| (*a, b.as_str())).chain(rest).collect();
    let path = format!("/frames/{frame}/hand-out");
    let refused = class.browser.post(&path, &fields).await.is(422);
    refused.error_names("against", &["Ana", "S1", &oct(7), &oct(14)]);
    fields.push(("against", "yes"));
    class.browser.post(&path, &fields).await.is(303);
    let held = class.timetable().await;
    assert!(held.one(".notice.warn").contains("can’t be kept as planned"), "{}", held.text);
    // Worked out again, Ben goes on, and Ana comes after.
    let proposal = class.proposal().await;
    assert_eq!(
        turns(&proposal),
        [["S1", "Ben", "now", "2026-10-14"], ["S1", "Ana", "2026-10-21", "2026-10-28"]]
    );
    assert_eq!(proposal.all("td[data-label=Rug]"), ["Ben’s rug", "Ana’s rug"]);
    assert!(proposal.one("td[data-label=State]").starts_with("has it"), "{}", proposal.text);
    assert_names(&proposal.one(".plain-list"), &["moved", "S1", &oct(7), &oct(14)]);
}

#[tokio::test]
async fn what_cant_fit_says_why_and_what_would_help() {
    let mut class = class(3, &["S1"], &["Ana", "Ben"]).await;
    let proposal = class.proposal().await;
    assert!(proposal.one(".lead.section").starts_with("1 of 2 rugs get their turn."), "{}", proposal.text);
    let without = proposal.all("table[aria-label='Rugs without a turn'] tbody tr, table tbody tr");
    assert!(
        without.iter().any(|row| row.starts_with("Ben") && row.contains("Others of its size come first"))
    );
    let help = proposal.all(".plain-list li");
    let line = |start: &str| help.iter().find(|line| line.starts_with(start)).unwrap().clone();
    assert!(
        line("With one more frame of 18 in × 33 in").ends_with("one more rug gets its turn."),
        "{help:?}"
    );
    assert!(line("With one more meeting").ends_with("one more rug gets its turn."), "{help:?}");
}

#[tokio::test]
async fn the_slower_of_two_is_told_and_the_class_may_change_under_a_proposal() {
    let mut class = class(6, &["S1", "S2"], &["Ana", "Ben"]).await;
    let mut other = class.world.enter(Role::Instructor, "Ida Probe").await.1;
    let (mine, theirs) = (class.proposal().await, class.proposal().await);
    let fields = accepted(&theirs);
    let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
    other.post(&format!("{}/timetable", class.path), &fields).await.is(303);
    let told = class.accept(&mine).await.is(409);
    assert!(told.text.contains("Ida Probe accepted another timetable meanwhile"), "{}", told.text);
    // What comes back with it can be accepted at once.
    class.accept(&told).await.is(303);

    let proposal = class.proposal().await;
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    let weaver =
        class.world.store().read().await.unwrap().rug(class.rugs[1]).await.unwrap().unwrap().weaver_id;
    tx.withdraw(class.term, weaver).await.unwrap();
    tx.commit().await.unwrap();
    let gone = class.accept(&proposal).await.is(409);
    assert!(gone.text.contains("Meanwhile the class changed"), "{}", gone.text);
    assert_eq!(gone.all("table tbody tr").len(), 1);
    assert!(class.timetable().await.text.contains("no longer weaves this rug in this term"));
}

#[tokio::test]
async fn wishes_absences_and_called_off_meetings_are_minded() {
    let mut class = class(8, &["S1"], &["Ana", "Ben"]).await;
    let wishes = format!("{}/turns", class.path);
    let page = class.browser.get(&wishes).await.is(200);
    let (ana, ben) = (class.rugs[0].to_string(), class.rugs[1].to_string());
    let (urgent, usual) = (format!("urgent-{ben}"), format!("urgent-{ana}"));
    let wrong = class.browser.post(&wishes, &[(&urgent, "9"), (&usual, "1")]).await.is(422);
    wrong.only_error_at(&urgent);
    wrong.error_names(&urgent, &["9", "1", "3"]);
    class.browser.post(&wishes, &[(&urgent, "3"), (&usual, "1")]).await.is(303);
    // Ben won't come on the second evening: his turn is a meeting longer.
    let boxes = scraper::Selector::parse("input[name=absent]").unwrap();
    let document = scraper::Html::parse_document(&page.text);
    let values: Vec<String> =
        document.select(&boxes).map(|input| input.attr("value").unwrap().to_owned()).collect();
    assert_eq!(values.len(), 16, "two weavers, eight meetings");
    class.browser.post(&format!("{}/absences", class.path), &[("absent", &values[9])]).await.is(303);
    assert_eq!(class.browser.get(&wishes).await.all("input[name=absent][checked]").len(), 1);
    let proposal = class.proposal().await;
    let found = turns(&proposal);
    assert!(found.iter().any(|turn| *turn == ["S1", "Ben", "2026-10-07", "2026-10-21"]), "{found:?}");
    class.accept(&proposal).await.is(303);
    // The meeting at which Ana begins is called off.
    let off = class.browser.get(&class.path).await;
    let actions = scraper::Html::parse_document(&off.text);
    let selector = scraper::Selector::parse("form[action$='/off']").unwrap();
    let action: Vec<String> =
        actions.select(&selector).map(|form| form.attr("action").unwrap().to_owned()).collect();
    class.browser.post(&action[3], &[]).await.is(303);
    let held = class.timetable().await;
    assert!(held.text.contains("over or called off"), "{}", held.text);
    let proposal = class.proposal().await;
    let changes = proposal.all(".plain-list li");
    assert_eq!(changes.len(), 1, "only Ana moves: {changes:?}");
    assert!(changes[0].starts_with("Ana"), "{changes:?}");
}
