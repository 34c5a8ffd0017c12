//! What the pages share: the record that is open, and who asks.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError, RwLock},
};

use answers::{Hand, flowers::Flowers};
use axum::http::{HeaderMap, header};
use jiff::{Timestamp, tz::TimeZone};
use journal::Journal;
use texts::Lang;

use crate::{Options, WebError, gate::Gate, water::Kept};

/// The state of the application.
#[derive(Clone)]
pub struct App {
    shared: Arc<Shared>,
}

struct Shared {
    open: RwLock<Open>,
    own: PathBuf,
    hosts: Vec<String>,
    clock: Option<Timestamp>,
    water: Arc<Kept>,
    crossing: crate::crossing::Kept,
    gate: Gate,
}

#[derive(Clone)]
struct Open {
    journal: Arc<Journal>,
    demo: bool,
    /// What is known of its flowers, between pages.
    flowers: Arc<Mutex<Flowers>>,
}

impl Open {
    fn new(journal: Arc<Journal>, demo: bool) -> Self {
        Self { journal, demo, flowers: Arc::default() }
    }
}

impl App {
    /// Opens the record named by the options.
    ///
    /// # Errors
    /// If it cannot be opened.
    pub fn open(options: &Options) -> Result<Self, WebError> {
        let (journal, _) = Journal::open(&options.collection)?;
        let journal = Arc::new(journal);
        let gate = Gate::of(Arc::clone(&journal), options);
        let app = Self {
            shared: Arc::new(Shared {
                open: RwLock::new(Open::new(journal, false)),
                own: options.collection.clone(),
                hosts: options.hosts.clone(),
                clock: options.clock,
                water: Arc::default(),
                crossing: crate::crossing::Kept::default(),
                gate,
            }),
        };
        if options.demo {
            app.enter_demo()?;
        }
        Ok(app)
    }

    fn current(&self) -> Open {
        self.shared.open.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The record that is open now.
    #[must_use]
    pub fn journal(&self) -> Arc<Journal> {
        self.current().journal
    }

    /// Whether the demo is being looked at.
    #[must_use]
    pub fn in_demo(&self) -> bool {
        self.current().demo
    }

    /// The grower's own record.
    #[must_use]
    pub fn own_path(&self) -> &Path {
        &self.shared.own
    }

    /// Host names under which the pages answer, with their port where it is not 80.
    #[must_use]
    pub fn hosts(&self) -> &[String] {
        &self.shared.hosts
    }

    /// What stands between the pages and other devices.
    pub(crate) fn gate(&self) -> &Gate {
        &self.shared.gate
    }

    /// What is known about water.
    pub(crate) fn water(&self) -> &Arc<Kept> {
        &self.shared.water
    }

    /// What is known of the flowers of the record that is open.
    pub(crate) fn flowers(&self) -> Arc<Mutex<Flowers>> {
        self.current().flowers
    }

    /// What is learnt of crosses.
    pub(crate) fn crossing(&self) -> &crate::crossing::Kept {
        &self.shared.crossing
    }

    /// The grower's own record, also while the demo is looked at.
    pub(crate) fn own_journal(&self) -> Arc<Journal> {
        self.shared.gate.own()
    }

    fn demo_path(&self) -> PathBuf {
        self.shared.own.with_extension("demo.umbel")
    }

    /// Makes the demo beside the grower's own record and shows it instead.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn enter_demo(&self) -> Result<(), WebError> {
        let path = self.demo_path();
        remove(&path);
        let (journal, _) = Journal::open(&path)?;
        let today = self.now().to_zoned_datetime(TimeZone::system()).date();
        trial::write_demo(&journal, today)?;
        self.swap(Open::new(Arc::new(journal), true));
        Ok(())
    }

    /// Shows the grower's own record again and removes the demo.
    pub fn leave_demo(&self) {
        self.swap(Open::new(self.own_journal(), false));
        remove(&self.demo_path());
    }

    /// Puts a restored record in place of an empty one.
    ///
    /// # Errors
    /// If the present record holds anything, or the backup is not good.
    pub fn restore(&self, backup: &Path) -> Result<journal::BackupReport, WebError> {
        let own = self.shared.own.clone();
        let report = Journal::verify_backup(backup)?;
        let aside = own.with_extension("replaced.umbel");
        {
            let mut open = self.shared.open.write().unwrap_or_else(PoisonError::into_inner);
            // Not the record that is shown: in the demo, too, it is the own one that is replaced.
            let operations = self.own_journal().read(|r| r.operations(1))?;
            if !operations.is_empty() {
                return Err(WebError::Conflict(
                    "this record holds entries already; start Umbel with another file to restore into it".to_owned(),
                ));
            }
            remove(&aside);
            std::fs::rename(&own, &aside).map_err(WebError::file(&own))?;
            for log in ["umbel-wal", "umbel-shm"] {
                let _ = std::fs::remove_file(own.with_extension(log));
            }
            let restored = Journal::restore(backup, &own);
            if restored.is_err() {
                let _ = std::fs::rename(&aside, &own);
            }
            restored?;
            let (journal, _) = Journal::open(&own)?;
            self.shared.water.forget();
            let journal = Arc::new(journal);
            self.shared.gate.before(Arc::clone(&journal));
            *open = Open::new(journal, false);
        }
        remove(&aside);
        Ok(report)
    }

    fn swap(&self, next: Open) {
        self.shared.water.forget();
        *self.shared.open.write().unwrap_or_else(PoisonError::into_inner) = next;
    }

    /// The instant, or the one that tests set.
    #[must_use]
    pub fn now(&self) -> Timestamp {
        self.shared.clock.unwrap_or_else(Timestamp::now)
    }

    /// The hand behind a request.
    #[must_use]
    pub fn hand(&self, headers: &HeaderMap) -> Hand {
        let now = self.now();
        let journal = self.journal();
        let who = journal.setting("who").ok().flatten().unwrap_or_else(|| "me".to_owned());
        Hand {
            who,
            device: device(headers),
            now,
            today: now.to_zoned_datetime(TimeZone::system()).date(),
            lang: language(headers, journal.setting("language").ok().flatten().as_deref()),
            op: None,
        }
    }
}

fn remove(path: &Path) {
    for ending in ["umbel", "umbel-wal", "umbel-shm"] {
        let _ = std::fs::remove_file(path.with_extension(ending));
    }
    let _ = std::fs::remove_dir_all(path.with_extension("photos"));
}

fn device(headers: &HeaderMap) -> String {
    let agent = headers.get(header::USER_AGENT).and_then(|v| v.to_str().ok()).unwrap_or("");
    if agent.contains("Mobile") || agent.contains("Android") { "phone" } else { "desk" }.to_owned()
}

fn language(headers: &HeaderMap, setting: Option<&str>) -> Lang {
    match setting {
        Some("de") => return Lang::De,
        Some("en") => return Lang::En,
        _ => {}
    }
    let wanted = headers.get(header::ACCEPT_LANGUAGE).and_then(|v| v.to_str().ok()).unwrap_or("");
    if wanted.trim_start().to_lowercase().starts_with("de") { Lang::De } else { Lang::En }
}
