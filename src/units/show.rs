//! Writes lengths and masses: `show` for people, `exact` for form fields, which reads back as the same value.
use super::{Length, Mass, NM_PER_INCH, Units};

const NM_PER_CM: i64 = 10_000_000;
/// 1/64 in, the finest mark on a ruler.
const NM_PER_64TH: i64 = NM_PER_INCH / 64;

impl Length {
    /// The length as people read it, rounded: inches to 1/16 below a foot and 1/8 above, or centimetres to 0.1.
    pub fn show(self, units: Units) -> String {
        let nm = self.nm().unsigned_abs();
        let text = match units {
            Units::Inches => {
                let steps = if nm < 12 * NM_PER_INCH as u64 { 16 } else { 8 };
                let marks = (nm as f64 / NM_PER_INCH as f64 * steps as f64).round() as u64;
                format!("{} in", fraction(marks, steps))
            }
            Units::Metric if nm < NM_PER_CM as u64 => format!("{:.1} mm", nm as f64 / 1e6),
            Units::Metric => format!("{:.1} cm", nm as f64 / NM_PER_CM as f64),
        };
        signed(self.nm() < 0, '−', &text)
    }

    /// The length as wood is marked by, rounded: inches to 1/32, or millimetres to 0.5.
    pub fn show_fine(self, units: Units) -> String {
        let nm = self.nm().unsigned_abs();
        let text = match units {
            Units::Inches => {
                let marks = (nm as f64 / NM_PER_INCH as f64 * 32.0).round() as u64;
                format!("{} in", fraction(marks, 32))
            }
            Units::Metric => format!("{} mm", decimal((nm as f64 / 5e5).round() as u64 * 5, 1)),
        };
        signed(self.nm() < 0, '−', &text)
    }

    /// The length as people read long strips: yards or metres to 0.1; below one yard or metre as [`Length::show`].
    pub fn show_long(self, units: Units) -> String {
        let text = match units {
            Units::Inches if self.abs().yards() >= 1.0 => format!("{:.1} yd", self.abs().yards()),
            Units::Metric if self.abs().metres() >= 1.0 => format!("{:.1} m", self.abs().metres()),
            _ => return self.show(units),
        };
        signed(self.nm() < 0, '−', &text)
    }

    /// The length as text that reads back as the same nanometre (up to [`Length::LARGEST`]).
    ///
    /// The person's own system where the value is clean in it (inches to 1/64 or three decimals, centimetres to three
    /// decimals); else the other one if it is clean there, so that `84 cm` typed by an inch person stays `84 cm`; else
    /// as many decimals as it takes.
    pub fn exact(self, units: Units) -> String {
        let nm = self.nm().unsigned_abs();
        let inches = || {
            let sixty_fourths = nm.is_multiple_of(NM_PER_64TH as u64);
            let clean = sixty_fourths.then(|| format!("{} in", fraction(nm / NM_PER_64TH as u64, 64)));
            clean.or_else(|| {
                nm.is_multiple_of(NM_PER_INCH as u64 / 1000)
                    .then(|| format!("{} in", decimal(nm / (NM_PER_INCH as u64 / 1000), 3)))
            })
        };
        let metric = || {
            nm.is_multiple_of(NM_PER_CM as u64 / 1000)
                .then(|| format!("{} cm", decimal(nm / (NM_PER_CM as u64 / 1000), 3)))
        };
        let clean = match units {
            Units::Inches => inches().or_else(metric),
            Units::Metric => metric().or_else(inches),
        };
        // Seven decimals of a centimetre are whole nanometres.
        let text = clean.unwrap_or_else(|| format!("{} cm", decimal(nm, 7)));
        signed(self.nm() < 0, '-', &text)
    }
}

impl Mass {
    /// By so much at most a mass up to 10 kg differs from what [`Mass::show`] says of it: a quarter of an ounce, 7.09 g.
    pub const SHOWN_TO: Self = Self::from_mg(7_088);

    /// The mass as people read it, rounded: `2 lb 3 1/2 oz` to half an ounce (finer below 8 oz), or grams (kilograms from
    /// 10 kg).
    pub fn show(self, units: Units) -> String {
        let mg = self.mg().unsigned_abs();
        let text = match units {
            Units::Inches => pounds_and_ounces(ounces(mg)),
            Units::Metric if mg < 10_000 => format!("{} g", decimal((mg + 50) / 100, 1)),
            Units::Metric if mg < 10_000_000 => format!("{} g", (mg + 500) / 1000),
            Units::Metric => format!("{:.2} kg", mg as f64 / 1e6),
        };
        signed(self.mg() < 0, '−', &text)
    }

    /// The mass as text that reads back as the same milligram (up to [`Mass::LARGEST`]).
    ///
    /// The person's own system where two decimals of an ounce or a gram say it; else the other one where two decimals
    /// do; else grams with three decimals, which always do.
    pub fn exact(self, units: Units) -> String {
        let mg = self.mg().unsigned_abs();
        let pounds = || {
            let hundredths = (ounces(mg) * 100.0).round() as u64;
            let (pounds, rest) = (hundredths / 1600, decimal(hundredths % 1600, 2));
            let text = match (pounds, rest.as_str()) {
                (0, _) => format!("{rest} oz"),
                (_, "0") => format!("{pounds} lb"),
                _ => format!("{pounds} lb {rest} oz"),
            };
            Self::parse(&text, units).is_ok_and(|read| read.mg().unsigned_abs() == mg).then_some(text)
        };
        let grams = || mg.is_multiple_of(10).then(|| format!("{} g", decimal(mg, 3)));
        let clean = match units {
            Units::Inches => pounds().or_else(grams),
            Units::Metric => grams().or_else(pounds),
        };
        signed(self.mg() < 0, '-', &clean.unwrap_or_else(|| format!("{} g", decimal(mg, 3))))
    }
}

fn ounces(mg: u64) -> f64 {
    mg as f64 / 28_349.523_125
}

fn pounds_and_ounces(ounces: f64) -> String {
    if ounces < 1.0 {
        return format!("{} oz", decimal((ounces * 100.0).round() as u64, 2));
    }
    let steps = if ounces < 8.0 { 4.0 } else { 2.0 };
    let quarters = ((ounces * steps).round() * 4.0 / steps) as u64;
    let (pounds, quarters) = (quarters / 64, quarters % 64);
    let rest = fraction(quarters, 4);
    match (pounds, quarters) {
        (0, _) => format!("{rest} oz"),
        (_, 0) => format!("{pounds} lb"),
        _ => format!("{pounds} lb {rest} oz"),
    }
}

/// `marks / steps` as a whole number and a fraction in lowest terms; `steps` is a power of two.
fn fraction(marks: u64, steps: u64) -> String {
    let (whole, part) = (marks / steps, marks % steps);
    let shift = part.trailing_zeros().min(steps.trailing_zeros());
    match (whole, part) {
        (_, 0) => whole.to_string(),
        (0, _) => format!("{}/{}", part >> shift, steps >> shift),
        _ => format!("{whole} {}/{}", part >> shift, steps >> shift),
    }
}

/// `value / 10^places` without trailing zeros.
fn decimal(value: u64, places: usize) -> String {
    let unit = 10_u64.pow(places as u32);
    let text = format!("{}.{:0places$}", value / unit, value % unit);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn signed(negative: bool, sign: char, text: &str) -> String {
    if negative { format!("{sign}{text}") } else { text.to_owned() }
}

/// Somebody's own words within one of our sentences: where they run from right to left they are kept from carrying our
/// punctuation and figures along (Unicode Standard Annex 9, 2.7).
pub fn isolated(words: &str) -> String {
    let leftward =
        |c: char| matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefc}');
    if words.chars().any(leftward) { format!("\u{2068}{words}\u{2069}") } else { words.to_owned() }
}
