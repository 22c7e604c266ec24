//! The warp card: one page of paper, Letter or A4, black and white first.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::response::{IntoResponse as _, Response};

use super::calendar::Calendar;
use super::show::meetings;
use super::spec::Known;
use crate::craft::pattern::Face;
use crate::craft::picture::Ink;
use crate::craft::{ColourId, Plan, Units};
use crate::paper::{CARE, CAUTION, Hatch, first_row};
use crate::store::promises::Promise;
use crate::store::rugs::{Colour, Rug};
use crate::web::papers::printed::Printed;
use crate::web::{App, Me, Result, Shell, qr, show};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/card.html")]
struct CardPage {
    shell: Shell,
    rug: Rug,
    plan: Plan,
    colours: Vec<Colour>,
    calendar: Calendar,
    picture: String,
    qr: String,
    promises: Vec<Promise>,
    printed: String,
    units: Units,
}

impl CardPage {
    /// A colour with its letter, as on the PDF.
    fn colour(&self, id: &ColourId) -> String {
        let at = usize::from(*id);
        format!("{} {}", Hatch::letter(at), self.colours[at].name)
    }

    fn total_time(&self) -> String {
        let m = &self.plan.minutes;
        (m.prepare.expected + m.weave.expected + m.finish.expected).show()
    }

    /// Whether the page needs smaller print to stay one page.
    fn dense(&self) -> bool {
        self.plan.pattern.bands.len() + self.plan.weft.colours.len() > 9 || self.calendar.entries.len() > 9
    }
}

pub(super) async fn card(State(app): State<App>, me: Me, path: Path<String>) -> Result<Response> {
    let rug = super::load(&app, &me, path).await?;
    let meetings = meetings(&app, &rug).await?;
    let units = me.units();
    let (known, _) = super::known(&app, &rug, units).await?;
    let calendar = Calendar::of(&rug, &known, &meetings, app.clock.now(), &me.zone(), units);
    let Known { planned, plan, .. } = known;
    let page = CardPage {
        shell: me.shell(),
        calendar,
        picture: planned.picture(&plan, Face::Front, Ink::Hatch, "card")?,
        promises: app.store.read().await?.promises_to(rug.id).await?,
        qr: qr::svg(&Printed::of(&rug, &plan).link(&me.origin, &rug))?,
        printed: show::day(me.today(&app)),
        colours: planned.colours,
        rug,
        plan,
        units,
    };
    Ok(page.into_response())
}
