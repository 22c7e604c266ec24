//! A class whose day is another than UTC's: three weavers, three rugs, three frames, cloth promised to two of them, a timetable,
//! and two frames out. Everything that a paper names is there more than once, and each time otherwise.
use jiff::Timestamp;
use serde_json::Value;
use thrumhall::planning::Kind;
use thrumhall::planning::warp::nail_rows::NailRows;
use thrumhall::store::cloth::share_outs::NewPromise;
use thrumhall::store::cloth::share_outs::{Limits, PartNeed, RugPart, Told};
use thrumhall::store::frames::FrameFields;
use thrumhall::store::people::Role;
use thrumhall::store::{Actor, PersonId, RugId, ShareOutId};
use thrumhall::units::{Length, Mass, Units};

use crate::support::browser::{Browser, Page, World};
use crate::support::pdf::Paper;
use crate::support::{forms, loft, noon};

/// Where pages are, as the codes name it.
pub const ORIGIN: &str = "http://loft.test";

pub struct OneRug {
    pub name: &'static str,
    pub weaver: &'static str,
    /// Its page.
    pub path: String,
    /// What `reckon` is asked for the same plan.
    pub flags: Vec<&'static str>,
    pub browser: Browser,
}

impl OneRug {
    fn id(&self) -> RugId {
        self.path.trim_start_matches("/rugs/").parse().unwrap()
    }

    /// The plan, by the command.
    pub fn plan(&self) -> Value {
        reckon(&self.flags)
    }
}

/// What the command says of a rug.
pub fn reckon(flags: &[&str]) -> Value {
    serde_json::from_str(&told(&[&["reckon", "--json"], flags].concat())).unwrap()
}

/// What the program prints.
pub fn told(line: &[&str]) -> String {
    String::from_utf8(printed(line)).unwrap()
}

pub fn printed(line: &[&str]) -> Vec<u8> {
    let done = std::process::Command::new(env!("CARGO_BIN_EXE_thrumhall")).args(line).output().unwrap();
    assert!(done.status.success(), "{line:?}: {}", String::from_utf8_lossy(&done.stderr));
    done.stdout
}

pub struct Class {
    pub world: World,
    pub me: PersonId,
    pub staff: Browser,
    pub term: String,
    pub rugs: [OneRug; 3],
    /// Addresses of the bundles, in order of their numbers.
    pub bundles: Vec<String>,
    /// Tags and addresses of the frames.
    pub frames: Vec<(&'static str, String)>,
}

const USUAL: [&str; 8] = ["--span", "33 in", "--width", "18 in", "--nails", "33", "--rugs-before", "0"];

impl Class {
    /// In this time zone, at this moment.
    pub async fn new(zone: &str, now: &str) -> Self {
        let world = World::empty().await;
        let mut tx = world.store().write(Actor { person: None, at: noon() }).await.unwrap();
        tx.found_workroom("Tern Loft", zone, Units::Inches).await.unwrap();
        tx.commit().await.unwrap();
        let (me, mut staff) = world.instructor().await;
        let now: Timestamp = now.parse().unwrap();
        world.clock.set(now);
        let mut frames = Vec::new();
        let far = NailRows::SetOff { far_nails: 32, by: Some(Length::inches(9.0 / 32.0)) };
        for (tag, fields) in [
            ("K-1", FrameFields { note: "One nail was set anew.".into(), ..loft::usual("K-1") }),
            ("A-1", FrameFields { note: "The far rail is split.".into(), ..loft::large("A-1") }),
            ("V-7", FrameFields { nail_rows: far, ..loft::usual("V-7") }),
        ] {
            let id = loft::frame(world.store(), me, &fields).await;
            frames.push((tag, format!("/frames/{id}")));
        }
        loft::rods(world.store(), me, 36.0, 6).await;
        loft::rods(world.store(), me, 48.0, 4).await;
        let term = [
            ("name", "Ebb to Flood"),
            ("day", "2026-10-07"),
            ("starts", "18:30"),
            ("minutes", "240"),
            ("count", "8"),
            ("every", "1"),
        ];
        let term = staff.post("/terms", &term).await.to().split('?').next().unwrap().to_owned();
        let rugs = rugs(&world, me, &term).await;
        let bundles = cloth(&mut staff).await;
        let mut class = Self { world, me, staff, term, rugs, bundles, frames };
        class.promise().await;
        class
    }

    /// Navy for two rugs from one bundle, white and a warp from others: each of another weight.
    async fn promise(&mut self) {
        let [ana, bo, _] = [0, 1, 2].map(|n: usize| self.rugs[n].id());
        let promises = [
            (ana, false, "Navy", 0, 700.0),
            (ana, false, "White", 1, 311.0),
            (bo, false, "Navy", 0, 423.0),
            (bo, true, "Grey", 2, 250.0),
        ];
        let promises: Vec<NewPromise> = promises
            .into_iter()
            .map(|(rug_id, warp, name, bundle, mass)| NewPromise {
                part: RugPart {
                    rug_id,
                    warp,
                    colour_name: name.into(),
                    colour_hex: thrumhall::planning::colour::named(&name.to_lowercase())
                        .unwrap()
                        .hex
                        .to_string(),
                },
                bundle: self.bundles[bundle].trim_start_matches("/cloth/").parse().unwrap(),
                promised: Mass::from_grams(mass),
            })
            .collect();
        let needs: Vec<PartNeed> = promises
            .iter()
            .map(|one| PartNeed { part: one.part.clone(), kind: Kind::Percale, wanted_mg: one.promised })
            .collect();
        let id = ShareOutId::new();
        let limits = Limits { most: 2, seconds: 1, most_off: 25 };
        let at = self.world.clock.now();
        let mut tx = self.world.store().write(Actor { person: Some(self.me), at }).await.unwrap();
        tx.begin_share_out(id, limits, &needs, &[]).await.unwrap();
        tx.finish_share_out(id, Told { spent: 10, cost: 10, bound: 10 }, &promises).await.unwrap();
        tx.accept_share_out(id, false).await.unwrap().unwrap();
        tx.commit().await.unwrap();
    }

    /// The timetable as it is worked out, accepted.
    pub async fn timetable(&mut self) -> Page {
        let page = self.staff.get(&format!("{}/timetable/new?sure=half&gap=0", self.term)).await.is(200);
        let fields = inputs(&page, "form[action$='/timetable'] input");
        let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        let path = format!("{}/timetable", self.term);
        self.staff.post(&path, &fields).await.is(303);
        self.staff.get(&path).await.is(200)
    }

    /// Hands a rug its frame as the page offers it; where the loan is.
    pub async fn hand_out(&mut self, rug: usize, due: &str) -> String {
        let path = format!("{}/hand-out", self.rugs[rug].path);
        let page = self.staff.get(&path).await.is(200);
        let mut fields = vec![("key".to_owned(), page.field("key")), ("due_on".to_owned(), due.to_owned())];
        fields.push(("rods".to_owned(), page.field("rods")));
        for name in ["frame", "rod"] {
            let chosen = page.attr(&format!("[name={name}][checked]"), "value");
            fields.push((name.to_owned(), chosen));
        }
        let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        self.staff.post(&path, &fields).await.to().split('?').next().unwrap().to_owned()
    }

    pub async fn paper(&mut self, path: &str) -> Paper {
        Paper::read(&self.staff.file(path).await)
    }
}

/// A rug’s steps on its card’s page: when, and what.
pub fn steps(page: &Page) -> Vec<String> {
    let (whens, whats) = (page.all(".tick li time"), page.all(".tick li span"));
    assert_eq!(whens.len(), whats.len());
    whens.iter().zip(whats).map(|(when, what)| format!("{when} {what}")).collect()
}

/// Names and values of inputs.
fn inputs(page: &Page, selector: &str) -> Vec<(String, String)> {
    let document = scraper::Html::parse_document(&page.text);
    let selector = scraper::Selector::parse(selector).unwrap();
    let attr = |input: &scraper::ElementRef<'_>, name| input.attr(name).unwrap_or_default().to_owned();
    document.select(&selector).map(|input| (attr(&input, "name"), attr(&input, "value"))).collect()
}

async fn rugs(world: &World, me: PersonId, term: &str) -> [OneRug; 3] {
    let term_id = term.trim_start_matches("/terms/");
    let mut made = Vec::new();
    for (name, weaver, fields, flags) in [
        (
            "Low tide",
            "Ana Reed",
            vec![
                ("band-1-height", "12 in"),
                ("band-1-first", "white"),
                ("band-1-other", "navy"),
                ("band-2-height", "20 in"),
                ("band-2-first", "white"),
                ("band-2-other", "white"),
                ("backing", "yes"),
            ],
            [&USUAL[..], &["--band", "12 in: white/navy", "--band", "20 in: white", "--backing", "1 in"]]
                .concat(),
        ),
        (
            "High water",
            "Bo Lind",
            vec![
                ("width", "24 in"),
                ("span", "44 in"),
                ("nails", "43"),
                ("weft_kind", "flannel"),
                ("strands", "keep"),
                ("fringe", "2 in"),
                ("band-1-height", "10 in"),
                ("band-1-first", "grey"),
                ("band-1-other", "grey"),
                ("band-2-height", "20 in"),
                ("band-2-first", "navy"),
                ("band-2-other", "rust"),
                ("band-3-height", "9 in"),
                ("band-3-first", "rust"),
                ("band-3-other", "grey"),
            ],
            vec![
                "--span",
                "44 in",
                "--width",
                "24 in",
                "--nails",
                "43",
                "--rugs-before",
                "0",
                "--kind",
                "flannel",
                "--warp-kind",
                "percale",
                "--at-rod",
                "keep",
                "--fringe",
                "2 in",
                "--band",
                "10 in: grey",
                "--band",
                "20 in: navy/rust",
                "--band",
                "9 in: rust/grey",
            ],
        ),
        (
            "Slack water",
            "Cy Marsh",
            vec![("band-1-height", "32 in"), ("band-1-first", "teal"), ("band-1-other", "pink")],
            [&USUAL[..], &["--band", "32 in: teal/pink"]].concat(),
        ),
    ] {
        let (person, mut browser) = world.enter(Role::Weaver, weaver).await;
        let mut tx = world.store().write(Actor { person: Some(me), at: world.clock.now() }).await.unwrap();
        tx.enrol(term_id.parse().unwrap(), person).await.unwrap();
        tx.commit().await.unwrap();
        let fields = [&fields[..], &[("name", name), ("term", term_id)]].concat();
        let path =
            browser.post("/rugs", &forms::rug(&fields)).await.to().split('?').next().unwrap().to_owned();
        made.push(OneRug { name, weaver, path, flags, browser });
    }
    made.try_into().ok().unwrap()
}

/// Four bundles: two that lost some since they came, one of another kind, one not washed.
async fn cloth(staff: &mut Browser) -> Vec<String> {
    let mut bundles = Vec::new();
    for (colour, kind, weight, washed) in [
        ("navy", "percale", "6 lb 3 oz", "yes"),
        ("white", "percale", "2 lb 8 oz", "yes"),
        ("grey", "flannel", "1 lb 12 oz", "yes"),
        ("rust", "denim", "3 lb 5 oz", "no"),
    ] {
        let fields = [("colour", colour), ("kind", kind), ("weight", weight), ("washed", washed)];
        let page = staff.post("/cloth/weigh-in", &fields).await;
        bundles.push(format!("/cloth/{}", page.to().strip_prefix("/cloth/weigh-in?done=").unwrap()));
    }
    for (bundle, weight) in [(0, "1 lb"), (1, "12 oz")] {
        let fields = [("pull_weight", weight)];
        staff.post(&format!("{}/pull", bundles[bundle]), &fields).await.is(303);
    }
    bundles
}
