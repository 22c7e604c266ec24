//! Which hatch a colour takes where there is no colour: the lighter the cloth, the lighter the hatch. How hatches are drawn is
//! for those who draw them, on pages and on papers; their order and tones are one.
use crate::planning::colour::Hex;

/// How many hatches there are.
pub const COUNT: usize = 14;

/// How much of the ground each hatch covers, about, in the order of their lists: white is 0, all black 1.
pub const TONES: [f64; COUNT] =
    [0.0, 0.55, 0.23, 0.17, 0.29, 0.19, 0.12, 0.44, 0.63, 0.24, 0.76, 0.18, 0.35, 1.0];

/// A hatch for each colour: of two colours the lighter never takes the darker hatch, and each is as near to its colour's
/// tone as the others leave room for. Beyond as many colours as there are hatches, neighbours in lightness share one.
///
/// # Examples
/// ```
/// use thrumhall::drawing::hatch::{TONES, by_lightness};
/// use thrumhall::planning::colour::Hex;
///
/// let colours = [Hex::rgb(0x22_30_5f), Hex::rgb(0xf5_ee_d8), Hex::rgb(0xff_ff_ff)];
/// let [navy, cream, white] = by_lightness(&colours)[..] else { unreachable!() };
/// assert!(TONES[navy] > TONES[cream] && TONES[cream] > TONES[white]);
/// ```
pub fn by_lightness(colours: &[Hex]) -> Vec<usize> {
    let mut hatches: Vec<usize> = (0..COUNT).collect();
    hatches.sort_by(|a, b| TONES[*a].total_cmp(&TONES[*b]));
    let dark = |colour: &Hex| 1.0 - colour.lab().parts()[0] / 100.0;
    let mut order: Vec<usize> = (0..colours.len()).collect();
    order.sort_by(|a, b| dark(&colours[*a]).total_cmp(&dark(&colours[*b])));
    let mut found = vec![0; colours.len()];
    if order.len() > COUNT {
        for (rank, at) in order.iter().enumerate() {
            found[*at] = hatches[rank * COUNT / order.len()];
        }
        return found;
    }
    // The least sum of misfits, hatch by hatch: `best[n]` is that of the first n colours, with the hatch of the last of them.
    let mut best: Vec<Option<(f64, Vec<usize>)>> = vec![None; order.len() + 1];
    best[0] = Some((0.0, Vec::new()));
    for hatch in hatches {
        for n in (1..=order.len()).rev() {
            let Some((misfit, taken)) = &best[n - 1] else { continue };
            let misfit = misfit + (TONES[hatch] - dark(&colours[order[n - 1]])).powi(2);
            if best[n].as_ref().is_none_or(|(before, _)| misfit < *before) {
                let taken = taken.iter().copied().chain([hatch]).collect();
                best[n] = Some((misfit, taken));
            }
        }
    }
    if let Some((_, taken)) = best.swap_remove(order.len()) {
        for (at, hatch) in order.into_iter().zip(taken) {
            found[at] = hatch;
        }
    }
    found
}
