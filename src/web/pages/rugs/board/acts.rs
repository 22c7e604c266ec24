//! What the buttons of the drawing board do to the bands of the form. Nothing is kept by them, and none needs a script.
use super::super::typed::{MOST_BANDS, read_colour};
use super::charts::{self, TypedChart};
use crate::units::{Length, Units};
use crate::web::Form;

/// The field that says which band is at hand, counted from the start of the weaving.
pub(super) const AT_HAND: &str = "band";
/// The field that says which of its strands a colour is for: `both`, `first` or `other`.
pub(super) const STRAND: &str = "strand";
/// How high a header is, and how wide its strips are; common practice, no source.
const HEADER: (f64, f64) = (1.0, 0.75);

/// A band as it was typed.
#[derive(Clone, Debug, Default, PartialEq)]
struct Typed {
    height: String,
    first: String,
    other: String,
    strip: String,
    chart: TypedChart,
}

/// The fields of a band.
const PARTS: [&str; 7] = ["height", "first", "other", "strip", "chart", "right", "up"];

impl Typed {
    fn height(&self, units: Units) -> Option<Length> {
        Length::parse(&self.height, units).ok()
    }

    fn so_high(&self, height: Length, units: Units) -> Self {
        Self { height: height.exact(units), ..self.clone() }
    }
}

/// What heights are rounded to when a button makes them.
pub(super) fn step(units: Units) -> Length {
    match units {
        Units::Inches => Length::inches(0.25),
        Units::Metric => Length::millimetres(5.0),
    }
}

/// A height rounded to whole steps.
fn rounded(height: Length, units: Units) -> Length {
    let step = step(units);
    step.scale((height.ratio(step)).round().max(1.0))
}

fn field(n: usize, part: &str) -> String {
    format!("band-{n}-{part}")
}

/// The bands that have a height, and which of them is at hand.
fn bands(form: &Form) -> (Vec<Typed>, usize) {
    let chosen: usize = form.value(AT_HAND).parse().unwrap_or(0);
    let filled: Vec<usize> = (1..=MOST_BANDS).filter(|&n| !form.is_empty(&field(n, "height"))).collect();
    let at = filled.iter().position(|&n| n == chosen).unwrap_or(0);
    let bands = filled
        .iter()
        .map(|&n| {
            let [height, first, other, strip, chart, right, up] =
                PARTS.map(|part| form.value(&field(n, part)).to_owned());
            let chart = TypedChart { lines: chart, right, up };
            Typed { height, first, other, strip, chart }
        })
        .collect();
    (bands, at)
}

/// The number that the form has for the band at hand.
pub(super) fn row_at_hand(form: &Form) -> usize {
    let filled = (1..=MOST_BANDS).filter(|&n| !form.is_empty(&field(n, "height")));
    filled.take(at_hand(form) + 1).last().unwrap_or(1)
}

/// Which band is at hand, counted from 0 among those that have a height.
pub(super) fn at_hand(form: &Form) -> usize {
    bands(form).1
}

fn put(form: &mut Form, bands: &[Typed], at: usize) {
    for n in 1..=MOST_BANDS {
        let band = bands.get(n - 1).cloned().unwrap_or_default();
        let Typed { height, first, other, strip, chart: TypedChart { lines, right, up } } = band;
        for (part, value) in PARTS.into_iter().zip([height, first, other, strip, lines, right, up]) {
            form.set(&field(n, part), value);
        }
    }
    form.set(AT_HAND, at.min(bands.len().saturating_sub(1)) + 1);
}

/// Does what a button of the board asks; whether one did. What can't be done leaves the bands as they are.
pub(in super::super) fn act(form: &mut Form) -> bool {
    for name in [charts::WRONG_SIZE, charts::WRONG_LETTERS] {
        form.set(name, "");
    }
    let asked = ["board", "colour", "instead"].into_iter().find(|name| !form.is_empty(name));
    let Some(asked) = asked else { return false };
    let value = form.value(asked).to_owned();
    for name in ["board", "colour", "instead"] {
        form.set(name, "");
    }
    let units = form.units();
    let (mut typed, at) = bands(form);
    if typed.is_empty() {
        return true;
    }
    let now = match asked {
        "colour" => {
            if read_colour(&value).is_some() {
                let strand = form.value(STRAND);
                if strand != "other" {
                    typed[at].first.clone_from(&value);
                }
                if strand != "first" {
                    typed[at].other = value;
                }
            }
            Some((typed, at))
        }
        "instead" => instead(typed, &value).map(|bands| (bands, at)),
        _ if value.starts_with("chart-") => charts::changed(&value, &typed[at].chart, form).map(|chart| {
            typed[at].chart = chart;
            (typed, at)
        }),
        _ => changed(&value, typed, at, units),
    };
    if let Some((bands, at)) = now.filter(|(bands, _)| bands.len() <= MOST_BANDS) {
        put(form, &bands, at);
    }
    true
}

/// One colour for another in every band: `from|to`.
fn instead(mut bands: Vec<Typed>, pair: &str) -> Option<Vec<Typed>> {
    let (from, to) = pair.split_once('|')?;
    read_colour(to)?;
    for band in &mut bands {
        for strand in [&mut band.first, &mut band.other] {
            if strand == from {
                to.clone_into(strand);
            }
        }
    }
    Some(bands)
}

/// The bands after a button of the board, and which is at hand then; nothing where it can't be done.
fn changed(act: &str, mut bands: Vec<Typed>, at: usize, units: Units) -> Option<(Vec<Typed>, usize)> {
    match act {
        "split" => {
            let whole = bands[at].height(units)?;
            let lower = rounded(whole.scale(0.5), units);
            if lower >= whole {
                return None;
            }
            let upper = bands[at].so_high(whole - lower, units);
            bands[at] = bands[at].so_high(lower, units);
            bands.insert(at + 1, upper);
            Some((bands, at + 1))
        }
        "join" => {
            // With the band above; the last one with the band below.
            let (kept, gone) = if at + 1 < bands.len() { (at, at + 1) } else { (at, at.checked_sub(1)?) };
            let both = bands[kept].height(units)? + bands[gone].height(units)?;
            bands[kept] = bands[kept].so_high(both, units);
            bands.remove(gone);
            Some((bands, kept.min(gone)))
        }
        "up" if at + 1 < bands.len() => {
            bands.swap(at, at + 1);
            Some((bands, at + 1))
        }
        "down" if at > 0 => {
            bands.swap(at, at - 1);
            Some((bands, at - 1))
        }
        "turn" => {
            bands = turned(&bands);
            let last = bands.len() - 1;
            Some((bands, last - at))
        }
        "plain" => {
            let band = &mut bands[at];
            band.other.clone_from(&band.first);
            // A chart needs two colours.
            band.chart = TypedChart::default();
            Some((bands, at))
        }
        "trade" => {
            let band = &mut bands[at];
            std::mem::swap(&mut band.first, &mut band.other);
            Some((bands, at))
        }
        "mirror" => mirrored(bands, at, units),
        "header" => headed(bands, units).map(|bands| (bands, at)),
        _ => None,
    }
}

/// The bands from the other end, their charts with them.
fn turned(bands: &[Typed]) -> Vec<Typed> {
    let end_for_end = |band: &Typed| Typed { chart: band.chart.flipped(), ..band.clone() };
    bands.iter().rev().map(end_for_end).collect()
}

/// The half of the rug that the band at hand is in, and the same again turned round; the rug stays as long as it is.
fn mirrored(mut bands: Vec<Typed>, at: usize, units: Units) -> Option<(Vec<Typed>, usize)> {
    let heights: Vec<Length> = bands.iter().map(|band| band.height(units)).collect::<Option<_>>()?;
    let half = heights.iter().copied().sum::<Length>().scale(0.5);
    let below = heights[..at].iter().copied().sum::<Length>();
    if below + heights[at].scale(0.5) <= half {
        return Some((half_and_half(&bands, half, units)?, at));
    }
    bands = turned(&bands);
    let from_the_end = bands.len() - 1 - at;
    let whole = half_and_half(&bands, half, units)?;
    let at = whole.len() - 1 - from_the_end;
    Some((whole, at))
}

/// The bands up to the middle, and the same turned round.
fn half_and_half(bands: &[Typed], half: Length, units: Units) -> Option<Vec<Typed>> {
    let heights: Vec<Length> = bands.iter().map(|band| band.height(units)).collect::<Option<_>>()?;
    let (mut near, mut from) = (Vec::new(), Length::ZERO);
    for (band, height) in bands.iter().zip(heights) {
        let to = from + height;
        if to >= half {
            // The band in the middle is its own mirror image.
            let middle = band.so_high((half - from).scale(2.0), units);
            let far = turned(&near);
            return Some([near, vec![middle], far].concat());
        }
        near.push(band.clone());
        from = to;
    }
    None
}

/// A header at both ends, taken from the bands there; or none any more where there is one.
fn headed(mut bands: Vec<Typed>, units: Units) -> Option<Vec<Typed>> {
    let last = bands.len() - 1;
    if last >= 2 && !bands[0].strip.is_empty() && !bands[last].strip.is_empty() {
        let [first, second, below, end] = [0, 1, last - 1, last].map(|n| bands[n].height(units));
        if last == 2 {
            bands[1] = bands[1].so_high(first? + second? + end?, units);
        } else {
            bands[1] = bands[1].so_high(first? + second?, units);
            bands[last - 1] = bands[last - 1].so_high(below? + end?, units);
        }
        return Some(bands[1..last].to_vec());
    }
    let (high, strip) = match units {
        Units::Inches => (Length::inches(HEADER.0), Length::inches(HEADER.1)),
        Units::Metric => (Length::millimetres(25.0), Length::millimetres(20.0)),
    };
    let less = |band: &Typed, by: Length| {
        let left = band.height(units)? - by;
        (left >= high).then(|| band.so_high(left, units))
    };
    let thin = |band: &Typed| Typed { strip: strip.exact(units), ..band.so_high(high, units) };
    let ends = (thin(&bands[0]), thin(&bands[last]));
    if last == 0 {
        bands[0] = less(&bands[0], high.scale(2.0))?;
    } else {
        bands[0] = less(&bands[0], high)?;
        bands[last] = less(&bands[last], high)?;
    }
    bands.insert(0, ends.0);
    bands.push(ends.1);
    Some(bands)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(bands: &[(&str, &str, &str)], at: usize) -> Form {
        let mut form = Form::blank(Units::Inches).with(AT_HAND, at).with(STRAND, "both");
        for (n, (height, first, other)) in bands.iter().enumerate() {
            form.set(&field(n + 1, "height"), height);
            form.set(&field(n + 1, "first"), first);
            form.set(&field(n + 1, "other"), other);
        }
        form
    }

    fn after(act_on: &mut Form, name: &str, value: &str) -> Vec<(String, String, String)> {
        act_on.set(name, value);
        assert!(act(act_on));
        bands(act_on).0.into_iter().map(|band| (band.height, band.first, band.other)).collect()
    }

    fn told(bands: &[(String, String, String)]) -> Vec<String> {
        bands.iter().map(|(height, first, other)| format!("{height} {first}/{other}")).collect()
    }

    const THREE: [(&str, &str, &str); 3] =
        [("4 in", "white", "white"), ("6 in", "blue", "navy"), ("22 in", "cream", "sand")];

    #[test]
    fn a_design_stays_as_long_as_it_is() {
        let length = |form: &Form| {
            bands(form).0.iter().map(|band| band.height(Units::Inches).unwrap()).sum::<Length>().in_inches()
        };
        for act_on in ["split", "join", "up", "down", "turn", "plain", "trade", "mirror", "header"] {
            for at in 1..=3 {
                let mut form = form(&THREE, at);
                after(&mut form, "board", act_on);
                assert!((length(&form) - 32.0).abs() < 1e-6, "{act_on} of band {at}: {}", length(&form));
            }
        }
    }

    #[test]
    fn a_band_is_split_joined_moved_and_turned() {
        let mut form = form(&THREE, 2);
        let split = after(&mut form, "board", "split");
        assert_eq!(split[1].1, split[2].1, "the halves look alike");
        assert_eq!(split.len(), 4);
        assert_eq!(at_hand(&form), 2, "the upper half is at hand");
        let back = after(&mut form, "board", "join");
        assert_eq!(back.len(), 3, "with the band above");
        assert_eq!(back[2].1, "blue");
        let turned = told(&after(&mut form, "board", "turn"));
        assert_eq!(turned[2].split(' ').next_back(), Some("white/white"));
        assert_eq!(at_hand(&form), 0, "the same band is at hand");
    }

    #[test]
    fn the_half_with_the_band_at_hand_is_mirrored() {
        let mirrored = after(&mut form(&THREE, 1), "board", "mirror");
        let heights: Vec<f64> =
            mirrored.iter().map(|band| Length::parse(&band.0, Units::Inches).unwrap().in_inches()).collect();
        assert_eq!(heights, [4.0, 6.0, 12.0, 6.0, 4.0]);
        assert_eq!(mirrored[3].1, "blue");
        // From the far half, where the band at hand is there.
        let mut far =
            form(&[("20 in", "white", "white"), ("8 in", "blue", "navy"), ("4 in", "sand", "sand")], 3);
        let mirrored = told(&after(&mut far, "board", "mirror"));
        assert_eq!(
            mirrored.iter().map(|band| band.split(' ').next_back().unwrap()).collect::<Vec<_>>(),
            ["sand/sand", "blue/navy", "white/white", "blue/navy", "sand/sand"]
        );
        assert_eq!(at_hand(&far), 4, "the same band is at hand");
    }

    #[test]
    fn a_header_comes_and_goes() {
        let mut form = form(&THREE, 1);
        let headed = after(&mut form, "board", "header");
        assert_eq!(headed.len(), 5);
        assert!(!form.is_empty("band-1-strip") && !form.is_empty("band-5-strip"));
        let without = after(&mut form, "board", "header");
        assert_eq!(without.len(), 3);
        assert!(form.is_empty("band-1-strip"));
    }

    #[test]
    fn a_colour_goes_to_the_strand_that_is_meant() {
        let mut form = form(&THREE, 2);
        form.set(STRAND, "other");
        assert_eq!(told(&after(&mut form, "colour", "teal"))[1], "6 in blue/teal");
        form.set(STRAND, "both");
        assert_eq!(
            told(&after(&mut form, "colour", "#123456 Odd one"))[1],
            "6 in #123456 Odd one/#123456 Odd one"
        );
        assert_eq!(told(&after(&mut form, "colour", "no colour"))[1], "6 in #123456 Odd one/#123456 Odd one");
        assert_eq!(told(&after(&mut form, "instead", "cream|sand"))[2], "22 in sand/sand");
    }
}
