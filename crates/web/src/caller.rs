//! Who asks for a page.

use std::net::IpAddr;

use axum::http::{HeaderMap, header};

use crate::{
    App,
    gate::Peer,
    roles::{May, Role},
    sessions::Session,
};

/// The cookie that a known device carries over a plain connection.
const COOKIE: &str = "door";

/// The one that it carries over an encrypted connection; browsers take this name only with Secure,
/// from the house itself and for all of its pages (RFC 6265bis, section 4.1.3.2).
const SECURE_COOKIE: &str = "__Host-door";

/// Who asks for a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Caller {
    /// A browser on this machine.
    Here,
    /// A device that is known.
    Known(Session),
    /// Any other device.
    Stranger,
}

/// The way by which a request came, beside each.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Link {
    /// The address of the other side; unspecified where it is not known.
    pub(crate) from: IpAddr,
    /// Whether what goes between is encrypted.
    pub(crate) encrypted: bool,
}

impl Link {
    pub(crate) fn of(peer: Option<Peer>) -> Self {
        let nowhere = IpAddr::from([0, 0, 0, 0]);
        Self {
            from: peer.map_or(nowhere, |p| p.address.ip().to_canonical()),
            encrypted: peer.is_some_and(|p| p.encrypted),
        }
    }
}

impl Caller {
    /// Tells who asks. Where the address is not known, as without a socket, it is this machine
    /// only if the pages are listened for on this machine only.
    pub(crate) fn of(app: &App, peer: Option<Peer>, headers: &HeaderMap) -> Self {
        let from = peer.map(|p| p.address.ip().to_canonical());
        if from.map_or(!app.gate().is_open(), |ip| ip.is_loopback()) {
            return Self::Here;
        }
        let encrypted = peer.is_some_and(|p| p.encrypted);
        token(headers, encrypted)
            .and_then(|t| app.gate().known(t, app.now()))
            .map_or(Self::Stranger, Self::Known)
    }

    /// What the caller may do; this machine is the owner's.
    pub(crate) const fn role(&self) -> Role {
        match self {
            Self::Here => Role::Owner,
            Self::Known(session) => session.role,
            Self::Stranger => Role::Guest,
        }
    }

    /// Whether the caller may ask for such a route.
    pub(crate) fn may(&self, what: May) -> bool {
        match (what, self) {
            (May::Anyone, _) | (_, Self::Here) => true,
            (May::From(role), Self::Known(session)) => session.role >= role,
            (May::Here, _) | (_, Self::Stranger) => false,
        }
    }

    /// Whether the caller may undo what stands under this name, writing under that one.
    pub(crate) fn may_undo(&self, who: &str, hand: &str) -> bool {
        match self.role() {
            Role::Owner => true,
            Role::Helper => who == hand,
            Role::Guest => false,
        }
    }
}

const fn cookie_name(encrypted: bool) -> &'static str {
    if encrypted { SECURE_COOKIE } else { COOKIE }
}

/// The token that a device carries.
pub(crate) fn token(headers: &HeaderMap, encrypted: bool) -> Option<&str> {
    let cookies = headers.get(header::COOKIE)?.to_str().ok()?;
    cookies
        .split(';')
        .filter_map(|c| c.trim().split_once('='))
        .find(|(name, _)| *name == cookie_name(encrypted))
        .map(|(_, token)| token)
}

/// The cookie that gives a device its token for so long \[s\]; 0 takes it away.
pub(crate) fn cookie(token: &str, seconds: i64, encrypted: bool) -> String {
    let name = cookie_name(encrypted);
    let secure = if encrypted { "; Secure" } else { "" };
    format!("{name}={token}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Strict{secure}")
}
