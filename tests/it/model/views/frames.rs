//! Frames: their list and table, each one's page, and the page on which it is handed out.
use jiff::ToSpan as _;

use super::{Part, Seen};
use crate::model::house::{Fit, SIZES, TAGS, fit, inches, least_rod, rod_size};
use crate::model::state::{Role, State};
use crate::support::days::{moment, short_day};

/// Where a frame is: the table's word, and what a badge says with the day.
fn place(state: &State, frame: usize) -> (&'static str, String) {
    let it = &state.frames[frame];
    match state.loan_of_frame(frame) {
        Some(loan) if state.overdue(loan) => {
            ("overdue", format!("Overdue since {}", short_day(state.loans[loan].due)))
        }
        Some(loan) => ("out", format!("Out until {}", short_day(state.loans[loan].due))),
        None if it.retired => ("retired", "Retired".into()),
        None if it.condition == "broken" => ("in", "In, broken".into()),
        None => ("in", "In".into()),
    }
}

fn with(state: &State, frame: usize) -> &str {
    state.loan_of_frame(frame).map_or("", |loan| &state.people[state.weaver_of(loan)].name)
}

/// All frames in the order of their tags.
pub fn in_order(state: &State) -> Vec<usize> {
    let mut all: Vec<usize> = (0..state.frames.len()).collect();
    all.sort_by_key(|&n| state.frames[n].tag);
    all
}

pub fn list(state: &State, wanted: &str, me: usize) -> Seen {
    let order = in_order(state);
    let places: Vec<&str> = order.iter().map(|&n| place(state, n).0).collect();
    let count = |word: &str| places.iter().filter(|place| **place == word).count() as i64;
    let (out, late) = (count("out") + count("overdue"), count("overdue"));
    let lead = if late > 0 { vec![count("in"), out, late] } else { vec![count("in"), out] };
    let shown: Vec<usize> = order
        .iter()
        .zip(&places)
        .filter(|(_, place)| match wanted {
            "" => **place != "retired",
            "out" => matches!(**place, "out" | "overdue"),
            word => **place == word,
        })
        .map(|(frame, _)| *frame)
        .collect();
    let row = |&n: &usize| {
        let it = &state.frames[n];
        let (span, width, nails) = SIZES[it.size];
        let size = format!("{} × {}", inches(width), inches(span));
        let place = format!("{} {}", place(state, n).1, with(state, n));
        vec![TAGS[it.tag].into(), size, format!("{nails}, spread evenly"), it.condition.into(), place]
    };
    let mut parts = vec![Part::Rows("main tbody tr", shown.iter().map(row).collect())];
    if !order.is_empty() {
        parts.push(Part::Numbers(".page-head .lead", lead));
    }
    // What an instructor can do with each.
    let act = |&n: &usize| match state.loan_of_frame(n) {
        Some(loan) => Some(format!("/loans/{}/take-back", state.loans[loan].id)),
        None => state.frames[n].usable().then(|| format!("/frames/{}/hand-out", state.frames[n].id)),
    };
    let acts = if state.people[me].role == Role::Instructor {
        shown.iter().filter_map(act).collect()
    } else {
        vec![]
    };
    parts.push(Part::Attrs("main .row-act a", "href", acts));
    Seen::Html(parts)
}

pub fn table(state: &State) -> Seen {
    let row = |n: usize| {
        let it = &state.frames[n];
        let (span, width, nails) = SIZES[it.size];
        let due = state.loan_of_frame(n).map_or(String::new(), |loan| state.loans[loan].due.to_string());
        vec![
            TAGS[it.tag].into(),
            inches(span),
            inches(width),
            nails.to_string(),
            String::new(),
            it.condition.into(),
            place(state, n).0.into(),
            with(state, n).into(),
            due,
            it.note.clone(),
        ]
    };
    Seen::Csv(in_order(state).into_iter().map(row).collect())
}

/// The rugs that wait for a frame, planned before begun, the oldest first.
fn in_line(state: &State) -> Vec<usize> {
    let waits = |&n: &usize| {
        let rug = &state.rugs[n];
        rug.open() && !state.people[rug.weaver].left && state.loan_of_rug(n).is_none()
    };
    let mut line: Vec<usize> = (0..state.rugs.len()).filter(waits).collect();
    line.sort_by_key(|&n| state.rugs[n].state);
    line
}

/// Five planned rugs at most that a frame could go to next, each with its weaver and how it fits.
pub fn next(state: &State, frame: usize) -> Vec<(usize, String)> {
    let size = state.frames[frame].size;
    let fits = |&n: &usize| state.rugs[n].state == "planned" && fit(size, state.rugs[n].size) != Fit::Smaller;
    let said = |n: usize| {
        let rug = &state.rugs[n];
        (n, format!("{} {}, {}", state.people[rug.weaver].name, rug.name, fit(size, rug.size).words()))
    };
    in_line(state).into_iter().filter(fits).take(5).map(said).collect()
}

pub fn one(state: &State, frame: usize, me: usize) -> Seen {
    let it = &state.frames[frame];
    let instructor = state.people[me].role == Role::Instructor;
    let out = state.loan_of_frame(frame);
    let lead = match out {
        Some(_) => format!("{} with {}", place(state, frame).1, with(state, frame)),
        None => place(state, frame).1,
    };
    let next = if it.usable() { next(state, frame) } else { Vec::new() };
    let offered =
        |(rug, _): &(usize, String)| format!("/rugs/{}/hand-out?frame={}", state.rugs[*rug].id, it.id);
    let offers = if instructor && out.is_none() { next.iter().map(offered).collect() } else { vec![] };
    let loans = (0..state.loans.len()).rev().filter(|&n| state.loans[n].frame == frame).map(|n| {
        let loan = &state.loans[n];
        let back = loan.back.as_ref();
        vec![
            state.people[state.weaver_of(n)].name.clone(),
            state.rugs[loan.rug].name.clone(),
            moment(loan.at, &state.zone),
            back.map_or("still out".into(), |back| moment(back.at, &state.zone)),
            back.map_or("–".into(), |back| format!("{}: {}", back.condition, back.note)),
        ]
    });
    let can = |yes: bool| usize::from(yes && instructor);
    Seen::Html(vec![
        Part::Texts(".page-head .lead", vec![lead]),
        Part::Texts("main .acts .act-text", next.iter().map(|(_, said)| said.clone()).collect()),
        Part::Attrs("main .acts a", "href", offers),
        Part::Rows("main tr:has([data-label='Taken back'])", loans.collect()),
        Part::Count(".page-head a[href$='/take-back']", can(out.is_some())),
        Part::Count(".page-head a[href$='/hand-out']", can(out.is_none() && it.usable())),
        Part::Count("main form[action$='/retire']", can(out.is_none() && !it.retired)),
        Part::Count("main form[action$='/restore']", can(it.retired)),
    ])
}

/// The sizes of rod that a page offers for frames, and the one it has chosen: the shortest of which two are in.
pub fn rods(state: &State, frames: &[usize], chosen: Option<usize>) -> Vec<Part> {
    let mut sizes: Vec<usize> = (0..state.rods.len()).collect();
    sizes.sort_by_key(|&n| state.rods[n].length);
    let long = |rod: usize, frame: usize| state.rods[rod].length >= least_rod(state.frames[frame].size);
    let offered =
        sizes.iter().filter(|&&n| state.rods[n].owned > 0 && frames.iter().any(|&frame| long(n, frame)));
    let words =
        offered.clone().map(|&n| format!("{}, {} here", rod_size(state.rods[n].length), state.rods_in(n)));
    let best = chosen.and_then(|frame| sizes.iter().find(|&&n| long(n, frame) && state.rods_in(n) >= 2));
    vec![
        Part::Texts("label:has([name=rod]:not([value=none])) span", words.collect()),
        Part::Attrs(
            "[name=rod][checked]",
            "value",
            vec![best.map_or("none".into(), |&rod| state.rods[rod].id.clone())],
        ),
    ]
}

pub fn due_in_three_weeks(state: &State) -> Part {
    Part::Attrs("[name=due_on]", "value", vec![(state.today() + 3.weeks()).to_string()])
}

pub fn hand_out(state: &State, frame: usize) -> Seen {
    let it = &state.frames[frame];
    let mut line = in_line(state);
    line.sort_by_key(|&n| fit(it.size, state.rugs[n].size));
    let ids: Vec<String> = line.iter().map(|&n| state.rugs[n].id.clone()).collect();
    let barred = state.loan_of_frame(frame).is_some() || !it.usable();
    let mut parts = vec![
        Part::Attrs("[name=rug][checked]", "value", ids.iter().take(1).cloned().collect()),
        Part::Attrs("[name=rug]", "value", ids),
        Part::Texts(
            "label:has([name=rug]) .badge",
            line.iter().map(|&n| fit(it.size, state.rugs[n].size).words().into()).collect(),
        ),
        Part::Count("#errors li", usize::from(barred)),
    ];
    if !line.is_empty() {
        parts.extend(rods(state, &[frame], Some(frame)));
        parts.push(due_in_three_weeks(state));
    }
    Seen::Html(parts)
}
