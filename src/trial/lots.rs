//! Random draws that a seed repeats on every machine.

/// A generator of 64 random bits a draw: SplitMix64 (Steele, Lea and Flood 2014, doi 10.1145/2660193.2660195).
#[derive(Debug, Clone)]
pub struct Lots(u64);

impl Lots {
    /// From any seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number from 0 to `count - 1`, each as likely; 0 where `count` is 0.
    pub fn below(&mut self, count: usize) -> usize {
        let count = count as u64;
        if count == 0 {
            return 0;
        }
        // Draws beyond the last whole multiple would favour small numbers: they are drawn again.
        let last = u64::MAX - u64::MAX % count;
        loop {
            let bits = self.bits();
            if bits < last {
                return (bits % count) as usize;
            }
        }
    }

    /// Puts the items in random order, each order as likely (Durstenfeld 1964, doi 10.1145/364520.364540).
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for place in (1..items.len()).rev() {
            let other = self.below(place + 1);
            items.swap(place, other);
        }
    }
}
