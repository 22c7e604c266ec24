//! Laying bands that are to be kept over the bands of a shape.
use super::shape::LEAST;
use crate::units::Length;

/// Height and the two tones of a band.
pub(super) type Tones = (Length, [usize; 2]);

/// A stretch of a rug with its two tones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Placed {
    pub from: Length,
    pub to: Length,
    pub pair: [usize; 2],
}

impl Placed {
    fn is_alike(&self, other: &Self) -> bool {
        let [a, b] = other.pair;
        self.pair == [a, b] || self.pair == [b, a]
    }
}

/// The bands with these in their places, in both halves where the rug is mirrored. Nothing where they don't fit on the rug or on each
/// other, where a band would be left too low to be seen, or where a neighbour's colours would make a kept one higher.
pub(super) fn laid_over(bands: &[Tones], mut keep: Vec<Placed>, mirrored: bool) -> Option<Vec<Tones>> {
    let length: Length = bands.iter().map(|(height, _)| *height).sum();
    if mirrored {
        for kept in keep.clone() {
            let back = Placed { from: length - kept.to, to: length - kept.from, ..kept };
            let same = |one: &Placed| (one.from, one.to) == (back.from, back.to) && one.is_alike(&back);
            if !keep.iter().any(same) {
                keep.push(back);
            }
        }
    }
    keep.sort_by_key(|kept| kept.from);
    let fits = keep.windows(2).all(|two| two[0].to <= two[1].from);
    if !fits || keep.iter().any(|kept| kept.from < Length::ZERO || kept.to > length) {
        return None;
    }
    let mut laid: Vec<(Placed, bool)> = keep.iter().map(|kept| (*kept, true)).collect();
    let mut from = Length::ZERO;
    for &(height, pair) in bands {
        let (mut start, end) = (from, from + height);
        from = end;
        for kept in &keep {
            if kept.to <= start || end <= kept.from {
                continue;
            }
            if start < kept.from {
                laid.push((Placed { from: start, to: kept.from, pair }, false));
            }
            start = start.max(kept.to);
        }
        if start < end {
            laid.push((Placed { from: start, to: end, pair }, false));
        }
    }
    laid.sort_by_key(|(one, _)| one.from);
    let too_low = |(one, kept): &(Placed, bool)| !kept && one.to - one.from < LEAST;
    // Two kept bands side by side may be as they are.
    let runs_on = |two: &[(Placed, bool)]| two[0].0.is_alike(&two[1].0) && !(two[0].1 && two[1].1);
    if laid.iter().any(too_low) || laid.windows(2).any(runs_on) {
        return None;
    }
    Some(laid.into_iter().map(|(one, _)| (one.to - one.from, one.pair)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(mm: f64) -> Length {
        Length::millimetres(mm)
    }

    fn placed(from: f64, to: f64, tone: usize) -> Placed {
        Placed { from: mm(from), to: mm(to), pair: [tone; 2] }
    }

    fn told(laid: Option<Vec<Tones>>) -> Vec<(f64, usize)> {
        laid.into_iter().flatten().map(|(height, pair)| (height.mm(), pair[0])).collect()
    }

    #[test]
    fn a_kept_band_lies_where_it_was() {
        let bands = [(mm(300.0), [0; 2]), (mm(100.0), [1; 2]), (mm(400.0), [2; 2])];
        let over = |keep: Vec<Placed>, mirrored| told(laid_over(&bands, keep, mirrored));
        assert_eq!(over(vec![placed(250.0, 450.0, 9)], false), [(250.0, 0), (200.0, 9), (350.0, 2)]);
        assert_eq!(
            over(vec![placed(0.0, 100.0, 9)], false),
            [(100.0, 9), (200.0, 0), (100.0, 1), (400.0, 2)]
        );
        let both = [(100.0, 9), (200.0, 0), (100.0, 1), (300.0, 2), (100.0, 9)];
        assert_eq!(over(vec![placed(0.0, 100.0, 9)], true), both);
        assert_eq!(over(vec![placed(300.0, 500.0, 9)], true), [(300.0, 0), (200.0, 9), (300.0, 2)]);
        assert!(over(vec![placed(300.0, 550.0, 9)], true).is_empty(), "both halves want the middle");
        assert!(over(vec![placed(700.0, 900.0, 9)], false).is_empty(), "beyond the end");
        assert!(over(vec![placed(310.0, 390.0, 9)], false).is_empty(), "10 mm are left of the middle band");
        assert!(over(vec![placed(100.0, 200.0, 0)], false).is_empty(), "it would run on in its neighbour");
    }
}
