//! Building and buying: a new frame laid out, and the rods to buy for the frames there are and for more. What is listed
//! already is in `frames` and `rods`.
mod frame;
mod rods;

pub(in crate::web) use frame::laid_out;

use crate::web::http::route::{Route, Who, get};
use crate::web::{App, CurrentUser, Form, Layout, QueryData, Result};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![get("/frames/build", Who::Staff, frame::look), get("/rods/buy", Who::Staff, rods::look)]
}
