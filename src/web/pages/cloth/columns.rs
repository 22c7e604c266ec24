//! What is known of a bundle, field by field: how it is read at the scale, and the columns of the tables that come in and are
//! taken away. A new field has its place here once.
use jiff::tz::TimeZone;

use super::{Form, reading};
use crate::planning::cloth::Kind;
use crate::planning::colour::NAMED;
use crate::store::cloth::bundles::{Bundle, BundleFields, PLACE};
use crate::units::dates;
use crate::units::{Length, Units};
use crate::web::http::form::NOTE;

/// The longest word for where cloth came from.
pub(super) const SOURCE: usize = 40;

/// What is said of a bundle at the scale.
pub(super) fn fields(form: &mut Form) -> Option<BundleFields> {
    let kind = form.choice::<Kind>("kind", "the kind of cloth");
    let colour = reading::colour(form);
    let second = reading::second(form);
    let washed = match form.value("washed") {
        "yes" => Some(true),
        "no" => Some(false),
        _ => {
            form.add_error("washed", "Choose whether it is washed.");
            None
        }
    };
    let sheets = reading::sheets(form);
    let note = form.optional_text("note", "The note", NOTE);
    let source = form.optional_text("source", "Where it came from", SOURCE);
    let place = form.optional_text("place", "The place on the shelf", PLACE);
    let (colour_name, colour_hex) = colour?;
    let (kind, second, washed, sheets) = (kind?, second?, washed?, sheets?);
    Some(BundleFields {
        kind,
        colour_name,
        colour_hex,
        second,
        washed,
        sheets,
        note: note?,
        source: source?,
        place: place?,
    })
}

/// A column of a table that comes in.
pub(super) struct ColumnIn {
    pub name: &'static str,
    /// What it holds, for whoever fills it in.
    pub holds: &'static str,
    pub optional: bool,
    /// What stands in the example's row; the example leaves out a column without any.
    pub example: Option<&'static str>,
}

const fn column(name: &'static str, holds: &'static str, example: Option<&'static str>) -> ColumnIn {
    ColumnIn { name, holds, optional: true, example }
}

const fn needed(name: &'static str, holds: &'static str, example: &'static str) -> ColumnIn {
    ColumnIn { name, holds, optional: false, example: Some(example) }
}

/// The columns that are asked for.
pub(super) const IN: [ColumnIn; 17] = [
    needed("kind", "", "percale"),
    needed("colour", "", "Navy"),
    column("hex", "the colour as it looks: #22305a", Some("")),
    column("second_colour", "the other colour of a print or a stripe, in the same way", Some("White")),
    column("second_hex", "how that looks", Some("")),
    needed("weight", "as at the scale: 2 lb 3.5 oz, 2.22 lb, 1006 g or 1.006 kg", "2 lb 3.5 oz"),
    needed("washed", "yes or no", "yes"),
    column("sheets", "how many sheets", Some("1")),
    column("sheet_length", "length of one, with its unit: 96 in", Some("96 in")),
    column("sheet_width", "width of one, with its unit: 66 in", Some("66 in")),
    column("sheet_size", "measured, or label for the size before hemming", Some("measured")),
    column("sheet_hem", "hem at the foot, with its unit: 1 in", Some("1 in")),
    column("sheet_top_hem", "hem at the top, if wider: 4 in", Some("")),
    column("source", "where it came from in a word, such as hotel; no names of people", Some("hotel")),
    column("place", "where it lies on the shelf, in up to 24 characters: B 3, left", Some("B 3")),
    column("note", "anything else worth knowing", Some("An example: take this row out")),
    column(
        "tag",
        "a number that is on the tape already. Each bundle gets the next free number here; this one goes into its note.",
        None,
    ),
];

impl ColumnIn {
    /// What it holds; of kind and colour, all that there are.
    pub(super) fn words(&self) -> String {
        let listed = |names: Vec<&str>| names.join(", ");
        match self.name {
            "kind" => listed(Kind::ALL.into_iter().map(Kind::key).collect()),
            "colour" => {
                format!(
                    "{}; or any name, with its hex",
                    listed(NAMED.iter().map(|named| named.name).collect())
                )
            }
            _ => self.holds.to_owned(),
        }
    }
}

/// Columns whose cells go into the field of their name at the scale, as they stand.
pub(super) const AS_THEY_STAND: [&str; 2] = ["source", "place"];

/// For whom a table is written.
pub(super) type Local = (TimeZone, Units);

type Cell = fn(&Bundle, &Local) -> String;

fn size(length: Option<Length>, (_, units): &Local) -> String {
    length.map_or(String::new(), |length| length.exact(*units))
}

/// The columns of the shelf's table, each with its name and its cell.
pub(super) const OUT: [(&str, Cell); 21] = [
    ("tag", |b, _| b.tag.to_string()),
    ("kind", |b, _| b.kind.key().to_owned()),
    ("colour", |b, _| b.colour_name.clone()),
    ("hex", |b, _| b.colour_hex.to_string()),
    ("family", |b, _| b.colour_family.key().to_owned()),
    ("state", |b, _| b.state.to_string()),
    ("balance_g", |b, _| b.balance_mg.grams().to_string()),
    ("weighed_in_g", |b, _| b.first_mg.grams().to_string()),
    ("sheets", |b, _| b.sheets.map_or(String::new(), |count| count.to_string())),
    ("g_per_m2", |b, _| b.areal().map_or(String::new(), |areal| format!("{:.1}", areal.gsm()))),
    ("came_in", |b, (zone, _)| dates::stamp(b.made_at, zone)),
    ("note", |b, _| b.note.clone()),
    ("sheet_length", |b, local| size(b.sheet_length_nm, local)),
    ("sheet_width", |b, local| size(b.sheet_width_nm, local)),
    ("second_colour", |b, _| b.second_name.clone().unwrap_or_default()),
    ("second_hex", |b, _| b.second_hex.map_or(String::new(), |hex| hex.to_string())),
    ("source", |b, _| b.source.clone()),
    ("place", |b, _| b.place.clone()),
    ("sheet_size", |b, _| {
        let size = if b.sheet_size_labelled { reading::LABEL } else { "measured" };
        b.sheet_length_nm.map_or("", |_| size).to_owned()
    }),
    ("sheet_hem", |b, local| size(b.sheet_hem_nm, local)),
    ("sheet_top_hem", |b, local| size(b.sheet_top_hem_nm, local)),
];
