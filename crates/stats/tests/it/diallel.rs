//! Griffing's analysis of crosses in all combinations.

use faer::{Mat, linalg::solvers::Solve as _};
use serde_json::Value;
use stats::{
    diallel::{Diallel, DiallelError, Entry, Method, analyse},
    mixed::{Random, Settings, fit},
    model::{Column, Fixed, Frame, RandomSpec, RandomTerm},
    random::Random as Dice,
};

use crate::{json, near};

fn entries(file: &str) -> Vec<Entry> {
    let mut reader = csv::Reader::from_path(crate::path(file)).unwrap();
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|h| h == name);
    let (s, p, y, rep) =
        (at("seed_parent").unwrap(), at("pollen_parent").unwrap(), at("y").unwrap(), at("rep"));
    reader
        .records()
        .map(|r| {
            let r = r.unwrap();
            Entry {
                seed_parent: r[s].to_owned(),
                pollen_parent: r[p].to_owned(),
                block: rep.map(|k| r[k].to_owned()),
                y: r[y].parse().unwrap(),
            }
        })
        .collect()
}

fn pair<'a>(list: &'a [stats::diallel::Pair], a: &str, b: &str) -> &'a stats::diallel::Pair {
    list.iter().find(|p| p.a == a && p.b == b || p.a == b && p.b == a).unwrap()
}

/// Effects, sums of squares, ratios and probabilities of a file in matrix form.
fn matrices(file: &str, method: u8) -> Diallel {
    let reference = json(&format!("{file}.json"));
    let expected = &reference["expected"];
    assert_eq!(reference["inputs"]["method"], method);
    let found = analyse(&entries(&format!("{file}.csv")), Method::number(method).unwrap()).unwrap();
    let value = |key: &str| expected[key].as_f64().unwrap();
    near(found.mean, value("mean"), 1e-6, "mean");
    let matrix = |key: &str, i: usize, j: usize| expected[key][i][j].as_f64().unwrap();
    for (i, g) in found.gca.iter().enumerate() {
        assert_eq!(g.parent, format!("L{}", i + 1));
        near(g.effect, expected["gca"][i].as_f64().unwrap(), 1e-6, "general");
        near(g.se.unwrap(), value("se_gca"), 1e-6, "its error");
    }
    let place = |name: &str| name[1..].parse::<usize>().unwrap() - 1;
    for s in &found.sca {
        near(s.effect, matrix("sca", place(&s.a), place(&s.b)), 1e-6, "specific");
    }
    for r in &found.reciprocal {
        near(r.effect, matrix("reciprocal", place(&r.a), place(&r.b)), 1e-6, "reciprocal");
    }
    assert_eq!(found.reciprocal.is_empty(), expected["reciprocal"].is_null());
    for (source, ss, ms, f, p) in [
        ("gca", "SS_gca", "MS_gca", "F_gca", "p_gca"),
        ("sca", "SS_sca", "MS_sca", "F_sca", "p_sca"),
        ("reciprocal", "SS_reciprocal", "", "F_recip", "p_recip"),
    ] {
        let Some(line) = found.anova.iter().find(|a| a.source == source) else {
            assert!(expected[ss].is_null());
            continue;
        };
        near(line.ss, value(ss), 1e-6, ss);
        if !ms.is_empty() {
            near(line.ms.unwrap(), value(ms), 1e-6, ms);
        }
        near(line.f.unwrap(), value(f), 1e-6, f);
        near(line.p.unwrap(), value(p), 1e-6 * value(p) + 1e-12, p);
    }
    let df: Vec<u64> = found.anova.iter().map(|a| a.df).collect();
    let wanted = expected["df"].as_array().unwrap().iter().map(|d| d.as_u64().unwrap());
    let wanted: Vec<u64> = wanted.chain(expected["error_df"].as_u64()).collect();
    assert_eq!(df, wanted);
    let error = found.anova.last().unwrap();
    near(error.ms.unwrap(), value("error_MS_of_means"), 1e-6, "error");
    assert!(found.blocks && found.balanced && found.replicates == 3.0);
    found
}

#[test]
fn methods_one_two_and_four_with_blocks() {
    // Griffing's formulas in numpy, cross-checked there by least squares; 1e-6.
    matrices("method1_p5", 1);
    matrices("method2_p6", 2);
    matrices("method4_p7", 4);
}

/// Effects by name, of a published table without replicates.
fn named(file: &str, method: Method) -> (Diallel, Value) {
    let reference = json(&format!("{file}.json"));
    let expected = reference["expected"].clone();
    let found = analyse(&entries(&format!("{file}.csv")), method).unwrap();
    near(found.mean, expected["mean"].as_f64().unwrap(), 1e-6, "mean");
    assert_eq!(found.gca.len(), expected["gca"].as_object().unwrap().len());
    for g in &found.gca {
        near(g.effect, expected["gca"][&g.parent].as_f64().unwrap(), 1e-6, &g.parent);
        assert_eq!(g.se, None);
    }
    assert_eq!(found.sca.len(), expected["sca"].as_object().unwrap().len());
    for (name, effect) in expected["sca"].as_object().unwrap() {
        let (a, b) = name.split_once('x').unwrap();
        near(pair(&found.sca, a, b).effect, effect.as_f64().unwrap(), 1e-6, name);
    }
    for (k, key) in ["SS_gca", "SS_sca"].into_iter().enumerate() {
        near(found.anova[k].ss, expected[key].as_f64().unwrap(), 1e-6, key);
        assert_eq!(found.anova[k].f, None);
    }
    assert_eq!(found.anova.len(), 2);
    (found, expected)
}

#[test]
fn maize_varieties_without_and_with_parents() {
    // Lonnquist & Gardner 1961, Crop Sci. 1:179–183, table 1.
    let (found, expected) = named("lonnquist12_method4", Method::Crosses);
    // Printed mean of each variety's eleven crosses: μ + g + (Σ of the other g)/11, the others
    // summing to −g.
    for g in &found.gca {
        let mean = found.mean + g.effect - g.effect / 11.0;
        near(
            mean,
            expected["published_array_means"][&g.parent].as_f64().unwrap(),
            0.051,
            "printed",
        );
    }
    named("lonnquist6_method2", Method::SelfsAndCrosses);
}

#[test]
fn general_combining_ability_whichever_side() {
    // Möhring, Melchinger & Piepho 2011, Crop Sci. 51:470–478, table 3: 3.865 and 15.93.
    let crosses = entries("lonnquist6_method2.csv");
    let words =
        |f: fn(&Entry) -> &String| Column::Words(crosses.iter().map(|e| f(e).clone()).collect());
    let frame = Frame::new(crosses.len())
        .with("seed_parent", words(|e| &e.seed_parent))
        .unwrap()
        .with("pollen_parent", words(|e| &e.pollen_parent))
        .unwrap();
    let spec = RandomSpec::read("mm(seed_parent,pollen_parent)").unwrap().remove(0);
    let random = [Random::independent(RandomTerm::build(&frame, &spec).unwrap())];
    let y: Vec<f64> = crosses.iter().map(|e| e.y).collect();
    let fixed = Fixed::build(&frame, &[]).unwrap();
    let found = fit(&y, &fixed, &random, &Settings::default()).unwrap();
    let reference = json("lonnquist6_method2.json");
    let expected = &reference["expected"]["reml"];
    let value = |key: &str| expected[key].as_f64().unwrap();
    near(found.variances[0].variance, value("var_gca"), 1e-4, "between parents");
    near(found.variances[1].variance, value("var_resid"), 1e-4, "residual");
    near(found.variances[0].variance, 3.865, 6e-4, "printed");
    near(found.variances[1].variance, 15.93, 6e-3, "printed");
}

/// A set made up for a method.
fn made(method: Method, p: usize, replicates: usize, seed: u64) -> Vec<Entry> {
    let mut dice = Dice::new(seed);
    let mut all = Vec::new();
    for i in 0..p {
        for j in 0..p {
            let there = match (i == j, i < j) {
                (true, _) => method.selfs(),
                (_, true) => true,
                _ => method.both_ways(),
            };
            // In one direction, which one is chance.
            let turned = !method.both_ways() && dice.unit() < 0.5;
            let (s, d) = if turned { (j, i) } else { (i, j) };
            for _ in 0..if there { replicates } else { 0 } {
                let y = 10.0 + s as f64 + 0.3 * (s * d) as f64 + dice.normal();
                let [seed_parent, pollen_parent] = [s, d].map(|k| format!("P{k}"));
                all.push(Entry { seed_parent, pollen_parent, block: None, y });
            }
        }
    }
    all
}

/// Least squares with all effects at once; what they leave undetermined is fixed by taking the
/// solution of least length, which sums to zero as Griffing's constraints do.
fn slow(entries: &[Entry], method: Method, found: &Diallel) {
    let parents: Vec<&str> = found.gca.iter().map(|g| g.parent.as_str()).collect();
    let p = parents.len();
    let at = |name: &str| parents.iter().position(|x| *x == name).unwrap();
    let mut cells: std::collections::BTreeMap<(usize, usize), Vec<f64>> = Default::default();
    for e in entries {
        cells.entry((at(&e.seed_parent), at(&e.pollen_parent))).or_default().push(e.y);
    }
    let pairs: Vec<(usize, usize)> = (0..p)
        .flat_map(|i| (i..p).map(move |j| (i, j)))
        .filter(|(i, j)| i != j || method.selfs())
        .collect();
    let k = 1 + p + pairs.len() + if method.both_ways() { pairs.len() } else { 0 };
    let n = cells.len();
    let mut x = Mat::<f64>::zeros(n, k);
    let mut y = Mat::<f64>::zeros(n, 1);
    for (row, ((i, j), values)) in cells.iter().enumerate() {
        x[(row, 0)] = 1.0;
        x[(row, 1 + i)] += 1.0;
        x[(row, 1 + j)] += 1.0;
        let pair = pairs.iter().position(|q| *q == (*i.min(j), *i.max(j))).unwrap();
        x[(row, 1 + p + pair)] = 1.0;
        if method.both_ways() && i != j {
            x[(row, 1 + p + pairs.len() + pair)] = if i < j { 1.0 } else { -1.0 };
        }
        y[(row, 0)] = values.iter().sum::<f64>() / values.len() as f64;
    }
    // Griffing's constraints, as rows of great weight: Σg = 0 and for each parent Σs = 0, its
    // selfing counted twice with method 2 and once with method 1.
    let mut c = Mat::<f64>::zeros(1 + p, k);
    for i in 0..p {
        c[(0, 1 + i)] = 1.0;
        for (q, (a, b)) in pairs.iter().enumerate() {
            if *a == i || *b == i {
                let twice = a == b && method == Method::SelfsAndCrosses;
                c[(1 + i, 1 + p + q)] = if twice { 2.0 } else { 1.0 };
            }
        }
    }
    let normal = x.transpose() * &x + c.transpose() * &c;
    let mut ridge = normal.clone();
    // Reciprocals of a parent with itself are nowhere.
    (0..k).filter(|j| normal[(*j, *j)] == 0.0).for_each(|j| ridge[(j, j)] = 1.0);
    let llt = ridge.llt(faer::Side::Lower).unwrap();
    let solution = llt.solve(x.transpose() * &y);
    near(found.mean, solution[(0, 0)], 1e-9, "mean");
    for (i, g) in found.gca.iter().enumerate() {
        near(g.effect, solution[(1 + i, 0)], 1e-9, "general");
    }
    // Covariance of constrained estimates: M⁻¹·XᵀX·M⁻¹.
    let half = llt.solve(x.transpose() * &x);
    let spread = llt.solve(half.transpose());
    let error = found.anova.last().unwrap().ms.unwrap();
    let se = |j: usize| (error * spread[(j, j)]).sqrt();
    near(found.gca[0].se.unwrap(), se(1), 1e-9, "error of general");
    for (q, (a, b)) in pairs.iter().enumerate() {
        let s = pair(&found.sca, parents[*a], parents[*b]);
        near(s.effect, solution[(1 + p + q, 0)], 1e-9, "specific");
        near(s.se.unwrap(), se(1 + p + q), 1e-8, "its error");
        if method.both_ways() && a != b {
            let r = pair(&found.reciprocal, parents[*a], parents[*b]);
            near(r.effect, solution[(1 + p + pairs.len() + q, 0)], 1e-9, "reciprocal");
            near(r.se.unwrap(), se(1 + p + pairs.len() + q), 1e-9, "its error");
        }
    }
    // Sums of squares add up to that of the means.
    let mean = y.col(0).sum() / n as f64;
    let all: f64 = (0..n).map(|r| (y[(r, 0)] - mean).powi(2)).sum();
    let parts = found.anova.iter().filter(|a| a.source != "error").map(|a| a.ss).sum::<f64>();
    near(parts, all, 1e-9 * all, "sums of squares");
}

#[test]
fn every_method_is_least_squares() {
    for number in 1..=4 {
        let method = Method::number(number).unwrap();
        for p in 4..8 {
            let set = made(method, p, 2, u64::from(number) * 100 + p as u64);
            let found = analyse(&set, method).unwrap();
            slow(&set, method, &found);
            let sum: f64 = found.gca.iter().map(|g| g.effect).sum();
            near(sum, 0.0, 1e-10, "sum of general effects");
            // Naming parents otherwise and turning the list round changes nothing.
            let mut other: Vec<Entry> = set.clone();
            other.reverse();
            let rename = |n: &str| format!("Z{}", 9 - n[1..].parse::<i32>().unwrap());
            for e in &mut other {
                e.seed_parent = rename(&e.seed_parent);
                e.pollen_parent = rename(&e.pollen_parent);
            }
            let again = analyse(&other, method).unwrap();
            for g in &found.gca {
                let h = again.gca.iter().find(|h| h.parent == rename(&g.parent)).unwrap();
                near(g.effect, h.effect, 1e-10, "renamed");
            }
        }
    }
    assert_eq!(Method::number(5), None);
}

#[test]
fn three_parents_have_no_specific_effects_in_crosses_alone() {
    let found = analyse(&made(Method::Crosses, 3, 2, 8), Method::Crosses).unwrap();
    assert_eq!((found.anova[1].df, found.anova[1].f), (0, None));
    assert!(found.sca.iter().all(|s| s.effect.abs() < 1e-12 && s.se.unwrap() < 1e-12));
}

#[test]
fn replicates_of_unequal_number_are_told_of() {
    let mut set = made(Method::Crosses, 4, 2, 9);
    set.pop();
    let found = analyse(&set, Method::Crosses).unwrap();
    assert!(!found.balanced);
    // Five entries with two, one with one: 6/(5/2 + 1).
    near(found.replicates, 6.0 / 3.5, 1e-12, "harmonic mean");
    assert_eq!(found.anova.last().unwrap().df, 5);
}

#[test]
fn what_is_not_the_set_of_the_method_is_named() {
    use DiallelError as E;
    let refused = |set: &[Entry], method| analyse(set, method).unwrap_err();
    let mut set = made(Method::Full, 4, 1, 3);
    assert_eq!(refused(&set, Method::CrossesAndReciprocals), E::Selfed { parent: "P0".to_owned() });
    let e = refused(&set, Method::SelfsAndCrosses);
    assert_eq!(e, E::BothWays { a: "P0".to_owned(), b: "P1".to_owned() });
    set.retain(|e| !(e.seed_parent == "P2" && e.pollen_parent == "P1"));
    set.retain(|e| !(e.seed_parent == "P3" && e.pollen_parent == "P3"));
    let e = refused(&set, Method::Full);
    assert!(matches!(&e, E::Missing { names } if names == "P2 × P1, P3 × P3"), "{e}");
    let few = made(Method::Crosses, 2, 1, 3);
    assert_eq!(refused(&few, Method::Crosses), E::FewParents { found: 2, least: 3 });
    // Twelve parents with one cross: 65 missing, ten of them named.
    let names: Vec<Entry> = made(Method::Crosses, 12, 1, 3).into_iter().step_by(11).collect();
    assert!(refused(&names, Method::Crosses).to_string().contains(" more;"));
    let mut odd = made(Method::Full, 3, 1, 3);
    odd[4].y = f64::NAN;
    assert!(matches!(refused(&odd, Method::Full), E::NotFinite { record: 5, .. }));
    odd[1].pollen_parent = " ".to_owned();
    odd[4].y = 1.0;
    assert_eq!(refused(&odd, Method::Full), E::NoParent { record: 2 });
    let mut blocks = made(Method::Crosses, 4, 2, 3);
    for (k, e) in blocks.iter_mut().enumerate() {
        e.block = Some(format!("b{}", k % 2));
    }
    assert!(analyse(&blocks, Method::Crosses).unwrap().blocks);
    blocks[0].block = Some("b1".to_owned());
    assert!(matches!(refused(&blocks, Method::Crosses), E::Block { found: 0, .. }));
}
