//! Bars drawn as they are cut, as SVG text, black on white: one row for bars that are cut alike.
use super::rug_face::escape;
use crate::optimize::bins::Bars;
use crate::units::{Length, Units};
use std::fmt::Write;

/// Height of a bar's row in the drawing, and of the bar itself, in its own units; the longest bar is 1000 wide.
const ROW: f64 = 64.0;
const BAR: f64 = 34.0;
const WIDE: f64 = 1000.0;
/// Room for how many bars there are, left of them.
const LEFT: f64 = 90.0;

/// The drawing as one `<svg>` element with a title and a description: presentation attributes only. `stock` are the
/// lengths that `bars` count theirs by; what is left of a bar is hatched. `id` must be like no other drawing's on the page.
pub fn svg(bars: &[Bars], stock: &[Length], kerf: Length, units: Units, id: &str) -> String {
    let id: String = id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    let longest = bars.iter().map(|bars| stock[bars.stock]).max().unwrap_or(Length::from_nm(1));
    let across = |length: Length| length.ratio(longest) * WIDE;
    let (mut out, mut told) = (String::new(), String::new());
    // Writing to a string can't fail.
    for (row, bars) in bars.iter().enumerate() {
        let whole = stock[bars.stock];
        let (y, middle) = (row as f64 * ROW + 8.0, row as f64 * ROW + 8.0 + BAR / 2.0 + 7.0);
        let cuts: Vec<String> = bars.cuts.iter().map(|cut| cut.show(units)).collect();
        let _ = write!(told, " {} of {}: {}.", bars.count, whole.show(units), cuts.join(", "));
        let _ = write!(
            out,
            r##"<text x="0" y="{middle:.1}" font-size="24">{} ×</text><rect x="{LEFT}" y="{y:.1}" width="{:.1}" height="{BAR}" fill="url(#{id}-h)" stroke="#000000" stroke-width="1.5"/>"##,
            bars.count,
            across(whole),
        );
        let mut at = Length::ZERO;
        for (cut, words) in bars.cuts.iter().zip(&cuts) {
            let (x, wide) = (LEFT + across(at), across(*cut));
            let _ = write!(
                out,
                r##"<rect x="{x:.1}" y="{y:.1}" width="{wide:.1}" height="{BAR}" fill="#ffffff" stroke="#000000" stroke-width="1.5"/><text x="{:.1}" y="{middle:.1}" font-size="20" text-anchor="middle">{}</text>"##,
                x + wide / 2.0,
                escape(words),
            );
            at = at + *cut + kerf;
        }
    }
    let high = bars.len() as f64 * ROW;
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="-4 0 {:.1} {high:.1}" role="img" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">How the bars are cut</title><desc id="{id}-d">{}</desc><defs><pattern id="{id}-h" width="10" height="10" patternUnits="userSpaceOnUse"><rect width="10" height="10" fill="#ffffff"/><path d="M0 10L10 0" stroke="#000000" stroke-width="1"/></pattern></defs><rect x="-4" y="0" width="{:.1}" height="{high:.1}" fill="#ffffff"/><g font-family="sans-serif" fill="#000000">{out}</g></svg>"##,
        LEFT + WIDE + 8.0,
        escape(told.trim()),
        LEFT + WIDE + 8.0,
    )
}
