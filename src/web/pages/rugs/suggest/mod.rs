//! Designs that the shelf covers, for a frame and a few wishes. The search is `optimize`'s; one that is liked fills the form of
//! *Plan a rug*, and nothing is kept before that.
pub(super) mod class;
mod common;
pub(super) mod rests;
mod shown;
mod wishes;

use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use common::{Offer, blank, fault};
use shown::{MOST_BUNDLES, Shown, lacking_words, shown, step};
use wishes::{Asked, WishForm, read};

use crate::optimize::design::{DesignError, KeptBand, Request, Suggestions, USUAL_EFFORT, suggest};
use crate::planning::colour::Hex;
use crate::services::rug_input::RugInput;
use crate::store::Read;
use crate::units::Units;
use crate::web::http::answer::checked;
use crate::web::{App, CurrentUser, Form, Layout, QueryData, Result};

/// Designs at once.
const COUNT: usize = 5;

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/suggest.html")]
struct SuggestPage {
    layout: Layout,
    form: Form,
    wish: WishForm,
    found: Found,
    units: Units,
}

impl SuggestPage {
    /// The address of the same question with a colour kept; none where it is kept already.
    fn with_colour(&self, hex: &Hex) -> Option<String> {
        self.with("build", &hex.to_string())
    }

    /// The same with a band kept.
    fn with_band(&self, kept: &KeptBand) -> Option<String> {
        self.with("keep", &kept.to_string())
    }

    fn with(&self, name: &str, value: &str) -> Option<String> {
        if self.form.values(name).any(|known| known == value) {
            return None;
        }
        // Fields of one name follow each other.
        let asked = self.form.serialize(&[]);
        let more = form_urlencoded::Serializer::new(String::new()).append_pair(name, value).finish();
        Some(format!("/rugs/suggest?{asked}&{more}#designs"))
    }
}

/// What came of asking.
enum Found {
    Unasked,
    /// Nothing, in words.
    Nothing(String),
    Designs {
        shown: Vec<Shown>,
        /// How often others were asked for, once they are again.
        again: u64,
    },
}

/// Asks for designs beside the threads that answer.
async fn search(
    app: &App,
    me: &CurrentUser,
    question: &Asked,
    offer: &Offer,
) -> Result<Result<Suggestions, DesignError>> {
    let (cloth, wishes, learning) =
        (offer.free.cloth.clone(), question.wishes.clone(), offer.learning.clone());
    let (units, weaver, seed) = (me.units(), me.id(), question.seed);
    let plain = RugInput::of(&question.fields, &[], units).map_err(|why| fault(&why))?;
    app.search(me.id(), move || {
        let base = |warp_kind, weft_kind| {
            let mut rug = plain.clone();
            (rug.spec.warp_kind, rug.spec.weft_kind) = (warp_kind, weft_kind);
            learning.apply_learned(&mut rug, weaver, units);
            rug.spec
        };
        suggest(&Request {
            cloth: &cloth,
            wishes: &wishes,
            base: &base,
            count: COUNT,
            most: MOST_BUNDLES,
            step: step(units),
            unlike: &[],
            seed,
            effort: USUAL_EFFORT,
        })
    })
    .await
}

pub(super) async fn page(
    State(app): State<App>,
    me: CurrentUser,
    read_view: Read,
    asked: QueryData,
) -> Result<Response> {
    let offer = Offer::load(read_view, &me).await?;
    let units = me.units();
    let asked = asked.form_of(&me);
    let mut form = asked.clone().unwrap_or_else(|| blank(&offer.choices, units));
    let mut found = Found::Unasked;
    if let Some(question) = asked.and_then(|_| read(&mut form, &offer.choices.sizes)) {
        match search(&app, &me, &question, &offer).await? {
            Err(why) => form.add_error("strip_width", why),
            Ok(Suggestions { lacking: Some(lacking), .. }) => {
                found = Found::Nothing(lacking_words(lacking, units));
            }
            Ok(Suggestions { designs, .. }) => {
                let learnt = (&offer.learning, me.id());
                let one = |(at, design)| {
                    let id = format!("design-{}", at + 1);
                    shown(design, &id, &question.fields, &offer.free, units, learnt)
                };
                let shown: Vec<Shown> = designs.iter().enumerate().map(one).collect::<Result<_>>()?;
                found = Found::Designs { shown, again: question.seed };
            }
        }
    }
    let page = SuggestPage { layout: me.layout(), wish: WishForm::of(&offer, &form), found, units, form };
    Ok(checked(page.form.is_ok(), page))
}
