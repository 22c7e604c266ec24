//! Where cloth went, summed: by source and by stretch of time. Each sum leaves nothing out, so that what came in is what went
//! and what is there.
use crate::drawing::rug_face::escape;
use crate::units::{Mass, Units};
use std::fmt::Write;

/// What became of cloth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sums {
    /// Weighed in.
    pub came: Mass,
    /// Pulled for rugs, less what was put back.
    pub rugs: Mass,
    /// Lost in the wash: lint and shrinkage.
    pub wash: Mass,
    /// Thrown away.
    pub scrap: Mass,
    /// Corrected by counting: less than nothing where more was found.
    pub counted: Mass,
}

impl Sums {
    /// What is left of it.
    pub fn left(&self) -> Mass {
        self.came - self.rugs - self.wash - self.scrap - self.counted
    }

    /// The parts that something went to or lies at, in order, each with its words.
    fn parts(&self) -> [(&'static str, Mass); 5] {
        [
            ("in rugs", self.rugs),
            ("lost in the wash", self.wash),
            ("thrown away", self.scrap),
            ("counted off", self.counted),
            ("here", self.left()),
        ]
    }
}

const ROW: f64 = 60.0;
const BAR: f64 = 34.0;
const LEFT: f64 = 190.0;
const WIDE: f64 = 900.0;
const LEGEND: f64 = 46.0;

/// A bar for each line, as long as what came in, as one `<svg>` element with a title and a description. Parts differ by
/// pattern, and each is named; parts of less than nothing are only in the table. `id` must be like no other drawing's on the
/// page.
pub fn svg(lines: &[(String, Sums)], units: Units, id: &str) -> String {
    let id: String = id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    let most = lines.iter().map(|(_, sums)| sums.came).max().unwrap_or(Mass::ZERO).max(Mass::from_mg(1));
    let (mut out, mut told) = (String::new(), String::new());
    let fill = |at: usize| match at {
        0 => "#000000".to_owned(),
        4 => "#ffffff".to_owned(),
        at => format!("url(#{id}-{at})"),
    };
    // Writing to a string can't fail.
    let mut x = LEFT;
    for (at, (words, _)) in Sums::default().parts().iter().enumerate() {
        let _ = write!(
            out,
            r##"<rect x="{x:.1}" y="8" width="22" height="22" fill="{}" stroke="#000000" stroke-width="1.5"/><text x="{:.1}" y="26" font-size="18">{words}</text>"##,
            fill(at),
            x + 30.0,
        );
        x += 52.0 + words.len() as f64 * 10.5;
    }
    for (row, (name, sums)) in lines.iter().enumerate() {
        let y = LEGEND + ROW * row as f64;
        let _ = write!(
            out,
            r#"<text x="0" y="{:.1}" font-size="19">{}</text>"#,
            y + BAR / 2.0 + 7.0,
            escape(name),
        );
        let _ = write!(told, " {name}: {} came in", sums.came.show(units));
        let mut x = LEFT;
        for (at, (words, mass)) in sums.parts().into_iter().enumerate() {
            if mass > Mass::ZERO {
                let wide = mass.ratio(most) * WIDE;
                let _ = write!(
                    out,
                    r##"<rect x="{x:.1}" y="{y:.1}" width="{wide:.1}" height="{BAR}" fill="{}" stroke="#000000" stroke-width="1.5"/>"##,
                    fill(at),
                );
                x += wide;
                let _ = write!(told, ", {} {words}", mass.show(units));
            }
        }
        told.push('.');
        let _ = write!(
            out,
            r#"<text x="{:.1}" y="{:.1}" font-size="17">{}</text>"#,
            x + 8.0,
            y + BAR / 2.0 + 6.0,
            escape(&sums.came.show(units)),
        );
    }
    let (wide, high) = (LEFT + WIDE + 130.0, LEGEND + ROW * lines.len() as f64);
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="-4 0 {wide:.1} {high:.1}" role="img" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">Where the cloth went</title><desc id="{id}-d">{}</desc><defs><pattern id="{id}-1" width="8" height="8" patternUnits="userSpaceOnUse"><rect width="8" height="8" fill="#ffffff"/><path d="M0 8L8 0" stroke="#000000" stroke-width="1.5"/></pattern><pattern id="{id}-2" width="10" height="10" patternUnits="userSpaceOnUse"><rect width="10" height="10" fill="#ffffff"/><path d="M0 0L10 10M0 10L10 0" stroke="#000000" stroke-width="1.2"/></pattern><pattern id="{id}-3" width="8" height="8" patternUnits="userSpaceOnUse"><rect width="8" height="8" fill="#ffffff"/><circle cx="4" cy="4" r="1.8" fill="#000000"/></pattern></defs><rect x="-4" y="0" width="{wide:.1}" height="{high:.1}" fill="#ffffff"/><g font-family="sans-serif" fill="#000000">{out}</g></svg>"##,
        escape(told.trim()),
    )
}
