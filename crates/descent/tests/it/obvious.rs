//! The slow, obvious way: the whole relationship matrix, row by row, in any order of rows.

use std::collections::HashMap;

use descent::{Individual, Parent};

/// Kinship of all pairs by the definition, from the recursion over younger individuals. Rows must
/// be in order, parents first. Clones are given the row of what they are a clone of.
pub struct Obvious {
    index: HashMap<String, usize>,
    kinship: Vec<Vec<f64>>,
}

impl Obvious {
    pub fn new(rows: &[Individual]) -> Self {
        let mut all = Obvious { index: HashMap::new(), kinship: Vec::new() };
        for row in rows {
            let values = match &row.clone_of {
                Some(mother) => {
                    let m = all.index[mother];
                    let mut v = all.kinship[m].clone();
                    v.push(all.kinship[m][m]);
                    v
                }
                None => all.seedling(row),
            };
            let n = all.kinship.len();
            for (i, k) in values[..n].iter().enumerate() {
                all.kinship[i].push(*k);
            }
            all.kinship.push(values);
            all.index.insert(row.id.clone(), n);
        }
        all
    }

    fn seedling(&self, row: &Individual) -> Vec<f64> {
        let parents = [&row.seed_parent, &row.pollen_parent].map(|p| match p {
            Parent::Known(id) => Some(self.index[id]),
            _ => None,
        });
        let with = |other: usize| -> f64 {
            parents.iter().flatten().map(|&p| 0.5 * self.kinship[p][other]).sum()
        };
        let mut values: Vec<f64> = (0..self.kinship.len()).map(with).collect();
        let f = match parents {
            [Some(s), Some(p)] => self.kinship[s][p],
            _ => 0.0,
        };
        values.push(0.5 * (1.0 + f));
        values
    }

    pub fn kinship(&self, a: &str, b: &str) -> f64 {
        self.kinship[self.index[a]][self.index[b]]
    }

    pub fn inbreeding(&self, a: &str) -> f64 {
        2.0 * self.kinship(a, a) - 1.0
    }
}

#[test]
fn agrees_with_a_table_worked_by_hand() {
    let rows = [
        Individual::founder("P"),
        Individual::founder("Q"),
        Individual::seedling("R", "P", "Q"),
        Individual::seedling("S", "R", "P"),
    ];
    let obvious = Obvious::new(&rows);
    // A closed form: exact in binary fractions.
    assert_eq!(obvious.kinship("P", "S"), 0.375);
    assert_eq!(obvious.inbreeding("S"), 0.25);
}
