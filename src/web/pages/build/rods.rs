//! Rods to buy: what the frames there are and more of them need, against the rods owned, cut from bars as they are sold.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::{App, CurrentUser, Form, Layout, QueryData, Result};
use crate::drawing::bars as bar_picture;
use crate::optimize::bins::{CutError, Piece};
use crate::optimize::rod_stock::{Served, serve};
use crate::optimize::rods::{ToBuy, to_buy};
use crate::planning::frame::Frame;
use crate::planning::rods::{OVERHANG, STOCK_INCHES, least_length};
use crate::store::Read;
use crate::store::rods::Rod;
use crate::store::rugs::FrameSize;
use crate::units::{Length, Units};
use crate::web::http::answer::checked;

/// Edge rods of a frame in use: one down each side.
const PAIR: u32 = 2;
/// The most further frames of one span.
const MOST: i64 = 50;

#[derive(askama::Template, WebTemplate)]
#[template(path = "build/rods.html")]
struct RodsPage {
    layout: Layout,
    form: Form,
    spans: Vec<Span>,
    bent: i64,
    told: Option<RodReckoning>,
    units: Units,
}

/// Frames of one span.
struct Span {
    /// The span itself.
    between: Length,
    frames: i64,
    /// The field for how many more.
    field: String,
}

/// What the rods come to.
struct RodReckoning {
    needed: u32,
    served: Served,
    bought: Option<RodPurchase>,
}

/// What to buy, and how it is cut.
struct RodPurchase {
    buy: ToBuy,
    picture: String,
}

impl RodReckoning {
    fn missing(&self) -> u32 {
        self.served.missing.iter().map(|piece| piece.count).sum()
    }

    fn serving(&self) -> u32 {
        self.served.served.iter().map(|served| served.2).sum()
    }
}

impl RodPurchase {
    fn list(&self, units: Units) -> String {
        let bars = self.buy.buy.iter().map(|(length, count)| format!("{count} of {}", length.show(units)));
        bars.collect::<Vec<_>>().join(", ")
    }

    fn bars(&self) -> u32 {
        self.buy.buy.iter().map(|(_, count)| count).sum()
    }

    /// How a kind of bar is cut: how many, of which length, into what, and what is left of each.
    fn cuts(&self, kerf: Length, units: Units) -> Vec<[String; 4]> {
        let row = |bars: &crate::optimize::bins::Bars| {
            let whole = self.buy.stock[bars.stock];
            let used: Length =
                bars.cuts.iter().copied().sum::<Length>() + kerf * (bars.cuts.len() as i64 - 1);
            let cuts: Vec<String> = bars.cuts.iter().map(|cut| cut.show(units)).collect();
            [bars.count.to_string(), whole.show(units), cuts.join(" + "), (whole - used).show(units)]
        };
        self.buy.cutting.bars.iter().map(row).collect()
    }

    fn proven(&self) -> bool {
        self.buy.cutting.is_proven()
    }
}

fn spans(sizes: &[FrameSize]) -> Vec<Span> {
    let mut spans: Vec<Span> = Vec::new();
    for size in sizes {
        match spans.iter_mut().find(|known| known.between == size.span_nm) {
            Some(known) => known.frames += size.frames,
            None => spans.push(Span {
                between: size.span_nm,
                frames: size.frames,
                field: format!("more-{}", size.span_nm.nm()),
            }),
        }
    }
    spans.sort_by_key(|span| span.between);
    spans
}

/// The rods needed, and what the saw takes.
fn read_needs(form: &mut Form, spans: &[Span]) -> Option<(Vec<Piece>, Length)> {
    let mut needs = Vec::new();
    for span in spans {
        let more = if form.is_empty(&span.field) {
            Some(0)
        } else {
            form.count(&span.field, "The number of frames", 0..=MOST)
        };
        let frames = u32::try_from(span.frames + more.unwrap_or(0)).unwrap_or(0);
        needs.push(Piece { length: least_length(span.between), count: frames * PAIR });
    }
    if !form.is_empty("span") || !form.is_empty("frames") {
        let longest = Length::inches(f64::from(STOCK_INCHES[STOCK_INCHES.len() - 1])) - OVERHANG * 2;
        let span = form.length("span", Frame::MIN_SIDE, longest);
        let frames = form.count("frames", "The number of frames", 1..=MOST);
        if let (Some(span), Some(frames)) = (span, frames) {
            needs.push(Piece { length: least_length(span), count: frames as u32 * PAIR });
        }
    }
    let kerf = form.length("kerf", Length::ZERO, Length::inches(0.5));
    form.is_ok().then_some((needs, kerf?))
}

fn reckon(
    needs: &[Piece],
    owned: &[(Length, u32)],
    kerf: Length,
    units: Units,
) -> Result<RodReckoning, CutError> {
    let served = serve(needs, owned);
    let bought = if served.missing.is_empty() {
        None
    } else {
        let buy = to_buy(&served.missing, kerf)?;
        let picture = bar_picture::svg(&buy.cutting.bars, &buy.stock, kerf, units, "bars");
        Some(RodPurchase { buy, picture })
    };
    Ok(RodReckoning { needed: needs.iter().map(|need| need.count).sum(), served, bought })
}

/// Rods that can serve: all that are owned, wherever they are, but bent ones.
fn straight(rods: &[Rod]) -> Vec<(Length, u32)> {
    rods.iter().map(|rod| (rod.length_nm, u32::try_from(rod.owned - rod.bent).unwrap_or(0))).collect()
}

pub(super) async fn look(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    asked: QueryData,
) -> Result<Response> {
    let (spans, rods) = (spans(&read.frame_sizes().await?), read.rods().await?);
    drop(read);
    let units = me.units();
    let mut form =
        asked.form_of(&me).unwrap_or_else(|| Form::blank(units).with("kerf", Length::ZERO.exact(units)));
    let mut told = None;
    if let Some((needs, kerf)) = read_needs(&mut form, &spans) {
        let owned = straight(&rods);
        match app.search(me.id(), move || reckon(&needs, &owned, kerf, units)).await? {
            Ok(reckoned) => told = Some(reckoned),
            Err(CutError::TooLong { .. }) => form.add_error(
                "",
                "A frame here has a longer span than any rod that is sold reaches. Rods for it are made to order.",
            ),
            Err(other) => form.add_error("", other),
        }
    }
    let bent = rods.iter().map(|rod| rod.bent).sum();
    Ok(checked(form.is_ok(), RodsPage { layout: me.layout(), form, spans, bent, told, units }))
}

impl RodsPage {
    /// What the saw takes, as it was read.
    fn kerf(&self) -> Length {
        Length::parse(self.form.value("kerf"), self.units).unwrap_or_default()
    }
}
