//! What labels say: tags for bundles and frames, care labels for rugs.
use super::Reader;
use crate::planning::frame::size_words;
use crate::services::rug_input::{CantPlan, RugInput};
use crate::services::{Error, Result};
use crate::store::Read;
use crate::store::cloth::bundles::{Bundle, BundleState};
use crate::store::cloth::shelf::ShelfFilter;
use crate::store::frames::Frame;
use crate::store::rugs::Rug;
use crate::units::{Length, dates, isolated};

/// What stands on one label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// In big type.
    pub big: String,
    /// Below it, as many lines as fit.
    pub lines: Vec<String>,
    /// A last line that is left out first where room is short.
    pub spare: Option<String>,
    /// Where its code leads; none without one.
    pub link: Option<String>,
}

/// The tags of bundles that are not used up: in one state or any, from one number to another.
pub async fn bundle_labels(
    read: &mut Read,
    reader: &Reader,
    state: Option<BundleState>,
    (from, to): (Option<i64>, Option<i64>),
) -> Result<Vec<Label>> {
    let filter = ShelfFilter { state, ..ShelfFilter::default() };
    let mut found = read.bundles(&filter, i64::MAX, 0).await?;
    found.retain(|bundle| from.is_none_or(|from| bundle.tag >= from) && to.is_none_or(|to| bundle.tag <= to));
    found.sort_by_key(|bundle| bundle.tag);
    let label = |bundle: &Bundle| {
        let second = bundle.second().map_or_else(String::new, |(name, _)| format!(" and {name}"));
        let strips = bundle
            .strip_width_nm
            .map_or_else(String::new, |wide| format!(", strips of {}", wide.show(reader.units)));
        let place = Some(isolated(&bundle.place)).filter(|place| !place.is_empty());
        // A bundle gets lighter, its tag doesn't change: the weight says of when it is.
        let came = dates::short_day(bundle.made_at.0.to_zoned_datetime(reader.wall.zone.clone()).date());
        let lines = [
            format!("{}{second}", isolated(&bundle.colour_name)),
            format!("{}{strips}", bundle.kind.facts().title),
            format!("{} on {came}", bundle.first_mg.show(reader.units)),
        ];
        Label {
            big: bundle.tag.to_string(),
            lines: lines.into_iter().chain(place).collect(),
            spare: None,
            link: Some(format!("{}/b/{}", reader.origin, bundle.tag)),
        }
    };
    Ok(found.iter().map(label).collect())
}

/// The tags of all frames that are in use, or of the one that has this tag.
pub async fn frame_labels(read: &mut Read, reader: &Reader, tag: Option<&str>) -> Result<Vec<Label>> {
    let frames = read.frames().await?;
    let wanted =
        frames.iter().filter(|frame| !frame.retired && tag.is_none_or(|tag| frame.fields.tag == tag));
    let label = |frame: &Frame| {
        let f = &frame.fields;
        Label {
            big: f.tag.clone(),
            lines: vec![size_words(f.width_nm, f.span_nm, f.nails, reader.units)],
            spare: Some(isolated(&reader.workroom)),
            link: Some(format!("{}/frames/{}", reader.origin, frame.id)),
        }
    };
    Ok(wanted.map(label).collect())
}

/// The care labels of these rugs, one each.
pub fn care_labels(reader: &Reader, rugs: &[Rug]) -> Result<Vec<Label>> {
    rugs.iter().map(|rug| care_label(reader, rug)).collect()
}

fn care_label(reader: &Reader, rug: &Rug) -> Result<Label> {
    let fault = |e: CantPlan| Error::Fault(format!("rug {} can't be planned: {e}", rug.id));
    let planned = RugInput::of(&rug.fields, &rug.bands, reader.units).map_err(|e| fault(e.into()))?;
    let plan = planned.plan(reader.units).map_err(|e| fault(e.into()))?;
    let (warp, weft) = (rug.fields.warp_kind.facts().title, rug.fields.weft_kind.facts().title);
    let cloth = if rug.fields.warp_yarn.is_some() {
        format!(
            "Warp of bought yarn; weft rag strips of {}, second-hand; fibres as far as known.",
            weft.to_lowercase()
        )
    } else if warp == weft {
        format!("Rag strips of {} warp and weft, second-hand; fibres as far as known.", warp.to_lowercase())
    } else {
        format!(
            "Rag strips: warp {}, weft {}, second-hand; fibres as far as known.",
            warp.to_lowercase(),
            weft.to_lowercase()
        )
    };
    let fringe = if rug.fields.fringe_nm > Length::ZERO { ", fringed" } else { "" };
    let backing = if rug.fields.backing {
        "Non-slip backing, which may hold latex."
    } else {
        "No backing: it slides on a smooth floor."
    };
    Ok(Label {
        big: rug.fields.name.clone(),
        lines: vec![
            format!(
                "{} × {}{fringe}. Woven by {}.",
                plan.width.show(reader.units),
                plan.length.show(reader.units),
                isolated(&rug.weaver)
            ),
            cloth,
            "Wash delicate and cool, in a bag. Reshape flat, dry on a line. No tumble dryer. Keep from fires and heaters."
                .into(),
            backing.into(),
        ],
        spare: None,
        link: None,
    })
}
