//! A rug from small rests, each a band as high as it lasts. The order is `optimize`'s; the rug fills the form of *Plan a rug*.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::common::{Offer, blank, fault, filled, rug_fields, size_choices};
use crate::drawing::rug_face::Ink;
use crate::optimize::using_up::{MOST_RESTS, Rest, RestsError, Sure, UsedUp, use_up};
use crate::planning::colour::Hex;
use crate::planning::{Face, Kind};
use crate::services::free_cloth::FreeCloth;
use crate::services::learning::Learning;
use crate::services::rug_input::RugInput;
use crate::store::rugs::{Colour, FrameSize, RugBand, RugFields};
use crate::store::{PersonId, Read};
use crate::units::{Mass, Units};
use crate::web::http::answer::checked;
use crate::web::{App, CurrentUser, Form, Layout, QueryData, Result};

/// A bundle with less strip than this is ticked as a small rest from the start. Reasoned estimate.
const SMALL: i64 = 250;

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/rests.html")]
struct RestsPage {
    layout: Layout,
    form: Form,
    sizes: Vec<(String, String)>,
    kinds: Vec<(&'static str, &'static str)>,
    rests: Vec<RestChoice>,
    made: Option<Made>,
    units: Units,
}

/// A bundle that may be used up.
struct RestChoice {
    tag: i64,
    hex: Hex,
    name: String,
    strip: Mass,
    chosen: bool,
}

/// A rug that was made of rests.
struct Made {
    used: UsedUp,
    picture: String,
    bands: Vec<MadeBand>,
    /// Of each rest that isn't used up: which, and what becomes of it.
    left: Vec<String>,
    fields: Vec<(String, String)>,
}

struct MadeBand {
    tag: i64,
    name: String,
    hex: Hex,
    rows: u32,
    height: String,
    /// How likely the rest is to end before its band does.
    early: String,
    then: String,
}

/// The bundles, by their place in what is free, that may be used up in this kind of cloth: small ones first.
fn usable(free: &FreeCloth, kind: Kind) -> Vec<usize> {
    let mut usable: Vec<usize> =
        (0..free.cloth.len()).filter(|&at| free.cloth[at].kind.stands_in_for(kind, false)).collect();
    usable.sort_by_key(|&at| (free.cloth[at].grams, free.bundles[at].tag));
    usable
}

/// What is asked, read.
struct Question {
    fields: RugFields,
    sure: Sure,
    /// By their place in what is free.
    rests: Vec<usize>,
}

fn read(form: &mut Form, sizes: &[FrameSize], free: &FreeCloth) -> Option<Question> {
    let kind = form.choice::<Kind>("kind", "the cloth");
    let fields = rug_fields(form, sizes);
    let sure = if form.value("sure") == "expected" { Sure::Expected } else { Sure::Take };
    let usable = usable(free, kind?);
    let ticked: Vec<&str> = form.values("rest").collect();
    let rests: Vec<usize> = usable
        .into_iter()
        .filter(|&at| ticked.contains(&free.bundles[at].tag.to_string().as_str()))
        .collect();
    if rests.is_empty() {
        form.add_error("rest", "Tick the rests that are to be used up.");
    } else if rests.len() > MOST_RESTS {
        form.add_error("rest", RestsError::TooMany { given: rests.len() });
    }
    let fields = RugFields { warp_kind: kind?, weft_kind: kind?, ..fields? };
    form.is_ok().then_some(Question { fields, sure, rests })
}

fn chance(early: f64) -> String {
    let in_hundred = (early * 100.0).round();
    if in_hundred < 1.0 { "under 1 in 100".to_owned() } else { format!("{in_hundred} in 100") }
}

fn made(
    used: UsedUp,
    question: &Question,
    free: &FreeCloth,
    units: Units,
    (learning, weaver): (&Learning, PersonId),
) -> Result<Made> {
    let bundle = |rest: usize| &free.bundles[question.rests[rest]];
    let name = |rest: usize| format!("{} {}", bundle(rest).colour_name, bundle(rest).tag);
    let bands: Vec<RugBand> = used
        .bands
        .iter()
        .map(|band| {
            // Two rests of one colour are told apart by their bundles.
            let colour = Colour { name: name(band.rest), hex: bundle(band.rest).colour_hex.to_string() };
            RugBand { height: band.height, first: colour.clone(), other: colour, strip: None, chart: None }
        })
        .collect();
    let fields = RugFields { name: "From rests".to_owned(), ..question.fields.clone() };
    let mut planned = RugInput::of(&fields, &bands, units).map_err(|why| fault(&why))?;
    learning.apply_learned(&mut planned, weaver, units);
    let plan = planned.plan(units).map_err(|why| fault(&why))?;
    let picture = planned.picture(&plan, Face::Front, Ink::Colour, "rests")?;
    let shown = used.bands.iter().map(|band| MadeBand {
        tag: bundle(band.rest).tag,
        name: bundle(band.rest).colour_name.clone(),
        hex: bundle(band.rest).colour_hex,
        rows: band.rows,
        height: band.height.show(units),
        early: chance(band.early),
        then: match band.goes_on {
            Some(other) => format!("Go on with bundle {}.", bundle(used.bands[other].rest).tag),
            None => "The rug ends there.".to_owned(),
        },
    });
    let of = |rest: usize| format!("Bundle {} ({})", bundle(rest).tag, bundle(rest).colour_name);
    let too_little = used.too_little.iter().map(|&rest| format!("{} is too little for a band.", of(rest)));
    let no_room = used.no_room.iter().map(|&rest| format!("{} has no room on this rug.", of(rest)));
    let cut = used.cut_short.iter().map(|&(rest, left)| {
        format!("{} is woven as far as there is room: {} of strip stays.", of(rest), left.show(units))
    });
    let left = too_little.chain(no_room).chain(cut).collect();
    Ok(Made { picture, bands: shown.collect(), left, fields: filled(&fields, &bands, units), used })
}

pub(in crate::web::pages::rugs) async fn page(
    State(app): State<App>,
    me: CurrentUser,
    read_view: Read,
    asked: QueryData,
) -> Result<Response> {
    let Offer { choices, free, learning } = Offer::load(read_view, &me).await?;
    let units = me.units();
    let asked = asked.form_of(&me);
    let first = asked.is_none();
    let mut form = asked
        .unwrap_or_else(|| blank(&choices, units).with("kind", Kind::Percale.key()).with("sure", "take"));
    let mut found = None;
    if let Some(question) = (!first).then(|| read(&mut form, &choices.sizes, &free)).flatten() {
        let rest = |&at: &usize| Rest {
            hex: free.cloth[at].hex,
            strip: Mass::from_grams(free.cloth[at].grams as f64),
        };
        let rests: Vec<Rest> = question.rests.iter().map(rest).collect();
        let mut plain = RugInput::of(&question.fields, &[], units).map_err(|why| fault(&why))?;
        learning.apply_learned(&mut plain, me.id(), units);
        let sure = question.sure;
        match app.search(me.id(), move || use_up(&rests, &plain.spec, sure, units)).await? {
            Ok(used) => found = Some(made(used, &question, &free, units, (&learning, me.id()))?),
            Err(why) => form.add_error("rest", why),
        }
    }
    let kind = form.value("kind").parse().unwrap_or(Kind::Percale);
    let ticked: Vec<String> = form.values("rest").map(str::to_owned).collect();
    let rest = |at: usize| {
        let (bundle, grams) = (&free.bundles[at], free.cloth[at].grams);
        RestChoice {
            tag: bundle.tag,
            hex: bundle.colour_hex,
            name: bundle.colour_name.clone(),
            strip: Mass::from_grams(grams as f64),
            chosen: if first { grams < SMALL } else { ticked.contains(&bundle.tag.to_string()) },
        }
    };
    let page = RestsPage {
        layout: me.layout(),
        sizes: size_choices(&choices, units),
        kinds: Kind::ALL.iter().map(|kind| (kind.key(), kind.facts().title)).collect(),
        rests: usable(&free, kind).into_iter().map(rest).collect(),
        made: found,
        units,
        form,
    };
    Ok(checked(page.form.is_ok(), page))
}
