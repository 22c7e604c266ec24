//! What a rug costs where the class says what it pays: rods, liner, thread, yarn. Cloth is given and counts for nothing.
use super::plan::Plan;
use crate::units::{Length, Mass};
use serde::{Deserialize, Serialize};

/// An amount of money in hundredths of whatever the class pays in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Money(pub i64);

impl Money {
    /// The most that one price may be, a hundred thousand.
    pub const MOST: Self = Self(10_000_000);

    /// Reads `4`, `4.5`, `4.50` or `4,50`: whole hundredths, from nothing to [`Money::MOST`].
    pub fn parse(text: &str) -> Option<Self> {
        let (whole, part) = text.split_once(['.', ',']).unwrap_or((text, ""));
        let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        if whole.is_empty() || whole.len() > 6 || part.len() > 2 || !digits(whole) || !digits(part) {
            return None;
        }
        let hundredths: i64 = format!("{part:0<2}").parse().ok()?;
        Some(Self(whole.parse::<i64>().ok()? * 100 + hundredths)).filter(|money| *money <= Self::MOST)
    }

    /// The amount, `4.50`.
    pub fn plain(self) -> String {
        format!("{}.{:02}", self.0 / 100, self.0 % 100)
    }

    /// So many times the amount, to the nearest hundredth.
    fn times(self, factor: f64) -> Self {
        Self((self.0 as f64 * factor).round() as i64)
    }
}

/// A price and how much one gets for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Price<T> {
    /// What is paid.
    pub price: Money,
    /// For how much.
    pub per: T,
}

/// What a class pays. A price that isn't given isn't counted.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Prices {
    /// The money's sign or letters; may be empty.
    pub currency: String,
    /// A bar of rod of that length.
    pub rod: Option<Price<Length>>,
    /// A piece of non-slip liner of that width and length.
    pub liner: Option<Price<(Length, Length)>>,
    /// A spool of thread of that length.
    pub thread: Option<Price<Length>>,
    /// Warp yarn or cord of that weight.
    pub yarn: Option<Price<Mass>>,
}

impl Prices {
    /// Whether no price is given.
    pub fn is_empty(&self) -> bool {
        self.rod.is_none() && self.liner.is_none() && self.thread.is_none() && self.yarn.is_none()
    }

    /// An amount with the money's sign before it, `$4.50`, or its letters after it, `4.50 EUR`.
    pub fn show(&self, money: Money) -> String {
        let letters = self.currency.chars().any(char::is_alphabetic);
        match (self.currency.is_empty(), letters) {
            (true, _) => money.plain(),
            (_, true) => format!("{}\u{a0}{}", money.plain(), self.currency),
            (_, false) => format!("{}{}", self.currency, money.plain()),
        }
    }
}

/// What of a rug is paid for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Paid {
    /// Its edge rods.
    Rods,
    /// The liner stitched on.
    Liner,
    /// The thread for that.
    Thread,
    /// The yarn of its warp.
    Yarn,
}

impl Paid {
    /// Its key in what programs read.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Rods => "rods",
            Self::Liner => "liner",
            Self::Thread => "thread",
            Self::Yarn => "yarn",
        }
    }

    /// In words.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Rods => "Edge rods",
            Self::Liner => "Non-slip liner",
            Self::Thread => "Thread for the backing",
            Self::Yarn => "Warp yarn",
        }
    }
}

/// What a rug costs, part by part.
///
/// # Examples
/// ```
/// use thrumhall::planning::cost::{Cost, Money, Paid, Price, Prices};
/// use thrumhall::planning::{Plan, RugSpec};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// // A bar of 72 in gives both rods of 36 in.
/// let rod = Some(Price { price: Money(450), per: Length::inches(72.0) });
/// let cost = Cost::of(&Plan::of(&RugSpec::plain(frame), Units::Inches)?, None, &Prices { rod, ..Prices::default() });
/// assert_eq!((cost.parts, cost.total), (vec![(Paid::Rods, Money(450))], Money(450)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Cost {
    /// What is paid for and how much.
    pub parts: Vec<(Paid, Money)>,
    /// All together.
    pub total: Money,
}

impl Cost {
    /// The cost of a rug whose backing stays inside it by that margin, where it has one: its share of each bar, piece, spool and
    /// ball, since the rest serves the next rug. Of what is doubtful the take counts. Rods are counted as if bought for it;
    /// where no rod can be cut from the bar they aren't counted at all.
    pub fn of(plan: &Plan, backing: Option<Length>, prices: &Prices) -> Self {
        let rods = prices.rod.and_then(|bar| {
            let from_one = bar.per.nm() / plan.rods.least.nm().max(1);
            (from_one > 0).then(|| bar.price.times(f64::from(plan.rods.count) / from_one as f64))
        });
        let liner = prices.liner.zip(backing).map(|(piece, margin)| {
            let side = |side: Length| (side - margin * 2).metres().max(0.0);
            let (width, length) = piece.per;
            piece.price.times(side(plan.width) * side(plan.length) / (width.metres() * length.metres()))
        });
        let thread = prices.thread.filter(|_| backing.is_some());
        let thread = thread.map(|spool| spool.price.times(plan.finish.thread.p90.ratio(spool.per)));
        let yarn = prices.yarn.zip(plan.warp.yarn);
        let yarn = yarn.map(|(ball, yarn)| ball.price.times(yarn.mass.p90.ratio(ball.per)));
        let parts = [(Paid::Rods, rods), (Paid::Liner, liner), (Paid::Thread, thread), (Paid::Yarn, yarn)];
        let parts: Vec<(Paid, Money)> =
            parts.into_iter().filter_map(|(paid, money)| Some((paid, money?))).collect();
        let total = Money(parts.iter().map(|(_, money)| money.0).sum());
        Self { parts, total }
    }
}
