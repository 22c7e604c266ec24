//! Pages kept in memory for whoever asks for them again while nothing changed. When they are kept and shown is in `revisit`.
//!
//! A page is kept by the session that asked for it, its whole address and the host it was asked by; and it is shown again only
//! as long as the database is at the same revision, the clock in the same minute and the session unchanged. So nobody is shown
//! another's page, and nobody one from before an act, theirs or anybody's, through this copy of the program or another; only what
//! a command changes in a SQLite file shows a tenth of a second late. What is said after an act is never kept, and the keys of
//! forms are new each time. Pages stay out of every other cache (`no-store`): what a browser keeps, the next at that computer may
//! read.
use std::collections::HashMap;
use std::io::Write as _;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, Instant};

use axum::body::Bytes;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse as _, Response};
use flate2::Compression;
use flate2::write::GzEncoder;
use moka::policy::EvictionPolicy;
use moka::sync::Cache;
use tokio::sync::{Mutex as Turn, OnceCell};

use crate::store::{Error, PersonId, RequestKey, Revision, Store};

/// How much memory pages may take, in bytes.
const MOST: u64 = 8 << 20;
/// The largest page that is kept, in bytes.
pub(super) const LARGEST: usize = 512 << 10;
/// What stands before a form's key.
const KEY: &str = "name=\"key\" value=\"";
/// How long a key is.
const KEY_LENGTH: usize = 36;

/// Marks the answer of a handler whose page may be kept.
#[derive(Clone, Copy)]
pub(super) struct MayBeKept;

/// Marks an answer with what it was made of: nothing else decides what it says.
#[derive(Clone)]
pub(super) struct MadeOf {
    /// What the database was at.
    pub revision: Revision,
    /// Until when the session stays as it is, in microseconds.
    pub until: i64,
}

/// By what a page is found again.
#[derive(Clone, PartialEq, Eq, Hash)]
pub(super) struct Address {
    /// The hash of the session's secret.
    pub session: String,
    /// The host, which links and codes lead to.
    pub host: Option<HeaderValue>,
    /// Path and query.
    pub asked: String,
}

/// A page as it was answered.
pub(super) struct Page {
    /// What it was made of.
    pub made_of: MadeOf,
    /// The minute of the clock: pages tell time to the minute.
    pub minute: i64,
    /// Whose it is.
    pub person: PersonId,
    headers: HeaderMap,
    body: Bytes,
    /// Where forms' keys stand, each with the number of the form it belongs to.
    keys: Vec<(usize, usize)>,
    /// The same compressed, once somebody asked for it.
    packed: OnceLock<Bytes>,
}

/// The pages of one program.
pub(in crate::web) struct KeptPages {
    pages: Cache<Address, Arc<Page>>,
    revisions: Revisions,
}

impl Default for KeptPages {
    fn default() -> Self {
        let weight = |_: &Address, page: &Arc<Page>| {
            // What is compressed later, heads and the address are counted in.
            u32::try_from(page.body.len() + page.body.len() / 4 + 2000).unwrap_or(u32::MAX)
        };
        let pages = Cache::builder()
            .weigher(weight)
            .max_capacity(MOST)
            .eviction_policy(EvictionPolicy::lru())
            .time_to_live(Duration::from_mins(1))
            .build();
        Self { pages, revisions: Revisions::default() }
    }
}

impl KeptPages {
    /// The page of this address, if it is kept.
    pub(super) fn get(&self, address: &Address) -> Option<Arc<Page>> {
        self.pages.get(address)
    }

    /// Keeps a page in place of an earlier one.
    pub(super) fn insert(&self, address: Address, page: Page) {
        self.pages.insert(address, Arc::new(page));
    }

    /// Whether the database is still at the revision that a page was made of. One that can't answer is for the request itself to
    /// find out.
    pub(super) async fn are_at(&self, store: &Store, revision: &Revision) -> bool {
        self.revisions.now(store).await.is_ok_and(|now| now == *revision)
    }
}

/// Where the keys of forms stand. Those that are the same belong to one form.
fn keys_in(body: &[u8]) -> Vec<(usize, usize)> {
    let Ok(text) = std::str::from_utf8(body) else { return Vec::new() };
    let mut known: HashMap<&str, usize> = HashMap::new();
    let found = text.match_indices(KEY).filter_map(|(at, _)| {
        let from = at + KEY.len();
        let key = text.get(from..from + KEY_LENGTH).filter(|key| key.parse::<RequestKey>().is_ok())?;
        let number = known.len();
        Some((from, *known.entry(key).or_insert(number)))
    });
    found.collect()
}

impl Page {
    /// A page that was answered just now.
    pub(super) fn new(
        made_of: MadeOf,
        minute: i64,
        person: PersonId,
        headers: HeaderMap,
        body: &[u8],
    ) -> Self {
        // In as much memory as it needs: what it grew up in may be twice that.
        let body = Bytes::copy_from_slice(body);
        let keys = keys_in(&body);
        Self { made_of, minute, person, headers, body, keys, packed: OnceLock::new() }
    }

    /// The answer again, compressed for who takes that.
    pub(super) fn answer(&self, packed: bool) -> Response {
        let mut headers = self.headers.clone();
        let body = if !self.keys.is_empty() {
            self.with_new_keys()
        } else if packed {
            headers.insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
            headers.append(header::VARY, HeaderValue::from_static("accept-encoding"));
            headers.remove(header::CONTENT_LENGTH);
            self.packed.get_or_init(|| gzip(&self.body)).clone()
        } else {
            self.body.clone()
        };
        (headers, body).into_response()
    }

    /// The page with keys that nobody was given yet: two windows of one page are two forms.
    fn with_new_keys(&self) -> Bytes {
        let mut body = self.body.to_vec();
        let mut new: Vec<String> = Vec::new();
        for (at, number) in &self.keys {
            while new.len() <= *number {
                new.push(RequestKey::new().to_string());
            }
            body[*at..*at + KEY_LENGTH].copy_from_slice(new[*number].as_bytes());
        }
        body.into()
    }
}

/// Whether who asks takes answers compressed.
pub(super) fn takes_gzip(headers: &HeaderMap) -> bool {
    let asked = headers.get_all(header::ACCEPT_ENCODING).iter().filter_map(|value| value.to_str().ok());
    asked.flat_map(|value| value.split(',')).any(|one| {
        let mut parts = one.split(';').map(str::trim);
        let refused = |part: &str| part.strip_prefix("q=").is_some_and(|q| q.parse() == Ok(0.0));
        parts.next() == Some("gzip") && !parts.any(refused)
    })
}

/// Compressed as gzip (RFC 1952).
pub(super) fn gzip(body: &[u8]) -> Bytes {
    let mut packing = GzEncoder::new(Vec::with_capacity(body.len() / 4), Compression::default());
    // Memory takes all that is written to it.
    let _ = packing.write_all(body);
    packing.finish().unwrap_or_default().into()
}

/// How long an answer is believed where only somebody who types a command could have changed anything since.
const BELIEVED: Duration = Duration::from_millis(100);

/// Asks what the database is at: once for all who came before the question went out, since an answer to a question that was
/// asked after they came is as good as one of their own. On SQLite an answer is believed for a while, as long as this program
/// itself changes nothing.
#[derive(Default)]
struct Revisions {
    /// The question that nobody asked yet, for those who come now.
    next: Mutex<Option<Arc<OnceCell<Revision>>>>,
    /// One is asked at a time.
    turn: Turn<()>,
    /// The last answer.
    last: Mutex<Option<Answer>>,
}

struct Answer {
    /// How many changes were ended before it was asked for.
    changes: u64,
    /// When it was asked for.
    asked: Instant,
    revision: Revision,
}

impl Revisions {
    async fn now(&self, store: &Store) -> Result<Revision, Error> {
        if let Some(revision) = self.believed(store) {
            return Ok(revision);
        }
        let next = || self.next.lock().unwrap_or_else(PoisonError::into_inner);
        let mine = Arc::clone(next().get_or_insert_default());
        let asked = mine.get_or_try_init(|| async {
            let _turn = self.turn.lock().await;
            // Who comes from now on waits for the next one.
            next().take_if(|waiting| Arc::ptr_eq(waiting, &mine));
            // A change that ends while the question is under way is not in the answer.
            let (changes, asked) = (store.changes_ended(), Instant::now());
            let revision = store.revision().await?;
            let answer = changes.map(|changes| Answer { changes, asked, revision: revision.clone() });
            *self.last() = answer;
            Ok(revision)
        });
        asked.await.cloned()
    }

    fn last(&self) -> MutexGuard<'_, Option<Answer>> {
        self.last.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn believed(&self, store: &Store) -> Option<Revision> {
        let changes = store.changes_ended()?;
        let last = self.last();
        let answer = last.as_ref().filter(|answer| answer.changes == changes)?;
        (answer.asked.elapsed() < BELIEVED).then(|| answer.revision.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_keys_of_one_form_stay_one_key_and_those_of_two_stay_two() {
        let (one, two) = (RequestKey::new(), RequestKey::new());
        let body = format!("<i {KEY}{one}\"><i {KEY}{two}\"><i {KEY}{one}\"><i {KEY}none\">");
        let keys = keys_in(body.as_bytes());
        assert_eq!(keys.iter().map(|key| key.1).collect::<Vec<_>>(), [0, 1, 0]);
        assert_eq!(&body[keys[1].0..keys[1].0 + KEY_LENGTH], two.to_string());
    }

    #[test]
    fn gzip_is_taken_where_it_is_named_and_not_refused() {
        let takes = |value: &'static str| {
            takes_gzip(&HeaderMap::from_iter([(header::ACCEPT_ENCODING, HeaderValue::from_static(value))]))
        };
        assert!(takes("gzip") && takes("br, gzip;q=0.8") && takes("deflate,gzip ; q=1.0"));
        assert!(!takes("br") && !takes("gzip;q=0") && !takes("br, gzip; q=0.0") && !takes("xgzip"));
    }
}
