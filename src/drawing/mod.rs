//! Every drawing, as SVG: pure functions of what was computed.
pub mod bars;
pub mod cuts;
pub mod flows;
pub mod frame;
pub mod panels;
pub mod qr;
pub mod rug_face;
pub mod wall;
pub mod warp_path;
