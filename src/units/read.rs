//! Reads typed lengths and weights exactly, as fractions of whole numbers. Bounds beyond what can be held are the
//! caller's, see [`Length::within`].
use super::{Length, Mass, UnitError, Units};

/// The most characters read: the longest sensible text is some thirty.
const LIMIT: usize = 80;
/// The most digits in one whole or decimal part, so that exact products stay inside an `i128`.
const DIGITS: usize = 13;

const VULGAR: [(char, &str); 18] = [
    ('¼', "1/4"),
    ('½', "1/2"),
    ('¾', "3/4"),
    ('⅐', "1/7"),
    ('⅑', "1/9"),
    ('⅒', "1/10"),
    ('⅓', "1/3"),
    ('⅔', "2/3"),
    ('⅕', "1/5"),
    ('⅖', "2/5"),
    ('⅗', "3/5"),
    ('⅘', "4/5"),
    ('⅙', "1/6"),
    ('⅚', "5/6"),
    ('⅛', "1/8"),
    ('⅜', "3/8"),
    ('⅝', "5/8"),
    ('⅞', "7/8"),
];

/// One unit: its names, its size as a fraction of the smallest whole unit, and its system.
struct Unit {
    names: &'static [&'static str],
    num: i128,
    den: i128,
    system: Units,
}

const fn unit(names: &'static [&'static str], num: i128, den: i128, system: Units) -> Unit {
    Unit { names, num, den, system }
}

// Exact: NIST SP 811 (2008) appendix B; international yard and pound, 1959. In nanometres.
const LENGTHS: [Unit; 6] = [
    unit(&["in", "inch", "inches", "\""], 25_400_000, 1, Units::Inches),
    unit(&["ft", "foot", "feet", "'"], 304_800_000, 1, Units::Inches),
    unit(&["yd", "yds", "yard", "yards"], 914_400_000, 1, Units::Inches),
    unit(&["mm", "millimetre", "millimetres", "millimeter", "millimeters"], 1_000_000, 1, Units::Metric),
    unit(&["cm", "centimetre", "centimetres", "centimeter", "centimeters"], 10_000_000, 1, Units::Metric),
    unit(&["m", "metre", "metres", "meter", "meters"], 1_000_000_000, 1, Units::Metric),
];
// Exact, from the same. In milligrams.
const MASSES: [Unit; 5] = [
    unit(&["oz", "ounce", "ounces"], 45_359_237, 1600, Units::Inches),
    unit(&["lb", "lbs", "pound", "pounds"], 45_359_237, 100, Units::Inches),
    unit(&["mg", "milligram", "milligrams"], 1, 1, Units::Metric),
    unit(&["g", "gram", "grams"], 1000, 1, Units::Metric),
    unit(&["kg", "kilo", "kilos", "kilogram", "kilograms"], 1_000_000, 1, Units::Metric),
];

impl Length {
    /// The length that was typed, to the nearest nanometre; a bare number is in inches or centimetres.
    ///
    /// Takes `33 in`, `33"`, `1 1/2 in`, `1½ in`, `2 ft 9 in`, `2' 9"`, `2' 9`, `2'-9"`, `84 cm`, `0.84 m`, `1 yd`, a leading minus,
    /// a decimal comma. Whether the length makes sense is for [`Length::within`].
    ///
    /// # Errors
    /// [`UnitError`]. `1,006 mm` could be 1.006 mm or 1006 mm: that is asked about, never guessed.
    pub fn parse(text: &str, units: Units) -> Result<Self, UnitError> {
        let form = match units {
            Units::Inches => "33 in, 1 1/2 in, 2 ft 9 in or 84 cm",
            Units::Metric => "84 cm, 1.5 cm, 840 mm, 0.84 m or 33 in",
        };
        let bare = match units {
            Units::Inches => &LENGTHS[0],
            Units::Metric => &LENGTHS[4],
        };
        let reader =
            Reader { what: "length", form, units: &LENGTHS, bare: Some(bare), typed: text, limit: "1000 km" };
        reader.read(Self::LARGEST.nm()).map(Self::from_nm)
    }
}

impl Mass {
    /// The mass that was typed, to the nearest milligram. A bare number is refused, since pounds, ounces, grams and
    /// kilograms are all on scales.
    ///
    /// Takes `2 lb 3.5 oz`, `2.22 lb`, `35.5oz`, `1006 g`, `1.006 kg`, a leading minus, a decimal comma.
    ///
    /// # Errors
    /// [`UnitError`]. `1,006 kg` could be 1.006 kg or 1006 kg: that is asked about, never guessed.
    pub fn parse(text: &str, units: Units) -> Result<Self, UnitError> {
        let form = match units {
            Units::Inches => "2 lb 3.5 oz, 2.22 lb, 35.5 oz or 1006 g",
            Units::Metric => "1006 g, 1.006 kg or 2 lb 3.5 oz",
        };
        let reader =
            Reader { what: "weight", form, units: &MASSES, bare: None, typed: text, limit: "1000 tonnes" };
        reader.read(Self::LARGEST.mg()).map(Self::from_mg)
    }
}

/// A number as an exact fraction.
#[derive(Clone, Copy)]
struct Exact {
    num: i128,
    den: i128,
}

struct Reader<'a> {
    what: &'static str,
    form: &'static str,
    units: &'static [Unit],
    bare: Option<&'static Unit>,
    typed: &'a str,
    limit: &'static str,
}

impl Reader<'_> {
    fn read(&self, largest: i64) -> Result<i64, UnitError> {
        let Self { what, form, .. } = *self;
        if self.typed.chars().take(LIMIT + 1).count() > LIMIT {
            return Err(UnitError::TooLong { what, value: self.value(), limit: LIMIT, form });
        }
        let plain = plain(self.typed);
        if plain.is_empty() {
            return Err(UnitError::Empty { what, form });
        }
        let (negative, mut rest) = match plain.strip_prefix('-') {
            Some(rest) => (true, rest.trim_start()),
            None => (false, plain.as_str()),
        };
        let (mut total, mut last, mut ended): (i128, Option<&Unit>, bool) = (0, None, false);
        loop {
            let (number, after) = self.number(rest)?;
            let (unit, after) = self.unit(after, last)?;
            if let Some(larger) = last {
                if larger.system != unit.system || unit.num * larger.den >= larger.num * unit.den {
                    return Err(self.unreadable("its parts must go from the larger unit to the smaller"));
                }
                if ended {
                    return Err(self.unreadable("only the last part may be a fraction"));
                }
            }
            // Halves are rounded once per part: only the last part can be other than whole.
            total += round_half_even(number.num * unit.num, number.den * unit.den);
            ended = number.den != 1;
            last = Some(unit);
            let joined = after.strip_prefix('-').or_else(|| after.trim_start().strip_prefix("- "));
            let joined = joined.filter(|_| !negative && unit.names.contains(&"ft"));
            let after = after.trim_start();
            rest = after.strip_prefix(", ").unwrap_or(after);
            // `2'-9"` and `2 ft - 9`, as builders write it; one with a blank before it alone would be a minus.
            if let Some(inches) = joined.map(str::trim_start)
                && inches.starts_with(|c: char| c.is_ascii_digit())
            {
                rest = inches;
            }
            if rest.is_empty() {
                break;
            }
        }
        match i64::try_from(total) {
            Ok(total) if total <= largest => Ok(if negative { -total } else { total }),
            _ => Err(self.too_large()),
        }
    }

    /// Reads `12`, `12.5`, `12,5`, `1,012,000`, `3/4` or `1 3/4` and gives what follows it.
    fn number<'t>(&self, text: &'t str) -> Result<(Exact, &'t str), UnitError> {
        let (digits, after) = split(text, |c| c.is_ascii_digit() || c == '.' || c == ',');
        if digits.is_empty() {
            return Err(self.no_number(text));
        }
        if let Some(below) = after.trim_start().strip_prefix('/') {
            return self.fraction(digits, below);
        }
        let whole = self.decimal(digits, after)?;
        let next = after.strip_prefix('-').unwrap_or(after).trim_start();
        let (above, slash) = split(next, |c| c.is_ascii_digit());
        match slash.trim_start().strip_prefix('/') {
            Some(below) if !above.is_empty() && next.len() < after.len() => {
                if whole.den != 1 {
                    return Err(self.unreadable("a decimal and a fraction don't go together"));
                }
                let (part, after) = self.fraction(above, below)?;
                Ok((Exact { num: whole.num * part.den + part.num, den: part.den }, after))
            }
            _ => Ok((whole, after)),
        }
    }

    fn fraction<'t>(&self, above: &str, text: &'t str) -> Result<(Exact, &'t str), UnitError> {
        let (below, after) = split(text.trim_start(), |c| c.is_ascii_digit());
        let (num, den) = (self.whole(above)?, self.whole(below)?);
        // Six digits keep the products exact; a ruler has three.
        if den == 0 || below.len() > 6 {
            return Err(self.unreadable("the number below the fraction line must be from 1 to 999999"));
        }
        Ok((Exact { num, den }, after))
    }

    fn decimal(&self, digits: &str, after: &str) -> Result<Exact, UnitError> {
        let (front, back) = digits.split_once('.').unwrap_or((digits, ""));
        if digits.contains('.') && back.is_empty() {
            return Err(self.unreadable("a digit is missing after the decimal point"));
        }
        match front.matches(',').count() {
            0 => self.parts(front, back),
            1 if !digits.contains('.') => {
                let (whole, decimals) = front.split_once(',').unwrap_or((front, ""));
                match decimals.len() {
                    0 => Err(self.unreadable("a digit is missing after the comma")),
                    3 => Err(self.comma_unclear(whole, decimals, after)),
                    _ => self.parts(whole, decimals),
                }
            }
            _ => {
                let mut groups = front.split(',');
                let first = groups.next().is_some_and(|g| (1..=3).contains(&g.len()));
                if !first || !groups.all(|g| g.len() == 3) {
                    return Err(self.unreadable("its commas don't stand before groups of three digits"));
                }
                self.parts(&front.replace(',', ""), back)
            }
        }
    }

    fn parts(&self, whole: &str, decimals: &str) -> Result<Exact, UnitError> {
        let decimals = decimals.trim_end_matches('0');
        let digits = if whole.is_empty() { 0 } else { self.whole(whole)? };
        if decimals.is_empty() {
            return Ok(Exact { num: digits, den: 1 });
        }
        if decimals.len() > DIGITS {
            return Err(self.unreadable("it has more decimals than can be measured"));
        }
        let tenths = 10_i128.pow(decimals.len() as u32);
        Ok(Exact { num: digits * tenths + self.whole(decimals)?, den: tenths })
    }

    fn whole(&self, digits: &str) -> Result<i128, UnitError> {
        if digits.len() > DIGITS {
            return Err(self.too_large());
        }
        digits.parse().map_err(|_| self.unreadable("it isn't a plain number"))
    }

    fn unit<'t>(&self, text: &'t str, last: Option<&Unit>) -> Result<(&'static Unit, &'t str), UnitError> {
        let text = text.trim_start();
        let (name, after) = match text.chars().next() {
            Some('"' | '\'') => text.split_at(1),
            _ => split(text, char::is_alphabetic),
        };
        if name.is_empty() {
            return match self.bare {
                Some(unit) if last.is_none() && text.is_empty() => Ok((unit, text)),
                // What follows feet without a unit is inches.
                _ if text.is_empty() && last.is_some_and(|last| last.names.contains(&"ft")) => {
                    Ok((&LENGTHS[0], text))
                }
                _ if text.is_empty() || text.starts_with(|c: char| c.is_ascii_digit()) => {
                    Err(self.needs_unit())
                }
                _ => Err(self.no_number(text)),
            };
        }
        let found = self.units.iter().find(|unit| unit.names.contains(&name));
        let after = after.strip_prefix('.').unwrap_or(after);
        found.map(|unit| (unit, after)).ok_or_else(|| {
            let known: Vec<_> = self.units.iter().map(|unit| unit.names[0]).collect();
            self.unreadable(&format!("the unit “{}” isn't one of {}", short(name), known.join(", ")))
        })
    }

    fn no_number(&self, text: &str) -> UnitError {
        match text.chars().next() {
            Some(c) if c.is_numeric() => self.unreadable("only the digits 0 to 9 are read"),
            Some('-') => self.unreadable("a minus may only stand at the start"),
            Some(c) => self.unreadable(&format!("a number is expected at “{}”", short(&c.to_string()))),
            None => self.unreadable("a number is missing"),
        }
    }

    fn unreadable(&self, why: &str) -> UnitError {
        UnitError::Unreadable { what: self.what, value: self.value(), why: why.to_owned(), form: self.form }
    }

    fn needs_unit(&self) -> UnitError {
        UnitError::NeedsUnit { what: self.what, value: self.value(), form: self.form }
    }

    fn too_large(&self) -> UnitError {
        UnitError::TooLarge { what: self.what, value: self.value(), limit: self.limit }
    }

    fn comma_unclear(&self, whole: &str, decimals: &str, after: &str) -> UnitError {
        let unit = split(after.trim_start(), char::is_alphabetic).0;
        UnitError::CommaUnclear {
            what: self.what,
            value: self.value(),
            decimal: short(format!("{whole}.{decimals} {unit}").trim()),
            whole: short(format!("{whole}{decimals} {unit}").trim()),
        }
    }

    fn value(&self) -> String {
        short(self.typed.trim())
    }
}

/// The text with every kind of space, quote, minus and fraction written in one way, in small letters.
fn plain(typed: &str) -> String {
    let mut out = String::with_capacity(typed.len() + 8);
    for c in typed.trim().chars() {
        match c {
            '′' | '’' => out.push('\''),
            '″' | '”' => out.push('"'),
            '−' => out.push('-'),
            '⁄' | '∕' => out.push('/'),
            c if c.is_whitespace() => out.push(' '),
            c => match VULGAR.iter().find(|(sign, _)| *sign == c) {
                Some((_, written)) => {
                    // A space on both sides, so that no digit beside it becomes one of its own.
                    out.push(' ');
                    out.push_str(written);
                    out.push(' ');
                }
                None => out.extend(c.to_lowercase()),
            },
        }
    }
    out.trim().replace("''", "\"")
}

fn split(text: &str, wanted: impl Fn(char) -> bool) -> (&str, &str) {
    text.split_at(text.find(|c| !wanted(c)).unwrap_or(text.len()))
}

/// At most 24 characters of what was typed, with nothing in it that could upset a page or a log line.
fn short(text: &str) -> String {
    let mut out: String =
        text.chars().take(24).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    if text.chars().nth(24).is_some() {
        out.push('…');
    }
    out
}

fn round_half_even(num: i128, den: i128) -> i128 {
    let (whole, rest) = (num.div_euclid(den), num.rem_euclid(den));
    match (rest * 2).cmp(&den) {
        std::cmp::Ordering::Less => whole,
        std::cmp::Ordering::Greater => whole + 1,
        std::cmp::Ordering::Equal => whole + whole % 2,
    }
}
