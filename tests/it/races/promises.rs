//! Promised cloth at two copies at once: share-outs accepted, promises pulled, put back and released, and the rest of the
//! bundle pulled past them.
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use tokio::sync::Barrier;

use super::copies::{Copies, End, every, id_in};
use super::linear::{Call, Chance, Order, Step, explain};
use super::on_copies;
use crate::support::browser::Browser;

/// A promise of the bundle, in milligrams.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Promise {
    share_out: usize,
    mg: i64,
    stands: bool,
    /// What was pulled for it, and whether the rest of that came back.
    pulled: Option<(i64, bool)>,
}

/// A bundle and what of it is promised to one rug, by share-outs that nobody may have accepted yet.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Promised {
    balance: i64,
    accepted: Vec<bool>,
    promises: BTreeMap<String, Promise>,
}

impl Promised {
    fn open(&self) -> impl Iterator<Item = (&String, &Promise)> {
        self.promises.iter().filter(|(_, promise)| promise.stands && promise.pulled.is_none())
    }

    /// Those that were pulled and of which the rest may still come back.
    fn pulled(&self) -> impl Iterator<Item = (&String, &Promise)> {
        let out = |promise: &Promise| promise.stands && matches!(promise.pulled, Some((_, false)));
        self.promises.iter().filter(move |(_, promise)| out(promise))
    }
}

#[derive(Debug)]
enum Act {
    Accept(usize),
    Pull(String, i64),
    Back(String, i64),
    Release(String),
    /// Some of the bundle, for nobody in particular, and not what is promised.
    PullRest(i64),
    /// The pull sheet: what is still to be pulled, and what was.
    Look(BTreeSet<String>, BTreeSet<String>),
}

#[derive(Debug)]
struct Asked {
    act: Act,
    did: bool,
}

impl Act {
    fn done(&self, now: &Promised) -> Option<Promised> {
        let mut next = now.clone();
        match self {
            Self::Accept(which) => {
                // All of one rug: what it was promised before and nobody pulled is free again.
                (!now.accepted[*which]).then_some(())?;
                next.accepted[*which] = true;
                for promise in next.promises.values_mut().filter(|promise| promise.pulled.is_none()) {
                    promise.stands = promise.share_out == *which;
                }
                (next.open().map(|(_, promise)| promise.mg).sum::<i64>() <= next.balance).then_some(())?;
            }
            Self::Pull(id, mg) => {
                let promise = next.promises.get_mut(id)?;
                (promise.stands && promise.pulled.is_none() && *mg <= now.balance).then_some(())?;
                promise.pulled = Some((*mg, false));
                next.balance -= mg;
            }
            Self::Back(id, mg) => {
                let promise = next.promises.get_mut(id)?;
                let (out, back) = promise.pulled.as_mut().filter(|_| promise.stands)?;
                // The rest comes back once, and is no more than was pulled.
                (!*back && *mg <= *out).then_some(())?;
                *back = true;
                next.balance += mg;
            }
            Self::Release(id) => {
                let promise = next.promises.get_mut(id)?;
                (promise.stands && promise.pulled.is_none()).then_some(())?;
                promise.stands = false;
            }
            Self::PullRest(mg) => {
                let promised: i64 = now.open().map(|(_, promise)| promise.mg).sum();
                (*mg <= now.balance - promised).then_some(())?;
                next.balance -= mg;
            }
            Self::Look(open, pulled) => {
                let same = now.open().map(|(id, _)| id).eq(open) && now.pulled().map(|(id, _)| id).eq(pulled);
                return same.then_some(next);
            }
        }
        Some(next)
    }
}

impl Step for Asked {
    type State = Promised;

    fn after(&self, now: &Promised) -> Option<Promised> {
        match (self.act.done(now), self.did) {
            (Some(next), true) => Some(next),
            (None, false) => Some(now.clone()),
            _ => None,
        }
    }
}

/// Weighs cloth in that any part of a rug may be made of, and answers the bundle's address.
async fn weigh_in(me: &mut Browser, grams: i64) -> String {
    let weight = format!("{grams} g");
    let fields = [("kind", "percale"), ("colour", "cream"), ("weight", weight.as_str()), ("washed", "yes")];
    let to = me.post("/cloth/weigh-in", &fields).await;
    format!("/cloth/{}", to.to().split("done=").nth(1).unwrap())
}

async fn moved(me: &mut Browser, bundle: &str, from: &str, to: &str) {
    me.post(&format!("{bundle}/state"), &[("from", from), ("to", to)]).await.is(303);
}

/// Has cloth found for a rug, whatever its colour, and answers the address of the proposal.
async fn propose(me: &mut Browser, rug: &str) -> String {
    let fields = [("rug", rug), ("most", "1"), ("seconds", "1"), ("most_off", "200")];
    let to = me.post("/share-out", &fields).await.to().to_owned();
    // The page asks for itself again until there is an answer.
    while me.get(&to).await.is(200).headers.contains_key("refresh") {
        tokio::task::yield_now().await;
    }
    to
}

struct Person {
    who: usize,
    me: Browser,
    chance: Chance,
    order: Order,
    /// The promises that it is about; others stand on the pull sheet too.
    known: Vec<String>,
    calls: Vec<Call<Asked>>,
}

impl Person {
    async fn send(&mut self, path: &str, fields: &[(&str, &str)], act: Act) {
        let asked = self.order.next();
        let page = self.me.post(path, fields).await;
        // What isn't there any more, as a promise that was released, is no fault either.
        let did = page.status != 404 && End::of(page).is_done();
        let answered = self.order.next();
        self.calls.push(Call { who: self.who, asked, answered, step: Asked { act, did } });
    }

    async fn look(&mut self) {
        let asked = self.order.next();
        let page = self.me.get("/pull").await.is(200);
        let answered = self.order.next();
        let ids = |selector: &str| -> BTreeSet<String> {
            let ids = every(&page, selector, "href").into_iter().map(|link| id_in(&link));
            ids.filter(|id| self.known.contains(id)).collect()
        };
        let (open, pulled) = (ids("td[data-label=Pulled] a"), ids("td[data-label=Rest] a"));
        let act = Act::Look(open, pulled);
        self.calls.push(Call { who: self.who, asked, answered, step: Asked { act, did: true } });
    }

    async fn act(&mut self, world: &World) {
        let id = self.chance.of(&self.known).clone();
        let grams = 40 * (1 + self.chance.below(4)) as i64;
        let (typed, path) = (format!("{grams} g"), format!("/promises/{id}"));
        match self.chance.below(12) {
            0..4 => {
                let act = Act::Pull(id, grams * 1000);
                self.send(&format!("{path}/pull"), &[("pull_weight", &typed)], act).await;
            }
            4..6 => {
                let act = Act::Back(id, grams * 1000);
                self.send(&format!("{path}/back"), &[("back_weight", &typed)], act).await;
            }
            6 => self.send(&format!("{path}/release"), &[], Act::Release(id)).await,
            7..9 => {
                let typed = format!("{} g", world.rest);
                let act = Act::PullRest(world.rest * 1000);
                self.send(&format!("{}/pull", world.bundle), &[("pull_weight", &typed)], act).await;
            }
            9 => {
                let which = self.chance.below(world.share_outs.len());
                self.accept(world, which).await;
            }
            _ => {
                self.look().await;
            }
        }
    }

    async fn accept(&mut self, world: &World, which: usize) {
        self.send(&format!("{}/accept", world.share_outs[which]), &[], Act::Accept(which)).await;
    }
}

/// A bundle, and the share-outs that were found and not decided on.
struct World {
    bundle: String,
    share_outs: Vec<String>,
    /// What the bundle holds twice, but not besides what is promised, in grams.
    rest: i64,
    start: Promised,
}

impl World {
    async fn of(copies: &Copies, (bundle, grams): (String, i64), share_outs: Vec<String>) -> Self {
        let mut promises = BTreeMap::new();
        for (which, address) in share_outs.iter().enumerate() {
            for (id, mg) in copies.promised(&id_in(address)).await {
                promises.insert(id, Promise { share_out: which, mg, stands: false, pulled: None });
            }
        }
        let first: i64 = promises.values().filter(|one| one.share_out == 0).map(|one| one.mg).sum();
        assert!(first > 300_000 && first < grams * 500, "{first} mg of {grams} g are found for a rug");
        let accepted = vec![false; share_outs.len()];
        let start = Promised { balance: grams * 1000, accepted, promises };
        Self { bundle, share_outs, rest: grams / 2 - 100, start }
    }

    fn person(&self, who: usize, me: &Browser, seed: u64, order: &Order) -> Person {
        let known = self.start.promises.keys().cloned().collect();
        let (me, order) = (me.clone(), order.clone());
        Person { who, me, chance: Chance::new(seed), order, known, calls: Vec::new() }
    }
}

const PEOPLE: usize = 4;
const ACTS: usize = 6;

/// Everybody acts at once, and then both copies are looked at; all calls together.
async fn race<F: Future<Output = Person> + Send + 'static>(
    world: &World,
    people: &[Browser],
    order: &Order,
    act: impl Fn(usize, Arc<Barrier>) -> F,
) -> Vec<Call<Asked>> {
    let together = Arc::new(Barrier::new(PEOPLE));
    let tasks: Vec<_> = (0..PEOPLE).map(|who| tokio::spawn(act(who, together.clone()))).collect();
    let mut calls = Vec::new();
    for task in tasks {
        calls.extend(task.await.unwrap().calls);
    }
    for (who, me) in people.iter().enumerate().take(2) {
        let mut person = world.person(who, me, 0, order);
        person.look().await;
        calls.extend(person.calls);
    }
    calls
}

on_copies!(promises_are_accepted_pulled_and_put_back_as_if_one_after_the_other, |copies| async move {
    let mut people = copies.instructors(PEOPLE).await;
    let order = Order::default();
    let (mut done, mut refused) = (0, 0);
    for round in 0..8 {
        let rug = copies.rugs(1).await[0].1.clone();
        let me = &mut people[0];
        let bundle = weigh_in(me, 9_000).await;
        // Two that want the same cloth for the same rug: whichever is accepted last holds, but for what was pulled.
        let share_outs = vec![propose(me, &rug).await, propose(me, &rug).await];
        let world = Arc::new(World::of(&copies, (bundle.clone(), 9_000), share_outs).await);
        let calls = race(&world, &people, &order, |who, together| {
            let (world, seed) = (world.clone(), 5_000 + round * 100 + who as u64);
            let mut person = world.person(who, &people[who], seed, &order);
            async move {
                together.wait().await;
                if who < 2 {
                    person.accept(&world, who).await;
                }
                for _ in 0..ACTS {
                    person.act(&world).await;
                }
                person
            }
        })
        .await;
        explain(&world.start, &calls).unwrap_or_else(|why| panic!("round {round}: {why}"));
        done += calls.iter().filter(|call| call.step.did).count();
        refused += calls.iter().filter(|call| !call.step.did).count();
        copies.check(&format!("round {round}")).await;
        // Whatever is left of it, if anything.
        End::of(people[0].post(&format!("{bundle}/scrap"), &[("scrap_all", "yes")]).await);
    }
    assert!(done > 50 && refused > 30, "{done} {refused}");
});

on_copies!(two_share_outs_for_one_rug_accepted_at_once_promise_once, |copies| async move {
    let mut people = copies.instructors(PEOPLE).await;
    let order = Order::default();
    for round in 0..10 {
        let rug = copies.rugs(1).await[0].1.clone();
        let me = &mut people[0];
        // The one finds cloth in one bundle, the other in another: at each time only one of them is washed.
        let (one, other) = (weigh_in(me, 9_000).await, weigh_in(me, 9_000).await);
        moved(me, &other, "ready", "arrived").await;
        let first = propose(me, &rug).await;
        moved(me, &one, "ready", "arrived").await;
        moved(me, &other, "arrived", "ready").await;
        let second = propose(me, &rug).await;
        moved(me, &one, "arrived", "ready").await;
        let world = World::of(&copies, (one.clone(), 18_000), vec![first, second]).await;
        let world = Arc::new(world);
        let calls = race(&world, &people, &order, |who, together| {
            let mut person = world.person(who, &people[who], 0, &order);
            let world = world.clone();
            async move {
                together.wait().await;
                if who < 2 {
                    person.accept(&world, who).await;
                } else {
                    person.look().await;
                }
                person.look().await;
                person
            }
        })
        .await;
        explain(&world.start, &calls).unwrap_or_else(|why| panic!("round {round}: {why}"));
        for bundle in [&one, &other] {
            people[0].post(&format!("{bundle}/scrap"), &[("scrap_all", "yes")]).await.is(303);
        }
        copies.check(&format!("round {round}")).await;
    }
});

on_copies!(cloth_that_is_enough_for_one_rug_is_promised_to_one, |copies| async move {
    let mut people = copies.instructors(2).await;
    for round in 0..6 {
        let rugs = copies.rugs(2).await;
        let me = &mut people[0];
        let bundle = weigh_in(me, 9_000).await;
        let wanted: i64 =
            copies.promised(&id_in(&propose(me, &rugs[0].1).await)).await.iter().map(|(_, mg)| mg).sum();
        let enough = format!("{} g", wanted * 3 / 2000);
        me.post(&format!("{bundle}/count"), &[("count_weight", enough.as_str())]).await.is(303);
        let (first, second) = (propose(me, &rugs[0].1).await, propose(me, &rugs[1].1).await);
        let [one, other] = &mut people[..] else { unreachable!() };
        let (first, second) = (format!("{first}/accept"), format!("{second}/accept"));
        let (a, b) = tokio::join!(one.post(&first, &[]), other.post(&second, &[]));
        let ends = [a.status.as_u16(), b.status.as_u16()];
        assert!(ends == [303, 409] || ends == [409, 303], "round {round}: {ends:?}");
        let sheet = one.get("/pull").await.is(200);
        let open: BTreeSet<String> = every(&sheet, "tbody th a", "href").into_iter().collect();
        assert!(open.contains(&bundle), "round {round}: nothing of it is promised");
        copies.check(&format!("round {round}")).await;
        one.post(&format!("{bundle}/scrap"), &[("scrap_all", "yes")]).await.is(303);
    }
});

/// All send the same form at once, each of their own accord; the statuses they get, in order.
async fn all_at_once(people: &[Browser], path: &str, fields: &[(&'static str, &str)]) -> Vec<u16> {
    let together = Arc::new(Barrier::new(people.len()));
    let send = |me: &Browser| {
        let (mut me, path, together) = (me.clone(), path.to_owned(), together.clone());
        let fields: Vec<(&str, String)> =
            fields.iter().map(|(name, text)| (*name, (*text).to_owned())).collect();
        tokio::spawn(async move {
            together.wait().await;
            let fields: Vec<_> = fields.iter().map(|(name, text)| (*name, text.as_str())).collect();
            me.post(&path, &fields).await.status.as_u16()
        })
    };
    let tasks: Vec<_> = people.iter().map(send).collect();
    let mut ends = Vec::new();
    for task in tasks {
        ends.push(task.await.unwrap());
    }
    ends.sort_unstable();
    ends
}

on_copies!(
    the_rest_of_a_bundle_is_pulled_once_and_so_comes_the_rest_of_a_promise_back,
    |copies| async move {
        let mut people = copies.instructors(PEOPLE).await;
        let once = [303, 422, 422, 422];
        for round in 0..8 {
            let rug = copies.rugs(1).await[0].1.clone();
            let me = &mut people[0];
            let bundle = weigh_in(me, 9_000).await;
            let share_out = propose(me, &rug).await;
            me.post(&format!("{share_out}/accept"), &[]).await.is(303);
            let promises = copies.promised(&id_in(&share_out)).await;
            let wanted: i64 = promises.iter().map(|(_, mg)| mg).sum();

            // The bundle holds it twice, but what is promised to nobody only once.
            let rest = "4400 g";
            assert!(wanted > 300_000 && wanted < 4_600_000, "{wanted} mg are promised");
            // Strips would be a bundle of their own, from which the next round's cloth could come.
            let (what, weight) = if round < 7 { ("pull", "pull_weight") } else { ("cut", "cut_weight") };
            let fields = [(weight, rest), ("cut_width", "38 mm")];
            let ends = all_at_once(&people, &format!("{bundle}/{what}"), &fields).await;
            assert_eq!(ends, once, "round {round}: {what}");

            // A promise is pulled once, and its rest comes back once, though there would be enough for all.
            let promise = format!("/promises/{}", promises[0].0);
            for (what, field) in [("pull", ("pull_weight", "200 g")), ("back", ("back_weight", "40 g"))] {
                let ends = all_at_once(&people, &format!("{promise}/{what}"), &[field]).await;
                assert_eq!(ends, once, "round {round}: {what}");
            }
            copies.check(&format!("round {round}")).await;
            people[0].post(&format!("{bundle}/scrap"), &[("scrap_all", "yes")]).await.is(303);
        }
    }
);
