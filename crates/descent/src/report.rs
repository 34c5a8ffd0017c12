//! Everything about a pedigree in one serialisable answer, for use from a table.

use serde::Serialize;

use crate::error::{NoSuchIndividual, Singular};
use crate::founders::Fraction;
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
}

/// One individual.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct IndividualReport {
    /// Its id.
    pub id: String,
    /// Inbreeding coefficient.
    pub inbreeding: f64,
    /// Kinship with itself, (1 + F)/2.
    pub self_kinship: f64,
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
}

/// Answers what `options` asks about `pedigree`.
///
/// # Errors
/// An id that is not in the pedigree, or an inverse that does not exist.
pub fn report(pedigree: &Pedigree, options: &ReportOptions) -> Result<Report, ReportError> {
    let ids: Vec<&str> = match &options.only {
        Some(only) => only.iter().map(String::as_str).collect(),
        None => {
            // All at once is far quicker than one ancestry after another.
            pedigree.fill_all_inbreeding();
            pedigree.ids().take(pedigree.rows).collect()
        }
    };
    let individuals = ids
        .iter()
        .map(|id| individual(pedigree, id, options.founders))
        .collect::<Result<_, NoSuchIndividual>>()?;
    let mut pairs = Vec::new();
    if options.all_pairs {
        all_pairs(pedigree, &ids, &mut pairs)?;
    }
    for (a, b) in &options.pairs {
        pairs.push(PairReport { a: a.clone(), b: b.clone(), kinship: pedigree.kinship(a, b)? });
    }
    let asked = options.all_pairs || !options.pairs.is_empty();
    Ok(Report {
        individuals,
        pairs: asked.then_some(pairs),
        inverse: if options.inverse { Some(pedigree.inverse()?) } else { None },
    })
}

fn individual(
    pedigree: &Pedigree,
    id: &str,
    founders: bool,
) -> Result<IndividualReport, NoSuchIndividual> {
    let inbreeding = pedigree.inbreeding(id)?;
    Ok(IndividualReport {
        id: id.to_owned(),
        inbreeding,
        self_kinship: 0.5 * (1.0 + inbreeding),
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
    for (k, a) in ids.iter().enumerate() {
        let column = pedigree.kinship_with_all(a)?;
        for b in &ids[k..] {
            let Some(&i) = pedigree.index.get(*b) else {
                return Err(NoSuchIndividual { id: (*b).to_owned() });
            };
            pairs.push(PairReport { a: (*a).to_owned(), b: (*b).to_owned(), kinship: column[i] });
        }
    }
    Ok(())
}
