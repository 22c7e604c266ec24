//! The rug drawn from its computed cells, as SVG text. Which colour shows where is `pattern`'s.
use super::hatch;
use super::ruler::{self, Ruler};
use crate::planning::colour::Hex;
use crate::planning::locking::row_units::RowUnits;
use crate::planning::pattern::{AtRod, ColourId, Face, Pattern};
use crate::units::Length;
use std::fmt::Write;
use thiserror::Error;

/// Why a rug can't be drawn.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PictureError {
    /// The pattern uses a colour that the list lacks.
    #[error("The rug uses colour {used}, but only {known} colours are listed.")]
    UnknownColour {
        /// Which, counted from 1.
        used: usize,
        /// How many there are.
        known: usize,
    },
}

/// A colour of the rug with its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Swatch {
    /// Its name, for those who listen.
    pub name: String,
    /// How it looks.
    pub hex: Hex,
}

/// What the drawing is made with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// In its colours.
    Colour,
    /// In black hatching on white, one hatch for each colour.
    Hatch,
}

/// One drawing.
///
/// # Examples
/// ```
/// use thrumhall::drawing::rug_face::{Ink, Picture, Swatch};
/// use thrumhall::planning::{Face, Plan, RugSpec, colour::Hex};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// let plan = Plan::of(&RugSpec::plain(frame), Units::Inches)?;
/// let palette = [Swatch { name: "Navy".into(), hex: Hex::parse("#22305a")? }];
/// let (pattern, length, width) = (&plan.pattern, plan.length, plan.width);
/// let (face, ink, id) = (Face::Front, Ink::Colour, "rug");
/// let svg = Picture { pattern, length, width, palette: &palette, face, ink, id }.svg()?;
/// assert!(svg.starts_with("<svg") && svg.contains("Navy"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Picture<'a> {
    /// The cells.
    pub pattern: &'a Pattern,
    /// Woven length.
    pub length: Length,
    /// Woven width.
    pub width: Length,
    /// The rug's colours, by [`ColourId`].
    pub palette: &'a [Swatch],
    /// Which side.
    pub face: Face,
    /// Colour or hatching.
    pub ink: Ink,
    /// A name that no other drawing on the page has; letters, digits and `-` are kept.
    pub id: &'a str,
}

/// What stands beside the rug.
#[derive(Debug, Clone, Copy)]
enum Aside<'a> {
    Nothing,
    /// A line after so many rows.
    Here(u32),
    Ruler(&'a Ruler<'a>),
}

/// The most cells drawn: beyond it, only every third, fifth … row and unit is.
const MOST_CELLS: u64 = 40_000;
/// Room for words beside the rug, as a share of its length.
const BESIDE: f64 = 0.28;
/// Hatches as path data in a square of ten and the weight of their lines, in the order of [`hatch::TONES`]: a cell may be no
/// larger than one square.
const HATCHES: [(&str, f64); hatch::COUNT] = [
    ("", 0.0),
    ("M0 2.5H10M0 7.5H10", 2.7),
    ("M0 0L10 10M-2.5 7.5L2.5 12.5M7.5 -2.5L12.5 2.5", 1.6),
    ("M0 5H10", 1.7),
    ("M0 0L10 10M10 0L0 10", 1.2),
    ("M2.5 0V10M7.5 0V10", 0.95),
    ("M3 5h4", 3.0),
    ("M0 5H10M5 0V10", 2.5),
    ("M2.5 0V10M7.5 0V10", 3.15),
    ("M10 0L0 10M-2.5 2.5L2.5 -2.5M7.5 12.5L12.5 7.5", 1.7),
    ("M0 0L10 10M-2.5 7.5L2.5 12.5M7.5 -2.5L12.5 2.5", 5.4),
    ("M5 2v6", 3.0),
    ("M10 0L0 10M-2.5 2.5L2.5 -2.5M7.5 12.5L12.5 7.5", 2.5),
    ("M0 5H10", 10.0),
];

impl Picture<'_> {
    /// The drawing as one `<svg>` element with a title and a description: presentation attributes only, no style, no
    /// script. The start of the weaving is at the bottom, as on the frame.
    ///
    /// # Errors
    /// [`PictureError::UnknownColour`] when the palette is shorter than the pattern needs.
    pub fn svg(&self) -> Result<String, PictureError> {
        self.draw(Aside::Nothing)
    }

    /// The same with a ruler at its left, lines where bands meet, and a mark at the right of the band at hand.
    ///
    /// # Errors
    /// [`PictureError::UnknownColour`] when the palette is shorter than the pattern needs.
    pub fn svg_ruled(&self, ruler: &Ruler<'_>) -> Result<String, PictureError> {
        self.draw(Aside::Ruler(ruler))
    }

    /// The same with a line where the weaving is after so many rows, as they are woven, and what is still to come paler. The
    /// line's group is marked `data-here`, what is to come `data-to-come`; both measure in millimetres from the start.
    ///
    /// # Errors
    /// [`PictureError::UnknownColour`] when the palette is shorter than the pattern needs.
    pub fn svg_at(&self, rows: u32) -> Result<String, PictureError> {
        self.draw(Aside::Here(rows))
    }

    fn draw(&self, aside: Aside<'_>) -> Result<String, PictureError> {
        let used = self.pattern.colours();
        if let Some(&missing) = used.iter().find(|&&colour| usize::from(colour) >= self.palette.len()) {
            return Err(PictureError::UnknownColour {
                used: usize::from(missing) + 1,
                known: self.palette.len(),
            });
        }
        let id: String = self.id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        let (wide, high) = (self.width.mm(), self.length.mm());
        let view = match aside {
            Aside::Nothing => format!("0 0 {wide:.1} {high:.1}"),
            Aside::Here(_) => format!("0 0 {:.1} {high:.1}", wide + BESIDE * high),
            Aside::Ruler(_) => {
                let (left, above) = (ruler::LEFT * high, ruler::ABOVE * high);
                let all = left + wide + ruler::RIGHT * high;
                format!("{:.1} {:.1} {all:.1} {:.1}", -left, -above, high + 2.0 * above)
            }
        };
        let mut out = String::new();
        // Writing to a string can't fail.
        let _ = write!(
            out,
            r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="img" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">{}</title><desc id="{id}-d">{}</desc>"#,
            self.title(),
            escape(&self.description()),
        );
        if self.ink == Ink::Hatch {
            out.push_str("<defs>");
            let hexes: Vec<Hex> = self.palette.iter().map(|swatch| swatch.hex).collect();
            let hatches = hatch::by_lightness(&hexes);
            for &colour in &used {
                let _ = write!(out, "{}", self.hatch(&id, colour, hatches[usize::from(colour)]));
            }
            out.push_str("</defs>");
        }
        // The first row lies at the bottom; rows of thinner strip are lower than others.
        let sx = wide / f64::from(self.pattern.units.max(1));
        let _ =
            write!(out, r#"<g shape-rendering="crispEdges" transform="matrix({sx:.4} 0 0 -1 0 {high:.1})">"#);
        for (index, band) in self.pattern.bands.iter().enumerate().filter(|(_, band)| band.rows() > 0) {
            let [under, over] = band.colours;
            let (y, rows, units) = (band.from_row, band.rows(), self.pattern.units);
            let row = (band.end - band.start).mm() / f64::from(rows);
            let lift = band.start.mm() - f64::from(y) * row;
            let _ = write!(
                out,
                r#"<g transform="matrix(1 0 0 {row:.4} 0 {lift:.3})"><rect y="{y}" width="{units}" height="{rows}" fill="{}"/>"#,
                self.paint(&id, under)
            );
            if under != over {
                let _ = write!(out, r#"<path d="{}" fill="{}"/>"#, self.cells(index), self.paint(&id, over));
            }
            out.push_str("</g>");
        }
        let _ = write!(
            out,
            r#"</g><rect x="0" y="0" width="{wide:.1}" height="{high:.1}" fill="none" stroke="currentColor" stroke-width="1.5"/>"#
        );
        match aside {
            Aside::Nothing => {}
            Aside::Here(rows) => out.push_str(&self.here(rows)),
            Aside::Ruler(ruler) => out.push_str(&ruler.group(wide, high)),
        }
        out.push_str("</svg>");
        Ok(out)
    }

    /// What is still to come under a pale sheet, and the line with its row.
    fn here(&self, rows: u32) -> String {
        let (wide, high) = (self.width.mm(), self.length.mm());
        let rows_shown = rows.min(self.pattern.rows());
        let half = self.pattern.woven_to(self.pattern.first_half()).0.mm();
        let (place, far) = self.pattern.woven_to(rows_shown);
        let from_far = if far { place.mm() } else { 0.0 };
        let (from, line) = if far { (half, high - from_far) } else { (place.mm(), place.mm()) };
        // The start is at the bottom.
        let (top, to_come, y) = (from_far, (high - from_far - from).max(0.0), high - line);
        let (reach, size, text) = (wide + 0.03 * high, 0.05 * high, wide + 0.045 * high);
        // The words stay within the picture at both ends.
        let words = (y + 0.35 * size).clamp(size, high - 0.2 * size) - y;
        format!(
            r##"<rect data-to-come="" x="0" y="{top:.1}" width="{wide:.1}" height="{to_come:.1}" fill="#fbf9f4" fill-opacity="0.62"/><g data-here="" transform="translate(0 {y:.1})"><path d="M{:.1} 0H{reach:.1}" stroke="#fbf9f4" stroke-width="{:.1}"/><path d="M{:.1} 0H{reach:.1}" stroke="#a6541a" stroke-width="{:.1}"/><text x="{text:.1}" y="{words:.1}" font-size="{size:.1}" font-weight="600" fill="currentColor">row {rows}</text></g>"##,
            0.0,
            0.014 * high,
            0.0,
            0.008 * high,
        )
    }

    /// The cells of a band where its second strand shows, runs merged along the longer way.
    fn cells(&self, band: usize) -> String {
        let (pattern, band) = (self.pattern, &self.pattern.bands[band]);
        let cells = u64::from(pattern.rows()) * u64::from(pattern.units);
        // An odd step keeps the alternation of the cells.
        let step = (1..).step_by(2).find(|&k| cells / u64::from(k * k) <= MOST_CELLS).unwrap_or(1_u32);
        // Rows of other units are asked themselves.
        let asked = |row: u32| if pattern.row_units(row) == pattern.near { row - row % step } else { row };
        let shows = |row: u32, unit: u32| pattern.strand(asked(row), unit, self.face) == 1;
        let mut path = String::new();
        let mut row = band.from_row;
        while row < band.to_row {
            if pattern.by_chart(row) {
                self.chart_row(row, &mut path);
                row += 1;
                continue;
            }
            // A column runs on to the end of its half; a check is as high as a row, or a step.
            let half = if row < pattern.first_half() { pattern.first_half() } else { pattern.rows() };
            let first_far = pattern.first_far_row();
            let half =
                if pattern.near != pattern.far && row < first_far { half.min(first_far) } else { half };
            let high = match pattern.at_rod {
                AtRod::Keep => half - row,
                AtRod::Trade => (step - row % step).min(half - row),
            };
            let high = high.min(band.to_row - row);
            let own = pattern.row_units(row);
            for unit in (0..own.units()).step_by(step as usize).filter(|&unit| shows(row, unit)) {
                let [from, to] = [unit, (unit + step).min(own.units())]
                    .map(|unit| place_among(pattern.near, own.strands_of(unit).start));
                let wide = to - from;
                let _ = write!(path, "M{from} {row}h{wide}v{high}h-{wide}z");
            }
            row += high;
        }
        path
    }

    /// The cells of a row of a chart where the second strand shows, those beside each other as one.
    fn chart_row(&self, row: u32, path: &mut String) {
        let own = self.pattern.row_units(row);
        let shows = |unit: u32| unit < own.units() && self.pattern.strand(row, unit, self.face) == 1;
        let mut unit = 0;
        while unit < own.units() {
            let from = unit;
            while shows(unit) {
                unit += 1;
            }
            if unit > from {
                let [x, end] =
                    [from, unit].map(|unit| place_among(self.pattern.near, own.strands_of(unit).start));
                // Writing to a string can't fail.
                let _ = write!(path, "M{x} {row}h{wide}v1h-{wide}z", wide = end - x);
            }
            unit += 1;
        }
    }

    fn paint(&self, id: &str, colour: ColourId) -> String {
        match self.ink {
            Ink::Colour => self.palette[usize::from(colour)].hex.to_string(),
            Ink::Hatch => format!("url(#{id}-h{colour})"),
        }
    }

    /// A hatch whose square is as high as a row, so that every cell shows all of it.
    fn hatch(&self, id: &str, colour: ColourId, number: usize) -> String {
        let (rows, units) = (f64::from(self.pattern.rows().max(1)), f64::from(self.pattern.units.max(1)));
        let across = self.length.mm() / rows * units / self.width.mm() / 10.0;
        let (lines, weight) = HATCHES[number];
        format!(
            r##"<pattern id="{id}-h{colour}" width="10" height="10" patternUnits="userSpaceOnUse" patternTransform="scale({across:.5} 0.1)"><rect width="10" height="10" fill="#ffffff"/><path d="{lines}" stroke="#000000" stroke-width="{weight:.1}" fill="none"/></pattern>"##
        )
    }

    fn title(&self) -> &'static str {
        match self.face {
            Face::Front => "The rug from the front",
            Face::Back => "The rug from the back",
        }
    }

    fn description(&self) -> String {
        let figure = match self.pattern.at_rod {
            AtRod::Trade => "checks",
            AtRod::Keep => "columns",
        };
        let mut text = String::from("From the start: ");
        for (i, band) in self.pattern.bands.iter().enumerate() {
            let [a, b] = band.colours.map(|colour| self.palette[usize::from(colour)].name.as_str());
            let comma = if i == 0 { "" } else { "; " };
            let _ = if a == b {
                write!(text, "{comma}{} rows of {a}", band.rows())
            } else if self.pattern.by_chart(band.from_row) {
                write!(text, "{comma}{} rows of a picture in {a} and {b}", band.rows())
            } else {
                write!(text, "{comma}{} rows of {figure} in {a} and {b}", band.rows())
            };
        }
        text.push('.');
        text
    }
}

/// Where a strand begins, in units of the rows woven as the first, each drawn equally wide; units of other rows lie aside of them.
fn place_among(units: RowUnits, strand: u32) -> f64 {
    if strand >= units.strands {
        return f64::from(units.units());
    }
    let unit = units.unit_of(strand);
    let own = units.strands_of(unit);
    f64::from(unit) + f64::from(strand - own.start) / f64::from((own.end - own.start).max(1))
}

/// A hatch by its number, as a swatch to stand before a colour's name: a drawing that says nothing by itself.
pub fn hatch_swatch(number: usize) -> String {
    let (lines, weight) = HATCHES[number % HATCHES.len()];
    // What is all black has no seams between its squares.
    let ground = if weight >= 10.0 { "#000000" } else { "#ffffff" };
    let mut out = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" class="hatch" viewBox="0 0 30 20" aria-hidden="true" focusable="false"><rect width="30" height="20" fill="{ground}"/><g stroke="#000000" fill="none">"##,
    );
    // Writing to a string can't fail.
    for (x, y) in (0..3).flat_map(|x| (0..2).map(move |y| (x * 10, y * 10))) {
        let _ = write!(
            out,
            r#"<svg x="{x}" y="{y}" width="10" height="10" viewBox="0 0 10 10"><path d="{lines}" stroke-width="{weight:.1}"/></svg>"#
        );
    }
    out.push_str(
        r##"</g><rect width="30" height="20" fill="none" stroke="#000000" stroke-width="1.5"/></svg>"##,
    );
    out
}

pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
