//! The passcode and the other secrets: how they are made and what is kept of them.
//!
//! The passcode is kept as an argon2id hash. Tokens and pairing codes are random and long, so the
//! SHA-256 of each is kept.

use std::fmt::Write as _;

use argon2::{
    Argon2,
    password_hash::{PasswordHasher as _, PasswordVerifier as _, phc::PasswordHash},
};
use sha2::{Digest as _, Sha256};

use crate::WebError;

/// The shortest passcode that is taken \[characters\].
pub(crate) const SHORTEST: usize = 8;

/// The longest \[characters\]: hashing must not become work without end.
pub(crate) const LONGEST: usize = 200;

/// Where its hash is kept.
pub(crate) const SETTING: &str = "passcode";

/// Characters of a pairing code: none that is taken for another, and all of the kind that keeps
/// the modules of a square large.
const LETTERS: &[u8; 30] = b"23456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Characters of a pairing code: 30 to the power of 12 is more than 58 bits, for five minutes and
/// with a growing wait after each wrong one.
const CODE_LENGTH: usize = 12;

/// The passcode as a PHC string: argon2id with the cost that the library advises (19 MiB, two
/// passes), and a salt of its own.
pub(crate) fn hashed(passcode: &str) -> Result<String, WebError> {
    Argon2::default()
        .hash_password(passcode.as_bytes())
        .map(|hash| hash.to_string())
        .map_err(|e| WebError::Conflict(format!("the passcode could not be kept: {e}")))
}

pub(crate) fn fits(passcode: &str, hash: &str) -> bool {
    PasswordHash::new(hash)
        .is_ok_and(|hash| Argon2::default().verify_password(passcode.as_bytes(), &hash).is_ok())
}

fn random(bytes: &mut [u8]) -> Result<(), WebError> {
    getrandom::fill(bytes)
        .map_err(|e| WebError::Conflict(format!("the system gave no random number: {e}")))
}

/// A token of 256 random bits, in hexadecimal.
pub(crate) fn fresh_token() -> Result<String, WebError> {
    let mut bytes = [0_u8; 32];
    random(&mut bytes)?;
    Ok(hex(&bytes))
}

/// A pairing code.
pub(crate) fn fresh_code() -> Result<String, WebError> {
    let mut code = String::with_capacity(CODE_LENGTH);
    while code.len() < CODE_LENGTH {
        let mut bytes = [0_u8; 32];
        random(&mut bytes)?;
        // 240 is a multiple of 30: each letter is as likely as the others.
        let letters = bytes.iter().filter(|b| **b < 240).map(|b| LETTERS[usize::from(b % 30)]);
        code.extend(letters.take(CODE_LENGTH - code.len()).map(char::from));
    }
    Ok(code)
}

/// A pairing code as it was made, of what was typed: small letters, blanks and hyphens are no
/// mistakes.
pub(crate) fn plain_code(typed: &str) -> String {
    typed.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect()
}

/// A code in groups of four, as it is read and typed.
pub(crate) fn grouped(code: &str) -> String {
    let letters: Vec<char> = code.chars().collect();
    letters.chunks(4).map(|c| c.iter().collect()).collect::<Vec<String>>().join(" ")
}

/// What is kept of a token or a pairing code.
pub(crate) fn secret_hash(secret: &str) -> String {
    hex(&Sha256::digest(secret.as_bytes()))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, b| {
        let _ = write!(text, "{b:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_passcode_is_kept_as_argon2id_and_salted() {
        let (one, two) = (hashed("moss and fern").unwrap(), hashed("moss and fern").unwrap());
        assert!(one.starts_with("$argon2id$v=19$"), "{one}");
        assert_ne!(one, two);
        assert!(fits("moss and fern", &one));
        assert!(!fits("moss and ferns", &one));
        assert!(!fits("", ""), "no passcode is not an empty passcode");
    }

    #[test]
    fn tokens_are_long_and_never_the_same() {
        let (one, two) = (fresh_token().unwrap(), fresh_token().unwrap());
        assert_eq!(one.len(), 64);
        assert_ne!(one, two);
    }

    #[test]
    fn codes_are_twelve_letters_and_never_the_same() {
        let (one, two) = (fresh_code().unwrap(), fresh_code().unwrap());
        assert_eq!(one.len(), CODE_LENGTH);
        assert!(one.bytes().all(|b| LETTERS.contains(&b)), "{one}");
        assert_ne!(one, two);
        let spaced = format!(" {}-{} {} ", &one[..4], &one[4..8], &one[8..]);
        assert_eq!(plain_code(&spaced.to_lowercase()), one);
    }

    /// The example “abc” of FIPS 180-4.
    #[test]
    fn tokens_are_kept_as_sha256() {
        assert_eq!(
            secret_hash("abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
