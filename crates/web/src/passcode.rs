//! The passcode that lets phones in, and the devices that have given it.
//!
//! The passcode is kept as an argon2id hash. A device that gave it carries a random token in a
//! cookie; only the SHA-256 of the token is kept. Both stand among the settings of the grower's
//! own record, also while the demo is looked at, and are not exported.

use std::{
    fmt::Write as _,
    sync::{Mutex, PoisonError, RwLock},
};

use argon2::{
    Argon2,
    password_hash::{PasswordHasher as _, PasswordVerifier as _, phc::PasswordHash},
};
use jiff::{SignedDuration, Timestamp};
use journal::Journal;
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use crate::{App, WebError, tries::Tries};

/// The shortest passcode that is taken \[characters\].
pub(crate) const SHORTEST: usize = 8;

/// The longest [characters]: hashing must not become work without end.
pub(crate) const LONGEST: usize = 200;

/// How long a device stays known \[days\].
pub(crate) const KNOWN_DAYS: i64 = 90;

/// The most devices that are known at once; the oldest is forgotten for a further one.
const MOST_DEVICES: usize = 100;

const PASSCODE: &str = "passcode";
const SESSIONS: &str = "sessions";

/// A device that has given the passcode.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Session {
    /// SHA-256 of its token, in hexadecimal.
    pub(crate) hash: String,
    /// What it is, in a word.
    pub(crate) device: String,
    /// When it gave the passcode.
    pub(crate) since: Timestamp,
    /// Until when it is known.
    pub(crate) until: Timestamp,
}

#[derive(Debug, Clone, Default)]
struct Kept {
    passcode: String,
    sessions: Vec<Session>,
}

/// What stands between the pages and devices other than this machine.
#[derive(Debug, Default)]
pub(crate) struct Door {
    open: bool,
    kept: RwLock<Kept>,
    /// Wrong tries, in memory only.
    pub(crate) tries: Mutex<Tries>,
    notes: Mutex<Vec<String>>,
}

impl Door {
    /// The door of a record; `open` if the pages are listened for beyond this machine.
    pub(crate) fn of(journal: &Journal, open: bool) -> Result<Self, WebError> {
        let door = Self { open, ..Self::default() };
        door.load(journal)?;
        Ok(door)
    }

    /// Takes passcode and devices from a record, such as one that was restored.
    pub(crate) fn load(&self, journal: &Journal) -> Result<(), WebError> {
        let sessions = journal.setting(SESSIONS)?.unwrap_or_default();
        *self.kept.write().unwrap_or_else(PoisonError::into_inner) = Kept {
            passcode: journal.setting(PASSCODE)?.unwrap_or_default(),
            // What cannot be read lets nobody in: the passcode is asked for again.
            sessions: serde_json::from_str(&sessions).unwrap_or_default(),
        };
        Ok(())
    }

    fn kept(&self) -> Kept {
        self.kept.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Whether the pages are listened for beyond this machine.
    pub(crate) const fn is_open(&self) -> bool {
        self.open
    }

    /// Whether a passcode has been set.
    pub(crate) fn has_passcode(&self) -> bool {
        !self.kept.read().unwrap_or_else(PoisonError::into_inner).passcode.is_empty()
    }

    /// The devices that are known at this instant.
    pub(crate) fn devices(&self, now: Timestamp) -> Vec<Session> {
        self.kept().sessions.into_iter().filter(|s| s.until > now).collect()
    }

    /// Whether the passcode is this one. Takes a tenth of a second or so, on purpose.
    pub(crate) fn fits(&self, passcode: &str) -> bool {
        fits(passcode, &self.kept().passcode)
    }

    /// Whether a token belongs to a device that is known.
    pub(crate) fn knows(&self, token: &str, now: Timestamp) -> bool {
        let kept = self.kept.read().unwrap_or_else(PoisonError::into_inner);
        let hash = token_hash(token);
        !kept.passcode.is_empty() && kept.sessions.iter().any(|s| s.hash == hash && s.until > now)
    }

    /// Something to know about the network, shown on the page of the house. Tells whether it is
    /// new.
    pub(crate) fn note(&self, note: &str) -> bool {
        let mut notes = self.notes.lock().unwrap_or_else(PoisonError::into_inner);
        let new = !notes.iter().any(|n| n == note);
        if new {
            notes.push(note.to_owned());
        }
        new
    }

    /// What there is to know about the network.
    pub(crate) fn notes(&self) -> Vec<String> {
        self.notes.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Writes first and remembers then, so that what is remembered is never more than is kept.
    fn change(&self, app: &App, change: impl FnOnce(&mut Kept)) -> Result<(), WebError> {
        let journal = app.own_journal()?;
        let mut kept = self.kept.write().unwrap_or_else(PoisonError::into_inner);
        let mut next = kept.clone();
        change(&mut next);
        let sessions =
            serde_json::to_string(&next.sessions).map_err(|e| WebError::Conflict(e.to_string()))?;
        // Devices first: were it cut short here, no device would be let in by an old passcode.
        journal.set_setting(SESSIONS, &sessions)?;
        if next.passcode != kept.passcode {
            journal.set_setting(PASSCODE, &next.passcode)?;
        }
        *kept = next;
        Ok(())
    }

    /// Sets the passcode, or takes it away; all devices are forgotten.
    pub(crate) fn set(&self, app: &App, passcode: Option<&str>) -> Result<(), WebError> {
        let hash = passcode.map(hashed).transpose()?.unwrap_or_default();
        self.change(app, |kept| *kept = Kept { passcode: hash, sessions: Vec::new() })
    }

    /// Lets a device in and gives the token that it must carry.
    pub(crate) fn let_in(&self, app: &App, device: &str) -> Result<String, WebError> {
        let token = fresh_token()?;
        let now = app.now();
        let until = now
            .checked_add(SignedDuration::from_hours(24 * KNOWN_DAYS))
            .map_err(|e| WebError::Conflict(e.to_string()))?;
        let session =
            Session { hash: token_hash(&token), device: device.to_owned(), since: now, until };
        self.change(app, |kept| {
            kept.sessions.retain(|s| s.until > now);
            if kept.sessions.len() >= MOST_DEVICES {
                kept.sessions.remove(0);
            }
            kept.sessions.push(session);
        })?;
        Ok(token)
    }

    /// Forgets the device that carries this token.
    pub(crate) fn forget(&self, app: &App, token: &str) -> Result<(), WebError> {
        let hash = token_hash(token);
        self.change(app, |kept| kept.sessions.retain(|s| s.hash != hash))
    }

    /// Forgets all devices.
    pub(crate) fn forget_all(&self, app: &App) -> Result<(), WebError> {
        self.change(app, |kept| kept.sessions.clear())
    }
}

/// The passcode as a PHC string: argon2id with the cost that the library advises (19 MiB, two
/// passes), and a salt of its own.
fn hashed(passcode: &str) -> Result<String, WebError> {
    Argon2::default()
        .hash_password(passcode.as_bytes())
        .map(|hash| hash.to_string())
        .map_err(|e| WebError::Conflict(format!("the passcode could not be kept: {e}")))
}

fn fits(passcode: &str, hash: &str) -> bool {
    PasswordHash::new(hash)
        .is_ok_and(|hash| Argon2::default().verify_password(passcode.as_bytes(), &hash).is_ok())
}

/// A token of 256 random bits, in hexadecimal.
fn fresh_token() -> Result<String, WebError> {
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes)
        .map_err(|e| WebError::Conflict(format!("the system gave no random number: {e}")))?;
    Ok(hex(&bytes))
}

fn token_hash(token: &str) -> String {
    hex(&Sha256::digest(token.as_bytes()))
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

    /// The example “abc” of FIPS 180-4.
    #[test]
    fn tokens_are_kept_as_sha256() {
        assert_eq!(
            token_hash("abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
