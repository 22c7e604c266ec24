//! What a bundle holds and promises, and what each act makes of it: the rules, written apart from the program.
use std::collections::{BTreeMap, BTreeSet};

use crate::races::linear::Step;

/// A promise of the bundle, in milligrams.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Promise {
    pub share_out: usize,
    /// What it is for.
    pub part: String,
    pub mg: i64,
    pub stands: bool,
    /// What was pulled for it and is out, and whether the rest of that came back.
    pub pulled: Option<(i64, bool)>,
}

/// A bundle and what of it is promised to one rug, by share-outs that nobody may have accepted yet.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Promised {
    pub balance: i64,
    pub accepted: Vec<bool>,
    pub promises: BTreeMap<String, Promise>,
}

impl Promised {
    fn open(&self) -> impl Iterator<Item = (&String, &Promise)> {
        self.promises.iter().filter(|(_, promise)| promise.stands && promise.pulled.is_none())
    }

    /// Those that were pulled and of which the rest may still come back.
    fn pulled(&self) -> impl Iterator<Item = (&String, &Promise)> {
        let out = |promise: &Promise| promise.stands && matches!(promise.pulled, Some((_, false)));
        self.promises.iter().filter(move |(_, promise)| out(promise))
    }
}

#[derive(Debug)]
pub enum Act {
    Accept(usize),
    Pull(String, i64),
    Back(String, i64),
    Release(String),
    /// Some of the bundle, for nobody in particular, and not what is promised.
    PullRest(i64),
    /// The pull sheet: what is still to be pulled, and what was.
    Look(BTreeSet<String>, BTreeSet<String>),
}

#[derive(Debug)]
pub struct Asked {
    pub act: Act,
    pub did: bool,
}

impl Act {
    fn done(&self, now: &Promised) -> Option<Promised> {
        let mut next = now.clone();
        match self {
            Self::Accept(which) => {
                // All of one rug: what it was promised before and nobody pulled is free again.
                (!now.accepted[*which]).then_some(())?;
                // It was found before any was pulled: what was, for the same part, would be promised a second time.
                let of_it = |part: &str| {
                    now.promises.values().any(|promise| promise.share_out == *which && promise.part == part)
                };
                let out = |promise: &Promise| promise.pulled.is_some_and(|(kept, _)| kept > 0);
                (!now.promises.values().any(|promise| out(promise) && of_it(&promise.part))).then_some(())?;
                // One that was found later and holds isn't replaced unnoticed.
                (!now.open().any(|(_, promise)| promise.share_out > *which)).then_some(())?;
                next.accepted[*which] = true;
                for promise in next.promises.values_mut().filter(|promise| promise.pulled.is_none()) {
                    promise.stands = promise.share_out == *which;
                }
                (next.open().map(|(_, promise)| promise.mg).sum::<i64>() <= next.balance).then_some(())?;
            }
            Self::Pull(id, mg) => {
                let promise = next.promises.get_mut(id)?;
                (promise.stands && promise.pulled.is_none() && *mg <= now.balance).then_some(())?;
                promise.pulled = Some((*mg, false));
                next.balance -= mg;
            }
            Self::Back(id, mg) => {
                let promise = next.promises.get_mut(id)?;
                let (out, back) = promise.pulled.as_mut().filter(|_| promise.stands)?;
                // The rest comes back once, and is no more than was pulled.
                (!*back && *mg <= *out).then_some(())?;
                *back = true;
                *out -= mg;
                next.balance += mg;
            }
            Self::Release(id) => {
                let promise = next.promises.get_mut(id)?;
                (promise.stands && promise.pulled.is_none()).then_some(())?;
                promise.stands = false;
            }
            Self::PullRest(mg) => {
                let promised: i64 = now.open().map(|(_, promise)| promise.mg).sum();
                (*mg <= now.balance - promised).then_some(())?;
                next.balance -= mg;
            }
            Self::Look(open, pulled) => {
                let same = now.open().map(|(id, _)| id).eq(open) && now.pulled().map(|(id, _)| id).eq(pulled);
                return same.then_some(next);
            }
        }
        Some(next)
    }
}

impl Step for Asked {
    type State = Promised;

    fn after(&self, now: &Promised) -> Option<Promised> {
        match (self.act.done(now), self.did) {
            (Some(next), true) => Some(next),
            (None, false) => Some(now.clone()),
            _ => None,
        }
    }
}
