//! Two people, or one who presses twice, at two copies at the same moment: one form acts once, one of two editors is told
//! what the other made of it, an instructor stays, and sign-ins and their failures are all counted.
use super::copies::{Copies, End, fields_of, id_in, ledger, table};
use super::on_copies;
use crate::support::browser::{Browser, Page};

/// The same form with the same key, sent by two at once: both are led to the same place.
async fn twice([one, other]: &[Browser; 2], path: &str, fields: &[(&str, &str)], key: &str) -> String {
    let fields = [fields, &[("key", key)]].concat();
    let (mut one, mut other) = (one.clone(), other.clone());
    let (first, second) = tokio::join!(one.post(path, &fields), other.post(path, &fields));
    assert_eq!(first.to(), second.to(), "{path}: one form leads to two places");
    let third = one.post(path, &fields).await;
    assert_eq!(third.to(), first.to(), "{path}: sent once more it leads elsewhere");
    first.to().to_owned()
}

async fn loans(me: &mut Browser) -> Vec<[String; 2]> {
    table(&me.get("/loans.csv").await.is(200).text, ["frame", "taken back"])
}

on_copies!(one_form_sent_by_two_at_once_acts_once, |copies| async move {
    let (_, one) = copies.instructor(0, "Ilka Probe").await;
    // The same person at the other copy: the same cookie.
    let mut other = copies.stranger(1);
    other.cookie = one.cookie.clone();
    let two = [one.clone(), other];
    let mut me = one;
    let frame = &copies.frames(&["S1"]).await[0];
    let rug = &copies.rugs(1).await[0].1;
    for round in 1..=6_usize {
        let key = Copies::key();
        let inches = format!("{} in", 40 + round);
        let size = [("length", inches.as_str()), ("diameter", "1/8 in"), ("owned", "5")];
        let rods = id_in(&twice(&two, "/rods", &size, &key).await);
        assert_eq!(me.get("/rods").await.is(200).all("td[data-label=Owned]").len(), round);
        let path = format!("/rods/{rods}/count");
        twice(&two, &path, &[("act", "bought"), ("rods", "2")], &Copies::key()).await;
        twice(&two, &path, &[("act", "found bent"), ("rods", "1")], &Copies::key()).await;
        let counts = me.get("/rods").await.all("tbody tr:last-of-type td.num");
        assert_eq!(counts, ["6", "0", "1", "7"], "round {round}: here, out, bent, owned");

        let out = [
            ("frame", frame.as_str()),
            ("rug", rug),
            ("rod", &rods),
            ("rods", "2"),
            ("due_on", "2026-11-19"),
        ];
        let loan = id_in(&twice(&two, &format!("/frames/{frame}/hand-out"), &out, &Copies::key()).await);
        assert_eq!(loans(&mut me).await.len(), round, "handed out once");
        twice(
            &two,
            &format!("/loans/{loan}/due"),
            &[("due_on", "2026-11-20"), ("due_was", "2026-11-19")],
            &Copies::key(),
        )
        .await;
        let back = [
            ("condition", "sound"),
            ("rug", "planned"),
            ("rods_bent", "1"),
            ("rods_missing", "1"),
            ("note", ""),
        ];
        twice(&two, &format!("/loans/{loan}/take-back"), &back, &Copies::key()).await;
        let counts = me.get("/rods").await.all("tbody tr:last-of-type td.num");
        assert_eq!(counts, ["4", "0", "2", "6"], "round {round}: here, out, bent, owned");

        let weighed = [("kind", "percale"), ("colour", "navy"), ("weight", "500 g"), ("washed", "yes")];
        let done = twice(&two, "/cloth/weigh-in", &weighed, &Copies::key()).await;
        let bundle = format!("/cloth/{}", done.split("done=").nth(1).unwrap());
        twice(&two, &format!("{bundle}/pull"), &[("pull_weight", "200 g")], &Copies::key()).await;
        twice(&two, &format!("{bundle}/put-back"), &[("put_back_weight", "50 g")], &Copies::key()).await;
        let cut = [("cut_weight", "100 g"), ("cut_width", "38 mm")];
        twice(&two, &format!("{bundle}/cut"), &cut, &Copies::key()).await;
        twice(&two, &format!("{bundle}/scrap"), &[("scrap_weight", "20 g")], &Copies::key()).await;
        let entry = me.get(&bundle).await.is(200).attr("tbody tr:nth-of-type(3) [name=entry]", "value");
        twice(&two, &format!("{bundle}/undo"), &[("entry", &entry)], &Copies::key()).await;
        let changes: Vec<_> = ledger(&me.get(&bundle).await).iter().map(|row| row.change).collect();
        assert_eq!(changes, [500, -200, 50, -100, -20, -50], "round {round}");
        // The bundle and its strips, and no more.
        assert_eq!(table(&me.get("/cloth.csv").await.text, ["tag"]).len(), 2 * round);
    }
    copies.check("in the end").await;
});

on_copies!(one_entry_undone_by_two_at_once_is_undone_once, |copies| async move {
    let (mut one, mut other) =
        (copies.instructor(0, "One Probe").await.1, copies.instructor(1, "Other Probe").await.1);
    for round in 0..8 {
        let weighed = [("kind", "percale"), ("colour", "navy"), ("weight", "500 g"), ("washed", "yes")];
        let done = one.post("/cloth/weigh-in", &weighed).await;
        let bundle = format!("/cloth/{}", done.to().split("done=").nth(1).unwrap());
        one.post(&format!("{bundle}/pull"), &[("pull_weight", "200 g")]).await.is(303);
        let cut = [("cut_weight", "100 g"), ("cut_width", "38 mm")];
        let strips = format!("/cloth/{}", id_in(one.post(&format!("{bundle}/cut"), &cut).await.to()));
        let entry = |page: &Page, at: usize| ledger(page)[at].entry.clone().unwrap();
        let (whole, part) = (one.get(&bundle).await.is(200), one.get(&strips).await.is(200));
        // A pull; and a cut, by the one from the bundle's side, by the other from that of its strips.
        let twice = [
            ((&bundle, entry(&whole, 1)), (&bundle, entry(&whole, 1))),
            ((&bundle, entry(&whole, 2)), (&strips, entry(&part, 0))),
        ];
        for ((here, this), (there, that)) in twice {
            let (here, there) = (format!("{here}/undo"), format!("{there}/undo"));
            let (this, that) = ([("entry", this.as_str())], [("entry", that.as_str())]);
            let (a, b) = tokio::join!(one.post(&here, &this), other.post(&there, &that));
            let mut ends = [a.status.as_u16(), b.status.as_u16()];
            ends.sort_unstable();
            assert_eq!(ends, [303, 409], "round {round}, {here} and {there}");
            // And nobody undoes it once more.
            one.post(&here, &this).await.is(409);
        }
        let changes: Vec<_> = ledger(&one.get(&bundle).await).iter().map(|row| row.change).collect();
        assert_eq!(changes, [500, -200, -100, 200, 100], "round {round}");
        copies.check(&format!("round {round}")).await;
    }
});

/// Two who save the same form at once, each with a word of their own: one is done, the other is told and loses nothing.
async fn edited([one, other]: &[Browser; 2], page: &str, to: &str, name: &str, round: usize) {
    let (mut one, mut other) = (one.clone(), other.clone());
    let shown: Page = one.get(page).await.is(200);
    let form = format!("form[action=\"{to}\"]");
    let typed = |who: &str| -> Vec<(String, String)> {
        let mut fields = fields_of(&shown, &form);
        let field = fields.iter_mut().find(|(known, _)| known == name).unwrap();
        field.1 = format!("{who} {round}");
        fields
    };
    let (first, second) = (typed("One"), typed("Other"));
    let (a, b) = (borrowed(&first), borrowed(&second));
    let (won, lost, word, by) = match tokio::join!(one.post(to, &a), other.post(to, &b)) {
        (one, other) if one.status == 303 => (one, other, "One", "Other"),
        (one, other) => (other, one, "Other", "One"),
    };
    assert_eq!((won.status.as_u16(), lost.status.as_u16()), (303, 409), "{to}: {}{}", won.text, lost.text);
    let kept = fields_of(&lost, &form);
    let value = |fields: &[(String, String)]| {
        fields.iter().find(|(known, _)| known == name).map(|(_, value)| value.clone()).unwrap()
    };
    assert_eq!(value(&kept), format!("{by} {round}"), "{to}: what was typed is lost");
    assert!(lost.one("[role=alert]").contains(&format!("{word} {round}")), "{to}: not told what it is now");
    let now = one.get(page).await.is(200);
    assert_eq!(value(&fields_of(&now, &form)), format!("{word} {round}"), "{to}: what was saved isn't kept");
    // Sent again as it came back, it is saved knowingly.
    other.post(to, &borrowed(&kept)).await.is(303);
    let now = one.get(page).await.is(200);
    assert_eq!(value(&fields_of(&now, &form)), format!("{by} {round}"), "{to}");
}

fn borrowed(fields: &[(String, String)]) -> Vec<(&str, &str)> {
    fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect()
}

on_copies!(of_two_editors_at_once_one_is_told_and_keeps_what_was_typed, |copies| async move {
    let (_, one) = copies.instructor(0, "Ilka Probe").await;
    let (_, other) = copies.instructor(1, "Ida Probe").await;
    let two = [one, other];
    let frame = format!("/frames/{}", copies.frames(&["S1"]).await[0]);
    let (person, _) = copies.instructor(0, "Vera Probe").await;
    for round in 0..6 {
        edited(&two, &format!("{frame}/edit"), &frame, "note", round).await;
        let person = format!("/people/{person}");
        edited(&two, &person, &person, "contact", round).await;
    }
    copies.check("in the end").await;
});

on_copies!(two_instructors_who_remove_each_other_dont_both_go, |copies| async move {
    for round in 0..10 {
        let (one_id, mut one) = copies.instructor(0, &format!("One {round}")).await;
        let (other_id, mut other) = copies.instructor(1, &format!("Other {round}")).await;
        let (by_one, by_other) = (format!("/people/{other_id}/leave"), format!("/people/{one_id}/leave"));
        let (first, second) = tokio::join!(one.post(&by_one, &[]), other.post(&by_other, &[]));
        let went = [first.status.as_u16(), second.status.as_u16()];
        // The second isn't here any more, or is told that somebody was quicker.
        assert!(matches!(went, [303, 401 | 409] | [401 | 409, 303]), "round {round}: {went:?}");
        let here = [one.get("/people").await.status.as_u16(), other.get("/people").await.status.as_u16()];
        let expected = if went[0] == 303 { [200, 303] } else { [303, 200] };
        assert_eq!(here, expected, "round {round}: who is still let in");
        let (stays, mut left) = if went[0] == 303 { (one_id, one) } else { (other_id, other) };
        let list = left.get("/people").await.is(200);
        assert_eq!(list.all(&format!("a[href=\"/people/{stays}\"]")).len(), 1, "round {round}");
        copies.check(&format!("round {round}")).await;
    }
});

const PHRASE: &str = "four words of a gull";

async fn sign_in(me: &mut Browser, name: &str, phrase: &str) -> Page {
    me.post("/sign-in", &[("name", name), ("passphrase", phrase)]).await
}

/// Two copies, with a volunteer who has a passphrase.
async fn volunteer(copies: &Copies, name: &str) {
    let (_, mut ines) = copies.instructor(0, &format!("Ines for {name}")).await;
    let given = "a gull and seven herrings";
    let new = [("name", name), ("role", "volunteer"), ("passphrase", given), ("again", given)];
    assert!(End::of(ines.post("/people", &new).await).is_done());
    let mut me = copies.stranger(0);
    sign_in(&mut me, name, given).await.is(303);
    let own = [("old", given), ("passphrase", PHRASE), ("again", PHRASE)];
    assert_eq!(me.post("/me/passphrase", &own).await.to(), "/me?said=passphrase");
}

on_copies!(two_sign_ins_at_once_open_two_sessions, |copies| async move {
    volunteer(&copies, "Viggo Probe").await;
    let (mut one, mut other) = (copies.stranger(0), copies.stranger(1));
    for _ in 0..3 {
        let (first, second) = tokio::join!(
            sign_in(&mut one, "Viggo Probe", PHRASE),
            sign_in(&mut other, "Viggo Probe", PHRASE)
        );
        assert_eq!((first.to(), second.to()), ("/", "/"));
        assert!(one.cookie.is_some() && one.cookie != other.cookie, "a session each");
        one.get("/cloth").await.is(200);
        other.get("/cloth").await.is(200);
        // Signing out of one leaves the other.
        one.post("/sign-out", &[]).await.is(303);
        one.get("/cloth").await.is(303);
        other.get("/cloth").await.is(200);
    }
});

on_copies!(failed_sign_ins_at_once_are_all_counted, |copies| async move {
    for round in 0..4 {
        let name = format!("Viggo {round}");
        volunteer(&copies, &name).await;
        // Five wrong ones of which four come at once, at both copies.
        let mut me = copies.stranger(0);
        sign_in(&mut me, &name, "no word of a gull").await.is(422);
        let mut tasks = Vec::new();
        for copy in [0, 1, 0, 1] {
            let (mut me, name) = (copies.stranger(copy), name.clone());
            tasks.push(tokio::spawn(async move { sign_in(&mut me, &name, "no word of a gull").await }));
        }
        for task in tasks {
            task.await.unwrap().is(422);
        }
        // Now the door of this name is closed, also to the right passphrase, at either copy.
        for copy in 0..2 {
            sign_in(&mut copies.stranger(copy), &name, PHRASE).await.is(429);
        }
    }
});

on_copies!(of_many_guesses_at_once_no_more_are_tried_than_one_after_the_other, |copies| async move {
    // Tries that ended well are taken back, however many end at once.
    let name = "Viggo Thrice";
    volunteer(&copies, name).await;
    for _ in 0..3 {
        let (mut one, mut other) = (copies.stranger(0), copies.stranger(1));
        let (first, second) =
            tokio::join!(sign_in(&mut one, name, PHRASE), sign_in(&mut other, name, PHRASE));
        first.is(303);
        second.is(303);
    }
    volunteer(&copies, "Viggo Probe").await;
    let guesses: Vec<_> = (0..80)
        .map(|n| {
            let mut me = copies.stranger(n % 2);
            tokio::spawn(
                async move { sign_in(&mut me, "Viggo Probe", "no word of a gull").await.status.as_u16() },
            )
        })
        .collect();
    let mut tried = 0;
    for guess in guesses {
        match guess.await.unwrap() {
            422 => tried += 1,
            // Refused, or sent away since too many wait.
            429 | 503 => {}
            other => panic!("a guess was answered with {other}"),
        }
    }
    assert!((1..=5).contains(&tried), "{tried} guesses were tried");
});
