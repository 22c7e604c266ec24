//! The winding and cutting plan: which sheets to cut and where, and for a warp how it is joined, wound and wound on.
use super::Reader;
use super::document::{Block, Cell, Column, Document, Table};
use crate::drawing::figure::{Anchor, Figure, outline};
use crate::optimize::cutting::{Sheet, Strip, Way};
use crate::optimize::sheets::{Choice, Opened};
use crate::planning::warp::path::WarpPath;
use crate::services::guide::{named, number};
use crate::services::rug_plan::RugPlan;
use crate::store::rugs::Rug;
use crate::units::{Length, Units, isolated};

/// Sheets that are cut alike.
pub struct SheetCut<'a> {
    /// What they are called.
    pub name: &'a str,
    /// How many they are.
    pub sheets: usize,
    /// Which strips each gives: `strips 1–12`.
    pub numbers: Vec<String>,
    /// How long those of one are together.
    pub length: String,
    /// How one is cut, a sentence.
    pub how: String,
    /// One of them, the way that the strips run from left to right.
    pub sheet: &'a Sheet,
    /// What is cut from it.
    pub strips: &'a [Strip],
    /// Width of the strips.
    pub width: Length,
    /// The number of the first strip.
    pub first: u32,
    /// The first of them among the opened sheets.
    pub at: usize,
}

impl<'a> SheetCut<'a> {
    /// What is cut of a choice; sheets one after the other that are cut alike are told once. `names` are the lots', `torn` says
    /// that strips are torn.
    pub fn all(
        choice: &'a Choice,
        names: &[&'a str],
        width: Length,
        torn: bool,
        units: Units,
    ) -> Vec<SheetCut<'a>> {
        let mut all: Vec<SheetCut<'a>> = Vec::new();
        let mut first = 1_u32;
        for (at, opened) in choice.opened.iter().enumerate() {
            let strips = opened.strips.len() as u32;
            let numbers = match strips {
                1 => format!("strip {first}"),
                _ => format!("strips {first}–{}", first + strips - 1),
            };
            match all.last_mut().filter(|last| alike(&choice.opened[last.at], opened)) {
                Some(same) => {
                    same.sheets += 1;
                    same.numbers.push(numbers);
                }
                None => all.push(SheetCut {
                    name: names[opened.lot],
                    sheets: 1,
                    numbers: vec![numbers],
                    length: opened.strips.iter().map(Strip::length).sum::<Length>().show_long(units),
                    how: how(opened, torn),
                    sheet: &opened.sheet,
                    strips: &opened.strips,
                    width,
                    first,
                    at,
                }),
            }
            first += strips;
        }
        all
    }

    /// How many they are, which strips they give, how long those are, and how they are cut.
    fn said(&self) -> String {
        let (alike, each) = if self.sheets > 1 {
            (format!("{} sheets alike, ", self.sheets), " each")
        } else {
            (String::new(), "")
        };
        format!("{alike}{}, {}{each}. {}", self.numbers.join(", "), self.length, self.how)
    }
}

fn alike(one: &Opened, other: &Opened) -> bool {
    one.lot == other.lot && one.turned == other.turned && one.way == other.way && one.strips == other.strips
}

fn how(opened: &Opened, torn: bool) -> String {
    let way = match (opened.way, torn) {
        (Way::Straight, true) => "torn straight through",
        (Way::Straight, false) => "cut straight through",
        (Way::Continuous, _) => "cut to and fro, a bridge of one strip width left at alternate ends",
    };
    let side = if opened.turned { "width" } else { "length" };
    format!("Strips run along its {side}, {way}.")
}

/// How many strips are cut, and how many joins make one of them.
#[derive(Clone, Copy)]
pub struct Cuttings {
    pub strips: usize,
    pub joins: u32,
}

/// How large a sheet is drawn at most.
const DRAWN: [f64; 2] = [150.0, 78.0];

/// What is cut; `rug` is the rug whose warp it is, with its plan, where it is one's. `pull` says what to take from the shelf.
pub fn cutting(
    reader: &Reader,
    (title, under): (&str, String),
    path: &str,
    (pull, cuts, made): (&[String], &[SheetCut], Option<Cuttings>),
    rug: Option<(&Rug, &RugPlan)>,
) -> Document {
    let mut document = reader.document(title, under, path, "the live page");
    if let Some((rug, known)) = rug {
        document.foot = format!("Revision {} of the plan, printed {}.", rug.revision, reader.printed());
        document.blocks.push(Block::Facts(ball(reader, known, made)));
    }
    if !pull.is_empty() {
        document.blocks.push(Block::Heading("From the shelf".into()));
        document.blocks.push(Block::Steps(pull.to_vec()));
    }
    // A warp of yarn that wants no sheets wants no cutting either.
    let of_yarn = rug.is_some_and(|(_, known)| known.plan.warp.yarn.is_some());
    if !cuts.is_empty() || !of_yarn {
        where_to_cut(&mut document, reader, cuts);
    }
    if let Some((_, known)) = rug {
        winding(&mut document, reader, known, made.map_or(known.plan.warp.joins, |made| made.joins));
    }
    document
}

fn where_to_cut(document: &mut Document, reader: &Reader, cuts: &[SheetCut]) {
    document.blocks.push(Block::Heading("Where to cut".into()));
    document.blocks.push(Block::Text(
        if cuts.is_empty() {
            "No sheets are chosen: cut strips of the width and length above from what there is."
        } else {
            "Solid lines are cuts, dashed ones hems; what can’t be used is crossed out. Shears and cutting wheels are sharp: \
             cut away from the hand, and close them when put down."
        }
        .into(),
    ));
    document.blocks.push(Block::Text(format!(
        "How to cut, and a join: {} and {}.",
        named("strips").replace("step", "steps"),
        number("join")
    )));
    for cut in cuts {
        document.blocks.push(Block::Heading(format!("{}: {}", isolated(cut.name), cut.said())));
        document.blocks.push(Block::Figure(drawn(cut, reader)));
    }
}

fn ball(reader: &Reader, known: &RugPlan, made: Option<Cuttings>) -> Vec<[String; 3]> {
    let (warp, units) = (&known.plan.warp, reader.units);
    let wide = warp.strip_width.show(units);
    if let Some(yarn) = warp.yarn {
        return vec![
            [
                warp.heading().into(),
                warp.length.p90.show_long(units),
                format!("expected {}", warp.length.expected.show_long(units)),
            ],
            [
                warp.pieces_heading().into(),
                warp.pieces(),
                format!("balls of {}; take {}", yarn.of.show(units), yarn.mass.p90.show(units)),
            ],
        ];
    }
    let (strips, remark) = match made {
        Some(Cuttings { strips, joins }) => (strips, format!("{joins} joins; as drawn below, {wide} wide")),
        None => (
            warp.strips as usize,
            format!("{} joins; strips {} long, {wide} wide", warp.joins, warp.strip.show(units)),
        ),
    };
    vec![
        [
            "Warp, joined in one ball".into(),
            warp.length.p90.show_long(units),
            format!("expected {}", warp.length.expected.show_long(units)),
        ],
        [
            "Strips and joins".into(),
            if strips == 1 { "1 strip".to_owned() } else { format!("{strips} strips") },
            remark,
        ],
    ]
}

/// Every how many strands the table of the winding has a line.
const EVERY: usize = 10;

fn winding(document: &mut Document, reader: &Reader, known: &RugPlan, joins: u32) {
    let (warp, units) = (&known.plan.warp, reader.units);
    let way = &warp.way;
    let (Some(first), Some(last)) = (way.turns.first(), way.turns.last()) else { return };
    let round = match way.extra_wraps {
        0 => "round each nail".to_owned(),
        1 => "once more round each nail".to_owned(),
        more => format!("{more} times more round each nail"),
    };
    let of_yarn = warp.yarn.is_some();
    let title = if of_yarn { "Wind the frame" } else { "Wind the ball, then the frame" };
    document.blocks.push(Block::Heading(title.into()));
    document.blocks.push(Block::Text(if of_yarn {
        format!("{}.", named("wind-on"))
    } else {
        format!("{} and {}.", named("ball").replace("step", "steps"), number("wind-on"))
    }));
    document.blocks.push(Block::Steps(vec![
        match joins {
            0 if of_yarn => "One ball is long enough.".to_owned(),
            _ if of_yarn => format!("Join the balls where one ends, joins: {joins}, each of {} of yarn.", warp.join.show(units)),
            0 => "Wind the strip to a ball.".to_owned(),
            _ => format!("Join the strips in the order of their numbers, joins: {joins}, and wind the ball from the last to the first."),
        },
        format!(
            "Tie {} at {}, lead it across and back, {round}, with an even, light pull.",
            match (way.doubled, of_yarn) {
                (true, true) => "both strands of yarn",
                (true, false) => "both strips",
                (false, true) => "the yarn",
                (false, false) => "the strip",
            },
            first.nail
        ),
        format!("Count at the nails of the table. Tie off at {}: {} strands.", last.nail, way.strands()),
    ]));
    if !way.idle.is_empty() {
        let nails: Vec<String> = way.idle.iter().map(ToString::to_string).collect();
        document.blocks.push(Block::Text(format!("Nails that stay empty: {}.", nails.join(", "))));
    }
    let stretches = way.strand_lengths(warp.span, &warp.wrap);
    let total: f64 = stretches.iter().map(|length| length.mm()).sum();
    let mut so_far = 0.0;
    let mut rows = Vec::new();
    for (at, length) in (1..).zip(&stretches) {
        so_far += length.mm();
        if at % EVERY == 0 || at == stretches.len() {
            let strands = if way.doubled { 2 * at } else { at };
            // Of the ball as it is expected, tails and turns among it.
            let used = warp.length.expected.scale(so_far / total.max(1.0));
            rows.push(vec![
                Cell::from(strands.to_string()),
                way.turns[at].nail.to_string().into(),
                used.show_long(units).into(),
                Cell::Tick,
            ]);
        }
    }
    document.blocks.push(Block::Table(Table {
        name: "Strands as they are wound".into(),
        columns: vec![
            Column::figures("Strands"),
            Column::words("You are at nail"),
            Column::figures(if of_yarn { "Of the yarn, about" } else { "Of the ball, about" }),
            Column::room("Done", 10.0),
        ],
        rows,
        high: 6.0,
    }));
    document.blocks.push(Block::Heading("The way of the warp, from the front".into()));
    document.blocks.push(Block::Figure(zigzag(way)));
}

/// The strip's way from nail to nail, the near row below; the rows are drawn nearer together than they stand.
fn zigzag(way: &WarpPath) -> Figure {
    let (wide, high, edge) = (170.0, 62.0, 9.0);
    let at = |n: usize| way.turns[n].at.mm();
    let places = || (0..way.turns.len()).map(at);
    let (from, to) = (places().fold(f64::MAX, f64::min), places().fold(f64::MIN, f64::max));
    let scale = (wide - 2.0 * edge) / (to - from).max(1.0);
    let spot = |n: usize| {
        let y = if way.turns[n].nail.far { edge } else { high - edge };
        [edge + (at(n) - from) * scale, y]
    };
    let mut figure = Figure {
        wide,
        high,
        told: format!("The warp’s way over {} nails, the near row below", way.turns.len()),
        ..Figure::default()
    };
    let strands = (1..way.turns.len()).map(|n| {
        let ([x1, y1], [x2, y2]) = (spot(n - 1), spot(n));
        [x1, y1, x2, y2]
    });
    figure.rule(strands.collect(), 0.35, false);
    let mut nails: Vec<usize> = (0..way.turns.len()).collect();
    nails.sort_by_key(|n| (way.turns[*n].nail.far, way.turns[*n].nail.number));
    nails.dedup_by_key(|n| way.turns[*n].nail);
    let pitch = (wide - 2.0 * edge) / (nails.len() as f64 / 2.0).max(1.0);
    let every = [1, 5, 10, 20, 50].into_iter().find(|n| pitch * f64::from(*n) > 5.0).unwrap_or(100);
    for n in nails {
        let ([x, y], nail) = (spot(n), way.turns[n].nail);
        figure.areas.push(([x - 0.7, y - 0.7, 1.4, 1.4], 0));
        if nail.number == 1 || nail.number.is_multiple_of(every) {
            let y = if nail.far { y - 1.8 } else { y + 4.2 };
            figure.word([x, y], Anchor::Middle, nail.number.to_string(), 8.0);
        }
    }
    for (n, says) in [(0, "tie: begin"), (way.turns.len() - 1, "tie: end")] {
        let [x, y] = spot(n);
        let y = if way.turns[n].nail.far { y - 5.0 } else { y + 7.8 };
        let anchor = if x < wide / 2.0 { Anchor::Start } else { Anchor::End };
        figure.word([x, y], anchor, says, 8.5);
    }
    figure
}

/// A sheet with its cuts, the strips' numbers, its hems, and what can't be used.
fn drawn(cut: &SheetCut, reader: &Reader) -> Figure {
    let (wide, high) = (cut.sheet.along.mm(), cut.sheet.across.mm());
    let scale = (DRAWN[0] / wide).min(DRAWN[1] / high);
    let [along, across, width] = [cut.sheet.along, cut.sheet.across, cut.width].map(|l| l.show(reader.units));
    let mut figure = Figure {
        wide: wide * scale,
        high: high * scale,
        told: format!("{along} × {across}, strips of {width} width from left to right: {}", cut.said()),
        ..Figure::default()
    };
    figure.rule(outline([0.0, 0.0, wide * scale, high * scale]).to_vec(), 0.5, false);
    let hem = cut.sheet.hem.mm() * scale;
    if hem > 0.0 {
        let inner = [hem, hem, wide * scale - 2.0 * hem, high * scale - 2.0 * hem];
        figure.rule(outline(inner).to_vec(), 0.2, true);
    }
    for blocked in cut.sheet.blocked() {
        let [x1, x2, y1, y2] =
            [blocked.along.0, blocked.along.1, blocked.across.0, blocked.across.1].map(|l| l.mm() * scale);
        let mut lines = outline([x1, y1, x2 - x1, y2 - y1]).to_vec();
        lines.extend([[x1, y1, x2, y2], [x1, y2, x2, y1]]);
        figure.rule(lines, 0.25, false);
    }
    let bridge = cut.width.mm() * scale;
    for (number, strip) in (cut.first..).zip(cut.strips) {
        let mut lines = Vec::new();
        let (Some(first), Some(last)) = (strip.runs.first(), strip.runs.last()) else { continue };
        let [x1, x2, y1, y2] =
            [first.along.0, first.along.1, first.across.0, last.across.1].map(|l| l.mm() * scale);
        lines.extend(outline([x1, y1, x2 - x1, y2 - y1]));
        // Within a strip that is cut to and fro each cut stops a strip's width short, at the ends in turn.
        for (at, run) in strip.runs.iter().enumerate().skip(1) {
            let y = run.across.0.mm() * scale;
            let (from, to) = if at % 2 == 1 { (x1, x2 - bridge) } else { (x1 + bridge, x2) };
            lines.push([from, y, to, y]);
        }
        figure.rule(lines, 0.25, false);
        let points = (bridge * 0.75 / 0.353).clamp(4.5, 9.0);
        let middle = first.across.0.mm() * scale + bridge / 2.0;
        figure.word([x1 + 1.2, middle + points * 0.126], Anchor::Start, number.to_string(), points);
    }
    figure
}
