//! Papers of one rug that stand beside it: rows to tally while it is woven, a label when it is shown.
use super::document::{Block, Document};
use super::{Reader, RugPaper};
use crate::drawing::figure::{Anchor, Figure, outline};
use crate::planning::reading::{ReadingLine, lines};
use crate::services::guide::named;
use crate::services::rug_input::RugInput;
use crate::services::{Error, Result};
use crate::store::rugs::Rug;
use crate::units::isolated;

/// A box of the tally, the room between two fives, how far down the next line of boxes is, and how many fives stand side by side.
const BOX: f64 = 4.4;
const BETWEEN: f64 = 2.4;
const DOWN: f64 = 9.2;
const FIVES: u32 = 7;

/// A rug's rows, a box each in fives, to be crossed as they are woven; from each end where it is woven from both.
pub fn tally(paper: &RugPaper, reader: &Reader) -> Document {
    let RugPaper { rug, known, .. } = paper;
    let (plan, progress) = (&known.plan, &known.status.progress);
    let under = format!("{}: {}, {} rows", isolated(&rug.weaver), isolated(&rug.fields.name), plan.weft.rows);
    let mut document = reader.document("Row tally", under, &format!("/rugs/{}", rug.id), "the rug’s page");
    document.foot = format!("Revision {} of the plan, printed {}.", rug.revision, reader.printed());
    document.blocks.push(Block::Text(
        format!(
            "Cross a box for each row, both strands once across. The number is that of the last row of its five. Boxes that are \
             crossed already are woven by the log. Counting: {}; a new colour: {}.",
            named("push-down"),
            named("new-colour")
        ),
    ));
    let colours = paper.colours();
    let name = |colour: u16| isolated(&colours[usize::from(colour)]);
    let half = plan.pattern.first_half();
    let mut before = None;
    for line in lines(&plan.pattern) {
        if plan.pattern.joint().is_some() && before != Some(line.from_far_end) {
            document.blocks.push(Block::Heading(
                if line.from_far_end { "The frame turned: from the far end" } else { "From the start" }
                    .into(),
            ));
        }
        before = Some(line.from_far_end);
        let [first, other] = line.colours;
        let strands =
            if first == other { name(first) } else { format!("{} and {}", name(first), name(other)) };
        let strip = line.strip.map_or_else(String::new, |w| format!(", strips of {}", w.show(reader.units)));
        let says = format!(
            "{strands}{strip}: rows {}–{}, to {}",
            line.first,
            line.last,
            line.until.show(reader.units)
        );
        // Rows of the second half are counted anew, those woven are not.
        let woven = progress.rows.saturating_sub(if line.from_far_end { half } else { 0 });
        document.blocks.push(Block::Figure(fives(&line, &says, woven)));
    }
    document
}

/// The rows of a line as boxes in fives, those woven crossed. A five is the same five whichever colour it begins in: it ends at
/// a row that five goes into.
fn fives(line: &ReadingLine, says: &str, woven: u32) -> Figure {
    let five = BOX * 5.0 + BETWEEN;
    let head = 5.6;
    let begins = (line.first - 1) / 5;
    let groups = (line.last - 1) / 5 - begins + 1;
    let mut figure = Figure {
        wide: f64::from(FIVES) * five,
        high: head + f64::from(groups.div_ceil(FIVES)) * DOWN,
        told: format!("{says}: a box for each row, in fives"),
        ..Figure::default()
    };
    figure.word([0.0, 4.0], Anchor::Start, says, 11.0);
    let mut crosses = Vec::new();
    for row in line.first..=line.last {
        let group = (row - 1) / 5 - begins;
        let x = f64::from(group % FIVES) * five + f64::from((row - 1) % 5) * BOX;
        let y = head + f64::from(group / FIVES) * DOWN;
        figure.rule(outline([x, y, BOX, BOX]).to_vec(), 0.25, false);
        if row <= woven {
            crosses.push([x, y, x + BOX, y + BOX]);
            crosses.push([x + BOX, y, x, y + BOX]);
        }
        if row % 5 == 0 || row == line.last {
            figure.word([x + BOX, y + BOX + 2.9], Anchor::End, row.to_string(), 7.5);
        }
    }
    figure.rule(crosses, 0.25, false);
    figure
}

/// What stands beside each of these rugs when they are shown: a card for each, to cut out.
pub fn exhibition(reader: &Reader, rugs: &[Rug]) -> Result<Document> {
    let mut document = Document {
        title: "Exhibition labels".into(),
        foot: format!("{}, printed {}.", isolated(&reader.workroom), reader.printed()),
        ..Document::default()
    };
    for rug in rugs {
        document.blocks.push(label(reader, rug)?);
    }
    Ok(document)
}

fn label(reader: &Reader, rug: &Rug) -> Result<Block> {
    let fault = |e: String| Error::Fault(format!("rug {} can't be planned: {e}", rug.id));
    let planned = RugInput::of(&rug.fields, &rug.bands, reader.units).map_err(|e| fault(e.to_string()))?;
    let plan = planned.plan(reader.units).map_err(|e| fault(e.to_string()))?;
    let (warp, weft) = (
        rug.fields.warp_kind.facts().title.to_lowercase(),
        rug.fields.weft_kind.facts().title.to_lowercase(),
    );
    let cloth = if rug.fields.warp_yarn.is_some() {
        format!("{weft}, on a warp of bought yarn")
    } else if warp == weft {
        warp
    } else {
        format!("{warp} and {weft}")
    };
    let colours: Vec<String> =
        rug.colours().iter().map(|colour| isolated(&colour.name.to_lowercase())).collect();
    let place = match &rug.term {
        Some(term) => format!("{}, {}", isolated(&reader.workroom), isolated(term)),
        None => isolated(&reader.workroom),
    };
    Ok(Block::Card(
        isolated(&rug.fields.name),
        vec![
            isolated(&rug.weaver),
            format!(
                "Rag rug, twined by hand on a nail frame; {} × {}",
                plan.width.show(reader.units),
                plan.length.show(reader.units)
            ),
            format!("Second-hand cloth ({cloth}): {}", colours.join(", ")),
            format!("{} rows over {} units of warp", plan.weft.rows, plan.warp.units),
            place,
        ],
    ))
}
