//! Where the cloth went: as a whole, by source, by term; drawn, as tables, and to take away.
use askama_web::WebTemplate;
use axum::response::Response;
use jiff::civil::Date;

use super::{CurrentUser, Layout, Result};
use crate::drawing::flows::{Sums, svg};
use crate::store::Read;
use crate::store::cloth::flows::Flow;
use crate::store::cloth::ledger::Reason;
use crate::store::terms::Term;
use crate::units::{Mass, Units};
use crate::web::http::download::csv_file;

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/went.html")]
pub(super) struct WentPage {
    layout: Layout,
    all: Sums,
    picture: String,
    sources: Vec<(String, Sums)>,
    terms: Vec<(String, Sums)>,
    finished: Mass,
    units: Units,
}

/// Adds an entry to the sum it belongs to. Cutting moves cloth from a bundle to its strips: nothing comes or goes.
fn add(sums: &mut Sums, flow: &Flow) {
    match flow.reason {
        Reason::WeighedIn => sums.came += flow.change_mg,
        Reason::Pulled | Reason::PutBack => sums.rugs -= flow.change_mg,
        Reason::Wash => sums.wash -= flow.change_mg,
        Reason::Scrap => sums.scrap -= flow.change_mg,
        Reason::Count => sums.counted -= flow.change_mg,
        // Two entries that cancel out; and a reversal counts as what it reverses, which the store has put in its place.
        Reason::Cut | Reason::Reversal => {}
    }
}

const NOT_SAID: &str = "not said";

fn by_source(flows: &[Flow]) -> Vec<(String, Sums)> {
    let mut sums: Vec<(String, Sums)> = Vec::new();
    for flow in flows {
        let name = if flow.source.is_empty() { NOT_SAID } else { flow.source.as_str() };
        let at = sums.iter().position(|(known, _)| known == name).unwrap_or_else(|| {
            sums.push((name.to_owned(), Sums::default()));
            sums.len() - 1
        });
        add(&mut sums[at].1, flow);
    }
    sums.sort_by_key(|(name, sums)| (name == NOT_SAID, std::cmp::Reverse(sums.came)));
    sums
}

/// By the term whose first to last meeting an entry's day lies in, the latest of several; what lies outside all stands last.
fn by_term(flows: &[Flow], terms: &[Term], day: impl Fn(&Flow) -> Date) -> Vec<(String, Sums)> {
    let mut sums: Vec<(String, Sums)> =
        terms.iter().map(|term| (term.name.clone(), Sums::default())).collect();
    let mut outside = Sums::default();
    for flow in flows {
        let day = day(flow);
        let within = |term: &Term| {
            let (first, last) = (term.first_day?.0, term.last_day?.0);
            Some((first..=last).contains(&day))
        };
        match terms.iter().position(|term| within(term) == Some(true)) {
            Some(at) => add(&mut sums[at].1, flow),
            None => add(&mut outside, flow),
        }
    }
    sums.retain(|(_, sums)| *sums != Sums::default());
    if outside != Sums::default() {
        sums.push(("outside the terms".to_owned(), outside));
    }
    sums
}

/// What became of the cloth: in all, by source, by term; and what of it is in finished rugs.
struct FlowSums {
    all: Sums,
    sources: Vec<(String, Sums)>,
    terms: Vec<(String, Sums)>,
    finished: Mass,
}

async fn flow_sums(read: &mut Read, me: &CurrentUser) -> Result<FlowSums> {
    let (flows, terms, zone) = (read.flows().await?, read.terms().await?, me.zone());
    let mut all = Sums::default();
    for flow in &flows {
        add(&mut all, flow);
    }
    Ok(FlowSums {
        all,
        sources: by_source(&flows),
        terms: by_term(&flows, &terms, |flow| flow.at.0.to_zoned_datetime(zone.clone()).date()),
        finished: read.in_finished_rugs(None).await?,
    })
}

pub(super) async fn went(me: CurrentUser, mut read: Read) -> Result<WentPage> {
    let FlowSums { all, sources, terms, finished } = flow_sums(&mut read, &me).await?;
    let mut lines = vec![("All".to_owned(), all)];
    if sources.len() > 1 {
        lines.extend(sources.iter().cloned());
    }
    let units = me.units();
    let picture = svg(&lines, units, "went");
    Ok(WentPage { layout: me.layout(), all, picture, sources, terms, finished, units })
}

pub(super) async fn table(me: CurrentUser, mut read: Read) -> Result<Response> {
    let FlowSums { all, sources, terms, .. } = flow_sums(&mut read, &me).await?;
    let named = |by: &'static str, lines: Vec<(String, Sums)>| {
        lines.into_iter().map(move |(name, sums)| (by, name, sums))
    };
    let lines = named("all", vec![("all".to_owned(), all)])
        .chain(named("source", sources))
        .chain(named("term", terms));
    let head = [
        "by",
        "name",
        "came_in_g",
        "in_rugs_g",
        "lost_in_wash_g",
        "thrown_away_g",
        "counted_off_g",
        "left_g",
    ];
    let rows = lines.map(|(by, name, sums)| {
        let grams = |mass: Mass| mass.grams().to_string();
        let Sums { came, rugs, wash, scrap, counted } = sums;
        [
            by.to_owned(),
            name,
            grams(came),
            grams(rugs),
            grams(wash),
            grams(scrap),
            grams(counted),
            grams(sums.left()),
        ]
    });
    csv_file("where-the-cloth-went.csv", &head, rows)
}
