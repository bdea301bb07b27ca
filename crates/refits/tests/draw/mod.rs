//! Numbers from a seed.

/// `SplitMix64` (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number generators",
/// figure 14).
pub struct Draw(u64);

impl Draw {
    pub fn new(seed: u64) -> Draw {
        Draw(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// In 0..1.
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    pub fn ratio(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From `low`, below `high`.
    #[expect(clippy::cast_possible_truncation, reason = "below `high`")]
    pub fn whole(&mut self, low: usize, high: usize) -> usize {
        low + (self.next() % (high - low) as u64) as usize
    }
}
