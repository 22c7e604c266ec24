//! The rug drawn from its computed cells, as SVG text. Which colour shows where is `pattern`'s.
use crate::planning::colour::Hex;
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

/// The most cells drawn: beyond it, only every third, fifth … row and unit is.
const MOST_CELLS: u64 = 40_000;
/// Hatches as path data in a square of ten and the weight of their lines: blank, dense, then others that differ in tone
/// as well as in direction, since a cell may be no larger than one square.
const HATCHES: [(&str, f64); 8] = [
    ("", 0.0),
    ("M0 2.5H10M0 7.5H10", 3.2),
    ("M0 0L10 10M-2.5 7.5L2.5 12.5M7.5 -2.5L12.5 2.5", 2.0),
    ("M0 5H10", 2.0),
    ("M0 0L10 10M10 0L0 10", 1.8),
    ("M2.5 0V10M7.5 0V10", 1.2),
    ("M4 5h2", 2.0),
    ("M0 5H10M5 0V10", 3.0),
];

impl Picture<'_> {
    /// The drawing as one `<svg>` element with a title and a description: presentation attributes only, no style, no
    /// script. The start of the weaving is at the bottom, as on the frame.
    ///
    /// # Errors
    /// [`PictureError::UnknownColour`] when the palette is shorter than the pattern needs.
    pub fn svg(&self) -> Result<String, PictureError> {
        let used = self.pattern.colours();
        if let Some(&missing) = used.iter().find(|&&colour| usize::from(colour) >= self.palette.len()) {
            return Err(PictureError::UnknownColour {
                used: usize::from(missing) + 1,
                known: self.palette.len(),
            });
        }
        let id: String = self.id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        let (wide, high) = (self.width.mm(), self.length.mm());
        let mut out = String::new();
        // Writing to a string can't fail.
        let _ = write!(
            out,
            r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.1} {high:.1}" role="img" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">{}</title><desc id="{id}-d">{}</desc>"#,
            self.title(),
            escape(&self.description()),
        );
        if self.ink == Ink::Hatch {
            out.push_str("<defs>");
            for &colour in &used {
                let _ = write!(out, "{}", self.hatch(&id, colour));
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
            r#"</g><rect x="0" y="0" width="{wide:.1}" height="{high:.1}" fill="none" stroke="currentColor" stroke-width="1.5"/></svg>"#
        );
        Ok(out)
    }

    /// The cells of a band where its second strand shows, runs merged along the longer way.
    fn cells(&self, band: usize) -> String {
        let (pattern, band) = (self.pattern, &self.pattern.bands[band]);
        let cells = u64::from(pattern.rows()) * u64::from(pattern.units);
        // An odd step keeps the alternation of the cells.
        let step = (1..).step_by(2).find(|&k| cells / u64::from(k * k) <= MOST_CELLS).unwrap_or(1_u32);
        let shows = |row: u32, unit: u32| pattern.strand(row - row % step, unit, self.face) == 1;
        let mut path = String::new();
        let mut row = band.from_row;
        while row < band.to_row {
            // A column runs on to the end of its half; a check is as high as a row, or a step.
            let half = if row < pattern.first_half() { pattern.first_half() } else { pattern.rows() };
            let high = match pattern.at_rod {
                AtRod::Keep => half - row,
                AtRod::Trade => (step - row % step).min(half - row),
            };
            let high = high.min(band.to_row - row);
            for unit in (0..pattern.units).step_by(step as usize).filter(|&unit| shows(row, unit)) {
                let wide = step.min(pattern.units - unit);
                let _ = write!(path, "M{unit} {row}h{wide}v{high}h-{wide}z");
            }
            row += high;
        }
        path
    }

    fn paint(&self, id: &str, colour: ColourId) -> String {
        match self.ink {
            Ink::Colour => self.palette[usize::from(colour)].hex.to_string(),
            Ink::Hatch => format!("url(#{id}-h{colour})"),
        }
    }

    /// A hatch whose square is as high as a row, so that every cell shows all of it.
    fn hatch(&self, id: &str, colour: ColourId) -> String {
        let (rows, units) = (f64::from(self.pattern.rows().max(1)), f64::from(self.pattern.units.max(1)));
        let across = self.length.mm() / rows * units / self.width.mm() / 10.0;
        let (lines, weight) = HATCHES[usize::from(colour) % HATCHES.len()];
        // Colours beyond the list take the same hatches with heavier lines.
        let weight = weight + 0.8 * f64::from(colour / HATCHES.len() as u16);
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
            } else {
                write!(text, "{comma}{} rows of {figure} in {a} and {b}", band.rows())
            };
        }
        text.push('.');
        text
    }
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
