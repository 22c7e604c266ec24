//! Whatever several people do with promised cloth at once, it is as if they had come one after the other.
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use tokio::sync::Barrier;

use super::acts::{Act, Asked, Promise, Promised};
use super::{PEOPLE, moved, propose, weigh_in};
use crate::races::copies::{Copies, End, every, id_in};
use crate::races::linear::{Call, Chance, Order, explain};
use crate::races::on_copies;
use crate::support::browser::Browser;

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
    /// What the bundle holds twice, but not in addition to what is promised, in grams.
    rest: i64,
    start: Promised,
}

impl World {
    async fn of(copies: &Copies, (bundle, grams): (String, i64), share_outs: Vec<String>) -> Self {
        let mut promises = BTreeMap::new();
        for (which, address) in share_outs.iter().enumerate() {
            for (id, part, mg) in copies.promised(&id_in(address)).await {
                promises.insert(id, Promise { share_out: which, part, mg, stands: false, pulled: None });
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
        // Two that want the same cloth for the same rug: whichever is accepted last holds, except what was pulled.
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
