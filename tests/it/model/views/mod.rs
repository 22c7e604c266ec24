//! What can be seen: each page, table and feed as the model says it is for the person who looks.
//!
//! [`View::seen`] says it, [`compare`] holds a page against it. Texts are compared where they carry a value; prose around
//! them is not.
mod audit_log;
mod cloth;
mod doors;
mod feeds;
mod frames;
mod loans;
mod page;
mod people;
mod promises;
mod rods;
mod rugs;
mod stocktakes;
mod terms;

pub use page::compare;
pub use terms::in_order as meetings_in_order;

use super::acts::For;
use super::state::State;

/// A page, a table, a feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Where the first page leads: who is signed in.
    Doors,
    People,
    Person(usize),
    /// The list of frames by where they are: "" for all in use.
    Frames(&'static str),
    FramesCsv,
    Frame(usize),
    HandOutFrame(usize),
    HandOutRug(usize),
    Rods,
    Rod(usize),
    Rugs,
    Rug(usize),
    My,
    Loans,
    LoansCsv,
    Loan(usize),
    /// The shelf as a table.
    Shelf,
    Bundle(usize),
    Went,
    Stocktakes,
    Stocktake(usize),
    /// What differs, where a stocktake is closed.
    Closing(usize),
    /// Where a share-out begins.
    ShareOuts,
    ShareOut(usize),
    PullSheet,
    Promise(usize),
    Terms,
    Term(usize),
    Feed(usize),
    Record,
}

/// A piece of a page, as it must be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Part {
    /// The texts of all that a selector finds.
    Texts(&'static str, Vec<String>),
    /// The texts of the cells of each row that a selector finds.
    Rows(&'static str, Vec<Vec<String>>),
    /// The texts of what the second finds in each that the first finds.
    Cells(&'static str, &'static str, Vec<Vec<String>>),
    /// An attribute of all that a selector finds.
    Attrs(&'static str, &'static str, Vec<String>),
    /// How many a selector finds.
    Count(&'static str, usize),
    /// The whole numbers in the text of the first that a selector finds.
    Numbers(&'static str, Vec<i64>),
}

/// What somebody sees.
#[derive(Clone, Debug)]
pub enum Seen {
    /// Led elsewhere.
    To(String),
    /// Refused.
    No(u16),
    Html(Vec<Part>),
    /// A table: its rows below the head.
    Csv(Vec<Vec<String>>),
    /// A calendar: its events, sorted.
    Feed(Vec<Vec<String>>),
}

impl View {
    pub fn path(self, state: &State) -> String {
        match self {
            Self::Doors => "/".into(),
            Self::People => "/people".into(),
            Self::Person(n) => format!("/people/{}", state.people[n].id),
            Self::Frames("") => "/frames".into(),
            Self::Frames(place) => format!("/frames?place={place}"),
            Self::FramesCsv => "/frames.csv".into(),
            Self::Frame(n) => format!("/frames/{}", state.frames[n].id),
            Self::HandOutFrame(n) => format!("/frames/{}/hand-out", state.frames[n].id),
            Self::HandOutRug(n) => format!("/rugs/{}/hand-out", state.rugs[n].id),
            Self::Rods => "/rods".into(),
            Self::Rod(n) => format!("/rods/{}", state.rods[n].id),
            Self::Rugs => "/rugs".into(),
            Self::Rug(n) => format!("/rugs/{}", state.rugs[n].id),
            Self::My => "/my".into(),
            Self::Loans => "/loans".into(),
            Self::LoansCsv => "/loans.csv".into(),
            Self::Loan(n) => format!("/loans/{}", state.loans[n].id),
            Self::Shelf => "/cloth.csv?empty=yes".into(),
            Self::Bundle(n) => format!("/cloth/{}", state.bundles[n].id),
            Self::Went => "/cloth/went.csv".into(),
            Self::Stocktakes => "/cloth/count".into(),
            Self::Stocktake(n) => format!("/cloth/count/{}", state.stocktakes[n].id),
            Self::Closing(n) => format!("/cloth/count/{}/close", state.stocktakes[n].id),
            Self::ShareOuts => "/share-out".into(),
            Self::ShareOut(n) => format!("/share-out/{}", state.share_outs[n].id),
            Self::PullSheet => "/pull".into(),
            Self::Promise(n) => format!("/promises/{}", state.promises[n].id),
            Self::Terms => "/terms".into(),
            Self::Term(n) => format!("/terms/{}", state.terms[n].id),
            Self::Feed(n) => state.feeds[n].path.clone(),
            Self::Record => "/record.csv".into(),
        }
    }

    fn whose(self) -> For {
        match self {
            Self::People
            | Self::Person(_)
            | Self::HandOutFrame(_)
            | Self::HandOutRug(_)
            | Self::Record
            | Self::ShareOuts
            | Self::ShareOut(_)
            | Self::Terms
            | Self::Term(_) => For::Instructor,
            Self::My | Self::Rug(_) | Self::Loan(_) => For::SignedIn,
            _ => For::Staff,
        }
    }

    /// What somebody who is signed in, or nobody, sees there.
    pub fn seen(self, state: &State, who: Option<usize>) -> Seen {
        if self == Self::Doors {
            return doors::first_page(state, who);
        }
        // Anyone who has a calendar's address may read it.
        if let Self::Feed(n) = self {
            return feeds::feed(state, n);
        }
        let Some(me) = who else {
            let query =
                form_urlencoded::Serializer::new(String::new()).append_pair("to", &self.path(state)).finish();
            return Seen::To(format!("/sign-in?{query}"));
        };
        if !self.whose().admits(state.people[me].role) {
            return Seen::No(403);
        }
        if state.people[me].given {
            return Seen::To("/me/passphrase".into());
        }
        match self {
            Self::Doors | Self::Feed(_) => unreachable!("answered above"),
            Self::People => people::list(state),
            Self::Person(n) => people::one(state, n, me),
            Self::Frames(place) => frames::list(state, place, me),
            Self::FramesCsv => frames::table(state),
            Self::Frame(n) => frames::one(state, n, me),
            Self::HandOutFrame(n) => frames::hand_out(state, n),
            Self::HandOutRug(n) => rugs::hand_out(state, n),
            Self::Rods => rods::list(state),
            Self::Rod(n) => rods::one(state, n),
            Self::Rugs => rugs::list(state),
            Self::Rug(n) => rugs::one(state, n, me),
            Self::My => rugs::mine(state, me),
            Self::Loans => loans::list(state, me),
            Self::LoansCsv => loans::table(state),
            Self::Loan(n) => loans::one(state, n, me),
            Self::Shelf => cloth::shelf(state),
            Self::Bundle(n) => cloth::one(state, n),
            Self::Went => cloth::went(state),
            Self::Stocktakes => stocktakes::list(state),
            Self::Stocktake(n) => stocktakes::one(state, n),
            Self::Closing(n) => stocktakes::closing(state, n),
            Self::ShareOuts => promises::start(state),
            Self::ShareOut(n) => promises::share_out(state, n),
            Self::PullSheet => promises::sheet(state),
            Self::Promise(n) => promises::one(state, n, me),
            Self::Terms => terms::list(state),
            Self::Term(n) => terms::one(state, n),
            Self::Record => audit_log::table(state),
        }
    }

    /// Every view there is just now.
    pub fn all(state: &State) -> Vec<Self> {
        let mut all = vec![Self::Doors, Self::People, Self::FramesCsv, Self::Rods, Self::Rugs, Self::My];
        all.extend([Self::Loans, Self::LoansCsv, Self::Shelf, Self::Went, Self::Record]);
        all.extend(["", "in", "out", "overdue", "retired"].map(Self::Frames));
        all.extend((0..state.people.len()).map(Self::Person));
        all.extend((0..state.frames.len()).flat_map(|n| [Self::Frame(n), Self::HandOutFrame(n)]));
        all.extend((0..state.rods.len()).map(Self::Rod));
        all.extend((0..state.rugs.len()).flat_map(|n| [Self::Rug(n), Self::HandOutRug(n)]));
        all.extend((0..state.loans.len()).map(Self::Loan));
        all.extend((0..state.bundles.len()).map(Self::Bundle));
        all.extend([Self::Stocktakes, Self::ShareOuts, Self::PullSheet]);
        all.extend((0..state.stocktakes.len()).flat_map(|n| [Self::Stocktake(n), Self::Closing(n)]));
        all.extend((0..state.share_outs.len()).map(Self::ShareOut));
        all.extend((0..state.promises.len()).map(Self::Promise));
        all.push(Self::Terms);
        all.extend((0..state.terms.len()).map(Self::Term));
        all.extend((0..state.feeds.len()).map(Self::Feed));
        all
    }
}
