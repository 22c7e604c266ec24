//! Where hashes of passphrases are worked out: one at a time, in memory that is given back, with a short line of those who wait.
//!
//! A hash takes 19 MiB and some hundredths of a second. What it takes is therefore bounded by this, not by how many ask: a line that
//! is full sends the next away at once, and whoever hangs up leaves it.
use std::sync::Arc;

use argon2::Block;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use crate::web::http::error::{Error, Result};

/// So many may wait whom nobody knows yet, and so many who are signed in or on a device that they signed in on before: a crowd at
/// the door keeps none of those out.
const LINE: [usize; 2] = [16, 8];

/// So many blocks of 1 KiB are asked for, of which a hash uses 19 MiB. Memory that was used once an allocator may keep for itself; what
/// is larger than 32 MiB the C library's maps apart each time and gives back to the system (`M_MMAP_THRESHOLD` in mallopt(3)), so
/// that the service is small again as soon as nobody signs in. Blocks that aren't touched take no memory.
const ASKED_FOR: usize = 33 * 1024;

/// The line of those who wait.
pub(in crate::web) struct Hashing {
    strangers: Arc<Semaphore>,
    known: Arc<Semaphore>,
    turn: Arc<Semaphore>,
}

impl Default for Hashing {
    fn default() -> Self {
        let places = |many| Arc::new(Semaphore::new(many));
        Self { strangers: places(LINE[0]), known: places(LINE[1]), turn: places(1) }
    }
}

/// A place in the line; given up when it is dropped.
pub(in crate::web) struct Place<'a> {
    hashing: &'a Hashing,
    _permit: OwnedSemaphorePermit,
}

impl Hashing {
    /// A place for somebody who isn't known yet.
    pub(in crate::web) fn for_stranger(&self) -> Result<Place<'_>> {
        self.place(&self.strangers)
    }

    /// A place for somebody who is signed in, or on a device that they signed in on before.
    pub(in crate::web) fn for_known(&self) -> Result<Place<'_>> {
        self.place(&self.known).or_else(|_| self.place(&self.strangers))
    }

    fn place(&self, line: &Arc<Semaphore>) -> Result<Place<'_>> {
        let permit = Arc::clone(line).try_acquire_owned().map_err(|_| Error::Busy)?;
        Ok(Place { hashing: self, _permit: permit })
    }
}

impl Place<'_> {
    /// Waits for its turn and does the job in memory for it alone. A job that has begun keeps the turn until it ends.
    pub(in crate::web) async fn work<T: Send + 'static>(
        &self,
        job: impl FnOnce(&mut Vec<Block>) -> Result<T> + Send + 'static,
    ) -> Result<T> {
        let fault = |error: &dyn std::fmt::Display| Error::Internal(error.to_string());
        let turn = Arc::clone(&self.hashing.turn).acquire_owned().await.map_err(|e| fault(&e))?;
        let job = move || {
            let _turn = turn;
            job(&mut Vec::with_capacity(ASKED_FOR))
        };
        tokio::task::spawn_blocking(job).await.map_err(|e| fault(&e))?
    }
}

#[cfg(test)]
mod tests {
    use super::{Hashing, LINE};

    #[test]
    fn a_crowd_of_strangers_is_sent_away_and_keeps_nobody_out_who_is_known() {
        let hashing = Hashing::default();
        let crowd: Vec<_> = (0..LINE[0]).map(|_| hashing.for_stranger().ok().unwrap()).collect();
        assert!(hashing.for_stranger().is_err());
        let known: Vec<_> = (0..LINE[1]).map(|_| hashing.for_known().ok().unwrap()).collect();
        assert!(hashing.for_known().is_err());
        drop(known);
        assert!(hashing.for_stranger().is_err(), "a place of those who are known was given away");
        assert!(hashing.for_known().is_ok());
        drop(crowd);
        assert!(hashing.for_stranger().is_ok());
    }
}
