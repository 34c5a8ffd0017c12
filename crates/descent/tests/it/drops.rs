//! Kinship by its meaning: genes are dropped through the pedigree and compared.

use crate::reference::pedigree;

/// A generator of its own, so that nothing here rests on the crate.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize * n) >> 31
    }

    fn chance(&mut self, p: f64) -> bool {
        (self.below(1 << 30) as f64) < p * f64::from(1 << 30)
    }

    fn gamete(&mut self, genes: &[u32; 4], lambda: f64) -> [u32; 2] {
        let one = self.below(4);
        let other = if self.chance(lambda) { one } else { (one + 1 + self.below(3)) % 4 };
        [genes[one], genes[other]]
    }
}

#[test]
fn tetraploids_with_double_reduction() {
    let parents: [(Option<usize>, Option<usize>, f64); 8] = [
        (None, None, 0.0),
        (None, None, 0.0),
        (Some(0), Some(1), 0.0),
        (Some(0), Some(1), 0.0),
        (Some(2), Some(3), 0.0),
        (Some(4), Some(0), 0.05),
        (Some(5), Some(5), 0.1),
        (Some(6), None, 0.0),
    ];
    let names = ["A", "B", "C", "D", "E", "F", "G", "H"];
    let draws = 60_000;
    let mut dice = Dice(8);
    let mut same = [[0.0; 8]; 8];
    let mut squares = [[0.0; 8]; 8];
    for _ in 0..draws {
        let mut genes = [[0; 4]; 8];
        let mut label = 0;
        for (i, (s, p, lambda)) in parents.into_iter().enumerate() {
            for (half, parent) in [s, p].into_iter().enumerate() {
                let gamete = match parent {
                    Some(parent) => dice.gamete(&genes[parent], lambda),
                    None => {
                        label += 2;
                        [label, label + 1]
                    }
                };
                genes[i][2 * half..2 * half + 2].copy_from_slice(&gamete);
            }
        }
        for i in 0..8 {
            for j in 0..8 {
                // All sixteen pairs of copies, drawn with replacement.
                let pairs = genes[i].iter().flat_map(|a| genes[j].iter().map(move |b| a == b));
                let share = pairs.filter(|e| *e).count() as f64 / 16.0;
                same[i][j] += share;
                squares[i][j] += share * share;
            }
        }
    }
    let pedigree = pedigree("tetraploid_small");
    let n = f64::from(draws);
    for (i, a) in names.iter().enumerate() {
        for (j, b) in names.iter().enumerate() {
            let mean: f64 = same[i][j] / n;
            let error = ((squares[i][j] / n - mean * mean).max(0.0) / n).sqrt();
            let k = pedigree.kinship(a, b).unwrap();
            // Four standard errors; of what never varies, the rounding of a sum.
            assert!((k - mean).abs() <= 4.0 * error + 1e-9, "{a} {b}: {k}, drawn {mean} ± {error}");
        }
    }
}
