//! Notices: what people were to be told, how each delivery went, and trying one again. Receivers are in `receivers`.
use std::collections::HashMap;

use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use crate::notify::words;
use crate::store::notices::{Delivery, DeliveryState, Notice, Receiver};
use crate::store::{DeliveryId, NoticeId, Read};
use crate::units::dates::{WallClock, moment};
use crate::web::http::answer::done;
use crate::web::http::id::Id;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/notices", Who::Instructor, list),
        post("/notices/deliveries/{id}/again", Who::Instructor, again),
        post("/notices/deliveries/{id}/told", Who::Instructor, told),
    ]
}

/// How many notices the page shows.
const SHOWN: i64 = 100;

/// A delivery as its notice's line shows it.
struct DeliveryLine {
    delivery: Delivery,
    tone: &'static str,
    state: String,
    when: String,
}

impl DeliveryLine {
    fn of(delivery: Delivery, wall: &WallClock) -> Self {
        let tried = delivery.tried_at.map_or_else(String::new, |at| moment(at, wall));
        let (tone, state, when) = match delivery.state {
            DeliveryState::Sent => ("good", "sent".to_owned(), tried),
            DeliveryState::Told => ("good", "you told them".to_owned(), String::new()),
            DeliveryState::GivenUp => ("bad", "given up".to_owned(), tried),
            DeliveryState::Waiting if delivery.attempts == 0 => {
                ("plain", "goes out".to_owned(), String::new())
            }
            DeliveryState::Waiting => {
                let next = format!("again {}", moment(delivery.next_at, wall));
                ("warn", format!("tried {}", times(delivery.attempts)), next)
            }
        };
        Self { delivery, tone, state, when }
    }

    /// Whether it went or goes by mail; what somebody told themselves does not.
    fn by_mail(&self) -> bool {
        self.delivery.by_mail && (self.delivery.attempts > 0 || self.delivery.state != DeliveryState::Told)
    }

    /// Whether it didn't arrive yet and was tried.
    fn stuck(&self) -> bool {
        let open = matches!(self.delivery.state, DeliveryState::Waiting | DeliveryState::GivenUp);
        open && self.delivery.attempts > 0
    }
}

fn times(n: i64) -> String {
    match n {
        1 => "once".into(),
        2 => "twice".into(),
        n => format!("{n} times"),
    }
}

struct NoticeLine {
    notice: Notice,
    at: String,
    subject: String,
    text: String,
    ways: Vec<DeliveryLine>,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "notices/list.html")]
struct NoticesPage {
    layout: Layout,
    lead: String,
    receivers: Vec<Receiver>,
    lines: Vec<NoticeLine>,
    mail: bool,
}

async fn list(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<NoticesPage> {
    let (receivers, notices) = (read.receivers().await?, read.notices(SHOWN).await?);
    let deliveries = read.deliveries(SHOWN).await?;
    let wall = me.wall();
    let mut ways: HashMap<NoticeId, Vec<DeliveryLine>> = HashMap::new();
    for delivery in deliveries {
        ways.entry(delivery.notice_id).or_default().push(DeliveryLine::of(delivery, &wall));
    }
    let line = |notice: Notice| {
        let said = words(&notice.event, wall.hours);
        NoticeLine {
            at: moment(notice.at, &wall),
            subject: said.subject,
            text: said.text,
            ways: ways.remove(&notice.id).unwrap_or_default(),
            notice,
        }
    };
    let lines: Vec<_> = notices.into_iter().map(line).collect();
    let state =
        |wanted| lines.iter().flat_map(|line| &line.ways).filter(|way| way.delivery.state == wanted).count();
    let lead = match (state(DeliveryState::GivenUp), state(DeliveryState::Waiting)) {
        (0, 0) => {
            "Who is told when a frame is overdue, a meeting is called off, or a weaver’s turn comes.".into()
        }
        (0, waiting) => format!("{waiting} on the way, nothing given up."),
        (given_up, 0) => format!("{given_up} given up."),
        (given_up, waiting) => format!("{given_up} given up, {waiting} on the way."),
    };
    Ok(NoticesPage { layout: me.layout(), lead, receivers, lines, mail: app.config.mail })
}

async fn told(State(app): State<App>, me: CurrentUser, Id(id): Id<DeliveryId>) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.mark_handled(id).await?;
    done(tx, "/notices?said=saved").await
}

async fn again(State(app): State<App>, me: CurrentUser, Id(id): Id<DeliveryId>) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.send_again(id).await?;
    done(tx, "/notices?said=sending").await
}
