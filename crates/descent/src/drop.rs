//! Gene-dropping: founders' genes fall through the pedigree, and what arrives is counted.
//!
//! MacCluer, VandeBerg, Read & Ryder 1986 (Zoo Biology 5:147–160), from memory.

use crate::diversity::{Bottom, Draws};
use crate::gametes::Gametes;
use crate::individual::Side;
use crate::lineage::Made;
use crate::names::NONE;
use crate::pedigree::Pedigree;

/// Of gametes with three and more copies and double reduction only pairs of copies are known.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "the {} gamete of \"{id}\" has {copies} copies with double reduction, and of more than two only \
     pairs are known: its genes cannot be drawn; leave it out of the group", .side.word()
)]
pub struct CannotBeDrawn {
    /// The plant.
    pub id: String,
    /// Which gamete.
    pub side: Side,
    /// Its copies.
    pub copies: u8,
}

/// Where one gamete comes from.
#[derive(Clone, Copy)]
struct Gamete {
    copies: u8,
    double_reduction: f64,
    from: From,
}

#[derive(Clone, Copy)]
enum From {
    /// The genes of a plant: their start, and how many.
    Plant(u32, u32),
    /// One of several: the index of its list.
    OneOf(u32),
    /// Genes of a founder that has no row: the first label, and how many.
    Nobody(u32, u32),
}

/// One plant on its way down.
struct Fall {
    /// Where its genes are.
    start: u32,
    gametes: [Option<Gamete>; 2],
}

/// Retention of each of `bottoms` in `group`, with its standard error.
///
/// An unknown parent has twice the copies of its gamete, as a plant that made gametes of that size.
pub(crate) fn retention(
    pedigree: &Pedigree,
    nodes: &[u32],
    group: &[u32],
    bottoms: &[Bottom],
    draws: Draws,
) -> Result<Vec<(f64, f64)>, CannotBeDrawn> {
    let mut start = vec![NONE; pedigree.lineage.len()];
    let mut genes = 0;
    for &node in nodes.iter().filter(|&&n| pedigree.lineage.doubt(n).is_none()) {
        start[node as usize] = genes;
        genes += u32::from(pedigree.lineage.gametes(node).ploidy());
    }
    let place = |n: u32| (start[n as usize], u32::from(pedigree.lineage.gametes(n).ploidy()));
    // Labels of founders' genes, one founder after the other.
    let mut labels: Vec<std::ops::Range<u32>> = Vec::new();
    let mut gene = vec![0; genes as usize];
    let mut nobody = std::collections::HashMap::new();
    for bottom in bottoms {
        let first = labels.last().map_or(0, |l| l.end);
        let (at, ploidy) = place(bottom.node);
        match bottom.side {
            None => {
                labels.push(first..first + ploidy);
                (first..first + ploidy).zip(&mut gene[at as usize..]).for_each(|(l, g)| *g = l);
            }
            Some(side) => {
                let copies = pedigree.lineage.gametes(bottom.node).copies[side as usize];
                labels.push(first..first + 2 * u32::from(copies));
                nobody.insert((bottom.node, side as usize), (first, 2 * u32::from(copies)));
            }
        }
    }
    let mut lists: Vec<Vec<(f64, u32, u32)>> = Vec::new();
    let mut falls = Vec::new();
    for &node in nodes {
        let Made::Plant(parents) = pedigree.lineage.made(node) else { continue };
        if pedigree.is_founder(node) {
            continue;
        }
        let all = pedigree.lineage.gametes(node);
        let mut gametes = [None; 2];
        for side in Side::BOTH.map(|s| s as usize).into_iter().filter(|&s| all.copies[s] > 0) {
            let from = match parents[side] {
                None => match nobody.get(&(node, side)) {
                    Some(&(first, many)) => From::Nobody(first, many),
                    None => continue,
                },
                Some(p) => match pedigree.lineage.doubt(p) {
                    None => From::Plant(place(p).0, place(p).1),
                    Some(d) => {
                        let list = d.candidates.iter().map(|&(c, w)| (w, place(c).0, place(c).1));
                        lists.push(list.collect());
                        From::OneOf(lists.len() as u32 - 1)
                    }
                },
            };
            gametes[side] = Some(gamete(pedigree, node, side, all, from)?);
        }
        falls.push(Fall { start: place(node).0, gametes });
    }
    let group: Vec<(u32, u32)> = group.iter().map(|&g| place(g)).collect();
    let drawn = Drawn { falls, lists, labels, group };
    Ok(drawn.count(gene, draws))
}

fn gamete(
    pedigree: &Pedigree,
    node: u32,
    side: usize,
    all: Gametes,
    from: From,
) -> Result<Gamete, CannotBeDrawn> {
    let (copies, double_reduction) = (all.copies[side], all.double_reduction[side]);
    if copies > 2 && double_reduction > 0.0 {
        let id = pedigree.genet_id(node).to_owned();
        return Err(CannotBeDrawn { id, side: Side::BOTH[side], copies });
    }
    Ok(Gamete { copies, double_reduction, from })
}

struct Drawn {
    falls: Vec<Fall>,
    lists: Vec<Vec<(f64, u32, u32)>>,
    labels: Vec<std::ops::Range<u32>>,
    group: Vec<(u32, u32)>,
}

impl Drawn {
    fn count(&self, mut gene: Vec<u32>, draws: Draws) -> Vec<(f64, f64)> {
        let mut dice = Dice(draws.seed);
        let labels = self.labels.last().map_or(0, |l| l.end);
        let mut met_in = vec![0; labels as usize];
        let mut sums = vec![(0.0, 0.0); self.labels.len()];
        for draw in 1..=draws.number {
            self.drop(&mut gene, &mut dice);
            for &(start, many) in &self.group {
                for &label in &gene[start as usize..(start + many) as usize] {
                    met_in[label as usize] = draw;
                }
            }
            for (sum, of) in sums.iter_mut().zip(&self.labels) {
                let there = met_in[of.start as usize..of.end as usize].iter();
                let kept = there.filter(|&&d| d == draw).count() as f64 / of.len() as f64;
                *sum = (sum.0 + kept, sum.1 + kept * kept);
            }
        }
        let n = f64::from(draws.number);
        let error = |(sum, squares): (f64, f64)| {
            let mean = sum / n;
            let variance = (squares / n - mean * mean).max(0.0) * n / (n - 1.0);
            (mean, (variance / n).sqrt())
        };
        sums.into_iter().map(error).collect()
    }

    fn drop(&self, gene: &mut [u32], dice: &mut Dice) {
        for fall in &self.falls {
            let mut to = fall.start as usize;
            for gamete in fall.gametes.iter().flatten() {
                let (first, many, nobody) = match gamete.from {
                    From::Plant(first, many) => (first, many, false),
                    From::Nobody(first, many) => (first, many, true),
                    From::OneOf(list) => {
                        let (first, many) = pick(&self.lists[list as usize], dice);
                        (first, many, false)
                    }
                };
                let at = |gene: &[u32], i: u32| match nobody {
                    true => first + i,
                    false => gene[(first + i) as usize],
                };
                let copies = usize::from(gamete.copies);
                if copies == 1 {
                    gene[to] = at(gene, dice.below(many));
                } else if gamete.double_reduction > 0.0 {
                    let one = dice.below(many);
                    let other = if dice.unit() < gamete.double_reduction || many == 1 {
                        one
                    } else {
                        (one + 1 + dice.below(many - 1)) % many
                    };
                    (gene[to], gene[to + 1]) = (at(gene, one), at(gene, other));
                } else {
                    let mut left: Vec<u32> = (0..many).collect();
                    for k in 0..copies {
                        let one = left.swap_remove(dice.below(left.len() as u32) as usize);
                        gene[to + k] = at(gene, one);
                    }
                }
                to += copies;
            }
        }
    }
}

fn pick(list: &[(f64, u32, u32)], dice: &mut Dice) -> (u32, u32) {
    let mut left = dice.unit();
    for &(weight, first, many) in list {
        left -= weight;
        if left < 0.0 {
            return (first, many);
        }
    }
    // Weights that add up to a little under 1.
    list.last().map_or((0, 1), |l| (l.1, l.2))
}

/// SplitMix64 (Steele, Lea & Flood 2014), from memory.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to below `n`, at most 2⁶; the bias is below 2⁻²⁶.
    fn below(&mut self, n: u32) -> u32 {
        (((self.next() >> 32) * u64::from(n)) >> 32) as u32
    }

    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}
