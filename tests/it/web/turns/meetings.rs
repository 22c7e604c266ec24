//! At which meetings a turn lies: those that take place, those its weaver comes to, and as many as the work takes.
use serde_json::{Value, json};

use super::{Class, class, class_of};
use crate::support::browser::Page;
use crate::support::loft::usual;
use crate::support::solve::solve;
use crate::support::timetables::{turns, without};
use crate::web::needs::reckoned_small;
use crate::web::rugs::with;

#[tokio::test]
async fn meetings_that_are_over_or_called_off_are_left_out() {
    let mut class = class(5).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 2).await;
    class.weaver("Ana", &usual("")).await;
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ana", "2026-10-07", "2026-10-14"]]);
    // While a meeting goes on it still counts.
    class.clock("2026-10-08T05:00:00Z");
    Class::are(&class.proposal().await, &[["S1", "Ana", "2026-10-07", "2026-10-14"]]);
    class.clock("2026-10-08T05:31:00Z");
    Class::are(&class.proposal().await, &[["S1", "Ana", "2026-10-14", "2026-10-21"]]);
    let off = class.meetings[2];
    class.browser.post(&format!("/meetings/{off}/off"), &[]).await.is(303);
    Class::are(&class.proposal().await, &[["S1", "Ana", "2026-10-14", "2026-10-28"]]);
    class.browser.post(&format!("/meetings/{}/off", class.meetings[1]), &[]).await.is(303);
    Class::are(&class.proposal().await, &[["S1", "Ana", "2026-10-28", "2026-11-04"]]);
    class.clock("2026-10-30T12:00:00Z");
    let page = class.proposal().await;
    Class::are(&page, &[]);
    assert!(
        without(&page)[0].1.starts_with("It needs 2 meetings at the frame; 1 are left."),
        "{:?}",
        without(&page)
    );
}

#[tokio::test]
async fn not_before_and_absences_are_the_weavers_own() {
    let mut class = class(8).await;
    class.frame(&usual("S1")).await;
    class.frame(&usual("S2")).await;
    class.rods(36.0, 8).await;
    let (ana_person, ana) = class.weaver("Ana", &usual("")).await;
    let (ben_person, ben) = class.weaver("Ben", &usual("")).await;
    let of = |page: &Page, who: &str| -> [String; 2] {
        let turn = turns(page).into_iter().find(|turn| turn[1] == who).unwrap();
        [turn[2].clone(), turn[3].clone()]
    };
    let third = class.meetings[2].to_string();
    class.wish(&[ana, ben], &[(format!("from-{ben}"), third)]).await;
    let page = class.proposal().await;
    assert_eq!(of(&page, "Ben"), ["2026-10-21", "2026-10-28"]);
    assert_eq!(of(&page, "Ana"), ["2026-10-07", "2026-10-14"]);
    // Ana won't come on the second evening, Ben not on the third and fifth.
    class.absent(&[(ana_person, 1), (ben_person, 2), (ben_person, 4)]).await;
    let page = class.proposal().await;
    assert_eq!(of(&page, "Ana"), ["2026-10-07", "2026-10-21"]);
    assert_eq!(
        of(&page, "Ben"),
        ["2026-10-28", "2026-11-11"],
        "he doesn't begin at a meeting that he misses"
    );
}

#[tokio::test]
async fn the_gap_lies_between_two_rugs_on_a_frame() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    let ends = |page: &Page| {
        turns(page).into_iter().map(|turn| [turn[2].clone(), turn[3].clone()]).collect::<Vec<_>>()
    };
    let without_gap = [["2026-10-07", "2026-10-14"], ["2026-10-21", "2026-10-28"]];
    assert_eq!(ends(&class.proposal().await), without_gap);
    let with_gap = [["2026-10-07", "2026-10-14"], ["2026-10-28", "2026-11-04"]];
    assert_eq!(ends(&class.proposed("sure=half&gap=1").await), with_gap);
}

#[tokio::test]
async fn what_is_woven_already_takes_no_meeting_and_only_of_that_rug() {
    let mut class = class(6).await;
    let frames = [class.frame(&usual("S1")).await, class.frame(&usual("S2")).await];
    class.rods(36.0, 8).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    let (_, ben) = class.weaver("Ben", &usual("")).await;
    class.hand_out(ana, frames[0], None, "2026-10-21").await;
    class.hand_out(ben, frames[1], None, "2026-10-21").await;
    // 100 of about 128 rows: less than an hour and a half is left.
    class.browser.post(&format!("/rugs/{ana}/log"), &[("rows", "100")]).await.is(303);
    Class::are(
        &class.proposal().await,
        &[["S1", "Ana", "now", "2026-10-07"], ["S2", "Ben", "now", "2026-10-14"]],
    );
}

/// How many meetings of so many minutes Ana's small rug takes.
async fn takes(minutes: f64, sure: &str, home: &str) -> usize {
    let mut class = class_of(12, minutes.round() as u32).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let person = class.enrolled("Ana").await.to_string();
    let term = class.term.to_string();
    let form = [
        ("name", "Ana’s rug"),
        ("weaver", &*person),
        ("term", &*term),
        ("home_minutes", home),
        ("rugs_before", "7"),
    ];
    class.browser.post("/rugs", &with(&form)).await.is(303);
    let page = class.proposed(&format!("sure={sure}&gap=0")).await;
    let found = turns(&page);
    let meetings: Vec<String> = {
        let all = class.world.store().read().await.unwrap().meetings(class.term).await.unwrap();
        all.iter().map(|meeting| meeting.on_day.0.to_string()).collect()
    };
    let at = |day: &str| meetings.iter().position(|other| other == day).unwrap();
    at(&found[0][3]) - at(&found[0][2]) + 1
}

#[tokio::test]
async fn a_rug_takes_the_meetings_that_winding_weaving_and_taking_off_take() {
    let plan: Value = reckoned_small();
    let minutes = |value: &Value, path: &str| value.pointer(path).and_then(Value::as_f64).unwrap();
    // Weaving at the pace of a class that nothing is known of, by `solve pace`.
    let rug = json!({"weaver": "ana", "span_mm": 838.2, "width_mm": 457.2, "nails": 33, "rugs_before": 7});
    let pace = solve("pace", &json!({"rug": rug}));
    let [weave, surely] = ["expected", "take"].map(|end| minutes(&pace, &format!("/left/minutes/{end}")));
    // Winding on is 12 s for each of 66 nails, common practice; this rug's finishing is the taking off.
    let around = 66.0 * 12.0 / 60.0 + minutes(&plan, "/minutes/finish");
    let work = weave + around;
    assert!(around > 20.0 && surely > weave + 40.0, "{around} {weave} {surely}");
    for (meeting, sure, home, wanted, what) in [
        (work + 5.0, "half", "0", 1, "all of it fits"),
        (work - 5.0, "half", "0", 2, "winding on and taking off are done at the frame too"),
        (weave + 5.0, "half", "0", 2, "weaving is not all of it"),
        (work + 20.0, "nine", "0", 2, "nine in ten such weavers need more"),
        (surely + around + 5.0, "nine", "0", 1, "and that is enough for them"),
        (work / 2.0 + 5.0, "half", "0", 2, "two halves"),
        (work / 3.0 + 5.0, "half", "0", 3, "three thirds"),
        // Between two meetings is one evening at home: two meetings and an hour.
        (work / 2.0 - 25.0, "half", "60", 2, "an hour at home between them"),
        (work / 2.0 - 25.0, "half", "0", 3, "and without it"),
    ] {
        assert_eq!(
            takes(meeting, sure, home).await,
            wanted,
            "{what}: {meeting} minutes, {sure}, {home} at home"
        );
    }
}
