//! Bands woven by a chart: the chart, the pattern, the picture of both faces, the reading card and the steps of a row say the same of
//! every cell; what its turns take is what one counts by hand.
use super::{frame, inches, near, plan};
use proptest::prelude::*;
use thrumhall::drawing::rug_face::{Ink, Picture, Swatch};
use thrumhall::planning::chart::{Chart, ChartError};
use thrumhall::planning::colour::Hex;
use thrumhall::planning::letters::{LettersError, words};
use thrumhall::planning::locking::stepping::{BeginAt, row};
use thrumhall::planning::notices::Remark;
use thrumhall::planning::pattern::{AtRod, Band, Face, WovenFrom};
use thrumhall::planning::reading::lines;
use thrumhall::planning::settings::{Parameter, Provenance, Sample};
use thrumhall::planning::{Plan, RugSpec, SpecError};
use thrumhall::units::{Mass, Units};

/// The row woven first is the last line.
const FOUR: &str = "x..x\n.xx.\nxxxx\n.x.x";

/// Four nails: seven strands, four units of an inch; two inches of four rows each, the first of them by the chart.
fn small_rug(chart: Option<&str>) -> RugSpec {
    let by_chart = Band { chart: chart.map(|_| 0), ..Band::plain(inches(1.0), [0, 1]) };
    let charts = chart.map(|text| Chart::parse(text).unwrap()).into_iter().collect();
    RugSpec {
        bands: vec![by_chart, Band::plain(inches(1.0), [2, 2])],
        charts,
        ..RugSpec::plain(frame(4.0, 6.0, 4))
    }
}

/// By hand, on paper. Rows from the first: `.x.x` has no two units alike beside each other, `xxxx` three pairs, `.xx.` one, `x..x` one.
/// A unit is 1 in (25.4 mm); weft and warp bundles of 1½ in at 130 g/m² are 3.551 mm each, so d = 7.103 mm. Take-up of half turns:
/// 0.28 · (√(25.4² + 11.157²)/25.4 − 1) / (√(13.855² + 11.157²)/13.855 − 1) = 0.28 · 0.09222/0.28396 = 0.09094. A strand in a row:
/// 101.6 · 1.09094 + 19.05 = 129.89 mm. A whole turn: √(25.4² + 22.314²)/25.4 − 1 = 0.33109, so one turn more takes
/// 25.4 · 0.09094 · (0.33109/0.09222 − 1) = 5.98 mm of each strand.
#[test]
fn a_chart_of_four_by_four_takes_what_is_counted_by_hand() {
    let (plain, charted) = (plan(&small_rug(None)), plan(&small_rug(Some(FOUR))));
    assert_eq!((charted.weft.rows, charted.warp.units), (8, 4));
    let turns: Vec<u32> = (0..8).map(|row| charted.pattern.extra_turns(row)).collect();
    assert_eq!(turns, [0, 3, 1, 1, 0, 0, 0, 0]);
    assert_eq!((plain.weft.extra_turns, charted.weft.extra_turns), (0, 5));
    near(charted.weft.strand.mm(), 129.89, 0.01);
    near(charted.weft.extra_turn.mm(), 5.98, 0.01);
    near(charted.weft.length.expected.mm(), 2.0 * (8.0 * 129.89 + 5.0 * 5.98), 0.2);
    // Both strands turn: each colour of the chart takes the five turns more, the third none.
    let of = |colour: u16| charted.weft.colours.iter().find(|need| need.colour == colour).unwrap();
    for colour in [0, 1] {
        near(of(colour).length.expected.mm(), 4.0 * 129.89 + 5.0 * 5.98, 0.1);
    }
    near(of(2).length.expected.mm(), 8.0 * 129.89, 0.1);
    assert!(charted.cloth.weft.expected > plain.cloth.weft.expected);
    // Five turns at two seconds, from one to four of them.
    near((charted.minutes.weave.expected.get() - plain.minutes.weave.expected.get()) * 60.0, 10.0, 1e-6);
    assert!(charted.minutes.weave.p90 > plain.minutes.weave.p90);
    // It is said how.
    let working = |key: &str| charted.workings.iter().find(|working| working.key == key).unwrap();
    assert_eq!(working("weft.extra_turns").inputs[0].name, "in band 1");
    assert!(working("weft.extra_turn").formula.contains("c₂"));
    assert!(working("minutes.weave").inputs.iter().any(|input| input.name.starts_with("one turn more")));
    assert!(
        plain.workings.iter().all(|working| !working.key.contains("extra")),
        "nothing of it without a chart"
    );
    // Each part of the weaving has its own turns, and all parts are the whole.
    let weaving = charted.steps.iter().filter(|step| step.kind.working_key().starts_with("minutes.band"));
    let steps: f64 = weaving.map(|step| step.minutes.get()).sum();
    near(steps, charted.minutes.weave.expected.get(), 1e-9);
}

/// With a chart that only alternates, as the rod makes it to, a rug is the same as without.
#[test]
fn a_chart_of_checks_is_the_checks_of_the_rod() {
    let (plain, checks) = (plan(&small_rug(None)), plan(&small_rug(Some("x.\n.x"))));
    assert_eq!(checks.weft.extra_turns, 0);
    assert_eq!(checks.weft.length, plain.weft.length);
    assert_eq!(checks.minutes.weave, plain.minutes.weave);
    for (row, unit) in (0..8).flat_map(|row| (0..4).map(move |unit| (row, unit))) {
        for face in [Face::Front, Face::Back] {
            assert_eq!(checks.pattern.colour(row, unit, face), plain.pattern.colour(row, unit, face));
        }
    }
}

/// A weighed sample is of the rug's first rows, and the turns in it are not counted twice.
#[test]
fn a_sample_from_the_chart_tells_of_a_row_without_its_turns() {
    let solid = "xxxx\nxxxx\nxxxx\nxxxx";
    let sample = Sample { woven: inches(1.0), rows: 4, mass: Some(Mass::from_grams(12.0)) };
    let rug = RugSpec { sample: Some(sample), ..small_rug(Some(solid)) };
    let rug = RugSpec { bands: vec![Band { height: inches(2.0), ..rug.bands[0] }], ..rug };
    let planned = plan(&rug);
    assert_eq!(
        rug.check(Units::Inches).unwrap().settings.get(Parameter::GramsPerRow).basis,
        Provenance::Measured
    );
    // Eight rows like the four that weighed 12 g.
    near(planned.cloth.weft.expected.grams(), 24.0, 0.05);
}

#[test]
fn a_chart_that_cant_be_is_refused_in_words() {
    let refused = |text: &str| Chart::parse(text).unwrap_err();
    assert_eq!(refused(" \n \n"), ChartError::Empty);
    assert_eq!(refused("x.\n.o"), ChartError::Letter { line: 2, found: 'o' });
    assert_eq!(refused("\nx.\n.x.\n"), ChartError::Uneven { line: 3, given: 3, first: 2 });
    assert_eq!(refused(&".".repeat(121)), ChartError::TooWide { given: 121 });
    assert_eq!(refused(&".\n".repeat(121)), ChartError::TooHigh { given: 121 });
    assert!(refused("x.\n.o").to_string().starts_with("Line 2 of the chart has “o”"));
    let refused = |spec: RugSpec| Plan::of(&spec, Units::Inches).unwrap_err();
    let mut one_colour = small_rug(Some(FOUR));
    one_colour.bands[0].colours = [1, 1];
    assert_eq!(refused(one_colour), SpecError::ChartInOneColour { number: 1 });
    let none = RugSpec { charts: Vec::new(), ..small_rug(Some(FOUR)) };
    assert_eq!(refused(none), SpecError::NoSuchChart { number: 1, chart: 1, known: 0 });
    let wide = plan(&small_rug(Some("xx.x.")));
    assert!(wide.notices.contains(&Remark::ChartTooWide { band: 1, chart: 5, units: 4 }));
    let high = plan(&small_rug(Some("x\n.\nx\n.\nx")));
    assert!(high.notices.contains(&Remark::ChartTooHigh { band: 1, chart: 5, rows: 4 }));
}

#[test]
fn letters_are_drawn_as_high_as_they_are_to_be() {
    let low = words("Ada 7!", 1).unwrap();
    assert_eq!(low.high(), 7);
    assert_eq!(words("Ada 7!", 3).unwrap().high(), 17);
    assert_eq!(low.lines()[1], "..x..xx...x.....xxx.x.");
    assert_eq!(words("  ", 1), Err(LettersError::Nothing));
    assert_eq!(words("né", 1), Err(LettersError::Unknown('é')));
    assert!(matches!(words(&"M".repeat(40), 1), Err(LettersError::Chart(ChartError::TooWide { .. }))));
    // Every letter is five equally wide lines.
    for letter in ('A'..='Z').chain('0'..='9').chain("-+.!?".chars()) {
        assert!(words(&letter.to_string(), 1).is_ok(), "{letter}");
    }
}

/// The cells that a drawing fills over its ground: strand 1's, row by row.
fn drawn(plan: &Plan, face: Face) -> Vec<Vec<usize>> {
    let swatch = |name: &str, hex: &str| Swatch { name: name.into(), hex: Hex::parse(hex).unwrap() };
    let palette = [swatch("Cream", "#f1e7cf"), swatch("Navy", "#22305a")];
    let (pattern, length, width) = (&plan.pattern, plan.length, plan.width);
    let svg =
        Picture { pattern, length, width, palette: &palette, face, ink: Ink::Colour, id: "x" }.svg().unwrap();
    let mut cells = vec![vec![0; pattern.units as usize]; pattern.rows() as usize];
    let path = svg.split("<path d=\"").nth(1).map_or("", |rest| rest.split('"').next().unwrap());
    for part in path.split('M').filter(|part| !part.is_empty()) {
        let (at, rest) = part.split_once('h').unwrap();
        let (x, y) = at.split_once(' ').unwrap();
        let (wide, rest) = rest.split_once('v').unwrap();
        let high = rest.split_once('h').unwrap().0;
        let number = |text: &str| text.parse::<f64>().unwrap().round() as usize;
        for row in &mut cells[number(y)..number(y) + number(high)] {
            row[number(x)..number(x) + number(wide)].fill(1);
        }
    }
    cells
}

fn charts() -> impl Strategy<Value = Chart> {
    let rows = (1_usize..=9, 1_usize..=8).prop_flat_map(|(across, high)| {
        prop::collection::vec(prop::collection::vec(any::<bool>(), across), high)
    });
    (rows, 0_i64..9, 0_i64..8).prop_map(|(rows, right, up)| {
        let line =
            |row: Vec<bool>| row.into_iter().map(|other| if other { 'x' } else { '.' }).collect::<String>();
        let text = rows.into_iter().map(line).collect::<Vec<_>>().join("\n");
        Chart::parse(&text).unwrap().moved(right, up)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn chart_pattern_picture_reading_card_and_stepper_say_the_same(
        chart in charts(),
        keep in any::<bool>(),
        from in prop::sample::select(vec![WovenFrom::OneEnd, WovenFrom::BothEnds, WovenFrom::BothEndsOtherFirst]),
        begin in prop::sample::select(vec![BeginAt::Left, BeginAt::Right]),
    ) {
        // Units of one strand: every row takes them alike, so that cells of rows lie over each other.
        let band = Band { chart: Some(0), ..Band::plain(inches(3.0), [0, 1]) };
        let rug = RugSpec {
            bands: vec![band],
            charts: vec![chart.clone()],
            unit_size: 1,
            from,
            at_rod: if keep { AtRod::Keep } else { AtRod::Trade },
            ..RugSpec::plain(frame(9.0, 12.0, 6))
        };
        let planned = plan(&rug);
        let pattern = &planned.pattern;
        let (rows, units) = (pattern.rows(), pattern.units);
        // The chart itself, from its text: the last line is the first row.
        let text: Vec<Vec<char>> = chart.lines().iter().rev().map(|line| line.chars().collect()).collect();
        let [right, up] = chart.moved_by();
        let cell = |row: u32, unit: u32| {
            let row = (row + chart.high() * 100 - up) % chart.high();
            let unit = (unit + chart.across() * 100 - right) % chart.across();
            usize::from(text[row as usize][unit as usize] == 'x')
        };
        let [front, back] = [Face::Front, Face::Back].map(|face| drawn(&planned, face));
        for (row, unit) in (0..rows).flat_map(|row| (0..units).map(move |unit| (row, unit))) {
            let wanted = cell(row, unit);
            prop_assert_eq!(pattern.strand(row, unit, Face::Front), wanted);
            // Where one strand is in front, the other is behind, half turns or whole ones; seen from there left is right.
            prop_assert_eq!(pattern.strand(row, units - 1 - unit, Face::Back), 1 - wanted);
            prop_assert_eq!(front[row as usize][unit as usize], wanted);
            prop_assert_eq!(back[row as usize][(units - 1 - unit) as usize], 1 - wanted);
        }
        // The reading card, row by row as they are woven.
        let half = pattern.first_half();
        let order: Vec<(u32, bool)> =
            (0..half).map(|row| (row, false)).chain((half..rows).rev().map(|row| (row, true))).collect();
        let mut read = Vec::new();
        for line in lines(pattern) {
            let across: Vec<usize> =
                line.across.iter().flat_map(|run| std::iter::repeat_n(run.strand, run.units as usize)).collect();
            for number in line.first..=line.last {
                read.push((line.from_far_end, number, across.clone()));
            }
        }
        prop_assert_eq!(read.len(), rows as usize);
        let mut turns = 0;
        for (woven, ((row_at, turned), (far, number, across))) in (0..).zip(order.iter().zip(&read)) {
            let seen: Vec<usize> =
                (0..units).map(|unit| cell(*row_at, if *turned { units - 1 - unit } else { unit })).collect();
            prop_assert_eq!((far, &seen), (turned, across), "row {}", number);
            // And crossing by crossing.
            let steps = row(pattern, &planned.warp.locking, woven, begin).unwrap();
            prop_assert_eq!(steps.number.number, *number);
            for (before, crossing) in std::iter::once(None).chain(steps.crossings.iter().map(Some)).zip(&steps.crossings) {
                prop_assert_eq!(crossing.front, seen[crossing.unit as usize]);
                prop_assert_eq!(crossing.turned_more, before.is_some_and(|before| before.front == crossing.front));
                turns += u64::from(crossing.turned_more);
            }
        }
        prop_assert_eq!(turns, planned.weft.extra_turns);
    }

    #[test]
    fn what_is_written_is_read_again(chart in charts()) {
        let kept = serde_json::to_string(&chart).unwrap();
        prop_assert_eq!(&serde_json::from_str::<Chart>(&kept).unwrap(), &chart);
        let [right, up] = chart.moved_by();
        let again = Chart::parse(&chart.lines().join("\n")).unwrap().moved(right.into(), up.into());
        prop_assert_eq!(&again, &chart);
        prop_assert_eq!(&chart.clone().mirrored().mirrored().flipped().flipped().exchanged().exchanged(), &chart);
        let twice = chart.clone().twice_across().twice_up();
        for (row, unit) in (0..20).flat_map(|row| (0..20).map(move |unit| (row, unit))) {
            prop_assert_eq!(twice.strand(row, unit), chart.strand(row, unit), "it repeats by itself");
        }
    }
}
