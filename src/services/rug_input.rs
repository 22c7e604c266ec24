//! From a stored rug to what `planning` computes with, and back to words for what it refuses.
use crate::drawing::rug_face::{Ink, Picture, PictureError, Swatch};
use crate::drawing::ruler::Ruler;
use crate::optimize::panels::sewing::BACKING_MARGIN;
use crate::planning::chart::ChartId;
use crate::planning::colour::Hex;
use crate::planning::pattern::Face;
use crate::planning::settings::{Estimate, Parameter, Sample};
use crate::planning::spec::RugSpec;
use crate::planning::{AtRod, Band, ColourId, Frame, FrameError, FrameSizes, Plan, SpecError};
use crate::services::{Error, Result};
use crate::store::rugs::cloth::{MeasuredCloth, Part};
use crate::store::rugs::{Colour, RugBand, RugFields};
use crate::units::{Length, Units};

/// A rug as `planning` takes it, with its own list of colours.
#[derive(Clone)]
pub struct RugInput {
    pub spec: RugSpec,
    /// By [`ColourId`].
    pub colours: Vec<Colour>,
}

/// Why a rug can't be planned.
#[derive(Debug, thiserror::Error)]
pub enum CantPlan {
    #[error(transparent)]
    Frame(#[from] FrameError),
    #[error(transparent)]
    Spec(#[from] SpecError),
}

impl RugInput {
    /// The rug of these choices.
    pub fn of(f: &RugFields, bands: &[RugBand], units: Units) -> Result<Self, FrameError> {
        let nails = u32::try_from(f.nails).unwrap_or(0);
        let sizes =
            FrameSizes { span: f.span_nm, width: f.width_nm, nails, pitch: f.pitch_nm, nail_diameter: None };
        let mut colours = Vec::<Colour>::new();
        let mut id = |colour: &Colour| {
            let known = colours.iter().position(|c| c == colour);
            known.unwrap_or_else(|| {
                colours.push(colour.clone());
                colours.len() - 1
            }) as ColourId
        };
        let mut charts = Vec::new();
        let bands = bands
            .iter()
            .map(|band| {
                let colours = [id(&band.first), id(&band.other)];
                // In one colour there is no picture.
                let chart = band.chart.as_ref().filter(|_| band.first != band.other).map(|chart| {
                    charts.push(chart.clone());
                    (charts.len() - 1) as ChartId
                });
                let strip = band.strip.filter(|strip| *strip != f.strip_width_nm);
                Band { height: band.height, colours, strip, chart }
            })
            .collect();
        let sample = match (f.sample_length_nm, f.sample_rows) {
            (Some(woven), Some(rows)) => Some(Sample { woven, rows: rows as u32, mass: f.sample_mass_mg }),
            _ => None,
        };
        let making = &f.making;
        let spec = RugSpec {
            rows: making.nail_rows.clone(),
            winding: making.winding.clone(),
            width: making.woven_width_nm,
            from: making.woven_from,
            bands,
            charts,
            strip_width: f.strip_width_nm,
            warp_strip_width: f.warp_strip_nm.filter(|strip| *strip != f.strip_width_nm),
            warp_yarn: f.warp_yarn,
            warp_kind: f.warp_kind,
            weft_kind: f.weft_kind,
            unit_size: f.unit_size as u32,
            at_rod: if f.strands_trade { AtRod::Trade } else { AtRod::Keep },
            fringe: (f.fringe_nm > Length::ZERO).then_some(f.fringe_nm),
            backing: f.backing.then_some(BACKING_MARGIN),
            rugs_before: Some(f.rugs_before as u32),
            sample,
            ..RugSpec::plain(Frame::new(sizes, units)?)
        };
        Ok(Self { spec, colours })
    }

    pub fn plan(&self, units: Units) -> Result<Plan, SpecError> {
        Plan::of(&self.spec, units)
    }

    /// A picture of one face.
    #[expect(
        clippy::redundant_closure_for_method_calls,
        reason = "the method is of a picture of one lifetime, this is of any"
    )]
    pub fn picture(&self, plan: &Plan, face: Face, ink: Ink, id: &str) -> Result<String> {
        self.draw(plan, face, ink, id, |picture| picture.svg())
    }

    /// A picture of the front with a ruler, and the band at hand.
    pub fn picture_ruled(&self, plan: &Plan, ruler: &Ruler<'_>, id: &str) -> Result<String> {
        self.draw(plan, Face::Front, Ink::Colour, id, |picture| picture.svg_ruled(ruler))
    }

    /// A picture of the front with a line where the weaving is after so many rows.
    pub fn picture_at(&self, plan: &Plan, rows: u32, id: &str) -> Result<String> {
        self.draw(plan, Face::Front, Ink::Colour, id, |picture| picture.svg_at(rows))
    }

    fn draw(
        &self,
        plan: &Plan,
        face: Face,
        ink: Ink,
        id: &str,
        drawn: impl FnOnce(&Picture<'_>) -> Result<String, PictureError>,
    ) -> Result<String> {
        let palette = self
            .colours
            .iter()
            .map(|colour| Hex::parse(&colour.hex).map(|hex| Swatch { name: colour.name.clone(), hex }));
        let palette: Vec<Swatch> =
            palette.collect::<Result<_, _>>().map_err(|e| Error::Fault(e.to_string()))?;
        let (pattern, length, width) = (&plan.pattern, plan.length, plan.width);
        let picture = Picture { pattern, length, width, palette: &palette, face, ink, id };
        drawn(&picture).map_err(|e| Error::Fault(e.to_string()))
    }
}

/// The areal masses that were measured for a rug, as inputs of its plan. Sheets that tell nothing are passed over: the
/// kind's range stands.
pub fn measured(f: &RugFields, cloth: &[MeasuredCloth], units: Units) -> Vec<(Parameter, Estimate)> {
    let part = |part| match part {
        Part::Warp => (Parameter::WarpAreal, f.warp_kind),
        Part::Weft => (Parameter::WeftAreal, f.weft_kind),
    };
    // A rug whose cloth was changed to another kind since is no longer cut from that bundle.
    let told = cloth.iter().filter(|cloth| cloth.kind == part(cloth.part).1);
    told.filter_map(|cloth| Some((part(cloth.part).0, cloth.weighed().areal(units).ok()?.setting())))
        .collect()
}
