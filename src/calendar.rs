//! A calendar feed by RFC 5545, written line by line. The crates for it were tried: they fold at 76 octets, and bring two
//! date libraries along for a dozen properties.
use std::collections::BTreeMap;

use data_encoding::HEXLOWER;
use jiff::{Timestamp, ToSpan as _, civil};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

/// When an event is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum When {
    /// From one instant to another. Written in UTC, so that no reader's idea of a time zone can move it.
    Between(Timestamp, Timestamp),
    /// A whole day, wherever it is read.
    Day(civil::Date),
}

/// One event.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// The same in every reading of the feed, and of this event alone (RFC 5545, 3.8.4.7).
    pub uid: String,
    /// Rises with each change that people should notice, from 0 (3.8.7.4).
    pub sequence: u32,
    /// When it was last changed (3.8.7.2: without a METHOD, DTSTAMP says so).
    pub changed: Timestamp,
    /// When it is.
    pub when: When,
    /// What it is.
    pub title: String,
    /// More of it; may have several lines.
    pub text: String,
    /// Whether it won't take place.
    pub cancelled: bool,
}

/// What a reader was told last of an event.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Told {
    /// What it said, as a hash.
    said: String,
    sequence: u32,
    changed: Timestamp,
}

/// Lets each event that says something else than the reader was told last say so, by a higher sequence and by `now` (RFC 5545,
/// 3.8.7.4 and 3.8.7.2), and keeps in `told` what they are told now. Gives whether anything was other.
pub fn revise(events: &mut [Event], told: &mut BTreeMap<String, Told>, now: Timestamp) -> bool {
    let mut other = false;
    for event in events {
        let text = format!("{:?}", (&event.when, &event.title, &event.text, event.cancelled));
        let said = HEXLOWER.encode(&Sha256::digest(text)[..12]);
        if let Some(before) = told.get(&event.uid) {
            let risen = u32::from(before.said != said);
            event.sequence = event.sequence.max(before.sequence.saturating_add(risen));
            event.changed = event.changed.max(if risen == 1 { now } else { before.changed });
        }
        let (sequence, changed) = (event.sequence, event.changed);
        let now_told = Told { said, sequence, changed };
        if told.get(&event.uid) != Some(&now_told) {
            told.insert(event.uid.clone(), now_told);
            other = true;
        }
    }
    other
}

/// How often a reader should look again (RFC 7986, 5.7).
const AGAIN: &str = "PT4H";
/// The most octets of a line, its end left out (RFC 5545, 3.1).
const LINE: usize = 75;

/// The feed as text: lines of at most 75 octets, ended by CR LF.
pub fn feed(name: &str, events: &[Event]) -> String {
    let mut lines = Lines::default();
    lines.add("BEGIN", "VCALENDAR");
    lines.add("VERSION", "2.0");
    lines.add("PRODID", "-//Thrumhall//Thrumhall//EN");
    // The name in the standard's property, and in the one that went before it and is read more widely.
    lines.text("NAME", name);
    lines.text("X-WR-CALNAME", name);
    lines.add("REFRESH-INTERVAL;VALUE=DURATION", AGAIN);
    for event in events {
        lines.event(event);
    }
    lines.add("END", "VCALENDAR");
    lines.0
}

#[derive(Default)]
struct Lines(String);

impl Lines {
    fn event(&mut self, event: &Event) {
        self.add("BEGIN", "VEVENT");
        self.add("UID", &event.uid);
        self.add("DTSTAMP", &utc(event.changed));
        self.add("SEQUENCE", &event.sequence.to_string());
        match event.when {
            When::Between(from, to) => {
                self.add("DTSTART", &utc(from));
                self.add("DTEND", &utc(to));
            }
            When::Day(day) => {
                self.add("DTSTART;VALUE=DATE", &date(day));
                // The end of a whole day is the day after (3.6.1).
                self.add("DTEND;VALUE=DATE", &date(day.checked_add(1.day()).unwrap_or(day)));
                // A day of note, not a day that is taken.
                self.add("TRANSP", "TRANSPARENT");
            }
        }
        self.text("SUMMARY", &event.title);
        if !event.text.is_empty() {
            self.text("DESCRIPTION", &event.text);
        }
        self.add("STATUS", if event.cancelled { "CANCELLED" } else { "CONFIRMED" });
        self.add("END", "VEVENT");
    }

    /// A property whose value is text, escaped (3.3.11). Other control characters have no place in it and are left out.
    fn text(&mut self, name: &str, value: &str) {
        let mut escaped = String::with_capacity(value.len());
        for c in value.replace("\r\n", "\n").chars() {
            match c {
                '\\' | ';' | ',' => escaped.extend(['\\', c]),
                '\n' => escaped.push_str("\\n"),
                c if c.is_control() && c != '\t' => {}
                c => escaped.push(c),
            }
        }
        self.add(name, &escaped);
    }

    /// A property, folded between characters: a line that goes on begins with a blank, which counts (3.1).
    fn add(&mut self, name: &str, value: &str) {
        let mut octets = 0;
        for c in name.chars().chain([':']).chain(value.chars()) {
            if octets + c.len_utf8() > LINE {
                self.0.push_str("\r\n ");
                octets = 1;
            }
            self.0.push(c);
            octets += c.len_utf8();
        }
        self.0.push_str("\r\n");
    }
}

fn utc(at: Timestamp) -> String {
    at.strftime("%Y%m%dT%H%M%SZ").to_string()
}

fn date(day: civil::Date) -> String {
    day.strftime("%Y%m%d").to_string()
}
