//! Cloth that is there once is promised, pulled and put back once, however many ask for it at once.
use std::collections::BTreeSet;
use std::sync::Arc;

use tokio::sync::Barrier;

use super::{PEOPLE, propose, weigh_in};
use crate::races::copies::{every, id_in};
use crate::races::on_copies;
use crate::support::browser::Browser;

on_copies!(cloth_that_is_enough_for_one_rug_is_promised_to_one, |copies| async move {
    let mut people = copies.instructors(2).await;
    for round in 0..6 {
        let rugs = copies.rugs(2).await;
        let me = &mut people[0];
        let bundle = weigh_in(me, 9_000).await;
        let wanted: i64 =
            copies.promised(&id_in(&propose(me, &rugs[0].1).await)).await.iter().map(|(.., mg)| mg).sum();
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
            let wanted: i64 = promises.iter().map(|(.., mg)| mg).sum();

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
