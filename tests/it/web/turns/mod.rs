//! What a class is turned into before its timetable is worked out: small classes where the right turns are known by reason,
//! mostly since each has only one frame or each weaver is alone with theirs. Meetings are Wednesdays of four hours; each rug
//! takes two of them, as half of such weavers need. The clock stands at six in the evening on the first, 7 October 2026,
//! in Los Angeles.
mod frames;
mod meetings;
mod order;

use thrumhall::store::frames::FrameFields;
use thrumhall::store::people::Role;
use thrumhall::store::rods::RodAct;
use thrumhall::store::{FrameId, MeetingId, PersonId, RodId, RugId, TermId};

use super::timetable::accepted;
use crate::support::actor;
use crate::support::browser::{Browser, Page, World};
use crate::support::loft;
use crate::support::timetables::{turns, without};

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
