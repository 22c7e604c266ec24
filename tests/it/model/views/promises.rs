//! What is promised: where a share-out begins, its own page, the pull sheet, and one promise.
use super::{Part, Seen};
use crate::model::cloth::pounds;
use crate::model::promises::{Far, Holds};
use crate::model::state::{Role, State};

/// So many earlier share-outs are listed.
const EARLIER: usize = 8;

fn or_dash(mg: i64) -> String {
    if mg == 0 { "–".into() } else { pounds(mg) }
}

/// The rugs to pick from with what waits for each; what of the shelf is free; and the share-outs so far.
pub fn start(state: &State) -> Seen {
    let rugs: Vec<usize> = (0..state.rugs.len()).rev().filter(|&n| state.rugs[n].open()).collect();
    let waiting: Vec<usize> = (0..state.promises.len()).filter(|&n| state.waits(n)).collect();
    let of = |rug: usize| waiting.iter().copied().filter(move |&n| state.promises[n].rug == rug);
    let promised = |&rug: &usize| or_dash(of(rug).map(|n| state.promises[n].mg).sum());
    let broken = rugs.iter().filter(|&&rug| of(rug).any(|n| state.is_broken(n))).count();
    let ready = (0..state.bundles.len()).filter(|&n| state.bundles[n].state == "ready");
    let free = ready.map(|n| state.free(n)).sum();
    let mut parts = vec![
        Part::Attrs("main [name=rug]", "value", rugs.iter().map(|&n| state.rugs[n].id.clone()).collect()),
        Part::Texts("main td[data-label=Promised]", rugs.iter().map(promised).collect()),
        Part::Count("main form .badge.bad", broken),
    ];
    if !rugs.is_empty() {
        parts.push(Part::Texts("main .stat:last-child b", vec![pounds(free)]));
    }
    let earlier: Vec<_> = state.share_outs.iter().rev().take(EARLIER).collect();
    let table = "main tr:has(td[data-label=Who])";
    let row = |it: &&crate::model::promises::ShareOut| {
        let (who, rugs) = (state.people[it.by].name.clone(), it.rugs.len().to_string());
        vec![who, rugs, it.state.word().to_owned()]
    };
    parts.push(Part::Cells(table, "td", earlier.iter().map(row).collect()));
    Seen::Html(parts)
}

/// What a share-out found, part by part, and what became of it.
pub fn share_out(state: &State, share_out: usize) -> Seen {
    let it = &state.share_outs[share_out];
    let mut found: Vec<usize> =
        state.by_shelf().into_iter().filter(|&n| state.promises[n].share_out == share_out).collect();
    found.sort_by_key(|&n| state.promises[n].part.0);
    // What was found is strip.
    let strip = |n: usize| {
        let it = &state.promises[n];
        (it.mg as f64 * state.bundles[it.bundle].counted(&state.bundles)).round() as i64
    };
    let sum = found.iter().map(|&n| strip(n)).sum();
    let mut tags: Vec<usize> = found.iter().map(|&n| state.bundles[state.promises[n].bundle].tag).collect();
    let given = tags.iter().map(usize::to_string).collect();
    tags.sort_unstable();
    tags.dedup();
    let said = |&n: &usize| match (state.pulled(n), state.promises[n].holds) {
        (Some(_), _) => Some("pulled".to_owned()),
        (None, Holds::Proposed) => None,
        (None, _) => (!state.waits(n)).then(|| "released".to_owned()),
    };
    let open = |n: &&usize| state.promises[**n].holds == Holds::Proposed || state.waits(**n);
    let keep = found.iter().filter(open).filter(|&&n| !state.is_broken(n) && it.state != Far::SetAside);
    Seen::Html(vec![
        Part::Texts(".given strong", found.iter().map(|&n| pounds(state.promises[n].mg)).collect()),
        Part::Texts(".given a", given),
        Part::Texts(".given .badge.plain", found.iter().filter_map(said).collect()),
        Part::Count(".given .badge.bad", found.iter().filter(|&&n| state.is_broken(n)).count()),
        Part::Attrs("[name=keep]", "value", keep.map(|&n| state.promises[n].id.clone()).collect()),
        Part::Count("form[action$='/accept']", usize::from(it.state == Far::Proposed)),
        Part::Texts(".stat:nth-child(2) b", vec![pounds(sum)]),
        Part::Texts(".stat:nth-child(4) b", vec![tags.len().to_string()]),
    ])
}

/// What waits to be pulled, in the order of the shelf, and what was pulled.
pub fn sheet(state: &State) -> Seen {
    let standing: Vec<usize> = state.by_shelf().into_iter().filter(|&n| state.stands(n)).collect();
    let (open, pulled): (Vec<usize>, Vec<usize>) = standing.into_iter().partition(|&n| state.waits(n));
    let texts = |these: &[usize], what: &dyn Fn(usize) -> String| these.iter().map(|&n| what(n)).collect();
    let tag = |n: usize| state.bundles[state.promises[n].bundle].tag.to_string();
    let link = |n: usize| format!("/promises/{}", state.promises[n].id);
    let rest: Vec<usize> = pulled.iter().copied().filter(|&n| state.came_back(n).is_none()).collect();
    let broken = open.iter().filter(|&&n| state.is_broken(n)).count();
    Seen::Html(vec![
        Part::Texts("main tr:has(td[data-label=Take]) th", texts(&open, &tag)),
        Part::Texts("td[data-label=Take]", texts(&open, &|n| pounds(state.promises[n].mg))),
        Part::Attrs("td[data-label=Pulled] a", "href", texts(&open, &link)),
        Part::Count("td[data-label=For] .badge.bad", broken),
        Part::Texts("main tr:has(td[data-label=Rest]) th", texts(&pulled, &tag)),
        Part::Texts("td.num[data-label=Pulled]", texts(&pulled, &|n| pounds(state.pulled(n).unwrap()))),
        Part::Texts(
            "td[data-label='Brought back']",
            texts(&pulled, &|n| state.came_back(n).map_or("–".into(), pounds)),
        ),
        Part::Attrs("td[data-label=Rest] a", "href", texts(&rest, &link)),
    ])
}

/// A promise that stands, and what can be done about it by the one who looks.
pub fn one(state: &State, promise: usize, me: usize) -> Seen {
    if !state.stands(promise) {
        return Seen::No(404);
    }
    let (waits, back) = (state.waits(promise), state.came_back(promise));
    let may_release = waits && state.people[me].role == Role::Instructor;
    Seen::Html(vec![
        Part::Count("form[action$='/pull']", usize::from(waits)),
        Part::Count("form[action$='/back']", usize::from(!waits && back.is_none())),
        Part::Count("form[action$='/release']", usize::from(may_release)),
        Part::Count(".notice.warn", usize::from(state.is_broken(promise))),
    ])
}

/// What stands promised to a rug, as its own page has it.
pub fn to_rug(state: &State, rug: usize) -> Part {
    let own = state.by_shelf().into_iter().filter(|&n| state.promises[n].rug == rug && state.stands(n));
    let row = |n: usize| {
        let it = &state.promises[n];
        let what = if it.part.1.is_empty() { "Warp" } else { &it.part.1 };
        let bundle = &state.bundles[it.bundle];
        let how = match state.pulled(n) {
            Some(_) => "pulled",
            None if state.is_broken(n) => "broken: the stock changed",
            None => "promised",
        };
        let weight = pounds(state.pulled(n).unwrap_or(it.mg));
        let colour = crate::model::cloth::COLOURS[bundle.colour].1;
        vec![what.to_owned(), colour.to_owned(), bundle.tag.to_string(), weight, how.to_owned()]
    };
    Part::Rows("#promised tbody tr", own.map(row).collect())
}
