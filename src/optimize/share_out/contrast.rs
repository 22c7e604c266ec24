//! Whether colours that touch in a rug still differ when other cloth stands in for them. Where the limits lie is ours, set by
//! eye.
use crate::planning::colour::Lab;

/// The part of a wanted difference that must be kept.
const KEPT: f64 = 0.5;
/// Less of a difference in lightness, or in hue and chroma, isn't what a pattern lives by.
const LIGHTER: f64 = 5.0;
const OTHER_HUE: f64 = 8.0;

/// Whether cloth that is given for two wanted colours keeps their difference: which is the lighter, by at least half as much,
/// and at least half as far from one another in the plane of hue and chroma of CIELAB.
pub fn keeps_apart(wanted: [Lab; 2], given: [Lab; 2]) -> bool {
    let apart = |[one, other]: [Lab; 2]| {
        let (one, other) = (one.parts(), other.parts());
        (one[0] - other[0], (one[1] - other[1]).hypot(one[2] - other[2]))
    };
    let ((lighter, hue), (still, still_hue)) = (apart(wanted), apart(given));
    let light = lighter.abs() < LIGHTER || still * lighter.signum() >= KEPT * lighter.abs();
    light && (hue < OTHER_HUE || still_hue >= KEPT * hue)
}

#[cfg(test)]
mod tests {
    use super::keeps_apart;
    use crate::planning::colour::Hex;

    #[test]
    fn white_for_pale_blue_wipes_out_a_check_of_both_and_pale_green_does_not() {
        let lab = |hex: &str| Hex::parse(hex).unwrap().lab();
        let wanted = [lab("#cfe2f3"), lab("#ffffff")];
        assert!(keeps_apart(wanted, wanted));
        assert!(!keeps_apart(wanted, [lab("#ffffff"), lab("#ffffff")]));
        assert!(!keeps_apart(wanted, [lab("#fdfdfa"), lab("#ffffff")]));
        assert!(!keeps_apart(wanted, [lab("#ffffff"), lab("#cfe2f3")]), "the lighter is the darker now");
        assert!(keeps_apart(wanted, [lab("#cdeccb"), lab("#ffffff")]));
        let reds = [lab("#b02020"), lab("#207030")];
        assert!(!keeps_apart(reds, [lab("#b02020"), lab("#802018")]), "red and green become two reds");
        assert!(
            keeps_apart([lab("#ffffff"), lab("#fefefe")], [lab("#22305a"), lab("#22305a")]),
            "one colour"
        );
    }
}
