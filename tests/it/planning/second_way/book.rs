//! The figures that a plan begins with, written down a second time: low, usual, high.
//!
//! Common practice and reasoned estimates, no source, but where a line names one.

/// A figure that nobody measured.
pub type Figure = [f64; 3];

/// Every doubtful figure of a plan: lengths in inches, times in seconds, weights in g/m².
#[derive(Debug, Clone, Copy)]
pub struct Book {
    pub span_error: Figure,
    pub nail: Figure,
    /// Of any strip's bundle, against cloth at half a gram per cubic centimetre.
    pub thickness: Figure,
    pub tail: Figure,
    pub give: Figure,
    pub join: Figure,
    pub rows_per_inch: Figure,
    pub take_up: Figure,
    pub turn: Figure,
    pub warp_gsm: Figure,
    pub weft_gsm: Figure,
    pub piece: Figure,
    pub sheet: Figure,
    pub cut_strip: Figure,
    pub join_at_table: Figure,
    pub join_at_frame: Figure,
    pub wind_yard: Figure,
    pub wind_nail: Figure,
    pub twist: Figure,
    pub turn_time: Figure,
    pub slow_end: Figure,
    pub slow_factor: Figure,
    pub practice: Figure,
    pub take_off: Figure,
    pub stitch_inch: Figure,
    pub fringe_strand: Figure,
    pub fringe_knot: Figure,
    pub thread_ratio: Figure,
    /// Closer rows, which are lighter ones: only where a sample was weighed.
    pub packing: Figure,
    /// What a class's own pace makes of all weaving.
    pub weaving_pace: Figure,
    /// Grams of a row: only where a sample was weighed.
    pub row_grams: Figure,
}

/// The usual figures, except what depends on cloth and frame.
pub const BOOK: Book = Book {
    span_error: [1.0; 3],
    nail: [0.08, 0.1, 0.14],
    thickness: [0.67, 1.0, 1.5],
    tail: [4.0, 6.0, 8.0],
    give: [0.0; 3],
    join: [1.5, 2.0, 2.5],
    rows_per_inch: [3.0, 4.0, 5.0],
    take_up: [0.15, 0.28, 0.45],
    turn: [0.5, 0.75, 1.0],
    warp_gsm: [0.0; 3],
    weft_gsm: [0.0; 3],
    piece: [48.0, 54.0, 60.0],
    sheet: [66.0, 90.0, 104.0],
    cut_strip: [12.0, 20.0, 30.0],
    join_at_table: [20.0, 30.0, 45.0],
    join_at_frame: [15.0, 25.0, 40.0],
    wind_yard: [3.0, 5.0, 8.0],
    wind_nail: [8.0, 12.0, 18.0],
    twist: [3.0, 4.15, 6.0],
    turn_time: [2.0, 4.0, 7.0],
    slow_end: [1.0, 2.0, 3.0],
    slow_factor: [1.5, 2.0, 3.0],
    practice: [0.79, 0.83, 0.87],
    take_off: [480.0, 900.0, 1800.0],
    stitch_inch: [20.0, 30.0, 50.0],
    fringe_strand: [20.0, 30.0, 45.0],
    fringe_knot: [1.5, 2.0, 3.0],
    thread_ratio: [1.5, 2.0, 2.5],
    packing: [1.0; 3],
    row_grams: [0.0; 3],
    weaving_pace: [0.0; 3],
};

/// The part of each side that a rug loses off the frame and in the wash; from memory.
pub const WASHED: Figure = [0.01, 0.03, 0.06];

/// Each kind of cloth: g/m² low, usual, high; how it makes a warp; how far it stretches.
/// Published fabric-weight charts agree within a few g/m²; usual values and stretch from memory.
pub const KINDS: [(&str, Figure, &str, f64); 10] = [
    ("percale", [100.0, 130.0, 150.0], "fit", 0.02),
    ("muslin", [125.0, 145.0, 160.0], "fit", 0.02),
    ("sateen", [120.0, 150.0, 180.0], "fit", 0.02),
    ("flannel", [140.0, 170.0, 200.0], "fit", 0.03),
    ("poplin", [110.0, 140.0, 160.0], "fit", 0.02),
    ("jersey", [140.0, 170.0, 200.0], "unfit", 0.25),
    ("interlock", [200.0, 230.0, 260.0], "unfit", 0.20),
    ("denim", [200.0, 330.0, 400.0], "narrower", 0.02),
    ("fleece", [260.0, 310.0, 360.0], "unfit", 0.20),
    ("terry", [300.0, 450.0, 600.0], "unfit", 0.05),
];

/// The kind's line.
pub fn kind(name: &str) -> (Figure, &'static str, f64) {
    let (_, gsm, warp, stretch) = KINDS.into_iter().find(|kind| kind.0 == name).unwrap();
    (gsm, warp, stretch)
}

impl Book {
    /// Every figure, to be changed.
    pub fn figures(&mut self) -> [&mut Figure; 31] {
        [
            &mut self.span_error,
            &mut self.nail,
            &mut self.thickness,
            &mut self.tail,
            &mut self.give,
            &mut self.join,
            &mut self.rows_per_inch,
            &mut self.take_up,
            &mut self.turn,
            &mut self.warp_gsm,
            &mut self.weft_gsm,
            &mut self.piece,
            &mut self.sheet,
            &mut self.cut_strip,
            &mut self.join_at_table,
            &mut self.join_at_frame,
            &mut self.wind_yard,
            &mut self.wind_nail,
            &mut self.twist,
            &mut self.turn_time,
            &mut self.slow_end,
            &mut self.slow_factor,
            &mut self.practice,
            &mut self.take_off,
            &mut self.stitch_inch,
            &mut self.fringe_strand,
            &mut self.fringe_knot,
            &mut self.thread_ratio,
            &mut self.packing,
            &mut self.row_grams,
            &mut self.weaving_pace,
        ]
    }
}
