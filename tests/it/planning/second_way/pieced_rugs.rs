//! Rugs pieced together: every straight-cut layout of few panels tried, and the found one laid out on a grid.
use super::close;
use super::contact::{list, number, solve, solved};
use super::contact_build::{Sewn, sewn};
use super::refused_for;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::HashMap;

/// Half inches.
type Size = (i64, i64);

/// Sizes that can be woven, as they are sewn: as they are; or sides that differ by no more than the ease as long as the longest,
/// among the frames' own or among all.
fn as_sewn(sizes: &[Size], wanted: Size, ease: i64, most: i64, narrower: bool) -> Vec<Size> {
    let mut all = eased(sizes, wanted, 0, most, narrower);
    all.extend(eased(sizes, wanted, ease, most, false));
    all.extend(eased(sizes, wanted, ease, most, narrower));
    all
}

fn eased(sizes: &[Size], wanted: Size, ease: i64, most: i64, narrower: bool) -> Vec<Size> {
    let mut woven = sizes.to_vec();
    if narrower {
        for &(width, length) in sizes {
            for side in [wanted.0, wanted.1] {
                woven.extend(
                    (1..=most)
                        .filter(|n| side % n == 0)
                        .map(|n| side / n)
                        .filter(|share| *share < width && *share >= 8)
                        .map(|share| (share, length)),
                );
            }
        }
    }
    let mut sides: Vec<i64> = woven.iter().flat_map(|&(a, b)| [a, b]).collect();
    sides.sort_unstable();
    let sewn = |side: i64| {
        let mut from = 0;
        loop {
            let group: Vec<i64> = sides
                .iter()
                .copied()
                .filter(|s| *s >= from && *s <= sides.iter().copied().find(|s| *s >= from).unwrap() + ease)
                .collect();
            if group.contains(&side) {
                return *group.last().unwrap();
            }
            from = group.last().unwrap() + 1;
        }
    };
    woven.iter().map(|&(a, b)| (sewn(a), sewn(b))).collect()
}

/// Every rectangle of so many panels with its least seam, by cutting off part after part.
fn made(panels: usize, woven: &[Size], known: &mut HashMap<usize, HashMap<Size, i64>>) -> HashMap<Size, i64> {
    if let Some(found) = known.get(&panels) {
        return found.clone();
    }
    let mut all: HashMap<Size, i64> = HashMap::new();
    let mut add = |size: Size, seam: i64| {
        let least = all.entry(size).or_insert(seam);
        *least = seam.min(*least);
    };
    if panels == 1 {
        for &(a, b) in woven {
            add((a, b), 0);
            add((b, a), 0);
        }
    }
    for first in 1..panels {
        let (ones, others) = (made(first, woven, known), made(panels - first, woven, known));
        for (one, seam) in &ones {
            for (other, more) in &others {
                if one.1 == other.1 {
                    add((one.0 + other.0, one.1), seam + more + one.1);
                }
                if one.0 == other.0 {
                    add((one.0, one.1 + other.1), seam + more + one.0);
                }
            }
        }
    }
    known.insert(panels, all.clone());
    all
}

fn mm(half_inches: i64) -> f64 {
    half_inches as f64 * 12.7
}

fn halves(value: &Value, path: &str) -> i64 {
    let halves = number(value, path) / 12.7;
    assert!((halves - halves.round()).abs() < 1e-3, "{path}: {value}");
    halves.round() as i64
}

/// Panels lie side by side without gap or overlap, and the seams are where two of them meet.
fn laid_out(told: &Value, sizes: &[Size], ease: i64, narrower: bool) -> Result<(), TestCaseError> {
    let (width, length) = (halves(told, "/width_mm"), halves(told, "/length_mm"));
    let mut grid = vec![vec![usize::MAX; width as usize]; length as usize];
    for (i, panel) in list(told, "/panels").iter().enumerate() {
        let at = |what: &str| halves(panel, &format!("/{what}_mm"));
        let (left, top, wide, high) = (at("left"), at("top"), at("width"), at("length"));
        for row in &mut grid[top as usize..(top + high) as usize] {
            for cell in &mut row[left as usize..(left + wide) as usize] {
                prop_assert_eq!(*cell, usize::MAX, "two panels overlap");
                *cell = i;
            }
        }
        let (across, along) = if panel["turned"] == true { (high, wide) } else { (wide, high) };
        let size = sizes[panel["size"].as_str().unwrap().parse::<usize>().unwrap()];
        prop_assert!((0..=ease).contains(&(along - size.1)), "{along} along is not {}", size.1);
        prop_assert!(
            (0..=ease).contains(&(across - size.0)) || (narrower && across < size.0),
            "{across} across is not {}",
            size.0
        );
    }
    prop_assert!(grid.iter().flatten().all(|cell| *cell != usize::MAX), "a gap");
    let mut seam = 0;
    for y in 0..length as usize {
        for x in 0..width as usize {
            seam += i64::from(x > 0 && grid[y][x] != grid[y][x - 1])
                + i64::from(y > 0 && grid[y][x] != grid[y - 1][x]);
        }
    }
    prop_assert_eq!(halves(told, "/seam_mm"), seam);
    // A helix round both edges, 3/8 in thick and bitten 1/4 in deep; and tails for each seam.
    let seams = list(told, "/panels").len() as f64 - 1.0;
    for (name, pitch, tail) in [("/strip_mm", 0.75, 8.0), ("/thread_mm", 0.25, 6.0)] {
        let around: f64 = 2.0 * 0.375 + 4.0 * 0.25;
        let sewn = mm(seam) / 25.4 * (pitch * pitch + around * around).sqrt() / pitch + tail * seams;
        close(name, number(told, name), sewn * 25.4, 1e-5);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn no_other_layout_is_better(
        sizes in prop::collection::vec((12_i64..40, 16_i64..60), 1..4), wanted in (16_i64..90, 20_i64..110),
        tolerance in 0_i64..6, ease in 0_i64..3, most in 1_usize..5, narrower: bool,
    ) {
        // Shares of a side must be whole half inches here.
        let wanted = (wanted.0 / 12 * 12 + 12, wanted.1 / 12 * 12 + 12);
        let size = |(i, size): (usize, &Size)| json!({"id": i.to_string(), "width_mm": mm(size.0), "length_mm": mm(size.1)});
        let asked = json!({
            "wanted": {"width_mm": mm(wanted.0), "length_mm": mm(wanted.1)}, "tolerance_mm": mm(tolerance), "ease_mm": mm(ease),
            "sizes": sizes.iter().enumerate().map(size).collect::<Vec<_>>(), "most_panels": most, "narrower": narrower,
        });
        let woven = as_sewn(&sizes, wanted, ease, most as i64, narrower);
        let mut known = HashMap::new();
        let offs = |size: &Size| ((size.0 - wanted.0).abs(), (size.1 - wanted.1).abs());
        let best = (1..=most).find_map(|panels| {
            let all = made(panels, &woven, &mut known);
            let fits = all.iter().filter(|(size, _)| offs(size).0 <= tolerance && offs(size).1 <= tolerance);
            fits.map(|(size, seam)| (offs(size).0 + offs(size).1, *seam)).min().map(|(off, seam)| (panels, off, seam))
        });
        match (solve("panels", &asked), best) {
            (Ok(told), Some((panels, off, seam))) => {
                let told = &told[0];
                prop_assert_eq!((list(told, "/panels").len(), halves(told, "/off_mm"), halves(told, "/seam_mm")), (panels, off, seam));
                prop_assert_eq!(&told["proven"], true);
                laid_out(told, &sizes, ease, narrower)?;
            }
            (Err(why), None) => prop_assert!(why.contains("panels of these sizes come within"), "{}", why),
            (told, best) => prop_assert!(false, "{:?} against {:?}", told, best),
        }
    }
}

/// By hand: the nearest size is named, within a tenth beyond the side.
#[test]
fn what_comes_nearest_is_named() {
    let ask = |width: f64, length: f64| {
        let size = json!({"id": "a", "width_mm": 400, "length_mm": 800});
        let asked = json!({"wanted": {"width_mm": width, "length_mm": length}, "tolerance_mm": 10, "sizes": [size], "most_panels": 2});
        solve("panels", &asked).err().unwrap_or_default()
    };
    assert!(ask(420.0, 800.0).contains("40.0 cm × 80.0 cm"), "{}", ask(420.0, 800.0));
    assert_eq!(ask(410.0, 800.0), "", "just within");
    assert!(ask(790.0, 780.0).contains("80.0 cm × 80.0 cm"), "{}", ask(790.0, 780.0));
    assert!(!ask(340.0, 700.0).contains("The nearest"), "more than a tenth beyond: {}", ask(340.0, 700.0));
}

/// By hand: two panels side by side, sewn and backed.
#[test]
fn seams_and_backing_by_hand() {
    let Sewn { seam, strip, thread, backing, backing_thread, alike, shown } =
        sewn(&[(18.0, 32.0), (24.0, 32.25)], (42.0, 32.0), 0.5);
    close("seam", seam, 32.25, 1e-9);
    close("strip", strip, 32.25 * 0.75_f64.hypot(1.75) / 0.75 + 8.0, 1e-6);
    close("thread", thread, 32.25 * 0.25_f64.hypot(1.75) / 0.25 + 6.0, 1e-6);
    close("backing across", backing.0, 40.0, 1e-9);
    close("backing along", backing.1, 30.25, 1e-9);
    let sewn_on: f64 = 2.0 * (40.0 + 30.25) * 2.0;
    close("its thread", backing_thread, sewn_on + 6.0 * (sewn_on / 30.0).ceil(), 1e-6);
    // Each is woven at its frame's own size, though they are sewn as if equal.
    assert_eq!(alike, [(0, (18.0, 32.0), vec![1]), (1, (24.0, 32.25), vec![2])]);
    let result = |key: &str| shown.iter().find(|one| one.0 == key).unwrap_or_else(|| panic!("no {key}")).1;
    for (key, wanted) in [
        ("pieced.seam", seam),
        ("pieced.strip", strip),
        ("pieced.thread", thread),
        ("pieced.backing", 140.5),
        ("pieced.backing_thread", backing_thread),
    ] {
        close(key, result(key), wanted, 1e-6);
    }
    let one = sewn(&[(18.0, 32.0)], (18.0, 32.0), 0.0);
    assert_eq!((one.seam, one.strip, one.alike.len(), one.shown.len()), (0.0, 0.0, 1, 3));
    let four = sewn(&[(18.0, 32.0)], (36.0, 64.0), 0.0);
    assert_eq!(four.alike, [(0, (18.0, 32.0), vec![1, 2, 3, 4])]);
}

/// Sizes at both ends of what is allowed, in inches.
#[test]
fn sizes_have_their_limits() {
    const ENTRIES: [&str; 8] = [
        "Sizes",
        "Most panels",
        "Panel width",
        "Panel length",
        "Wanted width",
        "Wanted length",
        "Tolerance",
        "Ease",
    ];
    let refused = |change: &dyn Fn(&mut Value)| {
        let size = json!({"id": "a", "width_mm": 406.4, "length_mm": 812.8});
        let mut asked = json!({"wanted": {"width_mm": 406.4, "length_mm": 812.8}, "tolerance_mm": 0, "ease_mm": 0, "sizes": [size], "most_panels": 1});
        change(&mut asked);
        refused_for(&solve("panels", &asked).err().unwrap_or_default(), &ENTRIES)
    };
    assert_eq!(refused(&|_| {}), None);
    for (path, entry, least, most) in [
        ("/sizes/0/width_mm", "Panel width", 4.0, 144.0),
        ("/sizes/0/length_mm", "Panel length", 4.0, 144.0),
        ("/wanted/width_mm", "Wanted width", 4.0, 480.0),
        ("/wanted/length_mm", "Wanted length", 4.0, 480.0),
        ("/tolerance_mm", "Tolerance", 0.0, 48.0),
        ("/ease_mm", "Ease", 0.0, 2.0),
    ] {
        let set = |inches: f64| refused(&|asked| *asked.pointer_mut(path).unwrap() = json!(inches * 25.4));
        assert_eq!([set(least), set(most)], [None; 2], "{path}");
        assert_eq!([set(least - 0.01), set(most + 0.01)], [Some(entry); 2], "{path}");
    }
    for (most, entry) in [(0, Some("Most panels")), (24, None), (25, Some("Most panels"))] {
        assert_eq!(refused(&|asked| asked["most_panels"] = json!(most)), entry, "{most} panels");
    }
    for (sizes, entry) in [(0, Some("Sizes")), (40, None), (41, Some("Sizes"))] {
        let many: Vec<_> = (0..sizes)
            .map(|i: u32| json!({"id": i.to_string(), "width_mm": 406.4, "length_mm": 812.8}))
            .collect();
        assert_eq!(refused(&|asked| asked["sizes"] = json!(many)), entry, "{sizes} sizes");
    }
}

/// A frame to build, by hand: places, members, rods, for every corner and row.
#[test]
fn a_frame_to_build_by_hand() {
    for (width, span, pitch, timber, clearance) in
        [(18.0, 33.0, 0.5625, 1.5, 1.5), (20.0, 30.0, 0.6, 2.0, 1.0), (11.0, 20.0, 0.47, 1.0, 0.0)]
    {
        for staggered in [false, true] {
            for butt in [false, true] {
                let told = solved(
                    "frame",
                    &json!({
                        "width_mm": width * 25.4, "span_mm": span * 25.4, "pitch_mm": pitch * 25.4, "staggered": staggered,
                        "timber_mm": timber * 25.4, "clearance_mm": clearance * 25.4, "corner": if butt { "butt" } else { "half-lap" },
                    }),
                );
                let inches = |path: &str| number(&told, path) / 25.4;
                let spaces = f64::round(width / pitch);
                let step = width / spaces;
                close("pitch", inches("/pitch_mm"), step, 1e-4);
                let nails = spaces as usize + 1;
                assert_eq!(number(&told, "/nails") as usize, 2 * nails - usize::from(staggered));
                for (row, offset) in [(0, 0.0), (1, if staggered { step / 2.0 } else { 0.0 })] {
                    let places = list(&told, &format!("/rows_mm/{row}"));
                    assert_eq!(places.len(), nails - usize::from(offset > 0.0));
                    for (i, place) in places.iter().enumerate() {
                        close(
                            "a nail",
                            place.as_f64().unwrap() / 25.4,
                            timber + clearance + offset + i as f64 * step,
                            1e-4,
                        );
                    }
                }
                let outside = (width + 2.0 * (clearance + timber), span + timber);
                close("across", inches("/outside_mm/0"), outside.0, 1e-4);
                close("along", inches("/outside_mm/1"), outside.1, 1e-4);
                close("end member", inches("/end_member_mm"), outside.0, 1e-4);
                close(
                    "side member",
                    inches("/side_member_mm"),
                    if butt { span - timber } else { outside.1 },
                    1e-4,
                );
                close("diagonal", inches("/diagonal_mm"), outside.0.hypot(outside.1), 1e-4);
                close("rod", inches("/rod_mm"), span + 3.0, 1e-4);
                assert_eq!(
                    number(&told, "/boards"),
                    if 2.0 * (outside.0 + if butt { span - timber } else { outside.1 }) + 0.375 <= 96.0 {
                        1.0
                    } else {
                        2.0
                    }
                );
            }
        }
    }
    let refused = |field: &str, inches: f64| {
        let mut asked = json!({"width_mm": 457.2, "span_mm": 838.2, "board_mm": 12000, "nail_mm": 0.6});
        asked[field] = json!(inches * 25.4);
        let entries = ["Pitch", "Timber width", "Clearance", "Board", "Kerf"];
        refused_for(&solve("frame", &asked).err().unwrap_or_default(), &entries)
    };
    for (field, entry, least, most) in [
        ("timber_mm", "Timber width", 0.5, 6.0),
        ("clearance_mm", "Clearance", 0.0, 12.0),
        ("board_mm", "Board", 12.0, 480.0),
        ("kerf_mm", "Kerf", 0.0, 0.5),
    ] {
        assert_eq!([refused(field, least), refused(field, most)], [None; 2], "{field}");
        assert_eq!([refused(field, least - 0.01), refused(field, most + 0.01)], [Some(entry); 2], "{field}");
    }
    assert_eq!(
        [0.12, 0.126, 4.01].map(|pitch| refused("pitch_mm", pitch)),
        [Some("Pitch"), None, Some("Pitch")]
    );
}
