//! Time goes on: by minutes, to the edges of days, to the end of somebody's session.
use jiff::{SignedDuration, Timestamp, ToSpan as _};
use proptest::prelude::*;

use super::{Pick, pick};
use crate::model::state::State;

#[derive(Clone, Copy, Debug)]
pub enum Move {
    Minutes(i64),
    /// One second before the workroom's next midnight, or one after it.
    Midnight {
        after: bool,
    },
    Days(i64),
    /// One second before a session ends, or the very moment.
    SessionEnds {
        which: Pick,
        over: bool,
    },
}

pub fn drawn() -> impl Strategy<Value = Move> {
    prop_oneof![
        3 => (1_i64..180).prop_map(Move::Minutes),
        4 => any::<bool>().prop_map(|after| Move::Midnight { after }),
        4 => (1_i64..9).prop_map(Move::Days),
        1 => (any::<Pick>(), any::<bool>()).prop_map(|(which, over)| Move::SessionEnds { which, over }),
    ]
}

impl Move {
    /// When it is then; time never goes back.
    pub fn to(self, state: &State) -> Timestamp {
        let second = SignedDuration::from_secs(1);
        let to = match self {
            Self::Minutes(minutes) => state.now + minutes.minutes(),
            Self::Midnight { after } => {
                let next = state.local().tomorrow().and_then(|day| day.start_of_day()).unwrap().timestamp();
                if after { next + second } else { next - second }
            }
            Self::Days(days) => state.now + (days * 24).hours(),
            Self::SessionEnds { which, over } => {
                let open: Vec<_> = state.sessions.iter().filter(|s| !s.ended && s.ends > state.now).collect();
                match pick(which, open.len()) {
                    None => state.now,
                    Some(at) if over => open[at].ends,
                    Some(at) => open[at].ends - second,
                }
            }
        };
        to.max(state.now)
    }
}
