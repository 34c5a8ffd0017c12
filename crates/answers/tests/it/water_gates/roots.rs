//! Whether a pot that dries much slower than before is noticed, and how often one that does not.

use answers::water::{Night, ODD, Pot, follow};
use trial::water::House;

use super::engine::as_of;

/// Alarms of some growers.
#[derive(Debug, Clone, Copy, Default)]
pub struct Alarms {
    /// Plants that lost their roots, and those of them that were noticed within two dryings.
    pub lost: usize,
    pub noticed: usize,
    /// Alarms about plants with roots, and the months of such plants.
    pub in_vain: usize,
    pub months: f64,
}

/// Follows all pots week by week. `nights` are what was learnt at the beginning of each week, with
/// its day.
pub fn follow_all(house: &House, pots: &[Pot], nights: &[(i64, Night)], sum: &mut Alarms) {
    let (begin, end) = (nights[0].0, house.world.first_day + house.world.days);
    for (plant, pot) in pots.iter().enumerate() {
        let lost = house.truth.lost_roots[plant];
        sum.months += (lost.unwrap_or(end) - begin) as f64 / 30.44;
        let mut noticed = false;
        // The drying about which an alarm was given; dryings that began after the loss and ended.
        let (mut alarmed, mut since, mut ended) = (i64::MIN, i64::MIN, 0);
        for w in house.written.iter().filter(|w| w.plant == plant && w.day > begin) {
            if w.kind == "watered" {
                ended += usize::from(lost.is_some_and(|day| since >= day));
                since = w.day;
            }
            if ended >= 2 {
                break;
            }
            if w.kind != "checked" {
                continue;
            }
            let week = nights.partition_point(|n| n.0 < w.day) - 1;
            let pot = as_of(pot, w.day);
            let looks = follow(&pot.happenings, pot.wish, pot.facts);
            let Some(now) = looks.now.filter(|n| n.since != alarmed && n.dry.is_none()) else {
                continue;
            };
            if nights[week].1.oddness(&pot, &looks).is_some_and(|z| z > ODD) {
                alarmed = now.since;
                match lost {
                    Some(day) if w.day > day => noticed = true,
                    _ => sum.in_vain += 1,
                }
            }
        }
        if lost.is_some() {
            sum.lost += 1;
            sum.noticed += usize::from(noticed);
        }
    }
}
