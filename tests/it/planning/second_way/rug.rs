//! One rug computed a second time, in inches, grams and minutes, from the formulas as they are written down for people.
use super::book::{BOOK, Book, Figure, kind};
use super::contact::{Asked, Stripe};
use std::f64::consts::PI;

/// 1 in in metres, exactly. Source: international yard and pound, 1959.
pub const METRES: f64 = 0.0254;

/// The strands laid out one by one, each with its nails; then rows begun with a whole unit, with a strand less, and so on, until no other
/// holds more loops: those whose strands, coming and leaving, are in different units; of double ones the two that lie side by side.
/// Gives the row's units in strands, and how many loops it leaves open.
pub fn locked(nails: u32, asked: &Asked, far: bool) -> (Vec<u32>, usize) {
    let mut strands: Vec<(u32, u32)> = Vec::new();
    for nail in 0..nails {
        strands.push((nail, nail));
        if nail + 1 < nails {
            strands.push((nail + 1, nail));
        }
    }
    if asked.doubled {
        strands = strands.into_iter().flat_map(|strand| [strand; 2]).collect();
    }
    let at = |strand: &(u32, u32)| if far { strand.1 } else { strand.0 };
    let mut best: Option<(usize, Vec<u32>)> = None;
    for first in (1..=asked.unit).rev() {
        let mut row: Vec<Vec<usize>> = vec![Vec::new()];
        for strand in 0..strands.len() {
            let room = if row.len() == 1 { first } else { asked.unit } as usize;
            if row.last().unwrap().len() == room {
                row.push(Vec::new());
            }
            row.last_mut().unwrap().push(strand);
        }
        let together = |a: usize, b: usize| row.iter().any(|unit| unit.contains(&a) && unit.contains(&b));
        let open = (1..strands.len())
            .filter(|&b| {
                at(&strands[b - 1]) == at(&strands[b]) && strands[b - 1] != strands[b] && together(b - 1, b)
            })
            .count();
        if best.as_ref().is_none_or(|(least, _)| open < *least) {
            best = Some((open, row.iter().map(|unit| unit.len() as u32).collect()));
        }
    }
    let (open, row) = best.unwrap();
    (row, open)
}

/// All of a rug, by the hand-written formulas.
#[derive(Debug, Clone, Default)]
pub struct Rug {
    pub nails: u32,
    pub taken: u32,
    pub strands: u32,
    pub units: u32,
    /// The units of the rows that lock the near end and the far one, in strands, from the left.
    pub locking: [Vec<u32>; 2],
    /// Loops that those rows leave open: each is one crossing more, where its unit is split.
    pub splits: [f64; 2],
    /// Crossings in all rows.
    pub twists: f64,
    pub path: f64,
    /// Of a warp strand.
    pub thickness: f64,
    pub warp: f64,
    pub warp_joins: f64,
    pub warp_grams: f64,
    pub rows_per_inch: f64,
    pub band_rows: Vec<f64>,
    pub rows: f64,
    pub take_up: f64,
    pub strand: f64,
    /// By colour and width of strip: worked in, joins, to cut, grams.
    pub parts: Vec<Part>,
    pub weft: f64,
    pub weft_joins: f64,
    pub weft_cut: f64,
    pub weft_grams: f64,
    pub fringe_strips: f64,
    pub fringe: f64,
    pub fringe_grams: f64,
    pub edge: f64,
    pub thread: f64,
    pub strips: f64,
    pub cut_time: f64,
    pub ball_time: f64,
    pub wind_time: f64,
    pub weave_time: f64,
    pub slow_time: f64,
    pub off_time: f64,
    pub fringe_time: f64,
    pub backing_time: f64,
}

/// The weft of one colour in one width of strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    pub colour: usize,
    pub strip: f64,
    pub worked: f64,
    pub joins: f64,
    pub cut: f64,
    pub grams: f64,
}

/// Whether rows, joins and strips are counted or may be parts of one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Count {
    Whole,
    Smooth,
}

impl Asked {
    pub fn woven_width(&self) -> f64 {
        self.rug_width.unwrap_or(self.width)
    }

    pub fn warp_strip(&self) -> f64 {
        self.warp_strip.unwrap_or(self.strip)
    }

    pub fn woven_length(&self) -> f64 {
        let bands: f64 = self.bands.iter().map(|band| band.height).sum();
        self.length.unwrap_or(if self.bands.is_empty() { self.span - 1.0 } else { bands })
    }

    pub fn stripes(&self) -> Vec<Stripe> {
        if self.bands.is_empty() {
            return vec![Stripe { height: self.woven_length(), colours: [0, 0], strip: None }];
        }
        self.bands.clone()
    }

    /// The figures of this rug's cloth, frame and sample.
    pub fn book(&self) -> Book {
        let measured = |value: f64, doubt: f64| [value * (-doubt).exp(), value, value * doubt.exp()];
        let mut book = BOOK;
        let stretch = kind(self.warp_kind).2;
        book.give = [0.0, stretch, 2.0 * stretch];
        // One in ten is 1.7 times as slow at a first rug, 1.25 times from the eighth on, and in between by the doublings.
        let doublings = f64::from(self.before.unwrap_or(7).min(7) + 1).ln() / 2.0_f64.ln();
        let far = (1.7_f64.ln() + (1.25_f64 / 1.7).ln() * doublings / 3.0).exp();
        book.weaving_pace = [1.0 / far, 1.0, far];
        // A tape is read to 1/8 in.
        book.span_error = [1.0 - 0.125 / self.span, 1.0, 1.0 + 0.125 / self.span];
        book.warp_gsm = self.warp_gsm.map_or(kind(self.warp_kind).0, |gsm| measured(gsm, 0.03));
        book.weft_gsm = self.weft_gsm.map_or(kind(self.kind).0, |gsm| measured(gsm, 0.03));
        if let Some(nail) = self.nail {
            book.nail = [nail; 3];
        }
        if let Some((inches, rows, grams)) = self.sample {
            // A sixteenth on the tape, half a row; the rest differs by 8 % by one standard deviation, a first rug's by 9½,
            // and its rows weigh 4 % more or less by a decile.
            let rest = 1.0 - inches / self.woven_length();
            let later = if self.before.unwrap_or(0) == 0 { 0.095 } else { 0.08 };
            let alike = (1.0 / 16.0 / inches).hypot(1.281_551_565_545 * later * rest);
            let counted = 0.5 / f64::from(rows);
            let doubt = if grams.is_some() { alike } else { alike.hypot(counted) };
            book.rows_per_inch = measured(f64::from(rows) / inches, doubt);
            if let Some(grams) = grams {
                // A row miscounted is a row more, and each of them lighter. The scale shows 2 g.
                book.packing = measured(1.0, counted);
                book.row_grams = measured(grams / f64::from(rows), (2.0 / grams).hypot(0.04 * rest));
            }
        }
        book
    }
}

/// Thickness in inches of a strip crumpled to a round bundle at half a gram per cubic centimetre.
fn bundle(strip: f64, gsm: f64) -> f64 {
    let grams_per_cm = gsm * 1e-4 * strip * 2.54;
    (grams_per_cm / 0.5 * 4.0 / PI).sqrt() / 2.54
}

/// By how much half a turn of a helix is longer than the way along it, as a part.
fn helix(along: f64, across: f64) -> f64 {
    ((along * along + (PI * across / 2.0).powi(2)).sqrt() - along) / along
}

/// Number of pieces of `piece`, each losing `join`, for a run.
fn pieces(run: f64, piece: f64, join: f64) -> f64 {
    run / (piece - join)
}

impl Rug {
    /// The rug with every figure at its usual value.
    pub fn expected(asked: &Asked) -> Self {
        Self::of(asked, &asked.book(), |figure| figure[1], Count::Whole)
    }

    pub fn of(asked: &Asked, book: &Book, at: impl Fn(Figure) -> f64, count: Count) -> Self {
        let up = |value: f64| if count == Count::Whole { (value - 1e-9).ceil() } else { value };
        let mut rug = Self::default();
        let (width, join, strip) = (asked.woven_width(), at(book.join), asked.strip);
        rug.warp_needs(asked, book, &at, count);

        let sampled = asked.sample.is_some();
        let (gsm, rpi) = (at(book.weft_gsm), at(book.rows_per_inch));
        rug.rows_per_inch =
            if sampled { rpi * at(book.packing) } else { rpi * (1.5 * 130.0 / (strip * gsm)).sqrt() };
        let packing = at(book.packing);
        let unit = width / f64::from(rug.units);
        // The usual pitch: 33 units on 18 in, all strips 1½ in of percale.
        let thick = at(book.thickness);
        let usual = helix(18.0 / 33.0, 2.0 * bundle(1.5, 130.0) * thick);
        let warp = bundle(asked.warp_strip(), at(book.warp_gsm));
        let take_up =
            |strip: f64| at(book.take_up) * helix(unit, (bundle(strip, gsm) + warp) * thick) / usual;
        let row_grams = Some(at(book.row_grams) / packing).filter(|grams| *grams > 0.0);
        let by_width = |strip: f64| width * (1.0 + take_up(strip)) + at(book.turn);
        let strand = |own: f64| match row_grams {
            Some(grams) if asked.weft_gsm.is_some() => {
                let whole = grams / (gsm * strip * METRES) / METRES;
                whole / 2.0 * (at(book.piece) - join) / at(book.piece) * by_width(own) / by_width(strip)
            }
            _ => by_width(own),
        };
        rug.take_up = take_up(strip);
        rug.strand = strand(strip);

        // Rows are rounded where a band ends, over heights as if all strips were the rug's own.
        let (mut reach, mut before) = (0.0, 0.0);
        let mut rows_of = |band: &Stripe| {
            reach += band.height * band.strip.map_or(1.0, |own| (strip / own).sqrt());
            let here = reach * rug.rows_per_inch;
            let here = if count == Count::Whole { (here + 1e-9).round() } else { here };
            let rows = here - before;
            before = here;
            rows
        };
        let stripes = asked.stripes();
        rug.band_rows = stripes.iter().map(&mut rows_of).collect();
        rug.rows = rug.band_rows.iter().sum();
        rug.parts = parts(asked, &rug.band_rows, &strand, [at(book.piece), join], count);
        for part in &mut rug.parts {
            part.cut = part.worked + part.joins * join;
            part.grams = match row_grams {
                None => part.cut * part.strip * METRES * METRES * gsm,
                Some(_) => 0.0,
            };
        }
        if let Some(grams) = row_grams {
            rug.weigh_by_rows(grams, strip, &stripes, &strand);
        }
        rug.weft = rug.parts.iter().map(|part| part.worked).sum();
        rug.weft_joins = rug.parts.iter().map(|part| part.joins).sum();
        rug.weft_cut = rug.parts.iter().map(|part| part.cut).sum();
        rug.weft_grams = rug.parts.iter().map(|part| part.grams).sum();

        if let Some(fringe) = asked.fringe {
            rug.fringe_strips = f64::from(rug.taken);
            rug.fringe = rug.fringe_strips * (2.0 * fringe + at(book.fringe_knot));
        }
        rug.fringe_grams = rug.fringe * strip * METRES * METRES * gsm;
        if let Some(margin) = asked.backing {
            rug.edge = 2.0 * (width - 2.0 * margin + asked.woven_length() - 2.0 * margin);
        }
        let sewn = rug.edge * at(book.thread_ratio);
        // A yard of thread has 30 in to sew with. Threads are always whole.
        rug.thread = sewn + 6.0 * (sewn / 30.0 - 1e-9).ceil();
        let sheet = at(book.sheet);
        rug.strips = rug.warp_joins + 1.0 + up(rug.weft_cut / sheet) + up(rug.fringe / sheet);
        rug.times(asked, book, &at);
        rug
    }

    fn warp_needs(&mut self, asked: &Asked, book: &Book, at: &impl Fn(Figure) -> f64, count: Count) {
        let pitch = asked.pitch.unwrap_or(asked.width / f64::from(asked.nails - 1));
        let all = match asked.rug_width {
            Some(width) if width < asked.width => ((width / pitch).round() as u32 + 1).clamp(2, asked.nails),
            _ => asked.nails,
        };
        self.nails = all.div_ceil(asked.every);
        self.taken = 2 * self.nails;
        let pitch = pitch * f64::from(asked.every);
        let (n, times) = (f64::from(self.nails), if asked.doubled { 2.0 } else { 1.0 });
        self.thickness = bundle(asked.warp_strip(), at(book.warp_gsm)) * at(book.thickness);
        let rho = (at(book.nail) + self.thickness) / 2.0;
        let span = asked.span * at(book.span_error);
        let crossing = |apart: f64| (apart * apart - 4.0 * rho * rho).sqrt();
        let straight = n * crossing(span) + (n - 1.0) * crossing(span.hypot(pitch));
        let inner = 2.0 * n - 2.0;
        let turned = inner * PI * rho + inner * 2.0 * PI * rho * f64::from(asked.wraps);
        self.path = times * (straight + turned + 2.0 * at(book.tail));
        self.strands = (2 * self.nails - 1) * if asked.doubled { 2 } else { 1 };
        self.units = self.strands.div_ceil(asked.unit);
        let [near, far] = [false, true].map(|far| locked(self.nails, asked, far));
        self.splits = [near.1 as f64, far.1 as f64];
        self.locking = [near.0, far.0];
        self.warp = self.path / (1.0 + at(book.give));
        let (sheet, join) = (at(book.sheet), at(book.join));
        let strips = (self.warp - join) / (sheet - join);
        let strips = if count == Count::Whole { (strips - 1e-9).ceil() } else { strips };
        self.warp_joins = strips.max(1.0) - 1.0;
        let cut = self.warp + self.warp_joins * join;
        self.warp_grams = cut * asked.warp_strip() * METRES * METRES * at(book.warp_gsm);
    }

    fn weigh_by_rows(&mut self, grams: f64, strip: f64, stripes: &[Stripe], strand: &impl Fn(f64) -> f64) {
        let cut_of = |own: f64| self.parts.iter().filter(|part| part.strip == own).map(|part| part.cut).sum();
        let weight = |own: f64| {
            let of =
                |(band, rows): (&Stripe, &f64)| if band.strip.unwrap_or(strip) == own { *rows } else { 0.0 };
            let rows: f64 = stripes.iter().zip(&self.band_rows).map(of).sum();
            rows * grams * own / strip * strand(own) / strand(strip)
        };
        let all: Vec<(f64, f64)> =
            self.parts.iter().map(|part| (weight(part.strip), cut_of(part.strip))).collect();
        for (part, (weight, cut)) in self.parts.iter_mut().zip(all) {
            part.grams = if cut > 0.0 { weight * part.cut / cut } else { 0.0 };
        }
    }

    fn times(&mut self, asked: &Asked, book: &Book, at: &impl Fn(Figure) -> f64) {
        let nth = f64::from(asked.before.unwrap_or(7) + 1);
        let practised = (nth / 8.0).powf(at(book.practice).ln() / 2.0_f64.ln()) * at(book.weaving_pace);
        self.cut_time = self.strips * at(book.cut_strip) / 60.0;
        self.ball_time =
            (self.warp_joins * at(book.join_at_table) + self.warp / 36.0 * at(book.wind_yard)) / 60.0;
        self.wind_time = f64::from(self.taken) * at(book.wind_nail) / 60.0;
        let slow_rows = (at(book.slow_end) * self.rows_per_inch).min(self.rows);
        let units = f64::from(self.units);
        self.slow_time = slow_rows * units * (at(book.slow_factor) - 1.0) * at(book.twist) / 60.0 * practised;
        let far = match (asked.from == "one-end", self.rows.fract() == 0.0) {
            (true, _) => (self.rows - 1.0).clamp(0.0, 1.0),
            (false, true) => (self.rows / 2.0).floor(),
            (false, false) => self.rows / 2.0,
        };
        let [near_row, far_row] = [0, 1].map(|end| self.locking[end].len() as f64);
        let split = self.splits[0] * (self.rows - far).min(1.0) + self.splits[1] * far.min(1.0);
        self.twists = (self.rows - far) * near_row + far * far_row + split;
        let steady = self.twists * at(book.twist)
            + self.rows * at(book.turn_time)
            + self.weft_joins * at(book.join_at_frame);
        self.weave_time = steady / 60.0 * practised + self.slow_time;
        self.off_time = at(book.take_off) / 60.0;
        self.fringe_time = self.fringe_strips * at(book.fringe_strand) / 60.0;
        self.backing_time = self.edge * at(book.stitch_inch) / 60.0;
    }

    pub fn prepare(&self) -> f64 {
        self.cut_time + self.ball_time + self.wind_time
    }

    pub fn finish(&self) -> f64 {
        self.off_time + self.fringe_time + self.backing_time
    }

    pub fn grams(&self) -> f64 {
        self.warp_grams + self.weft_grams + self.fringe_grams
    }
}

/// Follows each strand of each half through the bands as a weaver would: a new run wherever colour or strip changes.
fn parts(
    asked: &Asked,
    band_rows: &[f64],
    strand: &impl Fn(f64) -> f64,
    [piece, join]: [f64; 2],
    count: Count,
) -> Vec<Part> {
    let stripes = asked.stripes();
    let all: f64 = band_rows.iter().sum();
    let half = if asked.from == "one-end" { all } else { (all / 2.0).ceil() };
    // Each half as the list of (band, rows) in the order in which it is woven.
    let mut halves = [Vec::new(), Vec::new()];
    let mut from = 0.0;
    for (band, rows) in stripes.iter().zip(band_rows) {
        let first = (half - from).clamp(0.0, *rows);
        halves[0].push((*band, first));
        halves[1].insert(0, (*band, rows - first));
        from += rows;
    }
    let mut parts: Vec<Part> = Vec::new();
    let mut add = |colour: usize, strip: f64, rows: f64, opens: bool| {
        let worked = rows * strand(strip);
        let pieces = pieces(worked, piece, join);
        let joins = match count {
            Count::Smooth => pieces,
            Count::Whole => ((pieces - 1e-9).ceil() - if opens { 1.0 } else { 0.0 }).max(0.0),
        };
        let nothing = Part { colour, strip, worked: 0.0, joins: 0.0, cut: 0.0, grams: 0.0 };
        let at =
            parts.iter().position(|part| part.colour == colour && part.strip == strip).unwrap_or_else(|| {
                parts.push(nothing);
                parts.len() - 1
            });
        parts[at].worked += worked;
        parts[at].joins += joins;
    };
    for half in halves {
        for side in [0, 1] {
            let mut run: Option<(usize, f64, f64, bool)> = None;
            for (band, rows) in half.iter().filter(|(_, rows)| *rows > 0.0) {
                let (colour, strip) = (band.colours[side], band.strip.unwrap_or(asked.strip));
                run = Some(match run {
                    None => (colour, strip, *rows, true),
                    Some((c, s, r, opens)) if c == colour && s == strip => (c, s, r + rows, opens),
                    Some((c, s, r, opens)) => {
                        add(c, s, r, opens);
                        (colour, strip, *rows, false)
                    }
                });
            }
            if let Some((colour, strip, rows, opens)) = run {
                add(colour, strip, rows, opens);
            }
        }
    }
    parts
}
