//! What the tests share: a database of either kind for one test, a fixed clock, a browser that talks to the router.
pub mod behind;
pub mod browser;
pub mod database;
pub mod days;
pub mod forms;
pub mod kept;
mod leftovers;
pub mod loft;
pub mod measures;
pub mod named;
pub mod papers;
pub mod pdf;
pub mod program;
pub mod receivers;
pub mod rust;
pub mod share_outs;
pub mod sheet;
pub mod solve;
pub mod timetables;
pub mod workroom;

pub use database::{Database, actor, evening, noon};

/// Writes the same test for both databases: `on_both!(name, |store| async move { … })` makes `name::lite` and `name::pg`.
macro_rules! on_both {
    ($(#[$meta:meta])* $name:ident, |$store:ident| $body:expr) => {
        $(#[$meta])*
        mod $name {
            #[allow(unused_imports, reason = "not every test needs its file's imports")]
            use super::*;

            async fn test($store: thrumhall::store::Store) {
                let done: () = $body.await;
                done
            }

            #[tokio::test(flavor = "multi_thread")]
            async fn lite() {
                let database = $crate::support::Database::lite().await;
                test(database.store.clone()).await;
                database.drop().await;
            }

            #[tokio::test(flavor = "multi_thread")]
            async fn pg() {
                let Some(database) = $crate::support::Database::pg().await else { return };
                test(database.store.clone()).await;
                database.drop().await;
            }
        }
    };
}
pub(crate) use on_both;
