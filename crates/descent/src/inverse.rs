//! The inverse of the relationship matrix, without inverting.

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

/// Where sums along the pedigree round, a variance of its own below this counts as none.
const NOTHING: f64 = 1e-14;

impl Pedigree {
    /// Non-zeros of the inverse of A (kinship times √(k·k′), twice the kinship for diploids), lower
    /// triangle, clones collapsed into their genetic individual and named by
    /// [`Pedigree::clone_id`]. Rows and columns are in the order of [`Pedigree::ids`].
    ///
    /// Henderson's rules with inbreeding (Quaas 1976, Biometrics 32:949–953), with the shares of
    /// gametes in place of halves (Hamilton & Kerr 2017); from memory, checked against numerical
    /// inverses in the tests.
    ///
    /// # Errors
    /// When an individual has no variance of its own (its parent is completely inbred, or it is its
    /// parent's copy).
    pub fn inverse(&self) -> Result<Vec<InverseEntry>, Singular> {
        let name = |i: u32| self.ids.get(i).to_owned();
        let cells = self.inverse_cells()?;
        Ok(cells
            .into_iter()
            .map(|(a, b, value)| InverseEntry { a: name(a), b: name(b), value })
            .collect())
    }

    /// The same as [`Pedigree::inverse`] by the places of the individuals in [`Pedigree::ids`].
    ///
    /// # Errors
    /// As [`Pedigree::inverse`].
    pub fn inverse_cells(&self) -> Result<Vec<(u32, u32, f64)>, Singular> {
        self.fill_all_inbreeding();
        let mut cells = Vec::with_capacity(4 * self.clones());
        let mut row = Vec::new();
        for node in self.genets() {
            let d = self.own_variance(node)?;
            row.clear();
            row.push((self.name[node as usize], 1.0));
            let k = f64::from(self.lineage.gametes(node).ploidy());
            self.parents_of_variance(node, |parent, share| {
                let of_parent = f64::from(self.lineage.gametes(parent).ploidy());
                row.push((self.name[parent as usize], -share * (k / of_parent).sqrt()));
            });
            for &(i, x) in &row {
                for &(j, y) in row.iter().filter(|(j, _)| i >= *j) {
                    cells.push((i, j, x * y / d));
                }
            }
        }
        cells.sort_unstable_by_key(|&(i, j, _)| (i, j));
        cells.dedup_by(|next, sum| {
            let same = (next.0, next.1) == (sum.0, sum.1);
            if same {
                sum.2 += next.2;
            }
            same
        });
        cells.retain(|c| c.2 != 0.0);
        Ok(cells)
    }

    /// Natural logarithm of the determinant of A, clones collapsed.
    ///
    /// # Errors
    /// As [`Pedigree::inverse`].
    pub fn log_determinant(&self) -> Result<f64, Singular> {
        self.fill_all_inbreeding();
        let mut sum = 0.0;
        for node in self.genets() {
            sum += self.own_variance(node)?.ln();
        }
        Ok(sum)
    }

    /// All nodes that are plants.
    fn genets(&self) -> impl Iterator<Item = u32> {
        (0..self.lineage.len() as u32).filter(|&n| self.lineage.doubt(n).is_none())
    }

    /// The parents with their shares; in place of a parent in doubt its candidates.
    fn parents_of_variance(&self, node: u32, mut each: impl FnMut(u32, f64)) {
        self.lineage.sources(node, |source, share| match self.lineage.doubt(source) {
            Some(d) => d.candidates.iter().for_each(|&(c, w)| each(c, share * w)),
            None => each(source, share),
        });
    }

    /// Variance not explained by the parents, in units of a founder's variance; which of several
    /// candidates a parent is adds to it.
    fn own_variance(&self, node: u32) -> Result<f64, Singular> {
        let mut own = self.own(node);
        self.lineage.sources(node, |source, share| {
            if self.lineage.doubt(source).is_some() {
                own += share * share * self.own(source);
            }
        });
        own *= f64::from(self.lineage.gametes(node).ploidy());
        if own > if self.is_plain() { 0.0 } else { NOTHING } {
            return Ok(own);
        }
        Err(Singular { id: self.genet_id(node).to_owned(), inbreeding: self.f(node) })
    }
}
