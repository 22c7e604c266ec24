//! The workroom as plain numbers and words: what there is, and nothing about how the program keeps it.
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::cloth::Bundle;
use super::house::{Size, Tag};
use super::promises::{Promise, ShareOut};
use super::stocktakes::Stocktake;

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
    /// Whether somebody else gave it to them, so that they must choose their own first.
    pub given: bool,
    pub left: bool,
    pub revision: i64,
}

/// A personal link of a weaver's: the latest one of somebody who is here works.
pub struct Link {
    pub path: String,
    pub person: usize,
    pub works: bool,
    pub made: Timestamp,
}

pub struct Session {
    pub person: usize,
    pub ends: Timestamp,
    pub ended: bool,
    /// For how many hours it may lie idle, until when it may go on at most, and when it was last noted that it is in use.
    pub idle: i64,
    pub latest: Timestamp,
    pub seen: Timestamp,
}

/// Tries counted for a name, for a device, for a person, or for the one address that all come from.
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
    /// Whether the row counter wrote it.
    pub counted: bool,
}

/// A course, and who comes to it.
pub struct Term {
    pub id: String,
    pub name: String,
    pub closed: bool,
    /// When it was closed last.
    pub closed_at: Timestamp,
    pub enrolled: Vec<usize>,
}

pub struct Meeting {
    pub id: String,
    pub term: usize,
    pub day: Date,
    pub start: jiff::civil::Time,
    pub minutes: i64,
    pub off: bool,
    pub changed: Timestamp,
}

/// A calendar link of somebody's: the latest one works while they are here.
pub struct Feed {
    pub path: String,
    pub person: usize,
    pub replaced: bool,
    pub made: Timestamp,
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
    /// A list of bundles that was taken in; the record names it by its form's key.
    List(usize),
    Stocktake(usize),
    ShareOut(usize),
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
    /// What the scale may be off by, in milligrams.
    pub doubt: i64,
    /// The revision of the workroom's settings.
    pub settings: i64,
    pub now: Timestamp,
    pub people: Vec<Person>,
    pub links: Vec<Link>,
    pub sessions: Vec<Session>,
    /// Which session each browser holds the cookie of, dead ones too.
    pub browsers: Vec<Option<usize>>,
    pub failures: std::collections::BTreeMap<String, Failures>,
    /// By which number each browser is known, if anybody signed in with it before, and who did.
    pub devices: Vec<Option<usize>>,
    pub known: std::collections::BTreeSet<(usize, usize)>,
    pub frames: Vec<Frame>,
    pub rods: Vec<Rod>,
    pub rugs: Vec<Rug>,
    pub loans: Vec<Loan>,
    pub bundles: Vec<Bundle>,
    pub lists: Vec<String>,
    pub stocktakes: Vec<Stocktake>,
    pub share_outs: Vec<ShareOut>,
    pub promises: Vec<Promise>,
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

    /// A session is used, which moves its end; noted when a twelfth of the time went by that it may lie idle.
    pub fn use_session(&mut self, session: Option<usize>) {
        let now = self.now;
        let Some(session) = session.map(|n| &mut self.sessions[n]) else { return };
        let idle = jiff::SignedDuration::from_hours(session.idle);
        if !session.ended && session.ends > now && now.duration_since(session.seen) > idle / 12 {
            session.seen = now;
            session.ends = (now + idle).min(session.latest);
        }
    }

    /// A new session with a browser, in the place of whatever it held.
    pub fn open_session(&mut self, browser: usize, person: usize) {
        let hours = |hours| jiff::SignedDuration::from_hours(hours);
        let weaver = self.people[person].role == Role::Weaver;
        let (idle, most) = if weaver { (90 * 24, 365 * 24) } else { (12, 14 * 24) };
        if let Some(held) = self.browsers[browser] {
            self.sessions[held].ended = true;
        }
        self.browsers[browser] = Some(self.sessions.len());
        let (now, latest) = (self.now, self.now + hours(most));
        let ends = now + hours(idle);
        self.sessions.push(Session { person, ends, ended: false, idle, latest, seen: now });
        if !weaver {
            let known = self.devices[browser].filter(|device| self.known.iter().any(|(of, _)| of == device));
            let device = known.unwrap_or(self.sessions.len());
            self.devices[browser] = Some(device);
            self.known.insert((device, person));
        }
        self.note(Some(person), Thing::Person(person), "signed in");
    }

    /// Whether a secret link of somebody's, made then, still works as far as terms go.
    pub fn in_term(&self, person: usize, made: Timestamp) -> bool {
        let mut theirs = self.terms.iter().filter(|term| term.enrolled.contains(&person));
        theirs.clone().any(|term| !term.closed) || !theirs.any(|term| term.closed_at >= made)
    }

    /// Whether a door is closed that bears so many tries within a quarter of an hour.
    pub fn shut(&self, door: &str, tries: i64) -> bool {
        let window = jiff::SignedDuration::from_mins(15);
        self.failures.get(door).is_some_and(|f| f.count >= tries && f.since + window > self.now)
    }

    /// Counts a try at a door. What was counted a quarter of an hour ago is forgotten, at every door.
    pub fn count_try(&mut self, door: &str) {
        let (now, window) = (self.now, jiff::SignedDuration::from_mins(15));
        self.failures.retain(|_, f| f.since + window > now);
        self.failures.entry(door.to_owned()).or_insert(Failures { count: 0, since: now }).count += 1;
    }

    pub fn role(&self, person: Option<usize>) -> Option<Role> {
        person.map(|person| self.people[person].role)
    }

    pub fn end_sessions(&mut self, person: usize) {
        self.known.retain(|(_, known)| *known != person);
        self.end_sessions_only(person);
    }

    /// The same, but devices stay known.
    pub fn end_sessions_only(&mut self, person: usize) {
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
            Thing::List(n) => &self.lists[n],
            Thing::Stocktake(n) => &self.stocktakes[n].id,
            Thing::ShareOut(n) => &self.share_outs[n].id,
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
            Thing::List(n) => self.lists[n] = id,
            Thing::Stocktake(n) => self.stocktakes[n].id = id,
            Thing::ShareOut(n) => self.share_outs[n].id = id,
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
