//! The slow, obvious way: the kinship of all pairs, row by row, by the definition.

use std::collections::HashMap;

use descent::{Gametes, Individual, Parent, Pedigree, PedigreeBuilder, Side};

/// A row with all that can be said of it.
#[derive(Debug, Clone, Default)]
pub struct Row {
    pub id: String,
    /// Seed and pollen parent: nobody, one, or several with weights that add up to 1.
    pub parents: [Vec<(String, f64)>; 2],
    pub clone_of: Option<String>,
    pub gametes: Gametes,
}

impl From<&Individual> for Row {
    fn from(i: &Individual) -> Self {
        let list = |p: &Parent| match p {
            Parent::Known(id) => vec![(id.clone(), 1.0)],
            Parent::Unknown => Vec::new(),
            Parent::OneOf(ids) => {
                ids.iter().map(|id| (id.clone(), 1.0 / ids.len() as f64)).collect()
            }
        };
        Row {
            id: i.id.clone(),
            parents: [list(&i.seed_parent), list(&i.pollen_parent)],
            clone_of: i.clone_of.clone(),
            gametes: Gametes::default(),
        }
    }
}

/// The same rows read by the crate.
pub fn read(rows: &[Row]) -> Pedigree {
    let mut builder = PedigreeBuilder::new();
    for row in rows {
        let one = |list: &[(String, f64)]| match list {
            [(id, _)] => id.clone(),
            _ => String::new(),
        };
        let clone = row.clone_of.clone().unwrap_or_default();
        builder.row(&row.id, &one(&row.parents[0]), &one(&row.parents[1]), &clone).unwrap();
        for side in Side::BOTH {
            let list = &row.parents[side as usize];
            if list.len() > 1 {
                let list: Vec<(&str, f64)> = list.iter().map(|(id, w)| (id.as_str(), *w)).collect();
                builder.candidates(side, &list).unwrap();
            }
        }
        if row.clone_of.is_none() {
            builder.gametes(row.gametes).unwrap();
        }
    }
    builder.build().unwrap()
}

/// Kinship of all pairs from the recursion over younger individuals. Rows must be in order, parents
/// first. Clones are given the row of what they are a clone of.
pub struct Obvious {
    index: HashMap<String, usize>,
    kinship: Vec<Vec<f64>>,
    ploidy: Vec<f64>,
}

impl Obvious {
    pub fn new(rows: &[Row]) -> Self {
        let mut all = Obvious { index: HashMap::new(), kinship: Vec::new(), ploidy: Vec::new() };
        for row in rows {
            let (values, ploidy) = match &row.clone_of {
                Some(mother) => {
                    let m = all.index[mother];
                    let mut v = all.kinship[m].clone();
                    v.push(all.kinship[m][m]);
                    (v, all.ploidy[m])
                }
                None => (all.seedling(row), f64::from(row.gametes.ploidy())),
            };
            let n = all.kinship.len();
            for (i, k) in values[..n].iter().enumerate() {
                all.kinship[i].push(*k);
            }
            all.kinship.push(values);
            all.ploidy.push(ploidy);
            all.index.insert(row.id.clone(), n);
        }
        all
    }

    fn seedling(&self, row: &Row) -> Vec<f64> {
        let k = f64::from(row.gametes.ploidy());
        let copies = row.gametes.copies.map(f64::from);
        let parents: [Vec<(usize, f64)>; 2] =
            row.parents.each_ref().map(|l| l.iter().map(|(id, w)| (self.index[id], *w)).collect());
        let with = |other: usize| -> f64 {
            let of = |side: usize| parents[side].iter().map(|&(p, w)| w * self.kinship[p][other]);
            (0..2).map(|side| copies[side] / k * of(side).sum::<f64>()).sum()
        };
        let mut values: Vec<f64> = (0..self.kinship.len()).map(with).collect();
        // Two copies drawn with replacement: the same one, two of one gamete, one of each.
        let mut own = 1.0 / k;
        for side in 0..2 {
            let lambda = row.gametes.double_reduction[side];
            let alike = |f: f64| lambda + (1.0 - lambda) * f;
            let within: f64 = match &parents[side][..] {
                [] => 0.0,
                list => list.iter().map(|&(p, w)| w * alike(self.f(p))).sum(),
            };
            own += copies[side] * (copies[side] - 1.0).max(0.0) / (k * k) * within;
        }
        for &(s, v) in &parents[0] {
            for &(p, w) in &parents[1] {
                own += 2.0 * copies[0] * copies[1] / (k * k) * v * w * self.kinship[s][p];
            }
        }
        values.push(own);
        values
    }

    fn f(&self, i: usize) -> f64 {
        match self.ploidy[i] {
            1.0 => 0.0,
            k => (k * self.kinship[i][i] - 1.0) / (k - 1.0),
        }
    }

    pub fn kinship(&self, a: &str, b: &str) -> f64 {
        self.kinship[self.index[a]][self.index[b]]
    }

    pub fn inbreeding(&self, a: &str) -> f64 {
        self.f(self.index[a])
    }

    pub fn relationship(&self, a: &str, b: &str) -> f64 {
        self.kinship(a, b) * (self.ploidy[self.index[a]] * self.ploidy[self.index[b]]).sqrt()
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
    let obvious = Obvious::new(&rows.each_ref().map(Row::from));
    // A closed form: exact in binary fractions.
    assert_eq!(obvious.kinship("P", "S"), 0.375);
    assert_eq!(obvious.inbreeding("S"), 0.25);
}
