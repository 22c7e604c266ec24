//! A timetable as somebody would make it by hand: one rug after the other, the most urgent first, each where it is done
//! soonest. It stands where the solver fails or isn't asked.
use super::model::{Choice, Model};

/// Which of the model's choices are taken.
pub(super) fn greedy(model: &Model<'_>) -> Vec<bool> {
    let mut chosen = vec![false; model.choices.len()];
    let mut order: Vec<usize> = model.choices.iter().map(|choice| choice.rug).collect();
    order.dedup();
    order.sort_by_key(|&rug| std::cmp::Reverse(model.priority_of(rug)));
    // Frames in use by kind and meeting, and rods by kind and meeting.
    let mut used: Vec<Vec<usize>> = model.alike.iter().map(|alike| vec![0; alike.busy.len()]).collect();
    let mut rods = model.rods.clone();
    for rug in order {
        let mut own: Vec<usize> =
            (0..model.choices.len()).filter(|&at| model.choices[at].rug == rug).collect();
        own.sort_by_key(|&at| (model.choices[at].to, at));
        let free = |choice: &Choice| {
            let frames = model.alike[choice.alike].frames.len();
            let room = model.held(choice).all(|meeting| used[choice.alike][meeting] < frames);
            let stretch = choice.from as usize - 1..choice.to as usize;
            room && model.rods_of(rug).is_none_or(|kind| rods[kind][stretch].iter().all(|left| *left > 0))
        };
        let Some(at) = own.into_iter().find(|&at| free(&model.choices[at])) else { continue };
        let choice = model.choices[at];
        for meeting in model.held(&choice) {
            used[choice.alike][meeting] += 1;
        }
        if let Some(kind) = model.rods_of(rug) {
            for left in &mut rods[kind][choice.from as usize - 1..choice.to as usize] {
                *left -= 1;
            }
        }
        chosen[at] = true;
    }
    chosen
}
