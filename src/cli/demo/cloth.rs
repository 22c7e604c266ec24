//! The demo's cloth: some ninety bundles, from a hotel that closed and from neighbours. Every number is invented.
use crate::planning::Kind::{self, Denim, Flannel, Fleece, Jersey, Percale, Poplin, Sateen, Terry};
use crate::store::cloth::bundles::BundleState::{self, Arrived, Ready, Washing};

/// What came in at once.
pub(super) struct Lot {
    /// How many days before the demo's day.
    pub days_ago: i64,
    /// Where it came from.
    pub from: &'static str,
    /// Whether it came in washed.
    pub washed: bool,
    /// How far it is by now.
    pub now: BundleState,
    /// Each bundle.
    pub bundles: &'static [DonatedBundle],
}

impl Lot {
    /// Where it came from, in a word.
    pub fn source(&self) -> &'static str {
        let from = self.from.to_lowercase();
        ["hotel", "neighbours", "jumble"].into_iter().find(|word| from.contains(word)).unwrap_or("the door")
    }
}

/// One bundle: the kind, the colour in words and as it looks, the weight as read off the scale, and how many flat twin
/// sheets were counted (0: none were).
#[derive(Clone, Copy)]
pub(super) struct DonatedBundle {
    pub kind: Kind,
    pub colour: &'static str,
    pub hex: u32,
    /// The other colour of a print or a stripe.
    pub second: Option<(&'static str, u32)>,
    pub weight: &'static str,
    pub sheets: i64,
}

const fn row(kind: Kind, colour: &'static str, hex: u32, weight: &'static str, sheets: i64) -> DonatedBundle {
    DonatedBundle { kind, colour, hex, second: None, weight, sheets }
}

const fn printed(row: DonatedBundle, second: &'static str, hex: u32) -> DonatedBundle {
    DonatedBundle { second: Some((second, hex)), ..row }
}

/// Before the term began and early in it. Numbers on the tape run on from 1.
pub(super) const EARLY: &[Lot] = &[
    Lot {
        days_ago: 63,
        from: "Hotel at the mole, closing down: first load",
        washed: true,
        now: Ready,
        bundles: &[
            row(Percale, "White", 0x00f7_f6f1, "4 lb 14 oz", 4),
            row(Percale, "White", 0x00f7_f6f1, "5 lb 15 oz", 5),
            row(Percale, "White", 0x00f7_f6f1, "3 lb 10 oz", 3),
            row(Percale, "Cream", 0x00f0_e6cf, "3 lb 7.5 oz", 3),
            row(Percale, "White", 0x00f7_f6f1, "3 lb 10.5 oz", 3),
            row(Percale, "Ivory", 0x00f3_ecd9, "4 lb 8 oz", 4),
            row(Percale, "White", 0x00f7_f6f1, "5 lb 13 oz", 5),
            row(Percale, "White", 0x00f7_f6f1, "4 lb 8 oz", 4),
            row(Percale, "White", 0x00f7_f6f1, "5 lb 10 oz", 5),
            row(Percale, "Cream", 0x00f0_e6cf, "6 lb 12.5 oz", 6),
            row(Percale, "White", 0x00f7_f6f1, "4 lb 12 oz", 4),
            row(Percale, "Ivory", 0x00f3_ecd9, "7 lb 5 oz", 6),
            row(Percale, "White", 0x00f7_f6f1, "7 lb 1.5 oz", 6),
            row(Percale, "White", 0x00f7_f6f1, "3 lb 10.5 oz", 3),
            row(Percale, "White", 0x00f7_f6f1, "3 lb 8.5 oz", 3),
            row(Percale, "Cream", 0x00f0_e6cf, "4 lb 9.5 oz", 4),
            row(Percale, "White", 0x00f7_f6f1, "4 lb 11.5 oz", 4),
            row(Percale, "Ivory", 0x00f3_ecd9, "6 lb 14.5 oz", 6),
            row(Percale, "White", 0x00f7_f6f1, "4 lb 8 oz", 4),
            row(Percale, "White", 0x00f7_f6f1, "7 lb 2 oz", 6),
            row(Percale, "White", 0x00f7_f6f1, "4 lb 8 oz", 4),
            row(Percale, "Cream", 0x00f0_e6cf, "3 lb 8.5 oz", 3),
            row(Percale, "White", 0x00f7_f6f1, "6 lb 13.5 oz", 6),
            row(Percale, "Ivory", 0x00f3_ecd9, "6 lb 15.5 oz", 6),
            row(Percale, "White", 0x00f7_f6f1, "4 lb 10.5 oz", 4),
            row(Percale, "White", 0x00f7_f6f1, "5 lb 12.5 oz", 5),
        ],
    },
    Lot {
        days_ago: 56,
        from: "Hotel at the mole, closing down: second load",
        washed: true,
        now: Ready,
        bundles: &[
            row(Sateen, "White", 0x00f7_f6f1, "2 lb 10 oz", 2),
            row(Sateen, "White", 0x00f7_f6f1, "5 lb 3.5 oz", 4),
            row(Sateen, "Cream", 0x00f0_e6cf, "2 lb 8.5 oz", 2),
            row(Sateen, "Ivory", 0x00f3_ecd9, "4 lb 15.5 oz", 4),
            row(Percale, "Pale blue", 0x00b6_cddd, "3 lb 14 oz", 3),
            row(Percale, "Pale blue", 0x00b6_cddd, "3 lb 13 oz", 3),
            row(Percale, "Pale blue", 0x00b6_cddd, "2 lb 5 oz", 2),
            row(Percale, "Sea blue", 0x004f_7fb0, "3 lb 8 oz", 3),
            row(Percale, "Light grey", 0x00c7_c8c6, "3 lb 8 oz", 3),
            row(Percale, "Light grey", 0x00c7_c8c6, "3 lb 11 oz", 3),
            row(Terry, "White", 0x00f7_f6f1, "3 lb 14.5 oz", 0),
            row(Terry, "White", 0x00f7_f6f1, "2 lb 2 oz", 0),
            row(Percale, "Sand", 0x00cc_b48f, "5 lb 0.5 oz", 4),
            row(Percale, "Sand", 0x00cc_b48f, "3 lb 10 oz", 3),
        ],
    },
    Lot {
        days_ago: 49,
        from: "Neighbours of Sluice Lane",
        washed: false,
        now: Ready,
        bundles: &[
            row(Percale, "Navy", 0x0025_335c, "1 lb 15.5 oz", 0),
            row(Percale, "Navy", 0x0025_335c, "2 lb 7.5 oz", 0),
            row(Percale, "Teal", 0x002a_7b80, "3 lb 8 oz", 0),
            row(Flannel, "Grey", 0x0087_898c, "1 lb", 0),
            row(Flannel, "Charcoal", 0x0047_4a4e, "1 lb 1.5 oz", 0),
            row(Percale, "Charcoal", 0x0047_4a4e, "1 lb 11 oz", 0),
            row(Poplin, "Red", 0x00b5_2a30, "3 lb 2.5 oz", 0),
            row(Percale, "Dark green", 0x0027_543d, "1 lb", 0),
            row(Percale, "Green", 0x0048_8a4f, "3 lb 4.5 oz", 0),
            row(Poplin, "Yellow", 0x00ee_cf52, "1 lb 13.5 oz", 0),
            row(Denim, "Ink blue", 0x002c_3a66, "2 lb 12 oz", 0),
            row(Percale, "Brown", 0x006f_4c32, "3 lb 1.5 oz", 0),
            row(Percale, "Rust", 0x00b0_562d, "2 lb 4.5 oz", 0),
            row(Jersey, "Black", 0x001e_1d1f, "3 lb 3.5 oz", 0),
        ],
    },
    Lot {
        days_ago: 42,
        from: "Neighbours of Cooper’s Steps",
        washed: false,
        now: Ready,
        bundles: &[
            row(Percale, "Grey", 0x0087_898c, "3 lb 13 oz", 0),
            row(Percale, "Sea blue", 0x004f_7fb0, "1 lb 15.5 oz", 0),
            row(Percale, "Lilac", 0x00b7_a1cb, "4 lb", 0),
            row(Percale, "Purple", 0x006a_417c, "2 lb", 0),
            printed(row(Poplin, "Pink", 0x00e8_adb8, "2 lb 13.5 oz", 0), "White", 0x00f7_f6f1),
            row(Poplin, "Pale green", 0x00bc_d7be, "2 lb 7.5 oz", 0),
            row(Percale, "Pale green", 0x00bc_d7be, "1 lb 8.5 oz", 0),
            row(Percale, "Orange", 0x00df_8230, "1 lb 12 oz", 0),
            row(Flannel, "Mustard", 0x00c1_9a32, "3 lb 4.5 oz", 0),
            row(Percale, "Wine", 0x006d_2236, "2 lb 2 oz", 0),
            row(Denim, "Navy", 0x0025_335c, "3 lb 14.5 oz", 0),
            row(Percale, "Black", 0x001e_1d1f, "2 lb 7.5 oz", 0),
        ],
    },
    Lot {
        days_ago: 32,
        from: "Left over from the chapel jumble",
        washed: false,
        now: Ready,
        bundles: &[
            row(Percale, "Navy", 0x0025_335c, "1 lb 5.5 oz", 0),
            row(Percale, "White", 0x00f7_f6f1, "2 lb 2.5 oz", 0),
            row(Flannel, "Cream", 0x00f0_e6cf, "1 lb 11.5 oz", 0),
            row(Percale, "Teal", 0x002a_7b80, "1 lb 4 oz", 0),
            row(Poplin, "Orange", 0x00df_8230, "2 lb 4 oz", 0),
            printed(row(Poplin, "Yellow", 0x00ee_cf52, "2 lb 10.5 oz", 0), "White", 0x00f7_f6f1),
            row(Percale, "Dark green", 0x0027_543d, "3 lb 3 oz", 0),
            row(Jersey, "Grey", 0x0087_898c, "4 lb 2.5 oz", 0),
        ],
    },
];

/// In the last days: in the wash, or not even that.
pub(super) const LATE: &[Lot] = &[
    Lot {
        days_ago: 6,
        from: "Neighbours of Sluice Lane",
        washed: false,
        now: Washing,
        bundles: &[
            row(Percale, "Rust", 0x00b0_562d, "3 lb 1.5 oz", 0),
            row(Percale, "Brown", 0x006f_4c32, "2 lb 1 oz", 0),
            printed(row(Flannel, "Red", 0x00b5_2a30, "1 lb 9 oz", 0), "Charcoal", 0x0047_4a4e),
            row(Percale, "Pink", 0x00e8_adb8, "1 lb 1 oz", 0),
            row(Percale, "Sea blue", 0x004f_7fb0, "1 lb 4.5 oz", 0),
            row(Percale, "Cream", 0x00f0_e6cf, "3 lb 0.5 oz", 0),
        ],
    },
    Lot {
        days_ago: 1,
        from: "Two bags left at the door",
        washed: false,
        now: Arrived,
        bundles: &[
            row(Percale, "White", 0x00f7_f6f1, "13 oz", 0),
            row(Percale, "Green", 0x0048_8a4f, "3 lb 10 oz", 0),
            row(Flannel, "Light grey", 0x00c7_c8c6, "1 lb 6.5 oz", 0),
            row(Poplin, "Lilac", 0x00b7_a1cb, "1 lb 12 oz", 0),
            row(Percale, "Navy", 0x0025_335c, "1 lb 4.5 oz", 0),
            row(Denim, "Ink blue", 0x002c_3a66, "2 lb 9.5 oz", 0),
            row(Percale, "Yellow", 0x00ee_cf52, "2 lb 13.5 oz", 0),
            row(Fleece, "Teal", 0x002a_7b80, "1 lb 14 oz", 0),
            row(Percale, "Sand", 0x00cc_b48f, "1 lb 3 oz", 0),
            row(Terry, "Cream", 0x00f0_e6cf, "3 lb 11.5 oz", 0),
        ],
    },
];

/// Cloth pulled at a meeting: which one (0 is the first), the number on the tape, how much, for which rug.
pub(super) const PULLED: &[(usize, i64, &str, &str)] = &[
    (0, 1, "2 lb 8 oz", "Low tide"),
    (0, 31, "1 lb 12 oz", "Low tide"),
    (0, 34, "1 lb 14 oz", "Low tide"),
    (0, 41, "1 lb 3.5 oz", "Low tide"),
    (0, 2, "3 lb 4 oz", "Herring bones"),
    (0, 46, "1 lb 9 oz", "Herring bones"),
    (0, 49, "2 lb 2 oz", "Marram"),
    (0, 39, "2 lb 12 oz", "Marram"),
    (0, 52, "1 lb 14 oz", "Tarred rope"),
    (0, 40, "1 lb 15 oz", "Sandbar"),
    (0, 4, "2 lb 1 oz", "Sandbar"),
    (0, 35, "2 lb 6 oz", "Gull grey"),
    (1, 42, "2 lb 4 oz", "Breakwater"),
    (1, 55, "1 lb 2 oz", "Breakwater"),
    (1, 36, "2 lb 10.5 oz", "Wet slate"),
    (1, 55, "2 lb 9 oz", "Wet slate"),
    (1, 32, "3 lb 13 oz", "Spring tide"),
    (1, 56, "1 lb 15.5 oz", "Spring tide"),
    (1, 10, "5 lb 4 oz", "Spring tide"),
    (1, 64, "1 lb 6 oz", "Chart room"),
    (2, 43, "2 lb 9 oz", "Slack water"),
    (2, 60, "1 lb 3 oz", "Slack water"),
    (2, 67, "1 lb 4 oz", "Night ferry"),
    (2, 58, "1 lb 1 oz", "Night ferry"),
    (3, 50, "14.5 oz", "Lamp in fog"),
    (3, 3, "2 lb 3 oz", "Lamp in fog"),
];

/// Cloth that came back at a meeting, from a rug that was given up.
pub(super) const PUT_BACK: (usize, i64, &str, &str) = (3, 64, "1 lb 1.5 oz", "Chart room was given up");
/// Cloth that a volunteer cut into strips two days before: the number on the tape, what the strips weigh, a note.
pub(super) const CUT: (i64, &str, &str) = (72, "2 lb 7 oz", "two balls");
/// Cloth that was thrown away at a meeting.
pub(super) const SCRAPPED: (usize, i64, &str, &str) = (2, 54, "1 lb 2 oz", "holes, and too stretchy");
