//! The guide at the frame: a rug's steps, and one row crossing by crossing, of a rug or of a small piece to try it on. What is woven how
//! is `planning`'s, what is said of it is `services::guide`'s, the drawings are `drawing`'s.
pub(in crate::web) mod begin;
mod stepper;
mod steps;

use crate::web::http::route::{Route, Who, get};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/guide/stepper", Who::SignedIn, stepper::piece),
        get("/rugs/{id}/guide", Who::SignedIn, steps::of_rug),
        get("/rugs/{id}/stepper", Who::SignedIn, stepper::of_rug),
    ]
}
