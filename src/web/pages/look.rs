//! Every part that pages are made of, once, light and dark: for those who carry on.
use askama_web::WebTemplate;
use jiff::civil;

use crate::drawing::rug_small::{self, Stripe};
use crate::planning::colour::Hex;
use crate::units::dates::{self, Hours};
use crate::units::{Length, Mass, Units};
use crate::web::http::route::{Route, Who, get};
use crate::web::{CurrentUser, Form, Layout};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/look", Who::Instructor, look)]
}

/// One of the two looks.
struct Side {
    class: &'static str,
    title: &'static str,
}

impl Side {
    /// A field's name, which on this page stands twice.
    fn id(&self, name: &str) -> String {
        format!("{}-{name}", self.class)
    }
}

const SIDES: [Side; 2] =
    [Side { class: "as-light", title: "Light" }, Side { class: "as-dark", title: "Dark" }];

#[derive(askama::Template, WebTemplate)]
#[template(path = "look/page.html")]
struct LookPage {
    layout: Layout,
    form: Form,
    rug: String,
    units: Units,
    hours: Hours,
}

#[allow(clippy::unused_self, reason = "templates call methods of their page")]
impl LookPage {
    fn sides(&self) -> &'static [Side] {
        &SIDES
    }

    fn length(&self) -> String {
        Length::inches(33.75).show(self.units)
    }

    fn weight(&self) -> String {
        Mass::from_pounds(2.28125).show(self.units)
    }

    fn time(&self) -> String {
        dates::time(civil::time(18, 30, 0, 0), self.hours)
    }
}

async fn look(me: CurrentUser) -> LookPage {
    let mut form = Form::blank(me.units());
    for side in &SIDES {
        form.set(&side.id("wrong"), "33 im");
        form.add_error(&side.id("wrong"), "What is wrong, and what would do.");
        form.set(&side.id("washed"), "yes");
        form.set(&side.id("colour"), "navy");
    }
    let band = |height: f64, first: u32, other: u32| {
        let look = |rgb: u32| Hex::parse(&format!("#{rgb:06x}")).ok();
        Some(Stripe { height: Length::inches(height), first: look(first)?, other: look(other)? })
    };
    let bands = [
        band(6.0, 0x0022_305a, 0x0022_305a),
        band(12.0, 0x0022_305a, 0x00d3_bd97),
        band(8.0, 0x00d3_bd97, 0x009c_4a26),
        band(6.0, 0x0022_305a, 0x0022_305a),
    ];
    let bands: Vec<Stripe> = bands.into_iter().flatten().collect();
    let rug = rug_small::svg(&bands, "navy, sand, rust");
    LookPage { layout: me.layout(), form, rug, units: me.units(), hours: me.wall().hours }
}
