//! Rugs: the class's, one's own, and the page on which a frame is found for one.
use super::frames::{due_in_three_weeks, in_order, rods};
use super::{Part, Seen};
use crate::model::house::{CONDITIONS, Fit, SIZES, TAGS, fit};
use crate::model::state::{Role, State};
use crate::support::days::moment;

pub fn list(state: &State) -> Seen {
    // The newest first.
    let all = (0..state.rugs.len()).rev();
    let column = |label: &'static str, texts: Vec<String>| Part::Texts(label, texts);
    let rug = |n: usize| &state.rugs[n];
    let frame = |n: usize| match state.loan_of_rug(n) {
        Some(loan) => TAGS[state.frames[state.loans[loan].frame].tag].to_owned(),
        None if rug(n).state == "planned" => "none yet".into(),
        None => "–".into(),
    };
    Seen::Html(vec![
        column("main tbody th", all.clone().map(|n| rug(n).name.clone()).collect()),
        column(
            "main td[data-label=Weaver]",
            all.clone().map(|n| state.people[rug(n).weaver].name.clone()).collect(),
        ),
        column("main td[data-label='How far']", all.clone().map(|n| rug(n).state.to_owned()).collect()),
        column("main td[data-label=Frame]", all.map(frame).collect()),
    ])
}

/// One's own rugs; a weaver with a single one has come for that.
pub fn mine(state: &State, me: usize) -> Seen {
    let own: Vec<usize> = (0..state.rugs.len()).rev().filter(|&n| state.rugs[n].weaver == me).collect();
    if let [one] = own.as_slice() {
        return Seen::To(format!("/rugs/{}", state.rugs[*one].id));
    }
    let names = own.iter().map(|&n| state.rugs[n].name.clone()).collect();
    Seen::Html(vec![Part::Texts("main .acts strong a", names)])
}

/// A rug's page, to its weaver and the staff: where it is by its log, and the log itself.
pub fn one(state: &State, rug: usize, me: usize) -> Seen {
    let it = &state.rugs[rug];
    if state.people[me].role == Role::Weaver && it.weaver != me {
        return Seen::No(404);
    }
    let mut parts = vec![Part::Texts("h1", vec![it.name.clone()]), super::promises::to_rug(state, rug)];
    let log: Vec<usize> = (0..state.log.len()).rev().filter(|&n| state.log[n].rug == rug).collect();
    if !it.open() || log.is_empty() {
        return Seen::Html(parts);
    }
    let row = |&n: &usize| {
        let entry = &state.log[n];
        let said = match entry.undoes {
            Some(_) => "an entry undone".to_owned(),
            None if state.undone(n) => format!("{} rows (undone)", entry.rows),
            None => format!("{} rows", entry.rows),
        };
        vec![moment(entry.at, &state.zone), state.people[entry.who].name.clone(), said]
    };
    parts.push(Part::Rows("#standing details tr:has(td)", log.iter().map(row).collect()));
    let counts = |n: &&usize| state.log[**n].undoes.is_none() && !state.undone(**n);
    let undo = log.iter().filter(counts).map(|&n| state.log[n].id.clone()).collect();
    parts.push(Part::Attrs("#standing [name=entry]", "value", undo));
    // What was said last holds, were it less than before.
    if let Some(&last) = log.iter().find(counts) {
        parts.push(Part::Attrs("#standing progress", "value", vec![state.log[last].rows.to_string()]));
    }
    Seen::Html(parts)
}

pub fn hand_out(state: &State, rug: usize) -> Seen {
    let it = &state.rugs[rug];
    let fits = |n: usize| fit(state.frames[n].size, it.size);
    let mut usable: Vec<usize> = in_order(state).into_iter().filter(|&n| state.frames[n].usable()).collect();
    usable.sort_by_key(|&n| {
        let frame = &state.frames[n];
        let (a, b) = (SIZES[frame.size], SIZES[it.size]);
        let apart = (a.0 - b.0).abs() + (a.1 - b.1).abs();
        let worn = CONDITIONS.iter().position(|how| *how == frame.condition);
        (fits(n), worn, if fits(n) == Fit::AsPlanned { 0 } else { apart })
    });
    let (away, inside): (Vec<usize>, Vec<usize>) =
        usable.iter().copied().partition(|&n| state.loan_of_frame(n).is_some());
    let mut away: Vec<(usize, usize)> =
        away.into_iter().filter_map(|n| state.loan_of_frame(n).map(|loan| (n, loan))).collect();
    away.sort_by_key(|(_, loan)| state.loans[*loan].due);
    let away = away.into_iter().filter(|(n, _)| fits(*n) != Fit::Smaller).take(5);
    let ids: Vec<String> = inside.iter().map(|&n| state.frames[n].id.clone()).collect();
    let barred = state.loan_of_rug(rug).is_some() || !it.open();
    let mut parts = vec![
        Part::Attrs("[name=frame][checked]", "value", ids.iter().take(1).cloned().collect()),
        Part::Attrs("[name=frame]", "value", ids),
        Part::Texts("main .acts strong", away.map(|(n, _)| TAGS[state.frames[n].tag].to_owned()).collect()),
        Part::Count("#errors li", usize::from(barred)),
    ];
    if !inside.is_empty() {
        parts.extend(rods(state, &usable, inside.first().copied()));
        parts.push(due_in_three_weeks(state));
    }
    Seen::Html(parts)
}
