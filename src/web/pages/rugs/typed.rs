//! The rug form: from a rug to its fields and from what was typed to a rug.
use std::str::FromStr as _;

use crate::planning::chart::Chart;
use crate::planning::cloth::Kind;
use crate::planning::colour;
use crate::planning::warp::nail_rows::NailRows;
use crate::planning::warp::winding::{Nail, Winding, WindingError};
use crate::planning::warp::yarn::{Yarn, YarnError};
use crate::planning::{Frame, FrameError, SpecError, WovenFrom};
use crate::store::rugs::{Colour, FrameSize, Making, RugBand, RugFields};
use crate::store::{TermId, woven_from, woven_from_word};
use crate::units::{Length, Mass, Units};
use crate::web::Form;
use crate::web::http::form::LINE;
use crate::web::pages::sizes::{read_sizes, rows_field, rows_typed};

use crate::services::rug_input::{CantPlan, RugInput};

/// The most bands that the form takes; a rug of more is a picture, not bands.
pub(super) const MOST_BANDS: usize = 40;
/// Empty band rows offered below the filled ones.
const SPARE_BANDS: usize = 2;

/// How many band rows the form shows: those filled in and a few to spare.
pub(super) fn rows(form: &Form) -> usize {
    let last = (1..=MOST_BANDS).rev().find(|n| !form.is_empty(&format!("band-{n}-height"))).unwrap_or(0);
    (last + SPARE_BANDS + if form.ticked("more") { 4 } else { 0 }).min(MOST_BANDS)
}

/// An empty form: a plain percale rug with one band.
pub(super) fn blank(units: Units) -> Form {
    let strip = Length::inches(1.5);
    Form::blank(units)
        .with("strip_width", strip.exact(units))
        .with("warp_kind", Kind::Percale.key())
        .with("weft_kind", Kind::Percale.key())
        .with("every", 1)
        .with("extra_wraps", 0)
        .with("woven_from", woven_from_word(WovenFrom::OneEnd))
        .with("strands", "trade")
        .with("unit_size", 2)
        .with("rugs_before", 0)
        .with("home_minutes", 0)
}

/// The form of a rug.
pub(super) fn fill(f: &RugFields, bands: &[RugBand], revision: i64, units: Units) -> Form {
    let mut form = Form::blank(units)
        .with("revision", revision)
        .with("name", &f.name)
        .with("term", f.term_id.map_or(String::new(), |id| id.to_string()))
        .with("size", size_word(&FrameSize::of(f)))
        .with("span", f.span_nm.exact(units))
        .with("width", f.width_nm.exact(units))
        .with("nails", f.nails)
        .with("pitch", f.pitch_nm.map_or(String::new(), |pitch| pitch.exact(units)))
        .with("woven_width", f.making.woven_width_nm.map_or(String::new(), |width| width.exact(units)))
        .with("doubled", if f.making.winding.doubled { "yes" } else { "" })
        .with("every", f.making.winding.every)
        .with("left_out", nails_said(&f.making.winding.left_out))
        .with("extra_wraps", f.making.winding.extra_wraps)
        .with("woven_from", woven_from_word(f.making.woven_from))
        .with("strip_width", f.strip_width_nm.exact(units))
        .with("warp_strip", f.warp_strip_nm.map_or(String::new(), |strip| strip.exact(units)))
        .with("warp_kind", f.warp_kind.key())
        .with("weft_kind", f.weft_kind.key())
        .with("fringe", if f.fringe_nm > Length::ZERO { f.fringe_nm.exact(units) } else { String::new() })
        .with("backing", if f.backing { "yes" } else { "" })
        .with("strands", if f.strands_trade { "trade" } else { "keep" })
        .with("unit_size", f.unit_size)
        .with("rugs_before", f.rugs_before)
        .with("home_minutes", f.home_minutes)
        .with("sample_length", f.sample_length_nm.map_or(String::new(), |length| length.exact(units)))
        .with("sample_rows", f.sample_rows.map_or(String::new(), |rows| rows.to_string()))
        .with("sample_mass", f.sample_mass_mg.map_or(String::new(), |mass| mass.exact(units)));
    if let Some(yarn) = f.warp_yarn {
        form.set("warp_yarn_length", yarn.length.exact(units));
        form.set("warp_yarn_mass", yarn.mass.exact(units));
        form.set(
            "warp_yarn_thickness",
            yarn.thickness.map_or(String::new(), |thick| format!("{} mm", thick.mm())),
        );
    }
    for (name, _, value) in rows_typed(&f.making.nail_rows, units) {
        form.set(name, value);
    }
    for (i, band) in bands.iter().enumerate() {
        let n = i + 1;
        let [right, up] = band.chart.as_ref().map_or([0, 0], Chart::moved_by);
        let moved = |by: u32| if by == 0 { String::new() } else { by.to_string() };
        let lines = band.chart.as_ref().map_or_else(Vec::new, Chart::lines);
        form.set(&format!("band-{n}-chart"), lines.join("\n"));
        form.set(&format!("band-{n}-right"), moved(right));
        form.set(&format!("band-{n}-up"), moved(up));
        form.set(&format!("band-{n}-strip"), band.strip.map_or(String::new(), |strip| strip.exact(units)));
        form.set(&format!("band-{n}-height"), band.height.exact(units));
        form.set(&format!("band-{n}-first"), colour_word(&band.first));
        form.set(&format!("band-{n}-other"), colour_word(&band.other));
    }
    form
}

/// How the form names a size of frame that there is.
pub(super) fn size_word(s: &FrameSize) -> String {
    let rows = match &s.nail_rows {
        NailRows::Facing => String::new(),
        rows => format!("-{}", serde_json::json!(rows)),
    };
    format!("{}-{}-{}-{}{rows}", s.span_nm.nm(), s.width_nm.nm(), s.nails, s.pitch_nm.map_or(0, Length::nm))
}

/// Nails as one writes them down: `near 5, far 12`.
fn nails_said(nails: &[Nail]) -> String {
    nails.iter().map(Nail::to_string).collect::<Vec<_>>().join(", ")
}

/// A colour of the list by its key; another by its colour and name.
pub(super) fn colour_word(colour: &Colour) -> String {
    let known =
        colour::NAMED.iter().find(|named| named.name == colour.name && named.hex.to_string() == colour.hex);
    known.map_or_else(|| format!("{} {}", colour.hex, colour.name), |named| named.key.to_owned())
}

pub(super) fn read_colour(text: &str) -> Option<Colour> {
    if let Some(named) = colour::NAMED.iter().find(|named| named.key == text) {
        return Some(Colour { name: named.name.to_owned(), hex: named.hex.to_string() });
    }
    let (hex, name) = text.split_once(' ')?;
    let hex = colour::Hex::parse(hex).ok()?;
    let name: String = name.chars().filter(|c| !c.is_control()).take(LINE).collect();
    Some(Colour { name, hex: hex.to_string() })
}

/// The colours that the form offers: the list, and those of the rug that aren't on it.
pub(super) fn colour_choices(form: &Form) -> Vec<(String, String)> {
    let mut choices: Vec<(String, String)> =
        colour::NAMED.iter().map(|named| (named.key.to_owned(), named.name.to_owned())).collect();
    for n in 1..=MOST_BANDS {
        for strand in ["first", "other"] {
            let word = form.value(&format!("band-{n}-{strand}"));
            if let Some(colour) = read_colour(word).filter(|_| choices.iter().all(|(key, _)| key != word)) {
                choices.push((word.to_owned(), format!("{} ({})", colour.name, colour.hex)));
            }
        }
    }
    choices
}

/// Reads a rug whole, and tries its plan, so that only a rug that can be planned is kept.
pub(super) fn read(form: &mut Form, sizes: &[FrameSize]) -> Option<(RugFields, Vec<RugBand>)> {
    let units = form.units();
    let name = form.text("name", "The rug’s name", LINE);
    let term_id = form.optional("term", None, |form| form.choice::<TermId>("term", "a term").map(Some));
    let size = read_size(form, sizes);
    let woven_width_nm = form.optional("woven_width", None, |form| {
        form.length("woven_width", Length::inches(2.0), Frame::MAX_SIDE).map(Some)
    });
    let winding = read_winding(form);
    let woven_from = woven_from(form.value("woven_from")).unwrap_or_default();
    let strip_width_nm = form.length("strip_width", Length::inches(0.25), Length::inches(6.0));
    let warp_strip_nm = form.optional("warp_strip", None, |form| {
        form.length("warp_strip", Length::inches(0.25), Length::inches(6.0)).map(Some)
    });
    let warp_yarn = read_yarn(form);
    let warp_kind = form.choice::<Kind>("warp_kind", "the cloth of the warp");
    let weft_kind = form.choice::<Kind>("weft_kind", "the cloth of the weft");
    let fringe_nm = form.optional("fringe", Length::ZERO, |form| {
        form.length("fringe", Length::inches(0.5), Length::inches(18.0))
    });
    let unit_size = form.count("unit_size", "The warp unit", 1..=6);
    let rugs_before = form.count("rugs_before", "Rugs before this one", 0..=999);
    let home_minutes = form.count("home_minutes", "Minutes at home", 0..=5000);
    let sample = read_sample(form);
    let bands = read_bands(form);
    let strands_trade = form.value("strands") != "keep";
    let size = size?;
    let (sample_length_nm, sample_rows, sample_mass_mg) = sample?;
    let fields = RugFields {
        name: name?,
        term_id: term_id?,
        span_nm: size.span_nm,
        width_nm: size.width_nm,
        nails: size.nails,
        pitch_nm: size.pitch_nm,
        making: Making {
            nail_rows: size.nail_rows,
            woven_width_nm: woven_width_nm?,
            winding: winding?,
            woven_from,
        },
        strip_width_nm: strip_width_nm?,
        warp_strip_nm: warp_strip_nm?,
        warp_yarn: warp_yarn.ok()?,
        warp_kind: warp_kind?,
        weft_kind: weft_kind?,
        fringe_nm: fringe_nm?,
        backing: form.ticked("backing"),
        strands_trade,
        unit_size: unit_size?,
        rugs_before: rugs_before?,
        home_minutes: home_minutes?,
        sample_length_nm,
        sample_rows,
        sample_mass_mg,
    };
    let bands = bands?;
    let tried = RugInput::of(&fields, &bands, units)
        .map_err(CantPlan::from)
        .and_then(|planned| planned.plan(units).map_err(CantPlan::from));
    if let Err(refusal) = tried {
        let (field, message) = at_field(&refusal, &fields, units);
        form.add_error(&field, message);
    }
    form.is_ok().then_some((fields, bands))
}

fn read_size(form: &mut Form, sizes: &[FrameSize]) -> Option<FrameSize> {
    let chosen = form.value("size").to_owned();
    if let Some(size) = sizes.iter().find(|s| size_word(s) == chosen) {
        return Some(size.clone());
    }
    let (own, nail_rows) = read_sizes(form)?;
    let (span_nm, width_nm, nails, pitch_nm) = (own.span, own.width, i64::from(own.nails), own.pitch);
    Some(FrameSize { span_nm, width_nm, nails, pitch_nm, nail_rows, frames: 0 })
}

fn read_winding(form: &mut Form) -> Option<Winding> {
    let every = form.optional("every", 1, |form| {
        form.count("every", "The number of nails", 1..=i64::from(Winding::MOST_EVERY))
    });
    let extra_wraps = form.optional("extra_wraps", 0, |form| {
        form.count("extra_wraps", "The extra turns round each nail", 0..=i64::from(Winding::MOST_WRAPS))
    });
    let typed = form.value("left_out").to_owned();
    let named = typed.split([',', ';', '\n']).map(str::trim).filter(|nail| !nail.is_empty());
    let left_out = match named.map(Nail::from_str).collect::<Result<Vec<_>, _>>() {
        Ok(mut nails) => {
            nails.sort_unstable();
            nails.dedup();
            Some(nails)
        }
        Err(refusal) => {
            form.add_error("left_out", refusal);
            None
        }
    };
    Some(Winding {
        doubled: form.ticked("doubled"),
        every: every? as u32,
        left_out: left_out?,
        extra_wraps: extra_wraps? as u32,
    })
}

/// The yarn of the warp; none where none of its fields is filled in, an error where one can't be read.
fn read_yarn(form: &mut Form) -> Result<Option<Yarn>, ()> {
    if ["warp_yarn_length", "warp_yarn_mass", "warp_yarn_thickness"].iter().all(|name| form.is_empty(name)) {
        return Ok(None);
    }
    let length = form.length("warp_yarn_length", Yarn::MIN_LENGTH, Yarn::MAX_LENGTH);
    let mass = form.mass("warp_yarn_mass", Yarn::MIN_MASS, Yarn::MAX_MASS);
    let thickness = form.optional("warp_yarn_thickness", None, |form| {
        form.length("warp_yarn_thickness", Yarn::MIN_THICKNESS, Yarn::MAX_THICKNESS).map(Some)
    });
    let yarn = length.zip(mass).zip(thickness);
    yarn.map(|((length, mass), thickness)| Some(Yarn { length, mass, thickness })).ok_or(())
}

type SampleFields = (Option<Length>, Option<i64>, Option<Mass>);

fn read_sample(form: &mut Form) -> Option<SampleFields> {
    if ["sample_length", "sample_rows", "sample_mass"].iter().all(|name| form.is_empty(name)) {
        return Some((None, None, None));
    }
    let length = form.length("sample_length", Length::inches(0.5), Length::inches(144.0));
    let rows = form.count("sample_rows", "Rows in the sample", 1..=2000);
    let mass = form.mass("sample_mass", Mass::from_grams(1.0), Mass::from_grams(20_000.0));
    Some((Some(length?), Some(rows?), Some(mass?)))
}

fn read_bands(form: &mut Form) -> Option<Vec<RugBand>> {
    let mut bands = Vec::new();
    let mut whole = true;
    for n in 1..=MOST_BANDS {
        let height = format!("band-{n}-height");
        if form.is_empty(&height) {
            continue;
        }
        let height = form.length(&height, Length::inches(0.125), Length::inches(144.0));
        let [first, other] = ["first", "other"].map(|strand| {
            let field = format!("band-{n}-{strand}");
            let colour = read_colour(form.value(&field));
            if colour.is_none() {
                form.add_error(&field, format!("Choose the {strand} strand’s colour in band {n}."));
            }
            colour
        });
        let strip = format!("band-{n}-strip");
        let strip = form.optional(&strip, None, |form| {
            form.length(&strip, Length::inches(0.25), Length::inches(6.0)).map(Some)
        });
        let chart = read_chart(form, n);
        if let (Ok(Some(_)), Some(first), Some(other)) = (&chart, &first, &other)
            && first == other
        {
            form.add_error(
                &format!("band-{n}-chart"),
                format!("The chart of band {n} needs two colours: both strands are {}.", first.name),
            );
        }
        match (height, first, other, strip, chart) {
            (Some(height), Some(first), Some(other), Some(strip), Ok(chart)) => {
                bands.push(RugBand { height, first, other, strip, chart });
            }
            _ => whole = false,
        }
    }
    if whole && bands.is_empty() {
        form.add_error("band-1-height", "A rug has one band at least: give its height.");
        return None;
    }
    whole.then_some(bands)
}

/// The chart of a band, moved as asked; none where none is typed, an error where it can't be read.
fn read_chart(form: &mut Form, n: usize) -> Result<Option<Chart>, ()> {
    let name = format!("band-{n}-chart");
    if form.is_empty(&name) {
        return Ok(None);
    }
    let chart = Chart::parse(form.value(&name)).map_err(|refusal| form.add_error(&name, refusal)).ok();
    let [right, up] =
        [("right", "Units to the right", Chart::MOST_ACROSS), ("up", "Rows up", Chart::MOST_ROWS)].map(
            |(part, what, most)| {
                let name = format!("band-{n}-{part}");
                form.optional(&name, 0, |form| form.count(&name, what, 0..=most as i64))
            },
        );
    let read = chart.zip(right).zip(up);
    read.map(|((chart, right), up)| Some(chart.moved(right, up))).ok_or(())
}

/// Which field a refusal belongs to.
fn at_field(refusal: &CantPlan, fields: &RugFields, units: Units) -> (String, String) {
    let message = refusal.to_string();
    let name = match refusal {
        CantPlan::Frame(FrameError::Span(_)) => "span",
        CantPlan::Frame(FrameError::Width(_)) => "width",
        CantPlan::Frame(FrameError::Nails { .. }) => "nails",
        CantPlan::Frame(_) => "pitch",
        CantPlan::Spec(SpecError::Band { number, .. }) => return (format!("band-{number}-height"), message),
        CantPlan::Spec(SpecError::Length(_)) => {
            let most = fields.span_nm.show(units);
            let text = format!(
                "The bands together make the rug’s length, and it can’t be longer than the span of {most}. {message}"
            );
            return ("band-1-height".into(), text);
        }
        CantPlan::Spec(SpecError::BandsMisfit { .. } | SpecError::TooManyBands { .. }) => "band-1-height",
        CantPlan::Spec(SpecError::StripWidth(_) | SpecError::StripTooShort { .. }) => "strip_width",
        CantPlan::Spec(SpecError::Jammed(_)) if fields.warp_yarn.is_some() => "warp_yarn_thickness",
        CantPlan::Spec(SpecError::WarpStrip(_) | SpecError::Jammed(_)) => "warp_strip",
        CantPlan::Spec(SpecError::WarpYarn(YarnError::Length(_))) => "warp_yarn_length",
        CantPlan::Spec(SpecError::WarpYarn(YarnError::Thickness(_))) => "warp_yarn_thickness",
        CantPlan::Spec(SpecError::WarpYarn(_)) => "warp_yarn_mass",
        CantPlan::Spec(SpecError::UnitSize { .. }) => "unit_size",
        CantPlan::Spec(SpecError::Fringe(_)) => "fringe",
        CantPlan::Spec(SpecError::Backing(_)) => "backing",
        CantPlan::Spec(SpecError::Sample(_) | SpecError::Known(_)) => "sample_length",
        CantPlan::Spec(SpecError::Width(_)) if fields.making.woven_width_nm.is_some() => "woven_width",
        CantPlan::Spec(SpecError::Width(_)) => "width",
        CantPlan::Spec(SpecError::ChartInOneColour { number } | SpecError::NoSuchChart { number, .. }) => {
            return (format!("band-{number}-chart"), message);
        }
        CantPlan::Spec(SpecError::BandStrip { number, .. }) => {
            return (format!("band-{number}-strip"), message);
        }
        CantPlan::Spec(SpecError::Rows(refusal)) => rows_field(refusal),
        CantPlan::Spec(SpecError::Winding(WindingError::Every { .. })) => "every",
        CantPlan::Spec(SpecError::Winding(WindingError::Wraps { .. })) => "extra_wraps",
        CantPlan::Spec(SpecError::Winding(WindingError::NoSuchNail { .. })) => "left_out",
        CantPlan::Spec(SpecError::Winding(WindingError::TooFew { .. })) => "woven_width",
    };
    (name.into(), message)
}
