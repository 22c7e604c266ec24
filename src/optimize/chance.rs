//! Chance from a seed: the same seed, the same numbers.

/// `SplitMix64` (Steele, Lea, Flood, OOPSLA 2014, from memory): small, and good enough to choose moves by.
#[derive(Debug, Clone)]
pub(in crate::optimize) struct Chance(pub u64);

impl Chance {
    pub(in crate::optimize) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Below `end`, which isn't 0.
    pub(in crate::optimize) fn below(&mut self, end: usize) -> usize {
        ((u128::from(self.next()) * end as u128) >> 64) as usize
    }

    /// At least 0 and below 1.
    pub(in crate::optimize) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(in crate::optimize) fn shuffle<T>(&mut self, all: &mut [T]) {
        for at in (1..all.len()).rev() {
            all.swap(at, self.below(at + 1));
        }
    }
}
