//! How many looks it takes to find pots dry, by what rule one looks.

/// What a rule costs and yields.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tally {
    pub dryings: f64,
    pub looks: f64,
    /// Found dry within a day.
    pub caught: f64,
}

impl Tally {
    pub fn add(&mut self, other: Tally) {
        self.dryings += other.dryings;
        self.looks += other.looks;
        self.caught += other.caught;
    }

    pub fn catch(&self) -> f64 {
        self.caught / self.dryings
    }

    /// Looks to one drying.
    pub fn price(&self) -> f64 {
        self.looks / self.dryings
    }
}

/// Follows one drying day by day. `looks(today, moist)` says whether one looks, given the last day on
/// which it was seen moist (0: watered); `dry` is when it is dry \[d since the watering\].
pub fn follow(dry: f64, mut looks: impl FnMut(i64, i64) -> bool) -> Tally {
    let mut tally = Tally { dryings: 1.0, ..Tally::default() };
    let mut moist = 0;
    for today in 1..200i64 {
        if !looks(today, moist) {
            continue;
        }
        tally.looks += 1.0;
        if dry <= today as f64 {
            tally.caught = f64::from(u8::from(today as f64 - dry <= 1.0));
            break;
        }
        moist = today;
    }
    tally
}

/// A fixed rule: the first look on one day, then every so many days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fixed {
    pub first: i64,
    pub every: i64,
}

impl Fixed {
    pub fn follow(self, dry: f64) -> Tally {
        follow(dry, |today, _| today >= self.first && (today - self.first) % self.every == 0)
    }

    /// The rule with the fewest looks among those that catch nine in ten of these.
    pub fn best(dryings: &[f64]) -> Self {
        let rules = (1..=25).flat_map(|first| (1..=4).map(move |every| Self { first, every }));
        Self::cheapest(rules, dryings)
    }

    /// The same among rules that look every so many days from the watering on.
    pub fn steady(dryings: &[f64]) -> Self {
        Self::cheapest((1..=25).map(|n| Self { first: n, every: n }), dryings)
    }

    fn cheapest(rules: impl Iterator<Item = Self>, dryings: &[f64]) -> Self {
        let mut best = (f64::INFINITY, Self { first: 1, every: 1 });
        for rule in rules {
            let mut sum = Tally::default();
            dryings.iter().for_each(|dry| sum.add(rule.follow(*dry)));
            if sum.catch() >= 0.9 && sum.price() < best.0 {
                best = (sum.price(), rule);
            }
        }
        best.1
    }
}

/// Looks whenever the chance that the pot has become dry by now exceeds `chance`. `moist[k]` is the
/// chance that it is still moist k days after watering.
pub fn by_chance(dry: f64, moist: &[f64], chance: f64) -> Tally {
    let still = |day: i64| moist.get(day as usize).copied().unwrap_or(0.0).max(1e-300);
    follow(dry, |today, last| 1.0 - still(today) / still(last) > chance)
}

#[test]
fn rules_are_counted_rightly() {
    // Dry after 4.3 days: a look on day 5 finds it in time, one on day 6 does not.
    let tally = |looks, caught| Tally { dryings: 1.0, looks, caught };
    assert_eq!(Fixed { first: 3, every: 1 }.follow(4.3), tally(3.0, 1.0));
    assert_eq!(Fixed { first: 2, every: 4 }.follow(4.3), tally(2.0, 0.0));
    assert_eq!(Fixed { first: 9, every: 1 }.follow(4.3), tally(1.0, 0.0));
    // Always dry after 4.3 or 5.3 days: look on days 5 and 6.
    assert_eq!(Fixed::best(&[4.3, 5.3]), Fixed { first: 5, every: 1 });
    assert_eq!(Fixed::steady(&[4.3, 5.3]), Fixed { first: 1, every: 1 });
}
