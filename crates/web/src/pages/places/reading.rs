//! Files of loggers that are read or written beside the pages, so that a long one shows how far it
//! has come.

use std::{
    collections::{BTreeMap, HashMap},
    path::PathBuf,
    sync::{
        Arc, LazyLock, Mutex, PoisonError,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};

use answers::acts::{self, Look, ReadingsInput};
use jiff::tz::TimeZone;

use super::super::ask::Ask;
use crate::WebError;

/// A short file is waited for; a page that shows how far it has come would only flicker.
const PATIENCE: Duration = Duration::from_millis(1500);
const STEP: Duration = Duration::from_millis(15);

/// How far a file has come.
pub(super) enum Come {
    /// Lines read, and lines in all.
    Reading(usize, usize),
    /// It is being written: readings.
    Writing(usize),
    /// It was read, and waits.
    Read(Arc<Look>),
    /// It was written.
    Written,
    /// It was not read or written.
    Failed(WebError),
}

enum State {
    Reading,
    Read(Arc<Look>),
    Writing(usize),
    Written,
    Failed(WebError),
}

struct Job {
    answers: BTreeMap<String, String>,
    /// The last step of the record when it was read: what is new may be another after the next.
    seen: i64,
    lines: Arc<AtomicUsize>,
    of: usize,
    state: State,
}

/// The record and the file.
type Which = (PathBuf, String);

static JOBS: LazyLock<Mutex<HashMap<Which, Job>>> = LazyLock::new(Mutex::default);

fn jobs<T>(change: impl FnOnce(&mut HashMap<Which, Job>) -> T) -> T {
    change(&mut JOBS.lock().unwrap_or_else(PoisonError::into_inner))
}

fn end(which: &Which, state: State) {
    jobs(|j| {
        if let Some(job) = j.get_mut(which) {
            job.state = state;
        }
    });
}

fn which(ask: &Ask, id: &str) -> Which {
    (ask.journal().path().to_path_buf(), id.to_owned())
}

/// A file as it is kept while it is looked at.
pub(super) struct File {
    pub place: i64,
    pub id: String,
    pub name: String,
    pub logger: String,
    pub bytes: Vec<u8>,
    pub answers: BTreeMap<String, String>,
}

/// Reads a file unless that is done or going on, and waits a little.
pub(super) async fn read(ask: &Ask, file: File) -> Come {
    let which = which(ask, &file.id);
    let seen = ask.journal().read(|r| Ok(r.touched_since(i64::MAX)?.last)).unwrap_or(-1);
    let begin = jobs(|j| {
        let goes = j.get(&which).is_some_and(|job| match job.state {
            State::Reading | State::Writing(_) | State::Written | State::Failed(_) => true,
            State::Read(_) => job.answers == file.answers && job.seen == seen,
        });
        if goes {
            return None;
        }
        // Files that were looked at and left are let go.
        j.retain(|_, job| matches!(job.state, State::Reading | State::Writing(_)));
        let lines = Arc::new(AtomicUsize::new(0));
        let of = file.bytes.iter().filter(|b| **b == b'\n').count();
        let (answers, lines_seen) = (file.answers.clone(), Arc::clone(&lines));
        let job = Job { answers, seen, lines, of, state: State::Reading };
        j.insert(which.clone(), job);
        Some(lines_seen)
    });
    if let Some(lines) = begin {
        let (journal, hand, which) = (ask.journal(), ask.hand.clone(), which.clone());
        std::thread::spawn(move || {
            let input = ReadingsInput {
                place: file.place,
                logger: file.logger,
                file: &file.name,
                bytes: &file.bytes,
                answers: file.answers,
                zone: TimeZone::system(),
                lines: Some(lines),
            };
            let state = match acts::look_at_readings(&journal, &hand, &input) {
                Ok(look) => State::Read(Arc::new(look)),
                Err(e) => State::Failed(e.into()),
            };
            end(&which, state);
        });
    }
    wait(&which).await
}

/// Writes what was read, and waits a little.
pub(super) async fn write(ask: &Ask, id: &str, look: Arc<Look>) -> Come {
    let which = which(ask, id);
    let begin = jobs(|j| match j.get_mut(&which) {
        Some(job) if matches!(job.state, State::Read(_)) => {
            job.state = State::Writing(look.new);
            true
        }
        _ => false,
    });
    if begin {
        let (journal, hand, which) = (ask.journal(), ask.hand.clone(), which.clone());
        std::thread::spawn(move || {
            let state = match acts::take_readings(&journal, &hand, &look) {
                Ok(_) => State::Written,
                Err(e) => State::Failed(e.into()),
            };
            end(&which, state);
        });
    }
    wait(&which).await
}

async fn wait(which: &Which) -> Come {
    let mut waited = Duration::ZERO;
    loop {
        let come = jobs(|j| {
            let Some(job) = j.get(which) else { return Come::Written };
            match &job.state {
                State::Reading => Come::Reading(job.lines.load(Ordering::Relaxed), job.of),
                State::Writing(n) => Come::Writing(*n),
                State::Read(look) => Come::Read(Arc::clone(look)),
                // An end is told once.
                State::Written | State::Failed(_) => match j.remove(which).map(|job| job.state) {
                    Some(State::Failed(e)) => Come::Failed(e),
                    _ => Come::Written,
                },
            }
        });
        let goes_on = matches!(come, Come::Reading(..) | Come::Writing(_));
        if !goes_on || waited >= PATIENCE {
            return come;
        }
        tokio::time::sleep(STEP).await;
        waited += STEP;
    }
}
