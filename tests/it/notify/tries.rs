//! When an attempt is made again, at both sides of each moment.
use jiff::{SignedDuration, ToSpan as _};
use thrumhall::clock::Clock;
use thrumhall::notify::Tick;
use thrumhall::store::notices::DeliveryState;

use super::{deliveries, dispatcher, found, receiver, tell, url};
use crate::support::receivers::{Receiver, status};
use crate::support::{actor, noon, on_both};

/// How many minutes after an attempt that failed the next is made: eight more, over three days.
const AGAIN: [i64; 8] = [1, 5, 30, 120, 360, 720, 1440, 1440];

on_both!(each_attempt_comes_at_its_time_and_no_earlier, |store| async move {
    let me = found(&store).await;
    let shut = Receiver::new((0..20).map(|_| status("503 Service Unavailable"))).await;
    receiver(&store, me, url(shut.at), false).await;
    tell(&store, me, 1, &[]).await;
    let clock = Clock::fixed(noon());
    let dispatcher = dispatcher(&store, &clock, true);
    let failed = Tick { told: 0, sent: 0, failed: 1 };
    let mut id = None;
    // Asking for it to be sent again gives it all its attempts once more.
    for run in 0..2 {
        assert_eq!(dispatcher.tick().await.unwrap(), failed, "the first attempt of run {run}");
        for (at, minutes) in AGAIN.into_iter().enumerate() {
            let next = clock.now() + SignedDuration::from_mins(minutes);
            clock.set(next - 1.microsecond());
            assert_eq!(dispatcher.tick().await.unwrap(), Tick::default(), "attempt {} is early", at + 2);
            clock.set(next);
            let state = deliveries(&store).await[0].state;
            assert_eq!(state, DeliveryState::Waiting, "given up after {} attempts", at + 1);
            assert_eq!(dispatcher.tick().await.unwrap(), failed, "attempt {} is late", at + 2);
        }
        let given_up = deliveries(&store).await.remove(0);
        assert_eq!((given_up.state, given_up.attempts), (DeliveryState::GivenUp, 9));
        id = Some(given_up.id);
        clock.set(clock.now() + SignedDuration::from_hours(24 * 30));
        assert_eq!(dispatcher.tick().await.unwrap(), Tick::default(), "tried though given up");
        let mut tx = store.write(actor(me)).await.unwrap();
        tx.send_again(given_up.id).await.unwrap();
        tx.commit().await.unwrap();
    }
    assert_eq!(shut.got().len(), 18);
    // Somebody told them by hand: what is told isn't tried any more.
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.mark_handled(id.unwrap()).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(dispatcher.tick().await.unwrap(), Tick::default());
    assert_eq!(deliveries(&store).await[0].state, DeliveryState::Told);
});
