//! Symmetric positive definite matrices of which most entries are zero.
//!
//! A [`Pattern`] says which entries may differ from zero. It is ordered (approximate minimum
//! degree, Amestoy, Davis & Duff 1996) and factored symbolically once; afterwards any values on it
//! are factored (Cholesky, by supernodes), solved with, and the entries of the inverse that lie on
//! the pattern of the factor are had without the rest ([`Factor::inverse`], the recursion of
//! Takahashi, Fagan & Chin 1973).

mod inverse;

use faer::{
    Conj, MatMut, Par, Side,
    dyn_stack::{MemBuffer, MemStack},
    linalg::cholesky::llt::factor::LltRegularization,
    sparse::{
        SparseColMatRef, SymbolicSparseColMatRef,
        linalg::{
            SupernodalThreshold,
            cholesky::{
                CholeskySymbolicParams, LltRef, SymbolicCholesky, SymbolicCholeskyRaw,
                SymmetricOrdering, factorize_symbolic_cholesky,
                supernodal::{SupernodalLltRef, SymbolicSupernodalCholesky},
            },
        },
    },
};

pub use inverse::Inverse;

/// Why a sparse system cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SparseError {
    /// No unknowns.
    #[error("a system without unknowns; give at least one")]
    Empty,
    /// An entry outside the matrix.
    #[error("entry ({row}, {column}) lies outside a matrix of {n} rows; correct it")]
    Outside {
        /// The row, from 0.
        row: usize,
        /// The column, from 0.
        column: usize,
        /// Rows of the matrix.
        n: usize,
    },
    /// The factor would be too large.
    #[error(
        "the factor of this system would have {fill} numbers, more than the {limit} allowed; use \
         fewer levels or allow more"
    )]
    TooLarge {
        /// Numbers in the factor.
        fill: usize,
        /// The most allowed.
        limit: usize,
    },
    /// Not positive definite.
    #[error("the system is not positive definite; look for effects that cannot be told apart")]
    NotPositive,
    /// The memory for the factor cannot be had.
    #[error("there is not enough memory for the factor; use fewer levels")]
    Memory,
}

/// Which entries of a symmetric matrix may differ from zero, with the order of elimination.
///
/// Entries are kept by columns of the lower triangle; the diagonal is always there. The place of an
/// entry in that order is its *slot*.
#[derive(Debug)]
pub struct Pattern {
    n: usize,
    starts: Vec<usize>,
    rows: Vec<usize>,
    symbolic: SymbolicCholesky<usize>,
    /// For each column in the order of elimination, its supernode.
    supernode_of: Vec<usize>,
    /// For each slot, its place among the numbers of the factor.
    in_factor: Vec<usize>,
}

/// The most numbers that a factor may have unless more is allowed: 1 GiB.
pub const FILL_LIMIT: usize = 1 << 27;

impl Pattern {
    /// Orders and factors symbolically the matrix of `n` rows that has these entries, of either
    /// triangle, any of them named as often as one likes.
    ///
    /// # Errors
    /// No rows, an entry outside, or a factor of more than `limit` numbers (8 bytes each; see
    /// [`FILL_LIMIT`]).
    pub fn new(n: usize, entries: &[(usize, usize)], limit: usize) -> Result<Self, SparseError> {
        if n == 0 {
            return Err(SparseError::Empty);
        }
        if let Some(&(row, column)) = entries.iter().find(|(i, j)| *i >= n || *j >= n) {
            return Err(SparseError::Outside { row, column, n });
        }
        let mut lower: Vec<(usize, usize)> =
            entries.iter().map(|&(i, j)| (i.min(j), i.max(j))).collect();
        lower.extend((0..n).map(|i| (i, i)));
        lower.sort_unstable();
        lower.dedup();
        let mut starts = vec![0; n + 1];
        for (column, _) in &lower {
            starts[column + 1] += 1;
        }
        for j in 0..n {
            starts[j + 1] += starts[j];
        }
        Self::from_columns(n, starts, lower.into_iter().map(|(_, row)| row).collect(), limit)
    }

    /// The same from columns of the lower triangle: rows sorted, the diagonal first in each.
    pub(crate) fn from_columns(
        n: usize,
        starts: Vec<usize>,
        rows: Vec<usize>,
        limit: usize,
    ) -> Result<Self, SparseError> {
        let params = CholeskySymbolicParams {
            // Below every ratio: always by supernodes, so that one way serves all sizes.
            supernodal_flop_ratio_threshold: SupernodalThreshold(-1.0),
            ..CholeskySymbolicParams::default()
        };
        let matrix = SymbolicSparseColMatRef::new_checked(n, n, &starts, None, &rows);
        let symbolic =
            factorize_symbolic_cholesky(matrix, Side::Lower, SymmetricOrdering::Amd, params)
                .map_err(|_| SparseError::Memory)?;
        if symbolic.len_val() > limit {
            return Err(SparseError::TooLarge { fill: symbolic.len_val(), limit });
        }
        let mut pattern =
            Pattern { n, starts, rows, symbolic, supernode_of: vec![0; n], in_factor: Vec::new() };
        let ends = pattern.supernodes().supernode_end().to_vec();
        let mut start = 0;
        for (s, end) in ends.into_iter().enumerate() {
            pattern.supernode_of[start..end].fill(s);
            start = end;
        }
        pattern.in_factor = (0..n)
            .flat_map(|j| pattern.column(j).map(move |(_, i)| (i, j)))
            .map(|(i, j)| pattern.place(i, j).unwrap_or(usize::MAX))
            .collect();
        debug_assert!(pattern.in_factor.iter().all(|p| *p != usize::MAX));
        Ok(pattern)
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.n
    }

    /// Number of entries of the lower triangle.
    pub fn entries(&self) -> usize {
        self.rows.len()
    }

    /// Numbers in the factor (8 bytes each), known before any is computed.
    pub fn fill(&self) -> usize {
        self.symbolic.len_val()
    }

    /// The slots and rows of a column of the lower triangle, the diagonal first.
    pub fn column(&self, j: usize) -> impl Iterator<Item = (usize, usize)> + '_ {
        (self.starts[j]..self.starts[j + 1]).map(|slot| (slot, self.rows[slot]))
    }

    /// The slot of an entry, if it is on the pattern; either triangle.
    pub fn slot(&self, row: usize, column: usize) -> Option<usize> {
        let (i, j) = (row.max(column), row.min(column));
        let rows = &self.rows[self.starts[j]..self.starts[j + 1]];
        rows.binary_search(&i).ok().map(|k| self.starts[j] + k)
    }

    /// A pattern with its values, from triplets of either triangle (not of both); those of one
    /// entry are added up.
    ///
    /// # Errors
    /// As [`Pattern::new`].
    pub fn from_triplets(
        n: usize,
        triplets: &[(usize, usize, f64)],
        limit: usize,
    ) -> Result<(Self, Vec<f64>), SparseError> {
        let entries: Vec<(usize, usize)> = triplets.iter().map(|&(i, j, _)| (i, j)).collect();
        let pattern = Self::new(n, &entries, limit)?;
        let mut values = vec![0.0; pattern.entries()];
        for &(i, j, v) in triplets {
            if let Some(slot) = pattern.slot(i, j) {
                values[slot] += v;
            }
        }
        Ok((pattern, values))
    }

    /// Factors the matrix with these values, one for each slot.
    ///
    /// # Errors
    /// When it is not positive definite.
    pub fn factor(&self, values: &[f64]) -> Result<Factor<'_>, SparseError> {
        let mut factor = Factor { pattern: self, values: vec![0.0; self.fill()] };
        factor.refactor(values)?;
        Ok(factor)
    }

    fn supernodes(&self) -> &SymbolicSupernodalCholesky<usize> {
        match self.symbolic.raw() {
            SymbolicCholeskyRaw::Supernodal(s) => s,
            SymbolicCholeskyRaw::Simplicial(_) => unreachable!("asked for supernodes"),
        }
    }

    /// The place of an entry among the numbers of the factor.
    fn place(&self, row: usize, column: usize) -> Option<usize> {
        let (a, b) = match self.symbolic.perm() {
            None => (row, column),
            Some(perm) => (perm.arrays().1[row], perm.arrays().1[column]),
        };
        let (i, j) = (a.max(b), a.min(b));
        let (nodes, s) = (self.supernodes(), self.supernode_of[j]);
        let (begin, end) = (nodes.supernode_begin()[s], nodes.supernode_end()[s]);
        let below = nodes.supernode(s).pattern();
        let local = if i < end { i - begin } else { end - begin + below.binary_search(&i).ok()? };
        let height = end - begin + below.len();
        Some(nodes.col_ptr_for_val()[s] + (j - begin) * height + local)
    }
}

/// A Cholesky factor of a matrix on a pattern.
#[derive(Debug, Clone)]
pub struct Factor<'p> {
    pattern: &'p Pattern,
    values: Vec<f64>,
}

impl<'p> Factor<'p> {
    /// Factors new values in the same memory.
    ///
    /// # Errors
    /// When the matrix is not positive definite, or a value is not finite.
    pub fn refactor(&mut self, values: &[f64]) -> Result<(), SparseError> {
        let p = self.pattern;
        if values.iter().any(|v| !v.is_finite()) {
            return Err(SparseError::NotPositive);
        }
        let shape = SymbolicSparseColMatRef::new_checked(p.n, p.n, &p.starts, None, &p.rows);
        let matrix = SparseColMatRef::new(shape, values);
        let scratch = p.symbolic.factorize_numeric_llt_scratch::<f64>(Par::Seq, Default::default());
        let mut memory = MemBuffer::try_new(scratch).map_err(|_| SparseError::Memory)?;
        p.symbolic
            .factorize_numeric_llt::<f64>(
                &mut self.values,
                matrix,
                Side::Lower,
                LltRegularization::default(),
                Par::Seq,
                MemStack::new(&mut memory),
                Default::default(),
            )
            .map_err(|_| SparseError::NotPositive)?;
        Ok(())
    }

    /// The pattern it is on.
    pub fn pattern(&self) -> &'p Pattern {
        self.pattern
    }

    /// Replaces right-hand sides, one after the other, each as long as the matrix, by solutions.
    ///
    /// # Panics
    /// When `columns` is not a whole number of right-hand sides.
    pub fn solve(&self, columns: &mut [f64]) {
        let n = self.pattern.n;
        assert_eq!(columns.len() % n, 0, "right-hand sides as long as the matrix");
        let k = columns.len() / n;
        let scratch = self.pattern.symbolic.solve_in_place_scratch::<f64>(k, Par::Seq);
        let mut memory = MemBuffer::new(scratch);
        LltRef::new(&self.pattern.symbolic, &self.values).solve_in_place_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(columns, n, k),
            Par::Seq,
            MemStack::new(&mut memory),
        );
    }

    /// Replaces z by Pᵀ·L⁻ᵀ·z, L·Lᵀ being the factor of the matrix ordered by P: of independent
    /// standard normals this makes a draw with the inverse of the matrix as covariance.
    ///
    /// # Panics
    /// When `z` is not as long as the matrix.
    pub fn solve_transposed(&self, z: &mut [f64]) {
        let n = self.pattern.n;
        assert_eq!(z.len(), n, "as long as the matrix");
        let nodes = self.pattern.supernodes();
        let scratch = self.pattern.symbolic.solve_in_place_scratch::<f64>(1, Par::Seq);
        let mut memory = MemBuffer::new(scratch);
        SupernodalLltRef::new(nodes, &self.values).l_transpose_solve_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(z, n, 1),
            Par::Seq,
            MemStack::new(&mut memory),
        );
        if let Some(perm) = self.pattern.symbolic.perm() {
            let ordered = z.to_vec();
            for (z, place) in z.iter_mut().zip(perm.arrays().1) {
                *z = ordered[*place];
            }
        }
    }

    /// The natural logarithm of the determinant.
    pub fn log_determinant(&self) -> f64 {
        let nodes = self.pattern.supernodes();
        let factor = SupernodalLltRef::new(nodes, &self.values);
        let logs = (0..nodes.n_supernodes()).map(|s| {
            let block = factor.supernode(s).val();
            (0..block.ncols()).map(|j| block[(j, j)].ln()).sum::<f64>()
        });
        2.0 * logs.sum::<f64>()
    }

    /// The entries of the inverse that lie on the pattern of the factor.
    pub fn inverse(&self) -> Inverse<'p> {
        Inverse::of(self)
    }
}
