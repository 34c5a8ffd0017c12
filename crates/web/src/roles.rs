//! What somebody at a device other than this machine may do.
//!
//! Each route stands in one table with who may ask for it. A route that is missing there is the
//! owner's alone, and a test names it.

use serde::{Deserialize, Serialize};
use texts::Texts;

/// Whose hands a device is in; each may do what those before it may.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// May look.
    Guest,
    /// May log entries and rounds, and undo what was written under the same name.
    Helper,
    /// May do everything but what is done on this machine only.
    Owner,
}

impl Role {
    /// All, from the least to the most.
    pub const ALL: [Self; 3] = [Self::Guest, Self::Helper, Self::Owner];

    /// The word in forms and on the command line.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Guest => "guest",
            Self::Helper => "helper",
            Self::Owner => "owner",
        }
    }

    /// The role of this word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|r| r.as_str() == word)
    }

    /// What it may do, in words.
    pub(crate) fn words(self, t: Texts) -> &'static str {
        match self {
            Self::Guest => t.t("guest: may look"),
            Self::Helper => t.t("helper: may also log entries and rounds"),
            Self::Owner => t.t("owner: may do everything but set passcode and name of the house"),
        }
    }
}

impl Default for Role {
    /// Devices that were known before there were roles had given the passcode.
    fn default() -> Self {
        Self::Owner
    }
}

/// Who may ask for a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum May {
    /// Any device: what the door is made of.
    Anyone,
    /// Devices in the hands of this role or one that may do more.
    From(Role),
    /// A browser on this machine only.
    Here,
}

const LOOK: May = May::From(Role::Guest);
const LOG: May = May::From(Role::Helper);
const KEEP: May = May::From(Role::Owner);

/// Every route and who may ask for it.
const TABLE: &[(&str, &str, May)] = &[
    ("GET", "/", LOOK),
    ("GET", "/begin", LOOK),
    ("POST", "/demo/in", KEEP),
    ("POST", "/demo/out", KEEP),
    ("GET", "/restore", KEEP),
    ("POST", "/restore", KEEP),
    ("GET", "/plants", LOOK),
    ("POST", "/plants", KEEP),
    ("GET", "/plants/new", KEEP),
    ("GET", "/plants/log", LOG),
    ("POST", "/plants/log", LOG),
    ("POST", "/plants/views", KEEP),
    ("POST", "/plants/views/forget", KEEP),
    ("GET", "/plants/{n}", LOOK),
    ("GET", "/plants/{n}/journal", LOOK),
    ("GET", "/plants/{n}/history", LOOK),
    ("GET", "/plants/{n}/log", LOG),
    ("POST", "/plants/{n}/log", LOG),
    ("POST", "/plants/{n}/says", LOG),
    ("GET", "/plants/{n}/entries/{uid}", KEEP),
    ("POST", "/plants/{n}/entries/{uid}", KEEP),
    ("GET", "/plants/{n}/name", KEEP),
    ("POST", "/plants/{n}/name", KEEP),
    ("GET", "/plants/{n}/parents", KEEP),
    ("POST", "/plants/{n}/parents", KEEP),
    ("GET", "/plants/{n}/clone", KEEP),
    ("POST", "/plants/{n}/clone", KEEP),
    ("GET", "/plants/{n}/kin", LOOK),
    ("POST", "/plants/{n}/photos", LOG),
    ("GET", "/plants/{n}/statements", KEEP),
    ("POST", "/plants/{n}/statements", KEEP),
    ("GET", "/plants/{n}/questions", KEEP),
    ("POST", "/plants/{n}/questions", KEEP),
    ("POST", "/plants/{n}/wish", KEEP),
    ("GET", "/photos/{file}", LOOK),
    ("GET", "/places", LOOK),
    ("POST", "/places", KEEP),
    ("GET", "/places/{n}", LOOK),
    ("POST", "/places/{n}", KEEP),
    ("POST", "/places/{n}/round", LOG),
    ("GET", "/places/{n}/log", LOG),
    ("POST", "/places/{n}/log", LOG),
    ("GET", "/places/{n}/air", KEEP),
    ("POST", "/places/{n}/air", KEEP),
    ("POST", "/places/{n}/air/compare", KEEP),
    ("POST", "/places/{n}/air/salt", KEEP),
    ("GET", "/places/{n}/readings", KEEP),
    ("POST", "/places/{n}/readings", KEEP),
    ("GET", "/places/{n}/readings/{id}", KEEP),
    ("POST", "/places/{n}/readings/{id}", KEEP),
    ("POST", "/places/{n}/readings/{id}/write", KEEP),
    ("GET", "/places/{n}/light", KEEP),
    ("POST", "/places/{n}/light", KEEP),
    ("POST", "/places/{n}/spots", KEEP),
    ("GET", "/places/{n}/what-if", LOOK),
    ("GET", "/places/{n}/arrange", LOOK),
    ("POST", "/house/where", KEEP),
    ("GET", "/feed", LOOK),
    ("POST", "/feed", KEEP),
    ("GET", "/feed/{n}", LOOK),
    ("POST", "/feed/{n}", KEEP),
    ("GET", "/potting", LOOK),
    ("POST", "/potting", KEEP),
    ("GET", "/plants/{n}/sprayed", LOOK),
    ("GET", "/pests", LOOK),
    ("POST", "/today/look", LOG),
    ("POST", "/today/rounds", LOG),
    ("POST", "/today/done", LOG),
    ("POST", "/today/put-off", LOG),
    ("GET", "/today/table", LOOK),
    ("GET", "/predictions", LOOK),
    ("GET", "/keepers", LOOK),
    ("POST", "/keepers", KEEP),
    ("GET", "/keepers/{n}", LOOK),
    ("POST", "/keepers/{n}", KEEP),
    ("GET", "/plants/{n}/flowers", LOOK),
    ("GET", "/plants/{n}/breeding", KEEP),
    ("POST", "/plants/{n}/breeding", KEEP),
    ("GET", "/flowers", LOOK),
    ("GET", "/crosses", LOOK),
    ("GET", "/crosses/new", LOG),
    ("POST", "/crosses/new", LOG),
    ("GET", "/crosses/pair", LOOK),
    ("GET", "/crosses/plan", LOOK),
    ("GET", "/crosses/table", LOOK),
    ("POST", "/crosses/others", KEEP),
    ("POST", "/crosses/written", KEEP),
    ("GET", "/crosses/beliefs", LOOK),
    ("POST", "/crosses/beliefs", KEEP),
    ("GET", "/pollen", LOOK),
    ("POST", "/pollen", KEEP),
    ("GET", "/crosses/{n}", LOOK),
    ("GET", "/crosses/{n}/tags.pdf", LOOK),
    ("POST", "/crosses/{n}/sow", KEEP),
    ("POST", "/crosses/{n}/prick-out", KEEP),
    ("GET", "/crosses/{n}/log", LOG),
    ("POST", "/crosses/{n}/log", LOG),
    ("GET", "/import", KEEP),
    ("POST", "/import", KEEP),
    ("GET", "/import/{id}", KEEP),
    ("POST", "/import/{id}", KEEP),
    ("POST", "/import/{id}/write", KEEP),
    ("GET", "/import/{id}/written", KEEP),
    ("POST", "/import/{id}/drop", KEEP),
    ("GET", "/left-over", KEEP),
    ("GET", "/left-over/{uid}", KEEP),
    ("POST", "/left-over/{uid}", KEEP),
    ("POST", "/left-over/{uid}/dismiss", KEEP),
    ("GET", "/names", LOOK),
    ("POST", "/names", KEEP),
    ("GET", "/show", LOOK),
    ("GET", "/labels", LOOK),
    ("GET", "/labels.pdf", LOOK),
    ("GET", "/find", LOOK),
    ("GET", "/how/{question}", LOOK),
    ("GET", "/keys", LOOK),
    ("GET", "/history", LOOK),
    // A helper undoes what stands under the helper's own name; the page sees to that.
    ("POST", "/undo", LOG),
    ("GET", "/house", LOOK),
    ("POST", "/house", KEEP),
    ("POST", "/house/backup", KEEP),
    ("POST", "/house/export", KEEP),
    ("POST", "/house/passcode", May::Here),
    ("POST", "/house/name", May::Here),
    ("POST", "/house/phones/pair", KEEP),
    ("POST", "/house/phones/end", KEEP),
    ("POST", "/house/phones/forget", KEEP),
    ("GET", "/door", May::Anyone),
    ("POST", "/door", May::Anyone),
    ("POST", "/door/leave", LOOK),
    ("GET", "/PAIR/{code}", May::Anyone),
    ("POST", "/pair", May::Anyone),
    ("POST", "/theme", LOOK),
    ("GET", "/static/{*name}", May::Anyone),
    ("GET", "/{code}", LOOK),
];

/// Who may ask for a route; nothing if it is not in the table.
#[must_use]
pub fn may(method: &str, path: &str) -> Option<May> {
    let method = if method == "HEAD" { "GET" } else { method };
    TABLE.iter().find(|(m, p, _)| *m == method && *p == path).map(|(.., may)| *may)
}

/// All lines of the table.
pub fn table() -> impl Iterator<Item = (&'static str, &'static str, May)> {
    TABLE.iter().copied()
}
