//! Tests of one rug's computation, against published and trade figures and against itself.
use thrumhall::planning::{Frame, FrameSizes, Plan, RugSpec};
use thrumhall::units::{Length, Units};

mod calibrated;
mod calibrated_class;
mod calibrated_cloth;
mod chance;
mod chart;
mod cloth;
mod colour;
mod cost;
mod estimate;
mod learn;
mod locking;
mod pattern;
mod plan;
mod progress;
mod reckon;
mod rods;
mod schedule;
mod second_way;
mod solve;
mod stepping;
mod warp;
mod weft;
mod weighed;
mod winding;
mod yarn;

pub(crate) fn inches(value: f64) -> Length {
    Length::inches(value)
}

pub(crate) fn frame(width: f64, span: f64, nails: u32) -> Frame {
    let sizes =
        FrameSizes { span: inches(span), width: inches(width), nails, pitch: None, nail_diameter: None };
    Frame::new(sizes, Units::Inches).unwrap_or_else(|e| panic!("{e}"))
}

/// The usual small frame. Common practice, no source: 18 × 33 in, 33 nails per end.
pub(crate) fn small() -> Frame {
    frame(18.0, 33.0, 33)
}

pub(crate) fn plan(spec: &RugSpec) -> Plan {
    Plan::of(spec, Units::Inches).unwrap_or_else(|e| panic!("{e}"))
}

pub(crate) fn near(value: f64, wanted: f64, within: f64) {
    assert!((value - wanted).abs() <= within, "{value} isn't within {within} of {wanted}");
}
