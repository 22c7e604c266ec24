//! Forms: what was posted stays as typed, is read field by field, and goes back whole with each error at its field.
use std::convert::Infallible;
use std::fmt::Display;
use std::ops::RangeInclusive;
use std::str::FromStr;

use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use jiff::civil;

use super::error::Error;
use super::page::Layout;
use super::posted::{Posted, is_form};
use super::readable::has_controls;
use crate::store::RequestKey;
use crate::units::{Length, Mass, Units};
use crate::web::{App, CurrentUser};

/// What a browser posted. Turned into a [`Form`] to be read.
#[derive(Debug)]
pub struct FormData(Vec<(String, String)>);

impl FromRequest<App> for FormData {
    type Rejection = Error;

    async fn from_request(request: Request, app: &App) -> Result<Self, Error> {
        if !is_form(&request) {
            return Err(Error::Unreadable("it is not a form"));
        }
        let posted = request.extensions().get::<Posted>().cloned();
        let body = Bytes::from_request(request, app)
            .await
            .map_err(|_| Error::Unreadable("it is larger than any form of ours"))?;
        let fields: Vec<(String, String)> = form_urlencoded::parse(&body).into_owned().collect();
        if fields.iter().any(|(name, value)| has_controls(name) || has_controls(value)) {
            return Err(Error::Unreadable("it holds a character that can’t be typed"));
        }
        if let Some(posted) = posted {
            posted.note(&fields);
        }
        Ok(Self(fields))
    }
}

impl FormData {
    /// Fields that came in another way than a plain form.
    pub(in crate::web) fn of(fields: Vec<(String, String)>) -> Self {
        Self(fields)
    }

    /// The form, to be read in somebody's units.
    pub fn form(self, units: Units) -> Form {
        let mut form = Form::blank(units);
        form.typed = self.0;
        if let Ok(key) = form.value("key").parse() {
            form.key = key;
        }
        form
    }

    /// The form, read in the units of the person who posted it.
    pub fn form_of(self, me: &CurrentUser) -> Form {
        self.form(me.units())
    }
}

/// What a page was asked in its address, by a form that only looks. Turned into a [`Form`] to be read.
#[derive(Debug)]
pub struct QueryData(Vec<(String, String)>);

impl FromRequestParts<App> for QueryData {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Result<Self, Infallible> {
        let query = parts.uri.query().unwrap_or_default();
        Ok(Self(form_urlencoded::parse(query.as_bytes()).into_owned().collect()))
    }
}

impl QueryData {
    /// The form, read in the units of the person who asks; `None` where nothing was asked yet.
    pub fn form_of(self, me: &CurrentUser) -> Option<Form> {
        (!self.0.is_empty()).then(|| FormData(self.0).form_of(me))
    }
}

/// A form on its way: the text of each field, and what is wrong with it.
#[derive(Clone, Debug)]
pub struct Form {
    typed: Vec<(String, String)>,
    errors: Vec<(String, String)>,
    /// Makes a second submission of the same form harmless.
    pub key: RequestKey,
    units: Units,
}

/// The longest text that a single line may hold.
pub const LINE: usize = 120;
/// The longest text that a note may hold.
pub const NOTE: usize = 2000;

impl Form {
    /// An empty form.
    pub fn blank(units: Units) -> Self {
        Self { typed: Vec::new(), errors: Vec::new(), key: RequestKey::new(), units }
    }

    /// The same with a field filled in.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Display) -> Self {
        self.set(name, value);
        self
    }

    /// Fills a field in, over what stood there.
    pub fn set(&mut self, name: &str, value: impl Display) {
        self.typed.retain(|(known, _)| known != name);
        self.typed.push((name.to_owned(), value.to_string()));
    }

    /// The text in a field; empty when there is none.
    pub fn value(&self, name: &str) -> &str {
        self.typed.iter().find(|(known, _)| known == name).map_or("", |(_, value)| value)
    }

    /// Every text given under one name.
    pub fn values<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.typed.iter().filter(move |(known, _)| known == name).map(|(_, value)| value.as_str())
    }

    /// Every field that was given, with its text.
    pub fn typed(&self) -> &[(String, String)] {
        &self.typed
    }

    /// What is wrong with a field.
    pub fn error(&self, name: &str) -> Option<&str> {
        self.errors.iter().find(|(known, _)| known == name).map(|(_, message)| message.as_str())
    }

    /// Everything that is wrong, in the order it was found.
    pub fn errors(&self) -> &[(String, String)] {
        &self.errors
    }

    /// Whether nothing is wrong so far.
    pub fn is_ok(&self) -> bool {
        self.errors.is_empty()
    }

    /// The units the form is read in.
    pub fn units(&self) -> Units {
        self.units
    }

    /// Notes what is wrong with a field; the first thing found stands.
    pub fn add_error(&mut self, name: &str, message: impl Display) {
        if self.error(name).is_none() {
            self.errors.push((name.to_owned(), message.to_string()));
        }
    }

    /// Tells that somebody else changed the thing meanwhile: which fields now differ from what stands here, and how they
    /// are now. What was typed stays; sending the form again, with `revision`, settles it knowingly.
    pub fn conflict(&mut self, who: &str, revision: i64, now: &[(&str, &str, String)]) {
        self.set("revision", revision);
        for (name, label, value) in now {
            if self.value(name) != value {
                let shown = if value.is_empty() { "empty" } else { value };
                self.add_error(
                    name,
                    format!("{label} was changed by {who} and is now: {shown}. Keep yours by saving again."),
                );
            }
        }
        if self.is_ok() {
            self.add_error("", format!("{who} just changed this to the same. Save again to keep it."));
        }
    }

    /// A line or note of text, trimmed; `None` when it is missing or can't be kept.
    pub fn text(&mut self, name: &str, what: &str, most: usize) -> Option<String> {
        let text = self.optional_text(name, what, most)?;
        if text.is_empty() {
            self.add_error(name, format!("{what} is missing."));
            return None;
        }
        Some(text)
    }

    /// Like [`Form::text`], but may be empty.
    pub fn optional_text(&mut self, name: &str, what: &str, most: usize) -> Option<String> {
        let text = self.value(name).replace("\r\n", "\n").trim().to_owned();
        let long = text.chars().count();
        if long > most {
            self.add_error(name, format!("{what} is {long} characters long; at most {most} are allowed."));
            return None;
        }
        // Invisible characters that turn the reading direction could make one name look like another.
        let odd = |c: char| {
            (c.is_control() && c != '\n') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
        };
        if text.chars().any(odd) || (most <= LINE && text.contains('\n')) {
            self.add_error(name, format!("{what} has an invisible character in it. Please type it again."));
            return None;
        }
        Some(text)
    }

    /// A whole number within a range.
    pub fn count(&mut self, name: &str, what: &str, range: RangeInclusive<i64>) -> Option<i64> {
        let typed = self.value(name).trim().to_owned();
        let (least, most) = (range.start(), range.end());
        match typed.parse::<i64>() {
            Ok(n) if range.contains(&n) => Some(n),
            Ok(n) => {
                self.add_error(name, format!("{what} can’t be {n}: from {least} to {most} is allowed."));
                None
            }
            Err(_) if typed.is_empty() => {
                self.add_error(name, format!("{what} is missing: a whole number from {least} to {most}."));
                None
            }
            Err(_) => {
                let typed: String = typed.chars().take(30).collect();
                self.add_error(
                    name,
                    format!("{what} is a whole number from {least} to {most}, not “{typed}”."),
                );
                None
            }
        }
    }

    /// A length within a range.
    pub fn length(&mut self, name: &str, least: Length, most: Length) -> Option<Length> {
        let read = Length::parse(self.value(name), self.units).map_err(|e| e.to_string());
        self.take(name, read.and_then(|l| l.within(least, most, self.units).map_err(|e| e.to_string())))
    }

    /// A weight within a range.
    pub fn mass(&mut self, name: &str, least: Mass, most: Mass) -> Option<Mass> {
        let read = Mass::parse(self.value(name), self.units).map_err(|e| e.to_string());
        self.take(name, read.and_then(|m| m.within(least, most, self.units).map_err(|e| e.to_string())))
    }

    /// One of the words of a list, or the id of a thing.
    pub fn choice<T: FromStr>(&mut self, name: &str, what: &str) -> Option<T> {
        let read = self.value(name).parse().map_err(|_| format!("Choose {what}."));
        self.take(name, read)
    }

    /// A day, as browsers send it: 2026-11-25.
    pub fn day(&mut self, name: &str, what: &str) -> Option<civil::Date> {
        let read = self.value(name).trim().parse::<civil::Date>();
        let read = read.map_err(|_| format!("{what} is a day such as 2026-11-25."));
        let range = civil::date(2000, 1, 1)..=civil::date(2100, 12, 31);
        self.take(
            name,
            read.and_then(|day| {
                if range.contains(&day) {
                    Ok(day)
                } else {
                    Err(format!("{what} lies between the years 2000 and 2100."))
                }
            }),
        )
    }

    /// A time of day: 18:30.
    pub fn time(&mut self, name: &str, what: &str) -> Option<civil::Time> {
        let read = civil::Time::strptime("%H:%M", self.value(name).trim());
        self.take(name, read.map_err(|_| format!("{what} is a time such as 18:30.")))
    }

    /// A field that may be left empty, and then means what is `usual`; `None` when it can't be read.
    pub fn optional<T>(
        &mut self,
        name: &str,
        usual: T,
        read: impl FnOnce(&mut Self) -> Option<T>,
    ) -> Option<T> {
        if self.is_empty(name) { Some(usual) } else { read(self) }
    }

    /// Whether a box was ticked.
    pub fn ticked(&self, name: &str) -> bool {
        !self.value(name).is_empty()
    }

    /// Whether a field holds nothing but blanks.
    pub fn is_empty(&self, name: &str) -> bool {
        self.value(name).trim().is_empty()
    }

    /// The revision that the form was filled in on; 0, which is never one, when it isn't given.
    pub fn revision(&self) -> i64 {
        self.value("revision").parse().unwrap_or(0)
    }

    /// Everything typed but the fields named, in one line, to be carried in a hidden field.
    pub fn serialize(&self, without: &[&str]) -> String {
        let carried =
            self.typed.iter().filter(|(name, value)| !without.contains(&name.as_str()) && !value.is_empty());
        form_urlencoded::Serializer::new(String::new()).extend_pairs(carried).finish()
    }

    /// The form that was [`Form::serialize`], in the same units.
    #[must_use]
    pub fn deserialize(&self, serialize: &str) -> Self {
        let mut form = Self::blank(self.units);
        form.typed = form_urlencoded::parse(serialize.as_bytes()).into_owned().collect();
        form
    }

    fn take<T>(&mut self, name: &str, read: Result<T, String>) -> Option<T> {
        read.map_err(|message| self.add_error(name, message)).ok()
    }
}

/// What a page that is little more than a form needs; most forms do.
#[derive(Clone, Debug)]
pub struct Filled {
    /// What stands around it.
    pub layout: Layout,
    /// The form.
    pub form: Form,
}
