//! Cloth is weighed in, washed, pulled, put back, cut, scrapped and counted; and what was a mistake is undone.
use proptest::prelude::*;

use super::{For, Learn, Pick, Step, pick};
use crate::model::cloth::{
    BASKETS, Bundle, COLOURS, Entry, KINDS, SOURCES, STATES, WEIGHTS, Weighing, pounds,
};
use crate::model::state::{State, Thing};
use crate::model::views::View;

/// What is typed at the scale: a weight of the list or none that can be read, and a basket.
#[derive(Clone, Copy, Debug)]
pub struct Typed {
    weight: Pick,
    basket: Pick,
    unreadable: bool,
}

#[derive(Clone, Debug)]
pub enum What {
    /// Promised cloth all the same?
    Pull(Typed, bool),
    PutBack(Typed),
    Count(Typed),
    /// So much, or all there is.
    Scrap(Option<Typed>),
    /// Whether the rest is scrapped, and promised cloth is cut all the same.
    Cut(Typed, bool, bool),
    Move(Pick, Pick, Option<Typed>),
    Undo(Pick),
}

#[derive(Clone, Debug)]
pub enum Act {
    WeighIn { typed: Typed, colour: Pick, source: Pick, kind: Pick, washed: bool },
    With(Pick, What),
}

pub fn typed() -> impl Strategy<Value = Typed> {
    let basket = prop_oneof![Just(0), any::<Pick>()];
    (any::<Pick>(), basket, prop::bool::weighted(0.05)).prop_map(|(weight, basket, unreadable)| Typed {
        weight,
        basket,
        unreadable,
    })
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let what = prop_oneof![
        4 => (typed(), prop::bool::weighted(0.2)).prop_map(|(typed, all)| What::Pull(typed, all)),
        3 => typed().prop_map(What::PutBack),
        3 => typed().prop_map(What::Count),
        2 => prop::option::of(typed()).prop_map(What::Scrap),
        3 => (typed(), prop::bool::weighted(0.3), prop::bool::weighted(0.2))
            .prop_map(|(typed, rest, all)| What::Cut(typed, rest, all)),
        4 => (any::<Pick>(), any::<Pick>(), prop::option::of(typed()))
            .prop_map(|(from, to, typed)| What::Move(from, to, typed)),
        5 => any::<Pick>().prop_map(What::Undo),
    ];
    let weigh_in = (typed(), any::<Pick>(), any::<Pick>(), any::<Pick>(), prop::bool::weighted(0.7));
    prop_oneof![
        1 => weigh_in.prop_map(|(typed, colour, source, kind, washed)| {
            Act::WeighIn { typed, colour, source, kind, washed }
        }),
        4 => (any::<Pick>(), what).prop_map(|(bundle, what)| Act::With(bundle, what)),
    ]
}

/// A form for a bundle on its way: the step, the fields, and what is wrong so far.
pub struct Form {
    pub fields: Vec<(&'static str, String)>,
    pub wrong: Vec<&'static str>,
}

impl Form {
    pub fn new() -> Self {
        Self { fields: Vec::new(), wrong: Vec::new() }
    }

    /// Types a weight; the cloth must weigh something unless `nothing` may be left.
    pub fn weigh(&mut self, [weight, tare]: [&'static str; 2], typed: Typed, nothing: bool) -> Weighing {
        let basket = usize::from(typed.basket) % BASKETS.len();
        let (text, gross) = WEIGHTS[usize::from(typed.weight) % WEIGHTS.len()];
        let text = if typed.unreadable { "much" } else { text };
        self.fields.extend([(weight, text.to_owned()), (tare, BASKETS[basket].0.to_owned())]);
        let weighing = Weighing { typed: text.to_owned(), gross, basket };
        if typed.unreadable || weighing.net() < 0 || weighing.net() == 0 && !nothing {
            self.wrong.push(weight);
        }
        weighing
    }
}

impl Act {
    pub fn step(&self, state: &mut State, who: Option<usize>) -> Option<Step> {
        match self {
            Self::WeighIn { typed, colour, source, kind, washed } => {
                let colour = pick(*colour, COLOURS.len())?;
                let said = (colour, SOURCES[pick(*source, SOURCES.len())?], KINDS[pick(*kind, KINDS.len())?]);
                Some(weigh_in(state, who, *typed, said, *washed))
            }
            Self::With(bundle, what) => {
                let bundle = pick(*bundle, state.bundles.len())?;
                with(state, who, bundle, what)
            }
        }
    }
}

fn weigh_in(
    state: &mut State,
    who: Option<usize>,
    typed: Typed,
    (colour, source, kind): (usize, &'static str, &'static str),
    washed: bool,
) -> Step {
    let mut form = Form::new();
    let weighing = form.weigh(["weight", "tare"], typed, false);
    let washed_typed = if washed { "yes" } else { "no" };
    let said = [("kind", kind), ("colour", COLOURS[colour].0), ("source", source), ("washed", washed_typed)];
    form.fields.extend(said.map(|(name, value)| (name, value.to_owned())));
    let step = Step { fields: form.fields, ..Step::post("/cloth/weigh-in", &[]) }.keyed();
    let who = match For::Staff.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if !form.wrong.is_empty() {
        return step.wrong(422, &form.wrong);
    }
    let new = state.bundles.len();
    let state_of = if washed { "ready" } else { "arrived" };
    let (tag, change) = (new + 1, weighing.net());
    let bundle = Bundle {
        id: String::new(),
        tag,
        kind,
        colour,
        source,
        state: state_of,
        from: None,
        entries: Vec::new(),
    };
    state.bundles.push(bundle);
    enter(state, who, new, "weighed in", change, Some(weighing));
    let step = step.to("/cloth/weigh-in?done={new}").learns(Learn::Id(Thing::Bundle(new)));
    step.touches([View::Shelf, View::Bundle(new), View::Went, View::Record])
}

/// Adds an entry to a ledger.
pub fn add_entry(
    state: &mut State,
    bundle: usize,
    why: &'static str,
    change: i64,
    weighing: Option<Weighing>,
) {
    let entry = Entry { at: state.now, why, change, weighing, reverses: None, other: None };
    state.bundles[bundle].entries.push(entry);
}

/// The same with its line in the record.
pub fn enter(
    state: &mut State,
    who: usize,
    bundle: usize,
    why: &'static str,
    change: i64,
    weighing: Option<Weighing>,
) {
    add_entry(state, bundle, why, change, weighing);
    state.note(Some(who), Thing::Bundle(bundle), why);
}

fn reverse(state: &mut State, who: usize, bundle: usize, entry: usize) {
    let change = -state.bundles[bundle].entries[entry].change;
    enter(state, who, bundle, "reversal", change, None);
    state.bundles[bundle].entries.last_mut().unwrap().reverses = Some(entry);
}

fn with(state: &mut State, who: Option<usize>, bundle: usize, what: &What) -> Option<Step> {
    let path = format!("/cloth/{}", state.bundles[bundle].id);
    let mut form = Form::new();
    let (mut weighing, mut finds) = (None, None);
    let (to, said, field) = match what {
        What::Pull(typed, all) => {
            if *all {
                form.fields.push(("pull_promised", "yes".into()));
            }
            weighing = Some(form.weigh(["pull_weight", "pull_tare"], *typed, false));
            ("pull", "pulled", "pull_weight")
        }
        What::PutBack(typed) => {
            weighing = Some(form.weigh(["put_back_weight", "put_back_tare"], *typed, false));
            ("put-back", "put-back", "put_back_weight")
        }
        What::Count(typed) => {
            weighing = Some(form.weigh(["count_weight", "count_tare"], *typed, true));
            ("count", "corrected", "count_weight")
        }
        What::Scrap(None) => {
            form.fields.push(("scrap_all", "yes".into()));
            ("scrap", "scrapped", "scrap_weight")
        }
        What::Scrap(Some(typed)) => {
            weighing = Some(form.weigh(["scrap_weight", "scrap_tare"], *typed, false));
            ("scrap", "scrapped", "scrap_weight")
        }
        What::Cut(typed, rest, all) => {
            if *all {
                form.fields.push(("cut_promised", "yes".into()));
            }
            weighing = Some(form.weigh(["cut_weight", "cut_tare"], *typed, false));
            form.fields.push(("cut_width", "1 1/2 in".into()));
            if *rest {
                form.fields.push(("cut_rest", "yes".into()));
            }
            ("cut", "cut", "cut_weight")
        }
        What::Move(from, to, typed) => {
            let [from, to] = [from, to].map(|n| STATES[usize::from(*n) % STATES.len()]);
            form.fields.extend([("from", from.to_owned()), ("to", to.to_owned())]);
            weighing = typed.map(|typed| form.weigh(["state_weight", "state_tare"], typed, false));
            ("state", "state", "state_weight")
        }
        What::Undo(entry) => {
            let offered: Vec<usize> = (0..state.bundles[bundle].entries.len())
                .filter(|n| state.bundles[bundle].may_undo(*n))
                .collect();
            finds = Some(offered[pick(*entry, offered.len())?]);
            ("undo", "undone", "")
        }
    };
    let step = Step { fields: form.fields, ..Step::post(format!("{path}/{to}"), &[]) }.keyed();
    // Which entry is meant stands in the bundle's own page, which weavers don't see.
    // Nor does somebody who has to choose a passphrase of their own first.
    let staff = For::Staff.gate(state, who).is_ok();
    let step = match finds {
        Some(entry) if staff => {
            step.finds("entry", &path, format!("tbody tr:nth-of-type({}) [name=entry]", entry + 1))
        }
        _ => step,
    };
    let who = match For::Staff.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return Some(step.answers(answer)),
    };
    if !form.wrong.is_empty() {
        return Some(step.wrong(422, &form.wrong));
    }
    if let (What::Pull(..) | What::Scrap(_) | What::Cut(..), Some(weighing)) = (what, &mut weighing) {
        as_shown(weighing, state.bundles[bundle].balance());
    }
    let promised = !state.waiting_of(bundle).is_empty();
    let mut touched = touched_by(bundle, promised);
    // What is promised leaves by hand only on purpose.
    if let (What::Pull(_, false) | What::Cut(_, _, false), Some(weighing)) = (what, &weighing)
        && promised
        && is_beyond(weighing.net(), state.free(bundle))
    {
        return Some(step.wrong(422, &[field]));
    }
    let refused = match (what, finds) {
        (What::Cut(_, rest, _), _) => match cut(state, who, bundle, weighing?, *rest) {
            Ok(strips) => {
                touched.push(View::Bundle(strips));
                let step = step.to("/cloth/{new}?said=cut").learns(Learn::Id(Thing::Bundle(strips)));
                return Some(step.touches(touched));
            }
            Err(refused) => Err(refused),
        },
        (_, Some(entry)) => {
            undo(state, who, bundle, entry).map(|other| touched.extend(other.map(View::Bundle)))
        }
        (What::Move(from, to, _), _) => {
            let [from, to] = [from, to].map(|n| STATES[usize::from(*n) % STATES.len()]);
            moved(state, who, bundle, (from, to), weighing)
        }
        _ => weighed(state, who, bundle, said, weighing),
    };
    Some(match refused {
        Ok(()) => step.to(format!("{path}?said={said}")).touches(touched),
        Err(status) => step.wrong(status, &[field]),
    })
}

/// Whether a weight is more than a limit, also as pages show both.
fn is_beyond(weight: i64, most: i64) -> bool {
    weight > most && pounds(weight) != pounds(most)
}

/// What shows what becomes of a bundle.
fn touched_by(bundle: usize, promised: bool) -> Vec<View> {
    let pull_sheet = promised.then_some(View::PullSheet);
    [View::Shelf, View::Bundle(bundle), View::Went, View::Record].into_iter().chain(pull_sheet).collect()
}

/// A weight that pages show as what is there is of all that is there.
fn as_shown(weighing: &mut Weighing, balance: i64) {
    if weighing.net() > balance && !is_beyond(weighing.net(), balance) {
        weighing.gross -= weighing.net() - balance;
    }
}

/// What changes one bundle by what the scale says; nothing is done where a status comes back.
fn weighed(
    state: &mut State,
    who: usize,
    bundle: usize,
    said: &str,
    weighing: Option<Weighing>,
) -> Result<(), u16> {
    let it = &state.bundles[bundle];
    let (balance, ready) = (it.balance(), it.state == "ready");
    let net = weighing.as_ref().map_or(balance, Weighing::net);
    let taken = net > 0 && net <= balance;
    let (why, change) = match said {
        "pulled" if ready && taken => ("pulled", -net),
        "put-back" if ready && net <= it.out() => ("put back", net),
        "scrapped" if taken => ("scrap", -net),
        "corrected" if net != balance => ("count", net - balance),
        _ => return Err(422),
    };
    enter(state, who, bundle, why, change, weighing);
    Ok(())
}

fn cut(state: &mut State, who: usize, bundle: usize, weighing: Weighing, rest: bool) -> Result<usize, u16> {
    let it = &state.bundles[bundle];
    let (net, balance) = (weighing.net(), it.balance());
    if it.from.is_some() || it.state != "ready" || net > balance {
        return Err(422);
    }
    let strips = state.bundles.len();
    let (kind, colour, source) = (it.kind, it.colour, it.source);
    enter(state, who, bundle, "cut", -net, Some(weighing.clone()));
    state.bundles[bundle].entries.last_mut().unwrap().other = Some(strips);
    let (id, tag, from) = (String::new(), strips + 1, Some(bundle));
    state.bundles.push(Bundle { id, tag, kind, colour, source, state: "ready", from, entries: Vec::new() });
    enter(state, who, strips, "cut", net, Some(weighing));
    state.bundles[strips].entries[0].other = Some(bundle);
    if rest && net < balance {
        enter(state, who, bundle, "scrap", net - balance, None);
    }
    Ok(strips)
}

fn moved(
    state: &mut State,
    who: usize,
    bundle: usize,
    (from, to): (&'static str, &'static str),
    weighing: Option<Weighing>,
) -> Result<(), u16> {
    let it = &state.bundles[bundle];
    if it.state != from || from == to {
        return Err(409);
    }
    if from == "ready" && it.used() {
        return Err(422);
    }
    let change = weighing.as_ref().map_or(0, |weighing| weighing.net() - it.balance());
    state.bundles[bundle].state = to;
    if change != 0 {
        enter(state, who, bundle, "wash", change, weighing);
    }
    state.note(Some(who), Thing::Bundle(bundle), "state");
    Ok(())
}

/// Undoes an entry, a cut on both sides; the bundle on the other side, if there is one.
fn undo(state: &mut State, who: usize, bundle: usize, entry: usize) -> Result<Option<usize>, u16> {
    let it = &state.bundles[bundle];
    let (why, change, other) = (it.entries[entry].why, it.entries[entry].change, it.entries[entry].other);
    if let Some(other) = other {
        // From whichever side: first the bundle, then its strips, which must all be there.
        let (from, strips) = if change < 0 { (bundle, other) } else { (other, bundle) };
        let here =
            |state: &State| state.bundles[from].entries.iter().position(|one| one.other == Some(strips));
        let (Some(left), came) = (here(state), &state.bundles[strips]) else { return Err(409) };
        if came.balance() < came.entries[0].change {
            return Err(422);
        }
        reverse(state, who, from, left);
        reverse(state, who, strips, 0);
        return Ok(Some(other));
    }
    match why {
        "pulled" if it.out() + change < 0 => return Err(422),
        "put back" if it.state != "ready" => return Err(422),
        _ => {}
    }
    reverse(state, who, bundle, entry);
    Ok(None)
}
