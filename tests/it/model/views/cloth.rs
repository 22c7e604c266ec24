//! Cloth: the shelf's table, a bundle's ledger, and where it all went.
use super::{Part, Seen};
use crate::model::cloth::{BASKETS, COLOURS, Entry, Sums, grams, pounds};
use crate::model::state::State;

/// The shelf as a table, empty bundles too, the newest first.
pub fn shelf(state: &State) -> Seen {
    let row = |bundle: &crate::model::cloth::Bundle| {
        let (_, name, hex, family) = COLOURS[bundle.colour];
        let (balance, first) = (grams(bundle.balance()), grams(bundle.entries[0].change));
        let tag = bundle.tag.to_string();
        [&tag, bundle.kind, name, hex, family, bundle.state, &balance, &first].map(str::to_owned).to_vec()
    };
    Seen::Csv(state.bundles.iter().rev().map(row).collect())
}

/// A bundle's ledger: each change, what was typed for it and what is left after it; and what may be undone.
pub fn one(state: &State, bundle: usize) -> Seen {
    let it = &state.bundles[bundle];
    let (mut left, mut after) = (0, Vec::new());
    for entry in &it.entries {
        left += entry.change;
        after.push(pounds(left));
    }
    let change = |entry: &Entry| {
        let sign = if entry.change > 0 { "+" } else { "" };
        format!("{sign}{}", pounds(entry.change))
    };
    let typed = |entry: &Entry| match &entry.weighing {
        Some(weighing) if weighing.basket > 0 => {
            Some(format!("{}, basket {}", weighing.typed, BASKETS[weighing.basket].0))
        }
        Some(weighing) => Some(weighing.typed.clone()),
        None if entry.why == "scrap" => Some("all that was left".into()),
        None => None,
    };
    let offered = (0..it.entries.len()).filter(|n| it.may_undo(*n)).count();
    // What is promised is shown where cloth can be pulled.
    let mut waiting = state.waiting_of(bundle);
    waiting.retain(|_| it.state == "ready" && it.balance() > 0);
    let free = waiting.first().map(|_| pounds(state.free(bundle)));
    let promised = waiting.iter().map(|&n| pounds(state.promises[n].mg)).collect();
    Seen::Html(vec![
        Part::Texts("form .caution strong", free.into_iter().collect()),
        Part::Texts("form .caution li a", promised),
        Part::Texts("td[data-label=Left]", after),
        Part::Texts("td[data-label=Change] > span.nowrap", it.entries.iter().map(change).collect()),
        Part::Texts(
            "td[data-label=Change] > small:not(.nowrap)",
            it.entries.iter().filter_map(typed).collect(),
        ),
        Part::Count("[name=entry]", offered),
    ])
}

/// Where the cloth went: in all, by source, and as far as no term had it.
pub fn went(state: &State) -> Seen {
    let mut flows: Vec<_> = state
        .bundles
        .iter()
        .flat_map(|bundle| bundle.entries.iter().map(move |entry| (bundle, entry)))
        .collect();
    flows.sort_by_key(|(_, entry)| entry.at);
    let (mut all, mut outside) = (Sums::default(), Sums::default());
    let mut terms: Vec<(usize, Sums)> = by_age(state).into_iter().map(|n| (n, Sums::default())).collect();
    let mut sources: Vec<(&str, Sums)> = Vec::new();
    for (bundle, entry) in flows {
        all.add(bundle, entry);
        let name = if bundle.source.is_empty() { "not said" } else { bundle.source };
        if !sources.iter().any(|(known, _)| *known == name) {
            sources.push((name, Sums::default()));
        }
        let sums = sources.iter_mut().find(|(known, _)| *known == name);
        sums.unwrap().1.add(bundle, entry);
        let day = entry.at.to_zoned_datetime(state.zone.clone()).date();
        match terms.iter_mut().find(|(term, _)| days(state, *term).is_some_and(|days| days.contains(&day))) {
            Some((_, sums)) => sums.add(bundle, entry),
            None => outside.add(bundle, entry),
        }
    }
    sources.sort_by_key(|(name, sums)| (*name == "not said", -sums.0[0]));
    let row = |by: &str, name: &str, sums: &Sums| {
        let weights = sums.0.iter().copied().chain([sums.left()]).map(grams);
        [by.to_owned(), name.to_owned()].into_iter().chain(weights).collect::<Vec<_>>()
    };
    let mut rows = vec![row("all", "all", &all)];
    rows.extend(sources.iter().map(|(name, sums)| row("source", name, sums)));
    let had = terms.iter().filter(|(_, sums)| *sums != Sums::default());
    rows.extend(had.map(|(term, sums)| row("term", &state.terms[*term].name, sums)));
    if outside != Sums::default() {
        rows.push(row("term", "outside the terms", &outside));
    }
    Seen::Csv(rows)
}

/// The terms that run before those that are closed, the latest first.
fn by_age(state: &State) -> Vec<usize> {
    let mut order: Vec<usize> = (0..state.terms.len()).rev().collect();
    order.sort_by_key(|&term| state.terms[term].closed);
    order
}

/// From a term's first meeting that takes place to its last.
fn days(state: &State, term: usize) -> Option<std::ops::RangeInclusive<jiff::civil::Date>> {
    let held = || state.meetings.iter().filter(|meeting| meeting.term == term && !meeting.off);
    Some(held().map(|meeting| meeting.day).min()?..=held().map(|meeting| meeting.day).max()?)
}
