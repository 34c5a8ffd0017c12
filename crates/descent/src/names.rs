//! Ids kept in one piece of text, with a table to find them again.
//!
//! A register of a million plants has some three million cells of ids. One allocation for each
//! would cost more than everything that is computed afterwards.

use std::hash::{BuildHasher, RandomState};

use crate::error::PedigreeError;

/// Not an id, not a row, not a parent.
pub(crate) const NONE: u32 = u32::MAX;

/// A set of texts, numbered from 0.
#[derive(Debug, Clone)]
pub(crate) struct Names {
    text: String,
    /// Start and length of each name.
    spans: Vec<(u32, u32)>,
    /// Open addressing with steps of one: the number of the name in the low bits, part of its hash
    /// in the others. Small enough that the processor finds the pages of a million names.
    table: Vec<u32>,
    /// How many low bits; a number of ones only stands for a free place.
    bits: u32,
    seed: u64,
}

const FREE: u32 = u32::MAX;

/// The most names: four bits are left for the hash.
const MOST: usize = (1 << 28) - 1;

fn bits_for(slots: usize) -> u32 {
    usize::BITS - slots.min(MOST).leading_zeros()
}

impl Names {
    pub fn with_capacity(names: usize, text: usize) -> Self {
        let slots = names.min(MOST) + names.min(MOST) / 2 + 8;
        Names {
            text: String::with_capacity(text),
            spans: Vec::with_capacity(names),
            table: vec![FREE; slots],
            bits: bits_for(slots),
            seed: RandomState::new().hash_one(0u8),
        }
    }

    pub fn len(&self) -> usize {
        self.spans.len()
    }

    pub fn get(&self, number: u32) -> &str {
        let (start, len) = self.spans[number as usize];
        &self.text[start as usize..(start + len) as usize]
    }

    pub fn iter(&self) -> impl Iterator<Item = &str> {
        (0..self.len() as u32).map(|n| self.get(n))
    }

    pub fn find(&self, name: &str) -> Option<u32> {
        self.look(name, self.hash(name)).ok()
    }

    /// Touches the places where these names stand or will stand.
    ///
    /// Each is far away in memory. Asked for one after the other they are waited for one after the
    /// other; asked for together they come together.
    pub fn touch<'n>(&self, names: impl Iterator<Item = &'n str>) -> u32 {
        names.fold(0, |sum, name| sum ^ self.table[self.home(self.hash(name))])
    }

    /// The number of a name, a new one if it has not been met.
    pub fn add(&mut self, name: &str) -> Result<u32, PedigreeError> {
        let hash = self.hash(name);
        let slot = match self.look(name, hash) {
            Ok(number) => return Ok(number),
            Err(slot) => slot,
        };
        let number = self.spans.len();
        if self.text.len() + name.len() > u32::MAX as usize || number >= MOST {
            return Err(PedigreeError::TooLarge);
        }
        self.spans.push((self.text.len() as u32, name.len() as u32));
        self.text.push_str(name);
        self.table[slot] = self.tag(hash) | number as u32;
        if self.spans.len() * 4 > self.table.len() * 3 {
            self.grow();
        }
        Ok(number as u32)
    }

    /// Gives every name the number that `to` has for its old one.
    pub fn renumber(&mut self, to: &[u32]) {
        let mut spans = vec![(0, 0); self.spans.len()];
        for (span, &n) in self.spans.iter().zip(to) {
            spans[n as usize] = *span;
        }
        self.spans = spans;
        let low = (1 << self.bits) - 1;
        for slot in self.table.iter_mut().filter(|s| **s != FREE) {
            *slot = *slot & !low | to[(*slot & low) as usize];
        }
    }

    /// The number of the name, or the free place where it would be put.
    fn look(&self, name: &str, hash: u64) -> Result<u32, usize> {
        let (tag, low) = (self.tag(hash), (1 << self.bits) - 1);
        let mut at = self.home(hash);
        loop {
            let slot = self.table[at];
            if slot == FREE {
                return Err(at);
            }
            if slot & !low == tag && self.get(slot & low) == name {
                return Ok(slot & low);
            }
            at = if at + 1 == self.table.len() { 0 } else { at + 1 };
        }
    }

    /// Where a name with this hash is looked for first.
    fn home(&self, hash: u64) -> usize {
        (((hash >> 32) * self.table.len() as u64) >> 32) as usize
    }

    /// The bits of the hash that are kept beside the number.
    fn tag(&self, hash: u64) -> u32 {
        (hash as u32) << self.bits
    }

    fn grow(&mut self) {
        self.table = vec![FREE; self.table.len() * 2];
        self.bits = bits_for(self.table.len());
        for number in 0..self.spans.len() as u32 {
            let hash = self.hash(self.get(number));
            let mut at = self.home(hash);
            while self.table[at] != FREE {
                at = if at + 1 == self.table.len() { 0 } else { at + 1 };
            }
            self.table[at] = self.tag(hash) | number;
        }
    }

    /// Eight bytes at a time, multiplied into 128 bits and folded. The seed differs from run to
    /// run, so that no file can be written to make all its names collide.
    fn hash(&self, name: &str) -> u64 {
        const ODD: u64 = 0x9e37_79b9_7f4a_7c15;
        let fold = |h: u64, chunk: u64| {
            let wide = u128::from(h ^ chunk) * u128::from(ODD ^ self.seed.rotate_left(23) | 1);
            (wide >> 64) as u64 ^ wide as u64
        };
        let (chunks, rest) = name.as_bytes().as_chunks::<8>();
        let mut h = self.seed ^ name.len() as u64;
        for c in chunks {
            h = fold(h, u64::from_le_bytes(*c));
        }
        let mut last = [0; 8];
        last[..rest.len()].copy_from_slice(rest);
        fold(fold(h, u64::from_le_bytes(last)), ODD)
    }
}
