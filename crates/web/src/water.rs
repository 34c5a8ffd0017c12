//! What is learnt about water, kept between requests and renewed beside them.

use std::{
    path::PathBuf,
    sync::{
        Arc, Mutex, PoisonError,
        atomic::{AtomicBool, Ordering},
    },
};

use answers::{Hand, water::Water};
use journal::Journal;

use crate::WebError;

/// The pots of the record that is open.
#[derive(Default)]
pub(crate) struct Kept {
    water: Mutex<Option<(PathBuf, Water)>>,
    learning: AtomicBool,
}

impl Kept {
    /// Forgets everything: another record is open now.
    pub(crate) fn forget(&self) {
        *self.water.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }

    /// Whether it is being learnt anew right now.
    pub(crate) fn is_learning(&self) -> bool {
        self.learning.load(Ordering::Relaxed)
    }

    /// Looks at what is known now, with everything that has been written so far. What pots have
    /// shown since the last night counts at once; all pots together are learnt from beside it.
    pub(crate) fn look<T>(
        self: &Arc<Self>,
        journal: &Journal,
        hand: &Hand,
        look: impl FnOnce(&mut Water) -> T,
    ) -> Result<T, WebError> {
        let mut guard = self.water.lock().unwrap_or_else(PoisonError::into_inner);
        let path = journal.path().to_path_buf();
        let kept = guard.take().filter(|k| k.0 == path);
        let (water, stale) = match kept {
            Some((_, mut water)) => {
                let stale = journal.read(|r| Ok(water.refresh(r, hand)))??;
                (water, stale)
            }
            None => (journal.read(|r| Ok(Water::read(r, hand)))??, false),
        };
        let (_, water) = guard.insert((path, water));
        if stale {
            self.learn(water, hand.today_number());
        }
        Ok(look(water))
    }

    fn learn(self: &Arc<Self>, water: &Water, today: i64) {
        if self.learning.swap(true, Ordering::AcqRel) {
            return;
        }
        let (kept, work) = (Arc::clone(self), water.learning(today));
        std::thread::spawn(move || {
            let night = work();
            let mut guard = kept.water.lock().unwrap_or_else(PoisonError::into_inner);
            if let (Some((_, water)), Ok(night)) = (guard.as_mut(), night) {
                water.take(night);
            }
            kept.learning.store(false, Ordering::Release);
        });
    }
}
