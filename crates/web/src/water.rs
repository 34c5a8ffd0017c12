//! What is learnt about water and what wants doing, kept between requests and renewed beside them.

use std::{
    path::PathBuf,
    sync::{
        Arc, Mutex, PoisonError,
        atomic::{AtomicBool, Ordering},
    },
};

use answers::{
    Hand,
    due::{Due, Lines},
    water::Water,
};
use journal::Journal;

use crate::WebError;

/// The pots of the record that is open.
#[derive(Default)]
pub(crate) struct Kept {
    water: Mutex<Option<(PathBuf, Water)>>,
    /// In each language that somebody reads.
    lines: Mutex<Vec<(PathBuf, texts::Lang, Lines)>>,
    learning: AtomicBool,
}

impl Kept {
    /// Forgets everything: another record is open now.
    pub(crate) fn forget(&self) {
        *self.water.lock().unwrap_or_else(PoisonError::into_inner) = None;
        self.lines.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }

    /// What wants doing besides water, with everything that has been written so far.
    pub(crate) fn due(&self, journal: &Journal, hand: &Hand) -> Result<Vec<Due>, WebError> {
        let mut guard = self.lines.lock().unwrap_or_else(PoisonError::into_inner);
        let path = journal.path().to_path_buf();
        guard.retain(|k| k.0 == path);
        let at = guard.iter().position(|k| k.1 == hand.lang);
        let kept = at.map(|i| guard.swap_remove(i).2);
        let (lines, all) = journal.read(|r| {
            let lines = match kept {
                Some(mut lines) => lines.refresh(r, hand).map(|()| lines),
                None => Lines::read(r, hand),
            };
            Ok(lines.and_then(|lines| {
                let all = lines.all(r, hand)?;
                Ok((lines, all))
            }))
        })??;
        guard.push((path, hand.lang, lines));
        Ok(all)
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

    /// Begins to count before anybody asks: the first page of a large record would wait for it.
    pub(crate) fn begin(self: &Arc<Self>, journal: Arc<Journal>, hand: Hand) {
        let kept = Arc::clone(self);
        std::thread::spawn(move || {
            // Whatever is wrong is told by the page that asks next.
            let _ = kept.look(&journal, &hand, |water| {
                water.today(&hand);
            });
            let _ = kept.due(&journal, &hand);
        });
    }

    fn learn(self: &Arc<Self>, water: &mut Water, today: i64) {
        if self.learning.swap(true, Ordering::AcqRel) {
            return;
        }
        let (kept, work) = (Arc::clone(self), water.learning(today));
        std::thread::spawn(move || {
            let learnt = work();
            let mut guard = kept.water.lock().unwrap_or_else(PoisonError::into_inner);
            if let (Some((_, water)), Ok(learnt)) = (guard.as_mut(), learnt) {
                water.take(learnt);
            }
            kept.learning.store(false, Ordering::Release);
        });
    }
}
