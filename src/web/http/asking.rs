//! What a handler takes of who asks: [`CurrentUser`], [`MaybeUser`], a tablet at the scale, and the view in which it was found out.
use std::sync::{Arc, Mutex, PoisonError};

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use jiff::tz::TimeZone;

use super::page;
use crate::services::paper_data::{Reader, only_here};
use crate::store::auth::Visitor;
use crate::store::auth::tablets::Tablet;
use crate::store::people::Role;
use crate::store::{Actor, PersonId, Read, TabletId};
use crate::units::Units;
use crate::units::dates::WallClock;
use crate::web::{App, Error};

/// The steady view in which it was found out who asks, waiting for the handler.
#[derive(Clone)]
pub(super) struct Snapshot(pub(super) Arc<Mutex<Option<Read>>>);

/// A page's view of the database: the one in which it was found out who asks, so that a request takes one connection and
/// sees one moment.
impl FromRequestParts<App> for Read {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let waiting = parts.extensions.remove::<Snapshot>();
        let waiting = waiting.and_then(|at| at.0.lock().unwrap_or_else(PoisonError::into_inner).take());
        match waiting {
            Some(read) => Ok(read),
            None => Ok(app.store.read().await?),
        }
    }
}

/// What is known of a request.
#[derive(Clone)]
pub(super) struct RequestContext {
    pub(super) visitor: Option<Visitor>,
    /// The tablet at the scale that asks.
    pub(super) tablet: Option<Tablet>,
    pub(super) path: String,
    pub(super) flash: Option<&'static str>,
}

/// The signed-in person a page is for.
#[derive(Clone, Debug)]
pub struct CurrentUser {
    visitor: Visitor,
    tablet: Option<Tablet>,
    pub(in crate::web) path: String,
    pub(in crate::web) flash: Option<&'static str>,
    /// How the browser reached us, for links and QR codes that lead back: `https://host`.
    pub origin: String,
}

impl FromRequestParts<App> for CurrentUser {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let asking = parts.extensions.get::<RequestContext>().cloned();
        match asking {
            Some(RequestContext { visitor: Some(visitor), tablet, path, flash }) => {
                Ok(Self { visitor, tablet, path, flash, origin: origin(app, &parts.headers) })
            }
            _ => Err(Error::SignIn),
        }
    }
}

/// A tablet at the scale, whoever stands before it.
pub(in crate::web) struct AtTablet(pub Tablet);

impl FromRequestParts<App> for AtTablet {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Result<Self, Error> {
        parts
            .extensions
            .get::<RequestContext>()
            .and_then(|asking| asking.tablet)
            .map(Self)
            .ok_or(Error::Forbidden)
    }
}

/// Somebody who may or may not be signed in.
pub struct MaybeUser(pub Option<Role>, pub String);

impl FromRequestParts<App> for MaybeUser {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let asking = parts.extensions.get::<RequestContext>();
        let role = asking.and_then(|asking| asking.visitor.as_ref()).map(|visitor| visitor.role);
        Ok(Self(role, origin(app, &parts.headers)))
    }
}

fn origin(app: &App, headers: &HeaderMap) -> String {
    app.config.public_url.clone().unwrap_or_else(|| {
        let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or("localhost");
        format!("http://{host}")
    })
}

impl CurrentUser {
    /// Their id.
    pub fn id(&self) -> PersonId {
        self.visitor.person_id
    }

    /// The tablet at the scale that they tapped their name on, if they aren't signed in themselves.
    pub(in crate::web) fn tablet(&self) -> Option<TabletId> {
        self.tablet.map(|tablet| tablet.id)
    }

    /// The workroom's name.
    pub fn workroom(&self) -> &str {
        &self.visitor.workroom
    }

    /// Whether their passphrase was given to them, so that they must choose their own first.
    pub fn must_choose(&self) -> bool {
        self.visitor.passphrase_given
    }

    /// Their name.
    pub fn name(&self) -> &str {
        &self.visitor.name
    }

    /// What they are here.
    pub fn role(&self) -> Role {
        self.visitor.role
    }

    /// Whether they are an instructor.
    pub fn is_instructor(&self) -> bool {
        self.role() == Role::Instructor
    }

    /// Whether they are an instructor or a volunteer.
    pub fn is_staff(&self) -> bool {
        self.role() != Role::Weaver
    }

    /// Whether a thing of this weaver's may be shown to them: it is theirs, or they run the class.
    pub fn may_see(&self, weaver: PersonId) -> bool {
        self.is_staff() || self.id() == weaver
    }

    /// Whether they must set up a second factor before anything else.
    pub fn second_factor_due(&self) -> bool {
        self.visitor.second_factor_due
    }

    /// What they read lengths and weights in.
    pub fn units(&self) -> Units {
        self.visitor.units()
    }

    /// The workroom's time zone; UTC when this machine no longer knows it.
    pub fn zone(&self) -> TimeZone {
        self.visitor.zone()
    }

    /// The workroom's clock, by which times are written.
    pub fn wall(&self) -> WallClock {
        self.visitor.wall()
    }

    /// The clock and the units that a page of theirs is written by.
    pub fn local(&self) -> (TimeZone, Units) {
        (self.zone(), self.units())
    }

    /// The day it is in the workroom.
    pub fn today(&self, app: &App) -> jiff::civil::Date {
        app.clock.now().to_zoned_datetime(self.zone()).date()
    }

    /// They, now: who makes a change.
    pub fn acting(&self, app: &App) -> Actor {
        Actor { person: Some(self.id()), at: app.clock.now() }
    }

    /// For whom a paper is made: they, now.
    pub(in crate::web) fn reader(&self, app: &App) -> Reader {
        Reader {
            workroom: self.visitor.workroom.clone(),
            units: self.units(),
            wall: self.wall(),
            origin: self.origin.clone(),
            now: app.clock.now(),
        }
    }

    /// What the house's header shows, for a page of theirs.
    pub fn layout(&self) -> page::Layout {
        if self.tablet.is_some() {
            return page::Layout::at_tablet(&self.visitor.workroom, self.flash);
        }
        let only_here = only_here(&self.origin).then(|| self.origin.clone());
        page::Layout { only_here, ..page::Layout::of(&self.visitor, &self.path, self.flash) }
    }
}

impl App {
    /// Opens a change by the person who asks.
    pub async fn write(&self, me: &CurrentUser) -> Result<crate::store::Write, Error> {
        Ok(self.store.write(me.acting(self)).await?)
    }
}
