//! A receiver that takes its time delays nobody else, however long it takes.
use std::time::Duration;

use thrumhall::clock::Clock;
use thrumhall::notify::{Dispatcher, PATIENCE};
use tokio::time::timeout;

use super::{called_off, found, receiver, tell, url};
use crate::support::receivers::{Behaviour, Receiver};
use crate::support::{actor, noon, on_both};

on_both!(one_slow_receiver_delays_nobody_else, |store| async move {
    let me = found(&store).await;
    let (slow, quick) = (Receiver::new([Behaviour::Hangs]).await, Receiver::new([]).await);
    receiver(&store, me, url(slow.at), false).await;
    receiver(&store, me, url(quick.at), false).await;
    let dispatcher = Dispatcher::new(store.clone(), Clock::fixed(noon()), true, None, PATIENCE).unwrap();
    let going = tokio::spawn(dispatcher.run(Duration::from_millis(20)));
    tell(&store, me, 1, &[]).await;
    slow.arrived.notified().await;
    // The slow one has its first notice and doesn't answer. What comes now reaches the other all the same.
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.call_off(thrumhall::store::MeetingId::new(), true).await.unwrap();
    tx.enqueue(&("later".into(), called_off(), Vec::new())).await.unwrap();
    tx.commit().await.unwrap();
    let both = async {
        while quick.got().len() < 2 {
            quick.arrived.notified().await;
        }
    };
    timeout(PATIENCE / 2, both).await.expect("the later notice waits for the slow receiver");
    assert_eq!(slow.got().len(), 1, "one receiver gets one thing at a time");
    going.abort();
});
