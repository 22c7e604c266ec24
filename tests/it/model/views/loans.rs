//! Loans: what is out and what came back, as list and table, and each one's page.
use jiff::Timestamp;

use super::{Part, Seen, frames};
use crate::model::house::{TAGS, rod_size};
use crate::model::state::{Role, State};
use crate::support::days::{long_day, moment, short_day};

fn rods(state: &State, loan: usize) -> String {
    state.loans[loan]
        .rods
        .map_or("none".into(), |(rod, count)| format!("{count} of {}", rod_size(state.rods[rod].length)))
}

/// What happened to the rods of a loan that is over.
fn rods_back(state: &State, loan: usize) -> String {
    let it = &state.loans[loan];
    let (bent, missing) = it.back.as_ref().map_or((0, 0), |back| (back.bent, back.missing));
    match (bent, missing) {
        (0, 0) if it.rods.is_none() => "none went".into(),
        (0, 0) => "all straight".into(),
        (bent, 0) => format!("{bent} bent"),
        (0, missing) => format!("{missing} missing"),
        (bent, missing) => format!("{bent} bent, {missing} missing"),
    }
}

/// What is out, the soonest due first, and then what came back, the newest first.
pub fn in_order(state: &State) -> (Vec<usize>, Vec<usize>) {
    let (mut out, mut back): (Vec<usize>, Vec<usize>) =
        (0..state.loans.len()).partition(|&n| state.loans[n].back.is_none());
    // Tags as they are written, not as they are counted.
    out.sort_by_key(|&n| (state.loans[n].due, TAGS[state.frames[state.loans[n].frame].tag]));
    back.reverse();
    (out, back)
}

fn names(state: &State, loan: usize) -> [String; 3] {
    let it = &state.loans[loan];
    [
        TAGS[state.frames[it.frame].tag].into(),
        state.people[state.weaver_of(loan)].name.clone(),
        state.rugs[it.rug].name.clone(),
    ]
}

pub fn list(state: &State, me: usize) -> Seen {
    let (out, back) = in_order(state);
    let late = out.iter().filter(|&&n| state.overdue(n)).count() as i64;
    let lead = match (out.len() as i64, late) {
        (0, _) => vec![],
        (out, 0) => vec![out],
        (out, late) => vec![out, late],
    };
    let out_row = |&n: &usize| {
        let late = if state.overdue(n) { "Overdue " } else { "" };
        let due = format!("{late}{}", short_day(state.loans[n].due));
        names(state, n).into_iter().chain([rods(state, n), due]).collect()
    };
    let back_row = |&n: &usize| {
        let [tag, weaver, _] = names(state, n);
        let it = &state.loans[n];
        let (at, condition) = it.back.as_ref().map_or((it.at, ""), |back| (back.at, back.condition));
        let moments = [moment(it.at, &state.zone), moment(at, &state.zone)];
        [tag, weaver].into_iter().chain(moments).chain([condition.into(), rods_back(state, n)]).collect()
    };
    let acts = out.iter().map(|&n| format!("/loans/{}/take-back", state.loans[n].id));
    let instructor = state.people[me].role == Role::Instructor;
    let rows = out.iter().map(out_row).chain(back.iter().map(back_row)).collect();
    Seen::Html(vec![
        Part::Numbers(".page-head .lead", lead),
        Part::Rows("main tbody tr", rows),
        Part::Attrs("main .row-act a", "href", acts.filter(|_| instructor).collect()),
    ])
}

pub fn table(state: &State) -> Seen {
    let (out, back) = in_order(state);
    let at = |at: Timestamp| at.to_zoned_datetime(state.zone.clone()).strftime("%Y-%m-%dT%H:%M").to_string();
    let row = |&n: &usize| {
        let it = &state.loans[n];
        let back = it.back.as_ref();
        let ends = [
            at(it.at),
            state.people[it.by].name.clone(),
            it.due.to_string(),
            rods(state, n),
            back.map_or(String::new(), |back| at(back.at)),
            back.map_or(String::new(), |back| state.people[back.by].name.clone()),
            back.map_or(it.condition_out, |back| back.condition).into(),
            back.map_or(0, |back| back.bent).to_string(),
            back.map_or(0, |back| back.missing).to_string(),
            back.map_or(String::new(), |back| back.note.clone()),
        ];
        names(state, n).into_iter().chain(ends).collect()
    };
    Seen::Csv(out.iter().chain(&back).map(row).collect())
}

pub fn one(state: &State, loan: usize, me: usize) -> Seen {
    let (it, role) = (&state.loans[loan], state.people[me].role);
    if role == Role::Weaver && state.weaver_of(loan) != me {
        return Seen::No(404);
    }
    let (back, instructor) = (it.back.is_some(), role == Role::Instructor);
    // Who could have the frame next, once it is back and while it is in.
    let frame = &state.frames[it.frame];
    let free = back && frame.usable() && state.loan_of_frame(it.frame).is_none() && role != Role::Weaver;
    let next = if free { frames::next(state, it.frame) } else { Vec::new() };
    let day = long_day(it.due);
    let mut parts = vec![
        Part::Texts("main .acts .act-text", next.into_iter().map(|(_, said)| said).collect()),
        Part::Count(".page-head .badge", usize::from(state.overdue(loan))),
        Part::Count(".page-head a[href$='/take-back']", usize::from(instructor && !back)),
        Part::Count("main form[action$='/due']", usize::from(instructor && !back)),
        Part::Count("main a[href^='/frames/']", usize::from(role != Role::Weaver)),
    ];
    parts.push(slip(state, loan));
    if let Some(back) = &it.back {
        let facts = [back.condition.to_owned(), rods_back(state, loan), back.note.clone()];
        let by = state.people[back.by].name.clone();
        parts.push(Part::Texts("main .sheet.no-print .facts dd", facts.into_iter().chain([by]).collect()));
    } else {
        let late = if state.overdue(loan) { "Overdue " } else { "" };
        parts.push(Part::Texts(".page-head .lead", vec![format!("{late}Due back on {day}.")]));
    }
    Seen::Html(parts)
}

/// What the slip says of the loan's ends.
fn slip(state: &State, loan: usize) -> Part {
    let (it, frame) = (&state.loans[loan], &state.frames[state.loans[loan].frame]);
    let went = format!("{}, by {}", moment(it.at, &state.zone), state.people[it.by].name);
    let condition = format!("{}. {}", it.condition_out, frame.note);
    let came = it.back.as_ref().map(|back| {
        format!("{}, {}, rods {}", moment(back.at, &state.zone), back.condition, rods_back(state, loan))
    });
    Part::Texts("main .paper .facts dd", [went, condition].into_iter().chain(came).collect())
}
