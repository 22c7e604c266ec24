//! Whether the warp's bundles have room beside each other. How thick they are is `weft`'s to say, as for all bundles of strip.
use super::warp::yarn::Yarn;
use super::weft;
use crate::units::{Length, Units};
use thiserror::Error;

/// The warp's bundles are wider than their room, so that the rug can't be woven.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "{what}: packed as close as they go, {strands} strands of {strip} fill {filled}, \
     and the rug is {width} wide. {remedy}"
)]
pub struct Jammed {
    what: &'static str,
    strands: u32,
    strip: String,
    filled: String,
    width: String,
    remedy: String,
}

/// The warp's strands and the width that they share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    pub(super) width: Length,
    pub(super) strands: u32,
    /// Strands that are passed together.
    pub(super) unit_size: u32,
    /// How wide the strips are; nothing for yarn.
    pub(super) strip: Option<Length>,
    /// How thick a strand's bundle is.
    pub(super) thickness: Length,
}

impl Room {
    /// From this part of the width on the strands, laid side by side, leave too little for the weft to pass between them with
    /// ease; reasoned estimate.
    const CLOSE: f64 = 0.9;

    /// What the strands fill with those of each unit packed to one round bundle, `√q` times as thick as one strand's.
    fn packed(&self) -> Length {
        let units = weft::units(self.strands, self.unit_size);
        self.thickness.scale(f64::from(self.unit_size).sqrt() * f64::from(units))
    }

    /// The widest strip, in whole eighths of an inch or millimetres, whose units fit packed: a bundle is as thick as the
    /// square root of the strip's width.
    fn widest(&self, strip: Length, units: Units) -> Length {
        let step = if units == Units::Metric { Length::millimetres(1.0) } else { Length::inches(0.125) };
        let most = strip.scale(self.width.ratio(self.packed()).powi(2));
        Length::from_nm(most.nm() / step.nm() * step.nm())
    }

    /// The thickest yarn that fits, in whole tenths of a millimetre.
    fn thickest(&self, filled: Length) -> String {
        let tenths = (self.thickness.scale(self.width.ratio(filled)).mm() * 10.0).floor();
        if tenths < 2.0 {
            return "No yarn is thin enough: leave nails out.".to_owned();
        }
        format!("The thickest that fits is {:.1} mm.", tenths / 10.0)
    }

    /// Refuses a warp whose bundles are wider than their room: a unit's strands may lie upon each other and pack to one
    /// bundle, but no closer. A limit of the kind of published check 10.9, where threads that touch can be beaten no closer.
    ///
    /// # Errors
    /// [`Jammed`] names the widest strip that fits, unless it is narrower than `least`, or the thickest yarn.
    pub(super) fn check(&self, least: Length, units: Units) -> Result<(), Jammed> {
        let filled = self.packed();
        if filled <= self.width {
            return Ok(());
        }
        let (what, remedy) = match self.strip.map(|strip| self.widest(strip, units)) {
            None => ("The warp's yarn is too thick for its room", self.thickest(filled)),
            Some(widest) => (
                "The warp's strips are too wide for their room",
                if widest >= least {
                    format!("The widest strip that fits is {}.", widest.show(units))
                } else {
                    "No strip is narrow enough: leave nails out.".to_owned()
                },
            ),
        };
        let strip =
            self.strip.map_or_else(|| Yarn::show_thickness(self.thickness), |strip| strip.show(units));
        let [filled, width] = [filled, self.width].map(|length| length.show(units));
        Err(Jammed { what, strands: self.strands, strip, filled, width, remedy })
    }

    /// Whether a warp that isn't jammed lies so close that weaving it is hard.
    pub(super) fn close(&self) -> bool {
        self.thickness.scale(f64::from(self.strands)).ratio(self.width) > Self::CLOSE
    }
}
