//! A bundle's page: what is known of it, its ledger, and the forms for what may be done with it now.
use askama_web::WebTemplate;
use axum::extract::Path;
use axum::response::Redirect;

use super::{CurrentUser, Error, Form, Layout, Result};
use crate::planning::usable::{Hems, SizeFrom, unfolded};
use crate::planning::weighed::Weighed;
use crate::store::cloth::bundles::Bundle;
use crate::store::cloth::ledger::{Entry, Reason};
use crate::store::cloth::promises::{Promise, spare};
use crate::store::workroom::Workroom;
use crate::store::{BundleId, EntityKind, Instant, Read, RequestKey};
use crate::units::dates::{self, WallClock};
use crate::units::{Areal, Length, Mass, Units};
use crate::web::http::id::{Id, PathId as _};
use crate::web::pages::audit_log::{Told, history};

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/bundle.html")]
pub(super) struct BundlePage {
    layout: Layout,
    form: Form,
    bundle: Bundle,
    /// What it was cut from, if it is strips.
    origin: Option<Bundle>,
    workroom: Workroom,
    ledger: Vec<Entry>,
    /// What of it is promised and not yet pulled.
    promises: Vec<Promise>,
    /// Corrections of what it is, the newest first.
    corrections: Vec<Told>,
    units: Units,
    wall: WallClock,
}

impl BundlePage {
    /// The page with a form on it, fresh or come back.
    pub(super) async fn load(
        read: &mut Read,
        me: &CurrentUser,
        id: BundleId,
        mut form: Form,
    ) -> Result<Self> {
        let bundle = read.bundle(id).await?.ok_or_else(BundleId::none)?;
        // Whoever sent where it lies sent where it lay, too, or typed something.
        if form.is_empty("was") && form.is_empty("place") {
            form.set("place", &bundle.place);
        }
        let origin = match bundle.made_from {
            Some(from) => read.bundle(from).await?,
            None => None,
        };
        let ledger = read.ledger(id).await?;
        let workroom = read.workroom().await?.ok_or(Error::NotFound("workroom"))?;
        let promises = open_promises(read, id).await?;
        let (units, wall) = (me.units(), me.wall());
        // Strips are corrected with what they were cut from.
        let whole = bundle.made_from.unwrap_or(id);
        let mut changes = read.audit_log_of(EntityKind::Bundle, &whole.to_string()).await?;
        changes.retain(|change| change.act == "corrected");
        let corrections = history(&changes, &wall);
        let layout = me.layout();
        Ok(Self { layout, form, bundle, origin, workroom, ledger, promises, corrections, units, wall })
    }

    /// Each form has a key of its own, or a scrap after a pull from the same page would pass for a repetition.
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn key(&self) -> RequestKey {
        RequestKey::new()
    }

    fn is(&self, state: &str) -> bool {
        self.bundle.state.word() == state
    }

    fn when(&self, at: &Instant) -> String {
        dates::moment(*at, &self.wall)
    }

    /// What was pulled and not put back.
    fn out(&self) -> Mass {
        let standing = self.ledger.iter().filter(|entry| entry.reversed_by.is_none());
        -standing
            .filter(|entry| matches!(entry.reason, Reason::Pulled | Reason::PutBack))
            .map(|entry| entry.change_mg)
            .sum::<Mass>()
    }

    fn spare(&self) -> String {
        spare(self.bundle.balance_mg, &self.promises).show(self.units)
    }

    /// Whether cloth was pulled or cut, so that it can't be unwashed.
    fn was_taken(&self) -> bool {
        let taken = |entry: &Entry| matches!(entry.reason, Reason::Pulled | Reason::Cut);
        self.ledger.iter().any(|entry| taken(entry) && entry.reversed_by.is_none())
    }

    /// What strips are usually cut to.
    fn usual_width(&self) -> String {
        format!("{} is usual for bed sheets.", Length::inches(1.5).show(self.units))
    }

    /// Of strips: how wide they are, and the id and tag of the bundle they are of.
    fn strips(&self) -> Option<(String, BundleId, i64)> {
        let (width, origin) = (self.bundle.strip_width_nm?, self.origin.as_ref()?);
        Some((width.show(self.units), origin.id, origin.tag))
    }

    fn may_be_undone(&self, entry: &Entry) -> bool {
        entry.may_be_undone() && entry.change_mg <= self.bundle.balance_mg
    }

    fn facts(&self) -> Vec<(&'static str, String)> {
        let (b, units) = (&self.bundle, self.units);
        let kind = b.kind.facts();
        let mut facts = vec![
            ("Cloth", kind.title.to_owned()),
            (
                if b.made_from.is_some() { "Cut" } else { "Came in" },
                format!("{}, {}", self.when(&b.made_at), b.first_mg.show(units)),
            ),
        ];
        if let Some(sheets) = b.sheets {
            let size = match (b.sheet_length_nm, b.sheet_width_nm) {
                (Some(length), Some(width)) => {
                    let label = if b.sheet_size_labelled { ", by the label" } else { "" };
                    format!(" of {} × {}{label}", length.show(units), width.show(units))
                }
                _ => String::new(),
            };
            let hems = match b.hems() {
                Some(Hems { hem, top: Some(top) }) => {
                    format!("; hems {} and {}", hem.show(units), top.show(units))
                }
                Some(Hems { hem, top: None }) => format!("; hems {}", hem.show(units)),
                None => String::new(),
            };
            facts.push(("Sheets", format!("{sheets}{size}{hems}")));
        }
        let usual = [kind.low, kind.high].map(Areal::from_gsm);
        let [low, high] = usual.map(|areal| areal.show(units));
        let usual_words = format!("{low} to {high}, usual for the kind");
        // Strips are of the same cloth as what they were cut from, whose sheets may have been measured.
        let (whole, place) = match &self.origin {
            Some(origin) => (origin, format!("on bundle {}", origin.tag)),
            None => (b, "here".to_owned()),
        };
        let (low_high, shown) = match whole.weighed(&self.workroom).map(|weighed| weighed.areal(units)) {
            Some(Ok(it)) => ([it.low, it.high], format!("{}; measured {place}", it.show(units))),
            Some(Err(why)) => (usual, format!("{usual_words}. As measured {place} it makes no sense: {why}")),
            None => (usual, usual_words),
        };
        facts.push(("Weight per area", shown));
        if b.balance_mg > Mass::ZERO {
            let (what, width) = match b.strip_width_nm {
                Some(width) => ("About", width),
                None => ("Makes about", Length::inches(1.5)),
            };
            facts.push((what, strip(low_high, b.usable.0.of(b.balance_mg), width, units)));
            if b.made_from.is_none() {
                let net = b.strip().show(units);
                facts.push(("Counted as", format!("{net} of strip: {}", b.usable.0.words())));
            }
        }
        if !b.place.is_empty() {
            facts.push(("Place", b.place.clone()));
        }
        if !b.source.is_empty() {
            facts.push(("Came from", b.source.clone()));
        }
        if !b.note.is_empty() {
            facts.push(("Note", b.note.clone()));
        }
        facts
    }

    /// How the weight per area came about, where sheets were counted and one was measured.
    fn areal_worked(&self) -> Option<String> {
        let weighed = self.bundle.weighed(&self.workroom)?;
        let (cloth, _) = unfolded(weighed.length, weighed.hems, weighed.size);
        let [length, cloth, width] =
            [weighed.length, cloth, weighed.width].map(|length| length.show(self.units));
        let mass = weighed.mass.show(self.units);
        let hems = match (weighed.size, weighed.hems) {
            (SizeFrom::Label, _) => "a label names the size before hemming",
            (SizeFrom::Measured, Some(_)) => "its hems unfolded",
            (SizeFrom::Measured, None) => "usual hems unfolded, since nobody measured them",
        };
        Some(format!(
            "{mass} / ({} × {cloth} × {width}): {length} long, {hems}. The scale may be off by {}, the tape by {}; sheets of one \
             lot differ by about {} %, seams and creases add as much again.",
            weighed.sheets,
            weighed.scale.show(self.units),
            weighed.tape.show(self.units),
            Weighed::SHEETS_DIFFER * 100.0,
        ))
    }

    /// What was read off the scale, for the ledger's table.
    fn weighed(&self, entry: &Entry) -> String {
        match (entry.typed.is_empty(), entry.tare_mg) {
            (true, _) => String::new(),
            (false, Mass::ZERO) => entry.typed.clone(),
            (false, tare) => format!("{}, basket {}", entry.typed, tare.exact(self.units)),
        }
    }

    /// What the wash took, or brought, of what was there before it.
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn shrinkage(&self, entry: &Entry) -> Option<String> {
        let before = entry.after_mg - entry.change_mg;
        let percent = entry.change_mg.ratio(before) * 100.0;
        let word = if percent < 0.0 { "less" } else { "more" };
        (entry.reason == Reason::Wash && before > Mass::ZERO)
            .then(|| format!("{:.1} % {word}", percent.abs()))
    }

    fn change(&self, entry: &Entry) -> String {
        let shown = entry.change_mg.show(self.units);
        if entry.change_mg > Mass::ZERO { format!("+{shown}") } else { shown }
    }
}

/// What of a bundle is promised and not yet pulled.
async fn open_promises(read: &mut Read, id: BundleId) -> Result<Vec<Promise>> {
    let all = read.promises_from(id).await?;
    Ok(all.into_iter().filter(Promise::is_open).collect())
}

/// How much strip of a width weights of strip from low to high make, for an areal mass from low to high.
fn strip([low, high]: [Areal; 2], mass: [Mass; 2], width: Length, units: Units) -> String {
    let long = |areal: Areal, mass| areal.strip_length(mass, width).unwrap_or_default().show_long(units);
    let (least, most) = (long(high, mass[0]), long(low, mass[1]));
    let length = if least == most { most } else { format!("{least} to {most}") };
    format!("{length} of strip {} wide", width.show(units))
}

/// Where a tag's code leads: a short address makes a coarse code, which reads from farther away.
pub(super) async fn by_tag(mut read: Read, Path(tag): Path<String>) -> Result<Redirect> {
    let found = match tag.parse() {
        Ok(tag) => read.bundle_tagged(tag).await?,
        Err(_) => None,
    };
    Ok(Redirect::to(&format!("/cloth/{}", found.ok_or_else(BundleId::none)?)))
}

pub(super) async fn show(me: CurrentUser, mut read: Read, Id(id): Id<BundleId>) -> Result<BundlePage> {
    let form = Form::blank(me.units());
    BundlePage::load(&mut read, &me, id, form).await
}
