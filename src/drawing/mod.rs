//! Every drawing, as SVG: pure functions of what was computed.
pub mod bars;
pub mod cuts;
pub mod figure;
pub mod flows;
pub mod frame;
pub mod guide;
pub mod hatch;
pub mod panels;
pub mod qr;
pub mod rug_face;
pub mod rug_small;
pub mod ruler;
pub mod stepper;
pub mod wall;
pub mod warp_path;
