//! Two copies of the program on one database, and several people at both of them at once, over HTTP. What they were
//! answered, in the order in which they asked and heard, must be what one after the other could have been answered.
mod at_once;
mod cloth;
mod copies;
mod lending;
mod linear;
mod promises;

/// Writes the same test for two copies on either database: `on_copies!(name, |copies| async move { … })` makes
/// `name::lite` and `name::pg`.
macro_rules! on_copies {
    ($name:ident, |$copies:ident| $body:expr) => {
        mod $name {
            #[allow(unused_imports, reason = "not every test needs its file's imports")]
            use super::*;

            async fn test($copies: $crate::races::copies::Copies) {
                let done: () = $body.await;
                done
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 4)]
            async fn lite() {
                let database = $crate::support::Database::lite().await;
                test($crate::races::copies::Copies::of(&database).await).await;
                database.drop().await;
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 4)]
            async fn pg() {
                let Some(database) = $crate::support::Database::pg().await else { return };
                test($crate::races::copies::Copies::of(&database).await).await;
                database.drop().await;
            }
        }
    };
}
pub(crate) use on_copies;
