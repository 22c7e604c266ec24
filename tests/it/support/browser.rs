//! A browser of sorts: talks to the router in process, keeps its cookie, reads pages by CSS selectors.
use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode, header};
use http_body_util::BodyExt as _;
use jiff::ToSpan as _;
use scraper::{Html, Selector};
use thrumhall::clock::Clock;
use thrumhall::secrets;
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
    tx.open_session(&secrets::secret_hash(&secret), person, (24 * 100).hours()).await.unwrap();
    tx.commit().await.unwrap();
    (person, Browser { router: router.clone(), cookie: Some(format!("thrumhall={secret}")) })
}

#[derive(Clone)]
pub struct Browser {
    router: Router,
    pub cookie: Option<String>,
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
        Self { router, cookie: None }
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

    pub fn request(&self, method: &str, path: &str) -> axum::http::request::Builder {
        let request = Request::builder().method(method).uri(path).header(header::HOST, "loft.test");
        match &self.cookie {
            Some(cookie) => request.header(header::COOKIE, cookie),
            None => request,
        }
    }

    pub async fn send(&mut self, request: Request<Body>) -> Page {
        use tower::ServiceExt as _;
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (status, headers) = (response.status(), response.headers().clone());
        if let Some(set) = headers.get(header::SET_COOKIE) {
            let pair = set.to_str().unwrap().split(';').next().unwrap().to_owned();
            self.cookie = (!pair.ends_with('=')).then_some(pair);
        }
        let bytes = response.into_body().collect().await.unwrap().to_bytes();
        Page { status, headers, text: String::from_utf8_lossy(&bytes).into_owned(), bytes: bytes.to_vec() }
    }
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
        Html::parse_document(&self.text)
            .select(&Selector::parse(selector).unwrap())
            .next()
            .and_then(|element| element.attr(attribute).map(str::to_owned))
            .unwrap_or_else(|| panic!("no {selector}[{attribute}] in {}", self.text))
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
