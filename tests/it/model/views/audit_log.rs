//! The record: who did what to which thing, when, on the workroom's clock; the newest first.
use super::Seen;
use crate::model::state::{State, Thing};

pub fn table(state: &State) -> Seen {
    let row = |line: &crate::model::state::Line| {
        let at = line.at.to_zoned_datetime(state.zone.clone()).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string();
        let who = line.who.map_or(String::new(), |who| state.people[who].name.clone());
        let what = match line.about {
            Thing::Workroom => "workroom",
            Thing::Person(_) => "person",
            Thing::Frame(_) => "frame",
            Thing::Rod(_) => "rod",
            Thing::Rug(_) => "rug",
            Thing::Loan(_) => "loan",
            Thing::Bundle(_) | Thing::List(_) => "bundle",
            Thing::Stocktake(_) => "stocktake",
            Thing::ShareOut(_) => "share-out",
            Thing::Term(_) => "term",
            Thing::Meeting(_) => "meeting",
        };
        vec![at, who, what.into(), state.id(line.about).into(), line.did.clone()]
    };
    Seen::Csv(state.record.iter().rev().map(row).collect())
}
