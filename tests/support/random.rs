//! A small generator of repeatable numbers for readings and damage. Not for secrets.

/// SplitMix64 (Steele, Lea, Flood 2014): the same seed gives the same numbers on every machine.
pub struct Random(u64);

impl Random {
    /// A generator that always begins alike for the same `seed`.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number from `least` to `most`, both included.
    pub fn between(&mut self, least: i64, most: i64) -> i64 {
        let span = u64::try_from(most - least).expect("least is not above most") + 1;
        least + i64::try_from(self.bits() % span).expect("a remainder below an i64's span")
    }
}
