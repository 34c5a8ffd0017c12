//! Everything that is asked of crosses, read and fitted once.

use journal::{ParentClaim, Reader, Uid};
use names::checklist::Checklist;
use stats::success::{Crossed, Mixture, Place};

use super::{
    facts::{CloneFacts, Facts},
    groups::Group,
    model::{self, How, LATER, Later, LaterLevels, Taking},
    others::{self, Told},
    pollen,
    record::{Attempt, Crosses, Followed, Pollen},
    settings::Beliefs,
};
use crate::{AskError, Hand, Result};

/// The record of crosses with all fits.
#[derive(Debug, Clone)]
pub struct Engine {
    /// What was tried.
    pub crosses: Crosses,
    /// What others told, with their failures.
    pub told: Vec<Told>,
    /// What is known of the clones.
    pub facts: Facts,
    /// What was believed beforehand.
    pub beliefs: Beliefs,
    /// Pollen in store.
    pub lots: Vec<pollen::Kept>,
    pub(super) taking: Taking,
    later: Vec<(Later, Crossed, LaterLevels, Vec<Count>)>,
}

/// Seed parent, pollen parent, how many went on, of how many.
type Count = (Uid, Uid, u64, u64);

/// What a fit that did not come off means to the one who asked.
pub(super) fn unfitted(error: &stats::success::SuccessError) -> AskError {
    AskError::field("crosses", "", format!("could not be fitted: {error}"))
}

impl Engine {
    /// Reads everything and fits; `also` are clones of which nothing was tried yet.
    ///
    /// # Errors
    /// If the record cannot be read or a fit is not reached.
    pub fn read(reader: &Reader<'_>, hand: &Hand, list: &Checklist, also: &[Uid]) -> Result<Self> {
        let crosses = Crosses::read(reader, hand)?;
        let told = others::told(reader)?;
        let lots = pollen::kept(reader)?;
        let facts = facts_of(reader, list, also, (&crosses, &told, &lots))?;
        Self::of(crosses, told, facts, Beliefs::read(reader)?, lots)
    }

    /// Reads everything without a fit: for dates, where no chance is asked. Chances are those of the
    /// beliefs alone.
    pub(super) fn unfitted(reader: &Reader<'_>, hand: &Hand, list: &Checklist) -> Result<Self> {
        let crosses = Crosses::read(reader, hand)?;
        let lots = pollen::kept(reader)?;
        let facts = facts_of(reader, list, &[], (&crosses, &[], &lots))?;
        let beliefs = Beliefs::read(reader)?;
        let nothing =
            Crosses { attempts: Vec::new(), crosses: Vec::new(), today: hand.today_number() };
        let taking = model::taking(&nothing, &[], &facts, &beliefs, &|_, _| 1.0)
            .map_err(|e| unfitted(&e))?;
        Ok(Self { crosses, told: Vec::new(), facts, beliefs, lots, taking, later: Vec::new() })
    }

    /// The same from parts that are at hand.
    ///
    /// # Errors
    /// If a fit is not reached.
    pub fn of(
        crosses: Crosses,
        told: Vec<Told>,
        facts: Facts,
        beliefs: Beliefs,
        lots: Vec<pollen::Kept>,
    ) -> Result<Self> {
        let half_life = |a: &Attempt, of: &CloneFacts| {
            let lot = a.lot.and_then(|uid| lots.iter().find(|l| l.uid == uid));
            pollen::half_life(of.group, lot.map_or(pollen::Cold::Room, |l| l.cold))
        };
        let taking = model::taking(&crosses, &told, &facts, &beliefs, &half_life)
            .map_err(|e| unfitted(&e))?;
        let mut later = Vec::new();
        for (stage, share) in LATER {
            let counts = counts(&crosses, &facts, stage);
            let (fit, levels) = model::later(&counts, share).map_err(|e| unfitted(&e))?;
            later.push((stage, fit, levels, counts));
        }
        Ok(Self { crosses, told, facts, beliefs, lots, taking, later })
    }

    /// The chance that a flower takes, with fresh pollen in the usual way.
    pub(super) fn takes(
        &self,
        seed: &CloneFacts,
        pollen: &CloneFacts,
    ) -> (Mixture, Vec<&'static str>) {
        let (found, features) = self.taking.pair(&self.facts, seed, pollen, &How::default());
        (found, features.blank)
    }

    /// The share that goes on at a later stage, with how many records it rests on.
    pub(super) fn later(&self, stage: Later, seed: Uid, pollen: Uid) -> Option<(Mixture, u64)> {
        let (_, fit, levels, counts) = self.later.iter().find(|l| l.0 == stage)?;
        let own = counts.iter().filter(|c| c.0 == seed && c.1 == pollen).map(|c| c.3).sum();
        Some((fit.predict(&levels.place(seed, pollen)), own))
    }

    /// The share that goes on at a later stage, of parents that were never tried.
    pub(super) fn later_usual(&self, stage: Later) -> Option<Mixture> {
        let (_, fit, ..) = self.later.iter().find(|l| l.0 == stage)?;
        Some(fit.predict(&Place { x: vec![1.0], levels: vec![None, None], pair: None }))
    }

    /// A clone of the engine.
    pub(super) fn clone_of(&self, uid: Uid) -> Result<&CloneFacts> {
        self.facts.of(uid).ok_or_else(|| AskError::NotThere {
            kind: "clone",
            which: uid.to_string(),
            next: "choose a plant of the collection",
        })
    }

    /// The chance that each of these flowers takes, as it was done: for past attempts.
    #[must_use]
    pub fn as_done(&self, a: &Attempt) -> Option<Mixture> {
        let Pollen::Of(pollen) = &a.pollen else { return None };
        let (seed, pollen) = (self.facts.of(a.seed?)?, self.facts.of(*pollen)?);
        let how = How { own_pollen: a.own_pollen, ..How::default() };
        Some(self.taking.pair(&self.facts, seed, pollen, &how).0)
    }

    /// What is held of a pair that is treated with fresh pollen in the usual way.
    #[must_use]
    pub fn rate(&self, seed: Uid, pollen: Uid) -> Option<Mixture> {
        Some(self.takes(self.facts.of(seed)?, self.facts.of(pollen)?).0)
    }
}

/// What is known of all clones that are named anywhere.
fn facts_of(
    reader: &Reader<'_>,
    list: &Checklist,
    also: &[Uid],
    (crosses, told, lots): (&Crosses, &[Told], &[pollen::Kept]),
) -> Result<Facts> {
    let mut clones: Vec<Uid> = also.to_vec();
    for a in &crosses.attempts {
        clones.extend(a.seed);
        match &a.pollen {
            Pollen::Of(c) => clones.push(*c),
            Pollen::OneOf(list) => clones.extend(list),
            _ => {}
        }
    }
    for c in &crosses.crosses {
        for side in [&c.row.seed, &c.row.pollen] {
            if let ParentClaim::Clone(uid) = side {
                clones.push(*uid);
            }
        }
    }
    clones.extend(told.iter().flat_map(|t| [t.seed, t.pollen]));
    clones.extend(lots.iter().map(|l| l.clone));
    Facts::read(reader, &clones, list)
}

/// Seed of a pod: full and empty ones of earlier pods of the group.
pub(super) fn seeds_of_pods(crosses: &Crosses, facts: &Facts, group: Group) -> Vec<u64> {
    let mut out = Vec::new();
    for a in &crosses.attempts {
        let same = a.seed.and_then(|s| facts.of(s)).is_some_and(|f| f.group == group);
        if let (true, Some(full), Some(ripe)) = (same, a.full, a.ripe)
            && ripe > 0
        {
            let each = (full + a.empty.unwrap_or(0)) / ripe;
            out.extend(std::iter::repeat_n(each, usize::try_from(ripe.min(50)).unwrap_or(1)));
        }
    }
    out
}

/// What entered a later stage and what went on, of each pollination or cross.
fn counts(crosses: &Crosses, facts: &Facts, stage: Later) -> Vec<Count> {
    let mut out = Vec::new();
    let known = |c: &Followed| match (&c.row.seed, &c.row.pollen) {
        (ParentClaim::Clone(a), ParentClaim::Clone(b)) => Some((*a, *b)),
        _ => None,
    };
    match stage {
        Later::Ripens => {
            for (a, seed, pollen, took) in crosses.known() {
                // Pods that still hang have told nothing yet.
                let ended = took - a.hanging();
                if ended > 0 {
                    out.push((seed, pollen, a.ripe.unwrap_or(0).min(ended), ended));
                }
            }
        }
        Later::Full => {
            for (a, seed, pollen, _) in crosses.known() {
                if let (Some(full), Some(empty)) = (a.full, a.empty)
                    && full + empty > 0
                {
                    out.push((seed, pollen, full, full + empty));
                }
            }
        }
        Later::Germinates => {
            for c in &crosses.crosses {
                let Some((seed, pollen)) = known(c) else { continue };
                let slow = facts.of(seed).map_or(30.0, |f| f.group.facts().up.1);
                for t in &c.trays {
                    let last = t.looks.iter().map(|l| l.0).max();
                    let done =
                        t.lost || last.zip(t.sown).is_some_and(|(l, s)| (l - s) as f64 >= slow);
                    if let (true, Some(seeds), Some(up)) = (done, t.seeds, t.up().or(Some(0)))
                        && seeds > 0
                    {
                        out.push((seed, pollen, up.min(seeds), seeds));
                    }
                }
            }
        }
        Later::Lives | Later::Flowers => {
            for c in &crosses.crosses {
                let Some((seed, pollen)) = known(c) else { continue };
                let slow = facts.of(seed).map_or(1460.0, |f| f.group.facts().flower.1);
                let (mut on, mut of) = (0, 0);
                for s in &c.seedlings {
                    let age = s.since.map_or(0, |d| crosses.today - d);
                    let (good, told) = match stage {
                        Later::Lives => (s.alive, age >= 90 || !s.alive),
                        // Alive and young: it has told nothing.
                        _ => (s.flower.is_some(), s.flower.is_some() || age as f64 >= slow),
                    };
                    if told && (stage == Later::Lives || s.alive || s.flower.is_some()) {
                        (on, of) = (on + u64::from(good), of + 1);
                    }
                }
                if of > 0 {
                    out.push((seed, pollen, on, of));
                }
            }
        }
    }
    out
}

/// Whether what was written (kinds of entries, claims) says nothing of crosses, so that what was learnt
/// of them stands: care of plants, and flowers that only open and end.
#[must_use]
pub fn says_nothing_of_crosses<'a>(mut what: impl Iterator<Item = &'a str>) -> bool {
    // A part comes with the word of what it is.
    const FLOWERS: [&str; 7] =
        ["opened", "bud_seen", "still_open", "ended", "placed", "new part", "what"];
    what.all(|w| FLOWERS.contains(&w) || crate::flowers::BESIDE.contains(&w))
}

#[cfg(test)]
mod tests {
    use super::says_nothing_of_crosses;

    #[test]
    fn care_says_nothing_of_crosses_and_a_pod_does() {
        assert!(says_nothing_of_crosses(["watered", "opened", "note"].into_iter()));
        assert!(says_nothing_of_crosses(std::iter::empty()));
        for what in ["pollinated", "pod_seen", "scored", "name", "breeding", "arrived", "lost"] {
            assert!(!says_nothing_of_crosses(["watered", what].into_iter()), "{what}");
        }
    }
}
