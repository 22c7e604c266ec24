//! Which strand shows where, and the picture of it.
use super::inches;
use proptest::prelude::*;
use thrumhall::drawing::rug_face::{Ink, Picture, PictureError, Swatch};
use thrumhall::planning::colour::Hex;
use thrumhall::planning::pattern::{AtRod, Band, Face, Pattern, Twining, WovenFrom};
use thrumhall::planning::reading::lines;

fn band(height: f64, a: u16, b: u16) -> Band {
    Band::plain(inches(height), [a, b])
}

fn twined(units: u32, at_rod: AtRod) -> Twining {
    Twining { strip: inches(1.5), units, at_rod, from: WovenFrom::OneEnd }
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
    let pattern = |at_rod| Pattern::new(&[band(1.0, 0, 1)], 4.0, twined(5, at_rod));
    assert_eq!(drawn(&pattern(AtRod::Trade), Face::Front), ["01010", "10101", "01010", "10101"]);
    assert_eq!(drawn(&pattern(AtRod::Keep), Face::Front), ["01010"; 4]);
    assert_eq!(drawn(&pattern(AtRod::Keep), Face::Back), ["10101"; 4]);
    assert_eq!(pattern(AtRod::Keep).colour(4, 0, Face::Front), None);
}

#[test]
fn the_back_shows_what_the_front_hides_seen_from_behind() {
    for (units, at_rod) in [(5, AtRod::Trade), (6, AtRod::Trade), (6, AtRod::Keep)] {
        let pattern = Pattern::new(&[band(2.0, 0, 1)], 4.0, twined(units, at_rod));
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
    let pattern =
        Pattern::new(&[band(2.0, 0, 0), band(0.55, 1, 2), band(3.0, 1, 0)], 4.0, twined(3, AtRod::Trade));
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

/// Rows that the two halves of a rug woven from both ends show, and whether they match, for every way to weave.
#[test]
fn halves_match_where_the_figure_goes_on() {
    for (units, height, at_rod) in [4, 5, 6, 7]
        .into_iter()
        .flat_map(|units| [2.0, 2.25].map(|height| (units, height)))
        .flat_map(|(units, height)| [AtRod::Trade, AtRod::Keep].map(|at_rod| (units, height, at_rod)))
    {
        let bands = [band(height, 0, 1)];
        let of = |from| Pattern::new(&bands, 4.0, Twining { from, ..twined(units, at_rod) });
        let one_way = of(WovenFrom::OneEnd);
        assert_eq!((one_way.joint(), one_way.first_half()), (None, one_way.rows()));
        let mut matching = 0;
        for from in [WovenFrom::BothEnds, WovenFrom::BothEndsOtherFirst] {
            let both = of(from);
            let joint = both.joint().unwrap();
            assert_eq!(joint.row, both.rows().div_ceil(2));
            // The half from the start is as in a rug woven in one direction, on both faces.
            for face in [Face::Front, Face::Back] {
                let half = |pattern: &Pattern| drawn(pattern, face)[..joint.row as usize].to_vec();
                assert_eq!(half(&both), half(&one_way));
                // It matches exactly when the whole rug is as if woven in one direction.
                assert_eq!(
                    joint.matches,
                    drawn(&both, face) == drawn(&one_way, face),
                    "{units} {height} {at_rod:?}"
                );
            }
            matching += usize::from(joint.matches);
        }
        assert_eq!(matching, 1, "one way to begin the second half always matches");
    }
}

#[test]
fn a_rug_from_both_ends_is_woven_band_by_band_to_the_middle() {
    let bands = [band(1.0, 0, 0), band(2.0, 1, 2), band(1.0, 0, 0)];
    let both = Pattern::new(&bands, 4.0, Twining { from: WovenFrom::BothEnds, ..twined(5, AtRod::Trade) });
    let order: Vec<_> =
        both.in_weaving_order().into_iter().map(|(i, part)| (i, part.from_row, part.to_row)).collect();
    assert_eq!(order, [(0, 0, 4), (1, 4, 8), (2, 12, 16), (1, 8, 12)]);
    let runs: Vec<_> = both.runs().iter().map(|r| (r.strand, r.colour, r.rows, r.opens)).collect();
    let half = [(0, 0, 4, true), (0, 1, 4, false), (1, 0, 4, true), (1, 2, 4, false)];
    assert_eq!(runs, [half, half].concat());
    assert_eq!(both.woven_to(6), (inches(1.5), false));
    assert_eq!(both.woven_to(8), (inches(2.0), false));
    assert_eq!(both.woven_to(12), (inches(1.0), true));
    assert_eq!(both.woven_to(16), (inches(2.0), true));
}

/// Thinner strips lie closer: by the square root of their width, as rows do for any strip.
#[test]
fn a_header_of_thinner_strips_has_closer_rows() {
    let header = Band { strip: Some(inches(0.375)), ..band(1.0, 0, 0) };
    let pattern = Pattern::new(&[header, band(2.0, 0, 1), header], 4.0, twined(5, AtRod::Trade));
    let rows: Vec<_> = pattern.bands.iter().map(|b| (b.from_row, b.to_row)).collect();
    assert_eq!(rows, [(0, 8), (8, 16), (16, 24)]);
    assert_eq!(pattern.bands[2].end, inches(4.0));
    let runs: Vec<_> =
        pattern.runs().iter().filter(|run| run.strand == 0).map(|r| (r.strip, r.rows)).collect();
    assert_eq!(runs, [(Some(inches(0.375)), 8), (None, 8), (Some(inches(0.375)), 8)]);
}

#[test]
fn the_reading_lines_say_what_shows_at_the_weavers_left() {
    let bands = [band(1.0, 0, 0), band(1.0, 1, 2), band(1.0, 1, 2), band(1.0, 0, 0)];
    let of = |from| lines(&Pattern::new(&bands, 4.0, Twining { from, ..twined(5, AtRod::Trade) }));
    let one_way = of(WovenFrom::OneEnd);
    let rows: Vec<_> = one_way.iter().map(|line| (line.first, line.last, line.until)).collect();
    assert_eq!(rows, [(1, 4, inches(1.0)), (5, 12, inches(3.0)), (13, 16, inches(4.0))]);
    assert_eq!((one_way[0].colours_at_left(), one_way[1].colours_at_left()), (None, Some([1, 2])));
    for from in [WovenFrom::BothEnds, WovenFrom::BothEndsOtherFirst] {
        let both = of(from);
        let rows: Vec<_> = both.iter().map(|line| (line.from_far_end, line.first, line.last)).collect();
        assert_eq!(rows, [(false, 1, 4), (false, 5, 8), (true, 1, 4), (true, 5, 8)]);
        // A weaver turns the frame and begins again as at first, or with the other strand.
        let other = from == WovenFrom::BothEndsOtherFirst;
        assert_eq!(both[1].at_left, [0, 1]);
        assert_eq!(both[3].at_left, if other { [1, 0] } else { [0, 1] });
    }
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
    let pattern = Pattern::new(&[band(16.0, 0, 0), band(16.0, 0, 1)], 4.0, twined(33, AtRod::Trade));
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
    let pattern = Pattern::new(&[band(0.5, 0, 1)], 4.0, twined(3, AtRod::Trade));
    let drawing = svg(&pattern, Face::Front, Ink::Colour).unwrap();
    assert!(drawing.contains(r#"d="M1 0h1v1h-1zM0 1h1v1h-1zM2 1h1v1h-1z""#), "{drawing}");
    let columns = Pattern { at_rod: AtRod::Keep, ..pattern };
    assert!(svg(&columns, Face::Front, Ink::Colour).unwrap().contains(r#"d="M1 0h1v2h-1z""#));
}

#[test]
fn a_colour_that_is_missing_is_named() {
    let pattern = Pattern::new(&[band(1.0, 0, 9)], 4.0, twined(3, AtRod::Trade));
    assert_eq!(
        svg(&pattern, Face::Front, Ink::Colour).unwrap_err().to_string(),
        "The rug uses colour 10, but only 2 colours are listed."
    );
}

#[test]
fn a_huge_rug_is_still_a_small_picture() {
    let pattern = Pattern::new(&[band(144.0, 0, 1)], 12.0, twined(1199, AtRod::Trade));
    let drawing = svg(&pattern, Face::Front, Ink::Colour).unwrap();
    assert!(drawing.len() < 600_000, "{} bytes", drawing.len());
}

proptest! {
    #[test]
    fn splitting_a_band_changes_no_cell(height in 0.5..20.0_f64, cut in 0.1..0.9_f64, rate in 2.0..8.0_f64, trade: bool) {
        let at_rod = if trade { AtRod::Trade } else { AtRod::Keep };
        let whole = Pattern::new(&[band(height, 0, 1), band(2.0, 1, 1)], rate, twined(7, at_rod));
        let (first, all) = (inches(height * cut), inches(height));
        let parts = [
            Band::plain(first, [0, 1]),
            Band::plain(all - first, [0, 1]),
            band(2.0, 1, 1),
        ];
        let split = Pattern::new(&parts, rate, twined(7, at_rod));
        prop_assert_eq!(whole.rows(), split.rows());
        prop_assert_eq!(whole.runs(), split.runs());
        for face in [Face::Front, Face::Back] {
            prop_assert_eq!(drawn(&whole, face), drawn(&split, face));
        }
    }
}
