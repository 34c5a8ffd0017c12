//! The devices that are known, and the codes that pair a further one.
//!
//! A device carries a random token in a cookie; only the SHA-256 of the token is kept. Both lists
//! stand among the settings of the grower's own record and are not exported. They are read from
//! there each time: a device that was ended, here or by the command, is out at once.

use jiff::{SignedDuration, Timestamp};
use journal::Journal;
use serde::{Deserialize, Serialize, de::DeserializeOwned};

use crate::{
    WebError,
    passcode::{fresh_code, fresh_token, grouped, plain_code, secret_hash},
    roles::Role,
};

/// How long a device stays known \[days\].
pub(crate) const KNOWN_DAYS: i64 = 90;

/// How long a pairing code can be used \[minutes\].
pub const PAIRING_MINUTES: i64 = 5;

/// The most devices that are known at once; the oldest is forgotten for a further one.
const MOST_DEVICES: usize = 100;

/// The most codes that can be used at once.
const MOST_CODES: usize = 20;

/// The longest name of a device \[characters\].
const LONGEST_NAME: usize = 40;

/// “Last seen” is written down no more often than this \[minutes\].
const SEEN_MINUTES: i64 = 10;

const SESSIONS: &str = "sessions";
const PAIRINGS: &str = "pairings";

/// A device that is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Session {
    /// SHA-256 of its token, in hexadecimal.
    pub(crate) hash: String,
    /// What it is, in a word: `phone` or `desk`.
    pub device: String,
    /// Who holds it; what it writes stands under this name. Empty for the house's own hand.
    #[serde(default)]
    pub name: String,
    /// What it may do.
    #[serde(default)]
    pub role: Role,
    /// When it was let in.
    pub since: Timestamp,
    /// When it last asked for a page, to within ten minutes.
    #[serde(default)]
    pub seen: Option<Timestamp>,
    /// Until when it is known.
    pub until: Timestamp,
}

impl Session {
    /// By what it is named when it is to be ended.
    #[must_use]
    pub fn id(&self) -> &str {
        self.hash.get(..8).unwrap_or(&self.hash)
    }
}

/// A code that lets one device in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Kept {
    hash: String,
    name: String,
    role: Role,
    until: Timestamp,
}

/// A code that was just made; it is shown once and kept nowhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pairing {
    /// Twelve characters.
    pub code: String,
    /// What the device will be let do.
    pub role: Role,
    /// Who will hold it.
    pub name: String,
    /// Until when it can be used, once.
    pub until: Timestamp,
}

impl Pairing {
    /// What the square holds, for a house at this address: capitals keep its modules large.
    #[must_use]
    pub fn address(&self, house: &str) -> String {
        format!("{}/PAIR/{}", house.to_uppercase(), self.code)
    }

    /// The code in three groups, as it is read and typed.
    #[must_use]
    pub fn grouped(&self) -> String {
        grouped(&self.code)
    }
}

/// The devices of a record.
#[derive(Clone, Copy)]
pub struct Devices<'j>(pub &'j Journal);

fn later(now: Timestamp, by: SignedDuration) -> Result<Timestamp, WebError> {
    now.checked_add(by).map_err(|e| WebError::Conflict(e.to_string()))
}

/// What cannot be read lets nobody in: the passcode is asked for again.
fn parsed<T: DeserializeOwned>(kept: Option<&String>) -> Vec<T> {
    kept.and_then(|k| serde_json::from_str(k).ok()).unwrap_or_default()
}

impl Devices<'_> {
    fn change<T: Serialize + DeserializeOwned, R>(
        self,
        key: &str,
        change: impl FnOnce(&mut Vec<T>) -> R,
    ) -> Result<R, WebError> {
        self.0.change_setting(key, |before| {
            let mut list = parsed(before.as_ref());
            let told = change(&mut list);
            match serde_json::to_string(&list) {
                Ok(after) => (after, Ok(told)),
                Err(e) => (before.unwrap_or_default(), Err(WebError::Conflict(e.to_string()))),
            }
        })?
    }

    fn all(self) -> Result<Vec<Session>, WebError> {
        Ok(parsed(self.0.setting(SESSIONS)?.as_ref()))
    }

    /// The devices that are known at this instant.
    ///
    /// # Errors
    /// Those of the record.
    pub fn known(self, now: Timestamp) -> Result<Vec<Session>, WebError> {
        Ok(self.all()?.into_iter().filter(|s| s.until > now).collect())
    }

    /// The device that carries this token; that it was seen is written down.
    pub(crate) fn of_token(self, token: &str, now: Timestamp) -> Result<Option<Session>, WebError> {
        let hash = secret_hash(token);
        let found = self.known(now)?.into_iter().find(|s| s.hash == hash);
        let Some(session) = found else { return Ok(None) };
        let stale = SignedDuration::from_mins(SEEN_MINUTES);
        if session.seen.is_none_or(|seen| now.duration_since(seen) >= stale) {
            self.change(SESSIONS, |all: &mut Vec<Session>| {
                if let Some(s) = all.iter_mut().find(|s| s.hash == hash) {
                    s.seen = Some(now);
                }
            })?;
        }
        Ok(Some(session))
    }

    /// Lets a device in and gives the token that it must carry.
    pub(crate) fn let_in(
        self,
        device: &str,
        name: &str,
        role: Role,
        now: Timestamp,
    ) -> Result<String, WebError> {
        let token = fresh_token()?;
        let session = Session {
            hash: secret_hash(&token),
            device: device.to_owned(),
            name: name.to_owned(),
            role,
            since: now,
            seen: Some(now),
            until: later(now, SignedDuration::from_hours(24 * KNOWN_DAYS))?,
        };
        self.change(SESSIONS, |all: &mut Vec<Session>| {
            all.retain(|s| s.until > now);
            if all.len() >= MOST_DEVICES {
                all.remove(0);
            }
            all.push(session);
        })?;
        Ok(token)
    }

    /// Ends the device that carries this token.
    pub(crate) fn leave(self, token: &str) -> Result<(), WebError> {
        let hash = secret_hash(token);
        self.change(SESSIONS, |all: &mut Vec<Session>| all.retain(|s| s.hash != hash))
    }

    /// Ends the device of this identifier; tells whether there was one.
    ///
    /// # Errors
    /// Those of the record.
    pub fn end(self, id: &str) -> Result<bool, WebError> {
        self.change(SESSIONS, |all: &mut Vec<Session>| {
            let before = all.len();
            all.retain(|s| s.id() != id);
            all.len() < before
        })
    }

    /// Ends all devices and takes all codes back; tells how many devices there were.
    ///
    /// # Errors
    /// Those of the record.
    pub fn end_all(self) -> Result<usize, WebError> {
        self.change(PAIRINGS, Vec::<Kept>::clear)?;
        self.change(SESSIONS, |all: &mut Vec<Session>| {
            let before = all.len();
            all.clear();
            before
        })
    }

    /// Makes a code for one further device.
    ///
    /// # Errors
    /// If no passcode has been set, the name is missing, too long or another's, or there are too
    /// many codes.
    pub fn offer(self, role: Role, name: &str, now: Timestamp) -> Result<Pairing, WebError> {
        if self.0.setting(crate::passcode::SETTING)?.unwrap_or_default().is_empty() {
            return Err(WebError::NoPasscode);
        }
        let name = name.trim();
        self.check_name(role, name, now)?;
        let code = fresh_code()?;
        let until = later(now, SignedDuration::from_mins(PAIRING_MINUTES))?;
        let kept = Kept { hash: secret_hash(&code), name: name.to_owned(), role, until };
        let room = self.change(PAIRINGS, |all: &mut Vec<Kept>| {
            all.retain(|k| k.until > now);
            let room = all.len() < MOST_CODES;
            if room {
                all.push(kept);
            }
            room
        })?;
        if !room {
            let words = format!("{MOST_CODES} codes wait for a device already; wait five minutes");
            return Err(WebError::Conflict(words));
        }
        Ok(Pairing { code, role, name: name.to_owned(), until })
    }

    /// What a helper wrote is told from what others wrote by the name, so it is nobody else's.
    fn check_name(self, role: Role, name: &str, now: Timestamp) -> Result<(), WebError> {
        let wrong = |problem: &str| Err(WebError::form("name", name, problem));
        if name.chars().count() > LONGEST_NAME {
            return wrong("is longer than 40 characters; write a shorter one");
        }
        if role == Role::Owner {
            return Ok(());
        }
        if name.is_empty() {
            return wrong("has no words; write who will hold the device");
        }
        let same = |other: &str| other.trim().to_lowercase() == name.to_lowercase();
        let house = self.0.setting("who")?.unwrap_or_else(|| "me".to_owned());
        if same(&house) || self.known(now)?.iter().any(|s| same(&s.name)) {
            return wrong(
                "is somebody's name here already; write another, or end that device first",
            );
        }
        Ok(())
    }

    /// Uses a code up: whose device may come in with it, if it is one that can be used now.
    pub(crate) fn use_up(
        self,
        code: &str,
        now: Timestamp,
    ) -> Result<Option<(Role, String)>, WebError> {
        let hash = secret_hash(&plain_code(code));
        self.change(PAIRINGS, |all: &mut Vec<Kept>| {
            let at = all.iter().position(|k| k.hash == hash && k.until > now)?;
            let kept = all.remove(at);
            Some((kept.role, kept.name))
        })
    }
}
