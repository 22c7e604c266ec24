//! A frame to build drawn as SVG text, black on white: members, nails, edge rods and the measures to mark by.
use super::rug_face::escape;
use crate::optimize::new_frame::{Corner, NewFrame, Wish};
use crate::units::{Length, Units};
use std::fmt::Write;

/// The drawing as one `<svg>` element with a title and a description, one unit a millimetre: presentation attributes only.
/// `id` must be like no other drawing's on the page.
pub fn svg(frame: &NewFrame, wish: &Wish, units: Units, id: &str) -> String {
    let id: String = id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    let (wide, high) = (frame.outside.0.mm(), frame.outside.1.mm());
    let timber = wish.timber.mm();
    let line = wide.max(high) / 400.0;
    let size = wide.max(high) / 32.0;
    let margin = size * 2.2;
    let mut out = String::new();
    // Writing to a string can't fail.
    let upright = match wish.corner {
        Corner::HalfLap => (0.0, high),
        Corner::Butt => (timber, high - timber * 2.0),
    };
    for x in [0.0, wide - timber] {
        member(&mut out, [x, upright.0, timber, upright.1], line);
    }
    for y in [0.0, high - timber] {
        member(&mut out, [0.0, y, wide, timber], line);
    }
    let rows = [timber / 2.0, high - timber / 2.0];
    for (row, y) in frame.rows.iter().zip(rows) {
        for place in row {
            let _ = write!(
                out,
                r#"<circle cx="{:.2}" cy="{y:.2}" r="{:.2}"/>"#,
                place.mm(),
                wish.nail.mm().max(line * 2.0) / 2.0
            );
        }
    }
    let over = (frame.rod.mm() - wish.span.mm()) / 2.0;
    let first = wish.clearance.mm() + timber;
    for x in [first, first + wish.width.mm()] {
        let (from, to) = (rows[0] - over, rows[1] + over);
        let _ = write!(
            out,
            r##"<path d="M{x:.1} {from:.1}V{to:.1}" stroke="#000000" stroke-width="{:.2}" stroke-dasharray="{:.1} {:.1}" fill="none"/>"##,
            line * 1.5,
            line * 6.0,
            line * 3.0
        );
    }
    // From outer nail to outer nail, both ways, as they are measured to see whether the frame is square.
    let [upper, lower] = &frame.rows;
    for (from, to) in [(upper.first(), lower.last()), (upper.last(), lower.first())] {
        let (Some(from), Some(to)) = (from, to) else { continue };
        let _ = write!(
            out,
            r##"<path d="M{:.2} {:.2}L{:.2} {:.2}" stroke="#000000" stroke-width="{:.2}" fill="none"/>"##,
            from.mm(),
            rows[0],
            to.mm(),
            rows[1],
            line * 0.6
        );
    }
    // The centre of each end member, a small triangle at its outer edge.
    let (x, half) = (wide / 2.0, size * 0.35);
    for (y, inwards) in [(0.0, half), (high, -half)] {
        let (left, base) = (x - half, half * 2.0);
        let _ = write!(out, r#"<path d="M{left:.2} {y:.2}h{base:.2}L{x:.2} {:.2}z"/>"#, y + inwards);
    }
    let text = |length: Length| escape(&length.show(units));
    let middle = (wide / 2.0, high / 2.0);
    let mut label = |x: f64, y: f64, words: String| {
        let _ = write!(
            out,
            r##"<text x="{x:.1}" y="{y:.1}" font-size="{size:.1}" text-anchor="middle" font-family="sans-serif" paint-order="stroke" stroke="#ffffff" stroke-width="{:.1}">{words}</text>"##,
            size * 0.3
        );
    };
    label(middle.0, -size, format!("{} outside", text(frame.outside.0)));
    label(middle.0, middle.1 - size * 0.5, format!("width {}", text(wish.width)));
    label(middle.0, middle.1 + size, format!("span {}", text(wish.span)));
    let ways = frame.nail_diagonals(wish.span).map(|both| both.map(|way| escape(&way.show_fine(units))));
    let ways = ways.map_or_else(String::new, |[one, other]| {
        if one == other { format!("both diagonals {one}") } else { format!("diagonals {one} and {other}") }
    });
    label(middle.0, middle.1 + size * 2.5, ways);
    let told = format!(
        "{} × {} outside; {} nails in the upper row, {} in the lower one, {} apart; two rods, dashed.",
        frame.outside.0.show(units),
        frame.outside.1.show(units),
        frame.rows[0].len(),
        frame.rows[1].len(),
        frame.pitch.show(units),
    );
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="{:.1} {:.1} {:.1} {:.1}" role="img" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">The frame</title><desc id="{id}-d">{}</desc><rect x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}" fill="#ffffff"/><g fill="#000000">{out}</g></svg>"##,
        -margin,
        -margin,
        wide + margin * 2.0,
        high + margin * 2.0,
        escape(&told),
        -margin,
        -margin,
        wide + margin * 2.0,
        high + margin * 2.0,
    )
}

fn member(out: &mut String, [x, y, wide, high]: [f64; 4], line: f64) {
    let _ = write!(
        out,
        r##"<rect x="{x:.1}" y="{y:.1}" width="{wide:.1}" height="{high:.1}" fill="#ffffff" stroke="#000000" stroke-width="{line:.2}"/>"##
    );
}
