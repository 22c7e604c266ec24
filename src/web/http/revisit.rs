//! A page asked for again: shown from memory where nothing changed since, or made and kept. What is kept is in `kept`.
use axum::body::{Body, HttpBody as _};
use axum::extract::{Request, State};
use axum::http::{Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Response};
use axum_extra::extract::CookieJar;
use jiff::Timestamp;

use super::kept::{Address, LARGEST, MadeOf, MayBeKept, Page, takes_gzip};
use super::page;
use super::session::{Asker, cookie_name};
use super::state::App;
use crate::secrets;

/// Answers from memory where nothing changed, and keeps what may be kept.
pub(super) async fn pages(State(app): State<App>, request: Request, next: Next) -> Response {
    let Some(address) = address(&app, &request) else { return next.run(request).await };
    let packed = takes_gzip(request.headers());
    if let Some(page) = app.kept.get(&address) {
        let now = app.clock.now();
        let holds = page.minute == minute(now) && now.as_microsecond() < page.made_of.until;
        if holds && app.kept.are_at(&app.store, &page.made_of.revision).await {
            let mut answer = page.answer(packed);
            answer.extensions_mut().insert(Asker(page.person));
            return answer;
        }
    }
    let began = minute(app.clock.now());
    let response = next.run(request).await;
    keep(&app, address, began, response).await
}

fn address(app: &App, request: &Request) -> Option<Address> {
    if request.method() != Method::GET || page::flash(request.uri().query()).is_some() {
        return None;
    }
    let cookie = CookieJar::from_headers(request.headers()).get(cookie_name(app))?.value().to_owned();
    Some(Address {
        session: secrets::secret_hash(&cookie),
        host: request.headers().get(header::HOST).cloned(),
        asked: request.uri().path_and_query()?.as_str().to_owned(),
    })
}

async fn keep(app: &App, address: Address, began: i64, response: Response) -> Response {
    let extensions = response.extensions();
    let marks = (extensions.get::<MayBeKept>(), extensions.get::<MadeOf>(), extensions.get::<Asker>());
    let (Some(_), Some(made_of), Some(asker)) = marks else { return response };
    let headers = response.headers();
    let plain = response.status() == StatusCode::OK
        && !headers.contains_key(header::SET_COOKIE)
        && !headers.contains_key(header::CACHE_CONTROL)
        && response.body().size_hint().upper().is_some_and(|size| size <= LARGEST as u64);
    if !plain || minute(app.clock.now()) != began {
        return response;
    }
    let (made_of, asker) = (made_of.clone(), *asker);
    let (parts, body) = response.into_parts();
    let Ok(body) = axum::body::to_bytes(body, LARGEST).await else {
        return StatusCode::INTERNAL_SERVER_ERROR.into_response();
    };
    app.kept.insert(address, Page::new(made_of, began, asker.0, parts.headers.clone(), &body));
    Response::from_parts(parts, Body::from(body))
}

fn minute(now: Timestamp) -> i64 {
    now.as_second().div_euclid(60)
}
