//! The guide on paper: a booklet of a rug's steps, to be folded, and a page for the wall with the first row and the turn at the rod.
use super::document::{Block, Document, Sheets};
use super::{Reader, RugPaper};
use crate::drawing::guide::Drawings;
use crate::planning::AtRod;
use crate::planning::locking::stepping::BeginAt;
use crate::services::guide::{GuideStep, named, number, palette, steps};
use crate::units::isolated;

/// A rug's guide as a booklet: a cover with the list of steps, then a half page for each.
pub fn booklet(paper: &RugPaper, reader: &Reader, begin: BeginAt) -> Document {
    let RugPaper { rug, known, .. } = paper;
    let plan = &known.plan;
    let under = format!(
        "{}: {}, {} × {}, {} rows over {} units",
        isolated(&rug.weaver),
        isolated(&rug.fields.name),
        plan.width.show(reader.units),
        plan.length.show(reader.units),
        plan.weft.rows,
        plan.warp.units
    );
    let path = format!("/rugs/{}/guide", rug.id);
    let mut document =
        reader.document("The guide", under, &path, "the guide, and each row crossing by crossing");
    document.sheets = Sheets::Folded;
    document.foot = format!(
        "{}. Revision {} of the plan, printed {}.",
        isolated(&rug.fields.name),
        rug.revision,
        reader.printed()
    );
    let steps = steps(known, reader.units, begin);
    let listed = (1..).zip(&steps).map(|(number, step)| (format!("{number}"), step.title.to_owned()));
    document.blocks.push(Block::Heading("Steps".into()));
    document.blocks.push(Block::Notes(listed.collect()));
    document.blocks.push(Block::Text(
        "Where the work can hurt, its step says so. The workroom’s own rules, and people licensed for the matter, come first.".into(),
    ));
    for (number, step) in (1..).zip(steps) {
        document.blocks.push(Block::Page);
        document.blocks.extend(page(number, step));
    }
    document
}

/// A step's half page.
fn page(number: u32, step: GuideStep) -> Vec<Block> {
    let mut notes =
        vec![("Right".to_owned(), step.right.to_owned()), ("Wrong".to_owned(), step.wrong.to_owned())];
    notes.extend(step.caution.map(|caution| ("Take care".to_owned(), caution.to_owned())));
    let mut blocks = vec![
        Block::Heading(format!("{number}. {}", step.title)),
        Block::Figure(step.figure),
        Block::Text(step.does),
        Block::Notes(notes),
    ];
    if !step.numbers.is_empty() {
        let numbers = step.numbers.into_iter().map(|(what, value)| (what.to_owned(), isolated(&value)));
        blocks.push(Block::Notes(numbers.collect()));
    }
    blocks
}

/// The first row and the turn at the rod on one page, to be read from a metre away.
pub fn first_row_page(paper: &RugPaper, reader: &Reader, begin: BeginAt) -> Document {
    let RugPaper { rug, known, .. } = paper;
    let (plan, palette) = (&known.plan, palette(known));
    let drawn = Drawings { plan, palette: &palette, begin, afar: true };
    let near = &plan.warp.locking.near;
    let (rod, from_right) = if begin == BeginAt::Right { ("right", true) } else { ("left", false) };
    let open = match near.open().len() {
        0 => String::new(),
        1 => " One loop stays open: split the unit there.".to_owned(),
        open => format!(" {open} loops stay open: split the units there."),
    };
    let first = format!(
        "From the {rod} rod: {}. Cross between, through each nail’s loop.{open}",
        near.row().text(from_right)
    );
    let turn = match plan.pattern.at_rod {
        AtRod::Trade => "Round the rod both trade places: the one behind comes to the front.",
        AtRod::Keep => "Round the rod both keep their places: the one in front stays in front.",
    };
    Document {
        title: "First row".into(),
        link: Some((
            format!("{}/rugs/{}/stepper?row=1", reader.origin, rug.id),
            "the first row, crossing by crossing".into(),
        )),
        foot: format!(
            "{}. Revision {} of the plan, printed {}. {} and {}.",
            isolated(&rug.fields.name),
            rug.revision,
            reader.printed(),
            named("first-row").replace("step", "steps"),
            number("rod-turn")
        ),
        sheets: Sheets::Wall,
        blocks: vec![
            Block::Figure(drawn.locking(0)),
            Block::Text(first),
            Block::Figure(drawn.rod_turn()),
            Block::Text(turn.into()),
        ],
        ..Document::default()
    }
}
