//! Second factors of instructors and volunteers: passkeys, one-time codes, recovery codes; the second step of signing in, and
//! signing in by a passkey alone; and what is done when one is lost.
mod codes;
mod let_in;
mod mine;
mod of_person;
mod passkey;
mod recovery;
mod step;

use crate::web::http::auth::half_way::SECOND_STEP;
use crate::web::http::route::{Route, Who, get, post};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get(mine::PAGE, Who::Staff, mine::show),
        post("/me/second-factor/passkeys/begin", Who::Staff, mine::begin_passkey),
        post("/me/second-factor/passkeys", Who::Staff, mine::add_passkey),
        post("/me/second-factor/passkeys/{id}/remove", Who::Staff, mine::remove_passkey),
        get(codes::PAGE, Who::Staff, codes::show),
        post(codes::PAGE, Who::Staff, codes::begin),
        post("/me/second-factor/codes/confirm", Who::Staff, codes::confirm),
        post("/me/second-factor/codes/remove", Who::Staff, codes::remove),
        post("/me/second-factor/recovery", Who::Staff, recovery::renew),
        get(SECOND_STEP, Who::Anyone, step::show),
        post(SECOND_STEP, Who::Anyone, step::take),
        post("/sign-in/second-step/passkey", Who::Anyone, step::begin_passkey),
        post("/sign-in/passkey/begin", Who::Anyone, passkey::begin),
        post("/sign-in/passkey", Who::Anyone, passkey::sign_in),
        get("/let-in/{token}", Who::Anyone, let_in::show),
        post("/let-in/{token}", Who::Anyone, let_in::set),
        get("/people/{id}/second-factor", Who::Instructor, of_person::show),
        post("/people/{id}/second-factor/remove", Who::Instructor, of_person::remove),
    ]
}
