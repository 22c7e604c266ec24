//! The workroom as plain numbers and words: what there is, and nothing about how the program keeps it.
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::cloth::Bundle;
use super::house::{Size, Tag};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    Instructor,
    Volunteer,
    Weaver,
}

impl Role {
    pub fn word(self) -> &'static str {
        ["instructor", "volunteer", "weaver"][self as usize]
    }
}

pub struct Person {
    pub id: String,
    pub name: String,
    pub contact: String,
    pub role: Role,
    pub passphrase: String,
    pub left: bool,
    pub revision: i64,
}

/// A personal link of a weaver's: the latest one of somebody who is here works.
pub struct Link {
    pub path: String,
    pub person: usize,
    pub works: bool,
}

pub struct Session {
    pub person: usize,
    pub ends: Timestamp,
    pub ended: bool,
}

/// Failed sign-ins counted for a name or for the one address that all come from.
#[derive(Clone, Copy)]
pub struct Failures {
    pub count: i64,
    pub since: Timestamp,
}

pub struct Frame {
    pub id: String,
    pub tag: Tag,
    pub size: Size,
    pub condition: &'static str,
    pub note: String,
    pub retired: bool,
    pub revision: i64,
}

impl Frame {
    pub fn usable(&self) -> bool {
        !self.retired && self.condition != "broken"
    }
}

pub struct Rod {
    pub id: String,
    /// In eighths of an inch.
    pub length: i64,
    pub owned: i64,
    pub bent: i64,
    pub revision: i64,
}

pub struct Rug {
    pub id: String,
    pub weaver: usize,
    pub name: String,
    pub size: Size,
    pub state: &'static str,
}

impl Rug {
    pub fn open(&self) -> bool {
        self.state == "planned" || self.state == "weaving"
    }
}

/// A line of a rug's log: rows so far, or that an earlier line is undone.
pub struct Entry {
    pub id: String,
    pub rug: usize,
    pub at: Timestamp,
    pub who: usize,
    pub rows: i64,
    pub undoes: Option<usize>,
}

/// A course, and who comes to it.
pub struct Term {
    pub id: String,
    pub name: String,
    pub closed: bool,
    pub enrolled: Vec<usize>,
}

pub struct Meeting {
    pub id: String,
    pub term: usize,
    pub day: Date,
    pub start: jiff::civil::Time,
    pub minutes: i64,
    pub off: bool,
    /// How often it was called off and on.
    pub changes: i64,
    pub changed: Timestamp,
}

/// A calendar link of somebody's: the latest one works while they are here.
pub struct Feed {
    pub path: String,
    pub person: usize,
    pub replaced: bool,
}

pub struct Loan {
    pub id: String,
    pub frame: usize,
    pub rug: usize,
    pub rods: Option<(usize, i64)>,
    pub due: Date,
    pub condition_out: &'static str,
    pub at: Timestamp,
    pub by: usize,
    pub back: Option<Back>,
}

pub struct Back {
    pub at: Timestamp,
    pub by: usize,
    pub condition: &'static str,
    pub bent: i64,
    pub missing: i64,
    pub note: String,
}

/// What a line of the record is about, and what gets an id when it is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Thing {
    Workroom,
    Person(usize),
    Frame(usize),
    Rod(usize),
    Rug(usize),
    Loan(usize),
    Bundle(usize),
    Term(usize),
    Meeting(usize),
}

pub struct Line {
    pub at: Timestamp,
    pub who: Option<usize>,
    pub about: Thing,
    pub did: String,
}

pub struct State {
    pub zone: TimeZone,
    pub now: Timestamp,
    pub people: Vec<Person>,
    pub links: Vec<Link>,
    pub sessions: Vec<Session>,
    /// Which session each browser holds the cookie of, dead ones too.
    pub browsers: Vec<Option<usize>>,
    pub failures: std::collections::BTreeMap<String, Failures>,
    pub frames: Vec<Frame>,
    pub rods: Vec<Rod>,
    pub rugs: Vec<Rug>,
    pub loans: Vec<Loan>,
    pub bundles: Vec<Bundle>,
    pub log: Vec<Entry>,
    pub terms: Vec<Term>,
    pub meetings: Vec<Meeting>,
    pub feeds: Vec<Feed>,
    pub record: Vec<Line>,
}

impl State {
    pub fn local(&self) -> jiff::ZonedDateTime {
        self.now.to_zoned_datetime(self.zone.clone())
    }

    pub fn today(&self) -> Date {
        self.local().date()
    }

    /// Who is signed in with a browser.
    pub fn person_at(&self, browser: usize) -> Option<usize> {
        let session = &self.sessions[self.browsers[browser]?];
        (!session.ended && session.ends > self.now).then_some(session.person)
    }

    pub fn role(&self, person: Option<usize>) -> Option<Role> {
        person.map(|person| self.people[person].role)
    }

    pub fn end_sessions(&mut self, person: usize) {
        for session in &mut self.sessions {
            session.ended |= session.person == person;
        }
    }

    /// A line of the record, written now.
    pub fn note(&mut self, who: Option<usize>, about: Thing, did: impl Into<String>) {
        self.record.push(Line { at: self.now, who, about, did: did.into() });
    }

    pub fn id(&self, thing: Thing) -> &str {
        match thing {
            Thing::Workroom => "workroom",
            Thing::Person(n) => &self.people[n].id,
            Thing::Frame(n) => &self.frames[n].id,
            Thing::Rod(n) => &self.rods[n].id,
            Thing::Rug(n) => &self.rugs[n].id,
            Thing::Loan(n) => &self.loans[n].id,
            Thing::Bundle(n) => &self.bundles[n].id,
            Thing::Term(n) => &self.terms[n].id,
            Thing::Meeting(n) => &self.meetings[n].id,
        }
    }

    pub fn set_id(&mut self, thing: Thing, id: String) {
        match thing {
            Thing::Workroom => unreachable!("the workroom has no id of its own"),
            Thing::Person(n) => self.people[n].id = id,
            Thing::Frame(n) => self.frames[n].id = id,
            Thing::Rod(n) => self.rods[n].id = id,
            Thing::Rug(n) => self.rugs[n].id = id,
            Thing::Loan(n) => self.loans[n].id = id,
            Thing::Bundle(n) => self.bundles[n].id = id,
            Thing::Term(n) => self.terms[n].id = id,
            Thing::Meeting(n) => self.meetings[n].id = id,
        }
    }

    pub fn loan_of_frame(&self, frame: usize) -> Option<usize> {
        self.loans.iter().position(|loan| loan.frame == frame && loan.back.is_none())
    }

    pub fn loan_of_rug(&self, rug: usize) -> Option<usize> {
        self.loans.iter().position(|loan| loan.rug == rug && loan.back.is_none())
    }

    pub fn rods_out(&self, rod: usize) -> i64 {
        let open = self.loans.iter().filter(|loan| loan.back.is_none());
        open.filter_map(|loan| loan.rods).filter(|(size, _)| *size == rod).map(|(_, count)| count).sum()
    }

    /// Here and straight.
    pub fn rods_in(&self, rod: usize) -> i64 {
        self.rods[rod].owned - self.rods[rod].bent - self.rods_out(rod)
    }

    pub fn weaver_of(&self, loan: usize) -> usize {
        self.rugs[self.loans[loan].rug].weaver
    }

    pub fn overdue(&self, loan: usize) -> bool {
        self.loans[loan].back.is_none() && self.loans[loan].due < self.today()
    }

    /// Whether a line of a log was undone.
    pub fn undone(&self, entry: usize) -> bool {
        self.log.iter().any(|later| later.undoes == Some(entry))
    }

    /// Sets how far a rug is; the record has it only where it changes.
    pub fn set_rug(&mut self, who: usize, rug: usize, state: &'static str) {
        if self.rugs[rug].state != state {
            self.rugs[rug].state = state;
            self.note(Some(who), Thing::Rug(rug), state);
        }
    }
}
