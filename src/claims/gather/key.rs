//! A quick map for selections.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// Quick and good enough for keys of our own making.
#[derive(Default)]
pub struct KeyHasher(u64);

impl Hasher for KeyHasher {
    #[inline]
    fn finish(&self) -> u64 {
        // Knuth's multiplicative hashing by the golden ratio; its upper half is the well mixed one, and a map looks at both.
        let mixed = self.0.wrapping_mul(0x9e37_79b9_7f4a_7c15);
        mixed ^ (mixed >> 32)
    }

    #[inline]
    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    #[inline]
    fn write_u8(&mut self, value: u8) {
        self.write_u64(u64::from(value));
    }

    #[inline]
    fn write_u16(&mut self, value: u16) {
        self.write_u64(u64::from(value));
    }

    #[inline]
    fn write_u32(&mut self, value: u32) {
        self.write_u64(u64::from(value));
    }

    #[inline]
    fn write_u64(&mut self, value: u64) {
        // The parts of a key are small numbers: side by side they hardly overlap.
        self.0 = self.0.rotate_left(9) ^ value;
    }

    #[inline]
    fn write_usize(&mut self, value: usize) {
        self.write_u64(value as u64);
    }

    #[inline]
    fn write_isize(&mut self, value: isize) {
        self.write_u64(value.unsigned_abs() as u64);
    }
}

/// A map with the quick hasher.
pub type QuickMap<K, V> = HashMap<K, V, BuildHasherDefault<KeyHasher>>;
