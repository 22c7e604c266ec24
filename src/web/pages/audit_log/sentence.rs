//! A line of the record as a sentence: what somebody did to what, with its figures in the reader's units.
use serde_json::{Map, Value};

use crate::store::EntityKind;
use crate::store::audit_log::NamedChange;
use crate::store::rods::rod_size;
use crate::units::{Length, Mass, Units};

/// What was done ("handed out frame S1"), and the figures and words that go with it.
pub(super) fn of(line: &NamedChange, units: Units) -> (String, String) {
    let detail: Map<String, Value> = serde_json::from_str(&line.change.detail).unwrap_or_default();
    let said = Said { line, detail: &detail };
    let (did, told) = said.did();
    let rest = detail.iter().filter(|(name, _)| !told.contains(&name.as_str()));
    let particulars: Vec<String> = rest.filter_map(|(name, value)| particular(name, value, units)).collect();
    (did, particulars.join("; "))
}

struct Said<'a> {
    line: &'a NamedChange,
    detail: &'a Map<String, Value>,
}

impl Said<'_> {
    /// What it was done to, with its kind in front where its name alone wouldn't say it.
    fn what(&self) -> String {
        let called = self.line.called.as_deref().unwrap_or_default();
        match self.line.change.entity {
            EntityKind::Person => called.to_owned(),
            EntityKind::Rod => match (self.line.length, self.line.diameter) {
                (Some(length), Some(diameter)) => {
                    format!("rods of {}", rod_size(length, diameter, Units::Inches))
                }
                _ => "rods".into(),
            },
            EntityKind::Loan => format!("frame {called}"),
            EntityKind::Rug => format!("the rug “{called}”"),
            EntityKind::Term => format!("the term “{called}”"),
            EntityKind::Meeting => format!("the meeting on {called}"),
            EntityKind::Receiver => format!("the receiver “{called}”"),
            EntityKind::Workroom => "the workroom".into(),
            EntityKind::ShareOut => "a share-out".into(),
            EntityKind::Stocktake => "a stocktake".into(),
            EntityKind::Tablet => "a tablet at the scale".into(),
            kind @ (EntityKind::Frame | EntityKind::Bundle) => format!("{kind} {called}"),
        }
    }

    fn detail_of(&self, name: &str) -> String {
        self.detail.get(name).map_or_else(String::new, plain)
    }

    /// Whether somebody did it to themselves.
    fn own(&self) -> bool {
        self.line.change.who.is_some() && self.line.change.who == self.line.called
    }

    /// What was done, and which of the particulars it says already.
    fn did(&self) -> (String, &'static [&'static str]) {
        let what = self.what();
        let act = self.line.change.act.as_str();
        match self.line.change.entity {
            EntityKind::Person => self.did_to_person(act, &what),
            EntityKind::Bundle => self.did_to_bundle(act, &what),
            EntityKind::Rug if act == "goes on in" => {
                (format!("moved {what} to the term “{}”", self.detail_of("term")), &["term"])
            }
            EntityKind::Rug => did_to_rug(act, &what),
            EntityKind::Rod => match act {
                "added" => (format!("added {} {what}", self.detail_of("rods")), &["rods", "size"]),
                "changed" => (format!("corrected a size to {what}"), &["size"]),
                "taken back" => (format!("took back {what}"), &[]),
                act => (format!("{} {what}: {act}", self.detail_of("rods")), &["rods"]),
            },
            EntityKind::Term => match act {
                "timetable accepted" => (format!("accepted a timetable for {what}"), &[]),
                "weaver told of their place" => (format!("told a weaver of their turn in {what}"), &["rug"]),
                "turn wished" => (format!("changed what is wished for a turn in {what}"), &["rug"]),
                "absences" => (format!("said who can’t come in {what}"), &[]),
                "enrolled" => (format!("enrolled somebody in {what}"), &["person"]),
                "withdrawn" => (format!("took somebody off {what}"), &["person"]),
                "waits" => (format!("put somebody on the waiting list of {what}"), &["person"]),
                "moved up" => (format!("moved somebody up on the waiting list of {what}"), &["person"]),
                "waits no more" => (format!("took somebody off the waiting list of {what}"), &["person"]),
                "size" => (format!("changed the size of {what}"), &[]),
                "place locked" => (format!("locked a turn in {what}"), &["rug"]),
                "place unlocked" => (format!("unlocked a turn in {what}"), &["rug"]),
                act => (usual(act, &what), &["name"]),
            },
            EntityKind::ShareOut => match act {
                "begun" => ("began a share-out".into(), &[]),
                "asked to stop" => ("stopped a share-out early".into(), &[]),
                "proposed" => ("found a share-out to propose".into(), &[]),
                "chosen by hand" => ("chose bundles by hand in a share-out".into(), &["rug"]),
                "promise released" => ("released a promise of a share-out".into(), &["bundle"]),
                act => (usual(act, &what), &[]),
            },
            EntityKind::Loan => (usual(act, &what), &["frame", "rug"]),
            EntityKind::Meeting => match act {
                "roll taken" => (format!("noted who was at {what}"), &["day"]),
                "here" => (format!("said that they are at {what}"), &["day"]),
                "cannot come" => (format!("said that they can’t come to {what}"), &["day"]),
                "comes after all" => (format!("took back what they said of {what}"), &["day"]),
                act => (usual(act, &what), &["day"]),
            },
            EntityKind::Frame | EntityKind::Workroom | EntityKind::Stocktake | EntityKind::Receiver => {
                (usual(act, &what), &[])
            }
            EntityKind::Tablet => (usual(act, &what), &["bundle", "until"]),
        }
    }

    fn did_to_person(&self, act: &str, what: &str) -> (String, &'static [&'static str]) {
        let whose = if self.own() { "their".to_owned() } else { format!("{what}’s") };
        let said = match act {
            "added" => return (format!("added {what} as {}", self.detail_of("role")), &["name", "role"]),
            "changed" if self.own() => "changed their own details".into(),
            "changed" => format!("changed what is known of {what}"),
            "noted" => format!("changed the note on {what}"),
            "told" => format!("told {what} themselves"),
            "left" => format!("noted that {what} left"),
            "erased" => "erased somebody’s data".into(),
            "signed in" if self.own() => "signed in".into(),
            "signed out elsewhere" => format!("signed {whose} other devices out"),
            "signed out everywhere" => format!("signed all {whose} devices out"),
            "passphrase set" => format!("set {whose} passphrase"),
            "link replaced" => format!("replaced {whose} personal link"),
            "calendar link replaced" => format!("replaced {whose} calendar link"),
            "link to a new passphrase made" => format!("made a link to {whose} new passphrase"),
            "passkey added" => {
                return (format!("added {whose} passkey “{}”", self.detail_of("passkey")), &["passkey"]);
            }
            "passkey removed" => {
                return (format!("removed {whose} passkey “{}”", self.detail_of("passkey")), &["passkey"]);
            }
            "one-time codes set up" => format!("set up {whose} one-time codes"),
            "one-time codes taken off" => format!("turned off {whose} one-time codes"),
            "recovery codes made" => format!("made {whose} recovery codes"),
            "recovery code used" => format!("used one of {whose} recovery codes"),
            "second factor taken off" => format!("removed {whose} second factor"),
            act => format!("{what}: {act}"),
        };
        (said, &["name"])
    }

    fn did_to_bundle(&self, act: &str, what: &str) -> (String, &'static [&'static str]) {
        match act {
            "weighed in" => (format!("weighed in {what}"), &["entry", "after_g"]),
            "reversal" => (format!("corrected an entry of {what}"), &["entry"]),
            "wash" => (format!("weighed {what} after washing"), &["entry"]),
            "pulled" => (format!("pulled cloth from {what}"), &["entry"]),
            "put back" => (format!("put cloth back on {what}"), &["entry"]),
            "cut" => (format!("cut from {what}"), &["entry"]),
            "scrap" => (format!("took scrap off {what}"), &["entry"]),
            "count" => (format!("counted {what}"), &["entry"]),
            "list taken in" => {
                let (first, last) = (self.detail_of("first_tag"), self.detail_of("last_tag"));
                let said =
                    format!("took in a list of {} bundles, {first} to {last}", self.detail_of("bundles"));
                (said, &["bundles", "first_tag", "last_tag"])
            }
            "state" => {
                let said =
                    format!("moved {what} from “{}” to “{}”", self.detail_of("from"), self.detail_of("to"));
                (said, &["from", "to"])
            }
            "corrected" => (format!("corrected what is known of {what}"), &["strips"]),
            "put at" => (format!("put {what} at “{}”", self.detail_of("to")), &["from", "to"]),
            act => (usual(act, what), &["entry"]),
        }
    }
}

fn did_to_rug(act: &str, what: &str) -> (String, &'static [&'static str]) {
    let said = match act {
        "planned" => format!("planned {what}"),
        "weaving" => format!("{what} is being woven"),
        "finished" => format!("finished {what}"),
        "given up" => format!("gave up {what}"),
        "logged" => format!("logged work on {what}"),
        "log undone" => format!("undid an entry in the log of {what}"),
        "what it took" => format!("noted what {what} took"),
        "noted" => format!("changed the note on {what}"),
        "made a class pattern" => format!("made {what} a pattern of the class"),
        "no class pattern any more" => format!("took {what} off the class’s patterns"),
        "cloth chosen" => format!("chose the cloth for {what}"),
        act => usual(act, what),
    };
    (said, &["entry", "name"])
}

/// An act whose word goes before what it was done to.
fn usual(act: &str, what: &str) -> String {
    match act {
        "begun" => format!("began {what}"),
        "taken back" => format!("took back {what}"),
        "put back into use" => format!("put {what} back into use"),
        "opened again" => format!("opened {what} again"),
        "called off" => format!("called off {what}"),
        "called on again" => format!("put {what} back on"),
        "secret renewed" => format!("renewed the secret of {what}"),
        "due day moved" => format!("moved the day on which {what} is due"),
        "tried" => format!("sent a test message to {what}"),
        "set up" => format!("set up {what}"),
        act => format!("{act} {what}"),
    }
}

/// One particular in words; nothing where it says nothing, or only the id of something.
fn particular(name: &str, value: &Value, units: Units) -> Option<String> {
    // A record that was put back from an archive may hold anything.
    let figure = value.as_f64().filter(|figure| figure.abs() < 1e9);
    let weight = |grams: f64| Mass::from_grams(grams).show(units);
    match (name, name.strip_suffix("_g"), value) {
        ("change_g", ..) => {
            return figure.map(|grams| format!("{}{}", if grams > 0.0 { "+" } else { "" }, weight(grams)));
        }
        ("after_g", ..) => return figure.map(|grams| format!("{} after", weight(grams))),
        (_, Some(name), Value::Number(_)) => return figure.map(|grams| format!("{name} {}", weight(grams))),
        (_, Some(name), Value::Array(list)) => {
            let one = |pair: &Value| {
                Some(format!(
                    "{} {}",
                    plain(pair.get(0)?),
                    weight(pair.get(1)?.as_f64().filter(|grams| grams.abs() < 1e9)?)
                ))
            };
            let list: Vec<String> = list.iter().filter_map(one).collect();
            return (!list.is_empty()).then(|| format!("{name}: {}", list.join(", ")));
        }
        _ => {}
    }
    if let (Some(name), Some(mm)) = (name.strip_suffix("_mm"), figure) {
        return Some(format!("{} {}", name.replace('_', " "), Length::millimetres(mm).show(units)));
    }
    if let (Some(kind), Some(minutes)) = (name.strip_suffix("minutes"), figure) {
        let time = crate::units::dates::minutes(minutes);
        return Some(format!("{}{time}", kind.replace('_', " ")));
    }
    let text = plain(value);
    let name = name.replace('_', " ");
    match (value, text.as_str()) {
        (_, "") => None,
        (Value::Bool(true), _) => Some(name),
        (Value::Bool(false), _) => None,
        (_, text) => Some(format!("{name} {text}")),
    }
}

/// A value as people write it: no quotation marks, no brackets.
fn plain(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        Value::Array(list) => list.iter().map(plain).collect::<Vec<_>>().join(" "),
        Value::Object(map) => {
            map.iter().map(|(name, value)| format!("{name} {}", plain(value))).collect::<Vec<_>>().join(", ")
        }
        value => value.to_string(),
    }
}
