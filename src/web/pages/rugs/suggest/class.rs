//! A design for each of a term's weavers who has no rug yet; those that are ticked become planned rugs. Which cloth serves which of
//! them is promised by the share-out, and not here.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::common::{Offer, blank, fault, rug_fields, size_choices};
use super::shown::{MOST_BUNDLES, Shown, lacking_words, shown, step};
use super::wishes::{Asked, WishForm, read};
use crate::optimize::class_designs::{
    ClassDesigns, ClassRequest, ClassRug, USUAL_CLASS_EFFORT, suggest_for_class,
};
use crate::optimize::design::{DesignBand, DesignError};
use crate::planning::colour::Hex;
use crate::planning::{Kind, RugSpec};
use crate::services::rug_input::RugInput;
use crate::store::rugs::{Rug, RugFields, RugState};
use crate::store::terms::{Enrolled, Term};
use crate::store::{PersonId, Read, RugId, TermId};
use crate::units::Units;
use crate::web::http::answer::{checked, done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::pages::rugs::edit::{MOST_OPEN, too_many_open};
use crate::web::pages::rugs::typed;
use crate::web::{App, CurrentUser, Form, FormData, Layout, QueryData, Result};

/// Looks for each rug of a small class, which is answered sooner.
const EFFORT_EACH: u64 = 800_000;

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/class_designs.html")]
struct ClassPage {
    layout: Layout,
    form: Form,
    term: Term,
    wish: WishForm,
    weavers: Vec<WeaverChoice>,
    /// Rugs of the term that are planned or on a frame already.
    rugs: usize,
    found: Option<FoundClass>,
    /// The question as the address has it, for the form that keeps the answer.
    query: String,
    units: Units,
}

/// A weaver who may be asked for.
struct WeaverChoice {
    id: PersonId,
    name: String,
    chosen: bool,
    /// The name of the field of their own frame's size, and its choices.
    size_field: String,
    sizes: Vec<(String, String)>,
}

/// What was found.
struct FoundClass {
    designs: Vec<WeaverDesign>,
    /// Whom nothing was found for, and why.
    without: Vec<(String, String)>,
    at_most: usize,
    /// The names of the two most alike, and how much they differ.
    alike: Option<(String, String, f64)>,
    again: u64,
}

impl FoundClass {
    fn asked(&self) -> usize {
        self.designs.len() + self.without.len()
    }

    /// What is proven of the number that is covered.
    fn proof(&self) -> String {
        match (self.designs.len(), self.at_most) {
            (found, _) if found == self.asked() => {
                "Each of them has a design, and together these take no more of any bundle than is free."
                    .to_owned()
            }
            (found, most) if found == most => format!(
                "No more than {most} can be covered at once, whatever the designs: by weight, the cloth that is free isn’t enough \
                 for more."
            ),
            (_, most) => format!(
                "By weight, no more than {most} could be covered at once; whether {most} can isn’t proven. Ask again for other \
                 designs, or for smaller frames."
            ),
        }
    }
}

struct WeaverDesign {
    weaver: PersonId,
    name: String,
    shown: Shown,
    /// The form of *Plan a rug* in one line.
    carried: String,
}

/// What the page is made from.
struct ClassData {
    term: Term,
    /// Enrolled, and without a rug to make in this term.
    weavers: Vec<Enrolled>,
    planned: Vec<Rug>,
    offer: Offer,
}

impl ClassData {
    async fn load(read: &mut Read, me: &CurrentUser, id: TermId) -> Result<Self> {
        let term = read.term(id).await?.ok_or_else(TermId::none)?;
        let rugs = read.rugs(None, Some(id)).await?;
        let mut weavers = read.enrolled(id).await?;
        let has =
            |who: PersonId| rugs.iter().any(|rug| rug.weaver_id == who && rug.state != RugState::GivenUp);
        weavers.retain(|one| !has(one.person_id));
        let planned = rugs.into_iter().filter(|rug| rug.state.is_open()).collect();
        Ok(Self { term, weavers, planned, offer: Offer::load_of(read, me).await? })
    }

    /// What the term's rugs look like.
    fn looks(&self) -> Vec<Vec<DesignBand>> {
        let band = |band: &crate::store::rugs::RugBand| {
            let hex = |text: &str| Hex::parse(text).ok();
            let colours = [hex(&band.first.hex)?, hex(&band.other.hex)?];
            Some(DesignBand { height: band.height, colours })
        };
        let looks = self.planned.iter().map(|rug| rug.bands.iter().filter_map(band).collect::<Vec<_>>());
        looks.filter(|bands| !bands.is_empty()).collect()
    }

    /// The weavers who are asked for, each with the plain rug of their frame.
    fn chosen(&self, form: &mut Form, asked: &Asked) -> Vec<(Enrolled, RugFields)> {
        let ticked: Vec<String> = form.values("weaver").map(str::to_owned).collect();
        let mut chosen = Vec::new();
        for weaver in &self.weavers {
            if !ticked.contains(&weaver.person_id.to_string()) {
                continue;
            }
            let own = form.value(&size_field(weaver.person_id)).to_owned();
            if own.is_empty() {
                chosen.push((weaver.clone(), asked.fields.clone()));
                continue;
            }
            let mut with = form.clone().with("size", own);
            match rug_fields(&mut with, &self.offer.choices.sizes) {
                Some(fields) => chosen.push((weaver.clone(), fields)),
                None => form.add_error(
                    &size_field(weaver.person_id),
                    format!("Choose a frame’s size for {}.", weaver.name),
                ),
            }
        }
        if chosen.is_empty() && form.is_ok() {
            form.add_error("weaver", "Tick at least one weaver.");
        }
        chosen
    }
}

fn size_field(who: PersonId) -> String {
    format!("size-{who}")
}

fn design_field(who: PersonId) -> String {
    format!("design-{who}")
}

/// Searches beside the threads that answer.
async fn search(
    app: &App,
    me: &CurrentUser,
    asked: &Asked,
    chosen: &[(Enrolled, RugFields)],
    data: &ClassData,
) -> Result<Result<ClassDesigns, DesignError>> {
    let (units, seed, unlike) = (me.units(), asked.seed, data.looks());
    let (cloth, wishes) = (data.offer.free.cloth.clone(), asked.wishes.clone());
    let learning = data.offer.learning.clone();
    let plain = |(weaver, fields): &(Enrolled, RugFields)| {
        let plain = RugInput::of(fields, &[], units).map_err(|why| fault(&why))?;
        Ok((weaver.person_id, plain))
    };
    let plain: Vec<(PersonId, RugInput)> = chosen.iter().map(plain).collect::<Result<_>>()?;
    app.search(me.id(), move || {
        let base = |(weaver, plain): &(PersonId, RugInput)| {
            let (weaver, plain, learning) = (*weaver, plain.clone(), &learning);
            move |warp_kind: Kind, weft_kind: Kind| -> RugSpec {
                let mut rug = plain.clone();
                (rug.spec.warp_kind, rug.spec.weft_kind) = (warp_kind, weft_kind);
                learning.apply_learned(&mut rug, weaver, units);
                rug.spec
            }
        };
        let bases: Vec<_> = plain.iter().map(base).collect();
        let rugs: Vec<ClassRug> = bases.iter().map(|base| ClassRug { wishes: &wishes, base }).collect();
        suggest_for_class(&ClassRequest {
            cloth: &cloth,
            rugs: &rugs,
            most: MOST_BUNDLES,
            step: step(units),
            unlike: &unlike,
            seed,
            effort: USUAL_CLASS_EFFORT.min(EFFORT_EACH * rugs.len() as u64),
        })
    })
    .await
}

fn told(
    found: &ClassDesigns,
    asked: &Asked,
    chosen: &[(Enrolled, RugFields)],
    data: &ClassData,
    units: Units,
) -> Result<FoundClass> {
    let (mut designs, mut without) = (Vec::new(), Vec::new());
    for (at, ((weaver, fields), own)) in chosen.iter().zip(&found.rugs).enumerate() {
        match own {
            Ok(design) => {
                let learnt = (&data.offer.learning, weaver.person_id);
                let id = format!("design-{}", at + 1);
                let shown = shown(design, &id, fields, &data.offer.free, units, learnt)?;
                let usual = typed::blank(units);
                let own = shown.fields.iter().filter(|(name, value)| usual.value(name) != value);
                let carried = form_urlencoded::Serializer::new(String::new()).extend_pairs(own).finish();
                let (weaver, name) = (weaver.person_id, weaver.name.clone());
                designs.push(WeaverDesign { weaver, name, shown, carried });
            }
            Err(lacking) => without.push((weaver.name.clone(), lacking_words(*lacking, units))),
        }
    }
    let name = |at: usize| chosen[at].0.name.clone();
    let alike = found.most_alike();
    let alike = alike.map(|alike| (name(alike.rugs[0]), name(alike.rugs[1]), alike.difference));
    Ok(FoundClass { designs, without, at_most: found.at_most, alike, again: asked.seed })
}

/// The page, with what is asked answered; `errors` are of the form that keeps the answer.
async fn answered(
    app: &App,
    me: &CurrentUser,
    data: ClassData,
    asked: QueryData,
    errors: &[(String, String)],
) -> Result<ClassPage> {
    let units = me.units();
    let asked = asked.form_of(me);
    let first = asked.is_none();
    let mut form = asked.unwrap_or_else(|| blank(&data.offer.choices, units));
    let mut found = None;
    if let Some(question) = (!first).then(|| read(&mut form, &data.offer.choices.sizes)).flatten() {
        let chosen = data.chosen(&mut form, &question);
        if form.is_ok() {
            match search(app, me, &question, &chosen, &data).await? {
                Err(why) => form.add_error("weaver", why),
                Ok(class) => found = Some(told(&class, &question, &chosen, &data, units)?),
            }
        }
    }
    for (name, message) in errors {
        form.add_error(name, message);
    }
    let ticked: Vec<String> = form.values("weaver").map(str::to_owned).collect();
    let weaver = |one: &Enrolled| WeaverChoice {
        id: one.person_id,
        name: one.name.clone(),
        chosen: first || ticked.contains(&one.person_id.to_string()),
        size_field: size_field(one.person_id),
        sizes: size_choices(&data.offer.choices, units),
    };
    Ok(ClassPage {
        layout: me.layout(),
        wish: WishForm::of(&data.offer, &form),
        weavers: data.weavers.iter().map(weaver).collect(),
        rugs: data.planned.len(),
        found,
        query: form.serialize(&[]),
        units,
        term: data.term,
        form,
    })
}

pub(in crate::web::pages::rugs) async fn page(
    State(app): State<App>,
    me: CurrentUser,
    mut read_view: Read,
    Id(id): Id<TermId>,
    asked: QueryData,
) -> Result<Response> {
    let data = ClassData::load(&mut read_view, &me, id).await?;
    drop(read_view);
    let page = answered(&app, &me, data, asked, &[]).await?;
    Ok(checked(page.form.is_ok(), page))
}

/// Plans the rugs that are ticked, each as its design.
pub(in crate::web::pages::rugs) async fn keep(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    asked: QueryData,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let data = ClassData::load(&mut tx, &me, id).await?;
    let to = format!("/terms/{id}?said=designs");
    let ticked: Vec<String> = form.values("plan").map(str::to_owned).collect();
    if ticked.is_empty() {
        form.add_error("plan", "Tick at least one design.");
    } else {
        tx.idempotent(form.key, &to).await?;
    }
    for who in ticked {
        let Some(weaver) = data.weavers.iter().find(|one| one.person_id.to_string() == who) else {
            form.add_error("plan", "One of those ticked has a rug by now, or is in this term no more.");
            continue;
        };
        let mut rug = typed::blank(me.units());
        let carried = form.deserialize(form.value(&design_field(weaver.person_id)));
        for (name, value) in carried.typed() {
            rug.set(name, value);
        }
        rug.set("term", id);
        let Some((fields, bands)) = typed::read(&mut rug, &data.offer.choices.sizes) else {
            let why = rug.errors().first().map_or_else(String::new, |(_, message)| message.clone());
            form.add_error("plan", format!("{}: {why}", weaver.name));
            continue;
        };
        if tx.open_rugs(weaver.person_id).await? >= MOST_OPEN {
            form.add_error("plan", format!("{}: {}", weaver.name, too_many_open()));
            continue;
        }
        tx.add_rug(RugId::new(), weaver.person_id, &fields, &bands).await?;
    }
    if form.is_ok() {
        return done(tx, &to).await;
    }
    // All that are ticked or none: what was written is let go.
    drop(tx);
    Ok(invalid(answered(&app, &me, data, asked, form.errors()).await?))
}
