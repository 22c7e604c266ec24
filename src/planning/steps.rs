//! What a weaver does, in order, with the time for each. When it is done is for `schedule`.
use super::needs::Needs;
use super::pattern::Pattern;
use crate::units::Minutes;
use serde::Serialize;

/// One kind of act.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum StepKind {
    /// Cut or tear the strips, warp and weft.
    CutStrips,
    /// Join the warp and wind it to a ball.
    JoinWarp,
    /// Wind the warp on, nail to nail.
    WindOn,
    /// Weave one band, or the part of it that lies in one half of a rug woven from both ends.
    Weave {
        /// Which band, counted from 0.
        band: usize,
        /// Rows woven before it.
        from_row: u32,
        /// Rows woven at its end.
        to_row: u32,
    },
    /// Take the rug off and hide the ends.
    TakeOff,
    /// Tie in the fringe.
    Fringe,
    /// Stitch the backing on.
    Backing,
}

impl StepKind {
    /// The key of the working that gives its time.
    pub fn working_key(self) -> String {
        match self {
            Self::CutStrips => "minutes.cut".to_owned(),
            Self::JoinWarp => "minutes.ball".to_owned(),
            Self::WindOn => "minutes.wind_on".to_owned(),
            Self::Weave { band, .. } => format!("minutes.band.{band}"),
            Self::TakeOff => "minutes.take_off".to_owned(),
            Self::Fringe => "minutes.fringe".to_owned(),
            Self::Backing => "minutes.backing".to_owned(),
        }
    }
}

/// One act with its expected time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Step {
    /// What is done.
    #[serde(flatten)]
    pub kind: StepKind,
    /// How long it takes.
    pub minutes: Minutes,
}

/// The steps of a rug; their times add up to its time for preparing, weaving and finishing.
pub(crate) fn steps(needs: &Needs, pattern: &Pattern) -> Vec<Step> {
    let mut steps = vec![Step { kind: StepKind::CutStrips, minutes: needs.time.cut }];
    // A ball of yarn that is long enough is neither joined nor wound.
    if needs.time.ball.get() > 0.0 {
        steps.push(Step { kind: StepKind::JoinWarp, minutes: needs.time.ball });
    }
    steps.push(Step { kind: StepKind::WindOn, minutes: needs.time.wind_on });
    let rows = f64::from(pattern.rows()).max(1.0);
    let steady = needs.time.weave + needs.time.slow * -1.0 + needs.time.turning * -1.0;
    let turns = |from, to| f64::from(pattern.extra_turns_between(from, to));
    let all_turns = turns(0, pattern.rows()).max(1.0);
    let order = pattern.in_weaving_order();
    let mut woven = 0;
    for (i, (band, part)) in order.iter().enumerate() {
        // The slow stretch is counted to the last band, where nearly all of it lies.
        let slow = if i + 1 == order.len() { needs.time.slow } else { Minutes::ZERO };
        let turning = needs.time.turning * (turns(part.from_row, part.to_row) / all_turns);
        let minutes = steady * (f64::from(part.rows()) / rows) + turning + slow;
        let to_row = woven + part.rows();
        steps.push(Step { kind: StepKind::Weave { band: *band, from_row: woven, to_row }, minutes });
        woven = to_row;
    }
    steps.push(Step { kind: StepKind::TakeOff, minutes: needs.time.take_off });
    let extra = [(StepKind::Fringe, needs.time.fringe), (StepKind::Backing, needs.time.backing)];
    steps.extend(
        extra.into_iter().filter(|(_, time)| time.get() > 0.0).map(|(kind, minutes)| Step { kind, minutes }),
    );
    steps
}
