//! What a browser sends of forms that many tests fill in.

/// A rug of 18 × 33 in with 33 nails, without name and bands: common practice, no source.
const RUG: [(&str, &str); 11] = [
    ("size", "other"),
    ("width", "18 in"),
    ("span", "33 in"),
    ("nails", "33"),
    ("strip_width", "1 1/2 in"),
    ("warp_kind", "percale"),
    ("weft_kind", "percale"),
    ("strands", "trade"),
    ("unit_size", "2"),
    ("rugs_before", "0"),
    ("home_minutes", "0"),
];

/// These fields, and of the usual ones those that they don't name.
pub fn with<'a>(fields: &[(&'a str, &'a str)], usual: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let mut all = fields.to_vec();
    all.extend(usual.iter().filter(|(name, _)| fields.iter().all(|(known, _)| known != name)));
    all
}

/// The form of a usual rug with these fields, its name and bands among them.
pub fn rug<'a>(fields: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    with(fields, &RUG)
}
