//! Steps in meetings, minute by minute.
use super::contact::{schedule, slots};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    /// Whole minutes, worked one after the other.
    #[test]
    fn minutes_are_worked_one_after_the_other(
        steps in prop::collection::vec((0_u32..60, 1_u32..90), 0..7), slots in prop::collection::vec(0_u32..80, 0..8),
    ) {
        let minutes: Vec<usize> = slots.iter().enumerate().flat_map(|(i, n)| std::iter::repeat_n(i, *n as usize)).collect();
        let told = schedule(
            &steps.iter().map(|(rows, minutes)| (*rows, f64::from(*minutes))).collect::<Vec<_>>(),
            &slots.iter().map(|minutes| f64::from(*minutes)).collect::<Vec<_>>(),
        );
        let (mut clock, mut lacking, mut woven) = (0, 0, 0);
        // Whole rows of each slot, in sixtieths of nothing: rows · minutes worked / minutes.
        let mut rows_by_slot = vec![0_u32; slots.len()];
        for (i, (rows, needs)) in steps.iter().enumerate() {
            let mine: Vec<usize> = (0..*needs as usize).map_while(|k| minutes.get(clock + k).copied()).collect();
            clock += mine.len();
            lacking += needs - mine.len() as u32;
            prop_assert_eq!(told.0[i].0, mine.first().copied(), "step {} begins", i);
            let ends = (mine.len() == *needs as usize).then(|| mine[mine.len() - 1]);
            prop_assert_eq!(told.0[i].1, ends, "step {} ends", i);
            for (k, slot) in mine.iter().enumerate() {
                let rows = rows * (k as u32 + 1) / needs;
                rows_by_slot[*slot] = rows_by_slot[*slot].max(woven + rows);
            }
            woven += rows;
        }
        for i in 1..rows_by_slot.len() {
            rows_by_slot[i] = rows_by_slot[i].max(rows_by_slot[i - 1]);
        }
        prop_assert!((told.2 - f64::from(lacking)).abs() < 1e-6, "{} lacking, counted {}", told.2, lacking);
        // A row that ends with the slot may count as just not done, by rounding.
        for (told, counted) in told.1.iter().zip(&rows_by_slot) {
            prop_assert!(told <= counted && told + 1 >= *counted, "{:?} {:?}", told, counted);
        }
        if lacking == 0 && !slots.is_empty() {
            prop_assert_eq!(told.1.last(), rows_by_slot.last(), "all rows are done in the end");
        }
    }
}

/// By hand: meetings in their order, home hours after each but the last.
#[test]
fn home_hours_follow_each_meeting_but_the_last() {
    assert_eq!(slots(&[100.0, 120.0, 90.0], None), [(0, false, 100.0), (1, false, 120.0), (2, false, 90.0)]);
    assert_eq!(
        slots(&[100.0, 120.0, 90.0], Some(45.0)),
        [(0, false, 100.0), (0, true, 45.0), (1, false, 120.0), (1, true, 45.0), (2, false, 90.0)]
    );
    assert_eq!(slots(&[100.0], Some(45.0)), [(0, false, 100.0)]);
    assert_eq!(slots(&[], Some(45.0)), []);
}
