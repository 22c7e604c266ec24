//! A rug of any size, pieced together from rugs of the frames there are: the layout, what each panel needs, and planning
//! the panels as rugs of one weaver. The search is `optimize`'s.
pub(super) mod sewn;
pub(super) mod worked;

use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::choices::{Choices, choices, known_term, whose};
use super::edit::{MOST_OPEN, too_many_open};
use super::typed;
use crate::drawing::panels as panel_picture;
use crate::optimize::panels::sewing::{Alike, Sewing, alike};
use crate::optimize::panels::{self, Among, Arrangement, PanelsError, Size, Stitch, USUAL_EASE, Wanted};
use crate::planning::cloth::Kind;
use crate::planning::colour::NAMED;
use crate::planning::frame::size_words;
use crate::planning::plan::FinishedSize;
use crate::planning::spec::RugSpec;
use crate::planning::{Plan, Range};
use crate::services::pieced::{makes, nearest, usable};
use crate::services::rug_input::RugInput;
use crate::store::rugs::{FrameSize, RugBand, RugFields};
use crate::store::{PersonId, Read, RugId};
use crate::units::{Length, Mass, Minutes, Units};
use crate::web::http::answer::{checked, done, invalid};
use crate::web::http::form::LINE;
use crate::web::{App, CurrentUser, Form, FormData, Layout, QueryData, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/any_size.html")]
struct AnySizePage {
    layout: Layout,
    /// What is wanted.
    form: Form,
    /// The rugs to be planned from it.
    planning: Form,
    kinds: Vec<(&'static str, &'static str)>,
    colours: Vec<(&'static str, &'static str)>,
    terms: Vec<(String, String)>,
    weavers: Vec<(String, String)>,
    found: PanelSearch,
    frames: i64,
    units: Units,
}

impl AnySizePage {
    /// Where the sewing plan is: the same question, on paper.
    fn sewn(&self) -> String {
        format!("/rugs/any-size/sewing?{}", self.form.serialize(&[]))
    }

    /// Where the numbers are worked out: the same question, on another page.
    fn worked(&self, key: &str) -> String {
        format!("/rugs/any-size/worked?{}#{key}", self.form.serialize(&[]))
    }
}

/// What came of looking.
enum PanelSearch {
    /// Nobody has asked yet, or not in a way that can be answered.
    Unasked,
    /// Nothing fits, in words.
    Nothing(String),
    Laid(Box<Laid>),
}

/// A layout with all that follows from it.
struct Laid {
    arrangement: Arrangement,
    picture: String,
    sewing: Sewing,
    groups: Vec<PanelGroup>,
    total: Mass,
    hours: String,
}

/// Panels that are woven alike.
struct PanelGroup {
    alike: Alike,
    frame: String,
    frames: i64,
    narrower: bool,
    plan: Plan,
    /// What is kept when they are planned.
    rug: (RugFields, Vec<RugBand>),
}

impl PanelGroup {
    fn numbers(&self) -> String {
        self.alike.numbers.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
    }

    fn count(&self) -> usize {
        self.alike.numbers.len()
    }

    /// How often each frame of that size has its turn when all of them are in use.
    fn rounds(&self) -> usize {
        self.count().div_ceil(usize::try_from(self.frames).unwrap_or(1).max(1))
    }
}

impl Laid {
    fn sides(&self, units: Units) -> String {
        let Size { width, length } = self.arrangement.size;
        format!("{} × {}", width.show(units), length.show(units))
    }

    /// The sewn rug's size once it is washed. Panels may lie either way, so each side may lose as a panel's length or as its width.
    fn finished(&self, units: Units) -> Option<String> {
        let plan = &self.groups.first()?.plan;
        let FinishedSize { length, width } = plan.finished;
        let part =
            |of: fn(&Range<Length>) -> Length| [of(&length).ratio(plan.length), of(&width).ratio(plan.width)];
        let (low, usual, high) = (part(|side| side.low), part(|side| side.expected), part(|side| side.p90));
        let side = |woven: Length| Range {
            low: woven.scale(low[0].min(low[1])),
            expected: woven.scale(f64::midpoint(usual[0], usual[1])),
            p90: woven.scale(high[0].max(high[1])),
        };
        let Size { width, length } = self.arrangement.size;
        Some(FinishedSize { length: side(length), width: side(width) }.show(units))
    }

    /// What is proven of it, in words.
    fn proven(&self) -> String {
        let panels = self.arrangement.panels.len();
        if !self.arrangement.proven {
            return "Not proven: there were too many layouts to look at all of them, and a better one may exist.".into();
        }
        let (among, looked) = match self.arrangement.among {
            Among::Cut => (
                "among arrangements that can be cut edge to edge",
                "Every layout was looked at in which some seam runs straight across the rug, and again across each part. \
                 Of those like a pinwheel, four panels round a fifth, not all could be looked at: one might do with fewer panels, \
                 but is awkward to sew.",
            ),
            Among::Turned => (
                "among arrangements that can be cut edge to edge or are turned like a pinwheel",
                "Every layout was looked at in which some seam runs straight across the rug, or four parts lie round a fifth, and \
                 again within each part. Others want seven panels at least, and are awkward to sew.",
            ),
            Among::All => ("among all layouts", "Every layout was looked at."),
        };
        format!(
            "Proven {among}: no rug of fewer panels comes near enough; none of {panels} comes nearer to the wanted size; and at \
             this size none has less seam. {looked}"
        )
    }
}

/// The fields that say what is wanted; the form for planning carries them along.
const WISHES: [&str; 7] = ["width", "length", "tolerance", "most", "narrower", "strip_width", "kind"];

fn blank(units: Units) -> Form {
    Form::blank(units)
        .with("tolerance", Length::inches(1.0).exact(units))
        .with("most", 12)
        .with("strip_width", Length::inches(1.5).exact(units))
        .with("kind", Kind::Percale.key())
}

/// What is wanted, and the cloth it is reckoned for.
struct PanelWish {
    wanted: Wanted,
    strip: Length,
    kind: Kind,
}

fn read(form: &mut Form) -> Option<PanelWish> {
    let side = |form: &mut Form, name| form.length(name, Length::inches(4.0), Length::inches(480.0));
    let (width, length) = (side(form, "width"), side(form, "length"));
    let tolerance = form.length("tolerance", Length::ZERO, Length::inches(48.0));
    let most = form.count("most", "The most panels", 1..=panels::MOST_PANELS as i64);
    let strip = form.length("strip_width", Length::inches(0.25), Length::inches(6.0));
    let kind = form.choice::<Kind>("kind", "the cloth");
    let wanted = Wanted {
        size: Size { width: width?, length: length? },
        tolerance: tolerance?,
        ease: USUAL_EASE,
        most: usize::try_from(most?).ok()?,
        narrower: form.ticked("narrower"),
    };
    Some(PanelWish { wanted, strip: strip?, kind: kind? })
}

async fn search(app: &App, who: PersonId, form: &mut Form, sizes: &[FrameSize]) -> Result<PanelSearch> {
    let Some(wish) = read(form) else { return Ok(PanelSearch::Unasked) };
    let (frames, units) = (usable(sizes), form.units());
    if frames.is_empty() {
        return Ok(PanelSearch::Nothing("There is no frame in use to weave panels on.".into()));
    }
    let (sizes, wanted) = (frames.iter().map(makes).collect::<Vec<_>>(), wish.wanted);
    let theirs = sizes.clone();
    let found = app.search(who, move || nearest(&theirs, &wanted, units)).await?;
    let arrangement = match found {
        Ok(arrangement) => arrangement,
        Err(PanelsError::NoFit { .. }) if !wanted.narrower => {
            let why = found.map_or_else(|e| e.to_string(), |_| String::new());
            return Ok(PanelSearch::Nothing(format!(
                "{why} Panels may also be woven narrower than their frame: tick that."
            )));
        }
        Err(refused @ PanelsError::NoFit { .. }) => return Ok(PanelSearch::Nothing(refused.to_string())),
        Err(refused) => {
            form.add_error("", refused);
            return Ok(PanelSearch::Unasked);
        }
    };
    let mut groups = Vec::new();
    for alike in alike(&arrangement, &sizes, wanted.ease) {
        match PanelGroup::of(alike, &frames, &wish, units) {
            Ok(group) => groups.push(group),
            Err(why) => {
                form.add_error("", why);
                return Ok(PanelSearch::Unasked);
            }
        }
    }
    let names: Vec<String> = sizes.iter().map(|s| format!("{} wide frame", s.width.show(units))).collect();
    let times = |group: &PanelGroup| group.count() as f64;
    let minutes = groups.iter().map(|group| group.work() * times(group));
    Ok(PanelSearch::Laid(Box::new(Laid {
        picture: panel_picture::svg(&arrangement, &names, units, "panels"),
        sewing: Sewing::of(&arrangement),
        total: groups.iter().map(|group| group.plan.cloth.total.p90.scale(times(group))).sum(),
        hours: minutes.sum::<Minutes>().show(),
        arrangement,
        groups,
    })))
}

impl PanelGroup {
    /// The panels as rugs, planned the way that the rug form would plan them.
    fn of(alike: Alike, frames: &[FrameSize], wish: &PanelWish, units: Units) -> Result<Self, String> {
        let size = &frames[alike.size];
        let narrower = alike.woven.width < size.width_nm;
        let mut form = typed::blank(units)
            .with("name", "-")
            .with("size", typed::size_word(size))
            .with("strip_width", wish.strip.exact(units))
            .with("warp_kind", wish.kind.key())
            .with("weft_kind", wish.kind.key())
            .with("band-1-height", alike.woven.length.exact(units))
            .with("band-1-first", NAMED[0].key)
            .with("band-1-other", NAMED[0].key);
        if narrower {
            form.set("woven_width", alike.woven.width.exact(units));
        }
        let first_error =
            |form: &Form| form.errors().first().map_or_else(String::new, |(_, message)| message.clone());
        let rug = typed::read(&mut form, frames).ok_or_else(|| first_error(&form))?;
        let planned = RugInput::of(&rug.0, &rug.1, units).map_err(|e| e.to_string())?;
        let plan = planned.plan(units).map_err(|e| e.to_string())?;
        let frame = size_words(size.width_nm, size.span_nm, size.nails, units);
        Ok(Self { frame, frames: size.frames, narrower, plan, rug, alike })
    }
}

fn page(me: &CurrentUser, choices: &Choices, form: Form, planning: Form, found: PanelSearch) -> AnySizePage {
    AnySizePage {
        layout: me.layout(),
        kinds: Kind::ALL.iter().map(|kind| (kind.key(), kind.facts().title)).collect(),
        colours: NAMED.iter().map(|named| (named.key, named.name)).collect(),
        terms: choices.term_words(),
        weavers: choices.weaver_words(),
        frames: choices.sizes.iter().map(|size| size.frames).sum(),
        units: me.units(),
        form,
        planning,
        found,
    }
}

pub(super) async fn look(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    asked: QueryData,
) -> Result<Response> {
    let choices = choices(&mut read, &me).await?;
    drop(read);
    let asked = asked.form_of(&me);
    let mut form = asked.clone().unwrap_or_else(|| blank(me.units()));
    let found = if asked.is_some() {
        search(&app, me.id(), &mut form, &choices.sizes).await?
    } else {
        PanelSearch::Unasked
    };
    let mut planning = Form::blank(me.units()).with("first", NAMED[0].key).with("other", NAMED[0].key);
    if let Some(term) = choices.terms.first() {
        planning.set("term", term.id);
    }
    Ok(checked(form.is_ok(), page(&me, &choices, form, planning, found)))
}

/// What the planned rugs have in common: their name, term and colours.
struct Common {
    name: String,
    term: Option<crate::store::TermId>,
    band: [crate::store::rugs::Colour; 2],
}

fn read_common(form: &mut Form) -> Option<Common> {
    // Room for ", panel 24 of 24".
    let name = form.text("name", "The rug’s name", LINE - 20);
    let term = form.optional("term", None, |form| form.choice("term", "a term").map(Some));
    let band = ["first", "other"].map(|strand| {
        let colour = typed::read_colour(form.value(strand));
        if colour.is_none() {
            form.add_error(strand, format!("Choose the {strand} strand’s colour."));
        }
        colour
    });
    let [first, other] = band;
    Some(Common { name: name?, term: term?, band: [first?, other?] })
}

pub(super) async fn plan(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let sizes = app.store.read().await?.frame_sizes().await?;
    let mut planning = posted.form_of(&me);
    let mut form = Form::blank(me.units());
    for name in WISHES {
        form.set(name, planning.value(name));
    }
    let found = search(&app, me.id(), &mut form, &sizes).await?;
    // Looking takes its time; who is here and which terms are open is decided when it is over.
    let mut tx = app.write(&me).await?;
    let choices = choices(&mut tx, &me).await?;
    let weaver = whose(&mut planning, &me, &choices);
    let known = known_term(&mut planning, &choices, None);
    let common = read_common(&mut planning).filter(|_| known);
    let (PanelSearch::Laid(laid), Some(weaver), Some(common)) = (&found, weaver, common) else {
        return Ok(invalid(page(&me, &choices, form, planning, found)));
    };
    let to = if me.is_staff() { "/rugs?said=panels" } else { "/my?said=panels" };
    tx.idempotent(planning.key, to).await?;
    let all = laid.arrangement.panels.len();
    if tx.open_rugs(weaver).await? + all as i64 > MOST_OPEN {
        planning.add_error("", too_many_open());
        return Ok(invalid(page(&me, &choices, form, planning, found)));
    }
    for group in &laid.groups {
        for number in &group.alike.numbers {
            let (mut fields, mut bands) = group.rug.clone();
            fields.name = format!("{}, panel {number} of {all}", common.name);
            fields.term_id = common.term;
            for band in &mut bands {
                [band.first, band.other] = common.band.clone();
            }
            tx.add_rug(RugId::new(), weaver, &fields, &bands).await?;
        }
    }
    done(tx, to).await
}
