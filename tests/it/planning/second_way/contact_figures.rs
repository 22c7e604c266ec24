//! The figures that plans begin with, as the program has them; beside `contact`, the only file here that knows their types.
use thrumhall::planning::Kind;
use thrumhall::planning::cloth::WarpFit;
use thrumhall::planning::settings::{Estimate, Parameter, Provenance, Settings};
use thrumhall::units::{Areal, Length, Mass, Quantity, Units};

/// One doubtful figure.
pub struct Shown {
    pub name: &'static str,
    pub source: &'static str,
    pub kind: &'static str,
    pub range: [f64; 3],
    pub bounds: [f64; 2],
}

fn kind_of(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Length(_) => "length",
        Quantity::Mass(_) => "mass",
        Quantity::Areal(_) => "areal",
        Quantity::Ratio(_) => "ratio",
        Quantity::Seconds(_) => "seconds",
        Quantity::PerInch(_) => "per inch",
        Quantity::Minutes(_) | Quantity::Count(_) => "other",
    }
}

/// Inches, grams, g/m², or the plain number.
fn plain(quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Length(length) => length.in_inches(),
        Quantity::Mass(mass) => mass.grams(),
        other => other.number(),
    }
}

fn quantity(kind: &str, value: f64) -> Quantity {
    match kind {
        // A length that is no number can't be made; one far out stands for it.
        "length" => Quantity::Length(Length::inches(if value.is_nan() { -1e6 } else { value })),
        "mass" => Quantity::Mass(Mass::from_grams(if value.is_nan() { -1e6 } else { value })),
        "areal" => Quantity::Areal(Areal::from_gsm(value)),
        "ratio" => Quantity::Ratio(value),
        "seconds" => Quantity::Seconds(value),
        _ => Quantity::PerInch(value),
    }
}

/// Every doubtful figure at its default.
pub fn dials() -> Vec<Shown> {
    let settings = Settings::default();
    let shown = |&dial: &Parameter| {
        let Estimate { value, low, high, basis } = *settings.get(dial);
        assert_eq!(basis, Provenance::Default);
        let (min, max) = dial.bounds();
        let range = [low, value, high].map(plain);
        Shown {
            name: dial.name(),
            source: dial.source(),
            kind: kind_of(value),
            range,
            bounds: [min, max].map(plain),
        }
    };
    Parameter::ALL.iter().map(shown).collect()
}

/// Whether a measured low, value and high of that kind is taken.
pub fn set(name: &str, kind: &str, [low, value, high]: [f64; 3]) -> bool {
    let dial = *Parameter::ALL.iter().find(|dial| dial.name() == name).unwrap();
    let [low, value, high] = [low, value, high].map(|value| quantity(kind, value));
    Settings::default()
        .set(dial, Estimate { value, low, high, basis: Provenance::Measured }, Units::Metric)
        .is_ok()
}

/// Every kind of cloth: name, g/m², how it makes a warp, stretch.
pub fn kinds() -> Vec<(&'static str, [f64; 3], &'static str, f64)> {
    let kind = |kind: &Kind| {
        let facts = kind.facts();
        let warp = match facts.warp {
            WarpFit::Fit => "fit",
            WarpFit::Narrower => "narrower",
            WarpFit::Unfit(_) => "unfit",
        };
        assert_eq!(kind.areal().gsm(), facts.typical);
        (kind.key(), [facts.low, facts.typical, facts.high], warp, facts.stretch)
    };
    Kind::ALL.iter().map(kind).collect()
}

/// Low, value and high g/m² of weighed sheets, in grams and millimetres.
pub fn areal_of(
    grams: f64,
    sheets: u32,
    along: f64,
    across: f64,
    scale: f64,
    tape: f64,
) -> Result<[f64; 3], String> {
    let weighed = thrumhall::planning::weighed::Weighed {
        mass: Mass::from_grams(grams),
        sheets,
        length: Length::millimetres(along),
        width: Length::millimetres(across),
        scale: Mass::from_grams(scale),
        tape: Length::millimetres(tape),
        hems: Some(thrumhall::planning::usable::Hems { hem: Length::ZERO, top: None }),
        size: thrumhall::planning::usable::SizeFrom::Measured,
    };
    let told = weighed.areal(Units::Metric).map_err(|e| e.to_string())?;
    Ok([told.low, told.areal, told.high].map(Areal::gsm))
}
