//! Sewing, rods and balls as the program has them; beside `contact`, the only file here that knows their types.
use thrumhall::optimize::panels::sewing::{Sewing, alike};
use thrumhall::optimize::panels::{Size, Wanted, piece_together};
use thrumhall::units::{Length, Quantity, Units};

/// What a rug of panels takes beyond them, in inches.
pub struct Sewn {
    pub seam: f64,
    pub strip: f64,
    pub thread: f64,
    pub backing: (f64, f64),
    pub backing_thread: f64,
    /// Panels woven alike: of which size, how wide and long, their numbers.
    pub alike: Vec<(usize, (f64, f64), Vec<usize>)>,
    /// What is shown of how it was worked out.
    pub shown: Vec<(String, f64)>,
}

fn size((width, length): (f64, f64)) -> Size {
    Size { width: Length::inches(width), length: Length::inches(length) }
}

/// The best layout of those sizes, sewn, with a quarter of an inch of tolerance.
pub fn sewn(sizes: &[(f64, f64)], wanted: (f64, f64), ease: f64) -> Sewn {
    let sizes: Vec<Size> = sizes.iter().copied().map(size).collect();
    let ease = Length::inches(ease);
    let wish = Wanted { size: size(wanted), tolerance: Length::inches(0.25), ease, most: 6, narrower: false };
    let arrangement = piece_together(&sizes, &wish, Units::Inches).unwrap();
    let sewing = Sewing::of(&arrangement);
    let group = |group: thrumhall::optimize::panels::sewing::Alike| {
        (group.size, (group.woven.width.in_inches(), group.woven.length.in_inches()), group.numbers)
    };
    let shown = thrumhall::optimize::panels::explain::pieced(&arrangement, &sewing).into_iter().map(|one| {
        let Quantity::Length(length) = one.result else { panic!("{one:?}") };
        (one.key, length.in_inches())
    });
    Sewn {
        seam: sewing.seam.in_inches(),
        strip: sewing.strip.in_inches(),
        thread: sewing.thread.in_inches(),
        backing: (sewing.backing.width.in_inches(), sewing.backing.length.in_inches()),
        backing_thread: sewing.backing_thread.in_inches(),
        alike: alike(&arrangement, &sizes, ease).into_iter().map(group).collect(),
        shown: shown.collect(),
    }
}

/// Needed and owned rods in inches: which need is served by which rods, what is missing, what is left.
pub type Served = (Vec<(f64, f64, u32)>, Vec<(f64, u32)>, Vec<(f64, u32)>);

/// Needed rods given owned ones.
pub fn serve(needs: &[(f64, u32)], owned: &[(f64, u32)]) -> Served {
    use thrumhall::optimize::bins::Piece;
    let piece = |&(length, count): &(f64, u32)| Piece { length: Length::inches(length), count };
    let needs: Vec<Piece> = needs.iter().map(piece).collect();
    let owned: Vec<(Length, u32)> =
        owned.iter().map(|&(length, count)| (Length::inches(length), count)).collect();
    let told = thrumhall::optimize::rod_stock::serve(&needs, &owned);
    (
        told.served.iter().map(|(need, rod, count)| (need.in_inches(), rod.in_inches(), *count)).collect(),
        told.missing.iter().map(|piece| (piece.length.in_inches(), piece.count)).collect(),
        told.left.iter().map(|(length, count)| (length.in_inches(), *count)).collect(),
    )
}

/// Strips, joins and length of the ball from strips that are cut, in inches.
pub fn ball(strips: &[f64], wanted: f64, join: f64) -> (usize, usize, f64) {
    let strips: Vec<Length> = strips.iter().copied().map(Length::inches).collect();
    let told =
        thrumhall::planning::warp::ball_of_strips(&strips, Length::inches(wanted), Length::inches(join));
    (told.strips, told.joins, told.length.in_inches())
}

/// Equal strips for a wanted length: strips, joins, left over.
pub fn joined(wanted: f64, strip: f64, join: f64) -> Option<(u32, u32, f64)> {
    let [wanted, strip, join] = [wanted, strip, join].map(Length::inches);
    let told = thrumhall::planning::warp::joined(wanted, strip, join)?;
    Some((told.strips, told.joins, told.left_over.in_inches()))
}

/// Bars of stock for equal rods: bar, bars, rods a bar, waste.
pub fn stock_for(least: f64, count: u32) -> Option<(f64, u32, u32, f64)> {
    let told = thrumhall::planning::rods::stock_for(Length::inches(least), count)?;
    Some((told.bar.in_inches(), told.bars, told.rods_per_bar, told.waste.in_inches()))
}

/// How far a rod bows, in millimetres, under a pull in N/m, and whether that can be trusted.
pub fn bow(length: f64, diameter: f64, pull: f64) -> (f64, bool) {
    use thrumhall::planning::rods::{SidePull, bow};
    let told = bow(Length::millimetres(length), Length::millimetres(diameter), SidePull(pull));
    (told.bow.mm(), told.holds)
}
