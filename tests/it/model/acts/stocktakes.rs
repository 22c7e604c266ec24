//! The shelf is counted: begun, counted by whoever comes, counted again, closed with a reason for each difference; and what
//! the scale may be off by is set.
use proptest::prelude::*;

use super::cloth::{Form, Typed, enter, typed};
use super::{For, Learn, Pick, Step, pick};
use crate::model::cloth::{COLOURS, KINDS};
use crate::model::state::{State, Thing};
use crate::model::stocktakes::{Counted, Stocktake};
use crate::model::views::View;

/// What a scale may be off by, as it is typed, and in milligrams.
const DOUBTS: [(&str, i64); 4] = [("0.5 oz", 14_175), ("0 g", 0), ("60 g", 60_000), ("240 g", 240_000)];
const REASONS: [&str; 5] = ["wrong", "taken", "dried", "mixed", "gone"];

#[derive(Clone, Debug)]
pub enum Act {
    /// For all, a kind, a colour, or both; one kind in ten is unknown.
    Begin {
        kind: Pick,
        family: Pick,
    },
    /// A bundle of its list, or any; nothing is typed where it wasn't found.
    Count {
        stocktake: Pick,
        bundle: Pick,
        any: bool,
        typed: Option<Typed>,
    },
    /// Whether a reason is missing.
    Close {
        stocktake: Pick,
        missing: bool,
    },
    Doubt(Pick),
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let two = || (any::<Pick>(), any::<Pick>());
    let count = (two(), prop::bool::weighted(0.1), prop::option::weighted(0.85, typed()));
    prop_oneof![
        3 => two().prop_map(|(kind, family)| Act::Begin { kind, family }),
        16 => count.prop_map(|((stocktake, bundle), any, typed)| Act::Count { stocktake, bundle, any, typed }),
        4 => (any::<Pick>(), prop::bool::weighted(0.2))
            .prop_map(|(stocktake, missing)| Act::Close { stocktake, missing }),
        1 => any::<Pick>().prop_map(Act::Doubt),
    ]
}

impl Act {
    pub fn wants(&self) -> For {
        if matches!(self, Self::Doubt(_)) { For::Instructor } else { For::Staff }
    }

    pub fn step(&self, state: &mut State, who: Option<usize>) -> Option<Step> {
        match *self {
            Self::Begin { kind, family } => Some(begin(state, who, kind, family)),
            Self::Count { stocktake, bundle, any, typed } => {
                let stocktake = one_of(state, stocktake)?;
                let listed = state.listed(stocktake);
                let bundle = match pick(bundle, listed.len()) {
                    Some(at) if !any => listed[at],
                    _ => pick(bundle, state.bundles.len())?,
                };
                Some(count(state, who, (stocktake, bundle), typed))
            }
            Self::Close { stocktake, missing } => {
                let stocktake = one_of(state, stocktake)?;
                Some(close(state, who, stocktake, missing))
            }
            Self::Doubt(doubt) => Some(doubted(state, who, DOUBTS[usize::from(doubt) % DOUBTS.len()])),
        }
    }
}

/// Any stocktake, but three times in four an open one if there is one.
fn one_of(state: &State, which: Pick) -> Option<usize> {
    let open: Vec<usize> = (0..state.stocktakes.len()).filter(|&n| !state.stocktakes[n].closed).collect();
    match pick(which / 4, open.len()) {
        Some(at) if !which.is_multiple_of(4) => Some(open[at]),
        _ => pick(which, state.stocktakes.len()),
    }
}

fn begin(state: &mut State, who: Option<usize>, kind: Pick, family: Pick) -> Step {
    let unknown = kind % 10 == 9;
    // Half of them are for all kinds, and for all colours.
    let kind = KINDS.get(usize::from(kind) % 4).copied();
    let family = COLOURS.get(usize::from(family) % 6).map(|colour| colour.3);
    let typed = if unknown { "silk" } else { kind.unwrap_or_default() };
    let step = Step::post("/cloth/count", &[("kind", typed), ("family", family.unwrap_or_default())]).keyed();
    let who = match For::Staff.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if unknown {
        return step.wrong(422, &["kind"]);
    }
    let new = state.stocktakes.len();
    let (id, lines) = (String::new(), Vec::new());
    state.stocktakes.push(Stocktake { id, by: who, begun: state.now, kind, family, closed: false, lines });
    state.note(Some(who), Thing::Stocktake(new), "begun");
    let step = step.to("/cloth/count/{new}").learns(Learn::Id(Thing::Stocktake(new)));
    step.touches([View::Stocktakes, View::Stocktake(new), View::Closing(new), View::Record])
}

fn count(
    state: &mut State,
    who: Option<usize>,
    (stocktake, bundle): (usize, usize),
    typed: Option<Typed>,
) -> Step {
    let path = format!("/cloth/count/{}", state.stocktakes[stocktake].id);
    let mut form = Form::new();
    form.fields.push(("bundle", state.bundles[bundle].id.clone()));
    form.fields.push(("found", if typed.is_some() { "yes" } else { "no" }.into()));
    let weighing = typed.map(|typed| form.weigh(["weight", "tare"], typed, true));
    let step = Step { fields: form.fields, ..Step::post(format!("{path}/line"), &[]) };
    let who = match For::Staff.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let (closed, covered) = (state.stocktakes[stocktake].closed, state.covers(stocktake, bundle));
    if !form.wrong.is_empty() {
        // Where nothing is on the scale there is no form that could complain.
        let asked = !closed && state.listed(stocktake).contains(&bundle);
        return if asked { step.wrong(422, &form.wrong) } else { step.no(422) };
    }
    if closed || !covered {
        return step.no(409);
    }
    let balance = state.bundles[bundle].balance();
    let lines = &mut state.stocktakes[stocktake].lines;
    lines.retain(|line| line.bundle != bundle);
    lines.push(Counted { bundle, by: who, weighing, balance });
    step.to(format!("{path}?said=line")).touches([
        View::Stocktakes,
        View::Stocktake(stocktake),
        View::Closing(stocktake),
    ])
}

fn close(state: &mut State, who: Option<usize>, stocktake: usize, missing: bool) -> Step {
    let path = format!("/cloth/count/{}/close", state.stocktakes[stocktake].id);
    let differing: Vec<(usize, i64, Option<_>)> = state
        .differing(stocktake)
        .into_iter()
        .map(|line| (line.bundle, line.difference(), line.weighing.clone()))
        .collect();
    let field = |bundle: usize| format!("reason-{}", state.bundles[bundle].tag);
    let given = differing.iter().skip(usize::from(missing)).zip(REASONS.iter().cycle());
    let more = given.map(|((bundle, ..), reason)| (field(*bundle), (*reason).to_owned())).collect();
    let lacks = differing.first().filter(|_| missing).map(|(bundle, ..)| field(*bundle));
    let step = Step { more, ..Step::post(path, &[]) }.keyed();
    let who = match For::Staff.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if let Some(lacks) = lacks {
        return step.wrong(422, &[&lacks]);
    }
    if state.stocktakes[stocktake].closed {
        return step.no(409);
    }
    state.stocktakes[stocktake].closed = true;
    let mut touched = vec![View::Shelf, View::Went, View::PullSheet];
    for (bundle, difference, weighing) in differing {
        // By now less may be there than was missed then: more than all can't go.
        let change = difference.max(-state.bundles[bundle].balance());
        if change != 0 {
            enter(state, who, bundle, "count", change, weighing);
        }
        touched.push(View::Bundle(bundle));
    }
    state.note(Some(who), Thing::Stocktake(stocktake), "closed");
    touched.extend([View::Stocktakes, View::Stocktake(stocktake), View::Closing(stocktake), View::Record]);
    step.to("/cloth/count?said=closed").touches(touched)
}

fn doubted(state: &mut State, who: Option<usize>, (typed, doubt): (&'static str, i64)) -> Step {
    let zone = state.zone.iana_name().unwrap_or_default().to_owned();
    let fields = [
        ("workroom", "Saltern Row"),
        ("time_zone", zone.as_str()),
        ("units", "inches"),
        ("scale", typed),
        ("tape", "1/4 in"),
        ("revision", &state.settings.to_string()),
    ];
    let step = Step::post("/workroom", &fields);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    state.doubt = doubt;
    state.settings += 1;
    state.note(Some(who), Thing::Workroom, "changed");
    let open = (0..state.stocktakes.len()).filter(|&n| !state.stocktakes[n].closed).map(View::Closing);
    step.to("/workroom?said=saved").touches(open.chain([View::Record]))
}
