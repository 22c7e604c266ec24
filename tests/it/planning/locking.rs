//! Which rows hold the loops at the nails.
use super::{frame, inches, plan, small};
use thrumhall::drawing::rug_face::{Ink, Picture, Swatch};
use thrumhall::planning::colour::Hex;
use thrumhall::planning::locking::row_units::RowUnits;
use thrumhall::planning::locking::{EndLocking, Locking};
use thrumhall::planning::notices::Remark;
use thrumhall::planning::pattern::{Band, Face};
use thrumhall::planning::warp::nail_rows::NailRows;
use thrumhall::planning::warp::path::WarpPath;
use thrumhall::planning::warp::winding::{Middle, Winding};
use thrumhall::planning::{RugSpec, WovenFrom};
use thrumhall::units::Units;

fn wound(nails: u32, rows: &NailRows, winding: &Winding) -> WarpPath {
    let places = rows.places(&frame(f64::from(nails - 1).max(4.0), 10.0, nails), Units::Inches).unwrap();
    winding.path(&places, &Middle::Whole).unwrap()
}

fn legs(end: &EndLocking) -> Vec<[u32; 2]> {
    end.loops.iter().map(|held| [held.after, held.after + 1]).collect()
}

fn open(end: &EndLocking, shift: usize) -> usize {
    end.shifts[shift].open.len()
}

fn row(end: &EndLocking) -> Vec<u32> {
    end.row().all().map(|unit| unit.end - unit.start).collect()
}

/// By hand: three nails an end from a corner, strands 1 to 5. Common practice, no source.
#[test]
fn three_nails_by_hand() {
    let locking = Locking::of(&wound(3, &NailRows::Facing, &Winding::default()), 2);
    let Locking { near, far } = &locking;
    assert_eq!((legs(near), legs(far)), (vec![[2, 3], [4, 5]], vec![[1, 2], [3, 4]]));
    assert_eq!(near.loops.iter().map(|held| held.nail.to_string()).collect::<Vec<_>>(), ["near 2", "near 3"]);
    // 12|34|5 locks the near end and not the far, 1|23|45 the far and not the near.
    assert_eq!(
        ([0, 1].map(|shift| open(near, shift)), [0, 1].map(|shift| open(far, shift))),
        ([0, 2], [2, 0])
    );
    assert_eq!((row(near), row(far)), (vec![2, 2, 1], vec![1, 2, 2]));
    assert_eq!(
        locking.text(false, WovenFrom::OneEnd),
        "First row, from the left: the first 2 warp strands, then 2 by 2, the last 1 alone; 3 crossings. It passes through the \
         loop of each near nail."
    );
    assert!(
        locking
            .text(true, WovenFrom::OneEnd)
            .starts_with("Last row, from the left: the first 1 warp strand, then 2 by 2; 3")
    );
    // Turned half round, the far row begins with a whole unit at the weaver's left.
    let turned = locking.text(true, WovenFrom::BothEnds);
    assert!(
        turned.contains(
            "the frame turned, from the left: the first 2 warp strands, then 2 by 2, the last 1 alone"
        ),
        "{turned}"
    );
    assert!(
        locking.change(WovenFrom::BothEnds).unwrap().contains("one strand aside of the rows from the start")
    );
}

/// By hand: units of three on four nails an end. Strands 1 to 7; near loops 2|3, 4|5, 6|7; far loops 1|2, 3|4, 5|6.
#[test]
fn units_of_three_leave_loops_open_and_say_where_to_split() {
    let locking = Locking::of(&wound(4, &NailRows::Facing, &Winding::default()), 3);
    // 123|456|7: near 6|7 is held. 12|345|67: near 2|3. 1|234|567: near 4|5.
    let Locking { near, far } = &locking;
    assert_eq!([0, 1, 2].map(|shift| open(near, shift)), [2, 2, 2]);
    assert_eq!(near.row().shift, 0);
    assert_eq!(near.open().iter().map(|held| held.nail.number).collect::<Vec<_>>(), [2, 3]);
    assert!(
        near.remedy(9)
            .unwrap()
            .contains("At near nails 2 (strands 2 and 3), 3 (strands 4 and 5) a unit holds both legs")
    );
    assert!(near.remedy(1).unwrap().contains("2 (strands 2 and 3) and at 1 more a unit"));
    // The far end: 123|456|7 holds 3|4; 12|345|67 5|6; 1|234|567 1|2.
    assert_eq!([0, 1, 2].map(|shift| open(far, shift)), [2, 2, 2]);
    // Units of one hold every loop.
    let one = Locking::of(&wound(4, &NailRows::Facing, &Winding::default()), 1);
    assert!(
        one.near.open().is_empty() && one.far.open().is_empty() && one.change(WovenFrom::OneEnd).is_none()
    );
    let warned = |unit_size| plan(&RugSpec { unit_size, ..RugSpec::plain(small()) }).notices;
    assert!(warned(2).is_empty());
    // Of the small frame's 32 loops every third is held.
    let open = |far| Remark::LoopsOpen { far, open: 21, loops: 32 };
    let told = warned(3);
    assert!(told.contains(&open(false)) && told.contains(&open(true)), "{told:?}");
    assert!(open(true).text(Units::Inches).contains("at the far end: 21 of 32 stay open"));
}

/// Where the far row is the longer one the strip begins there, and the ends change places; strands wound double part in the middle
/// of four, so that pairs hold both ends.
#[test]
fn other_windings() {
    let longer = NailRows::SetOff { far_nails: 4, by: None };
    let Locking { near, far } = Locking::of(&wound(3, &longer, &Winding::default()), 2);
    assert_eq!((legs(&near), legs(&far)), (vec![[1, 2], [3, 4], [5, 6]], vec![[2, 3], [4, 5]]));
    assert_eq!((row(&near), row(&far)), (vec![1, 2, 2, 1], vec![2, 2, 2]));
    let doubled = Winding { doubled: true, ..Winding::default() };
    let Locking { near, far } = Locking::of(&wound(3, &NailRows::Facing, &doubled), 2);
    assert_eq!((legs(&near), legs(&far)), (vec![[4, 5], [8, 9]], vec![[2, 3], [6, 7]]));
    assert_eq!((near.row().shift, far.row().shift, near.open().len(), far.open().len()), (0, 0, 0, 0));
}

/// The rows that lock the far end lie aside of the others in pattern, picture and crossings.
#[test]
fn pattern_picture_and_crossings_follow() {
    let longer = NailRows::SetOff { far_nails: 34, by: None };
    let bands = vec![Band::plain(inches(32.0), [0, 1])];
    let of =
        |from| plan(&RugSpec { rows: longer.clone(), bands: bands.clone(), from, ..RugSpec::plain(small()) });
    let (one, both) = (of(WovenFrom::OneEnd), of(WovenFrom::BothEnds));
    // 66 strands: 34 crossings a strand aside, 33 otherwise.
    assert_eq!((one.pattern.units, one.pattern.far.units(), one.weft.rows), (34, 33, 128));
    assert_eq!((one.weft.twists, both.weft.twists), (127 * 34 + 33, 64 * 34 + 64 * 33));
    assert_eq!((one.pattern.first_far_row(), both.pattern.first_far_row()), (127, 64));
    let palette =
        ["#ffffff", "#22305a"].map(|hex| Swatch { name: hex.into(), hex: Hex::parse(hex).unwrap() });
    let plan = &plan(&RugSpec { bands, ..RugSpec::plain(small()) });
    let (pattern, length, width) = (&plan.pattern, plan.length, plan.width);
    let svg =
        Picture { pattern, length, width, palette: &palette, face: Face::Front, ink: Ink::Colour, id: "rug" }
            .svg();
    let svg = svg.unwrap();
    // The row before the last shows the second strand over its first unit; the last begins with one strand, half a unit wide.
    assert!(svg.contains("M0 126") || svg.contains("M1 126h1v1"), "{svg}");
    assert!(svg.contains("M0 127h0.5v1h-0.5z") && svg.contains("M1.5 127h1v1h-1z"), "{svg}");
    let row = RowUnits { strands: 65, size: 2, shift: 1 };
    assert_eq!((row.units(), row.strands_of(0), row.strands_of(32), row.unit_of(64)), (33, 0..1, 63..65, 32));
}
