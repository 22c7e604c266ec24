//! A request gets by with one connection, and with a number of statements that doesn't grow with the class.
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fmt::Debug;

use thrumhall::store::TRANSACTIONS;
use thrumhall::web::{App, Config, service};
use tracing::field::{Field, Visit};
use tracing::{Event, Subscriber};
use tracing_subscriber::layer::{Context, Layer, SubscriberExt as _};

use super::acts::form;
use super::class::{Class, class_with, pairs};
use super::routes::{addresses, routes};
use crate::support::browser::Browser;

/// The transactions that ended since it was last asked: the kind of each, and its statements.
///
/// One for the whole program, since a thread's own loses events that another thread met first; what is logged is kept by thread,
/// and a test of one thread asks and is answered on its own.
struct Log;

thread_local! {
    static ENDED: RefCell<Vec<(String, u64)>> = const { RefCell::new(Vec::new()) };
}

impl<S: Subscriber> Layer<S> for Log {
    fn on_event(&self, event: &Event<'_>, _: Context<'_, S>) {
        if event.metadata().target() == TRANSACTIONS {
            let mut seen = Seen::default();
            event.record(&mut seen);
            ENDED.with_borrow_mut(|ended| ended.push((seen.kind, seen.statements)));
        }
    }
}

impl Log {
    #[allow(clippy::unused_self, reason = "it is asked of what was set up")]
    fn take(&self) -> Vec<(String, u64)> {
        ENDED.take()
    }
}

#[derive(Default)]
struct Seen {
    kind: String,
    statements: u64,
}

impl Visit for Seen {
    fn record_u64(&mut self, field: &Field, value: u64) {
        if field.name() == "statements" {
            self.statements = value;
        }
    }

    fn record_str(&mut self, field: &Field, value: &str) {
        if field.name() == "kind" {
            value.clone_into(&mut self.kind);
        }
    }

    fn record_debug(&mut self, _: &Field, _: &dyn Debug) {}
}

/// A page reads in the snapshot in which it was found out who asks. An act has one that is over before its change begins; and
/// whose form leads to a long search is looked at again when the search is done.
const PAGE: &[&str] = &["read"];

/// A feed whose entries are other than that calendar was told last notes what it tells now; the view is over before.
const FEED: (&str, &[&str]) = ("GET /calendar/{token}", &["read", "write"]);

/// Acts that begin a search which goes on after them.
const SEARCHING: [&str; 2] = ["/share-out", "/share-out/{id}/again"];

/// Who signs out, or gives their device to the scale, has nothing to do afterwards.
const OUT: [(&str, &str); 3] =
    [("POST", "/sign-out"), ("POST", "/me/sessions/end-all"), ("POST", "/tablets")];

/// What each route did, by its method and path: the transactions of each request, in the order of the addresses.
type Done = BTreeMap<String, Vec<Vec<(String, u64)>>>;

/// Asks for every page, then does every act, all over a single connection; those that begin a search only if told to.
async fn walk(class: &Class, log: &Log, search: bool) -> Done {
    let store = class.world.database.by_one_connection().await;
    let router = service(App::new(store, class.world.clock.clone(), Config::default()));
    let over = |browser: &Browser| {
        let mut other = Browser::at(router.clone());
        other.cookie.clone_from(&browser.cookie);
        other
    };
    let mut done = Done::new();
    let all =
        ["GET", "POST"].into_iter().flat_map(|method| routes(method).map(move |(_, route)| (method, route)));
    // A share-out is worked out when its request is long over, in views and
    // changes of its own, which would be taken for another request's: it comes last, where nobody counts any more.
    let (searching, others): (Vec<_>, Vec<_>) = all
        .filter(|one| !OUT.contains(one))
        .partition(|(method, route)| *method == "POST" && SEARCHING.contains(route));
    for (method, route) in others.into_iter().chain(searching.into_iter().filter(|_| search)) {
        for (mark, address) in addresses(class, route) {
            let mut browser = over(&class.instructor);
            log.take();
            let page = match method {
                "GET" => browser.get(&address).await,
                _ => browser.post(&address, &pairs(&form(class, route, mark))).await,
            };
            assert!(!page.status.is_server_error(), "{method} {address}: {}\n{}", page.status, page.text);
            done.entry(format!("{method} {route}")).or_default().push(log.take());
        }
    }
    done
}

#[tokio::test]
async fn a_request_takes_one_connection_and_statements_that_do_not_grow_with_the_class() {
    tracing::subscriber::set_global_default(tracing_subscriber::registry().with(Log)).unwrap();
    let log = Log;
    let small = walk(&class_with(0).await, &log, false).await;
    let large = walk(&class_with(36).await, &log, true).await;
    // What is counted is there at all: today reads much, and a frame that is added is written in a change of its own.
    assert!(matches!(small["GET /today"][0].as_slice(), [(kind, 8..)] if kind == "read"), "{small:?}");
    let kinds: Vec<&str> = small["POST /frames"][0].iter().map(|(kind, _)| kind.as_str()).collect();
    assert_eq!(kinds, ["read", "write"]);
    let mut wrong = Vec::new();
    for (route, requests) in &small {
        let kinds = |one: &Vec<(String, u64)>| one.iter().map(|(kind, _)| kind.clone()).collect::<Vec<_>>();
        for (n, request) in requests.iter().enumerate() {
            let kinds = kinds(request);
            let tries = route == "GET /readyz" && kinds == ["write"];
            if route.starts_with("GET")
                && !(kinds.is_empty() || kinds == PAGE || tries)
                && !(route == FEED.0 && kinds == FEED.1)
            {
                wrong.push(format!("{route}: {kinds:?}"));
            }
            let in_large = &large[route][n];
            if request != in_large {
                wrong.push(format!("{route}: {request:?} in the small class, {in_large:?} in the large one"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
