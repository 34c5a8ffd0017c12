//! The fast way agrees with the obvious one, and names and order of rows do not matter.

use std::collections::HashMap;

use descent::{Individual, Parent, Pedigree, report};
use proptest::prelude::*;

use crate::obvious::Obvious;

/// Up to 40 rows in order, parents among earlier rows, some unknown, some clones, many selfed.
fn pedigrees() -> impl Strategy<Value = Vec<Individual>> {
    proptest::collection::vec((any::<u32>(), any::<u32>(), 0..10u8), 1..40).prop_map(|picks| {
        let id = |i: usize| format!("N{i}");
        let one = |i: usize, pick: u32| match i {
            0 => Parent::Unknown,
            _ => match pick % 5 {
                0 => Parent::Unknown,
                _ => Parent::Known(id(pick as usize / 5 % i)),
            },
        };
        let row = |(i, &(s, p, kind)): (usize, &(u32, u32, u8))| match kind {
            0 if i > 0 => Individual::piece(id(i), id(s as usize % i)),
            1 | 2 => Individual {
                id: id(i),
                seed_parent: one(i, s),
                pollen_parent: one(i, s),
                clone_of: None,
            },
            _ => Individual {
                id: id(i),
                seed_parent: one(i, s),
                pollen_parent: one(i, p),
                clone_of: None,
            },
        };
        picks.iter().enumerate().map(row).collect()
    })
}

/// Other names, in another order.
fn disguised(rows: &[Individual], seed: u64) -> Vec<Individual> {
    let name = |id: &str| format!("{}~{id}", id.len() as u64 * (seed % 97) % 97);
    let parent = |p: &Parent| match p {
        Parent::Known(id) => Parent::Known(name(id)),
        other => other.clone(),
    };
    let mut out: Vec<Individual> = rows
        .iter()
        .map(|r| Individual {
            id: name(&r.id),
            seed_parent: parent(&r.seed_parent),
            pollen_parent: parent(&r.pollen_parent),
            clone_of: r.clone_of.as_deref().map(name),
        })
        .collect();
    let n = out.len() as u64;
    for i in (1..out.len()).rev() {
        out.swap(i, (seed.wrapping_mul(i as u64 + 7) % n) as usize % (i + 1));
    }
    out
}

// Sums of binary fractions of at most 40 generations: exact but for a few last digits.
const CLOSE: f64 = 1e-12;

proptest! {
    #[test]
    fn fast_and_obvious_agree(rows in pedigrees()) {
        let obvious = Obvious::new(&rows);
        let pedigree = Pedigree::new(rows.clone()).unwrap();
        for a in &rows {
            prop_assert!((pedigree.inbreeding(&a.id).unwrap() - obvious.inbreeding(&a.id)).abs() < CLOSE);
            let column = pedigree.kinship_with_all(&a.id).unwrap();
            for (b, fast) in rows.iter().zip(column) {
                let slow = obvious.kinship(&a.id, &b.id);
                prop_assert!((fast - slow).abs() < CLOSE);
                prop_assert!((pedigree.kinship(&a.id, &b.id).unwrap() - slow).abs() < CLOSE);
            }
        }
    }

    #[test]
    fn names_and_order_change_nothing(rows in pedigrees(), seed in 1..u64::MAX / 2) {
        let plain = Pedigree::new(rows.clone()).unwrap();
        let other = Pedigree::new(disguised(&rows, seed)).unwrap();
        let name = |id: &str| format!("{}~{id}", id.len() as u64 * (seed % 97) % 97);
        for a in &rows {
            let f = other.inbreeding(&name(&a.id)).unwrap();
            prop_assert!((plain.inbreeding(&a.id).unwrap() - f).abs() < CLOSE);
            let shares = |p: &Pedigree, id: &str| {
                let mut s: Vec<f64> = p.founders(id).unwrap().iter().map(|s| s.share).collect();
                s.sort_by(f64::total_cmp);
                s
            };
            prop_assert_eq!(shares(&plain, &a.id), shares(&other, &name(&a.id)));
            for b in &rows {
                let k = other.kinship(&name(&a.id), &name(&b.id)).unwrap();
                prop_assert!((plain.kinship(&a.id, &b.id).unwrap() - k).abs() < CLOSE);
            }
        }
    }

    #[test]
    fn shares_add_up_to_the_whole(rows in pedigrees()) {
        let pedigree = Pedigree::new(rows.clone()).unwrap();
        for a in &rows {
            let sum: f64 = pedigree.founders(&a.id).unwrap().iter().map(|s| s.share).sum();
            prop_assert_eq!(sum, 1.0);
        }
    }

    #[test]
    fn the_inverse_times_the_matrix_is_the_identity(rows in pedigrees()) {
        let pedigree = Pedigree::new(rows.clone()).unwrap();
        let options = descent::ReportOptions { inverse: true, ..Default::default() };
        let inverse = report(&pedigree, &options).unwrap().inverse.unwrap();
        let mut names: Vec<String> =
            rows.iter().map(|r| pedigree.clone_id(&r.id).unwrap().to_owned()).collect();
        names.sort();
        names.dedup();
        let mut of: HashMap<(&str, &str), f64> = HashMap::new();
        for e in &inverse {
            of.insert((&e.a, &e.b), e.value);
            of.insert((&e.b, &e.a), e.value);
        }
        // Repeated selfing makes entries of the inverse up to 2⁴⁰.
        let scale = inverse.iter().map(|e| e.value.abs()).fold(100.0, f64::max);
        for y in &names {
            let column: Vec<f64> =
                names.iter().map(|z| 2.0 * pedigree.kinship(z, y).unwrap()).collect();
            for x in &names {
                let entry = |z: &String| of.get(&(x.as_str(), z.as_str())).copied().unwrap_or(0.0);
                let product: f64 = names.iter().zip(&column).map(|(z, a)| a * entry(z)).sum();
                let expected = if x == y { 1.0 } else { 0.0 };
                prop_assert!((product - expected).abs() < 1e-11 * scale);
            }
        }
    }
}
