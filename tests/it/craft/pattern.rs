//! Which strand shows where, and the picture of it.
use super::inches;
use proptest::prelude::*;
use thrumhall::craft::colour::Hex;
use thrumhall::craft::pattern::{AtRod, Band, Face, Pattern};
use thrumhall::craft::picture::{Ink, Picture, PictureError, Swatch};

fn band(height: f64, a: u16, b: u16) -> Band {
    Band { height: inches(height), colours: [a, b] }
}

fn drawn(pattern: &Pattern, face: Face) -> Vec<String> {
    (0..pattern.rows())
        .map(|row| {
            (0..pattern.units)
                .filter_map(|unit| pattern.colour(row, unit, face))
                .map(|c| c.to_string())
                .collect()
        })
        .collect()
}

/// How twining looks: two strands of two colours show in turn along a row. Common practice, no source.
#[test]
fn trading_places_makes_checks_and_keeping_them_makes_columns() {
    let pattern = |at_rod| Pattern::new(&[band(1.0, 0, 1)], 4.0, 5, at_rod);
    assert_eq!(drawn(&pattern(AtRod::Trade), Face::Front), ["01010", "10101", "01010", "10101"]);
    assert_eq!(drawn(&pattern(AtRod::Keep), Face::Front), ["01010"; 4]);
    assert_eq!(drawn(&pattern(AtRod::Keep), Face::Back), ["10101"; 4]);
    assert_eq!(pattern(AtRod::Keep).colour(4, 0, Face::Front), None);
}

#[test]
fn the_back_shows_what_the_front_hides_seen_from_behind() {
    for (units, at_rod) in [(5, AtRod::Trade), (6, AtRod::Trade), (6, AtRod::Keep)] {
        let pattern = Pattern::new(&[band(2.0, 0, 1)], 4.0, units, at_rod);
        for row in 0..pattern.rows() {
            for unit in 0..units {
                assert_ne!(
                    pattern.strand(row, unit, Face::Front),
                    pattern.strand(row, units - 1 - unit, Face::Back)
                );
            }
        }
    }
}

#[test]
fn bands_follow_one_another() {
    let pattern = Pattern::new(&[band(2.0, 0, 0), band(0.55, 1, 2), band(3.0, 1, 0)], 4.0, 3, AtRod::Trade);
    let rows: Vec<_> = pattern.bands.iter().map(|b| (b.from_row, b.to_row)).collect();
    assert_eq!(rows, [(0, 8), (8, 10), (10, 22)]);
    assert_eq!(pattern.bands[2].start, inches(2.55));
    assert_eq!(pattern.colours(), [0, 1, 2]);
    let runs: Vec<_> = pattern.runs().iter().map(|r| (r.strand, r.colour, r.rows, r.opens)).collect();
    assert_eq!(
        runs,
        [(0, 0, 8, true), (0, 1, 14, false), (1, 0, 8, true), (1, 2, 2, false), (1, 0, 12, false)]
    );
}

fn swatches() -> Vec<Swatch> {
    [("linen", "#EFE6D0"), ("<sea & \"salt\">", "#2f5d73")]
        .map(|(name, hex)| Swatch {
            name: name.to_owned(),
            hex: Hex::parse(hex).unwrap_or_else(|e| panic!("{e}")),
        })
        .to_vec()
}

fn svg(pattern: &Pattern, face: Face, ink: Ink) -> Result<String, PictureError> {
    let palette = swatches();
    let (length, width) = (inches(32.0), inches(18.0));
    Picture { pattern, length, width, palette: &palette, face, ink, id: "rug-7\" onload=\"" }.svg()
}

#[test]
fn the_picture_has_words_and_nothing_that_the_page_forbids() {
    let pattern = Pattern::new(&[band(16.0, 0, 0), band(16.0, 0, 1)], 4.0, 33, AtRod::Trade);
    for (face, ink) in [(Face::Front, Ink::Colour), (Face::Back, Ink::Colour), (Face::Front, Ink::Hatch)] {
        let drawing = svg(&pattern, face, ink).unwrap();
        assert!(!drawing.contains("style") && !drawing.contains("script") && !drawing.contains(" onload"));
        assert!(drawing.contains("checks in linen and &lt;sea &amp; &quot;salt&quot;&gt;"), "{drawing:.600}");
        assert!(drawing.len() < 60_000, "{} bytes", drawing.len());
        let page = scraper::Html::parse_fragment(&drawing);
        for part in ["title", "desc"] {
            let found = page.select(&scraper::Selector::parse(part).unwrap()).count();
            assert_eq!(found, 1, "{part}");
        }
    }
    let grey = svg(&pattern, Face::Front, Ink::Hatch).unwrap();
    assert!(!grey.contains("#2f5d73") && grey.contains("url(#rug-7onload-h1)"));
}

#[test]
fn the_picture_draws_the_cells_where_the_second_strand_shows() {
    let pattern = Pattern::new(&[band(0.5, 0, 1)], 4.0, 3, AtRod::Trade);
    let drawing = svg(&pattern, Face::Front, Ink::Colour).unwrap();
    assert!(drawing.contains(r#"d="M1 0h1v1h-1zM0 1h1v1h-1zM2 1h1v1h-1z""#), "{drawing}");
    let columns = Pattern { at_rod: AtRod::Keep, ..pattern };
    assert!(svg(&columns, Face::Front, Ink::Colour).unwrap().contains(r#"d="M1 0h1v2h-1z""#));
}

#[test]
fn a_colour_that_is_missing_is_named() {
    let pattern = Pattern::new(&[band(1.0, 0, 9)], 4.0, 3, AtRod::Trade);
    assert_eq!(
        svg(&pattern, Face::Front, Ink::Colour).unwrap_err().to_string(),
        "The rug uses colour 10, but only 2 colours are listed."
    );
}

#[test]
fn a_huge_rug_is_still_a_small_picture() {
    let pattern = Pattern::new(&[band(144.0, 0, 1)], 12.0, 1199, AtRod::Trade);
    let drawing = svg(&pattern, Face::Front, Ink::Colour).unwrap();
    assert!(drawing.len() < 600_000, "{} bytes", drawing.len());
}

proptest! {
    #[test]
    fn splitting_a_band_changes_no_cell(height in 0.5..20.0_f64, cut in 0.1..0.9_f64, rate in 2.0..8.0_f64, trade: bool) {
        let at_rod = if trade { AtRod::Trade } else { AtRod::Keep };
        let whole = Pattern::new(&[band(height, 0, 1), band(2.0, 1, 1)], rate, 7, at_rod);
        let (first, all) = (inches(height * cut), inches(height));
        let parts = [
            Band { height: first, colours: [0, 1] },
            Band { height: all - first, colours: [0, 1] },
            band(2.0, 1, 1),
        ];
        let split = Pattern::new(&parts, rate, 7, at_rod);
        prop_assert_eq!(whole.rows(), split.rows());
        prop_assert_eq!(whole.runs(), split.runs());
        for face in [Face::Front, Face::Back] {
            prop_assert_eq!(drawn(&whole, face), drawn(&split, face));
        }
    }
}
