//! The pull sheet confirmed as one form.
use super::share_out::{answer, world};

#[tokio::test(flavor = "multi_thread")]
async fn the_whole_sheet_is_confirmed_at_once_or_not_at_all() {
    let (world, _, mut browser, rug, _) = world().await;
    let fields = [("rug", &*rug.to_string()), ("most", "1"), ("seconds", "1"), ("most_off", "12")];
    let to = browser.post("/share-out", &fields).await.to().to_owned();
    answer(&mut browser, &to).await;
    browser.post(&format!("{to}/accept"), &[]).await.is(303);
    let (_, mut volunteer) = world.volunteer().await;
    let sheet = volunteer.get("/pull").await.is(200);
    let names = sheet.attrs("input[form=pull-all][type=text]", "name");
    assert_eq!(names.len(), 3, "two of one bundle, and what there is of sand: {names:?}");
    let key = sheet.attr("#pull-all [name=key]", "value");

    // One that can't be read, and one that is more than there is: nothing is pulled, and what was typed stays.
    for wrong in ["much", "99 lb"] {
        let typed = [("key", &*key), (&*names[0], "1 lb"), (&*names[1], wrong)];
        let page = volunteer.post("/pull", &typed).await.is(422);
        page.only_error_at(&names[1]);
        let kept = |name: &str| page.attr(&format!("[id=\"{name}\"]"), "value");
        assert_eq!((kept(&names[0]), kept(&names[1])), ("1 lb".into(), wrong.to_owned()));
        assert_eq!(volunteer.get("/pull").await.attrs("input[form=pull-all][type=text]", "name"), names);
    }
    volunteer.post("/pull", &[("key", &key)]).await.is(422);
    // A line left empty stays; the same form sent twice counts once.
    let typed = [("key", &*key), (&*names[0], "1 lb"), (&*names[1], "")];
    for _ in 0..2 {
        assert_eq!(volunteer.post("/pull", &typed).await.to(), "/pull?said=pulled");
    }
    let page = volunteer.get("/pull").await.is(200);
    assert_eq!(page.attrs("input[form=pull-all][type=text]", "name"), names[1..]);
    assert_eq!(page.all("td[data-label='Brought back']").len(), 1);
    let key = page.attr("#pull-all [name=key]", "value");
    volunteer.post("/pull", &[("key", &*key), (&*names[1], "2 oz"), (&*names[2], "1 oz")]).await.is(303);
    let page = volunteer.get("/pull").await.is(200);
    assert!(page.text.contains("Nothing to pull"), "{}", page.text);
    assert_eq!(page.all("td[data-label='Brought back']").len(), 3);
}
