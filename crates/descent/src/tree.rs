//! The ancestors of one plant as a tree, for a parentage chart.

use crate::error::NoSuchIndividual;
use crate::fraction::Fraction;
use crate::individual::Side;
use crate::pedigree::{Origin, Pedigree};

/// A plant and its parents, a few generations up. An ancestor reached along several lines stands
/// in the tree once for each line.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// Who stands here.
    pub node: Node,
    /// Share along this line: 1, 1/2, 1/4 … for diploids. A share that needs a denominator over
    /// 2³⁰ is rounded to 30 binary digits.
    pub share: Fraction,
    /// Seed parent and pollen parent, in this order; none for a founder, an unknown parent, or
    /// where the tree was cut.
    pub parents: Option<Box<[Tree; 2]>>,
    /// Number of different known ancestors behind this node that the cut leaves out.
    pub behind: usize,
}

/// What stands at a place of the tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Node {
    /// This individual, by the id its progeny's row names.
    Known(String),
    /// Nothing is known.
    Unknown,
    /// One of these.
    OneOf(Vec<String>),
}

impl Pedigree {
    /// The most generations a tree may have: 2¹² lines are more than any chart can show.
    pub const MOST_GENERATIONS: u8 = 12;

    /// The ancestors of `id`, `generations` up (at most [`Pedigree::MOST_GENERATIONS`]); 1 shows
    /// the parents.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn ancestors(&self, id: &str, generations: u8) -> Result<Tree, NoSuchIndividual> {
        let genet = self.genet(id)?;
        let to = generations.min(Self::MOST_GENERATIONS);
        Ok(self.tree(Node::Known(id.to_owned()), Some(genet), Fraction::ONE, to))
    }

    fn tree(&self, node: Node, genet: Option<u32>, share: Fraction, left: u8) -> Tree {
        let leaf = |node, behind| Tree { node, share, parents: None, behind };
        let Some(genet) = genet else { return leaf(node, 0) };
        if self.is_founder(genet) {
            return leaf(node, 0);
        }
        if left == 0 {
            return leaf(node, self.known_ancestry(genet).len() - 1);
        }
        let gametes = self.lineage.gametes(genet);
        let parents = Side::BOTH.map(|side| {
            let half = part(share, gametes.copies[side as usize], gametes.ploidy());
            match self.origin(genet, side) {
                Origin::Known { genet, named } => {
                    let node = Node::Known(self.ids.get(named).to_owned());
                    self.tree(node, Some(genet), half, left - 1)
                }
                Origin::Unknown => self.tree(Node::Unknown, None, half, left - 1),
                Origin::OneOf(list) => {
                    let ids = list.iter().map(|&i| self.ids.get(i).to_owned()).collect();
                    self.tree(Node::OneOf(ids), None, half, left - 1)
                }
            }
        });
        Tree { node, share, parents: Some(Box::new(parents)), behind: 0 }
    }
}

fn part(share: Fraction, copies: u8, ploidy: u8) -> Fraction {
    let exact = Fraction::new(copies.into(), ploidy.into()).and_then(|p| share.times(p));
    let value = share.value() * f64::from(copies) / f64::from(ploidy);
    let rounded = || Fraction::exactly((value * f64::from(1 << 30)).round() / f64::from(1 << 30));
    exact.or_else(rounded).unwrap_or(Fraction::ONE)
}
