//! The service as an outsider has it: started on an empty database, a clock to set, `check` to ask. A test
//! through this touches nothing else of the program but its pages.
use jiff::Timestamp;
use thrumhall::clock::Clock;
use thrumhall::secrets;
use thrumhall::store::{Actor, Store};
use thrumhall::web::{App, Config, service};

use super::Database;
use super::browser::Browser;

/// One copy of the program on a database.
pub struct Workroom {
    store: Store,
    clock: Clock,
    browser: Browser,
}

impl Workroom {
    /// Starts at a moment.
    pub fn start(database: &Database, at: Timestamp) -> Self {
        let (store, clock) = (database.store.clone(), Clock::fixed(at));
        let app = App::new(store.clone(), clock.clone(), Config::default());
        Self { store, clock, browser: Browser::at(service(app)) }
    }

    /// A browser that nobody signed in with.
    pub fn browser(&self) -> Browser {
        self.browser.clone()
    }

    pub fn set_clock(&self, to: Timestamp) {
        self.clock.set(to);
    }

    /// The path of the link that the program prints at its first start.
    pub async fn setup_link(&self) -> String {
        let secret = secrets::secret();
        let mut tx = self.store.write(Actor { person: None, at: self.clock.now() }).await.unwrap();
        tx.set_setup_link(&secrets::secret_hash(&secret)).await.unwrap();
        tx.commit().await.unwrap();
        format!("/setup/{secret}")
    }

    /// What `thrumhall check` would complain about.
    pub async fn check(&self) -> Vec<String> {
        self.store.read().await.unwrap().broken_invariants().await.unwrap()
    }
}
