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
    /// Open addressing with steps of one: part of the hash, and the number of the name.
    table: Vec<(u32, u32)>,
    seed: u64,
}

impl Names {
    pub fn with_capacity(names: usize, text: usize) -> Self {
        let slots = (names.saturating_mul(3) / 2 + 8).next_power_of_two();
        Names {
            text: String::with_capacity(text),
            spans: Vec::with_capacity(names),
            table: vec![(0, NONE); slots],
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
        let hash = self.hash(name);
        match self.table[self.slot(name, hash)].1 {
            NONE => None,
            number => Some(number),
        }
    }

    /// The number of a name, a new one if it has not been met.
    pub fn add(&mut self, name: &str) -> Result<u32, PedigreeError> {
        let hash = self.hash(name);
        let slot = self.slot(name, hash);
        if self.table[slot].1 != NONE {
            return Ok(self.table[slot].1);
        }
        let number = self.spans.len() as u32;
        if self.text.len() + name.len() > u32::MAX as usize || number >= NONE / 4 {
            return Err(PedigreeError::TooLarge);
        }
        self.spans.push((self.text.len() as u32, name.len() as u32));
        self.text.push_str(name);
        self.table[slot] = (tag(hash), number);
        if self.spans.len() * 4 > self.table.len() * 3 {
            self.grow();
        }
        Ok(number)
    }

    /// Gives every name the number that `to` has for its old one.
    pub fn renumber(&mut self, to: &[u32]) {
        let mut spans = vec![(0, 0); self.spans.len()];
        for (span, &n) in self.spans.iter().zip(to) {
            spans[n as usize] = *span;
        }
        self.spans = spans;
        for (_, number) in self.table.iter_mut().filter(|(_, n)| *n != NONE) {
            *number = to[*number as usize];
        }
    }

    /// Where the name is, or where it would be put.
    fn slot(&self, name: &str, hash: u64) -> usize {
        let mask = self.table.len() - 1;
        let mut at = hash as usize & mask;
        loop {
            let (t, number) = self.table[at];
            if number == NONE || (t == tag(hash) && self.get(number) == name) {
                return at;
            }
            at = (at + 1) & mask;
        }
    }

    fn grow(&mut self) {
        let mask = self.table.len() * 2 - 1;
        let mut table = vec![(0, NONE); mask + 1];
        for number in 0..self.spans.len() as u32 {
            let hash = self.hash(self.get(number));
            let mut at = hash as usize & mask;
            while table[at].1 != NONE {
                at = (at + 1) & mask;
            }
            table[at] = (tag(hash), number);
        }
        self.table = table;
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

fn tag(hash: u64) -> u32 {
    (hash >> 32) as u32
}
