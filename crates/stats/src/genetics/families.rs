//! Several families against one ratio: does each fit, do they fit together, are they alike.

use serde::Serialize;

use super::{Fit, GeneticsError, Ratio, fit};
use crate::special::chi_square_tail;

/// A family with the counts of its classes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Family {
    /// What it is called, for messages.
    pub name: String,
    /// Seedlings of each class.
    pub counts: Vec<u64>,
}

/// One line of the partition.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Part {
    /// Pearson's chi-square \[0 or more\].
    pub chi_square: f64,
    /// Degrees of freedom.
    pub df: u32,
    /// Its chance \[0 to 1\].
    pub p: f64,
    /// The likelihood ratio \[0 or more\].
    pub g: f64,
    /// Its chance \[0 to 1\].
    pub g_p: f64,
}

impl Part {
    fn of(chi_square: f64, g: f64, df: u32) -> Self {
        // Both are 0 or more; what is left of a difference may be rounding below it.
        let (chi_square, g) = (chi_square.max(0.0), g.max(0.0));
        // Without a degree of freedom nothing is tested.
        let tail = |x: f64| if df == 0 { 1.0 } else { chi_square_tail(x, df) };
        Self { chi_square, df, p: tail(chi_square), g, g_p: tail(g) }
    }
}

/// The partition of the deviation of several families from one ratio.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Families {
    /// All families, each by itself: the sum of their deviations.
    pub total: Part,
    /// All seedlings as one family.
    pub pooled: Part,
    /// Total less pooled: whether the families differ. For G the partition is exact; for
    /// chi-square it is the usual approximation.
    pub heterogeneity: Part,
    /// Each family by itself.
    pub families: Vec<Fit>,
}

/// Partitions the deviation from a ratio (replicated goodness of fit, Sokal & Rohlf, from memory).
///
/// # Errors
/// No family, a family without seedlings, or another number of counts than of parts.
pub fn families(families: &[Family], ratio: &Ratio) -> Result<Families, GeneticsError> {
    if families.is_empty() {
        return Err(GeneticsError::TooFew("one family"));
    }
    let each = |family: &Family| {
        fit(&family.counts, ratio).map_err(|e| match e {
            GeneticsError::NoPlants => GeneticsError::EmptyFamily(family.name.clone()),
            other => other,
        })
    };
    let fits: Vec<Fit> = families.iter().map(each).collect::<Result<_, _>>()?;
    let classes = ratio.parts().len();
    let sums: Vec<u64> =
        (0..classes).map(|class| families.iter().map(|f| f.counts[class]).sum()).collect();
    let together = fit(&sums, ratio)?;
    let chi_square: f64 = fits.iter().map(|f| f.chi_square).sum();
    let g: f64 = fits.iter().map(|f| f.g).sum();
    let df = together.df;
    let all = df * fits.len() as u32;
    Ok(Families {
        total: Part::of(chi_square, g, all),
        pooled: Part::of(together.chi_square, together.g, df),
        heterogeneity: Part::of(chi_square - together.chi_square, g - together.g, all - df),
        families: fits,
    })
}
