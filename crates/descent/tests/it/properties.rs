//! The fast ways agree with the obvious one, and names and order of rows do not matter.

use std::collections::HashMap;

use descent::{Gametes, Individual, Parent, Pedigree};
use proptest::prelude::*;

use crate::obvious::{Obvious, Row, read};

fn id(i: usize) -> String {
    format!("N{i}")
}

/// Up to 40 rows in order, parents among earlier rows, some unknown, some clones, many selfed.
fn pedigrees() -> impl Strategy<Value = Vec<Individual>> {
    proptest::collection::vec((any::<u32>(), any::<u32>(), 0..10u8), 1..40).prop_map(|picks| {
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

/// The same with gametes of one to three copies, double reduction, and parents in doubt.
fn wild() -> impl Strategy<Value = Vec<Row>> {
    let more = (0..12u8, 0..12u8, 0..=4u8, 0..=4u8, any::<u32>(), any::<u32>());
    (pedigrees(), proptest::collection::vec(more, 40)).prop_map(|(rows, more)| {
        let mut ploidy: HashMap<String, u8> = HashMap::new();
        let mut out = Vec::new();
        for (i, (plain, m)) in rows.iter().zip(more).enumerate() {
            let mut row = Row::from(plain);
            if let Some(mother) = &row.clone_of {
                ploidy.insert(row.id.clone(), ploidy[mother]);
                out.push(row);
                continue;
            }
            let copies = |pick: u8| [1, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 0][pick as usize];
            row.gametes.copies = [copies(m.0), copies(m.1)];
            if row.gametes.ploidy() == 0 {
                row.gametes.copies = [1, 1];
            }
            for (side, pick) in [(0, m.4), (1, m.5)] {
                if pick % 4 == 0 && i > 2 && row.parents[side].len() == 1 {
                    let other = id(pick as usize / 4 % i);
                    let weight = f64::from(pick % 7 + 1) / 8.0;
                    let first = row.parents[side][0].0.clone();
                    row.parents[side] = vec![(first, weight), (other, 1.0 - weight)];
                }
                // Double reduction of founders has a convention of its own, tested elsewhere.
                if row.gametes.copies[side] < 2 || row.parents[side].is_empty() {
                    continue;
                }
                let t = f64::from(row.gametes.copies[side]);
                let least = row.parents[side].iter().map(|(p, _)| f64::from(ploidy[p]));
                let least = least.map(|k| ((t - k) / (k * (t - 1.0))).max(0.0)).fold(0.0, f64::max);
                let lambda = f64::from([m.2, m.3][side]) / 20.0;
                row.gametes.double_reduction[side] = least + (1.0 - least) * lambda;
            }
            ploidy.insert(row.id.clone(), row.gametes.ploidy());
            out.push(row);
        }
        out
    })
}

fn name(id: &str, seed: u64) -> String {
    format!("{}~{id}", id.len() as u64 * (seed % 97) % 97)
}

/// Other names, in another order.
fn disguised(rows: &[Row], seed: u64) -> Vec<Row> {
    let mut out: Vec<Row> = rows
        .iter()
        .map(|r| Row {
            id: name(&r.id, seed),
            parents: r
                .parents
                .each_ref()
                .map(|l| l.iter().map(|(p, w)| (name(p, seed), *w)).collect()),
            clone_of: r.clone_of.as_deref().map(|c| name(c, seed)),
            gametes: r.gametes,
        })
        .collect();
    let n = out.len() as u64;
    for i in (1..out.len()).rev() {
        out.swap(i, (seed.wrapping_mul(i as u64 + 7) % n) as usize % (i + 1));
    }
    out
}

// Sums along at most 40 generations: exact but for a few last digits.
const CLOSE: f64 = 1e-12;

fn agree(rows: &[Row]) -> Result<(), TestCaseError> {
    let (obvious, pedigree) = (Obvious::new(rows), read(rows));
    let ids: Vec<&str> = rows.iter().map(|r| r.id.as_str()).collect();
    let mut triangle = pedigree.kinship_triangle(&ids).unwrap().into_iter();
    let pairs: Vec<(&str, &str)> =
        ids.iter().flat_map(|a| ids.iter().map(move |b| (*a, *b))).collect();
    let mut many = pedigree.kinships(&pairs).unwrap().into_iter();
    for (i, a) in ids.iter().enumerate() {
        prop_assert!((pedigree.inbreeding(a).unwrap() - obvious.inbreeding(a)).abs() < CLOSE);
        prop_assert!((pedigree.self_kinship(a).unwrap() - obvious.kinship(a, a)).abs() < CLOSE);
        let column = pedigree.kinship_with_all(a).unwrap();
        for (j, b) in ids.iter().enumerate() {
            let slow = obvious.kinship(a, b);
            prop_assert!((column[j] - slow).abs() < CLOSE);
            prop_assert!((pedigree.kinship(a, b).unwrap() - slow).abs() < CLOSE);
            prop_assert!((many.next().unwrap() - slow).abs() < CLOSE);
            if j >= i {
                prop_assert!((triangle.next().unwrap() - slow).abs() < CLOSE);
            }
            let a_ij = pedigree.relationship(a, b).unwrap();
            prop_assert!((a_ij - obvious.relationship(a, b)).abs() < 1e-11);
        }
    }
    Ok(())
}

fn inverse_is_one(rows: &[Row]) -> Result<(), TestCaseError> {
    let pedigree = read(rows);
    let Ok(inverse) = pedigree.inverse() else {
        // Only where a plant is its parent's copy, or its parent is wholly inbred.
        prop_assert!(rows.iter().any(|r| r.gametes != Gametes::default()));
        return Ok(());
    };
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
        let column: Vec<f64> = names.iter().map(|z| pedigree.relationship(z, y).unwrap()).collect();
        for x in &names {
            let entry = |z: &String| of.get(&(x.as_str(), z.as_str())).copied().unwrap_or(0.0);
            let product: f64 = names.iter().zip(&column).map(|(z, a)| a * entry(z)).sum();
            let expected = if x == y { 1.0 } else { 0.0 };
            prop_assert!((product - expected).abs() < 1e-11 * scale, "{x} {y} {product}");
        }
    }
    Ok(())
}

// Each case compares every pair in four ways, so that fewer cases are enough.
proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn fast_and_obvious_agree(rows in pedigrees()) {
        agree(&rows.iter().map(Row::from).collect::<Vec<_>>())?;
    }

    #[test]
    fn fast_and_obvious_agree_with_any_ploidy_and_doubt(rows in wild()) {
        agree(&rows)?;
    }

    #[test]
    fn names_and_order_change_nothing(rows in wild(), seed in 1..u64::MAX / 2) {
        let plain = read(&rows);
        let other = read(&disguised(&rows, seed));
        for a in &rows {
            let f = other.inbreeding(&name(&a.id, seed)).unwrap();
            prop_assert!((plain.inbreeding(&a.id).unwrap() - f).abs() < CLOSE);
            let shares = |p: &Pedigree, id: &str| {
                let mut s: Vec<f64> = p.founders(id).unwrap().iter().map(|s| s.share).collect();
                s.sort_by(f64::total_cmp);
                s
            };
            for (x, y) in shares(&plain, &a.id).iter().zip(shares(&other, &name(&a.id, seed))) {
                prop_assert!((x - y).abs() < CLOSE);
            }
            for b in &rows {
                let k = other.kinship(&name(&a.id, seed), &name(&b.id, seed)).unwrap();
                prop_assert!((plain.kinship(&a.id, &b.id).unwrap() - k).abs() < CLOSE);
            }
        }
    }

    #[test]
    fn kinship_is_symmetric_and_positive_semi_definite(rows in wild()) {
        let pedigree = read(&rows);
        let n = rows.len();
        let kin = |i: usize| pedigree.kinship_with_all(&rows[i].id).unwrap();
        let mut k: Vec<Vec<f64>> = (0..n).map(kin).collect();
        for i in 0..n {
            for j in 0..i {
                prop_assert!((k[i][j] - k[j][i]).abs() < CLOSE);
            }
        }
        // Cholesky with pivots that may be zero (clones): nothing below zero is ever left over.
        for c in 0..n {
            let d = k[c][c];
            prop_assert!(d > -1e-11, "{d}");
            for i in c + 1..n {
                if d > 1e-11 {
                    for j in i..n {
                        let x = k[c][i] * k[c][j] / d;
                        k[i][j] -= x;
                        k[j][i] = k[i][j];
                    }
                } else {
                    prop_assert!(k[c][i].abs() < 1e-5);
                }
            }
        }
    }

    #[test]
    fn shares_add_up_to_the_whole(rows in wild()) {
        let pedigree = read(&rows);
        for a in &rows {
            let shares = pedigree.founders(&a.id).unwrap();
            let sum: f64 = shares.iter().map(|s| s.share).sum();
            prop_assert!((sum - 1.0).abs() < CLOSE);
            for s in shares {
                if let Some(f) = s.fraction {
                    prop_assert!((f.value() - s.share).abs() < CLOSE);
                }
            }
        }
    }

    #[test]
    fn the_inverse_times_the_matrix_is_the_identity(rows in pedigrees()) {
        let rows: Vec<Row> = rows.iter().map(Row::from).collect();
        prop_assert!(read(&rows).inverse().is_ok());
        inverse_is_one(&rows)?;
    }

    #[test]
    fn the_inverse_holds_with_any_ploidy_and_doubt(rows in wild()) {
        inverse_is_one(&rows)?;
    }

    /// A plant made of all copies of one parent and none of another is that parent.
    #[test]
    fn an_unreduced_gamete_alone_is_a_clone(rows in pedigrees(), pick in any::<prop::sample::Index>()) {
        let mut rows: Vec<Row> = rows.iter().map(Row::from).collect();
        let of = rows[pick.index(rows.len())].id.clone();
        rows.push(Row { id: "piece".into(), clone_of: Some(of.clone()), ..Row::default() });
        let gametes = Gametes { copies: [2, 0], ..Gametes::default() };
        let parents = [vec![(of, 1.0)], Vec::new()];
        rows.push(Row { id: "copy".into(), parents, gametes, ..Row::default() });
        let pedigree = read(&rows);
        let f = |id: &str| pedigree.inbreeding(id).unwrap();
        prop_assert!((f("piece") - f("copy")).abs() < CLOSE);
        for a in &rows {
            let k = |id: &str| pedigree.kinship(&a.id, id).unwrap();
            prop_assert!((k("piece") - k("copy")).abs() < CLOSE);
        }
        prop_assert!(pedigree.inverse().unwrap_err().to_string().contains("\"copy\""));
    }
}
