//! A rug in words, as the record keeps it: what changed between two of them is told to those who hold an older paper.
use serde_json::{Value, json};

use super::fields::{RugBand, RugFields};
use crate::store::woven_from_word;
use crate::units::{Length, Units};

/// A rug's fields as the record keeps them, each in words.
pub(in crate::store) fn audit_snapshot(f: &RugFields, bands: &[RugBand]) -> Value {
    let length = |length: Length| length.exact(Units::Inches);
    let band = |band: &RugBand| {
        let other = if band.first == band.other { String::new() } else { format!("/{}", band.other.name) };
        let strip = band.strip.map_or_else(String::new, |strip| format!(" in {} strips", length(strip)));
        let chart = band.chart.as_ref().map_or_else(String::new, |chart| {
            let moved = match chart.moved_by() {
                [0, 0] => String::new(),
                [right, up] => format!(", moved {right} right and {up} up"),
            };
            format!(" by the chart {}{moved}", chart.lines().join("/"))
        });
        format!("{} {}{other}{strip}{chart}", length(band.height), band.first.name)
    };
    json!({
        "name": f.name,
        "bands": bands.iter().map(band).collect::<Vec<_>>().join(", "),
        "span": length(f.span_nm),
        "width": length(f.width_nm),
        "nails": f.nails,
        "pitch": f.pitch_nm.map_or("spread evenly".to_owned(), length),
        "nail rows": f.making.nail_rows,
        "woven width": f.making.woven_width_nm.map_or(String::new(), length),
        "winding": f.making.winding,
        "woven from": woven_from_word(f.making.woven_from),
        "strips": length(f.strip_width_nm),
        "strips of the warp": f.warp_strip_nm.map_or(String::new(), length),
        "yarn of the warp": f.warp_yarn.map_or(String::new(), |yarn| yarn.show(Units::Metric)),
        "warp": f.warp_kind.facts().title,
        "weft": f.weft_kind.facts().title,
        "fringe": length(f.fringe_nm),
        "backing": f.backing,
        "strands trade places": f.strands_trade,
        "strands to a unit": f.unit_size,
        "rugs before": f.rugs_before,
        "minutes at home": f.home_minutes,
        "sample": f.sample_length_nm.zip(f.sample_rows).map_or(String::new(), |(woven, rows)| {
            format!("{}, {rows} rows", length(woven))
        }),
    })
}
