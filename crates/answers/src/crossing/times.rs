//! How long a step takes: what is held of the group, moved by what was seen here.

use super::{
    engine::Engine,
    groups::{Group, Range},
};

/// Spread of the medians of a step from house to house, on the logarithm: common practice, no
/// source.
const HOUSES: f64 = 0.35;
/// Nine tenths of a normal lie below it.
const TENTH: f64 = 1.281_551_565_545;

/// The 80 % range of the next time, from a believed 80 % range and times seen (all above 0): a normal
/// on the logarithm, its mean believed around the middle of the range, its spread kept.
#[must_use]
pub fn next_range(believed: Range, seen: &[f64]) -> Range {
    let (low, high) = (believed.0.max(0.5).ln(), believed.1.max(0.6).ln());
    let (middle, whole) = (0.5 * (low + high), (high - low) / (2.0 * TENTH));
    // What the range holds is the spread of houses and that of single times together.
    let single = (whole * whole - HOUSES * HOUSES).max(0.25 * whole * whole);
    let houses = whole * whole - single;
    let n = seen.len() as f64;
    let sum: f64 = seen.iter().map(|t| t.max(0.5).ln() - middle).sum();
    let precision = 1.0 / houses + n / single;
    let mean = middle + sum / single / precision;
    let sd = (single + 1.0 / precision).sqrt();
    ((mean - TENTH * sd).exp(), (mean + TENTH * sd).exp())
}

impl Engine {
    /// Days from pollination to a ripe pod: the 80 % range, and how many pods of this house it rests
    /// on. Pods that still hang are not counted.
    #[must_use]
    pub fn ripens_in(&self, group: Group) -> (Range, usize) {
        let seen: Vec<f64> = self
            .crosses
            .attempts
            .iter()
            .filter(|a| a.seed.and_then(|s| self.facts.of(s)).is_some_and(|f| f.group == group))
            .filter_map(|a| a.ripe_day.map(|d| (d - a.day) as f64))
            .filter(|d| *d > 0.0)
            .collect();
        (next_range(group.facts().ripe, &seen), seen.len())
    }

    /// Days from sowing to the first seedling: the 80 % range, and how many trays it rests on.
    #[must_use]
    pub fn comes_up_in(&self, group: Group) -> (Range, usize) {
        let mut seen = Vec::new();
        for c in &self.crosses.crosses {
            let journal::ParentClaim::Clone(seed) = &c.row.seed else { continue };
            if self.facts.of(*seed).is_none_or(|f| f.group != group) {
                continue;
            }
            for tray in &c.trays {
                let first = tray.looks.iter().filter(|l| l.1 > 0).map(|l| l.0).min();
                if let (Some(first), Some(sown)) = (first, tray.sown)
                    && first > sown
                {
                    seen.push((first - sown) as f64);
                }
            }
        }
        (next_range(group.facts().up, &seen), seen.len())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_seen_gives_the_belief_and_much_seen_moves_it() {
        let (low, high) = next_range((21.0, 56.0), &[]);
        assert!((low - 21.0).abs() < 1e-9 && (high - 56.0).abs() < 1e-9);
        // By hand: on logarithms the middle is 3.53494, the whole spread 0.38268; of its square
        // 0.14644 the single times keep 0.03661 at least, houses 0.10983. Four pods of 60 days lie
        // 0.55940 above: precision 9.105 + 109.26, mean 3.53494 + 0.51638, spread 0.21230.
        let (low, high) = next_range((21.0, 56.0), &[60.0; 4]);
        assert!((low - (4.05132f64 - 1.281_551_6 * 0.21230).exp()).abs() < 0.05, "{low}");
        assert!((high - (4.05132f64 + 1.281_551_6 * 0.21230).exp()).abs() < 0.05, "{high}");
    }
}
