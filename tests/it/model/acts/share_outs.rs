//! Cloth is shared out: asked for, found, accepted or set aside; and what was promised is pulled, brought back, released.
use proptest::prelude::*;

use super::cloth::{Form, Typed, enter, typed};
use super::{For, Learn, Pick, Step, pick};
use crate::model::cloth::Weighing;
use crate::model::promises::{Far, Holds, ROUNDED, ShareOut};
use crate::model::state::{State, Thing};
use crate::model::views::View;

/// How far off a colour may be: hardly, clearly, any.
const OFF: [i64; 3] = [6, 25, 200];

#[derive(Clone, Debug)]
pub enum Act {
    /// For a rug; now and then for two, which may take the search its whole second.
    Begin {
        rugs: [Pick; 2],
        most: Pick,
        off: Pick,
        few: bool,
    },
    /// For the same rugs, keeping all that may be kept, or nothing.
    Again {
        share_out: Pick,
        keep: bool,
    },
    Accept {
        share_out: Pick,
        over_newer: bool,
    },
    SetAside(Pick),
    /// All that was promised, or what is typed.
    Pull(Pick, Option<Typed>),
    PutBack(Pick, Typed),
    Release(Pick),
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let two = || (any::<Pick>(), any::<Pick>());
    let rugs = (any::<Pick>(), prop::option::weighted(0.1, any::<Pick>()));
    let begin = (rugs, two(), any::<bool>());
    prop_oneof![
        3 => begin.prop_map(|((one, other), (most, off), few)| Act::Begin { rugs: [one, other.unwrap_or(one)], most, off, few }),
        1 => (any::<Pick>(), any::<bool>()).prop_map(|(share_out, keep)| Act::Again { share_out, keep }),
        6 => (any::<Pick>(), prop::bool::weighted(0.3))
            .prop_map(|(share_out, over_newer)| Act::Accept { share_out, over_newer }),
        1 => any::<Pick>().prop_map(Act::SetAside),
        10 => (any::<Pick>(), prop::option::weighted(0.3, typed()))
            .prop_map(|(promise, typed)| Act::Pull(promise, typed)),
        6 => (any::<Pick>(), typed()).prop_map(|(promise, typed)| Act::PutBack(promise, typed)),
        1 => any::<Pick>().prop_map(Act::Release),
    ]
}

impl Act {
    pub fn wants(&self) -> For {
        if matches!(self, Self::Pull(..) | Self::PutBack(..)) { For::Staff } else { For::Instructor }
    }

    pub fn step(&self, state: &mut State, who: Option<usize>) -> Option<Step> {
        match *self {
            Self::Begin { rugs, most, off, few } => {
                let [one, other] = [pick(rugs[0], state.rugs.len())?, pick(rugs[1], state.rugs.len())?];
                let limits = (1 + usize::from(most) % 2, OFF[usize::from(off) % OFF.len()]);
                Some(begin(state, who, [one, other], limits, few))
            }
            Self::Again { share_out, keep } => {
                Some(again(state, who, pick(share_out, state.share_outs.len())?, keep))
            }
            Self::Accept { share_out, over_newer } => {
                let proposed = |n: &usize| state.share_outs[*n].state == Far::Proposed;
                let share_out = rather(share_out, state.share_outs.len(), proposed)?;
                Some(accept(state, who, share_out, over_newer))
            }
            Self::SetAside(share_out) => {
                Some(set_aside(state, who, pick(share_out, state.share_outs.len())?))
            }
            Self::Pull(promise, typed) => {
                let promise = rather(promise, state.promises.len(), |n| state.waits(*n))?;
                Some(pull(state, who, promise, typed))
            }
            Self::PutBack(promise, typed) => {
                let promise = rather(promise, state.promises.len(), |n| state.pulled(*n).is_some())?;
                Some(put_back(state, who, promise, typed))
            }
            Self::Release(promise) => {
                let promise = rather(promise, state.promises.len(), |n| state.waits(*n))?;
                Some(release(state, who, promise))
            }
        }
    }
}

/// One of those that fit, seven times in eight, otherwise one of all.
fn rather(which: Pick, of: usize, fits: impl FnMut(&usize) -> bool) -> Option<usize> {
    let fit: Vec<usize> = (0..of).filter(fits).collect();
    match pick(which / 8, fit.len()) {
        Some(at) if !which.is_multiple_of(8) => Some(fit[at]),
        _ => pick(which, of),
    }
}

fn begin(
    state: &mut State,
    who: Option<usize>,
    rugs: [usize; 2],
    (most, most_off): (usize, i64),
    few: bool,
) -> Step {
    let ids = rugs.map(|n| state.rugs[n].id.clone());
    let (n_most, off) = (most.to_string(), most_off.to_string());
    let mut fields = vec![("rug", ids[0].as_str()), ("most", &n_most), ("most_off", &off), ("seconds", "1")];
    if rugs[1] != rugs[0] {
        fields.push(("rug", &ids[1]));
    }
    if few {
        fields.push(("few", "yes"));
    }
    let step = Step::post("/share-out", &fields).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let mut open: Vec<usize> = rugs.into_iter().filter(|&n| state.rugs[n].open()).collect();
    open.dedup();
    if open.is_empty() {
        // Where no rug is left to pick there is no form that could complain.
        let any = state.rugs.iter().any(super::super::state::Rug::open);
        return step.wrong(422, if any { &["rugs"] } else { &[] });
    }
    found(state, who, step, (open, most, most_off), Vec::new())
}

/// What the search finds is read off its page; what was kept must be among it.
fn found(
    state: &mut State,
    who: usize,
    step: Step,
    (rugs, most, most_off): (Vec<usize>, usize, i64),
    kept: Vec<usize>,
) -> Step {
    let new = state.share_outs.len();
    let had = state.had(&rugs);
    state.share_outs.push(ShareOut {
        id: String::new(),
        by: who,
        rugs,
        most,
        most_off,
        state: Far::Proposed,
        had,
    });
    state.note(Some(who), Thing::ShareOut(new), "begun");
    state.note(Some(who), Thing::ShareOut(new), "proposed");
    let step = step.to("/share-out/{new}").learns(Learn::Found(new, kept));
    step.touches([View::ShareOuts, View::ShareOut(new), View::PullSheet, View::Record])
}

fn again(state: &mut State, who: Option<usize>, share_out: usize, keep: bool) -> Step {
    let it = &state.share_outs[share_out];
    let path = format!("/share-out/{}/again", it.id);
    let (rugs, most, most_off) = (it.rugs.clone(), it.most, it.most_off);
    let open: Vec<usize> = rugs.into_iter().filter(|&n| state.rugs[n].open()).collect();
    let may_be_kept = |&n: &usize| {
        let promise = &state.promises[n];
        let holds = promise.holds == Holds::Proposed || state.waits(n);
        keep && promise.share_out == share_out && holds && !state.is_broken(n) && open.contains(&promise.rug)
    };
    let kept: Vec<usize> = (0..state.promises.len()).filter(may_be_kept).collect();
    let fields: Vec<(&str, &str)> = kept.iter().map(|&n| ("keep", state.promises[n].id.as_str())).collect();
    let step = Step::post(path, &fields).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if open.is_empty() {
        return step.no(404);
    }
    found(state, who, step, (open, most, most_off), kept)
}

fn accept(state: &mut State, who: Option<usize>, share_out: usize, over_newer: bool) -> Step {
    let path = format!("/share-out/{}", state.share_outs[share_out].id);
    let fields: &[(&str, &str)] = if over_newer { &[("over_newer", "yes")] } else { &[] };
    let step = Step::post(format!("{path}/accept"), fields).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if state.share_outs[share_out].state != Far::Proposed {
        return step.wrong(409, &[""]);
    }
    let rugs = state.share_outs[share_out].rugs.clone();
    let before: Vec<usize> = (0..state.promises.len())
        .filter(|&n| state.waits(n) && rugs.contains(&state.promises[n].rug))
        .collect();
    // What was pulled since would be promised a second time.
    let known = &state.share_outs[share_out].had;
    let again = |rug: usize, colour: &str| {
        state
            .promises
            .iter()
            .any(|it| it.share_out == share_out && (it.rug, it.part.1.as_str()) == (rug, colour))
    };
    let more = |(rug, colour, now): &(usize, String, i64)| {
        let then = known.iter().find(|(r, c, _)| r == rug && c == colour).map_or(0, |(_, _, then)| *then);
        *now > then && state.rugs[*rug].open() && again(*rug, colour)
    };
    if state.had(&rugs).iter().any(more) {
        return step.wrong(409, &[""]);
    }
    if !over_newer && before.iter().any(|&n| state.promises[n].share_out > share_out) {
        return step.wrong(409, &["over_newer"]);
    }
    // What the rugs waited for is free, what was pulled for them stays; then the proposal must be covered, and so must all
    // that others were promised of the same cloth.
    let own: Vec<usize> =
        (0..state.promises.len()).filter(|&n| state.promises[n].share_out == share_out).collect();
    for &n in &before {
        state.promises[n].holds = Holds::Released;
    }
    for &n in &own {
        let open = state.rugs[state.promises[n].rug].open();
        state.promises[n].holds = if open { Holds::Stands } else { Holds::Released };
    }
    let bundles: Vec<usize> = own.iter().map(|&n| state.promises[n].bundle).collect();
    let gone =
        (0..state.promises.len()).any(|n| bundles.contains(&state.promises[n].bundle) && state.is_broken(n));
    if gone {
        for &n in &before {
            state.promises[n].holds = Holds::Stands;
        }
        for &n in &own {
            state.promises[n].holds = Holds::Proposed;
        }
        return step.wrong(409, &[""]);
    }
    state.share_outs[share_out].state = Far::Accepted;
    state.note(Some(who), Thing::ShareOut(share_out), "accepted");
    let mut touched = vec![View::ShareOuts, View::ShareOut(share_out), View::PullSheet, View::Record];
    touched.extend(rugs.into_iter().map(View::Rug));
    touched.extend(bundles.into_iter().map(View::Bundle));
    touched.extend(before.into_iter().map(|n| View::ShareOut(state.promises[n].share_out)));
    step.to(format!("{path}?said=accepted")).touches(touched)
}

fn set_aside(state: &mut State, who: Option<usize>, share_out: usize) -> Step {
    let path = format!("/share-out/{}", state.share_outs[share_out].id);
    let step = Step::post(format!("{path}/drop"), &[]).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if state.share_outs[share_out].state != Far::Proposed {
        return step.no(409);
    }
    state.share_outs[share_out].state = Far::SetAside;
    state.note(Some(who), Thing::ShareOut(share_out), "set aside");
    let touched = [View::ShareOuts, View::ShareOut(share_out), View::Record];
    step.to(format!("{path}?said=set-aside")).touches(touched)
}

fn touched(state: &State, promise: usize) -> Vec<View> {
    let it = &state.promises[promise];
    let first = [View::PullSheet, View::Promise(promise), View::Bundle(it.bundle), View::Rug(it.rug)];
    first.into_iter().chain([View::Went, View::ShareOut(it.share_out), View::Record]).collect()
}

fn pull(state: &mut State, who: Option<usize>, promise: usize, typed: Option<Typed>) -> Step {
    let it = &state.promises[promise];
    let (bundle, mg) = (it.bundle, it.mg);
    let path = format!("/promises/{}/pull", it.id);
    let mut form = Form::new();
    let weighing = if let Some(typed) = typed {
        form.weigh(["pull_weight", "pull_tare"], typed, false)
    } else {
        let text = format!("{} g", mg / 1000);
        form.fields.push(("pull_weight", text.clone()));
        Weighing { typed: text, gross: mg, basket: 0 }
    };
    let step = Step { fields: form.fields, ..Step::post(path, &[]) }.keyed();
    let who = match For::Staff.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if !state.stands(promise) {
        return step.no(404);
    }
    let (net, there) = (weighing.net(), &state.bundles[bundle]);
    if !form.wrong.is_empty() {
        // One that was pulled shows no form to pull it.
        return step.wrong(422, &form.wrong);
    }
    if !state.waits(promise) || there.state != "ready" || net > there.balance() {
        return step.wrong(422, &["pull_weight"]);
    }
    // Beyond what is promised to it only what is promised to nobody, or what a page rounds it up by.
    if net > mg + state.free(bundle).max(0) + ROUNDED {
        return step.wrong(422, &["pull_weight"]);
    }
    enter(state, who, bundle, "pulled", -net, Some(weighing));
    state.promises[promise].pull = Some(state.bundles[bundle].entries.len() - 1);
    state.promises[promise].back = None;
    step.to("/pull?said=pulled").touches(touched(state, promise))
}

fn put_back(state: &mut State, who: Option<usize>, promise: usize, typed: Typed) -> Step {
    let bundle = state.promises[promise].bundle;
    let path = format!("/promises/{}/back", state.promises[promise].id);
    let mut form = Form::new();
    let weighing = form.weigh(["back_weight", "back_tare"], typed, false);
    let step = Step { fields: form.fields, ..Step::post(path, &[]) }.keyed();
    let who = match For::Staff.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if !state.stands(promise) {
        return step.no(404);
    }
    if !form.wrong.is_empty() {
        return step.wrong(422, &form.wrong);
    }
    let net = weighing.net();
    let out = state.pulled(promise).filter(|_| state.came_back(promise).is_none()).unwrap_or(0);
    let there = &state.bundles[bundle];
    if net > out || there.state != "ready" || net > there.out() {
        return step.wrong(422, &["back_weight"]);
    }
    enter(state, who, bundle, "put back", net, Some(weighing));
    state.promises[promise].back = Some(state.bundles[bundle].entries.len() - 1);
    step.to("/pull?said=put-back").touches(touched(state, promise))
}

fn release(state: &mut State, who: Option<usize>, promise: usize) -> Step {
    let path = format!("/promises/{}/release", state.promises[promise].id);
    let step = Step::post(path, &[]).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if !state.waits(promise) {
        return step.no(409);
    }
    state.promises[promise].holds = Holds::Released;
    state.note(Some(who), Thing::ShareOut(state.promises[promise].share_out), "promise released");
    step.to("/pull?said=released").touches(touched(state, promise))
}
