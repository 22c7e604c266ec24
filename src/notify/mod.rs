//! Notices on their way out: what they say, signed requests to receivers, mail, and the dispatcher that delivers them. What
//! happened and how each delivery went is kept in `store::notices`.
mod dispatcher;
mod guard;
mod mail;
pub mod outward;
pub mod reach;
mod webhook;
mod words;

pub use dispatcher::{Dispatcher, PATIENCE, Tick};
pub use guard::{Guard, Private, is_public};
pub use mail::{BadMail, Mail};
pub use webhook::{BadSecret, secret_of, sign};
pub use words::{Words, address_in, body, kind, words};
