//! A paper that is read from top to bottom, drawn as `services` says it.
use crate::drawing::figure::{Anchor, EDGE, Figure, Lines, MIDDLE, Shape, grey, is_dark};
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::sheet::{MARGIN, Part, Size};
use crate::pdf::layout::text::{POINT, Weight, shortened, wrap, wrapped};
use crate::pdf::{FROM_A_METRE, PaperError};
use crate::services::paper_data::document::{Block, Document, Sheets};

/// Running text; what it may shrink to where that spares a page, such as one with a line on it; and what a paper that must be one
/// page may shrink it to.
const POINTS: f64 = 10.5;
const SPARING: f64 = 9.0;
const SMALLEST: f64 = 7.5;
/// By so much drawings of a page for the wall may shrink, words stay as large as they are.
const LEAST: f64 = 0.8;
/// Running text of half pages, where a step leaves room for it.
const HALF: f64 = 12.0;
/// Headings of half pages and of a page for the wall, in sizes of the running text.
const HEADED: f64 = 1.4;
/// The side of the code on a page for the wall.
const CODE: f64 = 25.0;

/// The dash of a dashed line, and its gap.
const DASH: [f64; 2] = [1.6, 1.0];

/// A table of so few rows isn't parted over two pages.
const TOGETHER: usize = 10;

/// How high a card to cut out is.
const CARD: f64 = 78.0;

/// The paper as PDF.
///
/// # Errors
/// [`PaperError`] when it can't be written.
pub fn document_pdf(document: &Document, size: Size) -> Result<Vec<u8>, PaperError> {
    document_paper(document, size)?.finish()
}

/// The paper before it is written.
///
/// # Errors
/// [`PaperError::Qr`] when the link is too long.
pub fn document_paper(document: &Document, size: Size) -> Result<Paper, PaperError> {
    match document.sheets {
        Sheets::Plain => {}
        Sheets::Folded => return folded(document, size),
        Sheets::Wall => return for_the_wall(document, size),
    }
    let mut paper = laid(document, size, POINTS)?;
    let pages = paper.sheet.pages();
    let (least, enough) = if document.one_page { (SMALLEST, 1) } else { (SPARING, pages.saturating_sub(1)) };
    let mut points = POINTS;
    while paper.sheet.pages() > enough.max(1) && points > least {
        points -= 0.5;
        paper = laid(document, size, points)?;
    }
    // Type that is smaller and still takes as many pages helps nobody.
    if paper.sheet.pages() == pages && points < POINTS { laid(document, size, POINTS) } else { Ok(paper) }
}

fn laid(document: &Document, size: Size, points: f64) -> Result<Paper, PaperError> {
    let mut paper = blank(document, size, points);
    headed(&mut paper, document)?;
    written(&mut paper, &document.blocks, 1.0);
    Ok(paper)
}

fn blank(document: &Document, size: Size, points: f64) -> Paper {
    let foot = Foot { text: document.foot.clone(), bars: false };
    match document.sheets {
        Sheets::Folded => Paper::half(&document.title, size, points, foot),
        _ => Paper::new(&document.title, size, document.across, points, foot),
    }
}

fn headed(paper: &mut Paper, document: &Document) -> Result<(), PaperError> {
    if document.workroom.is_empty() {
        return Ok(());
    }
    let code = document.link.as_ref().map(|(to, word)| (to.as_str(), word.as_str()));
    paper.head(&document.workroom, &document.title, &document.under, code)
}

/// A booklet: what stands up to a [`Block::Page`] is one half page, in smaller type where it must be.
fn folded(document: &Document, size: Size) -> Result<Paper, PaperError> {
    let mut whole: Option<Paper> = None;
    for (at, blocks) in document.blocks.split(|block| *block == Block::Page).enumerate() {
        let mut points = HALF;
        let one = loop {
            let mut paper = blank(document, size, points);
            if at == 0 {
                headed(&mut paper, document)?;
            }
            written(&mut paper, blocks, f64::INFINITY);
            if paper.sheet.pages() == 1 || points <= SMALLEST {
                break paper;
            }
            points -= 0.5;
        };
        match &mut whole {
            Some(whole) => whole.sheet.append(one.sheet),
            None => whole = Some(one),
        }
    }
    Ok(whole.unwrap_or_else(|| blank(document, size, POINTS)).folded(size))
}

/// A page for the wall, in type that is read from a metre away; its drawings are as large as it lets them be.
fn for_the_wall(document: &Document, size: Size) -> Result<Paper, PaperError> {
    let mut scale = 1.0;
    loop {
        let mut paper = blank(document, size, FROM_A_METRE);
        let (top, right) = (paper.y, paper.right);
        if let Some((to, word)) = &document.link {
            let left = right - CODE;
            paper.code([left, top], CODE, to, word)?;
            paper.right = left - 4.0;
        }
        paper.headed(1, &document.title, HEADED);
        paper.right = right;
        paper.y = paper.y.max(top + CODE);
        let most = paper.wide() * scale;
        written(&mut paper, &document.blocks, most);
        if paper.sheet.pages() == 1 || scale <= LEAST {
            return Ok(paper);
        }
        scale -= 0.02;
    }
}

/// Writes blocks; `widest` says how wide drawings may become, in millimetres, where that is more than they are.
fn written(paper: &mut Paper, blocks: &[Block], widest: f64) {
    let large = widest > 1.0;
    for (at, block) in blocks.iter().enumerate() {
        match block {
            Block::Heading(text) if large => paper.headed(2, text, HEADED),
            Block::Heading(text) => {
                paper.gap(0.9);
                if let Some(Block::Figure(figure)) = blocks.get(at + 1) {
                    let (_, high) = fitted(paper, figure, widest);
                    paper.reserve(high + paper.ems(2.0));
                }
                paper.heading(2, text);
            }
            Block::Page => paper.page_break(),
            Block::Notes(notes) => {
                paper.notes(notes);
                paper.gap(0.4);
            }
            Block::Text(text) => {
                paper.paragraph(text, 1.0, Weight::Regular);
                paper.gap(0.5);
            }
            Block::Facts(facts) => {
                paper.boxes(facts);
                paper.gap(0.7);
            }
            Block::Steps(steps) => {
                let items: Vec<(String, String)> =
                    steps.iter().map(|step| (String::new(), step.clone())).collect();
                paper.ticks(&items, false);
                paper.gap(0.7);
            }
            Block::Table(table) => {
                if table.rows.len() <= TOGETHER {
                    paper.reserve(table.high * table.rows.len() as f64 + paper.ems(3.0));
                }
                paper.grid(table);
                paper.gap(0.8);
            }
            Block::Figure(figure) => drawn(paper, figure, widest),
            Block::Card(name, lines) => card(paper, name, lines),
        }
    }
}

/// By how much a figure shrinks to fit the page, or grows up to a width, and how high it then is.
fn fitted(paper: &Paper, figure: &Figure, widest: f64) -> (f64, f64) {
    let room = paper.bottom() - MARGIN - paper.ems(3.0);
    let most = (widest / figure.wide.max(1.0)).max(1.0);
    let scale = (paper.wide() / figure.wide.max(1.0)).min(room / figure.high.max(1.0)).min(most);
    (scale, figure.high * scale)
}

fn drawn(paper: &mut Paper, figure: &Figure, widest: f64) {
    let (scale, high) = fitted(paper, figure, widest);
    paper.reserve(high);
    let wide = figure.wide * scale;
    // What may grow stands in the middle.
    let left = paper.left + if widest > 1.0 { (paper.wide() - wide) / 2.0 } else { 0.0 };
    let top = paper.y;
    let id = paper.sheet.begin(Part::Figure(figure.told.clone()));
    let lined = |paper: &mut Paper, lines: &Lines| {
        let moved = |[x1, y1, x2, y2]: &[f64; 4]| {
            [left + x1 * scale, top + y1 * scale, left + x2 * scale, top + y2 * scale]
        };
        let dash = lines.dashed.then_some(DASH);
        paper.sheet.lines(lines.lines.iter().map(moved).collect(), lines.weight, dash);
    };
    figure.lines.iter().for_each(|lines| lined(paper, lines));
    for ([x, y, w, h], light) in &figure.areas {
        let area = [left + x * scale, top + y * scale, w * scale, h * scale];
        paper.sheet.fill(vec![area], *light);
    }
    for shape in &figure.shapes {
        let moved = |[x, y]: &[f64; 2]| [left + x * scale, top + y * scale];
        match shape {
            Shape::Strip { way, wide, hex, second, .. } => {
                let way: Vec<[f64; 2]> = way.iter().map(moved).collect();
                paper.sheet.way(way.clone(), (wide + 2.0 * EDGE) * scale, 0, None);
                paper.sheet.way(way.clone(), wide * scale, grey(*hex), None);
                if *second {
                    paper.sheet.way(way, MIDDLE * scale, if is_dark(*hex) { 255 } else { 0 }, Some(DASH));
                }
            }
            Shape::Disc { at, radius, .. } => {
                // A circle's outline half its radius wide fills it.
                let [x, y] = moved(at);
                paper.sheet.circle(x, y, radius * scale / 2.0, radius * scale);
            }
        }
    }
    figure.marks.iter().for_each(|lines| lined(paper, lines));
    for word in &figure.words {
        let (x, y, points) = (left + word.at[0] * scale, top + word.at[1] * scale, word.points * scale);
        match word.anchor {
            Anchor::Start => paper.sheet.text(x, y, &word.says, points, Weight::Regular),
            Anchor::Middle => paper.sheet.text_amid(x, y, &word.says, points, Weight::Regular),
            Anchor::End => paper.sheet.text_to(x, y, &word.says, points, Weight::Regular),
        }
    }
    paper.sheet.end(id);
    paper.y += high;
    paper.gap(0.8);
}

/// A card with an edge to cut along: a name as large as fits, and lines under a rule.
fn card(paper: &mut Paper, name: &str, lines: &[String]) {
    paper.reserve(CARD);
    let (top, left, wide, pad) = (paper.y, paper.left, paper.wide(), 10.0);
    paper.sheet.frame([left, top, wide, CARD], 0.2);
    let most = wide - 2.0 * pad;
    let small = 13.5;
    let step = small * POINT * 1.35;
    let rest: Vec<String> =
        lines.iter().flat_map(|line| wrapped(line, small, Weight::Regular, most)).take(8).collect();
    let room = CARD - 2.0 * pad - step * rest.len() as f64 - 6.0;
    let mut big = 36.0;
    let high = |big: f64| wrap(name, big, Weight::Bold, most).len() as f64 * big * POINT * 1.15;
    while high(big) > room && big > 16.0 {
        big -= 2.0;
    }
    let id = paper.sheet.begin(Part::Heading(2, name.to_owned()));
    let mut y = top + pad;
    let fits = (room / (big * POINT * 1.15)).floor().max(1.0) as usize;
    let named = wrapped(name, big, Weight::Bold, most);
    for (n, line) in named.iter().take(fits).enumerate() {
        let line = if n + 1 == fits && named.len() > fits {
            shortened(&format!("{line} …"), big, Weight::Bold, most)
        } else {
            line.clone()
        };
        paper.sheet.text(left + pad, y + big * POINT, &line, big, Weight::Bold);
        y += big * POINT * 1.15;
    }
    paper.sheet.end(id);
    y += 2.5;
    paper.sheet.rule([left + pad, y, left + wide - pad, y], 0.5);
    y += 2.0;
    for line in &rest {
        let id = paper.sheet.begin(Part::Paragraph);
        paper.sheet.text(left + pad, y + small * POINT, line, small, Weight::Regular);
        paper.sheet.end(id);
        y += step;
    }
    paper.y = top + CARD + 6.0;
}
