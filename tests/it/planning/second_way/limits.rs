//! What is taken and what is refused, on both sides of every limit.
use super::contact::{Asked, Stripe, reckon_text, try_reckon};

/// A sixty-fourth of an inch.
const MARK: f64 = 1.0 / 64.0;

#[track_caller]
fn taken(what: &str, asked: &Asked) {
    let told = try_reckon(asked);
    assert!(told.is_ok(), "{what} must be taken, but: {}", told.unwrap_err());
}

#[track_caller]
fn refused(what: &str, asked: &Asked, field: &str) {
    match try_reckon(asked) {
        Ok(_) => panic!("{what} must be refused"),
        Err(why) => assert!(why.contains(field), "{what} is refused, but not for its {field}: {why}"),
    }
}

/// The last that is taken at both ends, and the first that is refused.
#[track_caller]
fn within(field: &str, least: f64, most: f64, of: impl Fn(f64) -> Asked) {
    for right in [least, most] {
        taken(&format!("{field} {right} in"), &of(right));
    }
    for wrong in [least - MARK, most + MARK] {
        refused(&format!("{field} {wrong} in"), &of(wrong), field);
    }
}

#[test]
fn frames_have_their_limits() {
    // Strips narrow enough for the closest nails.
    let small = || Asked { strip: 0.25, ..Asked::small() };
    within("Span", 4.0, 144.0, |span| Asked { span, ..small() });
    within("Width", 4.0, 144.0, |width| Asked { width, nails: (width / 0.5) as u32 + 1, ..small() });
    for (nails, width, right) in [(2, 4.0, false), (3, 4.0, true), (600, 80.0, true), (601, 80.0, false)] {
        let asked = Asked { width, nails, ..small() };
        if right { taken("nails", &asked) } else { refused("nails", &asked, "Nails per end") }
    }
    // The pitch, measured and spread. The row must fill the width to a quarter, or to two pitches.
    within("Pitch", 0.125, 4.0, |pitch| Asked {
        pitch: Some(pitch),
        width: pitch * 40.0_f64.min(144.0 / pitch - 1.0),
        nails: 41.min((144.0 / pitch) as u32),
        ..small()
    });
    refused("spread nails", &Asked { width: 4.0, nails: 34, ..small() }, "Pitch");
    taken("spread nails", &Asked { width: 4.0, nails: 33, ..small() });
    let row = |pitch: f64, width: f64, nails: u32| Asked { pitch: Some(pitch), width, nails, ..small() };
    for (width, right) in [(21.328125, true), (21.34375, false), (12.8125, true), (12.796875, false)] {
        // 33 nails at 1/2 in are a row of 16 in: a quarter of the width may lack.
        let asked = row(0.5, width, 33);
        if right {
            taken("a row of 16 in", &asked);
        } else {
            refused(&format!("a row of 16 in on {width} in"), &asked, "make a row of");
        }
    }
    // Six nails at 1 in are a row of 5 in: two pitches may lack.
    taken("a short row", &row(1.0, 7.0, 6));
    refused("a short row", &row(1.0, 7.015625, 6), "make a row of");
    let nail = |nail: f64| Asked { nail: Some(nail), ..small() };
    taken("the thinnest nail", &nail(0.02));
    refused("a thinner nail", &nail(0.019), "Nail diameter");
    taken("three quarters of the pitch", &nail(0.421875));
    refused("a thicker nail", &nail(0.422), "Nail diameter");
    let wide = |nail: f64| Asked { nail: Some(nail), nails: 10, ..small() };
    taken("half an inch", &wide(0.5));
    refused("more than half an inch", &wide(0.501), "Nail diameter");
}

#[test]
fn rugs_have_their_limits() {
    let small = Asked::small;
    within("Length", 2.0, 33.0, |length| Asked { length: Some(length), ..small() });
    within("Width", 2.0, 18.0, |width| Asked { rug_width: Some(width), ..small() });
    within("Strip width", 0.25, 6.0, |strip| Asked { strip, ..small() });
    within("Fringe", 0.5, 18.0, |fringe| Asked { fringe: Some(fringe), ..small() });
    // Two fifths of the shorter side.
    for (margin, right) in [(0.0, true), (7.1875, true), (7.203125, false)] {
        let asked = Asked { backing: Some(margin), ..small() };
        if right { taken("a margin", &asked) } else { refused("a margin", &asked, "Backing margin") }
    }
    for (unit, right) in [(0, false), (1, true), (6, true), (7, false)] {
        let asked = Asked { unit, ..small() };
        if right { taken("a unit", &asked) } else { refused("a unit", &asked, "Warp unit") }
    }
    let sample = |woven: f64| Asked { sample: Some((woven, (woven * 4.0) as u32, None)), ..small() };
    within("Sample", 0.5, 32.0, sample);
    refused("no rows", &Asked { sample: Some((4.0, 0, None)), ..small() }, "rows per inch");
}

#[test]
fn bands_have_their_limits() {
    let bands = |heights: &[f64], length: Option<f64>| Asked {
        bands: heights.iter().map(|&height| Stripe { height, colours: [0, 1], strip: None }).collect(),
        length,
        ..Asked::small()
    };
    taken("the lowest band", &bands(&[0.125, 4.0], None));
    refused("a lower band", &bands(&[0.109375, 4.0], None), "Band 1");
    taken("the highest band", &bands(&[33.0], None));
    refused("a higher band", &bands(&[4.0, 33.015625], None), "Band 2");
    refused("bands longer than the span", &bands(&[20.0, 13.015625], None), "Length");
    taken("a sixteenth more", &bands(&[10.0, 10.0], Some(20.0625)));
    taken("a sixteenth less", &bands(&[10.0, 10.0], Some(19.9375)));
    refused("more than a sixteenth", &bands(&[10.0, 10.0], Some(20.078125)), "must be equal");
    refused("less than a sixteenth", &bands(&[10.0, 10.0], Some(19.921875)), "must be equal");
    taken("two hundred bands", &bands(&[0.125; 200], None));
    refused("two hundred and one", &bands(&[0.125; 201], None), "200 are the most");
    let header = |strip: f64| Asked {
        bands: vec![Stripe { height: 8.0, colours: [0, 1], strip: Some(strip) }],
        ..Asked::small()
    };
    within("Strip of band 1", 0.25, 6.0, header);
}

#[test]
fn windings_have_their_limits() {
    for (every, wraps, right) in [(0, 0, false), (1, 0, true), (6, 3, true), (7, 0, false), (1, 4, false)] {
        let told = try_reckon(&Asked { every, wraps, ..Asked::small() });
        assert_eq!(told.is_ok(), right, "every {every}, {wraps} more turns: {told:?}");
    }
    let told = |more: &[&str]| {
        let small = Asked { width: 4.0, nails: 9, ..Asked::small() };
        reckon_text(&[small.flags(), more.iter().map(ToString::to_string).collect()].concat())
    };
    for (more, right) in [
        (&["--far-nails", "2"][..], false),
        (&["--far-nails", "3"], true),
        (&["--far-nails", "600", "--set-off", "0 in"], true),
        (&["--far-nails", "601", "--set-off", "0 in"], false),
        (&["--set-off", "4 in"], true),
        (&["--set-off", "-4 in"], true),
        (&["--set-off", "4 1/64 in"], false),
        (&["--set-off", "-4 1/64 in"], false),
        (&["--leave-out", "near 9, far 9"], true),
        (&["--leave-out", "near 10"], false),
        (&["--leave-out", "far 10"], false),
        (&["--leave-out", "near 0"], false),
        (&["--leave-out", "near 1,near 2,near 3,near 4,near 5,near 6,near 7"], true),
        (&["--leave-out", "near 1,near 2,near 3,near 4,near 5,near 6,near 7,near 8"], false),
        (&["--leave-out", "far 1,far 2,far 3,far 4,far 5,far 6,far 7,far 8"], false),
    ] {
        assert_eq!(told(more).is_ok(), right, "{more:?}: {:?}", told(more));
    }
    let places = |near: &str, far: &str| {
        let small = Asked { width: 4.0, nails: 4, ..Asked::small() };
        let more = [format!("--near-places={near}"), format!("--far-places={far}")];
        reckon_text(&[small.flags(), more.to_vec()].concat()).is_ok()
    };
    for (near, far, right) in [
        ("0; 1; 2; 3", "0; 1; 2; 3", true),
        ("0; 1; 2", "0; 1; 2; 3", false),
        ("0; 1; 2; 3; 4", "0; 1; 2; 3", false),
        ("0; 1; 2; 3", "0; 1", false),
        ("0; 1; 2; 3", "0; 1; 2", true),
        ("0; 1; 1 1/16; 3", "0; 1; 2; 3", true),
        ("0; 1; 1 3/64; 3", "0; 1; 2; 3", false),
        ("0; 1; 2; 3", "0; 2; 2 3/64; 3", false),
        ("-1; 1; 2; 5", "-1; 1; 2; 5", true),
        ("-1 1/64; 1; 2; 5", "-1; 1; 2; 5", false),
        ("-1; 1; 2; 5", "-1; 1; 2; 5 1/64", false),
    ] {
        let near = near.split("; ").map(|place| format!("{place} in")).collect::<Vec<_>>().join("; ");
        let far = far.split("; ").map(|place| format!("{place} in")).collect::<Vec<_>>().join("; ");
        assert_eq!(places(&near, &far), right, "{near} and {far}");
    }
}
