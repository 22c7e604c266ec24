//! The id in a page's path. One that can't be read names nothing that there is.
use std::str::FromStr;

use axum::extract::{FromRequestParts, RawPathParams};
use axum::http::request::Parts;

use super::error::Error;
use crate::store::{
    BundleId, DeliveryId, FrameId, LoanId, MeetingId, PasskeyId, PersonId, PromiseId, ReceiverId, RodId,
    RugId, ShareOutId, StocktakeId, TabletId, TermId,
};
use crate::web::App;

/// The `{id}` of a path.
pub(in crate::web) struct Id<T>(pub T);

/// An id that stands in paths.
pub(in crate::web) trait PathId: FromStr {
    /// What people call the thing, where there is no such one.
    const WHAT: &'static str;

    /// There is no such thing.
    fn none() -> Error {
        Error::NotFound(Self::WHAT)
    }
}

macro_rules! path_ids {
    ($($id:ty = $what:literal),+ $(,)?) => {$(
        impl PathId for $id {
            const WHAT: &'static str = $what;
        }
    )+};
}

path_ids! {
    BundleId = "bundle",
    DeliveryId = "delivery",
    FrameId = "frame",
    LoanId = "loan",
    MeetingId = "meeting",
    PasskeyId = "passkey",
    PersonId = "person",
    PromiseId = "promise",
    ReceiverId = "receiver",
    RodId = "size of rod",
    RugId = "rug",
    ShareOutId = "share-out",
    StocktakeId = "stocktake",
    TabletId = "tablet that is open; it may have ended meanwhile",
    TermId = "term",
}

impl<T: PathId> FromRequestParts<App> for Id<T> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let params = RawPathParams::from_request_parts(parts, app).await.map_err(|_| T::none())?;
        let id = params.iter().find(|(name, _)| *name == "id").and_then(|(_, text)| text.parse().ok());
        id.map(Self).ok_or_else(T::none)
    }
}
