//! Stocktakes: all of them, the tags of one, and what differs.
use super::{Part, Seen};
use crate::model::cloth::pounds;
use crate::model::state::State;

/// So many are listed.
const LISTED: usize = 12;

/// Open ones first, and the newest first.
pub fn list(state: &State) -> Seen {
    let mut order: Vec<usize> = (0..state.stocktakes.len()).rev().collect();
    order.sort_by_key(|&n| state.stocktakes[n].closed);
    order.truncate(LISTED);
    let texts = |what: fn(&State, usize) -> String| order.iter().map(|&n| what(state, n)).collect();
    Seen::Html(vec![
        Part::Attrs(
            "main tbody th a",
            "href",
            texts(|state, n| format!("/cloth/count/{}", state.stocktakes[n].id)),
        ),
        Part::Texts(
            "main td[data-label=By]",
            texts(|state, n| state.people[state.stocktakes[n].by].name.clone()),
        ),
        Part::Texts(
            "main td[data-label=Counted]",
            texts(|state, n| state.stocktakes[n].lines.len().to_string()),
        ),
        Part::Texts(
            "main td[data-label=State]",
            texts(|state, n| if state.stocktakes[n].closed { "closed" } else { "open" }.into()),
        ),
    ])
}

/// The tags, who counted each, and which is on the scale next. What each should weigh isn't shown.
pub fn one(state: &State, stocktake: usize) -> Seen {
    let listed = state.listed(stocktake);
    let counted = |&n: &usize| match state.line(stocktake, n) {
        None => "–".to_owned(),
        Some(line) => {
            let how = if line.weighing.is_some() { "weighed" } else { "not found" };
            format!("{how} {}", state.people[line.by].name)
        }
    };
    let open = !state.stocktakes[stocktake].closed;
    let next = listed.iter().find(|&&n| open && state.line(stocktake, n).is_none());
    Seen::Html(vec![
        Part::Texts("main tbody th", listed.iter().map(|&n| state.bundles[n].tag.to_string()).collect()),
        Part::Texts("main td[data-label=Counted]", listed.iter().map(counted).collect()),
        Part::Attrs(
            "main [name=bundle]",
            "value",
            next.map(|&n| state.bundles[n].id.clone()).into_iter().collect(),
        ),
    ])
}

pub fn closing(state: &State, stocktake: usize) -> Seen {
    let (listed, differing) = (state.listed(stocktake), state.differing(stocktake));
    let counted = listed.iter().filter(|&&n| state.line(stocktake, n).is_some()).count();
    let sum = differing.iter().map(|line| line.difference()).sum();
    let (agree, uncounted) = (counted - differing.len(), listed.len() - counted);
    let figures = [agree.to_string(), differing.len().to_string(), pounds(sum), uncounted.to_string()];
    let shown = if state.stocktakes[stocktake].closed { &[] } else { differing.as_slice() };
    let texts = |what: &dyn Fn(&crate::model::stocktakes::Counted) -> String| {
        shown.iter().map(|line| what(line)).collect::<Vec<_>>()
    };
    Seen::Html(vec![
        Part::Texts(".stat b", figures.to_vec()),
        Part::Texts("main tbody th", texts(&|line| state.bundles[line.bundle].tag.to_string())),
        Part::Texts("td[data-label='By the ledger']", texts(&|line| pounds(line.balance))),
        Part::Texts(
            "td[data-label='On the scale']",
            texts(&|line| {
                line.weighing.as_ref().map_or("not found".into(), |weighing| pounds(weighing.net()))
            }),
        ),
        Part::Texts(
            "td[data-label=Difference]",
            texts(&|line| {
                let sign = if line.difference() > 0 { "+" } else { "" };
                format!("{sign}{}", pounds(line.difference()))
            }),
        ),
    ])
}
