//! Which strand shows where, by walking the two strands through the warp as a weaver does, row by row, there and back.
use super::contact::{Asked, Stripe, colour, grown, list, number, reckon, strands};
use super::rug::Rug;
use proptest::prelude::*;

/// One half of a rug, from the end it is woven from: the strand in front of each unit, counted from the weaver's left.
fn half(rows: usize, units: usize, keep: bool, begins_with: usize) -> Vec<Vec<usize>> {
    let mut woven = Vec::new();
    let mut front = begins_with;
    for row in 0..rows {
        let mut cells = vec![0; units];
        for step in 0..units {
            // There and back: every second row runs from the right.
            let unit = if row % 2 == 0 { step } else { units - 1 - step };
            cells[unit] = front;
            // Before the next unit the strand in front goes behind.
            front = 1 - front;
        }
        // At the rod: `front` has gone behind after the last unit; strands that keep their places show the same one over
        // the outer unit in the next row, strands that trade show the other.
        if keep {
            front = 1 - front;
        }
        woven.push(cells);
    }
    woven
}

/// The whole face. The frame is turned half round for the second half.
fn face(asked: &Asked, rows: usize, [near, far]: [usize; 2]) -> Vec<Vec<usize>> {
    if asked.from == "one-end" {
        let mut all = half(rows, near, asked.keep, 0);
        if rows > 1 {
            // The last row goes on at the left as those before it, however many units it has.
            let first = all[rows - 1][0];
            all[rows - 1] = half(1, far, asked.keep, first).remove(0);
        }
        return all;
    }
    let first = rows.div_ceil(2);
    let mut all = half(first, near, asked.keep, 0);
    let begins_with = usize::from(asked.from == "both-ends-other-first");
    let mut second = half(rows - first, far, asked.keep, begins_with);
    second.reverse();
    second.iter_mut().for_each(|row| row.reverse());
    all.extend(second);
    all
}

/// The back hides what the front shows, and is seen from behind.
fn back(front: &[Vec<usize>]) -> Vec<Vec<usize>> {
    front.iter().map(|row| row.iter().rev().map(|strand| 1 - strand).collect()).collect()
}

fn any_small() -> impl Strategy<Value = Asked> {
    let bands = prop::collection::vec((1_u32..12, 0_usize..4, 0_usize..4), 1..5);
    (8_u32..18, 1_u32..4, any::<bool>(), 0_usize..3, bands, any::<bool>()).prop_map(
        |(nails, unit, keep, from, bands, header)| {
            let strip = |i: usize| (header && i == 0).then_some(0.75);
            let band = |(i, (height, a, b)): (usize, (u32, usize, usize))| Stripe {
                height: 0.5 + 0.375 * f64::from(height),
                colours: [a, b],
                strip: strip(i),
            };
            Asked {
                nails,
                width: f64::from(nails - 1) * 0.75,

                unit,
                keep,
                from: ["one-end", "both-ends", "both-ends-other-first"][from],
                bands: bands
                    .into_iter()
                    .enumerate()
                    .map(band)
                    .chain([Stripe { height: 2.0, colours: [1, 0], strip: None }])
                    .collect(),
                ..Asked::small()
            }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn the_face_is_what_a_weaver_would_make(asked in any_small()) {
        let rug = Rug::expected(&asked);
        let rows = rug.rows as usize;
        let front = face(&asked, rows, [0, 1].map(|end| rug.locking[end].len()));
        prop_assert_eq!(&strands(&asked, false), &front);
        prop_assert_eq!(&strands(&asked, true), &back(&front));
        // A few cells in their colours, and none beyond the rug.
        let mut end = 0;
        for (band, count) in asked.stripes().iter().zip(&rug.band_rows) {
            let from = end;
            end += *count as usize;
            if *count > 0.0 {
                for row in [from, end - 1] {
                    let units = front[row].len();
                    for unit in [0, units - 1] {
                        let got = colour(&asked, row as u32, unit as u32, false);
                        prop_assert_eq!(got, Some(band.colours[front[row][unit]] as u16), "row {} unit {}", row, unit);
                        let behind = colour(&asked, row as u32, unit as u32, true);
                        prop_assert_eq!(behind, Some(band.colours[1 - front[row][units - 1 - unit]] as u16));
                    }
                }
            }
        }
        prop_assert_eq!(colour(&asked, rows as u32, 0, false), None);
        reads_as_woven(&asked, &front)?;
        grows_as_woven(&asked, &rug)?;
    }
}

/// The lines to read off, row by row, against the cells.
fn reads_as_woven(asked: &Asked, front: &[Vec<usize>]) -> Result<(), TestCaseError> {
    let told = reckon(asked);
    let rows = front.len();
    let first_half = if asked.from == "one-end" { rows } else { rows.div_ceil(2) };
    // A joint is there where there are two halves, and it matches when each unit, from the left, goes on as within a half.
    let goes_on = |a: &[usize], b: &[usize]| a.iter().zip(b).all(|(a, b)| (a == b) == asked.keep);
    if first_half < rows {
        let matches = goes_on(&front[first_half - 1], &front[first_half]);
        prop_assert_eq!(&told["halves_match"], matches);
    } else {
        prop_assert!(told["halves_match"].is_null());
    }
    let mut band_of = Vec::new();
    let mut names: Vec<usize> = Vec::new();
    for (band, count) in asked.stripes().iter().zip(Rug::expected(asked).band_rows) {
        for colour in band.colours {
            if !names.contains(&colour) {
                names.push(colour);
            }
        }
        let colours = band.colours.map(|colour| names.iter().position(|name| *name == colour).unwrap());
        band_of.extend(std::iter::repeat_n((colours, band.strip), count as usize));
    }
    let mut woven = 0;
    for line in list(&told, "/reading") {
        let far = line["from_far_end"].as_bool().unwrap();
        let (first, last) = (number(line, "/first") as usize, number(line, "/last") as usize);
        prop_assert_eq!(woven >= first_half, far);
        prop_assert_eq!(first, woven + 1 - if far { first_half } else { 0 });
        for from_end in first..=last {
            let row = if far { rows - from_end } else { from_end - 1 };
            let (colours, strip) = band_of[row];
            let read = [0, 1].map(|i| line["colours"][i].as_u64().unwrap() as usize);
            prop_assert_eq!(read, colours, "row {}", row);
            prop_assert_eq!(line["strip"].as_f64().map(|nm| nm / 25_400_000.0), strip);
            let left = if far { front[row][front[row].len() - 1] } else { front[row][0] };
            let at = usize::from(from_end % 2 == 0);
            prop_assert_eq!(
                line["at_left"][at].as_u64().unwrap() as usize,
                left,
                "row {} from its end",
                from_end
            );
            woven += 1;
        }
    }
    prop_assert_eq!(woven, rows);
    Ok(())
}

/// After each row the weaving has grown by that row's share of its band.
fn grows_as_woven(asked: &Asked, rug: &Rug) -> Result<(), TestCaseError> {
    let rows = rug.rows as usize;
    let mut heights = Vec::new();
    for (band, count) in asked.stripes().iter().zip(&rug.band_rows) {
        heights.extend(std::iter::repeat_n(band.height / count, *count as usize));
    }
    let half = if asked.from == "one-end" { rows } else { rows.div_ceil(2) };
    let told = grown(asked);
    prop_assert_eq!(told.len(), rows + 1);
    let bands_all_have_rows = rug.band_rows.iter().all(|rows| *rows > 0.0);
    for (done, (at, far)) in told.into_iter().enumerate() {
        let (from, wanted): (bool, f64) = if done <= half {
            (false, heights[..done].iter().sum())
        } else {
            (true, heights[rows - (done - half)..].iter().sum())
        };
        prop_assert_eq!(far, from);
        if bands_all_have_rows {
            prop_assert!((at - wanted).abs() < 1e-6, "{} rows: {} in, walked {}", done, at, wanted);
        }
    }
    Ok(())
}
