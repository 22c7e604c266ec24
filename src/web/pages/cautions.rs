//! The page of cautions and care, open to everybody. What is said beside single plans is in `planning`.
use askama_web::WebTemplate;

use crate::web::http::route::{Route, Who, get};
use crate::web::{CurrentUser, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/cautions", Who::Anyone, page)]
}

/// One caution: what to do, and who knows better.
struct Caution {
    title: &'static str,
    text: &'static str,
    defer: &'static str,
}

const CAUTIONS: &[Caution] = &[
    Caution {
        title: "Cutters and shears",
        text: "Cut away from the hand that holds the cloth. Close a rotary cutter whenever you lay it down, and carry shears by their closed blades.",
        defer: "Who may use which blade, and from what age, is for local rules; a deep cut is for a doctor.",
    },
    Caution {
        title: "Nails and fingers",
        text: "Nail ends scratch and catch sleeves. Wind on with an open hand, keep your face away from the row, and file or cap nails that stand out.",
        defer: "First aid at work has rules of its own where you are: keep to them, and leave wounds to people trained for them.",
    },
    Caution {
        title: "Rods at eye height",
        text: "A steel rod reaches past the frame. Carry it upright, cork or tape its ends, and lay a frame flat when you leave it.",
        defer: "An injured eye is for a doctor at once. Rules of the house and of the place come before this page.",
    },
    Caution {
        title: "Dust from torn cloth",
        text: "Tearing throws lint, most of all from old cotton. Tear near an open window or outdoors, sweep damp, and wear a mask if you cough.",
        defer: "With asthma or an allergy ask your doctor first. Local rules for dust at work come before this page.",
    },
    Caution {
        title: "Long sitting, long gripping",
        text: "Stand up and shake out your hands every half hour. Raise the frame until your shoulders hang loose, and stop when something tingles or hurts.",
        defer: "Pain that stays is for a doctor or a therapist who is licensed for it, not for a class.",
    },
    Caution {
        title: "Rugs that slide",
        text: "A rag rug on a smooth floor slides. Give it a non-slip backing or an underlay, and never lay it at the head of a stair.",
        defer: "Floors that the public walks on fall under local rules; ask the people responsible for them.",
    },
    Caution {
        title: "Heat and rags",
        text: "Loose rags and lint burn well. Keep them away from heaters, irons and candles, and empty the dryer’s filter each time.",
        defer: "The fire rules of the house and the place hold; the fire service knows them.",
    },
    Caution {
        title: "Latex in backings",
        text: "Some non-slip backings hold natural latex, which some people can’t bear on their skin. Read what the maker says, and tell the class before you unroll it.",
        defer: "Whether you are allergic is for a doctor to say.",
    },
    Caution {
        title: "Children and small parts",
        text: "Nails, corks, clips and loose strips go into mouths and round necks. Keep them off the floor, and small children off the table.",
        defer: "Minding children has rules of its own where you are; keep to them.",
    },
];

#[derive(askama::Template, WebTemplate)]
#[template(path = "cautions/page.html")]
struct CautionsPage {
    layout: Layout,
    cautions: &'static [Caution],
}

async fn page(me: Result<CurrentUser>) -> CautionsPage {
    let layout = me.map_or_else(|_| Layout::bare(), |me| me.layout());
    CautionsPage { layout, cautions: CAUTIONS }
}
