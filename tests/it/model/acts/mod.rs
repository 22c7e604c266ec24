//! What people do: which acts there are, how they are drawn, and what the model says comes of each.
//!
//! An act is drawn with bare numbers, which are taken modulo whatever is there when its turn comes; so any sequence means
//! something, also after others were left out of it. [`Act::step`] changes the model and says what is sent and answered.
mod clock;
mod cloth;
mod door;
mod frames;
mod lists;
mod loans;
mod log;
mod opening;
mod people;
mod rods;
mod rugs;
mod share_outs;
mod stocktakes;
mod terms;

use proptest::prelude::*;

pub use clock::Move;
pub use door::open_again;
pub use opening::opening;

use super::state::{Role, State, Thing};
use super::views::{Part, View};

/// A number that picks one of what is there.
pub type Pick = u8;

/// One of a list, if there is any.
pub fn pick(which: Pick, of: usize) -> Option<usize> {
    (of > 0).then(|| usize::from(which) % of)
}

/// Who acts: somebody signed in who may, or the person at some browser.
#[derive(Clone, Copy, Debug)]
pub enum Who {
    Fit(Pick),
    Browser(Pick),
}

#[derive(Clone, Debug)]
pub enum What {
    Clock(Move),
    Door(door::Door),
    People(people::Act),
    Frames(frames::Act),
    Rods(rods::Act),
    Rugs(rugs::Act),
    Loans(loans::Act),
    Cloth(cloth::Act),
    List(lists::Act),
    Stocktakes(stocktakes::Act),
    ShareOuts(share_outs::Act),
    Terms(terms::Act),
    Log(log::Act),
}

#[derive(Clone, Debug)]
pub struct Act {
    pub who: Who,
    pub what: What,
    /// Whether the form is sent twice, as by a second press.
    pub twice: bool,
}

/// What comes back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    Page,
    /// A page with this on it.
    Shows(Vec<Part>),
    /// 303 to this address; `{new}` in it is the id of what was made.
    To(String),
    /// The form again, with errors at these fields in this order; "" is the form's own.
    Form(u16, Vec<String>),
    /// A page that says no.
    No(u16),
}

/// What the answer teaches the model.
#[derive(Clone, Debug)]
pub enum Learn {
    /// The id in the address that the answer leads to.
    Id(Thing),
    /// The address of a personal link.
    Link(usize),
    /// The id of a line of a log, the newest of its rug.
    Entry(usize),
    /// The address of a calendar link.
    Feed(usize),
    /// The id of a term, and those of its meetings, which its page has.
    Term(usize),
    /// The key of a list that was taken in, and the ids of its bundles from this one on.
    List(usize, usize),
    /// What a share-out found; among it must be what these promises say.
    Found(usize, Vec<usize>),
}

/// What is sent, and what comes of it.
pub struct Step {
    /// GET or POST.
    pub method: &'static str,
    pub path: String,
    pub fields: Vec<(&'static str, String)>,
    /// Fields whose names carry a number.
    pub more: Vec<(String, String)>,
    /// What is sent before it.
    pub first: Option<Box<Self>>,
    pub answer: Answer,
    pub learn: Option<Learn>,
    /// A field whose value only a page tells: its name, the page, and where on it.
    pub find: Option<(&'static str, String, String)>,
    /// Whether the form carries a key, which makes a second press harmless.
    pub keyed: bool,
    /// The views that may look otherwise from now on.
    pub touched: Vec<View>,
}

impl Step {
    /// A form sent to a path, so far without an answer.
    pub fn post(path: impl Into<String>, fields: &[(&'static str, &str)]) -> Self {
        let fields = fields.iter().map(|(name, value)| (*name, (*value).to_owned())).collect();
        let (answer, keyed, touched) = (Answer::No(0), false, Vec::new());
        let (path, more) = (path.into(), Vec::new());
        Self {
            method: "POST",
            path,
            fields,
            more,
            first: None,
            answer,
            learn: None,
            find: None,
            keyed,
            touched,
        }
    }

    pub fn keyed(self) -> Self {
        Self { keyed: true, ..self }
    }

    pub fn answers(self, answer: Answer) -> Self {
        Self { answer, ..self }
    }

    pub fn to(self, path: impl Into<String>) -> Self {
        self.answers(Answer::To(path.into()))
    }

    pub fn no(self, status: u16) -> Self {
        self.answers(Answer::No(status))
    }

    pub fn wrong(self, status: u16, fields: &[&str]) -> Self {
        self.answers(Answer::Form(status, fields.iter().map(|field| (*field).to_owned()).collect()))
    }

    pub fn learns(self, learn: Learn) -> Self {
        Self { learn: Some(learn), ..self }
    }

    pub fn finds(self, name: &'static str, path: &str, selector: String) -> Self {
        Self { find: Some((name, path.to_owned(), selector)), ..self }
    }

    pub fn touches(self, views: impl IntoIterator<Item = View>) -> Self {
        Self { touched: views.into_iter().collect(), ..self }
    }
}

/// Whom a form is for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum For {
    Instructor,
    Staff,
    SignedIn,
}

impl For {
    pub fn admits(self, role: Role) -> bool {
        match self {
            Self::Instructor => role == Role::Instructor,
            Self::Staff => role != Role::Weaver,
            Self::SignedIn => true,
        }
    }

    /// Who acts, if they may; otherwise the answer to a form of theirs.
    pub fn gate(self, state: &State, who: Option<usize>) -> Result<usize, Answer> {
        match who {
            None => Err(Answer::No(401)),
            Some(person) if self.admits(state.people[person].role) && !state.people[person].given => {
                Ok(person)
            }
            Some(_) => Err(Answer::No(403)),
        }
    }
}

impl Act {
    /// The step, taken in the model; `None` where there is nothing yet that it could be about.
    pub fn step(&self, state: &mut State, browser: usize) -> Option<Step> {
        let who = state.person_at(browser);
        match &self.what {
            What::Clock(_) => None,
            What::Door(act) => act.step(state, browser),
            What::People(act) => act.step(state, browser, who),
            What::Frames(act) => act.step(state, who),
            What::Rods(act) => act.step(state, who),
            What::Rugs(act) => act.step(state, who),
            What::Loans(act) => act.step(state, who),
            What::Cloth(act) => act.step(state, who),
            What::List(act) => Some(act.step(state, who)),
            What::Stocktakes(act) => act.step(state, who),
            What::ShareOuts(act) => act.step(state, who),
            What::Terms(act) => act.step(state, who),
            What::Log(act) => act.step(state, who),
        }
    }

    /// Whom it is for, where somebody fit is wanted.
    pub fn wants(&self) -> For {
        match &self.what {
            What::Rugs(_) | What::Log(_) | What::Terms(terms::Act::NewFeed) => For::SignedIn,
            What::Cloth(_) | What::List(_) => For::Staff,
            What::Stocktakes(act) => act.wants(),
            What::ShareOuts(act) => act.wants(),
            _ => For::Instructor,
        }
    }
}

/// Any act, by those who may four times in five.
pub fn drawn() -> impl Strategy<Value = Act> {
    let who = prop_oneof![4 => any::<Pick>().prop_map(Who::Fit), 1 => any::<Pick>().prop_map(Who::Browser)];
    let what = prop_oneof![
        3 => clock::drawn().prop_map(What::Clock),
        3 => door::drawn().prop_map(What::Door),
        5 => people::drawn().prop_map(What::People),
        5 => frames::drawn().prop_map(What::Frames),
        4 => rods::drawn().prop_map(What::Rods),
        5 => rugs::drawn().prop_map(What::Rugs),
        9 => loans::drawn().prop_map(What::Loans),
        14 => cloth::drawn().prop_map(What::Cloth),
        1 => lists::drawn().prop_map(What::List),
        4 => stocktakes::drawn().prop_map(What::Stocktakes),
        5 => share_outs::drawn().prop_map(What::ShareOuts),
        6 => terms::drawn().prop_map(What::Terms),
        3 => log::drawn().prop_map(What::Log),
    ];
    (who, what, prop::bool::weighted(0.15)).prop_map(|(who, what, twice)| Act { who, what, twice })
}
