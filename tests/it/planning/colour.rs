//! Colours against published values, and their families against the colour words that everybody uses.
use proptest::prelude::*;
use thrumhall::planning::colour::{Family, Hex, Lab, NAMED, named, nearest};

fn hex(text: &str) -> Hex {
    Hex::parse(text).unwrap()
}

/// Source: Sharma, Wu, Dalal, Color Res. Appl. 30 (2005) 21–30, Table 1: 34 pairs to four decimals.
#[test]
fn the_published_pairs_differ_as_published() {
    let pairs = include_str!("../vectors/ciede2000.csv").lines().skip(2).map(|line| {
        let row: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        <[f64; 7]>::try_from(row).unwrap()
    });
    let mut seen = 0;
    for [l1, a1, b1, l2, a2, b2, wanted] in pairs {
        let (first, second) = (Lab::new(l1, a1, b1), Lab::new(l2, a2, b2));
        for got in [first.difference(second), second.difference(first)] {
            assert!((got - wanted).abs() < 5e-5, "{first:?} to {second:?}: {got}, published {wanted}");
        }
        seen += 1;
    }
    assert_eq!(seen, 34);
}

/// Source: IEC 61966-2-1 with CIE 1976 (D65, 2°), computed with `colour-science` of the Python index; rounding of the white
/// point and of the matrix moves the second decimal.
#[test]
fn screen_colours_lie_where_they_should_in_cielab() {
    let table = [
        ("#FF0000", [53.233, 80.112, 67.224]),
        ("#00ff00", [87.737, -86.183, 83.188]),
        ("#0000ff", [32.303, 79.198, -107.850]),
        ("#808080", [53.585, 0.0, 0.0]),
    ];
    for (text, wanted) in table {
        let got = hex(text).lab().parts();
        for (g, w) in got.into_iter().zip(wanted) {
            assert!((g - w).abs() < 0.03, "{text}: {got:?}, wanted {wanted:?}");
        }
    }
}

/// Colour words that hold the word of a family: W3C, CSS Color Module Level 4, §6.1 (values from memory).
const CSS: &[(&str, &str, Family)] = &[
    ("white", "#ffffff", Family::White),
    ("floralwhite", "#fffaf0", Family::White),
    ("antiquewhite", "#faebd7", Family::White),
    ("black", "#000000", Family::Black),
    ("gray", "#808080", Family::Grey),
    ("dimgray", "#696969", Family::Grey),
    ("lightgray", "#d3d3d3", Family::Grey),
    ("saddlebrown", "#8b4513", Family::Brown),
    ("red", "#ff0000", Family::Red),
    ("darkred", "#8b0000", Family::Red),
    ("indianred", "#cd5c5c", Family::Red),
    ("pink", "#ffc0cb", Family::Pink),
    ("lightpink", "#ffb6c1", Family::Pink),
    ("hotpink", "#ff69b4", Family::Pink),
    ("deeppink", "#ff1493", Family::Pink),
    ("orange", "#ffa500", Family::Orange),
    ("darkorange", "#ff8c00", Family::Orange),
    ("yellow", "#ffff00", Family::Yellow),
    ("green", "#008000", Family::Green),
    ("darkgreen", "#006400", Family::Green),
    ("lightgreen", "#90ee90", Family::Green),
    ("palegreen", "#98fb98", Family::Green),
    ("seagreen", "#2e8b57", Family::Green),
    ("darkseagreen", "#8fbc8f", Family::Green),
    ("forestgreen", "#228b22", Family::Green),
    ("darkolivegreen", "#556b2f", Family::Green),
    ("lawngreen", "#7cfc00", Family::Green),
    ("blue", "#0000ff", Family::Blue),
    ("darkblue", "#00008b", Family::Blue),
    ("midnightblue", "#191970", Family::Blue),
    ("royalblue", "#4169e1", Family::Blue),
    ("steelblue", "#4682b4", Family::Blue),
    ("lightblue", "#add8e6", Family::Blue),
    ("skyblue", "#87ceeb", Family::Blue),
    ("powderblue", "#b0e0e6", Family::Blue),
    ("cadetblue", "#5f9ea0", Family::Blue),
    ("purple", "#800080", Family::Purple),
    ("mediumpurple", "#9370db", Family::Purple),
    ("rebeccapurple", "#663399", Family::Purple),
];

#[test]
fn everyday_colour_words_fall_in_their_family() {
    let wrong: Vec<_> = CSS
        .iter()
        .map(|(name, text, family)| (*name, hex(text).family(), *family))
        .filter(|(_, got, wanted)| got != wanted)
        .collect();
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
fn each_offered_colour_is_itself_and_unlike_the_others() {
    use Family::{Black, Blue, Brown, Green, Grey, Orange, Pink, Purple, Red, White, Yellow};
    let families: Vec<Family> = NAMED.iter().map(|colour| colour.hex.family()).collect();
    assert_eq!(
        families,
        [
            White, White, Brown, Brown, Grey, Grey, Grey, Black, Yellow, Yellow, Orange, Orange, Pink, Red,
            Red, Purple, Purple, Blue, Blue, Blue, Blue, Green, Green, Green
        ]
    );
    for (i, colour) in NAMED.iter().enumerate() {
        assert_eq!(named(colour.key), Some(colour));
        assert_eq!(nearest(colour.hex), colour);
        for other in &NAMED[i + 1..] {
            let apart = colour.hex.difference(other.hex);
            // Five and more is another colour to everybody: the usual reading of CIEDE2000, from memory.
            assert!(apart > 5.0, "{} and {} are only {apart:.1} apart", colour.name, other.name);
        }
    }
    assert_eq!(nearest(hex("#23305b")).key, "navy");
    assert_eq!(named("plaid"), None);
}

#[test]
fn what_is_no_colour_is_named() {
    for text in
        ["red", "#12345", "#12345g", "#+12345", "#1234567", "#ffffff\" onload=\"x", "", "#١٢٣", " #123456"]
    {
        assert!(Hex::parse(text).is_err(), "{text}");
    }
    assert_eq!(
        Hex::parse("navy\u{7}").unwrap_err().to_string(),
        "“navy” isn't a colour: write # and six of 0 to 9 and a to f, such as #336699."
    );
    assert_eq!(hex("#A0b1C2").to_string(), "#a0b1c2");
}

proptest! {
    #[test]
    fn every_colour_reads_back_and_has_a_family(rgb in 0_u32..0x0100_0000) {
        let colour = Hex::rgb(rgb);
        prop_assert_eq!(Hex::parse(&colour.to_string()), Ok(colour));
        let family = colour.family();
        prop_assert_eq!(family.key().parse::<Family>(), Ok(family));
        prop_assert!(colour.difference(colour) < 1e-9);
    }
}
