//! The demo's people. Every name and every address is invented.

/// They run the class.
pub(super) const INSTRUCTORS: &[&str] = &["Hedda Marlspike", "Tobin Saltgrass"];

/// They weigh in and find cloth.
pub(super) const VOLUNTEERS: &[&str] = &["Ruud Kelpman", "Perpetua Sandry", "Joss Lanternby"];

/// A weaver: the name, how to reach them, and whether they measure in centimetres.
pub(super) const WEAVERS: &[(&str, &str, bool)] = &[
    ("Alba Netwright", "3 Sluice Lane", false),
    ("Bram Oakum", "over the chandlery", false),
    ("Corisande Pell", "11 Sluice Lane", false),
    ("Dorrit Wrack", "note at the bakery", false),
    ("Edda Shoal", "2 Cooper’s Steps", true),
    ("Fenno Halyard", "the blue boat", false),
    ("Gwenda Brack", "7 Cooper’s Steps", false),
    ("Hob Ternley", "Mole Cottage", false),
    ("Isolde Samphire", "back door, Saltern Row 4", false),
    ("Jory Cockle", "9 Cooper’s Steps", false),
    ("Kezia Spindrift", "the lock house", true),
    ("Lorne Bollard", "Saltern Row 12", false),
    ("Mirela Dunlin", "5 Sluice Lane", false),
    ("Nessa Thole", "note at the bakery", false),
    ("Orrin Gannet", "Saltern Row 8", false),
    ("Petra Lugsail", "the sail store", false),
    ("Quill Ebbing", "1 Cooper’s Steps", true),
    ("Roswitha Strand", "16 Sluice Lane", false),
    ("Sunniva Creel", "the ice house", false),
    ("Tamsin Wherry", "Saltern Row 3", false),
    ("Ulf Barnacle", "the green boat", false),
    ("Veda Mooring", "14 Sluice Lane", false),
];

/// How many of them are enrolled, from the first on: the last one came too late.
pub(super) const ENROLLED: usize = 21;
