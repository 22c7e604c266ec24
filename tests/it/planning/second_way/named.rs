//! The book's figures by the names that the program shows them under.
use super::book::{Book, Figure, WASHED};
use super::contact::Asked;

/// A figure of the book by the name that the program shows.
pub fn figure(book: &Book, name: &str) -> Option<Figure> {
    Some(match name {
        "the span as measured, against the true one" => book.span_error,
        "nail diameter" => book.nail,
        "thickness of bundles of strip, against cloth packed to half a gram per cubic centimetre" => {
            book.thickness
        }
        "tail for tying at each end of the warp" => book.tail,
        "give of the warp strip under tension" => book.give,
        "strip lost in a join, both ends together" => book.join,
        "rows per inch" => book.rows_per_inch,
        "weft take-up" => book.take_up,
        "weft strip for a turn about the edge rod" => book.turn,
        "mass per area of the warp cloth" => book.warp_gsm,
        "mass per area of the weft cloth" => book.weft_gsm,
        "weight of one row" => book.row_grams,
        "closer rows, which are lighter rows" => book.packing,
        "length that weft is worked in" => book.piece,
        "length of a strip from a sheet" => book.sheet,
        "cutting or tearing one strip" => book.cut_strip,
        "one join at the table" => book.join_at_table,
        "one join at the frame" => book.join_at_frame,
        "winding one yard into a ball" => book.wind_yard,
        "winding on, for each nail" => book.wind_nail,
        "one twist of the weft" => book.twist,
        "one turn more of the two strands, where the same one stays in front" => [1.0, 2.0, 4.0],
        "one turn at the rod" => book.turn_time,
        "last stretch, with no room for the hand" => book.slow_end,
        "times as slow in the last stretch" => book.slow_factor,
        "time left at each doubling of rugs made" => book.practice,
        "weaving time against the sum of its acts" => book.weaving_pace,
        "taking off and hiding the ends" => book.take_off,
        "slip stitching one inch" => book.stitch_inch,
        "tying in one fringe strip" => book.fringe_strand,
        "strip lost in a fringe knot" => book.fringe_knot,
        "slip-stitch thread for each length of edge" => book.thread_ratio,
        "length lost off the frame and in the wash" | "width lost off the rods and in the wash" => WASHED,
        _ => return None,
    })
}

/// Whether a figure is measured for this rug.
pub fn measured(asked: &Asked, name: &str) -> bool {
    match name {
        "nail diameter" => asked.nail.is_some(),
        "mass per area of the warp cloth" => asked.warp_gsm.is_some(),
        "mass per area of the weft cloth" => asked.weft_gsm.is_some(),
        "rows per inch" | "closer rows, which are lighter rows" => asked.sample.is_some(),
        "weight of one row" => asked.sample.is_some_and(|sample| sample.2.is_some()),
        _ => false,
    }
}
