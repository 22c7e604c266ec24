//! Simulated classes: that nine in ten means nine in ten with what finished rugs have taught, and that a class much slower than
//! anybody would have thought is believed after few rugs.
//!
//! No published source: the check is of the program against its own statements. Each draw has a fixed seed.
#![allow(clippy::print_stdout, reason = "the measured shares are shown with --nocapture")]
use super::calibrated::{Tally, Weaving, doubtful, truth};
use super::estimate::Uniform;
use super::{frame, small};
use thrumhall::planning::learn::{Class, Finished, Outcome};
use thrumhall::planning::progress::{Entry, Progress, measured_by};
use thrumhall::planning::settings::Parameter;
use thrumhall::planning::{Kind, Plan, RugSpec};
use thrumhall::units::{Length, Mass, Minutes, Units};

/// The parts of a parameter's deviate, as `learn` states them: class, size, cloth, weaver.
fn shares(dial: Parameter) -> [f64; 4] {
    match dial {
        Parameter::WarpAreal
        | Parameter::WeftAreal
        | Parameter::StripThickness
        | Parameter::Give
        | Parameter::SheetStrip
        | Parameter::Shorter
        | Parameter::Narrower => [0.15, 0.0, 0.25, 0.10],
        Parameter::SpanError | Parameter::NailDiameter => [0.20, 0.40, 0.0, 0.0],
        Parameter::WeavingPace => [0.70, 0.0, 0.0, 0.20],
        _ => [0.30, 0.10, 0.10, 0.30],
    }
}

/// A class: four weavers, two sizes, two cloths, each with its own part of every parameter.
struct SimulatedClass {
    class: Vec<f64>,
    sizes: [Vec<f64>; 2],
    cloths: [Vec<f64>; 2],
    weavers: [Vec<f64>; 4],
}

impl SimulatedClass {
    fn new(chance: &mut Uniform) -> Self {
        let mut part = || Parameter::ALL.iter().map(|_| chance.normal()).collect::<Vec<f64>>();
        Self {
            class: part(),
            sizes: [part(), part()],
            cloths: [part(), part()],
            weavers: [part(), part(), part(), part()],
        }
    }

    fn rug(&self, [weaver, size, cloth]: [usize; 3], chance: &mut Uniform) -> Option<(RugSpec, Plan)> {
        self.rug_after(Some(weaver as u32 % 3), [weaver, size, cloth], chance)
    }

    fn rug_after(
        &self,
        rugs_before: Option<u32>,
        [weaver, size, cloth]: [usize; 3],
        chance: &mut Uniform,
    ) -> Option<(RugSpec, Plan)> {
        let frame = if size == 0 { small() } else { frame(24.0, 44.0, 43) };
        let kind = [Kind::Percale, Kind::Flannel][cloth];
        let spec = RugSpec { warp_kind: kind, weft_kind: kind, rugs_before, ..RugSpec::plain(frame) };
        let real = truth(&spec, &doubtful(&spec), |dial| {
            let [of_class, of_size, of_cloth, of_weaver] = shares(dial);
            let rest = 1.0 - of_class - of_size - of_cloth - of_weaver;
            let i = dial as usize;
            of_class.sqrt() * self.class[i]
                + of_size.sqrt() * self.sizes[size][i]
                + of_cloth.sqrt() * self.cloths[cloth][i]
                + of_weaver.sqrt() * self.weavers[weaver][i]
                + rest.sqrt() * chance.normal()
        })?;
        Some((spec, real))
    }
}

/// What is written down of a finished rug, with the errors that `learn` states.
fn written_down(real: &Plan, chance: &mut Uniform) -> Outcome {
    let mut off = |sd: f64| sd * chance.normal();
    Outcome {
        rows: Some(real.weft.rows),
        woven: Some(real.length + Length::inches(off(0.125))),
        weft: Some(Mass::from_grams((real.cloth.weft.expected.grams() + off(15.0)) * off(0.03).exp())),
        weaving: Some(real.minutes.weave.expected * off(0.1).exp()),
        preparing: Some(real.minutes.prepare.expected * off(0.1).exp()),
        warp: Some(real.warp.length.expected.scale(off(0.01).exp())),
        finished_length: Some(real.finished.length.expected + Length::inches(off(0.25))),
        finished_width: Some(real.finished.width.expected + Length::inches(off(0.25))),
    }
}

#[test]
fn take_is_enough_for_nine_rugs_in_ten_with_what_the_class_has_learnt() {
    let mut chance = Uniform(20_270_304);
    for (number, classes) in [(3, 130), (12, 130)] {
        let mut tally = Tally::default();
        let mut width = 0.0;
        for _ in 0..classes {
            let world = SimulatedClass::new(&mut chance);
            let mut finished = Vec::new();
            for n in 0..number {
                let Some((spec, real)) =
                    world.rug([n % 4, (n / 2) % 2, usize::from(n % 3 == 0)], &mut chance)
                else {
                    continue;
                };
                let outcome = written_down(&real, &mut chance);
                finished.push(Finished { spec, weaver: format!("weaver {}", n % 4), outcome });
            }
            let class = Class::of(&finished, Units::Inches);
            for next in 0..10 {
                let who = [next % 4, (next / 4) % 2, (next / 2) % 2];
                let Some((spec, real)) = world.rug(who, &mut chance) else { continue };
                let known = class.settings(&spec, &format!("weaver {}", who[0]), Units::Inches);
                let told = Plan::of(&RugSpec { known, ..spec }, Units::Inches).unwrap();
                width += told.cloth.weft.p90.ratio(told.cloth.weft.low);
                tally.add(&told, &real);
            }
        }
        println!("after {number} rugs take is {:.2} times low", width / f64::from(tally.rugs));
        tally.assert_nine_in_ten(&format!("after {number} finished rugs"));
    }
}

/// What makes a class's weaving as fast as it is.
const PACES: [Parameter; 7] = [
    Parameter::Twist,
    Parameter::Turn,
    Parameter::JoinAtFrame,
    Parameter::SlowEnd,
    Parameter::SlowFactor,
    Parameter::Practice,
    Parameter::WeavingPace,
];

/// By how much the classes here are slower than what the program begins with.
const SLOWER: f64 = 1.6;

/// A class of which just this is known: what it has in common makes it 1.6 times slower. Its weavers and rugs differ as stated.
fn slow_class(chance: &mut Uniform) -> SimulatedClass {
    let mut world = SimulatedClass::new(chance);
    for pace in PACES {
        world.class[pace as usize] = 0.0;
    }
    world
}

impl SimulatedClass {
    /// A rug of such a class, finished and written down.
    fn slow_rug(&self, before: Option<u32>, who: [usize; 3], chance: &mut Uniform) -> Option<Finished> {
        let (spec, real) = self.rug_after(before, who, chance)?;
        let mut outcome = written_down(&real, chance);
        outcome.weaving = outcome.weaving.map(|weaving| weaving * SLOWER);
        Some(Finished { spec, weaver: format!("weaver {}", who[0]), outcome })
    }
}

/// Weaving takes 1.6 times as long in a class of that many finished rugs: the take of a rug to come is enough for 85 of 100.
#[test]
fn a_class_that_is_much_slower_is_believed_after_few_rugs() {
    let mut chance = Uniform(20_271_017);
    for (what, before) in [("first rugs", Some(0)), ("third rugs", Some(2)), ("practised weavers", None)] {
        for (number, least) in [(0, 0.0), (4, 80.0), (8, 85.0), (16, 85.0)] {
            let (mut rugs, mut enough, mut wide) = (0, 0, 0.0);
            for _ in 0..120 {
                let world = slow_class(&mut chance);
                let mut finished = Vec::new();
                for n in 0..number {
                    let who = [n % 4, (n / 2) % 2, usize::from(n % 3 == 0)];
                    finished.extend(world.slow_rug(before, who, &mut chance));
                }
                let class = Class::of(&finished, Units::Inches);
                for next in 0..8 {
                    let who = [next % 4, (next / 4) % 2, (next / 2) % 2];
                    let Some((spec, real)) = world.rug_after(before, who, &mut chance) else { continue };
                    let known = class.settings(&spec, &format!("weaver {}", who[0]), Units::Inches);
                    let told = Plan::of(&RugSpec { known, ..spec }, Units::Inches).unwrap().minutes.weave;
                    rugs += 1;
                    enough += u32::from(real.minutes.weave.expected * SLOWER <= told.p90);
                    wide += told.p90.get() / told.expected.get();
                }
            }
            let share = 100.0 * f64::from(enough) / f64::from(rugs);
            let wide = wide / f64::from(rugs);
            println!(
                "{what}, {number} finished: enough for {share:.1} of 100; take is {wide:.2} times expected"
            );
            assert!(share >= least, "{what}, {number} finished: {share:.1}");
        }
    }
}

/// A first rug that goes 1.6 times slower than thought, by its own log and by what others finished: what is left to weave is within
/// its take for 85 of 100. By the log alone it is nearly that, since what is rare is believed late.
#[test]
fn a_log_tells_a_slow_weaver() {
    let mut chance = Uniform(20_271_018);
    let first = RugSpec { rugs_before: Some(0), ..RugSpec::plain(small()) };
    for (evenings, finished, least) in [(0, 0, 0.0), (2, 0, 78.0), (4, 0, 80.0), (2, 4, 85.0), (4, 4, 85.0)] {
        let (mut rugs, mut enough) = (0, 0);
        for _ in 0..900 {
            let world = slow_class(&mut chance);
            let done = (0..finished).filter_map(|n| world.slow_rug(Some(0), [n % 4, 0, 0], &mut chance));
            let class = Class::of(&done.collect::<Vec<_>>(), Units::Inches);
            let Some((_, real)) = world.rug_after(Some(0), [0, 0, 0], &mut chance) else { continue };
            let weaving = Weaving::of(&real);
            let (mut rows, mut log) = (0.0, Vec::new());
            for _ in 0..evenings {
                // An evening of two hours does what it would do in so much less.
                rows += weaving.weave(110.0 / SLOWER, &mut chance);
                rows = f64::min(rows, weaving.rows).round();
                let minutes = Some(Minutes::new(110.0));
                log.push(Entry { rows: Some(rows as u32), minutes, ..Entry::default() });
            }
            if rows >= weaving.rows {
                continue;
            }
            let known = class.settings(&first, "weaver 0", Units::Inches);
            let told = measured_by(&RugSpec { known, ..first.clone() }, &log, Units::Inches);
            let plan = Plan::of(&told, Units::Inches).unwrap();
            let progress = Progress::of(&told, &plan, &log, Units::Inches).unwrap();
            rugs += 1;
            let rest = weaving.rest(rows, &mut chance) * SLOWER;
            enough += u32::from(rest <= progress.weave_left.p90.get());
        }
        let share = 100.0 * f64::from(enough) / f64::from(rugs);
        println!("{evenings} evenings, {finished} finished: enough for {share:.1} of 100 ({rugs} rugs)");
        assert!(share >= least, "{evenings} evenings, {finished} finished: {share:.1}");
    }
}
