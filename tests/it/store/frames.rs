//! Frames in the database.
use thrumhall::store::frames::{Condition, FrameFields};
use thrumhall::store::{EntityKind, Error, FrameId, PersonId, Store};

use crate::support::loft::{self, usual};
use crate::support::{actor, on_both};

on_both!(tags_are_one_each_whatever_their_case_and_blanks, |store| async move {
    let me = loft::instructor(&store).await;
    loft::frame(&store, me, &usual("K 03")).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    let again = tx.add_frame(FrameId::new(), &usual("k  03 ")).await.unwrap_err();
    assert!(again.violates("u_frame__tag_key"), "{again}");
});

on_both!(frames_stand_in_the_order_of_their_numbers, |store| async move {
    let me = loft::instructor(&store).await;
    for tag in ["K-10", "k-2", "A-1", "K-2b"] {
        loft::frame(&store, me, &usual(tag)).await;
    }
    let frames = store.read().await.unwrap().frames().await.unwrap();
    let tags: Vec<&str> = frames.iter().map(|frame| frame.fields.tag.as_str()).collect();
    assert_eq!(tags, ["A-1", "k-2", "K-2b", "K-10"]);
});

async fn change(
    store: &Store,
    me: PersonId,
    id: FrameId,
    revision: i64,
    fields: &FrameFields,
) -> Result<(), Error> {
    let mut tx = store.write(actor(me)).await?;
    tx.change_frame(id, revision, fields).await?;
    tx.commit().await
}

on_both!(the_second_of_two_editors_is_told, |store| async move {
    let me = loft::instructor(&store).await;
    let id = loft::frame(&store, me, &usual("K-1")).await;
    let worn = FrameFields { condition: Condition::Worn, ..usual("K-1") };
    change(&store, me, id, 1, &worn).await.unwrap();
    assert!(matches!(change(&store, me, id, 1, &usual("K-9")).await, Err(Error::Stale)));
    let mut read = store.read().await.unwrap();
    let frame = read.frame(id).await.unwrap().unwrap();
    assert_eq!((frame.fields, frame.revision), (worn, 2));
    let acts: Vec<String> = read
        .audit_log_of(EntityKind::Frame, &id.to_string())
        .await
        .unwrap()
        .into_iter()
        .map(|c| c.act)
        .collect();
    assert_eq!(acts, ["changed", "added"]);
});

on_both!(a_frame_is_retired_once_and_can_come_back, |store| async move {
    let me = loft::instructor(&store).await;
    let id = loft::frame(&store, me, &usual("K-1")).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    assert!(tx.retire_frame(id, 1).await.unwrap());
    assert!(matches!(tx.retire_frame(id, 2).await, Err(Error::Stale)), "retired already");
    tx.restore_frame(id, 2).await.unwrap();
    tx.commit().await.unwrap();
    assert!(!store.read().await.unwrap().frame(id).await.unwrap().unwrap().retired);
});
