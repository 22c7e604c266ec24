//! Tests of one rug's computation, against published and trade figures and against itself.
use thrumhall::craft::{Frame, FrameSizes, Length, Plan, RugSpec, Units};

mod bins;
mod calibrated;
mod chance;
mod cloth;
mod colour;
mod estimate;
mod learn;
mod new_frame;
mod panels;
mod pattern;
mod pieced;
mod plan;
mod progress;
mod pure;
mod reckon;
mod rod_stock;
mod rods;
mod schedule;
mod second_way;
mod sheets;
mod solve;
mod sources;
mod units;
mod warp;
mod weft;
mod weighed;
mod winding;

fn inches(value: f64) -> Length {
    Length::inches(value)
}

fn frame(width: f64, span: f64, nails: u32) -> Frame {
    let sizes =
        FrameSizes { span: inches(span), width: inches(width), nails, pitch: None, nail_diameter: None };
    Frame::new(sizes, Units::Inches).unwrap_or_else(|e| panic!("{e}"))
}

/// The usual small frame. Common practice, no source: 18 × 33 in, 33 nails per end.
fn small() -> Frame {
    frame(18.0, 33.0, 33)
}

fn plan(spec: &RugSpec) -> Plan {
    Plan::of(spec, Units::Inches).unwrap_or_else(|e| panic!("{e}"))
}

fn near(value: f64, wanted: f64, within: f64) {
    assert!((value - wanted).abs() <= within, "{value} isn't within {within} of {wanted}");
}
