//! A rug's bands on paper: each colour with its letter and its hatch, the bands drawn to scale, and their table.
use crate::pdf::layout::flow::Paper;
use crate::pdf::layout::hatch::Hatch;
use crate::pdf::layout::sheet::{MARGIN, Part};
use crate::pdf::layout::table::{Column, with_swatch};
use crate::pdf::layout::text::{POINT, Weight, shortened, width};
use crate::planning::pattern::BandRows;
use crate::planning::reading::{rows_of_bands, rows_said};
use crate::planning::{ColourId, Plan};
use crate::units::{Units, isolated};

/// A rug's plan with the names of its colours, by [`ColourId`].
#[derive(Clone, Copy)]
pub struct Coloured<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The names.
    pub colours: &'a [String],
    /// The hatches, by the colours' lightness; where there are none each colour takes that of its place in the list.
    pub hatches: &'a [Hatch],
    /// How lengths and weights are written.
    pub units: Units,
}

impl Coloured<'_> {
    /// A colour with its letter: `A cream`.
    pub fn colour(&self, id: ColourId) -> String {
        let name = self.colours.get(usize::from(id)).map_or("", String::as_str);
        format!("{} {}", Hatch::letter(usize::from(id)), isolated(name))
    }

    /// A colour's hatch.
    pub fn hatch(&self, id: ColourId) -> Hatch {
        let at = usize::from(id);
        self.hatches.get(at).copied().unwrap_or_else(|| Hatch::of(at))
    }

    /// The same for a table's cell, after its hatch.
    pub fn cell(&self, id: ColourId) -> String {
        with_swatch(self.hatch(id), &self.colour(id))
    }

    /// The letters of a band's strands: `A` or `A/C`.
    pub fn letters(&self, band: &BandRows) -> String {
        let [first, other] = band.colours.map(|id| Hatch::letter(usize::from(id)));
        if first == other { first } else { format!("{first}/{other}") }
    }
}

/// The step between labels for which there is room: 1 where there is room for all, 2 for every second.
pub(in crate::pdf) fn each(labels: usize, high: f64, room: f64) -> usize {
    labels.div_ceil((room / high).floor().max(1.0) as usize).max(1)
}

/// Labels that want to stand at these heights, each so high, moved apart and kept within `top..=bottom`, which has room
/// for all of them.
pub fn spread(wanted: &[f64], high: f64, top: f64, bottom: f64) -> Vec<f64> {
    let mut at: Vec<f64> = wanted.to_vec();
    let mut least = top;
    for place in &mut at {
        *place = place.max(least);
        least = *place + high;
    }
    // What was pushed past the end is pushed back.
    let mut most = bottom - high;
    for place in at.iter_mut().rev() {
        *place = place.min(most);
        most = *place - high;
    }
    at
}

impl Paper {
    /// The face of the rug: the start of the weaving at the bottom, a hatch for each colour, the two strands of a band in
    /// turn, and each band's number and letters beside it.
    pub fn face(&mut self, rug: &Coloured<'_>, high: f64) {
        let bands = &rug.plan.pattern.bands;
        let label = self.points * 0.9;
        let step = label * POINT * 1.15;
        let words: Vec<String> =
            bands.iter().enumerate().map(|(n, band)| format!("{} {}", n + 1, rug.letters(band))).collect();
        let room = words.iter().map(|text| width(text, label, Weight::Regular)).fold(0.0, f64::max) + 7.0;
        // As high as its labels, but no higher than a page.
        let caption = self.ems(2.5);
        let high = high.max(step * bands.len() as f64).min(self.bottom() - MARGIN - caption);
        let each = each(bands.len(), step, high);
        self.reserve(high + caption);
        let (top, left) = (self.y, self.left);
        let length = rug.plan.length.mm();
        let wide = (high * rug.plan.width.ratio(rug.plan.length)).min(self.wide() - room).max(12.0);
        let described = bands.iter().enumerate().map(|(n, band)| {
            let [first, other] = band.colours.map(|id| rug.colour(id));
            let by = if rug.plan.pattern.by_chart(band.from_row) { " by a chart" } else { "" };
            let colours = if first == other { first } else { format!("{first} and {other}{by}") };
            format!("band {} to {}, {colours}", n + 1, band.end.show(rug.units))
        });
        let words_of =
            format!("The face of the rug, from the start: {}.", described.collect::<Vec<_>>().join("; "));
        let id = self.sheet.begin(Part::Figure(words_of));
        let y_of = |mm: f64| top + high * (1.0 - mm / length);
        let mut labels = Vec::new();
        for (n, band) in bands.iter().enumerate() {
            let (above, below) = (y_of(band.end.mm()), y_of(band.start.mm()));
            if n % each == 0 {
                labels.push((f64::midpoint(below, above) - step / 2.0, &words[n]));
            }
            // The strands take turns across the rug, as they do in it, only far wider.
            let across = 6;
            let column = wide / f64::from(across);
            for n in 0..across {
                let colour = band.colours[usize::from(n % 2 == 1)];
                let area = [left + column * f64::from(n), above, column, below - above];
                self.sheet.hatch(area, rug.hatch(colour));
                if n > 0 && band.colours[0] != band.colours[1] {
                    self.sheet.rule([area[0], above, area[0], below], 0.15);
                }
            }
            self.sheet.rule([left, above, left + wide, above], 0.3);
        }
        self.sheet.frame([left, top, wide, high], 0.4);
        // Bands are counted from the bottom, labels are spread from the top.
        labels.reverse();
        let middles: Vec<f64> = labels.iter().map(|(middle, _)| *middle).collect();
        for (place, (middle, text)) in spread(&middles, step, top, top + high).into_iter().zip(labels) {
            let (from, to) = (middle + step / 2.0, place + step / 2.0);
            self.sheet.lines(
                vec![
                    [left + wide, from, left + wide + 2.5, to],
                    [left + wide + 2.5, to, left + wide + 4.0, to],
                ],
                0.15,
                None,
            );
            self.sheet.text(left + wide + 5.0, place + step * 0.8, text, label, Weight::Regular);
        }
        self.sheet.end(id);
        self.y = top + high + self.ems(0.5);
        self.paragraph("The face; the start is at the bottom.", 0.85, Weight::Regular);
    }

    /// The key: each colour's hatch, its letter and its name, side by side.
    pub fn key(&mut self, rug: &Coloured<'_>) {
        let used = rug.plan.pattern.colours();
        let (side, gap, step) = (self.ems(1.6), self.ems(1.4), self.ems(2.0));
        self.reserve(step);
        let mut x = self.left;
        for id in used {
            let most = self.wide() - side - self.ems(0.5);
            let name = shortened(&rug.colour(id), self.points, Weight::Regular, most);
            let wide = side + self.ems(0.5) + self.width_of(&name, Weight::Regular);
            if x > self.left && x + wide > self.right {
                (x, self.y) = (self.left, self.y + step);
                self.reserve(step);
            }
            let area = [x, self.y + self.ems(0.1), side, self.ems(1.3)];
            self.sheet.hatch(area, rug.hatch(id));
            self.sheet.frame(area, 0.3);
            let (at, points) = (self.y + self.ems(1.1), self.points);
            self.sheet_part(Part::Paragraph, |paper| {
                paper.sheet.text(x + side + paper.ems(0.5), at, &name, points, Weight::Regular);
            });
            x += wide + gap;
        }
        self.y += step;
    }

    /// Where the colours change, measured from the start.
    pub fn band_table(&mut self, rug: &Coloured<'_>) {
        let columns = [
            Column::figures("Band"),
            Column::figures("From"),
            Column::figures("To"),
            Column::words("First strand"),
            Column::words("Other strand"),
            Column::figures("Rows"),
        ];
        let numbered = rows_of_bands(&rug.plan.pattern);
        let row = |(n, band): (usize, &BandRows)| {
            let [first, other] = band.colours.map(|id| rug.cell(id));
            vec![
                (n + 1).to_string(),
                band.start.show(rug.units),
                band.end.show(rug.units),
                first,
                other,
                rows_said(&numbered[n]),
            ]
        };
        let rows: Vec<_> = rug.plan.pattern.bands.iter().enumerate().map(row).collect();
        self.table(&columns, &rows);
    }
}
