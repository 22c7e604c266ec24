//! A session is opened here, and here alone, once somebody has proven who they are: what their browser brought along, how long
//! they stay, and the cookie they go away with. Whether they have proven it is the pages' business.
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use jiff::{Span, Timestamp, ToSpan as _};

use crate::secrets;
use crate::store::auth::tablets::MOST_HOURS;
use crate::store::auth::{self, Device};
use crate::store::people::Role;
use crate::store::{PersonId, TabletId, Write};
use crate::web::http::session::cookie_name;
use crate::web::{App, Result};

/// What the browser of somebody who wants in brought along.
pub(in crate::web) struct Visit {
    /// The hash of the session it holds, if it holds one: it ends when another is opened in its place.
    pub(in crate::web) held: Option<String>,
    /// The hash of what it was given when somebody signed in with it before.
    pub(in crate::web) device: Option<String>,
    kind: Device,
}

impl FromRequestParts<App> for Visit {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Self::Rejection> {
        let cookies = CookieJar::from_headers(&parts.headers);
        let hash = |name| cookies.get(name).map(|cookie| secrets::secret_hash(cookie.value()));
        let (held, device) = (hash(cookie_name(app)), hash(device_cookie_name(app)));
        Ok(Self { held, device, kind: kind(&parts.headers) })
    }
}

/// What kind of device it says it is: browsers on phones say `Mobi`, whatever else they say.
fn kind(headers: &HeaderMap) -> Device {
    let says = headers.get(header::USER_AGENT).and_then(|says| says.to_str().ok()).unwrap_or_default();
    if ["Tablet", "iPad"].iter().any(|word| says.contains(word)) {
        Device::Tablet
    } else if says.contains("Mobi") {
        Device::Phone
    } else if says.contains("Android") {
        Device::Tablet
    } else {
        Device::Computer
    }
}

/// The name of the cookie by which a device is known on which somebody signed in before.
fn device_cookie_name(app: &App) -> &'static str {
    if app.config.behind_tls() { "__Host-thrumhall-device" } else { "thrumhall-device" }
}

/// How long somebody stays signed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::web) enum Stay {
    /// A weaver, on whatever they opened their link with.
    Weaver,
    /// An instructor or a volunteer, on a device that others may use.
    Staff,
    /// An instructor or a volunteer, on a device of their own.
    OwnDevice,
}

impl Stay {
    /// Of somebody who says no more.
    pub(in crate::web) fn of(role: Role) -> Self {
        if role == Role::Weaver { Self::Weaver } else { Self::Staff }
    }

    /// For how long a session may lie idle, and how long it lasts at most.
    fn lasts(self) -> (Span, Span) {
        let days = |days: i64| (days * 24).hours();
        match self {
            Self::Weaver => (days(90), days(365)),
            Self::Staff => (12.hours(), days(14)),
            Self::OwnDevice => (days(30), days(180)),
        }
    }
}

/// Lets somebody in who has proven who they are: opens their session within the change that proved it, keeps that change,
/// and leads on with the session's cookie. The session that this browser held ends.
pub(in crate::web) async fn open_session_for(
    app: &App,
    mut tx: Write,
    visit: &Visit,
    person: PersonId,
    stay: Stay,
    to: &str,
) -> Result<Response> {
    let secret = secrets::secret();
    if let Some(held) = &visit.held {
        tx.end_session(held).await?;
    }
    let (idle, most) = stay.lasts();
    let session = auth::Stay { idle, most, device: visit.kind };
    tx.open_session(&secrets::secret_hash(&secret), person, session).await?;
    let device = if stay == Stay::Weaver { None } else { know(&mut tx, visit, person).await? };
    tx.commit().await?;
    // A device that others may use forgets the session with its browser; its end is the database's business.
    let age = (stay != Stay::Staff).then_some(most);
    let mut cookies = CookieJar::new().add(cookie(app, cookie_name(app), secret, age));
    if let Some(device) = device {
        cookies = cookies.add(cookie(app, device_cookie_name(app), device, Some((400 * 24).hours())));
    }
    Ok((cookies, Redirect::to(to)).into_response())
}

/// Makes this browser a tablet at the scale until a moment, by the change in which it was decided, and leads on. The session that it
/// held ends, and it is known as nobody's device any more.
pub(in crate::web) async fn open_tablet_for(
    app: &App,
    mut tx: Write,
    visit: &Visit,
    by: PersonId,
    ends_at: Timestamp,
    to: &str,
) -> Result<Response> {
    let secret = secrets::secret();
    if let Some(held) = &visit.held {
        tx.end_session(held).await?;
    }
    if let Some(device) = &visit.device {
        tx.forget_device(device, by).await?;
    }
    tx.open_tablet(TabletId::new(), &secrets::secret_hash(&secret), ends_at).await?;
    tx.commit().await?;
    // It outlives its browser, which may be closed in between; its end is the database's business.
    let cookies = CookieJar::new().add(cookie(app, cookie_name(app), secret, Some(MOST_HOURS.hours())));
    Ok((cookies.add(gone(app, device_cookie_name(app))), Redirect::to(to)).into_response())
}

/// Takes the cookie of a tablet that ended off it, and leads on. What waits on the device stays: it is somebody's work.
pub(in crate::web) fn leave_tablet(app: &App, to: &str) -> Response {
    (CookieJar::new().add(gone(app, cookie_name(app))), Redirect::to(to)).into_response()
}

/// A cookie that takes another away. A browser drops one only when told with the attributes it was set with; `__Host-` needs
/// Secure and Path.
pub(in crate::web) fn gone(app: &App, name: &'static str) -> Cookie<'static> {
    Cookie::build((name, "")).path("/").secure(app.config.behind_tls()).http_only(true).removal().build()
}

/// Knows this device as one of this person's from now on; what it is to be known by, unless it has that.
async fn know(tx: &mut Write, visit: &Visit, person: PersonId) -> Result<Option<String>> {
    if let Some(known) = &visit.device
        && tx.knows_somebody_on(known).await?
    {
        tx.know_device(known, person).await?;
        return Ok(None);
    }
    let secret = secrets::secret();
    tx.know_device(&secrets::secret_hash(&secret), person).await?;
    Ok(Some(secret))
}

/// A cookie of ours: out of reach of scripts, not sent along from other sites, and kept to TLS where there is TLS.
fn cookie(app: &App, name: &'static str, secret: String, age: Option<Span>) -> Cookie<'static> {
    let mut cookie = Cookie::build((name, secret))
        .path("/")
        .http_only(true)
        .secure(app.config.behind_tls())
        .same_site(SameSite::Lax)
        .build();
    if let Some(age) = age {
        cookie.set_max_age(time::Duration::hours(i64::from(age.get_hours())));
    }
    cookie
}
