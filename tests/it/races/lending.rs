//! Few frames and few rods, handed out, taken back and counted by several instructors at once at both copies.
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use tokio::sync::Barrier;

use super::copies::{End, id_in, table};
use super::linear::{Call, Chance, Order, Step, explain};
use super::on_copies;
use crate::support::browser::Browser;

const FRAMES: [&str; 2] = ["S1", "S2"];
const RUGS: usize = 3;
const OWNED: i64 = 8;

/// Who has which frame, and the rods of the one size there is.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
struct Lent {
    /// By frame: the loan, the rug and how many rods went along.
    out: BTreeMap<usize, (String, usize, i64)>,
    /// How many loans are over.
    over: usize,
    owned: i64,
    bent: i64,
}

impl Lent {
    fn rods_out(&self) -> i64 {
        self.out.values().map(|(_, _, rods)| rods).sum()
    }

    fn inside(&self) -> i64 {
        self.owned - self.bent - self.rods_out()
    }
}

/// What came of handing out.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Out {
    Lent(String),
    FrameGone,
    RugOnFrame,
    RodsShort,
}

/// What may happen to rods that are here, by the words of the form.
const RODS: [&str; 5] = ["bought", "found bent", "straightened", "scrapped", "lost"];

#[derive(Debug)]
enum Asked {
    HandOut {
        frame: usize,
        rug: usize,
        rods: i64,
        answer: Out,
    },
    /// The last says whether it was this call that took it back, or another before it.
    TakeBack {
        loan: String,
        bent: i64,
        missing: i64,
        did: bool,
    },
    Rods {
        act: &'static str,
        rods: i64,
        did: bool,
    },
    /// The list of loans: frame and rug of each that is out, and how many are over.
    Loans {
        out: Vec<(usize, usize)>,
        over: usize,
    },
    /// The list of rods: here and straight, out, bent, owned.
    RodList([i64; 4]),
}

impl Step for Asked {
    type State = Lent;

    fn after(&self, lent: &Lent) -> Option<Lent> {
        let mut next = lent.clone();
        match self {
            Self::HandOut { frame, rug, rods, answer } => {
                let frame_out = lent.out.contains_key(frame);
                let rug_out = lent.out.values().any(|(_, on, _)| on == rug);
                let short = *rods > lent.inside();
                match answer {
                    Out::FrameGone => return frame_out.then_some(next),
                    Out::RugOnFrame => return rug_out.then_some(next),
                    Out::RodsShort => return short.then_some(next),
                    Out::Lent(_) if frame_out || rug_out || short => return None,
                    Out::Lent(loan) => next.out.insert(*frame, (loan.clone(), *rug, *rods)),
                };
            }
            Self::TakeBack { loan, bent, missing, did } => {
                let frame = lent.out.iter().find(|(_, (id, _, _))| id == loan).map(|(frame, _)| *frame);
                match (frame, did) {
                    (Some(frame), true) => {
                        next.out.remove(&frame);
                        next.over += 1;
                        next.bent += bent;
                        next.owned -= missing;
                    }
                    (None, false) => {}
                    _ => return None,
                }
            }
            Self::Rods { act, rods, did } => {
                let (most, owned, bent) = match *act {
                    "bought" => (i64::MAX, 1, 0),
                    "found bent" => (lent.inside(), 0, 1),
                    "straightened" => (lent.bent, 0, -1),
                    "scrapped" => (lent.bent, -1, -1),
                    _ => (lent.inside(), -1, 0),
                };
                if (*rods <= most) != *did {
                    return None;
                }
                if *did {
                    next.owned += owned * rods;
                    next.bent += bent * rods;
                }
            }
            Self::Loans { out, over } => {
                let there: Vec<_> = lent.out.iter().map(|(frame, (_, rug, _))| (*frame, *rug)).collect();
                return (there == *out && lent.over == *over).then_some(next);
            }
            Self::RodList(shown) => {
                let there = [lent.inside(), lent.rods_out(), lent.bent, lent.owned];
                return (there == *shown).then_some(next);
            }
        }
        Some(next)
    }
}

/// What all know: frames, rugs with their weavers, the size of rod, and the loans that anybody made.
struct Loft {
    frames: Vec<String>,
    rugs: Vec<(String, String)>,
    rod: String,
    loans: Mutex<Vec<String>>,
    order: Order,
}

impl Loft {
    async fn hand_out(&self, me: &mut Browser, chance: &mut Chance) -> Asked {
        let (frame, rods) = (chance.below(FRAMES.len()), 2 * chance.below(2) as i64);
        self.hand_out_with(me, chance, frame, rods).await
    }

    async fn hand_out_with(&self, me: &mut Browser, chance: &mut Chance, frame: usize, rods: i64) -> Asked {
        let rug = chance.below(RUGS);
        let from_frame = chance.below(2) == 0;
        let count = rods.to_string();
        let fields = [
            ("frame", self.frames[frame].as_str()),
            ("rug", &self.rugs[rug].1),
            ("rod", if rods == 0 { "none" } else { &self.rod }),
            ("rods", &count),
            ("due_on", "2026-11-19"),
        ];
        let path = if from_frame {
            format!("/frames/{}/hand-out", self.frames[frame])
        } else {
            format!("/rugs/{}/hand-out", self.rugs[rug].1)
        };
        let answer = match End::of(me.post(&path, &fields).await) {
            End::Done(to) => {
                let loan = id_in(&to);
                self.loans.lock().unwrap().push(loan.clone());
                Out::Lent(loan)
            }
            End::Refused(page) => {
                let at = |name: &str| !page.all(&format!("[role=alert] a[href=\"#{name}\"]")).is_empty();
                // What the form is about has no field of its own.
                match (at("rods"), at("frame"), at("rug")) {
                    (true, false, false) => Out::RodsShort,
                    (false, true, false) => Out::FrameGone,
                    (false, false, true) => Out::RugOnFrame,
                    (false, false, false) if from_frame => Out::FrameGone,
                    (false, false, false) => Out::RugOnFrame,
                    _ => panic!("refused for more than one reason: {}", page.text),
                }
            }
        };
        Asked::HandOut { frame, rug, rods, answer }
    }

    async fn take_back(&self, me: &mut Browser, chance: &mut Chance) -> Option<Asked> {
        let loan = {
            let loans = self.loans.lock().unwrap();
            let late = loans.len().saturating_sub(3);
            if loans.is_empty() {
                return None;
            }
            chance.of(&loans[late..]).clone()
        };
        let list = me.get(&format!("/loans/{loan}/take-back")).await;
        // Where it says how many rods went along, one may be bent and one missing.
        let went = list.status == 200 && !list.all("[name=rods_bent]").is_empty();
        let (bent, missing) = if went { (chance.below(2) as i64, chance.below(2) as i64) } else { (0, 0) };
        Some(self.take_back_now(me, loan, bent, missing).await)
    }

    async fn take_back_now(&self, me: &mut Browser, loan: String, bent: i64, missing: i64) -> Asked {
        let (bent_typed, missing_typed) = (bent.to_string(), missing.to_string());
        let fields = [
            ("condition", "sound"),
            ("rug", "planned"),
            ("rods_bent", bent_typed.as_str()),
            ("rods_missing", &missing_typed),
            ("note", ""),
        ];
        let answer = me.post(&format!("/loans/{loan}/take-back"), &fields).await;
        let did = answer.to().ends_with("taken-back");
        Asked::TakeBack { loan, bent, missing, did }
    }

    async fn count_rods(&self, me: &mut Browser, chance: &mut Chance) -> Asked {
        let (act, rods) = (*chance.of(&RODS), 1 + chance.below(2) as i64);
        let fields = [("act", act), ("rods", if rods == 1 { "1" } else { "2" })];
        let end = End::of(me.post(&format!("/rods/{}/count", self.rod), &fields).await);
        Asked::Rods { act, rods, did: end.is_done() }
    }

    async fn loans(&self, me: &mut Browser) -> Asked {
        let list = me.get("/loans.csv").await.is(200).text;
        let rows = table(&list, ["frame", "weaver", "taken back"]);
        let (out, over): (Vec<_>, Vec<_>) = rows.into_iter().partition(|[_, _, back]| back.is_empty());
        let frame = |tag: &String| FRAMES.iter().position(|known| known == tag).unwrap();
        let rug = |weaver: &String| self.rugs.iter().position(|(name, _)| name == weaver).unwrap();
        let mut out: Vec<_> = out.iter().map(|[tag, weaver, _]| (frame(tag), rug(weaver))).collect();
        out.sort_unstable();
        Asked::Loans { out, over: over.len() }
    }

    async fn rod_list(&self, me: &mut Browser) -> Asked {
        let list = me.get("/rods").await.is(200);
        let cell = |label: &str| list.one(&format!("td[data-label={label}]")).parse().unwrap();
        Asked::RodList(["Here", "Out", "Bent", "Owned"].map(cell))
    }

    async fn ask(&self, me: &mut Browser, chance: &mut Chance) -> Asked {
        match chance.below(10) {
            0..4 => self.hand_out(me, chance).await,
            4..7 => match self.take_back(me, chance).await {
                Some(asked) => asked,
                None => self.hand_out(me, chance).await,
            },
            7 => self.count_rods(me, chance).await,
            8 => self.loans(me).await,
            _ => self.rod_list(me).await,
        }
    }

    /// Somebody only looks, at one list after the other.
    async fn watch(self: Arc<Self>, who: usize, mut me: Browser, together: Arc<Barrier>) -> Vec<Call<Asked>> {
        together.wait().await;
        let mut calls = Vec::new();
        for n in 0..LOOKS {
            let asked = self.order.next();
            let step = if n % 4 == 0 { self.rod_list(&mut me).await } else { self.loans(&mut me).await };
            calls.push(Call { who, asked, answered: self.order.next(), step });
        }
        calls
    }

    /// Somebody acts so often, once all are there, and tells what they asked and heard.
    async fn act(
        self: Arc<Self>,
        who: usize,
        mut me: Browser,
        seed: u64,
        together: Arc<Barrier>,
    ) -> Vec<Call<Asked>> {
        let mut chance = Chance::new(seed);
        together.wait().await;
        let mut calls = Vec::new();
        for n in 0..CALLS {
            let asked = self.order.next();
            // All begin with the same, so that they meet: counting in one round, handing out in the next.
            let step = match (n, seed / 100 % 2) {
                (0, 0) => self.count_rods(&mut me, &mut chance).await,
                (0, _) => self.hand_out_with(&mut me, &mut chance, who % FRAMES.len(), 2).await,
                _ => self.ask(&mut me, &mut chance).await,
            };
            calls.push(Call { who, asked, answered: self.order.next(), step });
        }
        calls
    }
}

const PEOPLE: usize = 4;
const CALLS: usize = 5;
const LOOKS: usize = 12;
const ROUNDS: u64 = 12;

on_copies!(frames_and_rods_are_lent_and_counted_as_if_one_after_the_other, |copies| async move {
    let mut people = copies.instructors(PEOPLE + 1).await;
    let size = [("length", "36 in"), ("diameter", "1/8 in"), ("owned", "8")];
    let rod = id_in(people[0].post("/rods", &size).await.to());
    let loft = Arc::new(Loft {
        frames: copies.frames(&FRAMES).await,
        rugs: copies.rugs(RUGS).await,
        rod,
        loans: Mutex::default(),
        order: Order::default(),
    });
    let mut state = Lent { owned: OWNED, ..Lent::default() };
    let (mut lent, mut refused, mut back, mut late) = (0, 0, 0, 0);
    for round in 0..ROUNDS {
        let together = Arc::new(Barrier::new(PEOPLE + 1));
        let watch = loft.clone().watch(PEOPLE, people[PEOPLE].clone(), together.clone());
        let mut tasks = vec![tokio::spawn(watch)];
        let acting = people.iter().take(PEOPLE).enumerate().map(|(who, me)| {
            let seed = round * 100 + who as u64;
            tokio::spawn(loft.clone().act(who, me.clone(), seed, together.clone()))
        });
        tasks.extend(acting);
        let mut calls = Vec::new();
        for task in tasks {
            calls.extend(task.await.unwrap());
        }
        for call in &calls {
            match &call.step {
                Asked::HandOut { answer: Out::Lent(_), .. } => lent += 1,
                Asked::HandOut { .. } => refused += 1,
                Asked::TakeBack { did: true, .. } => back += 1,
                Asked::TakeBack { .. } => late += 1,
                _ => {}
            }
        }
        // Once nobody acts any more, both copies show the same: what the order leads to.
        for (who, me) in people.iter_mut().enumerate().take(2) {
            for list in [true, false] {
                let asked = loft.order.next();
                let step = if list { loft.loans(me).await } else { loft.rod_list(me).await };
                calls.push(Call { who, asked, answered: loft.order.next(), step });
            }
        }
        state = explain(&state, &calls).unwrap_or_else(|why| panic!("round {round}: {why}"));
        copies.check(&format!("round {round}")).await;
        if round % 2 == 0 {
            // The next round begins with all frames in, so that two go out at once and take their rods from one row.
            let out: Vec<String> = state.out.values().map(|(loan, _, _)| loan.clone()).collect();
            for loan in out {
                let step = loft.take_back_now(&mut people[0], loan, 0, 0).await;
                state =
                    step.after(&state).unwrap_or_else(|| panic!("round {round}: {step:?} after {state:?}"));
            }
        }
    }
    assert!(lent > 5 && refused > 5 && back > 5 && late > 0, "{lent} {refused} {back} {late}");
});
