//! What a class is turned into before its timetable is worked out: small classes where the right turns are known by reason,
//! mostly since each has only one frame or each weaver is alone with theirs. Meetings are Wednesdays of four hours; each rug
//! takes two of them, as half of such weavers need. The clock stands at six in the evening on the first, 7 October 2026,
//! in Los Angeles.
use jiff::Timestamp;
use serde_json::{Value, json};
use thrumhall::store::frames::{Condition, FrameFields};
use thrumhall::store::people::Role;
use thrumhall::store::rods::RodAct;
use thrumhall::store::{FrameId, MeetingId, PersonId, RodId, RugId, TermId};

use super::needs::reckoned_small;
use super::rugs::with;
use super::timetable::accepted;
use crate::support::browser::{Browser, Page, World};
use crate::support::loft::{self, large, usual};
use crate::support::solve::solve;
use crate::support::timetables::{help, turns, without};
use crate::support::{actor, noon};

struct Class {
    world: World,
    me: PersonId,
    browser: Browser,
    path: String,
    term: TermId,
    meetings: Vec<MeetingId>,
}

/// A term of so many Wednesdays of so many minutes.
async fn term(
    browser: &mut Browser,
    name: &str,
    day: &str,
    (count, minutes): (u32, u32),
) -> (String, TermId) {
    let (count, minutes) = (count.to_string(), minutes.to_string());
    let fields = [
        ("name", name),
        ("day", day),
        ("starts", "18:30"),
        ("minutes", minutes.as_str()),
        ("count", count.as_str()),
        ("every", "1"),
    ];
    let path = browser.post("/terms", &fields).await.to().split('?').next().unwrap().to_owned();
    let id = path.rsplit('/').next().unwrap().parse().unwrap();
    (path, id)
}

async fn class_of(meetings: u32, minutes: u32) -> Class {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let (path, term) = term(&mut browser, "Ebb", "2026-10-07", (meetings, minutes)).await;
    let all = world.store().read().await.unwrap().meetings(term).await.unwrap();
    let meetings = all.iter().map(|meeting| meeting.id).collect();
    Class { world, me, browser, path, term, meetings }
}

async fn class(meetings: u32) -> Class {
    class_of(meetings, 240).await
}

impl Class {
    async fn frame(&self, fields: &FrameFields) -> FrameId {
        loft::frame(self.world.store(), self.me, fields).await
    }

    /// Two of these rods are found bent.
    async fn bend(&self, rods: RodId) {
        let mut tx = self.world.store().write(actor(self.me)).await.unwrap();
        tx.count_rods(rods, RodAct::FoundBent, 2).await.unwrap();
        tx.commit().await.unwrap();
    }

    async fn rods(&self, inches: f64, owned: i64) -> RodId {
        loft::rods(self.world.store(), self.me, inches, owned).await
    }

    /// Somebody enrolled, with a rug for a frame of that size.
    async fn weaver(&self, name: &str, size: &FrameFields) -> (PersonId, RugId) {
        let person = self.enrolled(name).await;
        let rug =
            loft::rug(self.world.store(), person, &format!("{name}’s rug"), size, Some(self.term)).await;
        (person, rug)
    }

    async fn enrolled(&self, name: &str) -> PersonId {
        let person = loft::person(self.world.store(), Role::Weaver, name).await;
        let mut tx = self.world.store().write(actor(self.me)).await.unwrap();
        tx.enrol(self.term, person).await.unwrap();
        tx.commit().await.unwrap();
        person
    }

    /// The proposal with as much time for each rug as half of the weavers need.
    async fn proposal(&mut self) -> Page {
        self.proposed("sure=half&gap=0").await
    }

    /// The proposal with options.
    async fn proposed(&mut self, query: &str) -> Page {
        self.browser.get(&format!("{}/timetable/new?{query}", self.path)).await.is(200)
    }

    async fn accept(&mut self, proposal: &Page) {
        let fields = accepted(proposal);
        let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        self.browser.post(&format!("{}/timetable", self.path), &fields).await.is(303);
    }

    async fn wish(&mut self, rugs: &[RugId], changes: &[(String, String)]) {
        let mut fields: Vec<(String, String)> =
            rugs.iter().map(|rug| (format!("urgent-{rug}"), "1".to_owned())).collect();
        fields.retain(|(name, _)| changes.iter().all(|(other, _)| other != name));
        fields.extend_from_slice(changes);
        let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        self.browser.post(&format!("{}/turns", self.path), &fields).await.is(303);
    }

    async fn absent(&mut self, away: &[(PersonId, usize)]) {
        let values: Vec<String> =
            away.iter().map(|(person, meeting)| format!("{person} {}", self.meetings[*meeting])).collect();
        let fields: Vec<(&str, &str)> = values.iter().map(|value| ("absent", value.as_str())).collect();
        self.browser.post(&format!("{}/absences", self.path), &fields).await.is(303);
    }

    async fn hand_out(&mut self, rug: RugId, frame: FrameId, rod: Option<RodId>, due: &str) {
        let [frame, rod] = [frame.to_string(), rod.map_or("none".to_owned(), |rod| rod.to_string())];
        let fields =
            [("frame", frame.as_str()), ("rod", &rod), ("rods", "2"), ("due_on", due), ("against", "yes")];
        self.browser.post(&format!("/rugs/{rug}/hand-out"), &fields).await.is(303);
    }

    fn clock(&self, at: &str) {
        self.world.clock.set(at.parse().unwrap());
    }

    #[track_caller]
    fn are(page: &Page, wanted: &[[&str; 4]]) {
        let found = turns(page);
        assert_eq!(found, wanted, "without a turn: {:?}", without(page));
    }
}

#[tokio::test]
async fn meetings_that_are_over_or_called_off_are_left_out() {
    let mut class = class(5).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 2).await;
    class.weaver("Ana", &usual("")).await;
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ana", "Wed 7 Oct", "Wed 14 Oct"]]);
    // While a meeting goes on it still counts.
    class.clock("2026-10-08T05:00:00Z");
    Class::are(&class.proposal().await, &[["S1", "Ana", "Wed 7 Oct", "Wed 14 Oct"]]);
    class.clock("2026-10-08T05:31:00Z");
    Class::are(&class.proposal().await, &[["S1", "Ana", "Wed 14 Oct", "Wed 21 Oct"]]);
    let off = class.meetings[2];
    class.browser.post(&format!("/meetings/{off}/off"), &[]).await.is(303);
    Class::are(&class.proposal().await, &[["S1", "Ana", "Wed 14 Oct", "Wed 28 Oct"]]);
    class.browser.post(&format!("/meetings/{}/off", class.meetings[1]), &[]).await.is(303);
    Class::are(&class.proposal().await, &[["S1", "Ana", "Wed 28 Oct", "Wed 4 Nov"]]);
    class.clock("2026-10-30T12:00:00Z");
    let page = class.proposal().await;
    Class::are(&page, &[]);
    assert!(
        without(&page)[0].1.starts_with("It needs 2 meetings at the frame; 1 are left."),
        "{:?}",
        without(&page)
    );
}

#[tokio::test]
async fn a_frame_placed_in_another_term_isnt_offered_at_its_days() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ana", "Wed 7 Oct", "Wed 14 Oct"]]);
    class.accept(&page).await;
    // The other term meets on the same Wednesdays.
    let (path, other) = term(&mut class.browser, "Flood", "2026-10-07", (4, 240)).await;
    let first = class.term;
    (class.term, class.path) = (other, path);
    class.weaver("Cleo", &usual("")).await;
    Class::are(&class.proposal().await, &[["S1", "Cleo", "Wed 21 Oct", "Wed 28 Oct"]]);
    // Once that term is closed its turns hold no frame.
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.close_term(first, true).await.unwrap();
    tx.commit().await.unwrap();
    Class::are(&class.proposal().await, &[["S1", "Cleo", "Wed 7 Oct", "Wed 14 Oct"]]);
}

#[tokio::test]
async fn a_frame_that_is_out_elsewhere_is_there_again_from_the_day_it_is_due() {
    let mut class = class(6).await;
    let frame = class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let dora = loft::person(class.world.store(), Role::Weaver, "Dora").await;
    let theirs = loft::rug(class.world.store(), dora, "Elsewhere", &usual(""), None).await;
    class.weaver("Ana", &usual("")).await;
    class.hand_out(theirs, frame, None, "2026-10-21").await;
    Class::are(&class.proposal().await, &[["S1", "Ana", "Wed 21 Oct", "Wed 28 Oct"]]);
    // It is overdue: it may come back any day, so the next meeting is the first that it is counted on for.
    class.clock("2026-10-26T12:00:00Z");
    Class::are(&class.proposal().await, &[["S1", "Ana", "Wed 28 Oct", "Wed 4 Nov"]]);
}

#[tokio::test]
async fn rods_that_are_out_are_offered_to_nobody_until_they_are_due() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    let second = class.frame(&usual("S2")).await;
    let rods = class.rods(36.0, 2).await;
    let dora = loft::person(class.world.store(), Role::Weaver, "Dora").await;
    let theirs = loft::rug(class.world.store(), dora, "Elsewhere", &usual(""), None).await;
    class.weaver("Ana", &usual("")).await;
    class.hand_out(theirs, second, Some(rods), "2026-10-20").await;
    let page = class.proposal().await;
    let found = turns(&page);
    assert_eq!((found.len(), found[0][2].as_str()), (1, "Wed 21 Oct"), "the only rods are out: {found:?}");
    // Without those rods nothing is out that Ana needs.
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.count_rods(rods, RodAct::Bought, 2).await.unwrap();
    tx.commit().await.unwrap();
    Class::are(&class.proposal().await, &[["S1", "Ana", "Wed 7 Oct", "Wed 14 Oct"]]);
}

#[tokio::test]
async fn rods_in_use_by_the_class_itself_are_counted_by_what_went_out() {
    let mut class = class(6).await;
    let first = class.frame(&usual("S1")).await;
    class.frame(&usual("S2")).await;
    let rods = class.rods(36.0, 2).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    // Two frames, one pair of rods: one after the other.
    let from = |page: &Page| turns(page).into_iter().map(|turn| turn[2].clone()).collect::<Vec<_>>();
    let mut starts = from(&class.proposal().await);
    starts.sort_unstable();
    assert_eq!(starts, ["Wed 21 Oct", "Wed 7 Oct"]);
    class.hand_out(ana, first, Some(rods), "2026-10-14").await;
    let page = class.proposal().await;
    assert_eq!(turns(&page)[0], ["S1", "Ana", "now", "Wed 14 Oct"]);
    assert_eq!(turns(&page)[1][1..], ["Ben", "Wed 21 Oct", "Wed 28 Oct"], "Ana has the rods until then");
}

#[tokio::test]
async fn a_frame_that_went_without_rods_takes_none() {
    let mut class = class(6).await;
    let first = class.frame(&usual("S1")).await;
    class.frame(&usual("S2")).await;
    class.rods(36.0, 2).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    class.hand_out(ana, first, None, "2026-10-14").await;
    Class::are(
        &class.proposal().await,
        &[["S1", "Ana", "now", "Wed 14 Oct"], ["S2", "Ben", "Wed 7 Oct", "Wed 14 Oct"]],
    );
}

#[tokio::test]
async fn bent_rods_and_odd_ones_make_no_pair_and_short_ones_serve_nobody() {
    let mut class = class(4).await;
    class.frame(&usual("S1")).await;
    class.frame(&usual("S2")).await;
    let rods = class.rods(36.0, 5).await;
    class.rods(24.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    let both = |page: &Page| turns(page).iter().filter(|turn| turn[2] == "Wed 7 Oct").count();
    assert_eq!(both(&class.proposal().await), 2, "two pairs");
    class.bend(rods).await;
    assert_eq!(both(&class.proposal().await), 1, "three straight rods are one pair");
    class.bend(rods).await;
    let page = class.proposal().await;
    Class::are(&page, &[]);
    let why = without(&page);
    assert!(why.iter().all(|(_, why)| why.contains("no straight rods long enough")), "{why:?}");
    // A frame more would bring its own.
    let frame = help(&page).into_iter().find(|(what, _)| what.contains("frame")).unwrap();
    assert_eq!(frame.1, 2, "one after the other: {:?}", help(&page));
}

#[tokio::test]
async fn not_before_and_absences_are_the_weavers_own() {
    let mut class = class(8).await;
    class.frame(&usual("S1")).await;
    class.frame(&usual("S2")).await;
    class.rods(36.0, 8).await;
    let (ana_person, ana) = class.weaver("Ana", &usual("")).await;
    let (ben_person, ben) = class.weaver("Ben", &usual("")).await;
    let of = |page: &Page, who: &str| -> [String; 2] {
        let turn = turns(page).into_iter().find(|turn| turn[1] == who).unwrap();
        [turn[2].clone(), turn[3].clone()]
    };
    let third = class.meetings[2].to_string();
    class.wish(&[ana, ben], &[(format!("from-{ben}"), third)]).await;
    let page = class.proposal().await;
    assert_eq!(of(&page, "Ben"), ["Wed 21 Oct", "Wed 28 Oct"]);
    assert_eq!(of(&page, "Ana"), ["Wed 7 Oct", "Wed 14 Oct"]);
    // Ana won't come on the second evening, Ben not on the third and fifth.
    class.absent(&[(ana_person, 1), (ben_person, 2), (ben_person, 4)]).await;
    let page = class.proposal().await;
    assert_eq!(of(&page, "Ana"), ["Wed 7 Oct", "Wed 21 Oct"]);
    assert_eq!(
        of(&page, "Ben"),
        ["Wed 28 Oct", "Wed 11 Nov"],
        "he doesn't begin at a meeting that he misses"
    );
}

#[tokio::test]
async fn broken_and_retired_frames_are_offered_to_nobody_but_who_has_one_keeps_it() {
    let mut class = class(6).await;
    class.frame(&FrameFields { condition: Condition::Broken, ..usual("S1") }).await;
    let retired = class.frame(&usual("S2")).await;
    let third = class.frame(&usual("S3")).await;
    class.rods(36.0, 20).await;
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    assert!(tx.retire_frame(retired, 1).await.unwrap());
    tx.commit().await.unwrap();
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    Class::are(
        &class.proposal().await,
        &[["S3", "Ana", "Wed 7 Oct", "Wed 14 Oct"], ["S3", "Ben", "Wed 21 Oct", "Wed 28 Oct"]],
    );
    // S3 breaks while Ana has it: she goes on, and Ben has none.
    class.hand_out(ana, third, None, "2026-10-14").await;
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.change_frame(third, 1, &FrameFields { condition: Condition::Broken, ..usual("S3") }).await.unwrap();
    tx.commit().await.unwrap();
    let page = class.proposal().await;
    assert_eq!(turns(&page)[0], ["S3", "Ana", "now", "Wed 14 Oct"]);
}

#[tokio::test]
async fn a_rug_goes_on_a_larger_frame_where_that_is_asked_and_never_on_a_smaller() {
    let mut class = class(6).await;
    class.frame(&large("L1")).await;
    class.rods(48.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    let page = class.proposal().await;
    Class::are(&page, &[]);
    assert!(without(&page)[0].1.contains("no frame of its size"), "{:?}", without(&page));
    Class::are(
        &class.proposed("sure=half&gap=0&larger=yes").await,
        &[["L1", "Ana", "Wed 7 Oct", "Wed 14 Oct"]],
    );
    // Where both sizes are, the planned one serves as well as ever.
    class.frame(&usual("S1")).await;
    class.rods(36.0, 2).await;
    let page = class.proposed("sure=half&gap=0&larger=yes").await;
    assert_eq!(turns(&page)[0][1..], ["Ana", "Wed 7 Oct", "Wed 14 Oct"]);
    let mut other = class_of_large().await;
    let page = other.proposed("sure=half&gap=0&larger=yes").await;
    Class::are(&page, &[]);
    assert_eq!(without(&page).len(), 1);
}

/// A rug that wants a large frame where there is only a usual one.
async fn class_of_large() -> Class {
    let class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(48.0, 8).await;
    class.weaver("Ana", &large("")).await;
    class
}

#[tokio::test]
async fn the_one_that_waits_longest_comes_first_then_who_is_urgent_then_what_is_locked() {
    let mut class = class(2).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let (ana_person, ana) = class.weaver("Ana", &usual("")).await;
    // Ben's rug was planned a day before Ana's, though it was entered after it.
    let ben_person = class.enrolled("Ben").await;
    let before: Timestamp = noon() - jiff::SignedDuration::from_hours(24);
    class.world.clock.set(before);
    let (weaver, term) = (ben_person.to_string(), class.term.to_string());
    let plain = [("name", "Ben’s rug"), ("weaver", &*weaver), ("term", &*term)];
    let to = class.browser.post("/rugs", &with(&plain)).await.to().to_owned();
    let ben: RugId = to.split('?').next().unwrap().rsplit('/').next().unwrap().parse().unwrap();
    class.world.clock.set(noon());
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ben", "Wed 7 Oct", "Wed 14 Oct"]]);
    assert!(without(&page)[0].1.contains("Others of its size come first"), "{:?}", without(&page));
    assert!(page.one(".lead.section").contains("Proven"), "{}", page.one(".lead.section"));
    class.accept(&page).await;
    class.wish(&[ana, ben], &[(format!("urgent-{ana}"), "3".into())]).await;
    let urgent = class.proposal().await;
    Class::are(&urgent, &[["S1", "Ana", "Wed 7 Oct", "Wed 14 Oct"]]);
    // Locked, Ben stays all the same.
    let id = ben.to_string();
    class
        .browser
        .post(&format!("{}/timetable/lock", class.path), &[("rug", &id), ("locked", "yes")])
        .await
        .is(303);
    Class::are(&class.proposal().await, &[["S1", "Ben", "Wed 7 Oct", "Wed 14 Oct"]]);
    class
        .browser
        .post(&format!("{}/timetable/lock", class.path), &[("rug", &id), ("locked", "no")])
        .await
        .is(303);
    Class::are(&class.proposal().await, &[["S1", "Ana", "Wed 7 Oct", "Wed 14 Oct"]]);
    // Who left the term or the workroom holds nothing.
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.withdraw(class.term, ana_person).await.unwrap();
    tx.commit().await.unwrap();
    Class::are(&class.proposal().await, &[["S1", "Ben", "Wed 7 Oct", "Wed 14 Oct"]]);
}

#[tokio::test]
async fn rugs_of_those_who_left_and_rugs_that_are_done_want_no_turn() {
    let mut class = class(4).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    let (ben, _) = class.weaver("Ben", &usual("")).await;
    class.weaver("Cleo", &usual("")).await;
    class.browser.post(&format!("/rugs/{ana}/state"), &[("state", "finished")]).await.is(303);
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.withdraw(class.term, ben).await.unwrap();
    tx.commit().await.unwrap();
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Cleo", "Wed 7 Oct", "Wed 14 Oct"]]);
    assert_eq!(without(&page), []);
}

#[tokio::test]
async fn the_gap_lies_between_two_rugs_on_a_frame() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    let ends = |page: &Page| {
        turns(page).into_iter().map(|turn| [turn[2].clone(), turn[3].clone()]).collect::<Vec<_>>()
    };
    let without_gap = [["Wed 7 Oct", "Wed 14 Oct"], ["Wed 21 Oct", "Wed 28 Oct"]];
    assert_eq!(ends(&class.proposal().await), without_gap);
    let with_gap = [["Wed 7 Oct", "Wed 14 Oct"], ["Wed 28 Oct", "Wed 4 Nov"]];
    assert_eq!(ends(&class.proposed("sure=half&gap=1").await), with_gap);
}

#[tokio::test]
async fn who_was_told_a_day_keeps_it_when_a_frame_comes_in() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    let page = class.proposal().await;
    class.accept(&page).await;
    class.frame(&usual("S0")).await;
    let page = class.proposal().await;
    assert_eq!(turns(&page).iter().map(|turn| turn[0].as_str()).collect::<Vec<_>>(), ["S1", "S1"]);
    assert!(page.text.contains("Nothing: everybody keeps"), "{}", page.text);
}

#[tokio::test]
async fn a_rug_on_a_frame_stays_there_until_it_is_done_and_is_told_when_that_is_too_late() {
    let mut class = class(3).await;
    let frames = [class.frame(&usual("S1")).await, class.frame(&usual("S2")).await];
    class.rods(36.0, 8).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    class.hand_out(ana, frames[1], None, "2026-10-21").await;
    Class::are(
        &class.proposal().await,
        &[["S1", "Ben", "Wed 7 Oct", "Wed 14 Oct"], ["S2", "Ana", "now", "Wed 14 Oct"]],
    );
    // At the last meeting two are still needed: she keeps the frame, and the page says so.
    class.clock("2026-10-20T12:00:00Z");
    let page = class.proposal().await;
    Class::are(&page, &[["S2", "Ana", "now", "Wed 21 Oct"]]);
    assert!(page.all("td[data-label=State]")[0].contains("needs 2 meetings, 1 are left"), "{}", page.text);
}

#[tokio::test]
async fn nobody_takes_a_frame_from_who_has_it_however_urgent() {
    let mut class = class(2).await;
    let frame = class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let (_, ben) = class.weaver("Ben", &usual("")).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.hand_out(ana, frame, None, "2026-10-14").await;
    class.wish(&[ana, ben], &[(format!("urgent-{ben}"), "3".into())]).await;
    Class::are(&class.proposal().await, &[["S1", "Ana", "now", "Wed 14 Oct"]]);
}

#[tokio::test]
async fn what_is_woven_already_takes_no_meeting_and_only_of_that_rug() {
    let mut class = class(6).await;
    let frames = [class.frame(&usual("S1")).await, class.frame(&usual("S2")).await];
    class.rods(36.0, 8).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    let (_, ben) = class.weaver("Ben", &usual("")).await;
    class.hand_out(ana, frames[0], None, "2026-10-21").await;
    class.hand_out(ben, frames[1], None, "2026-10-21").await;
    // 100 of about 128 rows: less than an hour and a half is left.
    class.browser.post(&format!("/rugs/{ana}/log"), &[("rows", "100")]).await.is(303);
    Class::are(
        &class.proposal().await,
        &[["S1", "Ana", "now", "Wed 7 Oct"], ["S2", "Ben", "now", "Wed 14 Oct"]],
    );
}

/// How many meetings of so many minutes Ana's small rug takes.
async fn takes(minutes: f64, sure: &str, home: &str) -> usize {
    let mut class = class_of(12, minutes.round() as u32).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let person = class.enrolled("Ana").await.to_string();
    let term = class.term.to_string();
    let form = [("name", "Ana’s rug"), ("weaver", &*person), ("term", &*term), ("home_minutes", home)];
    class.browser.post("/rugs", &with(&form)).await.is(303);
    let page = class.proposed(&format!("sure={sure}&gap=0")).await;
    let found = turns(&page);
    let meetings: Vec<String> = {
        let all = class.world.store().read().await.unwrap().meetings(class.term).await.unwrap();
        all.iter().map(|meeting| meeting.on_day.0.strftime("%a %-d %b").to_string()).collect()
    };
    let at = |day: &str| meetings.iter().position(|other| other == day).unwrap();
    at(&found[0][3]) - at(&found[0][2]) + 1
}

#[tokio::test]
async fn a_rug_takes_the_meetings_that_winding_weaving_and_taking_off_take() {
    let plan: Value = reckoned_small();
    let minutes = |value: &Value, path: &str| value.pointer(path).and_then(Value::as_f64).unwrap();
    // Weaving at the pace of a class that nothing is known of, by `solve pace`.
    let rug = json!({"weaver": "ana", "span_mm": 838.2, "width_mm": 457.2, "nails": 33});
    let pace = solve("pace", &json!({"rug": rug}));
    let [weave, surely] = ["expected", "take"].map(|end| minutes(&pace, &format!("/left/minutes/{end}")));
    // Winding on is 12 s for each of 66 nails, common practice; this rug's finishing is the taking off.
    let around = 66.0 * 12.0 / 60.0 + minutes(&plan, "/minutes/finish");
    let work = weave + around;
    assert!(around > 20.0 && surely > weave + 40.0, "{around} {weave} {surely}");
    for (meeting, sure, home, wanted, what) in [
        (work + 5.0, "half", "0", 1, "all of it fits"),
        (work - 5.0, "half", "0", 2, "winding on and taking off are done at the frame too"),
        (weave + 5.0, "half", "0", 2, "weaving is not all of it"),
        (work + 20.0, "nine", "0", 2, "nine in ten such weavers need more"),
        (surely + around + 5.0, "nine", "0", 1, "and that is enough for them"),
        (work / 2.0 + 5.0, "half", "0", 2, "two halves"),
        (work / 3.0 + 5.0, "half", "0", 3, "three thirds"),
        // Between two meetings is one evening at home: two meetings and an hour.
        (work / 2.0 - 25.0, "half", "60", 2, "an hour at home between them"),
        (work / 2.0 - 25.0, "half", "0", 3, "and without it"),
    ] {
        assert_eq!(
            takes(meeting, sure, home).await,
            wanted,
            "{what}: {meeting} minutes, {sure}, {home} at home"
        );
    }
}

#[tokio::test]
async fn what_would_help_is_told_with_what_it_brings() {
    let mut class = class(3).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 2).await;
    class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    class.weaver("Cleo", &usual("")).await;
    class.weaver("Dora", &large("")).await;
    let page = class.proposal().await;
    assert_eq!(turns(&page).len(), 1);
    let told = help(&page);
    let of = |start: &str| told.iter().find(|(what, _)| what.starts_with(start)).map(|(_, gained)| *gained);
    assert_eq!(of("With one more frame of 18 in × 33 in"), Some(1), "it brings its rods: {told:?}");
    assert_eq!(of("With one more meeting"), Some(1), "{told:?}");
    let why = without(&page);
    let of = |who: &str| why.iter().find(|(other, _)| other == who).map(|(_, why)| why.clone()).unwrap();
    assert!(of("Dora").contains("no frame of its size"), "{why:?}");
    assert!(of("Ben").contains("Others of its size come first"), "{why:?}");
    assert!(
        page.one(".lead.section").starts_with("1 of 4 rugs get their turn. Proven"),
        "{}",
        page.one(".lead.section")
    );
}

#[tokio::test]
async fn a_moved_turn_is_told_as_moved() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    let page = class.proposal().await;
    assert!(page.all(".plain-list li")[0].contains("new"), "{}", page.text);
    class.accept(&page).await;
    assert!(class.proposal().await.text.contains("Nothing: everybody keeps"));
    // Half is woven, and she comes for the rest: she begins later and ends as before.
    class.browser.post(&format!("/rugs/{ana}/log"), &[("rows", "100")]).await.is(303);
    class.wish(&[ana], &[(format!("from-{ana}"), class.meetings[1].to_string())]).await;
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ana", "Wed 14 Oct", "Wed 14 Oct"]]);
    assert!(page.all(".plain-list li")[0].contains("moved"), "{}", page.text);
    class.browser.post(&format!("/meetings/{}/off", class.meetings[1]), &[]).await.is(303);
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ana", "Wed 7 Oct", "Wed 7 Oct"]]);
    assert!(page.all(".plain-list li")[0].contains("moved"), "{}", page.text);
}
