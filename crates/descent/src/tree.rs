//! The ancestors of one plant as a tree, for a parentage chart.

use crate::error::NoSuchIndividual;
use crate::founders::Fraction;
use crate::individual::Side;
use crate::pedigree::{Origin, Pedigree};

/// A plant and its parents, a few generations up. An ancestor reached along several lines stands
/// in the tree once for each line.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// Who stands here.
    pub node: Node,
    /// Share along this line: 1, 1/2, 1/4 …
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
        Ok(self.tree(Node::Known(id.to_owned()), Some(genet), 0, to))
    }

    fn tree(&self, node: Node, genet: Option<u32>, generation: u8, to: u8) -> Tree {
        let share = Fraction::of_generation(generation).unwrap_or(Fraction::ONE);
        let leaf = |node, behind| Tree { node, share, parents: None, behind };
        let Some(genet) = genet else { return leaf(node, 0) };
        if self.at(genet).is_founder() {
            return leaf(node, 0);
        }
        if generation >= to {
            return leaf(node, self.ancestry(&[genet]).len() - 1);
        }
        let parents = [Side::Seed, Side::Pollen].map(|side| match self.at(genet).origin(side) {
            Origin::Known { genet, named } => {
                self.tree(Node::Known(self.ids[*named].clone()), Some(*genet), generation + 1, to)
            }
            Origin::Unknown => self.tree(Node::Unknown, None, generation + 1, to),
            Origin::OneOf(list) => {
                let ids = list.iter().map(|&i| self.ids[i].clone()).collect();
                self.tree(Node::OneOf(ids), None, generation + 1, to)
            }
        });
        Tree { node, share, parents: Some(Box::new(parents)), behind: 0 }
    }
}
