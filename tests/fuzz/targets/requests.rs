//! Requests with what nobody would type in addresses, queries and forms: the program is never at fault, a form that is refused says what
//! is wrong, nothing typed becomes part of a page's markup, and what was kept is shown so that it can be sent again as it stands.
use std::collections::BTreeMap;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, header};
use http_body_util::BodyExt as _;
use scraper::{Html, Selector};
use tokio::runtime::Runtime;
use tower::ServiceExt as _;

use thrumhall::clock::Clock;
use thrumhall::secrets;
use thrumhall::store::{Actor, Place, Store};
use thrumhall::web::{App, Config, service};

/// So many requests go to one workroom; then a new one is set up, so that it stays small.
const TO_ONE: usize = 400;
/// What a page must not show as it was typed.
const MARKUP: &str = "<u>'\"";

const PHRASE: &str = "four words of wool and hemp";

/// A workroom with one of most things.
struct Workroom {
    router: Router,
    /// The sessions of the roles.
    cookies: BTreeMap<&'static str, String>,
    /// What stands in inputs for the id of a thing.
    ids: Vec<(&'static str, String)>,
    left: usize,
    /// What the last input was answered.
    last: u16,
    _folder: tempfile::TempDir,
}

/// What came back.
struct Answer {
    status: u16,
    to: String,
    kind: String,
    text: String,
    cookie: Option<String>,
}

impl Answer {
    fn id(&self) -> String {
        assert_eq!(self.status, 303, "{}", self.text);
        let path = self.to.split(['?', '#']).next().unwrap_or_default();
        path.rsplit('/').next().unwrap_or_default().to_owned()
    }
}

impl Workroom {
    async fn new() -> Self {
        let folder = tempfile::tempdir_in(memory()).unwrap();
        let store = Store::open(&Place::Dir(folder.path().to_path_buf())).await.unwrap();
        let now = "2026-10-07T12:00:00Z".parse().unwrap();
        let setup = secrets::secret();
        let mut tx = store.write(Actor { person: None, at: now }).await.unwrap();
        tx.set_setup_link(&secrets::secret_hash(&setup)).await.unwrap();
        tx.commit().await.unwrap();
        let router = service(App::new(store, Clock::fixed(now), Config::default()));
        let (cookies, ids) = (BTreeMap::new(), Vec::new());
        let mut room = Self { router, cookies, ids, left: TO_ONE, last: 0, _folder: folder };
        room.fill(&setup).await;
        room
    }

    /// Sets it up through its own pages.
    async fn fill(&mut self, setup: &str) {
        let founded = format!(
            "workroom=Test+Loft&time_zone=UTC&units=inches&name=Ines+Probe&passphrase={PHRASE}&again={PHRASE}"
        );
        let first = self.send("nobody", "POST", &format!("/setup/{setup}"), &founded).await;
        self.cookies.insert("instructor", first.cookie.unwrap());
        let weaver = self.made("weaver", "/people", "role=weaver&name=Wanda+Probe&contact=").await;
        let link = self.send("instructor", "POST", &format!("/people/{weaver}/link"), "").await;
        let link = link.text.split("/enter/").nth(1).unwrap().split(['"', '<']).next().unwrap().to_owned();
        let entered = self.send("nobody", "POST", &format!("/enter/{link}"), "").await;
        self.cookies.insert("weaver", entered.cookie.unwrap());
        let term = "name=Ebb&day=2026-10-10&starts=18:30&minutes=120&count=6&every=1";
        let term = self.made("term", "/terms", term).await;
        self.send("instructor", "POST", &format!("/terms/{term}/enrol"), &format!("weaver={weaver}")).await;
        self.made("rod", "/rods", "length=36+in&diameter=1/8+in&owned=20").await;
        let size = "span=33+in&width=18+in&nails=33";
        self.made("frame", "/frames", &format!("tag=S1&{size}&condition=sound&note=")).await;
        let rug = format!(
            "name=Tide&weaver={weaver}&term={term}&size=other&{size}&strip_width=1+1/2+in&warp_kind=percale&weft_kind=percale\
             &strands=trade&unit_size=2&rugs_before=0&home_minutes=0&band-1-height=30+in&band-1-first=white&band-1-other=navy"
        );
        let rug = self.made("rug", "/rugs", &rug).await;
        let lent = format!("frame={}&rug={rug}&rod=none&rods=0&due_on=2026-10-12", self.id("frame"));
        self.made("loan", &format!("/rugs/{rug}/hand-out"), &lent).await;
        let weighed = self
            .send(
                "instructor",
                "POST",
                "/cloth/weigh-in",
                "kind=percale&colour=cream&weight=9000+g&washed=yes",
            )
            .await;
        self.ids.push(("{bundle}", weighed.to.split("done=").nth(1).unwrap().to_owned()));
        self.made("count", "/cloth/count", "kind=&family=").await;
    }

    /// Makes something, and notes its id under a name.
    async fn made(&mut self, name: &'static str, path: &str, form: &str) -> String {
        let id = self.send("instructor", "POST", path, form).await.id();
        let name = match name {
            "weaver" => "{weaver}",
            "term" => "{term}",
            "rod" => "{rod}",
            "frame" => "{frame}",
            "rug" => "{rug}",
            "loan" => "{loan}",
            _ => "{count}",
        };
        self.ids.push((name, id.clone()));
        id
    }

    fn id(&self, name: &str) -> String {
        let found = self.ids.iter().find(|(known, _)| known.trim_matches(['{', '}']) == name);
        found.map(|(_, id)| id.clone()).unwrap_or_default()
    }

    async fn send(&self, who: &str, method: &str, address: &str, body: &str) -> Answer {
        let request = Request::builder().method(method).uri(address).header(header::HOST, "loft.test");
        let request = match self.cookies.get(who) {
            Some(cookie) => request.header(header::COOKIE, cookie),
            None => request,
        };
        let request = request
            .header("sec-fetch-site", "same-origin")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(body.to_owned()))
            .unwrap();
        let response = self.router.clone().oneshot(request).await.unwrap();
        let named = |name| {
            let value = response.headers().get(name);
            value.and_then(|value: &header::HeaderValue| value.to_str().ok()).unwrap_or_default().to_owned()
        };
        let (status, to, kind) =
            (response.status().as_u16(), named(header::LOCATION), named(header::CONTENT_TYPE));
        let set = response.headers().get_all(header::SET_COOKIE).iter();
        let mut cookie = set.filter_map(|one| Some(one.to_str().ok()?.split(';').next()?.to_owned()));
        let cookie = cookie.rfind(|one| one.starts_with("thrumhall="));
        let bytes = response.into_body().collect().await.unwrap().to_bytes();
        Answer { status, to, kind, text: String::from_utf8_lossy(&bytes).into_owned(), cookie }
    }

    /// One input: who, how, where, and what.
    async fn ask(&mut self, input: &str) {
        let mut filled = input.to_owned();
        for (name, id) in &self.ids {
            filled = filled.replace(name, id);
        }
        let mut parts = filled.splitn(4, ' ');
        let (who, method, address) = (parts.next(), parts.next(), parts.next());
        let (Some(who), Some(method @ ("GET" | "POST")), Some(address)) = (who, method, address) else {
            return;
        };
        // What no client can put into a request line isn't asked.
        if !address.starts_with('/') || address.parse::<axum::http::Uri>().is_err() {
            return;
        }
        let body = parts.next().unwrap_or_default();
        self.left -= 1;
        let answer = self.send(who, method, address, body).await;
        self.last = answer.status;
        right(&answer);
        if method == "POST" && answer.status == 303 {
            self.reads_back(who, address, &answer).await;
        }
        // Somebody signed out or was taken off, or there is much by now: the next has a new workroom.
        let still = self.send("instructor", "GET", "/people/new", "").await.status == 200;
        if !still {
            self.left = 0;
        }
    }

    /// What was kept is shown in its form as it can be sent again, and then stands there as before.
    async fn reads_back(&self, who: &str, address: &str, answer: &Answer) {
        let path = address.split('?').next().unwrap_or_default();
        let noun = path.split('/').nth(1).unwrap_or_default();
        let id =
            answer.to.split(['?', '#']).next().unwrap_or_default().rsplit('/').next().unwrap_or_default();
        let changes = path == format!("/{noun}") || path == format!("/{noun}/{id}");
        if !matches!(noun, "frames" | "rugs" | "people") || !changes || id.len() != 36 {
            return;
        }
        let to = format!("/{noun}/{id}");
        let page = if noun == "people" { to.clone() } else { format!("{to}/edit") };
        let shown = fields(&self.send(who, "GET", &page, "").await.text, &to);
        assert!(!shown.is_empty(), "no form at {page}");
        let form = form_urlencoded::Serializer::new(String::new()).extend_pairs(&shown).finish();
        let again = self.send(who, "POST", &to, &form).await;
        assert_eq!(again.status, 303, "{page} as it stands is refused: {form}\n{}", told(&again.text));
        let now = fields(&self.send(who, "GET", &page, "").await.text, &to);
        let kept = |fields: &[(String, String)]| {
            let mut kept = fields.to_vec();
            kept.retain(|(name, _)| name != "revision" && name != "key");
            kept
        };
        assert_eq!(kept(&now), kept(&shown), "{page} reads back otherwise");
    }
}

/// Where files are in memory, if anywhere: each commit waits for the disk otherwise.
fn memory() -> std::path::PathBuf {
    let memory = std::path::PathBuf::from("/dev/shm");
    if memory.is_dir() { memory } else { std::env::temp_dir() }
}

/// What must hold of each answer.
fn right(answer: &Answer) {
    let Answer { status, to, kind, text, .. } = answer;
    assert!(*status < 500, "{status}: {}", told(text));
    if (300..400).contains(status) {
        assert!(
            to.starts_with('/') && !to.starts_with("//") && !to.contains(['\r', '\n']),
            "leads to {to:?}"
        );
    }
    if kind.starts_with("text/html") && !text.is_empty() {
        assert!(text.trim_end().ends_with("</html>"), "a page without its end: {}", told(text));
        assert!(!text.contains(MARKUP), "what was typed became markup");
        if *status == 422 || *status == 409 {
            assert!(
                text.contains("-error\"") || text.contains("role=\"alert\""),
                "refused without a word: {}",
                told(text)
            );
        }
    }
}

/// The words of a page, shortened.
fn told(page: &str) -> String {
    let words: String = Html::parse_document(page).root_element().text().collect();
    words.split_whitespace().collect::<Vec<_>>().join(" ").chars().take(1500).collect()
}

/// What a browser would send of the form that leads there, if nothing were changed.
fn fields(page: &str, to: &str) -> Vec<(String, String)> {
    let html = Html::parse_document(page);
    let find = |selector: &str| Selector::parse(selector).unwrap();
    let forms = find(&format!("form[action=\"{to}\"]"));
    let has = find("[name=revision]");
    let Some(form) = html.select(&forms).find(|form| form.select(&has).next().is_some()) else {
        return Vec::new();
    };
    let mut fields = Vec::new();
    for field in form.select(&find("input[name], textarea[name], select[name]")) {
        let name = field.attr("name").unwrap_or_default().to_owned();
        let value = match (field.value().name(), field.attr("type")) {
            ("input", Some("radio" | "checkbox")) if field.attr("checked").is_none() => continue,
            ("input", Some("submit")) => continue,
            ("input", _) => field.attr("value").unwrap_or_default().to_owned(),
            // A page writes one break more than there is, which a browser leaves out.
            ("textarea", _) => {
                field.text().collect::<String>().trim_start_matches('\n').replace('\n', "\r\n")
            }
            _ => {
                let chosen = field.select(&find("option[selected]")).next();
                let chosen = chosen.or_else(|| field.select(&find("option")).next());
                chosen.map(|option| option.attr("value").unwrap_or_default().to_owned()).unwrap_or_default()
            }
        };
        fields.push((name, value));
    }
    fields
}

pub fn target() -> impl FnMut(&[u8]) {
    let runtime = Runtime::new().unwrap();
    let mut room: Option<Workroom> = None;
    move |input| {
        let text = String::from_utf8_lossy(input);
        // One that was at fault isn't asked again, and may have been left halfway.
        let mut current = match room.take() {
            Some(room) if room.left > 0 => room,
            _ => runtime.block_on(Workroom::new()),
        };
        runtime.block_on(current.ask(&text));
        room = Some(current);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Otherwise chance would begin with what nobody does.
    #[tokio::test]
    async fn most_kept_requests_are_done_as_they_stand() {
        let mut answers = BTreeMap::new();
        let mut room = Workroom::new().await;
        for line in include_str!("../corpus/requests.txt").lines() {
            if room.left == 0 {
                room = Workroom::new().await;
            }
            room.ask(line).await;
            let status = room.last;
            answers.entry(status).or_insert_with(Vec::new).push(line);
        }
        let done = |status| answers.get(&status).map_or(0, Vec::len);
        let all: usize = answers.values().map(Vec::len).sum();
        assert!(done(200) + done(303) > all * 3 / 4 && done(303) >= 20, "{answers:#?}");
    }
}
