//! Saying that a rug is finished, and what it took: all of it may be left out, and each figure helps the next rugs.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};

use crate::planning::sufficiency::used;
use crate::services::learning::entries;
use crate::services::rug_plan;
use crate::store::rugs::results::ResultFields;
use crate::store::rugs::{Rug, RugState};
use crate::store::{Read, RugId};
use crate::units::{Length, Mass, Units};
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::Id;
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/finish.html")]
pub(super) struct FinishPage {
    layout: Layout,
    form: Form,
    rug: Rug,
    /// Whether the log filled the form in.
    by_the_log: bool,
}

impl FinishPage {
    fn finished(&self) -> bool {
        self.rug.state == RugState::Finished
    }
}

pub(super) async fn form(me: CurrentUser, mut read: Read, Id(id): Id<RugId>) -> Result<FinishPage> {
    let rug = super::load(&mut read, &me, id).await?;
    let said = read.rug_result(id).await?;
    let (told, by_the_log) = if let Some(said) = said {
        (said, false)
    } else {
        let told = by_the_log(&mut read, &me, &rug).await?;
        (told, !told.is_empty())
    };
    Ok(FinishPage { layout: me.layout(), form: fill(&told, &me), rug, by_the_log })
}

/// What the log knows already.
async fn by_the_log(read: &mut Read, me: &CurrentUser, rug: &Rug) -> Result<ResultFields> {
    let (known, log) = rug_plan::load(read, rug, me.units()).await?;
    let log = entries(&log, &known.input.colours);
    let progress = &known.status.progress;
    let minutes = |minutes: f64| Some(minutes.round() as i64).filter(|minutes| *minutes > 0);
    Ok(ResultFields {
        rows_woven: log.iter().rev().find_map(|entry| entry.rows).map(i64::from).filter(|rows| *rows > 0),
        woven_nm: log.iter().rev().find_map(|entry| entry.woven).filter(|woven| *woven > Length::ZERO),
        weft_mg: used(&known.plan, &log).map(|mass| as_a_scale_shows(mass, me.units())),
        weave_minutes: minutes(progress.weaving.get()),
        prepare_minutes: minutes(progress.prepared.get()),
        ..ResultFields::default()
    })
}

/// To a quarter of an ounce or a gram: what was subtracted was read off a kitchen scale.
fn as_a_scale_shows(mass: Mass, units: Units) -> Mass {
    match units {
        Units::Inches => Mass::from_pounds((mass.pounds() * 64.0).round() / 64.0),
        Units::Metric => Mass::from_grams(mass.grams().round()),
    }
}

fn fill(f: &ResultFields, me: &CurrentUser) -> Form {
    let units = me.units();
    let count = |count: Option<i64>| count.map_or(String::new(), |count| count.to_string());
    let length = |length: Option<Length>| length.map_or(String::new(), |length| length.exact(units));
    Form::blank(units)
        .with("rows", count(f.rows_woven))
        .with("woven", length(f.woven_nm))
        .with("weft", f.weft_mg.map_or(String::new(), |mass| mass.exact(units)))
        .with("weave_minutes", count(f.weave_minutes))
        .with("prepare_minutes", count(f.prepare_minutes))
        .with("warp", length(f.warp_nm))
        .with("finished_length", length(f.finished_length_nm))
        .with("finished_width", length(f.finished_width_nm))
}

pub(super) async fn finish(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let rug = super::load(&mut tx, &me, id).await?;
    let mut form = posted.form_of(&me);
    let Some(fields) = read(&mut form, &rug) else {
        return Ok(invalid(FinishPage { layout: me.layout(), form, rug, by_the_log: false }));
    };
    let to = format!("/rugs/{id}?said=finished");
    if fields.is_empty() && rug.state == RugState::Finished {
        return Ok(Redirect::to(&to).into_response());
    }
    tx.idempotent(form.key, &to).await?;
    tx.finish_rug(id, &fields).await?;
    done(tx, &to).await
}

fn read(form: &mut Form, rug: &Rug) -> Option<ResultFields> {
    let long = Length::inches(1.0);
    let most = rug.fields.span_nm.scale(1.1);
    let minutes = 1..=60_000;
    let rows =
        form.optional("rows", None, |form| form.count("rows", "The number of rows", 1..=3000).map(Some));
    let woven = form.optional("woven", None, |form| form.length("woven", long, most).map(Some));
    let (light, heavy) = (Mass::from_grams(10.0), Mass::from_grams(50_000.0));
    let weft = form.optional("weft", None, |form| form.mass("weft", light, heavy).map(Some));
    let weave = form.optional("weave_minutes", None, |form| {
        form.count("weave_minutes", "The time of weaving", minutes.clone()).map(Some)
    });
    let prepare = form.optional("prepare_minutes", None, |form| {
        form.count("prepare_minutes", "The time of preparing", minutes).map(Some)
    });
    let span = rug.fields.span_nm;
    let warp = form.optional("warp", None, |form| form.length("warp", span, span * 2000).map(Some));
    // A rug that comes out a tenth larger than its frame was measured wrong, or is another one.
    let finished_length =
        form.optional("finished_length", None, |form| form.length("finished_length", long, most).map(Some));
    let widest = rug.fields.width_nm.scale(1.1);
    let finished_width =
        form.optional("finished_width", None, |form| form.length("finished_width", long, widest).map(Some));
    let fields = ResultFields {
        rows_woven: rows?,
        woven_nm: woven?,
        weft_mg: weft?,
        weave_minutes: weave?,
        prepare_minutes: prepare?,
        warp_nm: warp?,
        finished_length_nm: finished_length?,
        finished_width_nm: finished_width?,
    };
    form.is_ok().then_some(fields)
}
