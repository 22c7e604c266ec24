//! A frame to build: nail places, wooden members, rods to buy. Full-size templates are made elsewhere, from these places.
use super::bins::{self, Budget, CutError, Cutting, Job, Piece, Stock};
use super::rods::{ToBuy, to_buy};
use crate::planning::frame::{Frame, FrameError, FrameSizes};
use crate::planning::rods;
use crate::planning::warp::nail_rows::Places;
use crate::units::{Length, Units};
use thiserror::Error;

/// Shown wherever a frame is to be built.
pub const CAUTION: &str = "Saws, drills and hammers cut and bruise, and nails fly: wear eye protection, clamp the wood, drill \
                           thin holes first so that it doesn't split. Rod ends at eye height need caps. Your workroom's \
                           rules and the tools' own instructions come first.";

/// How the members meet at the corners.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Corner {
    /// Each is halved over the other: all members reach from outside to outside.
    HalfLap,
    /// The side members stand between the end members.
    Butt,
}

/// A frame as it is wished for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wish {
    /// Between the edge rods; the outer nails stand there.
    pub width: Length,
    /// Between the nail rows.
    pub span: Length,
    /// Between neighbouring nails; the nearest that fills the width evenly is taken.
    pub pitch: Length,
    /// Thickness of a nail.
    pub nail: Length,
    /// Whether the second row is set off by half a pitch, with one nail less.
    pub staggered: bool,
    /// Width of the members' face; a nail row runs along the middle of it.
    pub timber: Length,
    /// Between the outer nails and the side members, for hands and rod ties.
    pub clearance: Length,
    /// How the corners are made.
    pub corner: Corner,
    /// Length of the boards that members are cut from.
    pub board: Length,
    /// What the saw takes.
    pub kerf: Length,
}

const SIXTEENTH: i64 = 25_400_000 / 16;
const fn sixteenths(n: i64) -> Length {
    Length::from_nm(n * SIXTEENTH)
}

impl Wish {
    /// A frame of that size: 9/16 in pitch and nails 0.1 in thick, as on the usual small frame; 1½ in timber from 8 ft boards,
    /// 1/8 in kerf (common practice, no source); 1½ in clearance, half-lapped (reasoned estimate).
    pub fn usual(width: Length, span: Length) -> Self {
        Self {
            width,
            span,
            pitch: sixteenths(9),
            nail: Length::from_nm(2_540_000),
            staggered: false,
            timber: sixteenths(24),
            clearance: sixteenths(24),
            corner: Corner::HalfLap,
            board: sixteenths(16 * 96),
            kerf: sixteenths(2),
        }
    }
}

/// A frame to build.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewFrame {
    /// Between neighbouring nails, to the nearest nanometre; mark by the places, so that nothing adds up.
    pub pitch: Length,
    /// The places of the nails of both rows, from the left end of an end member.
    pub rows: [Vec<Length>; 2],
    /// Length of each of the two end members, which carry the nails.
    pub end_member: Length,
    /// Length of each of the two side members.
    pub side_member: Length,
    /// From outside to outside across the rug, and along it.
    pub outside: (Length, Length),
    /// From corner to opposite corner outside; both ways alike when the frame is square.
    pub diagonal: Length,
    /// How the boards are cut.
    pub boards: Cutting<u32>,
    /// The shortest edge rod.
    pub rod: Length,
    /// Bars to buy for two rods.
    pub rods: ToBuy,
}

/// Why no frame can be built so.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NewFrameError {
    /// The frame's own sizes.
    #[error(transparent)]
    Frame(#[from] FrameError),
    /// The pitch isn't a distance.
    #[error("Pitch: {given} is out of range: from {min} to {max} is allowed.")]
    Pitch {
        /// As given.
        given: String,
        /// The least.
        min: String,
        /// The most.
        max: String,
    },
    /// Timber, clearance or board.
    #[error("{what}: {given} is out of range: from {min} to {max} is allowed.")]
    Wood {
        /// Of what.
        what: &'static str,
        /// As given.
        given: String,
        /// The least.
        min: String,
        /// The most.
        max: String,
    },
    /// Members or rods are longer than what they are cut from.
    #[error("{what}: {why}")]
    Cutting {
        /// Members or rods.
        what: &'static str,
        /// What is wrong.
        why: CutError,
    },
}

impl NewFrame {
    /// The frame for a wish: `round(width / pitch) + 1` nails spread evenly over the width.
    ///
    /// # Errors
    /// [`NewFrameError`] names the size that is out of range, in the person's units.
    pub fn of(wish: &Wish, units: Units) -> Result<Self, NewFrameError> {
        let (width, span) = (wish.width, wish.span);
        check(wish, units)?;
        let nails = (width.ratio(wish.pitch).round() as u32).saturating_add(1);
        let sizes = FrameSizes { span, width, nails, pitch: None, nail_diameter: Some(wish.nail) };
        let frame = Frame::new(sizes, units)?;
        let outside = (width + (wish.clearance + wish.timber) * 2, span + wish.timber);
        let first = wish.clearance + wish.timber;
        let place = |halves: u32| first + width.scale(f64::from(halves) / f64::from(2 * (nails - 1)));
        let row = |from: u32| (from..=2 * (nails - 1) - from).step_by(2).map(place).collect();
        let side_member = match wish.corner {
            Corner::HalfLap => outside.1,
            Corner::Butt => span - wish.timber,
        };
        let job = Job {
            stock: vec![Stock { length: wish.board, count: None }],
            pieces: [outside.0, side_member].map(|length| Piece { length, count: 2 }).to_vec(),
            kerf: wish.kerf,
        };
        let cut = |what| move |why| NewFrameError::Cutting { what, why };
        let rod = rods::least_length(span);
        Ok(Self {
            pitch: frame.pitch(),
            rows: [row(0), row(u32::from(wish.staggered))],
            end_member: outside.0,
            side_member,
            outside,
            diagonal: Length::millimetres(outside.0.mm().hypot(outside.1.mm())),
            boards: bins::fewest_bars(&job, Budget::USUAL).map_err(cut("Members"))?,
            rod,
            rods: to_buy(&[Piece { length: rod, count: 2 }], Length::ZERO).map_err(cut("Rods"))?,
        })
    }

    /// Between outer nails from corner to corner, both ways, where the rows stand so far apart.
    pub fn nail_diagonals(&self, span: Length) -> Option<[Length; 2]> {
        let [near, far] = self.rows.clone();
        Places { near, far }.diagonals(span)
    }

    /// Nails in both rows together.
    pub fn nails(&self) -> usize {
        self.rows.iter().map(Vec::len).sum()
    }
}

fn check(wish: &Wish, units: Units) -> Result<(), NewFrameError> {
    let (min, max) = (Frame::MIN_PITCH, Frame::MAX_PITCH);
    if !(min..=max).contains(&wish.pitch) {
        let [given, min, max] = [wish.pitch, min, max].map(|length| length.exact(units));
        return Err(NewFrameError::Pitch { given, min, max });
    }
    let inches = |inches: f64| Length::inches(inches);
    for (what, given, min, max) in [
        ("Timber width", wish.timber, inches(0.5), inches(6.0)),
        ("Clearance", wish.clearance, Length::ZERO, inches(12.0)),
        ("Board", wish.board, inches(12.0), inches(480.0)),
        ("Kerf", wish.kerf, Length::ZERO, inches(0.5)),
    ] {
        if !(min..=max).contains(&given) {
            let [given, min, max] = [given, min, max].map(|length| length.exact(units));
            return Err(NewFrameError::Wood { what, given, min, max });
        }
    }
    Ok(())
}
