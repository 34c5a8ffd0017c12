//! How much of the founders is left in a group of plants.

use serde::Serialize;

use crate::drop::{self, CannotBeDrawn};
use crate::error::NoSuchIndividual;
use crate::founders::Founder;
use crate::individual::Side;
use crate::lineage::Made;
use crate::pedigree::{Origin, Pedigree};

/// Founders' shares in a group of plants, and how many equal founders would be as diverse.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Diversity {
    /// Genetic individuals in the group; pieces of one clone count once.
    pub clones: usize,
    /// Effective founders, 1/Σp²: so many founders with equal shares would be as even (Lacy 1989,
    /// Zoo Biology 8:111–123, from memory).
    pub effective_founders: f64,
    /// Founder genome equivalents, 1/Σ(p²/r): so many founders with equal shares and nothing lost
    /// would be as diverse (Lacy 1989).
    pub genome_equivalents: f64,
    /// Mean kinship of all pairs of the group, each with itself included; exact.
    pub mean_kinship: f64,
    /// 1/(k·mean kinship) with ploidy k: the founder genomes whose offspring would have that mean
    /// kinship. Not the same as `genome_equivalents` (Lacy 1995), which counts genes that are there
    /// in any number alike. Nothing where ploidies differ.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub genome_equivalents_by_kinship: Option<f64>,
    /// Draws of gene-dropping that `retention` rests on.
    pub draws: u32,
    /// Seed of those draws.
    pub seed: u64,
    /// Every founder with a share, largest share first.
    pub founders: Vec<Contribution>,
}

/// What one founder has in a group of plants.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contribution {
    /// Id, or `?id:seed`, `?id:pollen` for an unknown parent.
    pub founder: String,
    /// Share p of the group that comes from it \[0 to 1\]; a parent that is one of several counts
    /// with the weight of each candidate.
    pub share: f64,
    /// Retention r: the expected part of its genes that at least one plant of the group still has
    /// \[0 to 1\].
    pub retention: f64,
    /// Standard error of the retention, by the draws.
    pub retention_se: f64,
}

/// How retention is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draws {
    /// How often genes are dropped through the pedigree, at least 2.
    pub number: u32,
    /// The same seed gives the same numbers.
    pub seed: u64,
}

impl Default for Draws {
    fn default() -> Self {
        Draws { number: 10_000, seed: 1 }
    }
}

/// Why diversity cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DiversityError {
    /// An id is not in the pedigree.
    #[error(transparent)]
    NoSuchIndividual(#[from] NoSuchIndividual),
    /// No plant, or fewer than two draws.
    #[error("there is nothing to draw from; name at least one plant and two draws")]
    Nothing,
    /// A gamete whose genes cannot be drawn.
    #[error(transparent)]
    CannotBeDrawn(#[from] CannotBeDrawn),
}

/// Effective founders, 1/Σp², of shares that add up to 1.
pub fn effective_founders(shares: impl IntoIterator<Item = f64>) -> f64 {
    1.0 / shares.into_iter().map(|p| p * p).sum::<f64>()
}

/// Founder genome equivalents, 1/Σ(p²/r), of shares that add up to 1 and retentions above 0.
pub fn genome_equivalents(founders: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    1.0 / founders.into_iter().map(|(p, r)| p * p / r).sum::<f64>()
}

impl Pedigree {
    /// Founders' shares in a group of plants, effective founders and founder genome equivalents.
    ///
    /// # Errors
    /// An id that is not in the pedigree, an empty group, or gametes of three and more copies with
    /// double reduction, of which only pairs are known.
    pub fn diversity<S: AsRef<str>>(
        &self,
        of: &[S],
        draws: Draws,
    ) -> Result<Diversity, DiversityError> {
        let mut group = Vec::with_capacity(of.len());
        for id in of {
            group.push(self.genet(id.as_ref())?);
        }
        group.sort_unstable();
        group.dedup();
        if group.is_empty() || draws.number < 2 {
            return Err(DiversityError::Nothing);
        }
        self.fill_inbreeding_of(&group);
        let nodes = self.ancestry(&group);
        let share = self.shares_of(&group);
        let mean_kinship =
            nodes.iter().map(|&n| share[n as usize].powi(2) * self.own(n)).sum::<f64>();
        let sources = self.bottoms(&nodes);
        let kept = drop::retention(self, &nodes, &group, &sources, draws)?;
        let mut founders: Vec<Contribution> = sources
            .iter()
            .zip(kept)
            .map(|(s, (retention, retention_se))| Contribution {
                founder: s.founder.to_string(),
                share: share[s.node as usize] * s.weight,
                retention,
                retention_se,
            })
            .collect();
        founders
            .sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.founder.cmp(&b.founder)));
        let ploidy = self.lineage.gametes(group[0]).ploidy();
        let plants = nodes.iter().filter(|&&n| self.lineage.doubt(n).is_none());
        let one_ploidy = plants.into_iter().all(|&n| self.lineage.gametes(n).ploidy() == ploidy);
        Ok(Diversity {
            clones: group.len(),
            effective_founders: effective_founders(founders.iter().map(|f| f.share)),
            genome_equivalents: genome_equivalents(founders.iter().map(|f| (f.share, f.retention))),
            mean_kinship,
            genome_equivalents_by_kinship: one_ploidy
                .then(|| 1.0 / (f64::from(ploidy) * mean_kinship)),
            draws: draws.number,
            seed: draws.seed,
            founders,
        })
    }

    /// Mean share of every node in the group.
    fn shares_of(&self, group: &[u32]) -> Vec<f64> {
        let mut share = vec![0.0; self.lineage.len()];
        for &g in group {
            share[g as usize] = 1.0 / group.len() as f64;
        }
        for node in (0..self.lineage.len() as u32).rev() {
            let x = share[node as usize];
            if x != 0.0 {
                self.lineage.sources(node, |source, w| share[source as usize] += w * x);
            }
        }
        share
    }

    /// Where lines of descent end.
    fn bottoms(&self, nodes: &[u32]) -> Vec<Bottom> {
        let mut found = Vec::new();
        for &node in nodes {
            let Made::Plant(parents) = self.lineage.made(node) else { continue };
            let of = self.genet_id(node).to_owned();
            if self.is_founder(node) {
                found.push(Bottom { node, side: None, weight: 1.0, founder: Founder::Known(of) });
                continue;
            }
            let gametes = self.lineage.gametes(node);
            for side in Side::BOTH {
                let nobody =
                    parents[side as usize].is_none() && self.origin(node, side) == Origin::Unknown;
                if nobody && gametes.copies[side as usize] > 0 {
                    let founder = Founder::Unknown { of: of.clone(), side };
                    let weight = gametes.weight(side as usize);
                    found.push(Bottom { node, side: Some(side), weight, founder });
                }
            }
        }
        found
    }
}

/// A founder, or the unknown parent of a node on one side.
pub(crate) struct Bottom {
    pub node: u32,
    pub side: Option<Side>,
    /// Its share of the node.
    weight: f64,
    founder: Founder,
}
