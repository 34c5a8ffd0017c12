//! The inverse of the relationship matrix, without inverting.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::error::Singular;
use crate::pedigree::Pedigree;

/// One non-zero of the lower triangle of the inverse.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InverseEntry {
    /// Row: the individual that comes later in the pedigree.
    pub a: String,
    /// Column.
    pub b: String,
    /// Value.
    pub value: f64,
}

impl Pedigree {
    /// Non-zeros of the inverse of A (A is twice the kinship), lower triangle, clones collapsed
    /// into their genetic individual and named by [`Pedigree::clone_id`]. Rows and columns are in
    /// the order of [`Pedigree::ids`].
    ///
    /// Henderson's rules with inbreeding (Quaas 1976, Biometrics 32:949–953; from memory, checked
    /// against a numerical inverse in the tests).
    ///
    /// # Errors
    /// When an individual has no variance of its own (its parent is completely inbred).
    pub fn inverse(&self) -> Result<Vec<InverseEntry>, Singular> {
        let mut cells: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for (g, d) in self.own_variances()? {
            let node = self.at(g);
            let mut terms = vec![(node.id, 1.0)];
            terms.extend(node.parents().into_iter().flatten().map(|p| (self.at(p).id, -0.5)));
            for &(i, x) in &terms {
                for &(j, y) in &terms {
                    if i >= j {
                        *cells.entry((i, j)).or_insert(0.0) += x * y / d;
                    }
                }
            }
        }
        Ok(cells
            .into_iter()
            .filter(|(_, value)| *value != 0.0)
            .map(|((i, j), value)| InverseEntry {
                a: self.ids[i].clone(),
                b: self.ids[j].clone(),
                value,
            })
            .collect())
    }

    /// Natural logarithm of the determinant of A, clones collapsed.
    ///
    /// # Errors
    /// As [`Pedigree::inverse`].
    pub fn log_determinant(&self) -> Result<f64, Singular> {
        Ok(self.own_variances()?.iter().map(|(_, d)| d.ln()).sum())
    }

    fn own_variances(&self) -> Result<Vec<(u32, f64)>, Singular> {
        self.fill_all_inbreeding();
        (0..self.genets.len() as u32)
            .map(|g| match self.own_variance(g) {
                d if d > 0.0 => Ok((g, d)),
                _ => Err(Singular { id: self.genet_id(g).to_owned(), inbreeding: self.f(g) }),
            })
            .collect()
    }
}
