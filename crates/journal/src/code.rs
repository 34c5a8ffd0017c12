//! The permanent code of a plant: six characters that labels and slips carry.

use std::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};

use crate::Uid;

/// The characters of a code: no 0, 1, I, L, O or U, which are misread by eye and hand.
pub const CODE_ALPHABET: &[u8; 30] = b"23456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Prime just above the size of the alphabet: with weights below it, every single wrong
/// character and every exchange of two characters changes the check character.
const CHECK_MODULUS: u32 = 31;
const PAYLOAD: usize = 5;

/// Five characters and a check character, upper case.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Code([u8; 6]);

/// Why a text is not a code.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CodeError {
    /// Not six characters long.
    #[error("“{0}” has {1} characters, a code has six; read it again from the label")]
    Length(String, usize),
    /// A character that no code holds.
    #[error(
        "“{0}” holds “{1}”, which no code holds (0, 1, I, L, O and U are left out); read it again from the label"
    )]
    Character(String, char),
    /// The check character does not fit the others.
    #[error(
        "“{0}” is not a code: one character is wrong or two are exchanged; read it again from the label"
    )]
    Check(String),
}

fn digit(c: u8) -> Option<u32> {
    CODE_ALPHABET.iter().position(|&a| a == c).and_then(|p| u32::try_from(p).ok())
}

fn check_of(payload: &[u32; PAYLOAD]) -> u32 {
    payload.iter().zip(2u32..).map(|(d, w)| d * w).sum::<u32>() % CHECK_MODULUS
}

impl Code {
    /// The `attempt`-th code that belongs to this identifier; a next attempt is made when the
    /// code is taken already. Codes are a function of the identifier, so that a record read in
    /// again gets the same ones.
    #[must_use]
    pub fn of(uid: &Uid, attempt: u32) -> Self {
        // The last eight bytes of a UUID version 7 are random; they are mixed with the attempt
        // by the finaliser of splitmix64 (Steele, Lea & Flood 2014).
        let mut tail = [0u8; 8];
        tail.copy_from_slice(&uid.as_bytes()[8..]);
        let mut state = u64::from_be_bytes(tail) ^ (u64::from(attempt) << 32);
        loop {
            state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut z = state;
            z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            z ^= z >> 31;
            let mut payload = [0u32; PAYLOAD];
            for slot in &mut payload {
                *slot = (z % 30) as u32;
                z /= 30;
            }
            // A check value of 30 has no character: such payloads are never given out.
            if let Some(&last) = CODE_ALPHABET.get(check_of(&payload) as usize) {
                let mut out = [last; 6];
                for (o, d) in out.iter_mut().zip(payload) {
                    *o = CODE_ALPHABET[d as usize];
                }
                return Self(out);
            }
        }
    }

    /// The six characters.
    #[must_use]
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap_or("")
    }
}

impl FromStr for Code {
    type Err = CodeError;

    /// Reads a code as typed: lower case and spaces are forgiven, wrong characters are not.
    fn from_str(s: &str) -> Result<Self, Self::Err> {
        let typed: String = s
            .chars()
            .filter(|c| !c.is_whitespace() && *c != '-')
            .collect::<String>()
            .to_uppercase();
        let count = typed.chars().count();
        if count != 6 {
            return Err(CodeError::Length(s.to_owned(), count));
        }
        let mut digits = [0u32; 6];
        let mut bytes = [0u8; 6];
        for (i, c) in typed.chars().enumerate() {
            let b = u8::try_from(c).map_err(|_| CodeError::Character(s.to_owned(), c))?;
            digits[i] = digit(b).ok_or_else(|| CodeError::Character(s.to_owned(), c))?;
            bytes[i] = b;
        }
        let payload = [digits[0], digits[1], digits[2], digits[3], digits[4]];
        if check_of(&payload) != digits[5] {
            return Err(CodeError::Check(s.to_owned()));
        }
        Ok(Self(bytes))
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl TryFrom<String> for Code {
    type Error = CodeError;
    fn try_from(s: String) -> Result<Self, Self::Error> {
        s.parse()
    }
}

impl From<Code> for String {
    fn from(c: Code) -> Self {
        c.as_str().to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_single_error_and_every_exchange_is_seen() {
        for _ in 0..200 {
            let code = Code::of(&Uid::new(), 0);
            assert_eq!(code.as_str().parse::<Code>(), Ok(code));
            let text = code.as_str().as_bytes();
            for i in 0..6 {
                for &c in CODE_ALPHABET {
                    if c != text[i] {
                        let mut wrong = text.to_vec();
                        wrong[i] = c;
                        let wrong = String::from_utf8(wrong).unwrap();
                        assert!(wrong.parse::<Code>().is_err(), "{code} read as {wrong}");
                    }
                }
                for j in 0..i {
                    if text[i] != text[j] {
                        let mut swapped = text.to_vec();
                        swapped.swap(i, j);
                        let swapped = String::from_utf8(swapped).unwrap();
                        assert!(swapped.parse::<Code>().is_err(), "{code} read as {swapped}");
                    }
                }
            }
        }
    }

    #[test]
    fn typed_codes_are_read_kindly_and_errors_say_what_is_wrong() {
        let code = Code::of(&Uid::from_bytes([7; 16]), 0);
        let typed = format!(" {} {}", &code.as_str()[..3].to_lowercase(), &code.as_str()[3..]);
        assert_eq!(typed.parse::<Code>(), Ok(code));
        assert!(matches!("K7QD3".parse::<Code>(), Err(CodeError::Length(_, 5))));
        assert!(matches!("K7QD3O".parse::<Code>(), Err(CodeError::Character(_, 'O'))));
        assert_ne!(Code::of(&Uid::from_bytes([7; 16]), 1), code);
    }
}
