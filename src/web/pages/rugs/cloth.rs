//! Which bundles a rug's cloth is measured from, so that its weights are this cloth's and not the kind's.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use crate::planning::cloth::Kind;
use crate::store::cloth::bundles::Bundle;
use crate::store::cloth::shelf::ShelfFilter;
use crate::store::rugs::Rug;
use crate::store::rugs::cloth::Part;
use crate::store::workroom::Workroom;
use crate::store::{BundleId, Read, RugId};
use crate::units::{Areal, Units};
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::Id;
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, QueryData, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/cloth.html")]
pub(super) struct RugClothPage {
    layout: Layout,
    form: Form,
    rug: Rug,
    /// (value, words) of the bundles that may be chosen.
    warp: Vec<(String, String)>,
    weft: Vec<(String, String)>,
    /// Whether there are more than are offered, so that a search is worth its place.
    long: bool,
    units: Units,
}

impl RugClothPage {
    /// What the kind usually weighs, from low to high.
    fn usual(&self, kind: &Kind) -> String {
        let [low, high] =
            [kind.facts().low, kind.facts().high].map(|gsm| Areal::from_gsm(gsm).show(self.units));
        format!("{low} to {high}")
    }
}

/// So many bundles are offered for a part, the newest of those that the words find, besides what is chosen.
const OFFERED: usize = 40;

/// The shelf's bundles of sheets that were counted, measured and weighed, with what they weigh per area.
struct Measured {
    bundles: Vec<Bundle>,
    workroom: Workroom,
    /// Whether words were looked for, or more was found than is offered.
    long: bool,
}

impl Measured {
    /// What the form's words find for a rug, and what is chosen in the form.
    async fn load(read: &mut Read, rug: &Rug, form: &Form) -> Result<Self> {
        let workroom = read.workroom().await?.ok_or(Error::NotFound("workroom"))?;
        let text: String = form.value("words").chars().take(100).collect();
        let mut long = !text.trim().is_empty();
        let mut bundles: Vec<Bundle> = Vec::new();
        for part in [Part::Warp, Part::Weft] {
            if let Ok(id) = form.value(part.word()).parse::<BundleId>() {
                bundles.extend(read.bundle(id).await?);
            }
        }
        let mut kinds = vec![rug.fields.warp_kind, rug.fields.weft_kind];
        kinds.dedup();
        for kind in kinds {
            // A used-up bundle may still be the one that the rug was cut from.
            let (text, kind) = (text.clone(), Some(kind));
            let filter = ShelfFilter { text, kind, empty: true, measured: true, ..ShelfFilter::default() };
            let mut found = read.bundles(&filter, OFFERED as i64 + 1, 0).await?;
            long |= found.len() > OFFERED;
            found.truncate(OFFERED);
            found.retain(|one| bundles.iter().all(|known| known.id != one.id));
            bundles.extend(found);
        }
        Ok(Self { bundles, workroom, long })
    }

    fn words(&self, bundle: &Bundle, units: Units) -> Option<String> {
        let areal = bundle.weighed(&self.workroom)?.areal(units).ok()?;
        Some(format!("{}, {}: {}", bundle.tag, bundle.colour_name, areal.show(units)))
    }

    fn choices(&self, kind: Kind, units: Units) -> Vec<(String, String)> {
        let of_kind = self.bundles.iter().filter(|bundle| bundle.kind == kind);
        of_kind.filter_map(|bundle| Some((bundle.id.to_string(), self.words(bundle, units)?))).collect()
    }

    /// The bundle that was chosen for a part; `Some(None)` for none.
    #[allow(clippy::option_option, reason = "none is one answer, not understood another")]
    fn read(&self, form: &mut Form, part: Part, kind: Kind) -> Option<Option<BundleId>> {
        let name = part.word();
        if form.is_empty(name) {
            return Some(None);
        }
        let id = form.choice::<BundleId>(name, "a bundle")?;
        let units = form.units();
        let Some(bundle) = self.bundles.iter().find(|bundle| bundle.id == id) else {
            form.add_error(name, "This bundle isn’t here. Choose another.");
            return None;
        };
        if bundle.kind != kind {
            let (is, wants) = (bundle.kind.facts().title, kind.facts().title);
            form.add_error(
                name,
                format!("Bundle {} is {is}; the {name} of this rug is {wants}.", bundle.tag),
            );
            return None;
        }
        match bundle.weighed(&self.workroom).map(|weighed| weighed.areal(units)) {
            Some(Ok(_)) => Some(Some(id)),
            Some(Err(why)) => {
                form.add_error(name, why);
                None
            }
            None => {
                let tag = bundle.tag;
                form.add_error(name, format!("The sheets of bundle {tag} were not counted and measured."));
                None
            }
        }
    }
}

fn page(me: &CurrentUser, rug: Rug, measured: &Measured, form: Form) -> RugClothPage {
    let units = me.units();
    RugClothPage {
        layout: me.layout(),
        warp: measured.choices(rug.fields.warp_kind, units),
        weft: measured.choices(rug.fields.weft_kind, units),
        long: measured.long,
        form,
        rug,
        units,
    }
}

pub(super) async fn choose(
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<RugClothPage> {
    let rug = super::load(&mut read, &me, id).await?;
    let asked = asked.form_of(&me);
    let words = asked.as_ref().map_or("", |form| form.value("words"));
    let mut form = Form::blank(me.units()).with("words", words);
    for cloth in &rug.measured {
        form.set(cloth.part.word(), cloth.bundle_id);
    }
    let measured = Measured::load(&mut read, &rug, &form).await?;
    Ok(page(&me, rug, &measured, form))
}

pub(super) async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let rug = super::load(&mut tx, &me, id).await?;
    let mut form = posted.form_of(&me);
    let measured = Measured::load(&mut tx, &rug, &form).await?;
    let warp = measured.read(&mut form, Part::Warp, rug.fields.warp_kind);
    let weft = measured.read(&mut form, Part::Weft, rug.fields.weft_kind);
    let (Some(warp), Some(weft)) = (warp, weft) else {
        return Ok(invalid(page(&me, rug, &measured, form)));
    };
    let to = format!("/rugs/{id}?said=saved");
    tx.idempotent(form.key, &to).await?;
    tx.set_rug_cloth(id, warp, weft).await?;
    done(tx, &to).await
}
