//! Building and buying: a new frame laid out, and the rods to buy for the frames there are and for more. What is listed
//! already is in `frames` and `rods`.
mod frame;
mod rods;

pub(super) use frame::laid_out;

use super::route::{Route, Who, get};
use super::{App, Asked, Form, Me, Result, Shell, one_at_a_time};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![get("/frames/build", Who::Staff, frame::look), get("/rods/buy", Who::Staff, rods::look)]
}
