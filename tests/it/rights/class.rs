//! A class in which everything that is somebody's bears their mark: two weavers who are there, one who left, and one whose
//! link was replaced. It is made through the pages, except for what only a search would bring about.
use jiff::ToSpan as _;
use jiff::civil::date;
use thrumhall::planning::Kind;
use thrumhall::store::cloth::share_outs::NewPromise;
use thrumhall::store::cloth::share_outs::{Limits, PartNeed, RugPart, Told};
use thrumhall::store::{Actor, ShareOutId, TabletId};
use thrumhall::units::{Mass, Units};

use crate::support::browser::{Browser, World};
use crate::support::{forms, noon};

/// The word in every contact: only an instructor and the person it belongs to may read it.
pub const CONTACT: &str = "harbourline";

/// A weaver with one of everything. `mark` stands in each text that is theirs, and in no other.
pub struct Weaver {
    pub mark: &'static str,
    pub id: String,
    pub browser: Browser,
    /// The path of their personal link, and of their calendar.
    pub link: String,
    pub feed: String,
    /// Their rugs: planned, on a frame, finished.
    pub rugs: [String; 3],
    /// Their loans: out, and back.
    pub loans: [String; 2],
    pub log_entry: String,
    pub promise: String,
}

impl Weaver {
    /// What nobody else's page may hold: the mark, and the ids of what is theirs.
    pub fn marks(&self) -> Vec<String> {
        let ids = [&self.id, &self.log_entry, &self.promise];
        let ids = ids.into_iter().chain(&self.rugs).chain(&self.loans).cloned();
        ids.chain([self.mark.to_lowercase()]).filter(|mark| !mark.is_empty()).collect()
    }
}

/// The class, and what is everybody's.
pub struct Class {
    pub world: World,
    pub instructor: Browser,
    pub volunteer: Browser,
    pub volunteer_id: String,
    pub ana: Weaver,
    pub bea: Weaver,
    /// Left; her browser and her links are those she had.
    pub cleo: Weaver,
    /// Got a new link; her browser and her links are the old ones.
    pub dora: Weaver,
    pub term: String,
    pub meeting: String,
    pub frame: String,
    pub rod: String,
    /// A bundle whose note names Bea.
    pub bundle: String,
    pub count: String,
    pub share_out: String,
    pub receiver: String,
    pub delivery: String,
    /// Open at the scale.
    pub tablet: String,
}

/// The last part of the path that an act leads to, or of a path.
pub fn id_in(to: &str) -> String {
    to.split(['?', '#']).next().unwrap().rsplit('/').next().unwrap().to_owned()
}

/// What the form of a usual rug sends, in two colours of the weaver's own.
pub fn rug_form(mark: &str, name: &str, term: &str) -> Vec<(String, String)> {
    let (first, other) = (format!("#2b5f75 {mark} teal"), format!("#d9c9a3 {mark} foam"));
    let name = format!("{mark} {name}");
    let fields = [
        ("name", name.as_str()),
        ("term", term),
        ("band-1-height", "12 in"),
        ("band-1-first", &first),
        ("band-1-other", &other),
        ("band-2-height", "20 in"),
        ("band-2-first", &first),
        ("band-2-other", &first),
    ];
    forms::rug(&fields).into_iter().map(|(name, value)| (name.to_owned(), value.to_owned())).collect()
}

/// The same as pairs that a browser posts.
pub fn pairs(form: &[(String, String)]) -> Vec<(&str, &str)> {
    form.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect()
}

/// The path of a link of this site.
pub fn path_of(link: &str) -> String {
    let rest = link.split_once("://").unwrap().1;
    rest[rest.find('/').unwrap()..].to_owned()
}

/// A new personal link of somebody's, as the instructor is shown it.
pub async fn personal_link(instructor: &mut Browser, person: &str) -> String {
    let page = instructor.post(&format!("/people/{person}/link"), &[]).await.is(200);
    path_of(&page.attr("main a[href*='/enter/']", "href"))
}

/// A new calendar of the person whose browser it is.
pub async fn calendar_link(browser: &mut Browser) -> String {
    let page = browser.post("/me/calendar", &[]).await.is(200);
    path_of(&page.attr("a[href*='/calendar/']:not([href^=webcal])", "href"))
}

struct Making<'a> {
    world: &'a World,
    instructor: &'a mut Browser,
    term: &'a str,
    rod: &'a str,
    /// The frame that stays in.
    pool: &'a str,
}

impl Making<'_> {
    async fn frame(&mut self, tag: &str) -> String {
        let fields = [
            ("tag", tag),
            ("span", "33 in"),
            ("width", "18 in"),
            ("nails", "33"),
            ("condition", "sound"),
            ("note", ""),
        ];
        id_in(self.instructor.post("/frames", &fields).await.to())
    }

    async fn hand_out(&mut self, rug: &str, frame: &str) -> String {
        let fields =
            [("frame", frame), ("rug", rug), ("rod", self.rod), ("rods", "2"), ("due_on", "2026-10-12")];
        id_in(self.instructor.post(&format!("/rugs/{rug}/hand-out"), &fields).await.to())
    }

    async fn weaver(&mut self, given: &str, mark: &'static str) -> Weaver {
        let (name, contact) = (format!("{given} {mark}"), format!("{CONTACT} {mark}@quay.example"));
        let fields = [("role", "weaver"), ("name", name.as_str()), ("contact", &contact)];
        let id = id_in(self.instructor.post("/people", &fields).await.to());
        self.instructor.post(&format!("/terms/{}/enrol", self.term), &[("weaver", &id)]).await.is(303);
        let link = personal_link(self.instructor, &id).await;
        let mut browser = self.world.stranger();
        assert_eq!(browser.follow_link(&link).await.to(), "/");
        let feed = calendar_link(&mut browser).await;
        let mut rugs = Vec::new();
        for name in ["drift", "spray", "wrack"] {
            let form = rug_form(mark, name, self.term);
            rugs.push(id_in(browser.post("/rugs", &pairs(&form)).await.to()));
        }
        let rugs: [String; 3] = rugs.try_into().unwrap();
        let pool = self.pool.to_owned();
        let back = self.hand_out(&rugs[2], &pool).await;
        let note = format!("{mark} dropped a bead");
        let fields = [("condition", "sound"), ("rug", "finished"), ("rods_bent", "0"), ("rods_missing", "0")];
        let fields = [fields.as_slice(), &[("note", note.as_str())]].concat();
        self.instructor.post(&format!("/loans/{back}/take-back"), &fields).await.is(303);
        browser
            .post(
                &format!("/rugs/{}/finish", rugs[2]),
                &[("rows", "127"), ("woven", "32 in"), ("weave_minutes", "900")],
            )
            .await
            .is(303);
        let frame = self.frame(&format!("{mark}-1")).await;
        let out = self.hand_out(&rugs[1], &frame).await;
        let log = format!("/rugs/{}/log", rugs[1]);
        browser
            .post(&log, &[("rows", "40"), ("woven", "10 in"), ("minutes", "120"), ("left-1", "30 oz")])
            .await
            .is(303);
        let shown = browser.get(&format!("/rugs/{}", rugs[1])).await.is(200);
        let log_entry = shown.field("entry");
        let (loans, promise) = ([out, back], String::new());
        Weaver { mark, id, browser, link, feed, rugs, loans, log_entry, promise }
    }
}

/// A promise of some of the bundle to each of these rugs, as a share-out that was accepted leaves it.
async fn promise(world: &World, bundle: &str, rugs: &[(&str, &str)]) -> String {
    let part = |(rug, mark): &(&str, &str)| RugPart {
        rug_id: rug.parse().unwrap(),
        warp: false,
        colour_name: format!("{mark} teal"),
        colour_hex: "#2b5f75".into(),
    };
    let promised = Mass::from_grams(100.0);
    let need = |rug| PartNeed { part: part(rug), kind: Kind::Percale, wanted_mg: promised };
    let found = |rug| NewPromise { part: part(rug), bundle: bundle.parse().unwrap(), promised };
    let (needs, found): (Vec<_>, Vec<_>) = rugs.iter().map(|rug| (need(rug), found(rug))).unzip();
    let id = ShareOutId::new();
    let who = world.store().read().await.unwrap().people().await.unwrap()[0].id;
    let mut tx = world.store().write(Actor { person: Some(who), at: noon() }).await.unwrap();
    tx.begin_share_out(id, Limits { most: 2, seconds: 1, most_off: 25 }, &needs, &[]).await.unwrap();
    tx.finish_share_out(id, Told { spent: 1_000, cost: 2_000, bound: 1_900 }, &found).await.unwrap();
    tx.accept_share_out(id, false).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    id.to_string()
}

/// Who left and whose link was replaced also have rugs, loans and calendars.
pub async fn class() -> Class {
    class_with(0).await
}

/// The same, and so many weavers more with all that is theirs, and as many bundles, promises and terms.
pub async fn class_with(more: usize) -> Class {
    // In Auckland it is one o'clock on Thursday the 8th when the fixtures' clock stands at noon on the 7th.
    let world = World::with(thrumhall::web::Config::default()).await;
    let mut tx = world.store().write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", "Pacific/Auckland", Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    let (instructor_id, mut instructor) = world.instructor().await;
    let (volunteer_id, mut volunteer) = world.volunteer().await;
    let day = date(2026, 10, 10).to_string();
    let fields = [
        ("name", "Ebb to Flood"),
        ("day", &day),
        ("starts", "18:30"),
        ("minutes", "240"),
        ("count", "6"),
        ("every", "1"),
    ];
    let term = id_in(instructor.post("/terms", &fields).await.to());
    let rods = [("length", "36 in"), ("diameter", "1/8 in"), ("owned", "200")];
    let rod = id_in(instructor.post("/rods", &rods).await.to());
    let mut making = Making { world: &world, instructor: &mut instructor, term: &term, rod: &rod, pool: "" };
    let frame = making.frame("POOL-1").await;
    making.pool = &frame;
    let mut ana = making.weaver("Ana", "Quillon").await;
    let mut bea = making.weaver("Bea", "Brackett").await;
    let cleo = making.weaver("Cleo", "Danforth").await;
    let dora = making.weaver("Dora", "Ellery").await;
    let mut others = Vec::new();
    for n in 0..more {
        // A mark lives as long as the tests do.
        others.push(making.weaver("Other", format!("Number{n}").leak()).await);
    }

    let sheet = [
        ("kind", "percale"),
        ("colour", "own"),
        ("own_hex", "#2b5f75"),
        ("own_name", "Sea"),
        ("weight", "8 lb"),
        ("washed", "yes"),
        ("sheets", "4"),
        ("sheet_length", "96 in"),
        ("sheet_width", "66 in"),
        ("note", "put by for Brackett"),
    ];
    let weighed = volunteer.post("/cloth/weigh-in", &sheet).await;
    let bundle = weighed.to().strip_prefix("/cloth/weigh-in?done=").unwrap().to_owned();
    let rugs = [(ana.rugs[1].as_str(), ana.mark), (bea.rugs[1].as_str(), bea.mark)];
    let share_out = promise(&world, &bundle, &rugs).await;
    for other in &others {
        let weighed = volunteer.post("/cloth/weigh-in", &sheet).await;
        let bundle = weighed.to().strip_prefix("/cloth/weigh-in?done=").unwrap().to_owned();
        promise(&world, &bundle, &[(other.rugs[1].as_str(), other.mark)]).await;
        let name = ("name", other.mark);
        instructor.post("/terms", &[&[name], &fields[1..]].concat()).await.is(303);
    }
    for promise in world.store().read().await.unwrap().promises().await.unwrap() {
        let hers = if promise.part.rug_id.to_string() == ana.rugs[1] { &mut ana } else { &mut bea };
        hers.promise = promise.id.to_string();
    }
    let count = id_in(volunteer.post("/cloth/count", &[("kind", ""), ("family", "")]).await.to());

    let address = [("name", "Bridge"), ("url", "https://bridge.example/hook")];
    let receiver = id_in(instructor.post("/notices/receivers", &address).await.to());
    instructor.post(&format!("/notices/receivers/{receiver}/try"), &[]).await.is(303);
    let sent = world.store().read().await.unwrap().deliveries(9).await.unwrap();
    let delivery = sent[0].id.to_string();
    let shown = instructor.get(&format!("/terms/{term}")).await.is(200);
    let act = shown.attr("form[action^='/meetings/'][action$='/off']", "action");
    let meeting = act.split('/').nth(2).unwrap().to_owned();

    instructor.post(&format!("/people/{}/leave", cleo.id), &[]).await.is(303);
    personal_link(&mut instructor, &dora.id).await;
    let tablet = TabletId::new();
    let mut tx = world.store().write(Actor { person: Some(instructor_id), at: noon() }).await.unwrap();
    tx.open_tablet(tablet, "a tablet’s", noon() + 12.hours()).await.unwrap();
    tx.commit().await.unwrap();
    let (volunteer_id, tablet) = (volunteer_id.to_string(), tablet.to_string());
    Class {
        world,
        instructor,
        volunteer,
        volunteer_id,
        ana,
        bea,
        cleo,
        dora,
        term,
        meeting,
        frame,
        rod,
        bundle,
        count,
        share_out,
        receiver,
        delivery,
        tablet,
    }
}
