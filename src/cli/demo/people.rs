//! The demo's people. Every name and every address is invented: numbers are of those kept for stories (555-0100 to 555-0199, North
//! American Numbering Plan, from memory), addresses under `.example`, which is nobody's (RFC 2606).

/// They run the class.
pub(super) const INSTRUCTORS: &[&str] = &["Hedda Marlspike", "Tobin Saltgrass"];

/// They weigh in and find cloth.
pub(super) const VOLUNTEERS: &[&str] = &["Ruud Kelpman", "Perpetua Sandry", "Joss Lanternby"];

/// A weaver: the name, how to reach them, and whether they measure in centimetres.
pub(super) const WEAVERS: &[(&str, &str, bool)] = &[
    ("Alba Netwright", "555-0101", false),
    ("Bram Oakum", "555-0102, or bram@saltern-row.example", false),
    ("Corisande Pell", "corisande@saltern-row.example", false),
    ("Dorrit Wrack", "note at the bakery", false),
    ("Edda Sjöö", "edda@saltern-row.example", true),
    ("Fenno Halyard", "555-0106, the blue boat", false),
    ("Gwenda Brack", "555-0107", false),
    ("Hob Ternley", "Mole Cottage, 555-0108", false),
    ("Isolde Samphire", "isolde@saltern-row.example, 555-0109", false),
    ("Jory Cockle", "9 Cooper’s Steps", false),
    ("Kezia Spindrift", "the lock house, 555-0111", true),
    ("Łucja Brzeg", "lucja@saltern-row.example", false),
    ("Mirela Țărmure", "555-0113", false),
    ("Nessa Thole", "nessa@saltern-row.example", false),
    ("Ørjan Sulehav", "orjan@saltern-row.example", true),
    ("Νηρηίς Αλμύρα", "555-0116", false),
    ("Нина Приливная", "nina@saltern-row.example, 555-0117", true),
    ("Roswitha Strand", "16 Sluice Lane", false),
    ("Sunniva Creel", "the ice house", false),
    ("Zoë Mañanera", "zoe@saltern-row.example", false),
    ("سلمى الموج", "555-0121", false),
    ("Veda Mooring", "555-0122", false),
];

/// How many of them are enrolled, from the first on: the last one came when it was full.
pub(super) const ENROLLED: usize = 21;
