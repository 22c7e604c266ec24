//! What is done with a bundle: moved on, pulled, cut into strips, put back, scrapped, counted, and undone. Each act is
//! one ledger entry, a cut one on each side.
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::bundle::BundlePage;
use super::weigh_in::{evening, still_by};
use super::{App, CurrentUser, Error, Form, FormData, Result, reading};
use crate::store::cloth::bundles::{BundleState, PLACE};
use crate::store::cloth::cuts::CutFields;
use crate::store::cloth::ledger::{Acted, Refusal, Weighing};
use crate::store::{BundleId, EntryId, Read, RequestKey, Write};
use crate::units::{Length, Mass, Units};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::form::NOTE;
use crate::web::http::id::{Id, PathId as _};

/// An act that was understood.
enum Act {
    Move {
        step: (BundleState, BundleState),
        weighing: Option<Weighing>,
    },
    Pull(Weighing, String),
    /// The strips become this bundle.
    Cut(BundleId, CutFields),
    PutBack(Weighing, String),
    Scrap(Option<Weighing>, String),
    Count(Weighing, String),
    Undo(EntryId),
    /// It lies elsewhere: where it was thought to lie, and where it lies now.
    PutAt {
        was: String,
        place: String,
    },
}

impl Act {
    async fn take(&self, tx: &mut Write, id: BundleId, key: RequestKey) -> Acted<()> {
        let done = match self {
            Self::Move { step, weighing } => return tx.move_bundle(id, key, *step, weighing.as_ref()).await,
            Self::Pull(weighing, note) => tx.pull(id, key, weighing, note).await,
            Self::PutAt { was, place } => return tx.put_at(id, was, place).await,
            Self::Cut(lot, cut) => return Ok(tx.cut(id, *lot, key, cut).await?.map(|_| ())),
            Self::PutBack(weighing, note) => tx.put_back(id, key, weighing, note).await,
            Self::Scrap(weighing, note) => tx.scrap(id, key, weighing.as_ref(), note).await,
            Self::Count(weighing, note) => tx.count_bundle(id, key, weighing, note).await,
            Self::Undo(entry) => tx.undo_entry(id, *entry, key).await,
        };
        Ok(done?.map(|_| ()))
    }

    /// The word said after it, and the field that a refusal belongs to.
    fn words(&self) -> (&'static str, &'static str) {
        match self {
            Self::Move { .. } => ("state", "state_weight"),
            Self::Pull(..) => ("pulled", "pull_weight"),
            Self::Cut(..) => ("cut", "cut_weight"),
            Self::PutBack(..) => ("put-back", "put_back_weight"),
            Self::Scrap(..) => ("scrapped", "scrap_weight"),
            Self::Count(..) => ("corrected", "count_weight"),
            Self::Undo(_) => ("undone", ""),
            Self::PutAt { .. } => ("saved", "place"),
        }
    }

    /// What leaves the shelf, which mustn't be promised cloth unless somebody says so; and the box that says so.
    fn leaves(&self) -> Option<(Mass, &'static str)> {
        match self {
            Self::Pull(weighing, _) => Some((weighing.net(), "pull_promised")),
            Self::Cut(_, cut) => Some((cut.weighing.net(), "cut_promised")),
            _ => None,
        }
    }

    /// What it takes is all there is, where the page told it rounded and that was weighed.
    fn as_shown(&mut self, there: Mass, units: Units) {
        let weighing = match self {
            Self::Pull(weighing, _) | Self::Scrap(Some(weighing), _) => weighing,
            Self::Cut(_, cut) => &mut cut.weighing,
            _ => return,
        };
        reading::as_shown(weighing, there, units);
    }

    fn why_not(&self, refusal: Refusal, units: Units) -> String {
        match refusal {
            Refusal::NoBundle | Refusal::NoEntry => "This bundle has no such entry.".into(),
            Refusal::NotReady(state) => {
                format!("This bundle is {}. Only cloth that is washed and ready can be pulled, cut or put back.", state.title())
            }
            Refusal::StateIs(state) => {
                format!("Somebody moved this bundle meanwhile: it is {} now. Nothing was changed.", state.title())
            }
            Refusal::WasPulled => {
                "Cloth was pulled or cut from this bundle as washed, so it can’t go back. If that was a mistake, undo it first."
                    .into()
            }
            Refusal::TooMuch { there: Mass::ZERO } => "There is nothing left of this bundle.".into(),
            Refusal::TooMuch { there } => format!("There is only {} of this bundle.", there.show(units)),
            Refusal::TooMuchBack { out } if matches!(self, Self::Undo(_)) => {
                format!("Some of this pull was put back; only {} is still out. Undo the putting back first.", out.show(units))
            }
            Refusal::TooMuchBack { out: Mass::ZERO } => "Nothing of this bundle is out, so nothing can come back.".into(),
            Refusal::TooMuchBack { out } => {
                format!("Only {} of this bundle is out; no more than that can come back.", out.show(units))
            }
            Refusal::Strips => "This bundle is strips already.".into(),
            Refusal::StripsUsed { tag, there } => format!(
                "Some of the strips are gone: bundle {tag} holds {}. Undo what was taken from it first.",
                there.show(units)
            ),
            Refusal::Reversed => "This entry was undone already. Nothing was changed.".into(),
            Refusal::Elsewhere => {
                "Somebody said meanwhile that it lies elsewhere: where it lies now stands among what is known of it.".into()
            }
            Refusal::Unchanged if matches!(self, Self::PutAt { .. }) => "It lies there already.".into(),
            Refusal::Unchanged => "The scale and the ledger agree: nothing to correct.".into(),
        }
    }
}

fn note(form: &mut Form, name: &str) -> Option<String> {
    form.optional_text(name, "The note", NOTE)
}

fn read_move(form: &mut Form) -> Option<Act> {
    let from = form.choice("from", "the state it is in");
    let to = form.choice("to", "the state it goes to");
    let weighing = reading::optional_weighing(form, "state_");
    Some(Act::Move { step: (from?, to?), weighing: weighing? })
}

fn read_pull(form: &mut Form) -> Option<Act> {
    let (weighing, note) = (reading::weighing(form, "pull_", false), note(form, "pull_note"));
    Some(Act::Pull(weighing?, note?))
}

fn read_cut(form: &mut Form) -> Option<Act> {
    let (least, most) = match form.units() {
        Units::Inches => (Length::inches(0.25), Length::inches(12.0)),
        Units::Metric => (Length::millimetres(5.0), Length::millimetres(300.0)),
    };
    let (weighing, width) = (reading::weighing(form, "cut_", false), form.length("cut_width", least, most));
    let (note, scrap_rest) = (note(form, "cut_note"), form.ticked("cut_rest"));
    Some(Act::Cut(BundleId::new(), CutFields { weighing: weighing?, width: width?, note: note?, scrap_rest }))
}

fn read_put_back(form: &mut Form) -> Option<Act> {
    let (weighing, note) = (reading::weighing(form, "put_back_", false), note(form, "put_back_note"));
    Some(Act::PutBack(weighing?, note?))
}

fn read_scrap(form: &mut Form) -> Option<Act> {
    let weighing = if form.ticked("scrap_all") {
        Some(None)
    } else {
        reading::weighing(form, "scrap_", false).map(Some)
    };
    let note = note(form, "scrap_note");
    Some(Act::Scrap(weighing?, note?))
}

fn read_count(form: &mut Form) -> Option<Act> {
    let (weighing, note) = (reading::weighing(form, "count_", true), note(form, "count_note"));
    Some(Act::Count(weighing?, note?))
}

fn read_place(form: &mut Form) -> Option<Act> {
    let place = form.optional_text("place", "The place on the shelf", PLACE);
    Some(Act::PutAt { was: form.value("was").to_owned(), place: place? })
}

fn read_undo(form: &mut Form) -> Option<Act> {
    let entry = form.value("entry").parse();
    entry.map(Act::Undo).map_err(|_| form.add_error("", "Choose the entry to undo.")).ok()
}

/// Whether an act takes back what this person weighed in this evening: all that a tablet at the scale may do with a bundle.
async fn own(app: &App, read: &mut Read, me: &CurrentUser, id: BundleId, act: Option<&Act>) -> Result<bool> {
    let Some(Act::Undo(entry)) = act else { return Ok(false) };
    let evening = evening(app, read, me).await?.weighed;
    Ok(evening.iter().any(|one| one.bundle_id == id && one.entry_id == *entry))
}

async fn act(
    app: App,
    me: CurrentUser,
    id: BundleId,
    posted: FormData,
    read: fn(&mut Form) -> Option<Act>,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let act = read(&mut form);
    if me.tablet().is_some() && !own(&app, &mut tx, &me, id, act.as_ref()).await? {
        return Err(Error::Forbidden);
    }
    let Some(mut act) = act else {
        return Ok(invalid(BundlePage::load(&mut tx, &me, id, form).await?));
    };
    let (said, field) = act.words();
    let to = match (&act, form.value("back")) {
        (Act::Cut(lot, _), _) => format!("/cloth/{lot}?said={said}"),
        (_, "weigh-in") => format!("/cloth/weigh-in?said={said}&undone={id}{}", still_by(&me)),
        _ => format!("/cloth/{id}?said={said}"),
    };
    tx.idempotent(form.key, &to).await?;
    if let Some(bundle) = tx.bundle(id).await? {
        act.as_shown(bundle.balance_mg, me.units());
    }
    if let Some((leaves, all_the_same)) = act.leaves()
        && !form.ticked(all_the_same)
        && let Some(spare) =
            tx.unpromised(id).await?.filter(|spare| reading::is_beyond(leaves, *spare, me.units()))
    {
        form.add_error(
            field,
            format!(
                "Only {} of this is promised to nobody. To take promised cloth anyway, tick the box.",
                spare.show(me.units())
            ),
        );
        return Ok(invalid(BundlePage::load(&mut tx, &me, id, form).await?));
    }
    match act.take(&mut tx, id, form.key).await? {
        Ok(()) => {
            if let Some(tablet) = me.tablet() {
                tx.done_at_tablet(tablet, "undone at", id).await?;
            }
            done(tx, &to).await
        }
        // A tablet at the scale doesn't show what became of a bundle.
        Err(_) if me.tablet().is_some() => {
            Ok(Redirect::to(&format!("/cloth/weigh-in?said=not-undone{}", still_by(&me))).into_response())
        }
        Err(Refusal::NoBundle) => Err(BundleId::none()),
        Err(refusal) => {
            form.add_error(field, act.why_not(refusal, me.units()));
            let page = BundlePage::load(&mut tx, &me, id, form).await?;
            Ok(match refusal {
                Refusal::StateIs(_) | Refusal::Reversed | Refusal::Elsewhere => conflict(page),
                _ => invalid(page),
            })
        }
    }
}

/// Makes the handler of an act from what reads its form.
macro_rules! handlers {
    ($($name:ident: $read:ident),+ $(,)?) => {$(
        pub(super) async fn $name(
            State(app): State<App>,
            me: CurrentUser,
            Id(id): Id<BundleId>,
            posted: FormData,
        ) -> Result<Response> {
            act(app, me, id, posted, $read).await
        }
    )+};
}

handlers! {
    state: read_move,
    pull: read_pull,
    cut: read_cut,
    put_back: read_put_back,
    scrap: read_scrap,
    count: read_count,
    undo: read_undo,
    place: read_place,
}
