//! What stands between the pages and devices other than this machine.

use std::{
    net::SocketAddr,
    sync::{Arc, Mutex, PoisonError, RwLock},
};

use jiff::Timestamp;
use journal::Journal;

use crate::{
    Options, WebError,
    labels::HOUSE,
    passcode,
    roles::Role,
    sessions::{Devices, Session},
    tries::Tries,
};

/// Where the record keeps how phones reached the house last, a line each.
const WAYS: &str = "phones";

/// Where a request comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Peer {
    /// The address of the other side.
    pub address: SocketAddr,
    /// Whether what goes between is encrypted.
    pub encrypted: bool,
}

impl Peer {
    /// Over a plain socket.
    #[must_use]
    pub const fn plain(address: SocketAddr) -> Self {
        Self { address, encrypted: false }
    }
}

/// How phones reach the house.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ways {
    /// The address by name, with its scheme and without a stroke at its end.
    pub by_name: String,
    /// The same by number; empty if this machine is in no network.
    pub by_number: String,
    /// The fingerprint of the certificate; empty for a plain connection.
    pub fingerprint: String,
    /// The port at which encrypted connections are taken.
    pub(crate) port: u16,
}

impl Default for Ways {
    fn default() -> Self {
        Self {
            by_name: format!("http://{}", HOUSE.to_lowercase()),
            by_number: String::new(),
            fingerprint: String::new(),
            port: 443,
        }
    }
}

impl Ways {
    /// How phones reached the house last; nothing if it was never opened to them.
    ///
    /// # Errors
    /// Those of the record.
    pub fn kept(journal: &Journal) -> Result<Option<Self>, WebError> {
        let Some(kept) = journal.setting(WAYS)? else { return Ok(None) };
        let mut lines = kept.lines().map(str::to_owned);
        let mut next = || lines.next().unwrap_or_default();
        Ok(Some(Self { by_name: next(), by_number: next(), fingerprint: next(), port: 0 }))
    }
}

/// The door of a record.
pub(crate) struct Gate {
    open: bool,
    encrypts: bool,
    ways: RwLock<Ways>,
    /// The grower's own record, also while the demo is looked at.
    own: RwLock<Arc<Journal>>,
    /// Wrong tries, in memory only.
    pub(crate) tries: Mutex<Tries>,
    notes: Mutex<Vec<String>>,
}

impl Gate {
    pub(crate) fn of(own: Arc<Journal>, options: &Options) -> Self {
        Self {
            open: options.phones,
            encrypts: options.phones && !options.plain,
            ways: RwLock::default(),
            own: RwLock::new(own),
            tries: Mutex::default(),
            notes: Mutex::default(),
        }
    }

    /// The grower's own record.
    pub(crate) fn own(&self) -> Arc<Journal> {
        Arc::clone(&self.own.read().unwrap_or_else(PoisonError::into_inner))
    }

    /// Stands before another record from now on, such as one that was restored.
    pub(crate) fn before(&self, own: Arc<Journal>) {
        *self.own.write().unwrap_or_else(PoisonError::into_inner) = own;
    }

    /// Whether the pages are listened for beyond this machine.
    pub(crate) const fn is_open(&self) -> bool {
        self.open
    }

    /// Whether other devices must come over an encrypted connection.
    pub(crate) const fn encrypts(&self) -> bool {
        self.encrypts
    }

    /// How phones reach the house.
    pub(crate) fn ways(&self) -> Ways {
        self.ways.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Keeps how phones reach the house, for the pages and, in the record, for the command.
    pub(crate) fn reached(&self, ways: Ways) -> Result<(), WebError> {
        let lines = [&ways.by_name, &ways.by_number, &ways.fingerprint].map(String::as_str);
        self.own().set_setting(WAYS, &lines.join("\n"))?;
        *self.ways.write().unwrap_or_else(PoisonError::into_inner) = ways;
        Ok(())
    }

    /// The hash of the passcode; empty for none, also where the record cannot be read.
    fn passcode(&self) -> String {
        self.own().setting(passcode::SETTING).ok().flatten().unwrap_or_default()
    }

    /// Whether a passcode has been set.
    pub(crate) fn has_passcode(&self) -> bool {
        !self.passcode().is_empty()
    }

    /// Whether the passcode is this one. Takes a tenth of a second or so, on purpose.
    pub(crate) fn fits(&self, typed: &str) -> bool {
        passcode::fits(typed, &self.passcode())
    }

    /// The devices that are known at this instant.
    pub(crate) fn devices(&self, now: Timestamp) -> Result<Vec<Session>, WebError> {
        Devices(&self.own()).known(now)
    }

    /// The device that carries this token, if it is known.
    pub(crate) fn known(&self, token: &str, now: Timestamp) -> Option<Session> {
        if !self.has_passcode() {
            return None;
        }
        // What cannot be read lets nobody in.
        Devices(&self.own()).of_token(token, now).ok().flatten()
    }

    /// Sets the passcode, or takes it away; all devices are forgotten.
    pub(crate) fn set_passcode(&self, passcode: Option<&str>) -> Result<(), WebError> {
        let hash = passcode.map(passcode::hashed).transpose()?.unwrap_or_default();
        let own = self.own();
        // Devices first: were it cut short here, no device would be let in by an old passcode.
        Devices(&own).end_all()?;
        Ok(own.set_setting(passcode::SETTING, &hash)?)
    }

    /// Lets a device in and gives the token that it must carry.
    pub(crate) fn let_in(
        &self,
        device: &str,
        name: &str,
        role: Role,
        now: Timestamp,
    ) -> Result<String, WebError> {
        Devices(&self.own()).let_in(device, name, role, now)
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
}
