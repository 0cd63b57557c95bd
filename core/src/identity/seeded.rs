//! Random numbers that come out the same twice: for tests and invented demo data. Keys drawn from it are known to
//! everybody who knows the seed, so a real register never uses it.

use rand_core::{CryptoRng, Error, RngCore};
use sha2::{Digest as _, Sha256};

/// SHA-256 over a seed and a counter.
#[derive(Debug, Clone)]
pub struct SeededRng {
    seed: [u8; 32],
    counter: u64,
    left: Vec<u8>,
}

impl SeededRng {
    /// Starts from a word.
    pub fn new(seed: &str) -> Self {
        Self { seed: Sha256::digest(seed).into(), counter: 0, left: Vec::new() }
    }
}

impl RngCore for SeededRng {
    fn next_u32(&mut self) -> u32 {
        let mut bytes = [0; 4];
        self.fill_bytes(&mut bytes);
        u32::from_le_bytes(bytes)
    }

    fn next_u64(&mut self) -> u64 {
        let mut bytes = [0; 8];
        self.fill_bytes(&mut bytes);
        u64::from_le_bytes(bytes)
    }

    fn fill_bytes(&mut self, dest: &mut [u8]) {
        for byte in dest {
            if self.left.is_empty() {
                let mut hash = Sha256::new();
                hash.update(self.seed);
                hash.update(self.counter.to_le_bytes());
                self.left = hash.finalize().to_vec();
                self.counter += 1;
            }
            *byte = self.left.pop().expect("BUG: just filled");
        }
    }

    fn try_fill_bytes(&mut self, dest: &mut [u8]) -> Result<(), Error> {
        self.fill_bytes(dest);
        Ok(())
    }
}

/// Marked as fit for keys because the key functions ask for it; see the module's warning.
impl CryptoRng for SeededRng {}
