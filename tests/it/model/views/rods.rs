//! Rods: owned, out, bent and here, by size.
use super::{Part, Seen};
use crate::model::house::{inches, rod_size};
use crate::model::state::State;

pub fn list(state: &State) -> Seen {
    let mut sizes: Vec<usize> = (0..state.rods.len()).collect();
    sizes.sort_by_key(|&n| state.rods[n].length);
    let row = |&n: &usize| {
        let rod = &state.rods[n];
        let counts =
            [state.rods_in(n), state.rods_out(n), rod.bent, rod.owned].map(|count| count.to_string());
        [rod_size(rod.length), inches(rod.length - 3 * 8)].into_iter().chain(counts).collect()
    };
    Seen::Html(vec![Part::Rows("main tbody tr", sizes.iter().map(row).collect())])
}

pub fn one(state: &State, rod: usize) -> Seen {
    let it = &state.rods[rod];
    let counts = [state.rods_in(rod), state.rods_out(rod), it.bent, it.owned];
    Seen::Html(vec![Part::Texts(".stats .stat b", counts.iter().map(i64::to_string).collect())])
}
