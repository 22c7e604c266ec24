//! The sewing plan: how the panels of a rug lie, and in which order they are sewn together.
use super::Reader;
use super::document::{Block, Cell, Column, Document, Table};
use crate::drawing::figure::{Anchor, Figure, outline};
use crate::optimize::panels::order::{Runs, Seam, seams};
use crate::optimize::panels::sewing::{Alike, Sewing};
use crate::optimize::panels::{Arrangement, Stitch};
use crate::planning::finish::whip_stitch;
use crate::services::guide::number;
use crate::units::{Length, Units};

/// How large the layout is drawn at most.
const DRAWN: [f64; 2] = [150.0, 105.0];
/// How many thin lines stand for the rows of a panel.
const LINES: u32 = 8;

/// Of a layout; `query` is what was asked on the page that found it.
pub fn sewing(reader: &Reader, arrangement: &Arrangement, alike: &[Alike], query: &str) -> Document {
    let units = reader.units;
    let size = format!("{} × {}", arrangement.size.width.show(units), arrangement.size.length.show(units));
    let count = arrangement.panels.len();
    let panels = if count == 1 { "1 panel".to_owned() } else { format!("{count} panels") };
    let path = format!("/rugs/any-size?{query}");
    let mut document = reader.document("Sewing plan", format!("{panels}, {size}"), &path, "the layout");
    // The question may be longer than a code holds.
    if path.len() > 600 {
        document.link = None;
    }
    let sewing = Sewing::of(arrangement);
    document.blocks.push(Block::Facts(vec![
        ["Seams".into(), sewing.seam.show(units), "all together".into()],
        [
            "Strip to sew with".into(),
            sewing.strip.show_long(units),
            format!("whip stitched every {}", Stitch::STRIP.pitch.show(units)),
        ],
        [
            "Or thread".into(),
            sewing.thread.show_long(units),
            format!("whip stitched every {}", Stitch::THREAD.pitch.show(units)),
        ],
    ]));
    document.blocks.push(Block::Figure(layout(arrangement, units)));
    document.blocks.push(Block::Heading("Panels".into()));
    let row = |one: &Alike| {
        let numbers: Vec<String> = one.numbers.iter().map(ToString::to_string).collect();
        let turned: Vec<String> = one
            .numbers
            .iter()
            .filter(|number| arrangement.panels[**number - 1].turned)
            .map(ToString::to_string)
            .collect();
        let lies =
            if turned.is_empty() { "upright".to_owned() } else { format!("turned: {}", turned.join(", ")) };
        vec![
            Cell::from(numbers.join(", ")),
            format!("{} × {}", one.woven.width.show(units), one.woven.length.show(units)).into(),
            lies.into(),
            Cell::ROOM,
        ]
    };
    document.blocks.push(Block::Table(Table {
        name: "Panels that are woven alike".into(),
        columns: vec![
            Column::words("Panels"),
            Column::words("Woven"),
            Column::words("Lies"),
            Column::room("Measured, off the frame", 45.0),
        ],
        rows: alike.iter().map(row).collect(),
        high: 8.0,
    }));
    if count > 1 {
        document.blocks.push(Block::Heading("In this order".into()));
        order(&mut document, arrangement, units);
    }
    document.blocks.push(Block::Text(format!(
        "Backing, if any: {} × {}, slip stitched on with {} of thread once the panels are together (guide, step {}).",
        sewing.backing.width.show(units),
        sewing.backing.length.show(units),
        sewing.backing_thread.show_long(units),
        number("backing")
    )));
    document
}

/// The seams one by one, or how to go about it where no straight seam parts the panels.
fn order(document: &mut Document, arrangement: &Arrangement, units: Units) {
    document.blocks.push(Block::Text(
        format!(
            "Lay the panels out face up as drawn and let them rest a day: off the frame they draw in. Pin or tie each seam at both \
         ends and the middle before sewing, ease what is longer, and keep the stitches slack enough to lie flat. A needle that \
         takes strip is large: push it away from the other hand. In each panel’s guide: step {}.",
            number("sew")
        ),
    ));
    let Some(seams) = seams(arrangement) else {
        document.blocks.push(Block::Text(
            "No seam runs straight across: begin with two panels that share a whole side, add the next at the corner that they \
             make, and leave the last stitches of each seam open until its neighbour is pinned."
                .into(),
        ));
        return;
    };
    let row = |(number, seam): (usize, &Seam)| {
        let side = |part: &[usize]| {
            let numbers: Vec<String> = part.iter().map(ToString::to_string).collect();
            numbers.join(" + ")
        };
        let Stitch { pitch, thickness, bite, tail } = Stitch::STRIP;
        let strip: Length = whip_stitch(seam.length, pitch, thickness, bite) + tail;
        vec![
            Cell::from(number.to_string()),
            format!("{} to {}", side(&seam.one), side(&seam.other)).into(),
            match seam.runs {
                Runs::Across => "across",
                Runs::Along => "along",
                Runs::Corner => "round the corner",
            }
            .into(),
            seam.length.show(units).into(),
            strip.show_long(units).into(),
            Cell::Tick,
        ]
    };
    document.blocks.push(Block::Table(Table {
        name: "Seams in the order of sewing".into(),
        columns: vec![
            Column::figures("Seam"),
            Column::words("Sew"),
            Column::words("Runs"),
            Column::figures("Long"),
            Column::figures("Strip, with tails"),
            Column::room("Done", 10.0),
        ],
        rows: (1..).zip(&seams).map(row).collect(),
        high: 7.5,
    }));
    if seams.iter().any(|seam| seam.runs == Runs::Corner) {
        document.blocks.push(Block::Text(
            "Panels that lie like a pinwheel, four round a fifth, have no seam straight across: the first seam holds a part of an \
             edge only, and the rest of that edge stays open until the last panel is sewn in, along its side, round the corner and \
             on."
                .into(),
        ));
    }
}

/// The panels as they lie, the start of the rug at the top; thin lines run as the rows do.
fn layout(arrangement: &Arrangement, units: Units) -> Figure {
    let (wide, high) = (arrangement.size.width.mm(), arrangement.size.length.mm());
    let scale = (DRAWN[0] / wide).min(DRAWN[1] / high);
    let mut told = vec!["The start of the rug is at the top".to_owned()];
    let mut figure = Figure { wide: wide * scale, high: high * scale, ..Figure::default() };
    for (number, panel) in (1..).zip(&arrangement.panels) {
        let [x, y, w, h] = [panel.left, panel.top, panel.width, panel.length].map(|l| l.mm() * scale);
        let size = format!("{} × {}", panel.width.show(units), panel.length.show(units));
        told.push(format!("{number}: {size}{}", if panel.turned { ", turned" } else { "" }));
        let rows = (1..LINES).map(|at| f64::from(at) / f64::from(LINES)).map(|at| {
            if panel.turned {
                [x + w * at, y + h * 0.06, x + w * at, y + h * 0.94]
            } else {
                [x + w * 0.06, y + h * at, x + w * 0.94, y + h * at]
            }
        });
        figure.rule(rows.collect(), 0.1, false);
        figure.rule(outline([x, y, w, h]).to_vec(), 0.6, false);
        let (points, middle) = ((w.min(h) * 0.9).clamp(9.0, 22.0), [x + w / 2.0, y + h / 2.0]);
        let half = points * 0.22;
        figure.areas.push(([middle[0] - half * 1.4, middle[1] - half, half * 2.8, half * 2.0], 255));
        figure.word([middle[0], middle[1] + points * 0.126], Anchor::Middle, number.to_string(), points);
    }
    figure.told = format!("{}.", told.join("; "));
    figure
}
