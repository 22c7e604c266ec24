//! The wall sheet: the term at a glance, frames down, meetings across, a box for each turn. Who has a frame now is hatched;
//! who has not been told yet has a thick edge and a mark.
use crate::drawing::wall::Turn;
use crate::pdf::PaperError;
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::hatch::Hatch;
use crate::pdf::layout::sheet::{Part, Size};
use crate::pdf::layout::text::{POINT, Weight, shortened, width, wrap};
use crate::units::isolated;

/// What the sheet is made of.
pub struct WallSheet<'a> {
    /// The workroom's name.
    pub workroom: &'a str,
    /// The term's name.
    pub term: &'a str,
    /// The frames' tags.
    pub frames: &'a [String],
    /// The meetings' days.
    pub meetings: &'a [String],
    /// The turns.
    pub turns: &'a [Turn],
    /// Where the live page is.
    pub link: &'a str,
    /// Which timetable this is, and the day it is printed.
    pub printed: &'a str,
}

/// The least a row is high, and the most.
const ROW: [f64; 2] = [9.0, 14.0];
const HEAD: f64 = 8.0;
const NAMES: f64 = 24.0;
const LABEL: f64 = 9.0;

impl WallSheet<'_> {
    /// The sheet as PDF, across the paper.
    ///
    /// # Errors
    /// [`PaperError`] when it can't be written.
    pub fn pdf(&self, size: Size) -> Result<Vec<u8>, PaperError> {
        self.paper(size)?.finish()
    }

    /// The sheet before it is written.
    ///
    /// # Errors
    /// [`PaperError::Qr`] when the link is too long.
    pub fn paper(&self, size: Size) -> Result<Paper, PaperError> {
        let text = format!("{}. {}", isolated(self.workroom), self.printed);
        let mut paper =
            Paper::new(&format!("Wall sheet, {}", self.term), size, true, 10.0, Foot { text, bars: false });
        paper.head(
            &isolated(self.workroom),
            &isolated(self.term),
            "Who has which frame when. Hatched: with them now. ◆ and a thick edge: not told yet.",
            Some((self.link, "the live timetable")),
        )?;
        let room = paper.bottom() - paper.y - HEAD;
        let row = (room / self.frames.len().max(1) as f64).clamp(ROW[0], ROW[1]);
        let mut from = 0;
        while from < self.frames.len() {
            let fits = ((paper.bottom() - paper.y - HEAD) / row).floor().max(1.0) as usize;
            let to = (from + fits).min(self.frames.len());
            self.part(&mut paper, from..to, row);
            from = to;
            if from < self.frames.len() {
                paper.page_break();
            }
        }
        Ok(paper)
    }

    fn part(&self, paper: &mut Paper, frames: std::ops::Range<usize>, row: f64) {
        let turns: Vec<&Turn> = self.turns.iter().filter(|turn| frames.contains(&turn.frame)).collect();
        let told = turns.iter().map(|turn| {
            let (frame, label) = (&self.frames[turn.frame], &turn.label);
            format!("{frame}: {label}, {} to {}", self.meetings[turn.from], self.meetings[turn.to])
        });
        let words = format!("Who has which frame when. {}.", told.collect::<Vec<_>>().join("; "));
        let id = paper.sheet.begin(Part::Figure(words));
        let (left, top) = (paper.left, paper.y);
        let column = (paper.wide() - NAMES) / self.meetings.len().max(1) as f64;
        let bottom = top + HEAD + row * frames.len() as f64;
        for (n, day) in self.meetings.iter().enumerate() {
            let x = left + NAMES + column * n as f64;
            paper.sheet.rule([x, top, x, bottom], 0.15);
            let points = (LABEL * (column - 1.0) / width(day, LABEL, Weight::Bold)).clamp(5.5, LABEL);
            let lines = wrap(day, points, Weight::Bold, column - 1.0);
            for (n, line) in lines.iter().take(2).enumerate() {
                let line = shortened(line, points, Weight::Bold, column - 1.0);
                let y = top + 3.4 + points * POINT * 1.15 * n as f64;
                paper.sheet.text_amid(x + column / 2.0, y, &line, points, Weight::Bold);
            }
        }
        for (n, frame) in self.frames[frames.clone()].iter().enumerate() {
            let y = top + HEAD + row * n as f64;
            paper.sheet.rule([left, y, paper.right, y], 0.15);
            let name = shortened(&isolated(frame), 11.0, Weight::Bold, NAMES - 2.0);
            paper.sheet.text(left, y + row / 2.0 + 1.4, &name, 11.0, Weight::Bold);
        }
        paper.sheet.rule([left, bottom, paper.right, bottom], 0.15);
        for turn in turns {
            let columns = (turn.to - turn.from + 1) as f64;
            let area = [
                left + NAMES + column * turn.from as f64 + 0.6,
                top + HEAD + row * (turn.frame - frames.start) as f64 + 0.6,
                column * columns - 1.2,
                row - 1.2,
            ];
            draw(paper, turn, area);
        }
        paper.sheet.end(id);
        paper.y = bottom + 2.0;
    }
}

/// A turn: a box, hatched while the frame is with them, and who.
fn draw(paper: &mut Paper, turn: &Turn, area: [f64; 4]) {
    if turn.out {
        paper.sheet.hatch(area, Hatch::of(2));
    } else {
        paper.sheet.fill(vec![area], 255);
    }
    paper.sheet.frame(area, if turn.changed { 0.9 } else { 0.3 });
    let mark = if turn.changed { "◆ " } else { "" };
    let text = format!("{mark}{}", isolated(&turn.label));
    let most = area[2] - 3.0;
    let lines = wrap(&text, LABEL, Weight::Regular, most);
    let fits = if area[3] > 9.0 { 2 } else { 1 };
    let shown: Vec<String> =
        if lines.len() <= fits && lines.iter().all(|line| width(line, LABEL, Weight::Regular) <= most) {
            lines
        } else {
            let mut kept: Vec<String> = lines.iter().take(fits - 1).cloned().collect();
            let rest = lines[fits - 1..].join(" ");
            kept.push(shortened(&rest, LABEL, Weight::Regular, most));
            kept
        };
    let step = LABEL * POINT * 1.12;
    let start = area[1] + (area[3] - step * shown.len() as f64) / 2.0;
    for (n, line) in shown.iter().enumerate() {
        let y = start + step * n as f64;
        let wide = width(line, LABEL, Weight::Regular);
        // A white ground keeps the words readable on hatching.
        paper.sheet.fill(vec![[area[0] + 1.0, y, wide + 1.0, step]], 255);
        paper.sheet.text(area[0] + 1.5, y + step * 0.8, line, LABEL, Weight::Regular);
    }
}
