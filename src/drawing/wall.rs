//! A timetable drawn as SVG text, black on white: frames down, meetings across, a box for each rug's turn. What is out now is
//! hatched, what is new or moved has a thick edge and a mark, so that nothing depends on colour.
use crate::drawing::rug_face::escape;
use std::fmt::Write;

/// A turn in the drawing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turn {
    /// Which row, counted from 0.
    pub frame: usize,
    /// Its first column, counted from 0.
    pub from: usize,
    /// Its last column.
    pub to: usize,
    /// Who and what.
    pub label: String,
    /// Whether the frame is with them now.
    pub out: bool,
    /// Whether it is new or moved.
    pub changed: bool,
}

const ROW: f64 = 46.0;
const COLUMN: f64 = 132.0;
const LEFT: f64 = 170.0;
const HEAD: f64 = 42.0;
/// Characters of a label that a column has room for.
const ROOM: f64 = 14.0;

/// The drawing as one `<svg>` element with a title and a description: presentation attributes only. `id` must be like no
/// other drawing's on the page.
pub fn svg(frames: &[String], meetings: &[String], turns: &[Turn], id: &str) -> String {
    let id: String = id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    let (wide, high) = (LEFT + COLUMN * meetings.len() as f64, HEAD + ROW * frames.len() as f64);
    let (mut out, mut told) = (String::new(), String::new());
    // Writing to a string can't fail.
    for (at, name) in meetings.iter().enumerate() {
        let x = LEFT + COLUMN * at as f64;
        let _ = write!(
            out,
            r##"<text x="{:.1}" y="26" font-size="18" text-anchor="middle">{}</text><path d="M{x:.1} {HEAD}V{high:.1}" stroke="#b8b0a0" stroke-width="1"/>"##,
            x + COLUMN / 2.0,
            escape(name),
        );
    }
    for (at, name) in frames.iter().enumerate() {
        let y = HEAD + ROW * at as f64;
        let _ = write!(
            out,
            r##"<path d="M0 {y:.1}H{wide:.1}" stroke="#b8b0a0" stroke-width="1"/><text x="2" y="{:.1}" font-size="18">{}</text>"##,
            y + ROW / 2.0 + 6.0,
            escape(name),
        );
    }
    for turn in turns {
        let columns = (turn.to - turn.from + 1) as f64;
        let (x, y) = (LEFT + COLUMN * turn.from as f64 + 3.0, HEAD + ROW * turn.frame as f64 + 4.0);
        let (fill, edge) =
            if turn.out { (format!("url(#{id}-h)"), 1.5) } else { ("#ffffff".to_owned(), 1.5) };
        let edge = if turn.changed { 4.0 } else { edge };
        let mark = if turn.changed { "◆ " } else { "" };
        let label = shortened(&turn.label, (columns * ROOM) as usize - mark.chars().count());
        let (wide, high) = (COLUMN * columns - 6.0, ROW - 8.0);
        let _ = write!(
            out,
            r##"<rect x="{x:.1}" y="{y:.1}" width="{wide:.1}" height="{high:.1}" rx="3" fill="{fill}" stroke="#000000" stroke-width="{edge}"/>"##,
        );
        // A white ground keeps the words readable on hatching.
        let width = (label.chars().count() + mark.chars().count()) as f64 * 9.0 + 8.0;
        let _ = write!(
            out,
            r##"<rect x="{:.1}" y="{:.1}" width="{:.1}" height="24" fill="#ffffff"/><text x="{:.1}" y="{:.1}" font-size="16">{mark}{}</text>"##,
            x + 6.0,
            y + 7.0,
            width.min(wide - 12.0),
            x + 9.0,
            y + 25.0,
            escape(&label),
        );
        let _ = write!(
            told,
            " {}: {}, {} to {}.",
            frames[turn.frame], turn.label, meetings[turn.from], meetings[turn.to]
        );
    }
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="-2 0 {:.1} {:.1}" role="img" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">Who has which frame when</title><desc id="{id}-d">{}</desc><defs><pattern id="{id}-h" width="9" height="9" patternUnits="userSpaceOnUse"><rect width="9" height="9" fill="#ffffff"/><path d="M0 9L9 0" stroke="#000000" stroke-width="1"/></pattern></defs><rect x="-2" y="0" width="{:.1}" height="{:.1}" fill="#ffffff"/><g font-family="sans-serif" fill="#000000">{out}<path d="M0 {high:.1}H{wide:.1}" stroke="#b8b0a0" stroke-width="1"/></g></svg>"##,
        wide + 6.0,
        high + 4.0,
        escape(told.trim()),
        wide + 6.0,
        high + 4.0,
    )
}

fn shortened(text: &str, room: usize) -> String {
    if text.chars().count() <= room {
        return text.to_owned();
    }
    let kept: String = text.chars().take(room.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}
