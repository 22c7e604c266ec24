//! A rug of panels drawn as SVG text: seams, panel numbers and which way the rows run, black on white.
use super::rug_face::escape;
use crate::optimize::panels::Arrangement;
use crate::units::{Length, Units};
use std::fmt::Write;

/// How many thin lines stand for the rows of a panel.
const LINES: u32 = 8;

/// The drawing as one `<svg>` element with a title and a description, one unit a millimetre: presentation attributes only.
/// The start of the rug is at the top; thin lines run as the rows do. `names` are the sizes' names; `id` must be like no
/// other drawing's on the page.
pub fn svg(arrangement: &Arrangement, names: &[String], units: Units, id: &str) -> String {
    let id: String = id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    let (wide, high) = (arrangement.size.width.mm(), arrangement.size.length.mm());
    let line = wide.max(high) / 300.0;
    let [width, length, seam] =
        [arrangement.size.width, arrangement.size.length, arrangement.seam].map(|l| l.show(units));
    let mut told = format!("{width} × {length}, {seam} of seam.");
    let mut out = String::new();
    let mut marks = String::new();
    // Writing to a string can't fail.
    for (panel, number) in arrangement.panels.iter().zip(1..) {
        let [x, y, w, h] = [panel.left, panel.top, panel.width, panel.length].map(Length::mm);
        let name = names.get(panel.size).map_or("", String::as_str);
        let [across, along] = [panel.width, panel.length].map(|l| l.show(units));
        let turned = if panel.turned { ", turned" } else { "" };
        let _ = write!(told, " {number}: {name}, {across} × {along}{turned}.");
        for at in (1..LINES).map(|at| f64::from(at) / f64::from(LINES)) {
            let _ = if panel.turned {
                write!(marks, "M{:.1} {:.1}V{:.1}", x + w * at, y + h * 0.08, y + h * 0.92)
            } else {
                write!(marks, "M{:.1} {:.1}H{:.1}", x + w * 0.08, y + h * at, x + w * 0.92)
            };
        }
        let size = w.min(h) / 5.0;
        let _ = write!(
            out,
            r##"<rect x="{x:.1}" y="{y:.1}" width="{w:.1}" height="{h:.1}" fill="none" stroke="#000000" stroke-width="{:.2}"/><circle cx="{cx:.1}" cy="{cy:.1}" r="{size:.1}" fill="#ffffff"/><text x="{cx:.1}" y="{:.1}" font-size="{size:.1}" font-family="sans-serif" text-anchor="middle" fill="#000000">{number}</text>"##,
            line * 2.0,
            y + h / 2.0 + size * 0.36,
            cx = x + w / 2.0,
            cy = y + h / 2.0,
        );
    }
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="{:.1} {:.1} {:.1} {:.1}" role="img" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">The rug's panels</title><desc id="{id}-d">{}</desc><rect x="0" y="0" width="{wide:.1}" height="{high:.1}" fill="#ffffff"/><path d="{marks}" stroke="#000000" stroke-width="{:.2}" fill="none"/>{out}</svg>"##,
        -line,
        -line,
        wide + line * 2.0,
        high + line * 2.0,
        escape(&told),
        line / 2.0,
    )
}
