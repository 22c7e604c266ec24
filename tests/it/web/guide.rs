//! The guide's steps: of this rug, the one at hand, found by everyday words.
use super::rugs::planned;
use crate::support::browser::World;

#[tokio::test]
async fn the_steps_are_of_this_rug_and_found_by_everyday_words() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    let guide = weaver.get(&format!("{rug}/guide")).await.is(200);
    assert_eq!(guide.all(".guide-steps > li").len(), 19);
    assert_eq!(guide.all(".guide-steps svg desc").len(), 19);
    assert!(guide.text.contains("33 crossings") || guide.text.contains("<dd>33</dd>"));
    assert!(!guide.text.contains(" style="));
    assert_eq!(guide.attr(".guide-steps > li[aria-current]", "id"), "strips");
    for (ask, step) in [
        ("it slides off", "first-row"),
        ("Which GAP does the first row go through?", "first-row"),
        ("it is bowed in at the middle", "rods"),
        ("my strip ran out", "new-length"),
        ("there’s a hole at the edge", "rod-turn"),
        ("how do I join?", "join"),
        ("when do I turn the frame", "turn"),
        ("how does it come off", "off"),
        ("rows too tight", "push-down"),
        ("I can’t get through at the end", "last-row"),
        ("can I wash it", "wash"),
        ("why two strands", "crossing"),
    ] {
        let query = form_urlencoded::Serializer::new(String::new()).append_pair("ask", ask).finish();
        let answer = weaver.get(&format!("{rug}/guide?{query}")).await.is(200);
        assert_eq!(answer.attr("[role=status] a", "href"), format!("#{step}"), "{ask}");
        assert_eq!(
            answer.attrs(".guide-steps details[open] figure svg", "aria-labelledby"),
            [format!("{step}-d")]
        );
    }
    let none = weaver.get(&format!("{rug}/guide?ask=zebra")).await.is(200);
    assert!(none.one("[role=status]").contains("ask your instructor"));
}

#[tokio::test]
async fn the_step_at_hand_follows_the_rows_counted() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    let in_all: i64 =
        weaver.get(&format!("{rug}/count")).await.attr("[data-in-all]", "data-in-all").parse().unwrap();
    for (rows, step) in [(1, "second-row"), (3, "push-down"), (in_all - 2, "last-row"), (in_all, "off")] {
        weaver.post(&format!("{rug}/rows"), &[("to", &rows.to_string())]).await.is(303);
        let guide = weaver.get(&format!("{rug}/guide")).await.is(200);
        assert_eq!(guide.attr(".guide-steps > li[aria-current]", "id"), step, "after {rows} rows");
        let shown = weaver.get(&rug).await.is(200);
        assert!(
            shown.attrs(".tonight a", "href").contains(&format!("{rug}/guide#{step}")),
            "after {rows} rows"
        );
    }
}
