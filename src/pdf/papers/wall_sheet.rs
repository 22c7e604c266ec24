//! The wall sheet: the term at a glance, frames down, meetings across, a box for each turn, in names that are read from the other
//! side of the room; on as many pages side by side as that takes. Who has a frame now is hatched; who has not been told yet has a
//! thick edge and a mark.
use std::ops::Range;

use crate::drawing::wall::Turn;
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::hatch::Hatch;
use crate::pdf::layout::sheet::{Part, Size};
use crate::pdf::layout::text::{Weight, shortened, width};
use crate::pdf::{FROM_A_METRE, PaperError};
use crate::units::isolated;

/// What the sheet is made of.
pub struct WallSheet<'a> {
    /// The workroom's name.
    pub workroom: &'a str,
    /// The term's name.
    pub term: &'a str,
    /// The frames' tags.
    pub frames: &'a [String],
    /// The meetings' days, and whether each was called off.
    pub meetings: &'a [(String, bool)],
    /// The turns.
    pub turns: &'a [Turn],
    /// Who has no turn.
    pub without: &'a [String],
    /// Whether a timetable holds; else the turns are what is out today.
    pub holds: bool,
    /// Where the live page is.
    pub link: &'a str,
    /// Which timetable this is, and the day it is printed.
    pub printed: &'a str,
}

/// The size of names in points: capitals of 14 mm, the least for three metres; in Noto Sans they are 0.714 of the size.
/// Source: ISO 9241-3 and NUREG-0700, 16 minutes of arc (published check 10.22).
const NAME: f64 = 55.7;
/// How high a row is, and from its top to the baseline of its names, and to that of what stands below them.
const ROW: f64 = 27.0;
const BASE: f64 = 18.6;
const BELOW: f64 = 25.4;
/// The size of what stands below names.
const SMALL: f64 = 9.0;
const HEAD: f64 = 14.0;
/// The least and the most that is kept for frames' tags.
const TAGS: [f64; 2] = [24.0, 62.0];
/// The most meetings on one page.
const ACROSS: usize = 6;
/// What stays free beside a name within its box.
const PAD: f64 = 2.0;

/// What one page shows.
struct Page {
    frames: Range<usize>,
    meetings: Range<usize>,
    column: f64,
    tags: f64,
}

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
        self.head(&mut paper, true)?;
        let down = ((paper.bottom() - paper.y - HEAD) / ROW).floor().max(1.0) as usize;
        let tags =
            self.frames.iter().map(|tag| width(&isolated(tag), NAME, Weight::Bold)).fold(0.0, f64::max);
        let tags = (tags + 4.0).clamp(TAGS[0], TAGS[1]);
        let names = self.names();
        let across = self.across(&names, paper.wide() - tags);
        let parts = |all: usize, each: usize| (0..all).step_by(each).map(move |at| at..(at + each).min(all));
        let mut first = true;
        for frames in parts(self.frames.len(), down) {
            for meetings in parts(self.meetings.len(), across) {
                if !std::mem::take(&mut first) {
                    paper.page_break();
                    self.head(&mut paper, false)?;
                }
                let column = (paper.wide() - tags) / across as f64;
                self.page(&mut paper, &Page { frames: frames.clone(), meetings, column, tags }, &names);
            }
        }
        self.without(&mut paper)?;
        Ok(paper)
    }

    /// The title, which stands on every page; the code on the first.
    fn head(&self, paper: &mut Paper, first: bool) -> Result<(), PaperError> {
        let under = if self.holds {
            "Who has which frame when. Hatched: with them now. ◆ and a thick edge: not told yet."
        } else {
            "No timetable holds: these frames are out today, each until it is due."
        };
        let code = first.then_some((self.link, "the live timetable"));
        paper.head(&isolated(self.workroom), &isolated(self.term), under, code)
    }

    /// What each turn's name is on the wall: given names, with an initial where two share one, whole where that doesn't tell them
    /// apart either.
    fn names(&self) -> Vec<String> {
        let given = |name: &str| name.split_whitespace().next().unwrap_or_default().to_owned();
        let initial = |name: &str| {
            let rest = name.split_whitespace().nth(1).and_then(|rest| rest.chars().next());
            rest.map_or_else(|| given(name), |first| format!("{} {first}.", given(name)))
        };
        let alone = |short: &dyn Fn(&str) -> String, name: &str| {
            self.turns.iter().all(|turn| turn.label == name || short(&turn.label) != short(name))
        };
        let of = |turn: &Turn| {
            let name = turn.label.as_str();
            let shown = if alone(&given, name) {
                given(name)
            } else if alone(&initial, name) {
                initial(name)
            } else {
                name.to_owned()
            };
            isolated(&shown)
        };
        self.turns.iter().map(of).collect()
    }

    /// The most meetings on a page with which each name fits its box.
    fn across(&self, names: &[String], room: f64) -> usize {
        let most = self.meetings.len().clamp(1, ACROSS);
        let fits = |across: &usize| {
            let column = room / *across as f64;
            self.turns.iter().zip(names).all(|(turn, name)| {
                let wide = width(name, NAME, Weight::Bold) + 2.0 * PAD + 1.2;
                (turn.from / across..=turn.to / across).all(|page| {
                    let (from, to) = (turn.from.max(page * across), turn.to.min((page + 1) * across - 1));
                    column * (to + 1 - from) as f64 >= wide
                })
            })
        };
        (1..=most).rev().find(fits).unwrap_or(1)
    }

    fn page(&self, paper: &mut Paper, page: &Page, names: &[String]) {
        let shows = |turn: &Turn| {
            page.frames.contains(&turn.frame)
                && turn.from < page.meetings.end
                && turn.to >= page.meetings.start
        };
        let turns: Vec<(&Turn, &String)> =
            self.turns.iter().zip(names).filter(|(turn, _)| shows(turn)).collect();
        let told = turns.iter().map(|(turn, _)| {
            let (frame, label) = (&self.frames[turn.frame], &turn.label);
            format!("{frame}: {label}, {} to {}", self.meetings[turn.from].0, self.meetings[turn.to].0)
        });
        let off = self.meetings[page.meetings.clone()].iter().filter(|(_, off)| *off);
        let off = off.map(|(day, _)| format!("{day}: called off"));
        let words = told.chain(off).collect::<Vec<_>>().join("; ");
        let id = paper.sheet.begin(Part::Figure(format!("Who has which frame when. {words}.")));
        let (left, top) = (paper.left, paper.y);
        let bottom = top + HEAD + ROW * page.frames.len() as f64;
        let right = left + page.tags + page.column * page.meetings.len() as f64;
        for (n, (day, off)) in self.meetings[page.meetings.clone()].iter().enumerate() {
            let x = left + page.tags + page.column * n as f64;
            if *off {
                // Crossed out, below what is drawn over it.
                let (right, from) = (x + page.column, top + HEAD);
                paper.sheet.lines(vec![[x, from, right, bottom], [x, bottom, right, from]], 0.4, None);
                paper.sheet.text_amid(
                    x + page.column / 2.0,
                    top + HEAD - 1.2,
                    "called off",
                    11.0,
                    Weight::Bold,
                );
            }
            paper.sheet.rule([x, top, x, bottom], 0.15);
            let points =
                FROM_A_METRE.min(FROM_A_METRE * (page.column - 2.0) / width(day, FROM_A_METRE, Weight::Bold));
            paper.sheet.text_amid(x + page.column / 2.0, top + 8.0, day, points, Weight::Bold);
        }
        for (n, frame) in self.frames[page.frames.clone()].iter().enumerate() {
            let y = top + HEAD + ROW * n as f64;
            paper.sheet.rule([left, y, right, y], 0.15);
            let (tag, room) = (isolated(frame), page.tags - 4.0);
            let points = (NAME * room / width(&tag, NAME, Weight::Bold)).clamp(FROM_A_METRE, NAME);
            paper.sheet.text(
                left,
                y + BASE,
                &shortened(&tag, points, Weight::Bold, room),
                points,
                Weight::Bold,
            );
        }
        paper.sheet.rule([left, bottom, right, bottom], 0.15);
        for (turn, name) in turns {
            let (from, to) = (turn.from.max(page.meetings.start), turn.to.min(page.meetings.end - 1));
            let area = [
                left + page.tags + page.column * (from - page.meetings.start) as f64 + 0.6,
                top + HEAD + ROW * (turn.frame - page.frames.start) as f64 + 0.6,
                page.column * (to + 1 - from) as f64 - 1.2,
                ROW - 1.2,
            ];
            draw(paper, turn, name, area);
        }
        paper.sheet.end(id);
        paper.y = bottom + 2.0;
    }

    /// Who has no turn, in names as large as those on the sheet.
    fn without(&self, paper: &mut Paper) -> Result<(), PaperError> {
        if self.without.is_empty() {
            return Ok(());
        }
        let high = ROW * self.without.len().min(3) as f64;
        if paper.y + high > paper.bottom() {
            paper.page_break();
            self.head(paper, false)?;
        }
        paper.heading(2, if self.holds { "No turn yet" } else { "Without a frame today" });
        let names: Vec<String> = self.without.iter().map(|name| isolated(name)).collect();
        paper.paragraph(&names.join(", "), NAME / paper.points, Weight::Bold);
        Ok(())
    }
}

/// A turn: a box, hatched while the frame is with them, and who.
fn draw(paper: &mut Paper, turn: &Turn, name: &str, area: [f64; 4]) {
    paper.sheet.fill(vec![area], 255);
    if turn.out {
        paper.sheet.hatch(area, Hatch::of(2));
    }
    paper.sheet.frame(area, if turn.changed { 0.9 } else { 0.3 });
    let most = area[2] - 2.0 * PAD;
    let mark = if turn.changed { "◆ " } else { "" };
    let whole = shortened(&format!("{mark}{}", isolated(&turn.label)), SMALL, Weight::Regular, most);
    let big = shortened(name, NAME, Weight::Bold, most);
    for (text, points, weight, base, above) in
        [(big, NAME, Weight::Bold, BASE, 14.2), (whole, SMALL, Weight::Regular, BELOW, 2.4)]
    {
        let (x, y) = (area[0] + PAD, area[1] - 0.6 + base);
        // A white ground keeps the words readable on hatching.
        let wide = width(&text, points, weight);
        paper.sheet.fill(vec![[x - 0.8, y - above, (wide + 1.6).min(area[2] - PAD), above + 0.8]], 255);
        paper.sheet.text(x, y, &text, points, weight);
    }
}
