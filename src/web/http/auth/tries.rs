//! How often one may try a passphrase. Tries are counted by name and address together and by address, so that a stranger can't
//! lock anybody out by their name; on a device that somebody signed in on before, only the tries on that device count.
use jiff::{Span, ToSpan as _};

use super::client_address::ClientAddress;
use crate::secrets;
use crate::store::people::name_key;
use crate::store::{Actor, PersonId, Read, Write};
use crate::web::{App, Error, Result};

/// Something that tries are counted at, and how many it bears within the window.
pub(in crate::web) struct Door {
    key: String,
    most: i64,
    /// Whether getting in forgets what was counted; at a door that many share it takes only one's own try back.
    own: bool,
}

/// The doors of one try; the first is the narrowest.
pub(in crate::web) struct Doors(Vec<Door>);

/// Tries are counted for so long.
fn window() -> Span {
    15.minutes()
}

impl Doors {
    /// A name typed by somebody at an address. Neither is kept: typed names may be anything, a passphrase among them.
    pub(in crate::web) fn of_name(name: &str, address: &ClientAddress) -> Self {
        let pair = secrets::secret_hash(&format!("{}\n{}", address.0, name_key(name)));
        let pair = Door { key: format!("pair {pair}"), most: 5, own: true };
        Self(vec![pair, Door::of_address(address)])
    }

    /// Somebody on a device that they signed in on before.
    pub(in crate::web) fn of_device(device: &str, person: PersonId) -> Self {
        Self(vec![Door { key: format!("device {device} {person}"), most: 10, own: true }])
    }

    /// Somebody who holds the setup link.
    pub(in crate::web) fn of_setup(address: &ClientAddress) -> Self {
        Self(vec![Door::of_address(address)])
    }

    /// Somebody at an address who asks for a passkey's question, which anybody may: each is kept for some minutes.
    pub(in crate::web) fn of_passkey(address: &ClientAddress) -> Self {
        Self(vec![Door { key: format!("asks {}", secrets::secret_hash(&address.0)), most: 30, own: false }])
    }

    /// Somebody who is signed in and asked for their passphrase again.
    pub(in crate::web) fn of_person(person: PersonId) -> Self {
        Self(vec![Door { key: format!("person {person}"), most: 10, own: true }])
    }

    /// Refuses whoever tried too often, before anything is written.
    pub(in crate::web) async fn are_open(&self, app: &App, read: &mut Read) -> Result<()> {
        let now = app.clock.now();
        for door in &self.0 {
            let Some(counted) = read.tries(&door.key).await? else { continue };
            let opens = counted.first_at.0 + window();
            if counted.failures >= door.most && opens > now {
                return Err(Error::TooMany((opens.as_second() - now.as_second()) / 60 + 1));
            }
        }
        Ok(())
    }

    /// Counts a try at each door, in a change of its own, before it is known how it ends. Of many at once no more get on than
    /// one after the other would.
    pub(in crate::web) async fn count(&self, app: &App) -> Result<()> {
        let now = app.clock.now();
        let mut tx = app.store.write(Actor { person: None, at: now }).await?;
        let mut refused = None;
        for door in &self.0 {
            let counted = tx.count_try(&door.key, now - window()).await?;
            if counted.failures > door.most {
                let opens = counted.first_at.0 + window();
                refused = Some(Error::TooMany((opens.as_second() - now.as_second()) / 60 + 1));
                // What isn't tried needn't count at the doors that others share.
                break;
            }
        }
        tx.commit().await?;
        refused.map_or(Ok(()), Err)
    }

    /// Takes the try back, which ended well.
    pub(in crate::web) async fn forgive(&self, tx: &mut Write) -> Result<()> {
        for door in &self.0 {
            if door.own {
                tx.forget_tries(&door.key).await?;
            } else {
                tx.forgive_try(&door.key).await?;
            }
        }
        Ok(())
    }
}

impl Door {
    /// An address, which a whole workroom may share.
    fn of_address(address: &ClientAddress) -> Self {
        Self { key: format!("from {}", secrets::secret_hash(&address.0)), most: 30, own: false }
    }
}
