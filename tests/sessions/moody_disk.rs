//! A disk for tests that interrupts, falls short, is full for a while, and forgets at a power cut.
#![allow(clippy::unwrap_used)]

use std::io;
use std::sync::{Arc, Mutex};

use wheeltap::session::disk::Disk;

/// Marsaglia's xorshift64, so that a failure can be repeated.
pub struct Dice(pub u64);

impl Dice {
    /// A number below `limit`.
    pub fn below(&mut self, limit: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % limit
    }
}

/// A disk with moods: it interrupts, falls short, is full for a while, and forgets at a power cut what was not synced.
pub struct MoodyDisk(Mutex<Mood>);

struct Mood {
    kept: Vec<u8>,
    synced: usize,
    dice: Dice,
    full_for: u64,
    /// From here on it behaves, so that a recorder can bring its file in order.
    calm: bool,
}

impl MoodyDisk {
    /// Calm and empty; `seed` decides its moods.
    pub fn new(seed: u64) -> Arc<Self> {
        let dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        Arc::new(Self(Mutex::new(Mood { kept: Vec::new(), synced: 0, dice, full_for: 0, calm: true })))
    }

    /// From now on it has moods, or is calm.
    pub fn moody(&self, moody: bool) {
        let mut mood = self.0.lock().unwrap();
        mood.calm = !moody;
        mood.full_for = 0;
    }

    /// What is left after a power cut: all that was synced, and any beginning of the rest.
    pub fn after_power_cut(&self) -> Vec<u8> {
        let mut mood = self.0.lock().unwrap();
        let unsynced = (mood.kept.len() - mood.synced) as u64;
        let left = mood.synced + mood.dice.below(unsynced + 1) as usize;
        mood.kept[..left].to_vec()
    }

    /// Everything written.
    pub fn kept(&self) -> Vec<u8> {
        self.0.lock().unwrap().kept.clone()
    }
}

impl Disk for MoodyDisk {
    fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        let mut mood = self.0.lock().unwrap();
        if mood.full_for > 0 {
            mood.full_for -= 1;
            return Err(io::ErrorKind::StorageFull.into());
        }
        let roll = if mood.calm { 99 } else { mood.dice.below(100) };
        let count = match roll {
            0..4 => return Err(io::ErrorKind::Interrupted.into()),
            4..6 => {
                mood.full_for = mood.dice.below(6);
                return Err(io::ErrorKind::StorageFull.into());
            }
            6..12 => mood.dice.below(bytes.len() as u64 + 1) as usize,
            _ => bytes.len(),
        };
        let part = bytes[..count].to_vec();
        mood.kept.extend(part);
        Ok(count)
    }

    fn sync(&self) -> io::Result<()> {
        let mut mood = self.0.lock().unwrap();
        mood.synced = mood.kept.len();
        Ok(())
    }
}
