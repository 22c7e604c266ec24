//! One box that finds people, frames, rugs and bundles, and no more than its reader may see.
use thrumhall::store::people::Role;

use super::cloth::weigh;
use crate::support::browser::World;
use crate::support::loft::{self, usual};

#[tokio::test]
async fn one_box_on_every_page_finds_what_its_reader_may_see() {
    let world = World::new().await;
    let (me, mut instructor) = world.instructor().await;
    let (wanda, mut own) = world.weaver().await;
    let (bo, _) = world.enter(Role::Weaver, "Bo Tideway").await;
    let rug = loft::rug(world.store(), wanda, "Low tide", &usual(""), None).await;
    let other = loft::rug(world.store(), bo, "High tide", &usual(""), None).await;
    let frame = loft::frame(world.store(), me, &usual("TI-7")).await;
    let bundle = weigh(&mut instructor, &[("note", "smells of tide"), ("colour", "navy")]).await;
    let second = weigh(&mut instructor, &[("note", "1 of a pair")]).await;

    assert_eq!(instructor.get("/frames").await.is(200).attr("form.find", "action"), "/find");
    let page = instructor.get("/find?words=TID").await.is(200);
    let mut links = page.attrs("main .acts a", "href");
    links.sort();
    let mut wanted =
        vec![format!("/people/{bo}"), format!("/rugs/{rug}"), format!("/rugs/{other}"), bundle.clone()];
    wanted.sort();
    assert_eq!(links, wanted);
    assert_eq!(page.attr("main [name=words]", "value"), "TID");
    // The only one found is opened; a number alone is a bundle's own.
    assert_eq!(instructor.get("/find?words=ti-7").await.to(), format!("/frames/{frame}"));
    assert_eq!(instructor.get("/find?words=1").await.to(), bundle);
    assert_eq!(instructor.get("/find?words=pair").await.to(), second);
    assert!(instructor.get("/find?words=nowhere").await.is(200).all("main .acts a").is_empty());
    assert!(instructor.get("/find").await.is(200).all("main .acts a").is_empty());

    // A volunteer finds no people; a weaver their own rugs, and cloth without its notes.
    let (_, mut volunteer) = world.volunteer().await;
    let links = volunteer.get("/find?words=tide").await.is(200).attrs("main .acts a", "href");
    assert!(links.iter().all(|link| !link.starts_with("/people")) && links.len() == 3, "{links:?}");
    assert_eq!(own.get("/find?words=tide").await.to(), format!("/rugs/{rug}"));
    let page = own.get("/find?words=navy").await.is(200);
    assert!(page.all("main .acts a").is_empty() && page.all("main .acts li").len() == 2, "{}", page.text);
}
