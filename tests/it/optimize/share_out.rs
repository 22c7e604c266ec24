//! The share-out of cloth against brute force, published assignment problems and its own rules.
use thrumhall::optimize::share_out::{
    Allocation, Bundle, Job, JobError, Need, Problem, Take, Want, Weights, solve,
};
use thrumhall::planning::colour::Lab;

use crate::support::named::assert_names;

/// So many looks at the clock until the time is over.
fn looks(most: u32) -> impl FnMut(thrumhall::optimize::share_out::Progress) -> f64 {
    let mut seen = 0;
    move |_| {
        seen += 1;
        f64::from(seen) / f64::from(most)
    }
}

fn solved(problem: &Problem, most: u32) -> Allocation {
    let answer = solve(problem, 7, &mut looks(most));
    holds(problem, &answer);
    answer
}

/// No bundle is overdrawn, no need gets more than it asks or from more bundles than it may, and the cost adds up.
fn holds(problem: &Problem, answer: &Allocation) {
    let mut left = problem.bundles.clone();
    for (need, takes) in answer.takes.iter().enumerate() {
        let want = &problem.wants[need];
        assert!(takes.len() <= want.most, "{} bundles for need {need}", takes.len());
        assert!(answer.unmet(problem, need) >= 0, "need {need} gets more than it asks");
        for take in takes {
            assert!(take.grams > 0);
            assert!(problem.gram[need * left.len() + take.bundle].is_finite(), "a bundle that may not serve");
            assert_eq!(takes.iter().filter(|other| other.bundle == take.bundle).count(), 1);
            left[take.bundle] -= take.grams;
        }
    }
    assert!(left.iter().all(|&grams| grams >= 0), "overdrawn: {left:?}");
    let cost = problem.cost(&answer.takes);
    assert!((cost - answer.cost).abs() < 1e-6, "{cost} isn't {}", answer.cost);
    assert!(answer.bound <= answer.cost);
}

/// Every share-out in whole grams, one after the other: the least cost.
fn brute(problem: &Problem, need: usize, left: &mut Vec<i64>) -> f64 {
    if need == problem.wants.len() {
        return 0.0;
    }
    let mut best = f64::INFINITY;
    give(problem, need, 0, &mut Vec::new(), left, &mut best);
    best
}

fn give(
    problem: &Problem,
    need: usize,
    from: usize,
    takes: &mut Vec<Take>,
    left: &mut Vec<i64>,
    best: &mut f64,
) {
    if from == left.len() {
        let cost = problem.cost_of(need, takes);
        if cost < *best {
            *best = best.min(cost + brute(problem, need + 1, left));
        }
        return;
    }
    give(problem, need, from + 1, takes, left, best);
    let want = &problem.wants[need];
    let open = want.grams - takes.iter().map(|take| take.grams).sum::<i64>();
    if takes.len() < want.most && problem.gram[need * left.len() + from].is_finite() {
        for grams in 1..=open.min(left[from]) {
            takes.push(Take { bundle: from, grams });
            left[from] -= grams;
            give(problem, need, from + 1, takes, left, best);
            left[from] += grams;
            takes.pop();
        }
    }
}

/// Numbers from a seed, one after the other (the multiplier and increment of Knuth's MMIX, from memory).
struct Dice(u64);

impl Dice {
    fn below(&mut self, end: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as i64 % end
    }

    fn lab(&mut self) -> Lab {
        Lab::new(15.0 + self.below(80) as f64, self.below(110) as f64 - 50.0, self.below(120) as f64 - 50.0)
    }
}

#[test]
fn small_share_outs_agree_with_brute_force() {
    let mut dice = Dice(5);
    let (mut best, mut proven) = (0, 0);
    for case in 0..120 {
        let (needs, bundles) = (2 + dice.below(2) as usize, 2 + dice.below(2) as usize);
        let unmet = 5.0 + dice.below(20) as f64;
        let gram = (0..needs * bundles).map(|_| match dice.below(9) {
            0 => f64::INFINITY,
            _ => dice.below(60) as f64 / 10.0,
        });
        let gram = gram.collect();
        let pair = (0..needs * bundles).map(|_| dice.below(3) as f64 * 2.0).collect();
        let problem = Problem {
            bundles: (0..bundles).map(|_| dice.below(6)).collect(),
            wants: (0..needs)
                .map(|_| Want { grams: dice.below(6), most: 1 + dice.below(2) as usize })
                .collect(),
            gram,
            pair,
            unmet,
            ..Problem::default()
        };
        let answer = solved(&problem, 120);
        let least = brute(&problem, 0, &mut problem.bundles.clone());
        assert!(answer.bound <= least + 1e-6, "case {case}: the bound {} is above {least}", answer.bound);
        assert!(answer.cost >= least - 1e-6, "case {case}: brute force is beaten");
        best += u32::from(answer.cost <= least + 1e-6);
        proven += u32::from(answer.gap() == 0.0);
    }
    assert!(best >= 114, "only {best} of 120 are the least");
    assert!(proven >= 40, "only {proven} of 120 are proven");
}

fn assignment(costs: &[&[f64]]) -> Allocation {
    // Tasks are needs of one gram, workers are bundles of one gram.
    let problem = Problem {
        bundles: vec![1; costs.len()],
        wants: vec![Want { grams: 1, most: 1 }; costs[0].len()],
        gram: (0..costs[0].len()).flat_map(|task| costs.iter().map(move |worker| worker[task])).collect(),
        pair: vec![0.0; costs.len() * costs[0].len()],
        unmet: 10_000.0,
        ..Problem::default()
    };
    solved(&problem, 400)
}

/// Sources: OR-Tools documentation, assignment (265, five workers and four tasks); SciPy documentation and tests of
/// `linear_sum_assignment` (5, 18, 850); the last is a textbook example, from memory (140).
#[test]
fn published_assignments_are_solved() {
    let cases: [(&[&[f64]], f64); 5] = [
        (
            &[
                &[90., 80., 75., 70.],
                &[35., 85., 55., 65.],
                &[125., 95., 90., 95.],
                &[45., 110., 95., 115.],
                &[50., 100., 90., 100.],
            ],
            265.0,
        ),
        (&[&[4., 1., 3.], &[2., 0., 5.], &[3., 2., 2.]], 5.0),
        (&[&[10., 10., 8.], &[9., 8., 1.], &[9., 7., 4.]], 18.0),
        (&[&[400., 150., 400.], &[400., 450., 600.], &[300., 225., 300.]], 850.0),
        (&[&[82., 83., 69., 92.], &[77., 37., 49., 92.], &[11., 69., 5., 86.], &[8., 9., 98., 23.]], 140.0),
    ];
    for (costs, least) in cases {
        let answer = assignment(costs);
        assert!((answer.cost - least).abs() < 1e-6, "{} instead of {least}", answer.cost);
        // One need, one bundle: the relaxed problem has whole optima, so the bound comes near.
        assert!(answer.bound <= least + 1e-6 && answer.bound > 0.97 * least, "{} for {least}", answer.bound);
    }
}

fn class(needs: usize, bundles: usize, dice: &mut Dice) -> Job {
    Job {
        bundles: (0..bundles)
            .map(|_| Bundle {
                grams: 300 + dice.below(2_000),
                lab: dice.lab(),
                warp_worthy: dice.below(10) < 6,
            })
            .collect(),
        needs: (0..needs)
            .map(|at| Need {
                grams: 150 + dice.below(700),
                lab: Some(dice.lab()),
                warp: at % 4 == 0,
                most: 2,
                held: vec![],
                barred: vec![],
                touches: vec![],
            })
            .collect(),
        weights: Weights::default(),
    }
}

#[test]
fn the_same_seed_gives_the_same_and_a_stop_gives_the_best_so_far() {
    let problem = class(24, 20, &mut Dice(1)).problem().unwrap();
    let full = solved(&problem, 300);
    assert_eq!(full, solve(&problem, 7, &mut looks(300)));
    assert!(full.gap() < 0.1, "{}", full.gap());
    let stopped = solve(&problem, 7, &mut |_| 1.0);
    holds(&problem, &stopped);
    assert!(stopped.cost >= full.cost && stopped.bound <= full.cost);
    let mut told = Vec::new();
    let mut look = looks(300);
    solve(&problem, 7, &mut |progress| {
        told.push(progress);
        look(progress)
    });
    assert!(told.windows(2).all(|two| two[0].cost >= two[1].cost && two[0].bound <= two[1].bound));
}

#[test]
fn warp_takes_cloth_that_is_fit_for_it_and_what_is_short_is_told() {
    let grey = Lab::new(50.0, 0.0, 0.0);
    let bundle = |grams, warp_worthy| Bundle { grams, lab: grey, warp_worthy };
    let need = |grams, warp| Need { grams, lab: Some(grey), warp, most: 2, ..Need::default() };
    let job = Job {
        bundles: vec![bundle(500, false), bundle(100, true)],
        needs: vec![need(250, true), need(300, false)],
        weights: Weights::default(),
    };
    let problem = job.problem().unwrap();
    let answer = solved(&problem, 100);
    assert_eq!(answer.takes[0], [Take { bundle: 1, grams: 100 }]);
    assert_eq!(answer.takes[1], [Take { bundle: 0, grams: 300 }]);
    assert_eq!((answer.unmet(&problem, 0), answer.unmet(&problem, 1)), (150, 0));
    // 150 g unmet at 50, two pairs at 20: worked by hand.
    assert!((answer.cost - 7_540.0).abs() < 1e-6 && answer.gap() == 0.0);
}

#[test]
fn what_was_held_stays_when_changes_cost() {
    let mut job = class(12, 14, &mut Dice(3));
    let first = solved(&job.problem().unwrap(), 300);
    for (need, takes) in job.needs.iter_mut().zip(&first.takes) {
        need.held = takes.iter().map(|take| take.bundle).collect();
    }
    // One more bundle, of the very colour of need 1, would draw cloth over; with changes dear it draws nothing.
    job.bundles.push(Bundle { grams: 3_000, lab: job.needs[1].lab.unwrap(), warp_worthy: true });
    job.weights.change = 1e5;
    let same = solved(&job.problem().unwrap(), 300);
    let bundles = |takes: &[Take]| {
        let mut bundles: Vec<usize> = takes.iter().map(|take| take.bundle).collect();
        bundles.sort_unstable();
        bundles
    };
    for (before, after) in first.takes.iter().zip(&same.takes) {
        assert_eq!(bundles(before), bundles(after));
    }
    job.weights.change = 0.0;
    let anew = solved(&job.problem().unwrap(), 300);
    assert_eq!(anew.takes[1][0].bundle, 14);
    assert!(anew.cost < first.cost);
}

#[test]
fn nothing_to_share_out_is_no_trouble_and_nonsense_is_refused() {
    let empty = Job::default().problem().unwrap();
    assert_eq!(solved(&empty, 10).cost, 0.0);
    let mut job = class(1, 1, &mut Dice(2));
    job.needs[0].grams = -1;
    let told = job.problem().unwrap_err();
    assert_eq!(told, JobError::Grams { what: "Need", number: 1, grams: -1 });
    assert_names(&told.to_string(), &["Need 1", "-1 g", "0", "1000000 g"]);
    job.needs[0].grams = 10;
    job.bundles[0].lab = Lab::new(f64::NAN, 0.0, 0.0);
    assert_eq!(job.problem().unwrap_err(), JobError::Colour { what: "Bundle", number: 1 });
    job.bundles.clear();
    let none = job.problem().unwrap();
    assert_eq!(solved(&none, 10).unmet(&none, 0), 10);
}

#[test]
fn colours_that_touch_stay_apart_or_the_need_is_lacking() {
    let lab = |hex: &str| thrumhall::planning::colour::Hex::parse(hex).unwrap().lab();
    let need = |hex: &str, touches: &[usize]| Need {
        grams: 300,
        lab: Some(lab(hex)),
        most: 2,
        touches: touches.to_vec(),
        ..Need::default()
    };
    let bundle = |hex: &str| Bundle { grams: 1_000, lab: lab(hex), warp_worthy: true };
    let mut job = Job {
        bundles: vec![bundle("#ffffff")],
        needs: vec![need("#cfe2f3", &[1]), need("#ffffff", &[])],
        weights: Weights::default(),
    };
    let short = |job: &Job| {
        let problem = job.problem().unwrap();
        let answer = solved(&problem, 200);
        assert_eq!(answer.gap(), 0.0, "the bound knows of colours that touch");
        (0..2).map(|need| answer.unmet(&problem, need)).sum::<i64>()
    };
    assert_eq!(short(&job), 300, "white for both would be no check");
    job.bundles.push(bundle("#cdeccb"));
    assert_eq!(short(&job), 0, "pale green is");
    job.bundles.pop();
    job.needs[0].touches.clear();
    assert_eq!(short(&job), 0, "apart, both may be white");
}

/// The least cost of small share-outs in which cloth given to needs that touch goes beside one another, by trying all.
fn brute_apart(problem: &Problem, takes: &mut Vec<Vec<Take>>, left: &mut Vec<i64>) -> f64 {
    let need = takes.len();
    if need == problem.wants.len() {
        return problem.cost(takes);
    }
    // Each need here takes from one bundle at most, all that there is for it or some of it.
    takes.push(Vec::new());
    let mut best = brute_apart(problem, takes, left);
    for bundle in 0..left.len() {
        let beside = |other: &usize| {
            takes[*other].iter().all(|take| problem.goes_beside((need, bundle), (*other, take.bundle)))
        };
        let apart = problem.touching[need].iter().filter(|other| **other < need).all(beside);
        if !apart || !problem.gram[need * left.len() + bundle].is_finite() {
            continue;
        }
        for grams in 1..=problem.wants[need].grams.min(left[bundle]) {
            takes[need] = vec![Take { bundle, grams }];
            left[bundle] -= grams;
            best = best.min(brute_apart(problem, takes, left));
            left[bundle] += grams;
        }
        takes[need].clear();
    }
    takes.pop();
    best
}

#[test]
fn small_share_outs_of_colours_that_touch_agree_with_brute_force() {
    let mut dice = Dice(31);
    let (mut best, mut proven) = (0, 0);
    for case in 0..80 {
        let needs = 3;
        let job = Job {
            bundles: (0..3)
                .map(|_| Bundle { grams: 1 + dice.below(5), lab: dice.lab(), warp_worthy: true })
                .collect(),
            needs: (0..needs)
                .map(|need| Need {
                    grams: 1 + dice.below(4),
                    lab: Some(dice.lab()),
                    most: 1,
                    touches: (0..need).filter(|_| dice.below(3) > 0).collect(),
                    ..Need::default()
                })
                .collect(),
            weights: Weights { pair: 1.0, ..Weights::default() },
        };
        let problem = job.problem().unwrap();
        let answer = solved(&problem, 400);
        let least = brute_apart(&problem, &mut Vec::new(), &mut problem.bundles.clone());
        assert!(answer.bound <= least + 1e-6, "case {case}: {} is no bound of {least}", answer.bound);
        assert!(answer.cost >= least - 1e-6, "case {case}: {} is less than {least}", answer.cost);
        best += u32::from(answer.cost <= least + 1e-6);
        proven += u32::from(answer.gap() < 1e-6);
    }
    assert_eq!(best, 80, "the cheapest there is");
    assert!(proven > 60, "{proven} proven");
}

#[test]
fn a_bound_holds_where_cloth_is_scarce() {
    let mut dice = Dice(77);
    let job = Job {
        bundles: (0..30)
            .map(|_| Bundle { grams: 200 + dice.below(600), lab: dice.lab(), warp_worthy: dice.below(3) > 0 })
            .collect(),
        needs: (0..60)
            .map(|need| Need {
                grams: 150 + dice.below(700),
                lab: Some(dice.lab()),
                warp: need % 4 == 0,
                most: 2,
                ..Need::default()
            })
            .collect(),
        weights: Weights::default(),
    };
    let answer = solved(&job.problem().unwrap(), 600);
    assert!(answer.gap() < 0.03, "{}", answer.gap());
}
