//! What is learnt of crosses, kept between requests.

use std::{
    path::PathBuf,
    sync::{Arc, Mutex, PoisonError},
};

use answers::{
    AskError, Hand,
    crossing::{Engine, says_nothing_of_crosses},
};
use journal::{Journal, Uid};
use names::checklist::Checklist;

use crate::WebError;

/// Of which record, up to which operation, for which day.
type State = (PathBuf, i64, i64);

/// The engine of the record that is open, fitted anew when something was written.
#[derive(Default)]
pub(crate) struct Kept(Mutex<Option<(State, Arc<Engine>)>>);

impl Kept {
    /// The engine with everything that has been written so far; every living clone can be asked for.
    pub(crate) fn engine(
        &self,
        journal: &Journal,
        hand: &Hand,
        list: &Checklist,
    ) -> Result<Arc<Engine>, WebError> {
        let mut guard = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = guard.take();
        let found = journal.read(|r| {
            let seen = r.touched_since(i64::MAX)?.last;
            let state = (journal.path().to_path_buf(), seen, hand.today_number());
            if let Some((before, engine)) = kept {
                let same = before.0 == state.0 && before.2 == state.2 && before.1 <= state.1;
                let touched = r.touched_since(if same { before.1 } else { i64::MAX })?;
                // Water and other care come by the dozen and change nothing here.
                if same && says_nothing_of_crosses(touched.what.iter().map(String::as_str)) {
                    return Ok(Ok((state, engine)));
                }
            }
            let mut clones: Vec<Uid> = Vec::new();
            for plant in r.living()?.into_iter().chain(r.in_state("gone")?) {
                clones.extend(r.clone_by_id(plant.clone)?.map(|c| c.uid));
            }
            let engine: Result<Engine, AskError> = Engine::read(r, hand, list, &clones);
            Ok(engine.map(|e| (state, Arc::new(e))))
        })??;
        Ok(guard.insert(found).1.clone())
    }

    /// Forgets: a belief was changed, which no operation tells.
    pub(crate) fn forget(&self) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }
}
