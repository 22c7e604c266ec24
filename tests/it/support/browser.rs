//! A browser of sorts: talks to the router in process, keeps its cookie, reads pages by CSS selectors.
use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode, header};
use http_body_util::BodyExt as _;
use jiff::ToSpan as _;
use scraper::{Html, Selector};
use thrumhall::clock::Clock;
use thrumhall::secrets;
use thrumhall::store::auth::{Device, Stay};
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::{Actor, PersonId, Store};
use thrumhall::units::Units;
use thrumhall::web::{App, Config, service};

use super::named::assert_names;
use super::{Database, evening, noon};

/// A workroom that is set up, with its pages.
pub struct World {
    pub database: Database,
    pub clock: Clock,
    router: Router,
}

impl World {
    /// "Test Loft" in Los Angeles, inches, on SQLite, in the evening: Wednesday there, Thursday in UTC.
    pub async fn new() -> Self {
        let world = Self::empty().await;
        let mut tx = world.store().write(Actor { person: None, at: noon() }).await.unwrap();
        tx.found_workroom("Test Loft", "America/Los_Angeles", Units::Inches).await.unwrap();
        tx.commit().await.unwrap();
        world
    }

    /// A database that nobody set up yet.
    pub async fn empty() -> Self {
        Self::with(Config::default()).await
    }

    pub async fn with(config: Config) -> Self {
        let database = Database::lite().await;
        let clock = Clock::fixed(evening());
        let app = App::new(database.store.clone(), clock.clone(), config);
        let router = service(app);
        Self { database, clock, router }
    }

    pub fn store(&self) -> &Store {
        &self.database.store
    }

    /// A browser that nobody signed in with.
    pub fn stranger(&self) -> Browser {
        Browser::at(self.router.clone())
    }

    /// A new person of a role, and their browser, signed in.
    pub async fn enter(&self, role: Role, name: &str) -> (PersonId, Browser) {
        enter(&self.router, self.store(), role, name).await
    }

    pub async fn instructor(&self) -> (PersonId, Browser) {
        self.enter(Role::Instructor, "Ines Probe").await
    }

    pub async fn volunteer(&self) -> (PersonId, Browser) {
        self.enter(Role::Volunteer, "Viggo Probe").await
    }

    pub async fn weaver(&self) -> (PersonId, Browser) {
        self.enter(Role::Weaver, "Wanda Probe").await
    }
}

/// A new person of a role, and their browser, signed in at the pages over a database.
pub async fn enter(router: &Router, store: &Store, role: Role, name: &str) -> (PersonId, Browser) {
    let person = PersonId::new();
    let fields = PersonFields { name: name.into(), contact: format!("{name} at the quay"), units: None };
    let secret = secrets::secret();
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.add_person(person, role, &fields, None).await.unwrap();
    tx.open_session(&secrets::secret_hash(&secret), person, lasting((24 * 100).hours())).await.unwrap();
    tx.commit().await.unwrap();
    (person, Browser { cookie: Some(format!("thrumhall={secret}")), ..Browser::at(router.clone()) })
}

/// A session on a computer that ends after so long, used or not.
pub fn lasting(span: jiff::Span) -> Stay {
    Stay { idle: span, most: span, device: Device::Computer }
}

#[derive(Clone)]
pub struct Browser {
    router: Router,
    /// That of the session.
    pub cookie: Option<String>,
    /// That by which the device is known on which somebody signed in before.
    pub device: Option<String>,
}

/// What came back.
pub struct Page {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub text: String,
    /// The body as it came, for what is no text.
    pub bytes: Vec<u8>,
}

impl Browser {
    /// One that nobody signed in with.
    pub fn at(router: Router) -> Self {
        Self { router, cookie: None, device: None }
    }

    pub async fn get(&mut self, path: &str) -> Page {
        self.send(self.request("GET", path).body(Body::empty()).unwrap()).await
    }

    /// A file, byte for byte.
    pub async fn file(&mut self, path: &str) -> Vec<u8> {
        use tower::ServiceExt as _;
        let request = self.request("GET", path).body(Body::empty()).unwrap();
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let bytes = response.into_body().collect().await.unwrap().to_bytes().to_vec();
        assert_eq!(status, StatusCode::OK, "{path}: {}", String::from_utf8_lossy(&bytes));
        bytes
    }

    /// Posts a form as a browser on our own page would.
    pub async fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Page {
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let request = self
            .request("POST", path)
            .header("sec-fetch-site", "same-origin")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.send(request.body(Body::from(body)).unwrap()).await
    }

    /// Opens a personal link and presses its button.
    pub async fn follow_link(&mut self, link: &str) -> Page {
        self.get(link).await.is(200);
        self.post(link, &[]).await
    }

    pub fn request(&self, method: &str, path: &str) -> axum::http::request::Builder {
        let request = Request::builder().method(method).uri(path).header(header::HOST, "loft.test");
        let cookies: Vec<&str> =
            [&self.cookie, &self.device].into_iter().flatten().map(String::as_str).collect();
        if cookies.is_empty() { request } else { request.header(header::COOKIE, cookies.join("; ")) }
    }

    pub async fn send(&mut self, request: Request<Body>) -> Page {
        use tower::ServiceExt as _;
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (status, headers) = (response.status(), response.headers().clone());
        for set in headers.get_all(header::SET_COOKIE) {
            let pair = set.to_str().unwrap().split(';').next().unwrap().to_owned();
            if pair.contains("-device=") {
                self.device = Some(pair);
            } else {
                self.cookie = (!pair.ends_with('=')).then_some(pair);
            }
        }
        let bytes = response.into_body().collect().await.unwrap().to_bytes();
        // As browsers do, a text is read without the mark of UTF-8 that tables begin with.
        let text = String::from_utf8_lossy(&bytes);
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text).to_owned();
        let page =
            headers.get(header::CONTENT_TYPE).is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
        let text = if page { unset(&text) } else { text };
        Page { status, headers, text, bytes: bytes.to_vec() }
    }
}

/// A page's text as it was written before its figures were set: `3½ in` as `3 1/2 in`, blanks that break. How they are set is
/// tested where it is done.
fn unset(html: &str) -> String {
    const SIGNS: [(char, &str); 7] =
        [('½', "1/2"), ('¼', "1/4"), ('¾', "3/4"), ('⅛', "1/8"), ('⅜', "3/8"), ('⅝', "5/8"), ('⅞', "7/8")];
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    const LOWERED: [char; 10] = ['₀', '₁', '₂', '₃', '₄', '₅', '₆', '₇', '₈', '₉'];
    let bytes = html.as_bytes();
    let mut out = String::with_capacity(html.len());
    let mut at = 0;
    while at < html.len() {
        // Most of a page is ASCII, and a test reads thousands of pages without being optimized.
        let mut end = at;
        while end < bytes.len() && bytes[end] < 0x80 {
            end += 1;
        }
        out.push_str(&html[at..end]);
        let Some(c) = html[end..].chars().next() else { break };
        at = end + c.len_utf8();
        let figure = |row: [char; 10]| row.iter().position(|one| *one == c);
        // A raised figure that no fraction slash follows is a power, as in m².
        let is_fraction = || html[at..].chars().find(|c| !RAISED.contains(c)) == Some('⁄');
        if let Some((_, words)) = SIGNS.iter().find(|(sign, _)| *sign == c) {
            if out.as_bytes().last().is_some_and(u8::is_ascii_digit) {
                out.push(' ');
            }
            out.push_str(words);
        } else if let Some(figure) = figure(RAISED).filter(|_| is_fraction()).or_else(|| figure(LOWERED)) {
            out.push_str(&figure.to_string());
        } else {
            out.push(match c {
                '\u{a0}' | '\u{202f}' => ' ',
                '⁄' => '/',
                c => c,
            });
        }
    }
    out
}

impl Page {
    /// Asserts the status, showing the page when it is another.
    #[track_caller]
    pub fn is(self, status: u16) -> Self {
        assert_eq!(self.status.as_u16(), status, "{}", self.text);
        self
    }

    /// Where a redirect leads.
    #[track_caller]
    pub fn to(&self) -> &str {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.text);
        self.headers[header::LOCATION].to_str().unwrap()
    }

    /// The texts of all elements that a selector finds, blanks folded.
    pub fn all(&self, selector: &str) -> Vec<String> {
        let fold = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
        Html::parse_document(&self.text)
            .select(&Selector::parse(selector).unwrap())
            .map(|element| fold(element.text().collect()))
            .collect()
    }

    /// The text of the first.
    #[track_caller]
    pub fn one(&self, selector: &str) -> String {
        self.all(selector).into_iter().next().unwrap_or_else(|| panic!("no {selector} in {}", self.text))
    }

    /// An attribute of the first.
    #[track_caller]
    pub fn attr(&self, selector: &str, attribute: &str) -> String {
        Html::parse_document(&String::from_utf8_lossy(&self.bytes))
            .select(&Selector::parse(selector).unwrap())
            .next()
            .and_then(|element| element.attr(attribute).map(str::to_owned))
            .unwrap_or_else(|| panic!("no {selector}[{attribute}] in {}", self.text))
    }

    /// An attribute of each.
    pub fn attrs(&self, selector: &str, attribute: &str) -> Vec<String> {
        Html::parse_document(&String::from_utf8_lossy(&self.bytes))
            .select(&Selector::parse(selector).unwrap())
            .map(|element| element.attr(attribute).unwrap_or_default().to_owned())
            .collect()
    }

    /// What a field of a form holds.
    #[track_caller]
    pub fn field(&self, name: &str) -> String {
        self.attr(&format!("[name=\"{name}\"]"), "value")
    }

    /// The error at a field.
    #[track_caller]
    pub fn error(&self, name: &str) -> String {
        self.one(&format!("[id=\"{name}-error\"]"))
    }

    /// Asserts that a message stands at this field and names these values, in this order; its words are the page's own.
    /// Of a number out of range these are the number, the least and the most, as its person writes them.
    #[track_caller]
    pub fn error_names(&self, field: &str, values: &[&str]) {
        let error = self.error(field);
        assert!(!error.is_empty(), "nothing is said at {field}");
        assert_names(&error, values);
    }

    /// A table that was taken away, with quotes only where a cell needs them. As it came, every cell has them.
    #[track_caller]
    pub fn table(&self) -> String {
        let text = self.text.trim_start_matches('\u{feff}');
        let mut rows = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
        let mut bare = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        for row in rows.records() {
            bare.write_record(&row.unwrap()).unwrap();
        }
        String::from_utf8(bare.into_inner().unwrap()).unwrap()
    }

    /// Asserts that a message stands at this field and at no other.
    #[track_caller]
    pub fn only_error_at(&self, field: &str) {
        let found = self.wrong_fields();
        assert_eq!(found, [field], "{}", self.text);
        assert!(!self.error(field).is_empty(), "nothing is said at {field}");
    }

    /// The fields at which messages stand, in the order of the page.
    pub fn wrong_fields(&self) -> Vec<String> {
        Html::parse_document(&self.text)
            .select(&Selector::parse("[id$=\"-error\"]").unwrap())
            .filter_map(|message| message.attr("id")?.strip_suffix("-error").map(str::to_owned))
            .collect()
    }
}
