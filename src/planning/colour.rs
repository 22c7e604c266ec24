//! Colours of cloth: as a screen shows them, how far apart they look, their family in plain words, and the named
//! colours that forms offer. Which colour shows where in a rug is `pattern`'s.
use palette::color_difference::Ciede2000;
use palette::{IntoColor, Srgb, white_point::D65};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A colour as `#rrggbb` (sRGB, IEC 61966-2-1), checked, so that it can be written into a page as it is.
///
/// # Examples
/// ```
/// use thrumhall::planning::colour::{Family, Hex, NEAR, nearest};
///
/// let scarf = Hex::parse("#22305F")?;
/// assert_eq!(scarf.to_string(), "#22305f");
/// assert_eq!((scarf.family(), nearest(scarf).name), (Family::Blue, "Navy"));
/// assert!(scarf.difference(nearest(scarf).hex) < NEAR);
/// assert!(Hex::parse("navy").is_err());
/// # Ok::<(), thrumhall::planning::colour::NotHex>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hex([u8; 3]);

/// A text that is no colour.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” isn't a colour: write # and six of 0 to 9 and a to f, such as #336699.")]
pub struct NotHex(String);

impl Hex {
    /// The colour of `0xrrggbb`; anything above the six digits is left out.
    pub const fn rgb(rrggbb: u32) -> Self {
        let [_, red, green, blue] = rrggbb.to_be_bytes();
        Self([red, green, blue])
    }

    /// The colour of `#rrggbb`, in either case.
    ///
    /// # Errors
    /// [`NotHex`] for anything else.
    pub fn parse(text: &str) -> Result<Self, NotHex> {
        text.strip_prefix('#')
            .filter(|digits| digits.len() == 6 && digits.bytes().all(|b| b.is_ascii_hexdigit()))
            .and_then(|digits| u32::from_str_radix(digits, 16).ok())
            .map(Self::rgb)
            .ok_or_else(|| NotHex(text.chars().take(24).filter(|c| !c.is_control()).collect()))
    }

    /// Red, green and blue, each from 0 to 255.
    pub const fn channels(self) -> [u8; 3] {
        self.0
    }

    /// Where the colour lies in CIELAB (CIE 1976, white point D65).
    pub fn lab(self) -> Lab {
        let lab: palette::Lab<D65, f64> = Srgb::from(self.0).into_format::<f64>().into_color();
        Lab(lab)
    }

    /// How different two colours look, as CIEDE2000: about 1 is just seen, 5 and more is another colour.
    pub fn difference(self, other: Self) -> f64 {
        self.lab().difference(other.lab())
    }

    /// The family that people would put the colour in.
    pub fn family(self) -> Family {
        Family::of(self.lab())
    }
}

impl fmt::Display for Hex {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [red, green, blue] = self.0;
        write!(f, "#{red:02x}{green:02x}{blue:02x}")
    }
}

impl FromStr for Hex {
    type Err = NotHex;

    fn from_str(text: &str) -> Result<Self, NotHex> {
        Self::parse(text)
    }
}

/// A point of CIELAB: lightness 0–100, and how red and how yellow it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab(palette::Lab<D65, f64>);

impl Lab {
    /// The point at lightness `l`, green to red `a`, blue to yellow `b`.
    pub const fn new(l: f64, a: f64, b: f64) -> Self {
        Self(palette::Lab::new(l, a, b))
    }

    /// Lightness, red and yellow.
    pub const fn parts(self) -> [f64; 3] {
        [self.0.l, self.0.a, self.0.b]
    }

    /// How different the two look, by CIEDE2000 (ISO/CIE 11664-6).
    pub fn difference(self, other: Self) -> f64 {
        self.0.difference(other.0)
    }

    /// Distance from grey.
    pub fn chroma(self) -> f64 {
        self.0.a.hypot(self.0.b)
    }

    /// Hue angle, 0–360 degrees.
    pub fn hue(self) -> f64 {
        self.0.b.atan2(self.0.a).to_degrees().rem_euclid(360.0)
    }
}

/// A family of colours in plain words.
///
/// # Examples
/// ```
/// use thrumhall::planning::colour::{Family, named};
///
/// let family = |key: &str| named(key).map(|colour| colour.hex.family());
/// assert_eq!((family("cream"), family("rust")), (Some(Family::White), Some(Family::Orange)));
/// assert_eq!("brown".parse(), Ok(Family::Brown));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// White, cream, ecru.
    White,
    /// Grey, silver.
    Grey,
    /// Black and nearly so.
    Black,
    /// Brown, tan, sand.
    Brown,
    /// Red, wine.
    Red,
    /// Pink, rose.
    Pink,
    /// Orange, rust, peach.
    Orange,
    /// Yellow, mustard.
    Yellow,
    /// Green, olive.
    Green,
    /// Blue, navy, teal.
    Blue,
    /// Purple, lilac.
    Purple,
}

impl Family {
    /// Every family, from white round to purple.
    pub const ALL: [Self; 11] = [
        Self::White,
        Self::Grey,
        Self::Black,
        Self::Brown,
        Self::Red,
        Self::Pink,
        Self::Orange,
        Self::Yellow,
        Self::Green,
        Self::Blue,
        Self::Purple,
    ];

    /// The name in addresses, forms and the database, such as `white`.
    pub const fn key(self) -> &'static str {
        match self {
            Self::White => "white",
            Self::Grey => "grey",
            Self::Black => "black",
            Self::Brown => "brown",
            Self::Red => "red",
            Self::Pink => "pink",
            Self::Orange => "orange",
            Self::Yellow => "yellow",
            Self::Green => "green",
            Self::Blue => "blue",
            Self::Purple => "purple",
        }
    }

    /// The name on screens.
    pub const fn title(self) -> &'static str {
        match self {
            Self::White => "White or cream",
            Self::Grey => "Grey",
            Self::Black => "Black",
            Self::Brown => "Brown or sand",
            Self::Red => "Red or wine",
            Self::Pink => "Pink",
            Self::Orange => "Orange or rust",
            Self::Yellow => "Yellow",
            Self::Green => "Green",
            Self::Blue => "Blue or teal",
            Self::Purple => "Purple or lilac",
        }
    }

    /// The family of a point in CIELAB.
    ///
    /// The borders are ours, set by eye so that the plain colour words of CSS Color 4 fall where they say.
    pub fn of(lab: Lab) -> Self {
        let ([light, ..], chroma, hue) = (lab.parts(), lab.chroma(), lab.hue());
        if light < 24.0 && chroma < 10.0 {
            return Self::Black;
        }
        // Pale cloth shows a tint sooner than dark cloth does.
        if chroma < if light > 78.0 { 5.0 } else { 9.0 } {
            return if light >= 85.0 { Self::White } else { Self::Grey };
        }
        let cream = (light >= 78.0 && chroma < 20.0 && (60.0..115.0).contains(&hue))
            || (light >= 85.0 && chroma < 26.0 && (75.0..115.0).contains(&hue));
        if cream { Self::White } else { Self::by_hue(light, chroma, hue) }
    }

    fn by_hue(light: f64, chroma: f64, hue: f64) -> Self {
        // Blue and violet lie side by side in CIELAB: strong and dark blues reach further round.
        let blue_ends = if chroma < 100.0 && light >= 25.0 { 304.0 } else { 310.0 };
        match hue {
            h if h < 15.0 => Self::pink_or(light >= 45.0, Self::Red),
            h if h < 45.0 => {
                let dull = (chroma < 25.0 && light < 60.0) || (chroma < 35.0 && light < 55.0);
                let pale = light >= 65.0 || (light >= 55.0 && chroma < 45.0);
                if dull && !(pale && chroma >= 25.0) { Self::Brown } else { Self::pink_or(pale, Self::Red) }
            }
            h if h < 80.0 => {
                let dull = light < 80.0 && chroma < 40.0;
                if dull || (light < 50.0 && chroma < 50.0) { Self::Brown } else { Self::Orange }
            }
            h if h < 110.0 => match (light, chroma) {
                (l, c) if c < 35.0 && l < 85.0 => Self::brown_or(h < 100.0, Self::Green),
                (l, _) if l >= 60.0 => Self::Yellow,
                _ => Self::brown_or(h < 95.0, Self::Green),
            },
            h if h < 185.0 => Self::Green,
            h if h < blue_ends => Self::Blue,
            h if h < 335.0 => Self::Purple,
            h => Self::pink_or(light >= 45.0, if h < 350.0 { Self::Purple } else { Self::Red }),
        }
    }

    fn pink_or(pink: bool, other: Self) -> Self {
        if pink { Self::Pink } else { other }
    }

    fn brown_or(brown: bool, other: Self) -> Self {
        if brown { Self::Brown } else { other }
    }
}

/// A name that is no family of colours.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” isn't a family of colours.")]
pub struct UnknownFamily(String);

impl FromStr for Family {
    type Err = UnknownFamily;

    fn from_str(text: &str) -> Result<Self, UnknownFamily> {
        let short = || UnknownFamily(text.chars().take(24).filter(|c| !c.is_control()).collect());
        Self::ALL.into_iter().find(|family| family.key() == text).ok_or_else(short)
    }
}

/// A colour of cloth that forms offer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Named {
    /// The name in forms, such as `pale-blue`.
    pub key: &'static str,
    /// The name on screens and on tape.
    pub name: &'static str,
    /// How it looks, about.
    pub hex: Hex,
}

const fn cloth(key: &'static str, name: &'static str, rrggbb: u32) -> Named {
    Named { key, name, hex: Hex::rgb(rrggbb) }
}

/// Beyond this difference by CIEDE2000 nobody would call it the same colour, and cloth isn't offered for it; about 5 is seen at
/// a glance, and in a twined pair of strands a little more passes. Reasoned estimate.
pub const NEAR: f64 = 12.0;

/// Cloth serves a colour up to this difference by CIEDE2000: beside each other the two pass for one.
pub const SERVES: i64 = 5;
/// The same less what rounding and other ways from sRGB to CIELAB may add, for what is to serve by anybody's reckoning.
pub const SERVES_SURELY: f64 = SERVES as f64 - 0.05;

/// The colours of cloth that forms offer, light to dark within each family.
pub const NAMED: [Named; 24] = [
    cloth("white", "White", 0x00f8_f7f2),
    cloth("cream", "Cream", 0x00f1_e7cf),
    cloth("sand", "Sand", 0x00cd_b48c),
    cloth("brown", "Brown", 0x006d_4a2f),
    cloth("light-grey", "Light grey", 0x00c6_c6c4),
    cloth("grey", "Grey", 0x0086_878a),
    cloth("charcoal", "Charcoal", 0x0045_474b),
    cloth("black", "Black", 0x001c_1b1d),
    cloth("yellow", "Yellow", 0x00f0_cf4c),
    cloth("mustard", "Mustard", 0x00c3_9a2c),
    cloth("orange", "Orange", 0x00e0_812b),
    cloth("rust", "Rust", 0x00b2_552a),
    cloth("pink", "Pink", 0x00ea_acb8),
    cloth("red", "Red", 0x00b9_262d),
    cloth("wine", "Wine", 0x006e_1f33),
    cloth("lilac", "Lilac", 0x00b8_a0cc),
    cloth("purple", "Purple", 0x006b_3f7d),
    cloth("pale-blue", "Pale blue", 0x00b4_cde0),
    cloth("blue", "Blue", 0x0046_74b4),
    cloth("navy", "Navy", 0x0022_305a),
    cloth("teal", "Teal", 0x0023_7c82),
    cloth("pale-green", "Pale green", 0x00bc_d8bd),
    cloth("green", "Green", 0x0046_894c),
    cloth("dark-green", "Dark green", 0x0024_523a),
];

/// The offered colour of that key; nothing for any other text.
pub fn named(key: &str) -> Option<&'static Named> {
    NAMED.iter().find(|colour| colour.key == key)
}

/// The offered colour that looks nearest.
pub fn nearest(hex: Hex) -> &'static Named {
    let by_look = |a: &&Named, b: &&Named| hex.difference(a.hex).total_cmp(&hex.difference(b.hex));
    NAMED.iter().min_by(by_look).unwrap_or(&NAMED[0])
}
