//! Papers of what the database keeps, from what `services` says of it.
use super::{
    ChangeTape, Coloured, Grid, Hatch, Label, Labels, LoanSlip, PaperError, PullSheet, ReadingCard, Size,
    Target, WallSheet, WarpCard,
};
use crate::services::paper_data::{Reader, RugPaper, Wall};
use crate::store::TermId;
use crate::store::cloth::promises::Promise;
use crate::store::loans::Loan;
use crate::units::dates;

type Pdf = Result<Vec<u8>, PaperError>;

fn hatches(paper: &RugPaper) -> Vec<Hatch> {
    paper.hatches().into_iter().map(Hatch::of).collect()
}

/// The warp cards of these rugs in one file; of one alone in large print when asked for.
///
/// # Errors
/// [`PaperError`] when it can't be written.
pub fn warp_cards(papers: &[RugPaper], reader: &Reader, size: Size, large: bool) -> Pdf {
    let printed = reader.printed();
    let texts: Vec<_> =
        papers.iter().map(|paper| (paper.steps(), paper.colours(), paper.link(reader))).collect();
    let looks: Vec<_> = papers.iter().map(|paper| (hatches(paper), paper.standing(reader.units))).collect();
    let cards: Vec<WarpCard<'_>> = papers
        .iter()
        .zip(&texts)
        .zip(&looks)
        .map(|((paper, (steps, colours, link)), (hatches, standing))| WarpCard {
            workroom: &reader.workroom,
            rug: &paper.rug,
            plan: &paper.known.plan,
            colours,
            hatches,
            standing,
            steps,
            promises: &paper.promises,
            link,
            printed: &printed,
            units: reader.units,
        })
        .collect();
    match cards.as_slice() {
        [one] => one.pdf(size, large),
        many => WarpCard::all(many, "Warp cards", size),
    }
}

/// A rug's change tape.
///
/// # Errors
/// [`PaperError`] when it can't be written.
pub fn change_tape(paper: &RugPaper, reader: &Reader, size: Size) -> Pdf {
    let RugPaper { rug, known, calendar, .. } = paper;
    let done = known.status.progress.rows;
    // What is woven already needs no arrow.
    let ahead: Vec<u32> = calendar.woven.iter().map(|(_, rows)| (*rows).max(done)).collect();
    let mut targets = Target::of(&known.plan, &ahead, |slot| calendar.woven[slot].0.clone());
    targets.retain(|target| target.rows > done);
    let foot = format!(
        "{}: {}, {}. Revision {} of the plan, printed {}.",
        reader.workroom,
        rug.fields.name,
        rug.weaver,
        rug.revision,
        reader.printed()
    );
    let tape = ChangeTape {
        name: &rug.fields.name,
        foot: &foot,
        plan: &known.plan,
        colours: &paper.colours(),
        hatches: &hatches(paper),
        targets: &targets,
        link: Some(&paper.link(reader)),
        units: reader.units,
    };
    tape.pdf(size)
}

/// A rug's reading card.
///
/// # Errors
/// [`PaperError`] when it can't be written.
pub fn reading_card(paper: &RugPaper, reader: &Reader, size: Size, large: bool) -> Pdf {
    let (colours, hatches) = (paper.colours(), hatches(paper));
    let card = ReadingCard {
        workroom: &reader.workroom,
        rug: &paper.rug,
        coloured: Coloured {
            plan: &paper.known.plan,
            colours: &colours,
            hatches: &hatches,
            units: reader.units,
        },
        standing: &paper.standing(reader.units),
        link: &paper.link(reader),
        printed: &reader.printed(),
    };
    card.pdf(size, large)
}

/// The pull sheet of these promises.
///
/// # Errors
/// [`PaperError`] when it can't be written.
pub fn pull_sheet(promises: &[Promise], reader: &Reader, size: Size) -> Pdf {
    let sheet = PullSheet {
        workroom: &reader.workroom,
        promises,
        link: &format!("{}/pull", reader.origin),
        printed: &reader.printed(),
        units: reader.units,
    };
    sheet.pdf(size)
}

/// A term's wall sheet.
///
/// # Errors
/// [`PaperError`] when it can't be written.
pub fn wall_sheet(wall: &Wall, reader: &Reader, term: TermId, size: Size) -> Pdf {
    let which = wall.revision.map_or("No timetable yet".into(), |n| format!("Timetable {n}"));
    let sheet = WallSheet {
        workroom: &reader.workroom,
        term: &wall.term,
        frames: &wall.frames,
        meetings: &wall.meetings,
        turns: &wall.turns,
        without: &wall.without,
        holds: wall.revision.is_some(),
        link: &format!("{}/terms/{term}/timetable", reader.origin),
        printed: &format!("{which}, printed {}.", reader.printed()),
    };
    sheet.pdf(size)
}

/// A loan's slip.
///
/// # Errors
/// [`PaperError`] when it can't be written.
pub fn loan_slip(loan: &Loan, reader: &Reader, size: Size) -> Pdf {
    let came = loan.taken_back_at.map(|at| dates::moment(at, &reader.wall));
    let slip = LoanSlip {
        workroom: &reader.workroom,
        loan,
        due: &dates::day(loan.due_on.0),
        went: &dates::moment(loan.handed_out_at, &reader.wall),
        came: came.as_deref(),
        link: &format!("{}/loans/{}", reader.origin, loan.id),
        printed: &reader.printed(),
        units: reader.units,
    };
    slip.pdf(size)
}

/// A sheet of care labels; one alone fills it.
///
/// # Errors
/// [`PaperError`] when it can't be written.
pub fn care_sheet(mut labels: Vec<Label>, size: Size) -> Pdf {
    let grid = Grid::plain(size, 2, 5);
    if let [one] = labels.as_slice() {
        labels = vec![one.clone(); (grid.across * grid.down) as usize];
    }
    Labels { title: "Care labels", labels: &labels, grid, skip: 0, edges: true }.pdf(size)
}
