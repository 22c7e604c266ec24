//! Few bundles, which several people pull from, put back, cut, scrap, count, wash and undo at once at both copies; and the
//! numbers for the tapes, which all take from one row.
use std::sync::Arc;

use tokio::sync::Barrier;

use super::copies::{End, Row, id_in, ledger};
use super::linear::{Call, Chance, Order, Step, explain};
use super::on_copies;
use crate::support::browser::Browser;

/// Why an entry stands in the ledger, as far as undoing it depends on that.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Why {
    Pulled,
    PutBack,
    /// The strips became this bundle.
    Cut(String),
    Reversal,
    Other,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Entry {
    why: Why,
    grams: i64,
    undone: bool,
}

/// A bundle: where it is on its way to the shelf, and its ledger.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Bundle {
    state: &'static str,
    entries: Vec<Entry>,
}

impl Bundle {
    fn new(washed: bool, grams: i64) -> Self {
        let mut bundle = Self { state: if washed { "ready" } else { "arrived" }, entries: Vec::new() };
        bundle.enter(Why::Other, grams);
        bundle
    }

    fn enter(&mut self, why: Why, grams: i64) {
        self.entries.push(Entry { why, grams, undone: false });
    }

    fn balance(&self) -> i64 {
        self.entries.iter().map(|entry| entry.grams).sum()
    }

    fn standing(&self) -> impl Iterator<Item = &Entry> {
        self.entries.iter().filter(|entry| !entry.undone)
    }

    /// Pulled and not put back.
    fn out(&self) -> i64 {
        let both = self.standing().filter(|entry| matches!(entry.why, Why::Pulled | Why::PutBack));
        -both.map(|entry| entry.grams).sum::<i64>()
    }

    fn shown(&self) -> Vec<(i64, i64)> {
        let mut left = 0;
        let each = |entry: &Entry| {
            left += entry.grams;
            (entry.grams, left)
        };
        self.entries.iter().map(each).collect()
    }
}

/// Which entry is undone: by its number in this ledger, or the cut by which these strips left it.
#[derive(Debug)]
enum Which {
    Number(usize),
    Cut(String),
}

#[derive(Debug)]
enum Act {
    Pull(i64),
    PutBack(i64),
    /// Some of it, or all there is.
    Scrap(Option<i64>),
    Count(i64),
    /// What is cut, which bundle the strips are, and whether the rest is scrapped.
    Cut(i64, String, bool),
    Move(&'static str, &'static str),
    Undo(Which),
    /// The ledger as the bundle's page shows it: each change, and what is left after it.
    Look(Vec<(i64, i64)>),
}

/// What was done with a bundle, and whether it was done or refused.
#[derive(Debug)]
struct Asked {
    act: Act,
    did: bool,
}

impl Act {
    /// The bundle afterwards; nothing where the act has to be refused.
    fn done(&self, bundle: &Bundle) -> Option<Bundle> {
        let mut next = bundle.clone();
        let (balance, ready) = (bundle.balance(), bundle.state == "ready");
        match self {
            Self::Pull(grams) => {
                (ready && *grams <= balance).then(|| next.enter(Why::Pulled, -grams))?;
            }
            Self::PutBack(grams) => {
                (ready && *grams <= bundle.out()).then(|| next.enter(Why::PutBack, *grams))?;
            }
            Self::Scrap(grams) => {
                let grams = grams.unwrap_or(balance);
                (grams > 0 && grams <= balance).then(|| next.enter(Why::Other, -grams))?;
            }
            Self::Count(grams) => {
                (*grams != balance).then(|| next.enter(Why::Other, grams - balance))?;
            }
            Self::Cut(grams, strips, scrap_rest) => {
                (ready && *grams <= balance).then(|| next.enter(Why::Cut(strips.clone()), -grams))?;
                if *scrap_rest && *grams < balance {
                    next.enter(Why::Other, grams - balance);
                }
            }
            Self::Move(from, to) => {
                let taken = bundle.standing().any(|entry| matches!(entry.why, Why::Pulled | Why::Cut(_)));
                (bundle.state == *from && !(ready && taken)).then_some(())?;
                next.state = to;
            }
            Self::Undo(which) => {
                let entry = match which {
                    Which::Number(number) => next.entries.get_mut(*number)?,
                    Which::Cut(strips) => {
                        next.entries.iter_mut().find(|entry| entry.why == Why::Cut(strips.clone()))?
                    }
                };
                let Entry { why, grams, undone } = entry;
                let allowed = match why {
                    Why::Reversal => false,
                    Why::Pulled => bundle.out() + *grams >= 0,
                    Why::PutBack => ready && *grams <= balance,
                    Why::Cut(_) | Why::Other => *grams <= balance,
                };
                (allowed && !*undone).then_some(())?;
                *undone = true;
                let back = -*grams;
                next.enter(Why::Reversal, back);
            }
            Self::Look(shown) => return (bundle.shown() == *shown).then_some(next),
        }
        Some(next)
    }
}

impl Step for Asked {
    type State = Bundle;

    fn after(&self, bundle: &Bundle) -> Option<Bundle> {
        match (self.act.done(bundle), self.did) {
            (Some(next), true) => Some(next),
            (None, false) => Some(bundle.clone()),
            _ => None,
        }
    }
}

/// A number that somebody got for a tape.
#[derive(Debug)]
struct Tag(i64);

impl Step for Tag {
    type State = i64;

    fn after(&self, last: &i64) -> Option<i64> {
        (self.0 == last + 1).then_some(self.0)
    }
}

/// What one of the people asked and heard: of a bundle, by its place; and the numbers they got.
#[derive(Default)]
struct Heard {
    bundles: [Vec<Call<Asked>>; 2],
    tags: Vec<Call<Tag>>,
}

struct Person {
    who: usize,
    me: Browser,
    chance: Chance,
    order: Order,
    heard: Heard,
    /// Lots of strips that they cut, by the bundle.
    strips: Vec<(usize, String)>,
}

fn grams(n: i64) -> String {
    format!("{n} g")
}

impl Person {
    /// Sends a form, and tells when it was asked and answered, and how it ended.
    async fn send(&mut self, path: &str, fields: &[(&str, &str)]) -> (u64, u64, End) {
        let asked = self.order.next();
        let end = End::of(self.me.post(path, fields).await);
        (asked, self.order.next(), end)
    }

    fn note(&mut self, at: usize, (asked, answered): (u64, u64), act: Act, did: bool) {
        let who = self.who;
        self.heard.bundles[at].push(Call { who, asked, answered, step: Asked { act, did } });
    }

    /// The number on the tape of a bundle, which its page begins with.
    async fn tag(&mut self, bundle: &str, (asked, answered): (u64, u64)) {
        let title = self.me.get(&format!("/cloth/{bundle}")).await.is(200).one("h1");
        let tag = title.split(' ').next().unwrap().parse().unwrap();
        self.heard.tags.push(Call { who: self.who, asked, answered, step: Tag(tag) });
    }

    async fn weigh_in(&mut self, washed: bool, weight: i64) -> String {
        let weight = grams(weight);
        let washed = if washed { "yes" } else { "no" };
        let fields =
            [("kind", "percale"), ("colour", "navy"), ("weight", weight.as_str()), ("washed", washed)];
        let (asked, answered, end) = self.send("/cloth/weigh-in", &fields).await;
        let End::Done(to) = end else { panic!("a bundle isn't weighed in") };
        let id = to.split("done=").nth(1).unwrap().to_owned();
        self.tag(&id, (asked, answered)).await;
        id
    }

    async fn look(&mut self, at: usize, bundle: &str) -> Vec<Row> {
        let asked = self.order.next();
        let rows = ledger(&self.me.get(&format!("/cloth/{bundle}")).await.is(200));
        let span = (asked, self.order.next());
        self.note(at, span, Act::Look(rows.iter().map(|row| (row.change, row.left)).collect()), true);
        rows
    }

    async fn simple(&mut self, at: usize, bundle: &str, what: &str, act: Act, fields: &[(&str, &str)]) {
        let (asked, answered, end) = self.send(&format!("/cloth/{bundle}/{what}"), fields).await;
        self.note(at, (asked, answered), act, end.is_done());
    }

    async fn cut(&mut self, at: usize, bundle: &str, weight: i64) {
        let (rest, typed) = (self.chance.below(3) == 0, grams(weight));
        let mut fields = vec![("cut_weight", typed.as_str()), ("cut_width", "38 mm")];
        if rest {
            fields.push(("cut_rest", "yes"));
        }
        let (asked, answered, end) = self.send(&format!("/cloth/{bundle}/cut"), &fields).await;
        let strips = match end {
            End::Done(to) => {
                let strips = id_in(&to);
                self.strips.push((at, strips.clone()));
                self.tag(&strips, (asked, answered)).await;
                Some(strips)
            }
            End::Refused(_) => None,
        };
        let did = strips.is_some();
        self.note(at, (asked, answered), Act::Cut(weight, strips.unwrap_or_default(), rest), did);
    }

    /// Undoes an entry, looked up in the bundle's ledger; or a cut, from the side of its strips.
    async fn undo(&mut self, at: usize, bundle: &str) {
        let own = self.strips.iter().rev().find(|(from, _)| *from == at).map(|(_, strips)| strips.clone());
        if let Some(strips) = own.filter(|_| self.chance.below(2) == 0) {
            let path = format!("/cloth/{strips}");
            let rows = ledger(&self.me.get(&path).await.is(200));
            if let Some(entry) = rows[0].entry.clone() {
                let (asked, answered, end) = self.send(&format!("{path}/undo"), &[("entry", &entry)]).await;
                self.note(at, (asked, answered), Act::Undo(Which::Cut(strips)), end.is_done());
            }
            return;
        }
        let rows = self.look(at, bundle).await;
        let may: Vec<_> =
            rows.iter().enumerate().filter_map(|(at, row)| Some((at, row.entry.clone()?))).collect();
        if may.is_empty() {
            return;
        }
        let (number, entry) = self.chance.of(&may).clone();
        self.simple(at, bundle, "undo", Act::Undo(Which::Number(number)), &[("entry", &entry)]).await;
    }

    async fn act(&mut self, bundles: &[String; 2]) {
        let at = self.chance.below(2);
        let (bundle, n) = (bundles[at].as_str(), 20 * (1 + self.chance.below(12)) as i64);
        let typed = grams(n);
        match self.chance.below(16) {
            0..4 => self.simple(at, bundle, "pull", Act::Pull(n), &[("pull_weight", &typed)]).await,
            4..6 => {
                self.simple(at, bundle, "put-back", Act::PutBack(n), &[("put_back_weight", &typed)]).await;
            }
            6 => self.simple(at, bundle, "scrap", Act::Scrap(Some(n)), &[("scrap_weight", &typed)]).await,
            7 => self.simple(at, bundle, "scrap", Act::Scrap(None), &[("scrap_all", "yes")]).await,
            8..10 => {
                // With the basket, which isn't cloth.
                let gross = grams(n + 35);
                let fields = [("count_weight", gross.as_str()), ("count_tare", "35 g")];
                self.simple(at, bundle, "count", Act::Count(n), &fields).await;
            }
            10..12 => self.cut(at, bundle, n).await,
            12..14 => self.undo(at, bundle).await,
            14 => {
                let steps = [
                    ("arrived", "ready"),
                    ("arrived", "washing"),
                    ("washing", "ready"),
                    ("ready", "arrived"),
                ];
                let (from, to) = *self.chance.of(&steps);
                self.simple(at, bundle, "state", Act::Move(from, to), &[("from", from), ("to", to)]).await;
            }
            _ => {
                self.weigh_in(true, n).await;
            }
        }
    }
}

const PEOPLE: usize = 4;
const ACTS: usize = 6;
const ROUNDS: u64 = 10;

async fn acts(mut person: Person, bundles: Arc<[String; 2]>, together: Arc<Barrier>) -> Person {
    together.wait().await;
    for _ in 0..ACTS {
        person.act(&bundles).await;
    }
    person
}

on_copies!(bundles_are_pulled_counted_cut_and_undone_as_if_one_after_the_other, |copies| async move {
    let people = copies.instructors(PEOPLE).await;
    let order = Order::default();
    let person = |who: usize, seed| Person {
        who,
        me: people[who].clone(),
        chance: Chance::new(seed),
        order: order.clone(),
        heard: Heard::default(),
        strips: Vec::new(),
    };
    let (mut last, mut done, mut refused, mut undone) = (0, 0, 0, 0);
    for round in 0..ROUNDS {
        let mut first = person(0, 0);
        let bundles = Arc::new([first.weigh_in(true, 500).await, first.weigh_in(false, 400).await]);
        let together = Arc::new(Barrier::new(PEOPLE));
        let each =
            |who| acts(person(who, 1_000 + round * 100 + who as u64), bundles.clone(), together.clone());
        let tasks: Vec<_> = (0..PEOPLE).map(|who| tokio::spawn(each(who))).collect();
        let mut all = first.heard;
        for task in tasks {
            let Heard { bundles: [one, other], tags } = task.await.unwrap().heard;
            all.bundles[0].extend(one);
            all.bundles[1].extend(other);
            all.tags.extend(tags);
        }
        // Once nobody acts any more, both copies show the ledger that the order leads to.
        for who in 0..2 {
            let mut person = person(who, 0);
            for at in 0..2 {
                person.look(at, &bundles[at]).await;
            }
            let [one, other] = person.heard.bundles;
            all.bundles[0].extend(one);
            all.bundles[1].extend(other);
        }
        for (start, calls) in [Bundle::new(true, 500), Bundle::new(false, 400)].iter().zip(&all.bundles) {
            explain(start, calls).unwrap_or_else(|why| panic!("round {round}: {why}"));
            let acts = calls.iter().filter(|call| !matches!(call.step.act, Act::Look(_)));
            done += acts.clone().filter(|call| call.step.did).count();
            refused += acts.clone().filter(|call| !call.step.did).count();
            undone += acts.filter(|call| call.step.did && matches!(call.step.act, Act::Undo(_))).count();
        }
        last = explain(&last, &all.tags).unwrap_or_else(|why| panic!("round {round}: {why}"));
        copies.check(&format!("round {round}")).await;
    }
    assert!(done > 50 && refused > 20 && undone > 5, "{done} {refused} {undone}");
});
