//! `solve panels`: a rug of any size from rugs of the frames' sizes.
use super::{Mm, bad, unlike};
use crate::drawing::panels as panel_picture;
use crate::optimize::panels::{
    Among, MOST_TRIED, Panel, Size, Stitch, USUAL_EASE, Wanted, piece_together_within,
};
use crate::units::{Length, Units};
use serde::{Deserialize, Serialize};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"wanted": {"width_mm", "length_mm"}, "sizes": [{"id", "width_mm", "length_mm"}], "tolerance_mm", "ease_mm",
      "most_panels", "narrower": true, "draw": true, "tries"}
Out: {"panels": [{"size", "turned", "left_mm", "top_mm", "width_mm", "length_mm"}], "width_mm", "length_mm",
      "off_mm", "seam_mm", "strip_mm", "thread_mm", "proven", "among", "proven_of_all", "svg"}
Narrower: a frame may also weave an equal share of a wanted side. Strip or thread is for all seams.
Proven is said among arrangements that can be cut edge to edge, in which some seam runs straight across the rug and again
across each part; with up to twelve panels, where they aren't too many, also among those turned like a pinwheel, four parts
round a fifth, part by part: among tells which. Proven_of_all, up to six panels, of any.
Tries: how many pairs of parts are put together before the best so far is given, 1 to 10000000, by default 10000000."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PanelsRequest {
    wanted: SizeInput,
    sizes: Vec<PanelInput>,
    #[serde(default = "usual_tolerance")]
    tolerance_mm: Mm,
    #[serde(default = "usual_ease")]
    ease_mm: Mm,
    #[serde(default = "usual_most")]
    most_panels: usize,
    #[serde(default, deserialize_with = "super::or_usual")]
    narrower: bool,
    #[serde(default, deserialize_with = "super::or_usual")]
    draw: bool,
    tries: Option<u32>,
}

fn usual_ease() -> Mm {
    Mm(USUAL_EASE)
}

/// 1 in, as the page has it.
fn usual_tolerance() -> Mm {
    Mm(Length::inches(1.0))
}

fn usual_most() -> usize {
    12
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct SizeInput {
    width_mm: Mm,
    length_mm: Mm,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PanelInput {
    id: String,
    width_mm: Mm,
    length_mm: Mm,
}

#[derive(Serialize)]
pub(super) struct PanelsResponse<'a> {
    panels: Vec<PanelsPanel<'a>>,
    width_mm: Mm,
    length_mm: Mm,
    off_mm: Mm,
    seam_mm: Mm,
    strip_mm: Mm,
    thread_mm: Mm,
    proven: bool,
    /// What was looked at.
    among: &'static str,
    proven_of_all: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    svg: Option<String>,
}

#[derive(Serialize)]
struct PanelsPanel<'a> {
    size: &'a str,
    turned: bool,
    left_mm: Mm,
    top_mm: Mm,
    width_mm: Mm,
    length_mm: Mm,
}

pub(super) fn answer(asked: &PanelsRequest) -> anyhow::Result<PanelsResponse<'_>> {
    unlike("size", asked.sizes.iter().map(|size| &size.id)).map_err(|why| bad("panels", &why))?;
    let sizes: Vec<Size> =
        (asked.sizes.iter()).map(|size| Size { width: size.width_mm.0, length: size.length_mm.0 }).collect();
    let tries = asked.tries.unwrap_or(MOST_TRIED);
    if !(1..=MOST_TRIED).contains(&tries) {
        return Err(bad("panels", &format!("tries: from 1 to {MOST_TRIED} is allowed.")).into());
    }
    let wanted = Wanted {
        size: Size { width: asked.wanted.width_mm.0, length: asked.wanted.length_mm.0 },
        tolerance: asked.tolerance_mm.0,
        ease: asked.ease_mm.0,
        most: asked.most_panels,
        narrower: asked.narrower,
    };
    let arrangement =
        piece_together_within(&sizes, &wanted, Units::Metric, tries).map_err(|e| bad("panels", &e))?;
    let names: Vec<String> = asked.sizes.iter().map(|size| size.id.clone()).collect();
    let panel = |panel: &Panel| PanelsPanel {
        size: &asked.sizes[panel.size].id,
        turned: panel.turned,
        left_mm: Mm(panel.left),
        top_mm: Mm(panel.top),
        width_mm: Mm(panel.width),
        length_mm: Mm(panel.length),
    };
    Ok(PanelsResponse {
        panels: arrangement.panels.iter().map(panel).collect(),
        width_mm: Mm(arrangement.size.width),
        length_mm: Mm(arrangement.size.length),
        off_mm: Mm(arrangement.off),
        seam_mm: Mm(arrangement.seam),
        strip_mm: Mm(arrangement.sewing(Stitch::STRIP)),
        thread_mm: Mm(arrangement.sewing(Stitch::THREAD)),
        proven: arrangement.proven,
        among: arrangement.among.name(),
        proven_of_all: arrangement.proven && arrangement.among == Among::All,
        svg: asked.draw.then(|| panel_picture::svg(&arrangement, &names, Units::Metric, "panels")),
    })
}
