//! How the weft's numbers came about, whole and by colour.
use super::{COUNTING, GEOMETRY, MASS, count};
use crate::planning::needs::Needs;
use crate::planning::pattern::BandRows;
use crate::planning::plan::{ColourNeed, Plan};
use crate::planning::settings::{Parameter, Provenance};
use crate::planning::spec::Rug;
use crate::planning::strand::helix;
use crate::planning::uncertainty::estimate::Range;
use crate::planning::workings::Derivation;
use crate::units::Quantity::{self, Count, PerInch};

pub(super) fn workings(rug: &Rug, needs: &Needs, plan: &Plan) -> Vec<Derivation> {
    let (weft, settings) = (&plan.weft, &rug.settings);
    let rows = Derivation::new("weft.rows_per_inch", "Rows to the inch", PerInch(needs.rows_per_inch));
    let rows = if settings.get(Parameter::RowsPerInch).basis == Provenance::Default {
        rows.by(
            "rows of the reference · √(1½ in · 130 g/m² / (strip width · g/m²))",
            "a strip packs as a round bundle; reasoned",
        )
        .chosen("strip width", rug.spec.strip_width)
        .parameters(settings, &[Parameter::RowsPerInch, Parameter::WeftAreal])
    } else {
        rows.by("as measured or learnt, by closer or wider rows", COUNTING)
            .parameters(settings, &[Parameter::RowsPerInch, Parameter::Packing])
    };
    let weighed = [Parameter::GramsPerRow, Parameter::WeftAreal]
        .iter()
        .all(|&d| settings.get(d).basis != Provenance::Default);
    let strand = Derivation::new("weft.strand", "One strand, one row", needs.strand);
    let strand = if weighed {
        strand
            .by("weight of a row / (strip width · g/m²) / 2, less what joins take", MASS)
            .chosen("strip width", rug.spec.strip_width)
            .parameters(
                settings,
                &[Parameter::GramsPerRow, Parameter::WeftAreal, Parameter::Join, Parameter::WeftPiece],
            )
    } else {
        strand
            .by("width · (1 + take-up) + turn", GEOMETRY)
            .worked("width", rug.width, "size.width")
            .worked("take-up", Quantity::Ratio(needs.take_up), "weft.take_up")
            .parameters(settings, &[Parameter::RodTurn])
    };
    let take_up = Derivation::new("weft.take_up", "Weft take-up", Quantity::Ratio(needs.take_up));
    let take_up = if settings.get(Parameter::TakeUp).basis == Provenance::Default {
        take_up
            .by(
                "default · c / c at the usual pitch, c = √(p² + (πd/2)²)/p − 1, p = width / units, d = thickness of weft and \
                 warp together; the usual pitch is 33 units on 18 in, weft and warp of 1½ in at 130 g/m²",
                "a half-twist helix round each unit; geometry, no published rug rule",
            )
            .worked("width", rug.width, "size.width")
            .worked("units", count(plan.warp.units), "warp.units")
            .chosen("strip width", rug.spec.strip_width)
            .worked("thickness of the warp", needs.thickness, "warp.thickness")
            .parameters(settings, &[Parameter::TakeUp, Parameter::WeftAreal, Parameter::StripThickness])
    } else {
        take_up.by("as measured or learnt", COUNTING).parameters(settings, &[Parameter::TakeUp])
    };
    let far_rows = weft.rows.saturating_sub(plan.pattern.first_far_row());
    let splits = plan.warp.locking.splits(f64::from(weft.rows), f64::from(far_rows));
    let range = Range { low: count(weft.rows_low), expected: count(weft.rows), p90: count(weft.rows_take) };
    let length = Derivation::new("weft.length", "Weft strip", weft.length.expected);
    let length = if charted(plan) {
        length
            .by("2 · (rows · strand + turns more · strip for one), for each width of strip", GEOMETRY)
            .worked("turns more", Count(weft.extra_turns as f64), "weft.extra_turns")
            .worked("strip for one turn more", weft.extra_turn, "weft.extra_turn")
    } else {
        length.by("2 · rows · strand, for each width of strip", GEOMETRY)
    };
    let mut all = vec![
        rows,
        Derivation::new("weft.rows", "Rows", count(weft.rows))
            .by("length · rows to the inch, rounded at the end of each band", COUNTING)
            .over(range)
            .worked("length", rug.length, "size.length")
            .worked("rows to the inch", PerInch(needs.rows_per_inch), "weft.rows_per_inch"),
        Derivation::new("weft.twists", "Twists", Count(weft.twists as f64))
            .by(
                "crossings of a row, for those that are woven as the near end’s and those woven as the far end’s, and one more for each \
                 unit that is split at a nail",
                COUNTING,
            )
            .worked("rows", count(weft.rows), "weft.rows")
            .chosen("rows as at the far end", count(far_rows))
            .worked("crossings of a row as at the near end", count(plan.pattern.near.units()), "warp.locking.near")
            .worked("crossings of a row as at the far end", count(plan.pattern.far.units()), "warp.locking.far")
            .chosen("units split at the nails", Count(splits)),
        take_up,
        strand,
        length
            .over(weft.length)
            .worked("rows", count(weft.rows), "weft.rows")
            .worked("one strand, one row", needs.strand, "weft.strand"),
        Derivation::new("weft.joins", "Weft joins", count(weft.joins))
            .by("pieces in each run of one colour, but the first of each strand", COUNTING)
            .worked("weft strip", weft.length.expected, "weft.length")
            .parameters(settings, &[Parameter::WeftPiece, Parameter::Join]),
        Derivation::new("weft.cut", "Weft strip to cut", weft.cut.expected)
            .by("weft strip + joins · join", GEOMETRY)
            .over(weft.cut)
            .worked("weft strip", weft.length.expected, "weft.length")
            .worked("joins", count(weft.joins), "weft.joins")
            .parameters(settings, &[Parameter::Join]),
    ];
    if charted(plan) {
        all.extend(turns(rug, needs, plan));
    }
    all
}

fn charted(plan: &Plan) -> bool {
    !plan.pattern.charts.is_empty()
}

/// The turns that charts ask for, and what one takes.
fn turns(rug: &Rug, needs: &Needs, plan: &Plan) -> [Derivation; 2] {
    let weft = &plan.weft;
    let counted = Derivation::new("weft.extra_turns", "Turns more", Count(weft.extra_turns as f64)).by(
        "in each row of a chart, units beside each other that show the same colour: there the strands make a whole turn, elsewhere \
         half a turn",
        "a half turn changes the colour in front, a whole turn keeps it: Te Rangi Hiroa (P. H. Buck), The Coming of the Maori (1949), p. 171",
    );
    let of_band = |(number, band): (usize, &BandRows)| {
        let turns = plan.pattern.extra_turns_between(band.from_row, band.to_row);
        (turns > 0).then(|| (format!("in band {number}"), turns))
    };
    let of_bands = (1..).zip(&plan.pattern.bands).filter_map(of_band);
    let counted = of_bands.fold(counted, |sum, (name, turns)| sum.chosen(name, count(turns)));
    let (unit, between) = helix(rug, &rug.settings.at(), rug.spec.strip_width);
    let one = Derivation::new("weft.extra_turn", "Strip for one turn more, each strand", weft.extra_turn)
        .by(
            "p · take-up · (c₂ / c₁ − 1), c₁ = √(p² + (πd/2)²)/p − 1 for half a turn, c₂ = √(p² + (πd)²)/p − 1 for a whole one; where \
             a row was weighed, by as much more or less as the row is",
            "a helix round each unit; geometry, no published rug rule",
        )
        .chosen("p, width / units", unit)
        .chosen("d, thickness of weft and warp together", between)
        .worked("take-up", Quantity::Ratio(needs.take_up), "weft.take_up");
    [counted, one]
}

pub(super) fn colours(plan: &Plan) -> Vec<Derivation> {
    let of = |need: &ColourNeed| {
        let name = u32::from(need.colour) + 1;
        let key = |what: &str| format!("weft.colour.{}.{what}", need.key);
        let strip = Derivation::new(key("length"), format!("Strip of colour {name}"), need.length.expected);
        let strip = if charted(plan) {
            strip
                .by(
                    "rows of the strands in this colour · strand + turns more in them · strip for one",
                    COUNTING,
                )
                .worked("strip for one turn more", plan.weft.extra_turn, "weft.extra_turn")
        } else {
            strip.by("rows of the strands in this colour · strand", COUNTING)
        };
        [
            strip.over(need.length).worked("one strand, one row", plan.weft.strand, "weft.strand"),
            Derivation::new(key("joins"), format!("Joins in colour {name}"), count(need.joins))
                .by("pieces in each run of this colour, but the first of each strand", COUNTING)
                .worked("strip", need.length.expected, key("length")),
            Derivation::new(key("cut"), format!("Strip to cut of colour {name}"), need.cut.expected)
                .by("strip + joins · join", GEOMETRY)
                .over(need.cut)
                .worked("strip", need.length.expected, key("length"))
                .worked("joins", count(need.joins), key("joins")),
            Derivation::new(key("mass"), format!("Weight of colour {name}"), need.mass.expected)
                .by("weft weight · strip to cut of this colour / weft strip to cut", MASS)
                .over(need.mass)
                .worked("weft weight", plan.cloth.weft.expected, "cloth.weft")
                .worked("strip to cut", need.cut.expected, key("cut"))
                .worked("weft strip to cut", plan.weft.cut.expected, "weft.cut"),
        ]
    };
    plan.weft.colours.iter().flat_map(of).collect()
}
