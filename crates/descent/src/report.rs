//! Everything about a pedigree in one serialisable answer, for use from a table.

use serde::Serialize;

use crate::common::CommonAncestor;
use crate::diversity::{Diversity, DiversityError, Draws};
use crate::error::{NoSuchIndividual, Singular};
use crate::fraction::Fraction;
use crate::inverse::InverseEntry;
use crate::pedigree::Pedigree;

/// What a report should contain.
#[derive(Debug, Clone, Default)]
pub struct ReportOptions {
    /// Pairs whose kinship is wanted.
    pub pairs: Vec<(String, String)>,
    /// The kinship of all pairs, each individual with itself included, each pair once.
    pub all_pairs: bool,
    /// The inverse of the relationship matrix.
    pub inverse: bool,
    /// Shares of the founders in each individual.
    pub founders: bool,
    /// Only these individuals (and, with `all_pairs`, only pairs of them).
    pub only: Option<Vec<String>>,
    /// The most recent common ancestors of each pair in `pairs`.
    pub common_ancestors: bool,
    /// Effective founders and founder genome equivalents of the individuals asked for.
    pub diversity: Option<Draws>,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// One entry for each individual asked for, in their order; without `only`, each row.
    pub individuals: Vec<IndividualReport>,
    /// Kinship of pairs, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pairs: Option<Vec<PairReport>>,
    /// Inverse of A, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inverse: Option<Vec<InverseEntry>>,
    /// Common ancestors of pairs, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub common_ancestors: Option<Vec<CommonReport>>,
    /// Diversity of the individuals, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub diversity: Option<Diversity>,
}

/// The most recent common ancestors of one pair.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CommonReport {
    /// One.
    pub a: String,
    /// The other.
    pub b: String,
    /// Their ancestors, the nearest first.
    pub ancestors: Vec<CommonAncestor>,
}

/// One individual.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct IndividualReport {
    /// Its id.
    pub id: String,
    /// Inbreeding coefficient.
    pub inbreeding: f64,
    /// Kinship with itself, (1 + (k − 1)F)/k with ploidy k.
    pub self_kinship: f64,
    /// Copies of each gene, in a pedigree with other than diploids.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ploidy: Option<u8>,
    /// Shares of founders, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub founders: Option<Vec<ShareReport>>,
}

/// One founder's share.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShareReport {
    /// Id, or `?id:seed`, `?id:pollen`.
    pub founder: String,
    /// The share.
    pub share: f64,
    /// The share as a fraction, such as "3/8".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fraction: Option<Fraction>,
    /// Candidates, where the parent is one of several.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub one_of: Vec<String>,
}

/// The kinship of one pair.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairReport {
    /// One.
    pub a: String,
    /// The other.
    pub b: String,
    /// Their kinship.
    pub kinship: f64,
}

/// Why a report cannot be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReportError {
    /// An id in `pairs` or `only` is not in the pedigree.
    #[error(transparent)]
    NoSuchIndividual(#[from] NoSuchIndividual),
    /// The inverse does not exist.
    #[error(transparent)]
    Singular(#[from] Singular),
    /// Diversity cannot be computed.
    #[error(transparent)]
    Diversity(#[from] DiversityError),
}

/// Answers what `options` asks about `pedigree`.
///
/// # Errors
/// An id that is not in the pedigree, or an inverse that does not exist.
pub fn report(pedigree: &Pedigree, options: &ReportOptions) -> Result<Report, ReportError> {
    let (ids, genets): (Vec<&str>, Vec<u32>) = match &options.only {
        Some(only) => {
            let genets = only.iter().map(|id| pedigree.genet(id)).collect::<Result<_, _>>()?;
            (only.iter().map(String::as_str).collect(), genets)
        }
        None => {
            let rows = pedigree.rows();
            (pedigree.ids().take(rows).collect(), pedigree.genet_of[..rows].to_vec())
        }
    };
    pedigree.fill_inbreeding_of(&genets);
    let mut individuals = Vec::with_capacity(ids.len());
    for (id, &genet) in ids.iter().zip(&genets) {
        individuals.push(individual(pedigree, id, genet, options.founders)?);
    }
    let mut pairs = Vec::new();
    if options.all_pairs {
        all_pairs(pedigree, &ids, &mut pairs)?;
    }
    let kinships = pedigree.kinships(&options.pairs)?;
    pairs.extend(options.pairs.iter().zip(kinships).map(|((a, b), kinship)| PairReport {
        a: a.clone(),
        b: b.clone(),
        kinship,
    }));
    let mut common = None;
    if options.common_ancestors {
        let of = options.pairs.iter().map(|(a, b)| {
            let ancestors = pedigree.common_ancestors(a, b)?;
            Ok(CommonReport { a: a.clone(), b: b.clone(), ancestors })
        });
        common = Some(of.collect::<Result<_, NoSuchIndividual>>()?);
    }
    let asked = options.all_pairs || !options.pairs.is_empty();
    Ok(Report {
        individuals,
        pairs: asked.then_some(pairs),
        inverse: if options.inverse { Some(pedigree.inverse()?) } else { None },
        common_ancestors: common,
        diversity: match options.diversity {
            Some(draws) => Some(pedigree.diversity(&ids, draws)?),
            None => None,
        },
    })
}

fn individual(
    pedigree: &Pedigree,
    id: &str,
    genet: u32,
    founders: bool,
) -> Result<IndividualReport, NoSuchIndividual> {
    Ok(IndividualReport {
        id: id.to_owned(),
        inbreeding: pedigree.f(genet),
        self_kinship: pedigree.self_kinship_of(genet),
        ploidy: (!pedigree.all_diploid()).then(|| pedigree.lineage.gametes(genet).ploidy()),
        founders: if founders { Some(shares(pedigree, id)?) } else { None },
    })
}

fn shares(pedigree: &Pedigree, id: &str) -> Result<Vec<ShareReport>, NoSuchIndividual> {
    let shares = pedigree.founders(id)?.into_iter().map(|s| ShareReport {
        founder: s.founder.to_string(),
        share: s.share,
        fraction: s.fraction,
        one_of: match s.founder {
            crate::Founder::OneOf { candidates, .. } => candidates,
            _ => Vec::new(),
        },
    });
    Ok(shares.collect())
}

fn all_pairs(
    pedigree: &Pedigree,
    ids: &[&str],
    pairs: &mut Vec<PairReport>,
) -> Result<(), NoSuchIndividual> {
    let mut kinships = pedigree.kinship_triangle(ids)?.into_iter();
    for (k, a) in ids.iter().enumerate() {
        pairs.extend(ids[k..].iter().zip(&mut kinships).map(|(b, kinship)| PairReport {
            a: (*a).to_owned(),
            b: (*b).to_owned(),
            kinship,
        }));
    }
    Ok(())
}
