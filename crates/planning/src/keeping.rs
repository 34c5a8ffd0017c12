//! Which plants to keep where there is room for few: merit, and not all of one family.

use crate::{
    Ended, Kinship, PlanningError, Watch,
    select::{Choice, NONE, Offer, Problem, solve},
};

/// A plant that might be kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// What it is worth to keep, costs taken off; a plant of 0 or less is not worth its place.
    pub merit: f64,
    /// Places it takes \[1 or more\].
    pub places: u32,
    /// Whether it stays in any case.
    pub must: bool,
}

/// Who might be kept, and where the limits are.
#[derive(Debug, Clone, Copy)]
pub struct Room<'a> {
    /// The plants.
    pub candidates: &'a [Candidate],
    /// Their kinship.
    pub kinship: &'a Kinship,
    /// Places that there are \[1 or more\].
    pub places: u32,
    /// What is given up for mean kinship lower by 1, when all places are taken \[unit of merit, 0
    /// or more\]: each plant counts with its share of all places.
    pub weight: f64,
}

/// Why a plant is kept or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Kept: it stays in any case.
    Asked,
    /// Kept: no plant that has to go has more merit and would fit in its place.
    Merit,
    /// Kept although this one, which has to go, has more merit: the kept ones have less of its
    /// family.
    Diversity {
        /// The one with the most merit of those.
        instead_of: usize,
    },
    /// Goes: its merit is 0 or less.
    NotWorthAPlace,
    /// Goes: near relatives are kept, above all this one; without them it would be worth a place.
    Relatives {
        /// The nearest of those kept.
        nearest: usize,
    },
    /// Goes: what is kept is worth more, and the room is full.
    NoRoom,
    /// Goes: it needs more places than there are.
    TooLarge,
}

/// What becomes of one plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decision {
    /// Whether it is kept.
    pub kept: bool,
    /// Why.
    pub why: Why,
    /// For a kept plant, what would be lost without it; for another, what it would add if there
    /// were room.
    pub worth: f64,
    /// The nearest relative among the others that are kept, and the kinship.
    pub nearest: Option<(usize, f64)>,
}

/// What to keep.
#[derive(Debug, Clone, PartialEq)]
pub struct KeepList {
    /// One for each candidate, in their order.
    pub decisions: Vec<Decision>,
    /// Merit of all that is kept.
    pub merit: f64,
    /// Mean kinship of what is kept, by places \[0 to 1\].
    pub mean_kinship: f64,
    /// Merit less the weighted kinship.
    pub value: f64,
    /// No list has a higher value.
    pub bound: f64,
    /// Whether nothing better exists, or why the search ended before that was known.
    pub ended: Ended,
}

impl KeepList {
    /// Those kept, in order.
    pub fn kept(&self) -> Vec<usize> {
        (0..self.decisions.len()).filter(|i| self.decisions[*i].kept).collect()
    }

    /// How much higher the value of another list could be at most \[0 or more\].
    pub fn gap(&self) -> f64 {
        (self.bound - self.value).max(0.0)
    }
}

/// Chooses what to keep; nothing, if nothing is worth its place.
///
/// # Errors
/// If a number is none, or what must stay does not fit.
pub fn keep(room: &Room<'_>, watch: &mut Watch<'_>) -> Result<KeepList, PlanningError> {
    check(room)?;
    let offer = |(i, c): (usize, &Candidate)| Offer {
        gain: c.merit,
        group: i,
        from: [(i, f64::from(c.places) / f64::from(room.places)), (NONE, 0.0)],
        needs: [(0, f64::from(c.places)), (NONE, 0.0), (NONE, 0.0)],
        must: c.must,
    };
    let offers = room.candidates.iter().enumerate().map(offer).collect();
    let n = room.candidates.len();
    let amounts = vec![f64::from(room.places)];
    let problem = Problem::new(room.kinship, room.weight, offers, n, amounts, n);
    if !problem.musts_fit() {
        let what = format!("what must stay needs more than the {} places", room.places);
        return refuse(what, "allow more places, or let some of it go");
    }
    let solution = solve(&problem, &[], watch);
    let mut mixture = vec![0.0; n];
    for i in &solution.chosen {
        mixture[*i] = f64::from(room.candidates[*i].places);
    }
    Ok(KeepList {
        decisions: decide(room, &problem, &solution.chosen),
        merit: solution.chosen.iter().map(|i| room.candidates[*i].merit).sum(),
        mean_kinship: room.kinship.mean(&mixture),
        value: solution.value,
        bound: solution.bound.max(solution.value),
        ended: solution.ended,
    })
}

fn decide(room: &Room<'_>, problem: &Problem<'_>, chosen: &[usize]) -> Vec<Decision> {
    let choice = Choice::of(problem, chosen);
    let n = room.candidates.len();
    let kept: Vec<bool> = (0..n).map(|i| chosen.binary_search(&i).is_ok()).collect();
    let nearest = |i: usize| {
        let others = chosen.iter().filter(|j| **j != i).map(|j| (*j, room.kinship.of(i, *j)));
        others.fold(None, |near: Option<(usize, f64)>, one| match near {
            Some(n) if n.1 >= one.1 => Some(n),
            _ => Some(one),
        })
    };
    // Those that have to go, by merit, the best first.
    let mut gone: Vec<usize> = (0..n).filter(|i| !kept[*i]).collect();
    gone.sort_by(|a, b| room.candidates[*b].merit.total_cmp(&room.candidates[*a].merit));
    let own_place = |i: usize| Some(room.candidates[i]).filter(|c| c.must).map(|_| Why::Asked);
    let why_kept = |i: usize| {
        let me = room.candidates[i];
        let instead = gone.iter().copied().find(|j| {
            let other = room.candidates[*j];
            other.places <= me.places && other.merit > me.merit
        });
        own_place(i).unwrap_or(match instead {
            Some(instead_of) => Why::Diversity { instead_of },
            None => Why::Merit,
        })
    };
    // A kept plant of less merit that takes at least as many places shows that it was not the room.
    let weaker_stays = |me: Candidate| {
        chosen
            .iter()
            .map(|j| room.candidates[*j])
            .any(|other| !other.must && other.merit < me.merit && other.places >= me.places)
    };
    let why_gone = |i: usize, worth: f64| {
        let me = room.candidates[i];
        let outweighed = worth <= 0.0 || weaker_stays(me);
        match nearest(i) {
            _ if me.merit <= 0.0 => Why::NotWorthAPlace,
            _ if me.places > room.places => Why::TooLarge,
            Some((nearest, kinship)) if outweighed && kinship > 0.0 => Why::Relatives { nearest },
            // Its own kinship with itself outweighs it.
            _ if worth <= 0.0 => Why::NotWorthAPlace,
            _ => Why::NoRoom,
        }
    };
    (0..n)
        .map(|i| {
            let worth = if kept[i] { -choice.if_removed(i) } else { choice.if_added(i) };
            let why = if kept[i] { why_kept(i) } else { why_gone(i, worth) };
            Decision { kept: kept[i], why, worth, nearest: nearest(i) }
        })
        .collect()
}

fn check(room: &Room<'_>) -> Result<(), PlanningError> {
    let n = room.candidates.len();
    if room.kinship.len() != n {
        let what = format!("kinship of {} for {n} plants", room.kinship.len());
        return refuse(what, "give the kinship of all plants, in the same order");
    }
    if room.places == 0 {
        return refuse("0 places".to_owned(), "say how many places there are");
    }
    if !(room.weight.is_finite() && room.weight >= 0.0) {
        return refuse(format!("a weight of {}", room.weight), "give 0 or more");
    }
    let bad = |c: &Candidate| !c.merit.is_finite() || c.places == 0;
    match room.candidates.iter().position(bad) {
        Some(i) => {
            let c = room.candidates[i];
            let what =
                format!("plant {i} has a merit of {} and takes {} places", c.merit, c.places);
            refuse(what, "give a number for the merit, and at least one place")
        }
        None => Ok(()),
    }
}

fn refuse<T>(what: String, next: &'static str) -> Result<T, PlanningError> {
    Err(PlanningError::Shape { what, next })
}
