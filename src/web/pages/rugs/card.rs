//! The warp card: one page of paper, Letter or A4, black and white first.
use askama_web::WebTemplate;
use axum::extract::State;

use crate::drawing::qr;
use crate::drawing::rug_face::Ink;
use crate::pdf::{CARE, CAUTION, Hatch, first_row};
use crate::planning::pattern::Face;
use crate::planning::{ColourId, Plan};
use crate::services::rug_calendar::Calendar;
use crate::services::rug_plan::RugPlan;
use crate::store::cloth::promises::Promise;
use crate::store::rugs::{Colour, Rug};
use crate::store::{Read, RugId};
use crate::units::Units;
use crate::units::dates;
use crate::web::http::id::Id;
use crate::web::pages::papers::printed::Printed;
use crate::web::{App, CurrentUser, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/card.html")]
pub(super) struct CardPage {
    layout: Layout,
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

pub(super) async fn card(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
) -> Result<CardPage> {
    let rug = super::load(&mut read, &me, id).await?;
    let meetings = super::meetings(&mut read, &rug).await?;
    let units = me.units();
    let (known, _) = super::known(&mut read, &rug, units).await?;
    let calendar = Calendar::of(&rug, &known, &meetings, app.clock.now(), &me.zone(), units);
    let RugPlan { planned, plan, .. } = known;
    Ok(CardPage {
        layout: me.layout(),
        calendar,
        picture: planned.picture(&plan, Face::Front, Ink::Hatch, "card")?,
        promises: read.promises_to(rug.id).await?,
        qr: qr::svg(&Printed::of(&rug, &plan).link(&me.origin, &rug))?,
        printed: dates::day(me.today(&app)),
        colours: planned.colours,
        rug,
        plan,
        units,
    })
}
