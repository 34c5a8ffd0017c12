//! Kinship as it is given.

use planning::Kinship;

/// Kinship of a random pedigree by the tabular way: founders first, then each with two earlier ones
/// as parents (which may be one and the same).
pub fn pedigree(parents: &[Option<(usize, usize)>]) -> Vec<Vec<f64>> {
    let n = parents.len();
    let mut table = vec![vec![0.0; n]; n];
    for i in 0..n {
        let value = |row: &[f64]| parents[i].map_or(0.0, |(a, b)| 0.5 * (row[a] + row[b]));
        let others: Vec<f64> = table[..i].iter().map(|row| value(row)).collect();
        for (j, value) in others.into_iter().enumerate() {
            (table[i][j], table[j][i]) = (value, value);
        }
        table[i][i] = 0.5 + parents[i].map_or(0.0, |(a, b)| 0.5 * table[a][b]);
    }
    table
}

/// The same from numbers without meaning; a third are founders.
pub fn from_numbers(numbers: &[u32]) -> Kinship {
    let parents: Vec<Option<(usize, usize)>> = numbers
        .iter()
        .enumerate()
        .map(|(i, x)| {
            let x = *x as usize;
            (i > 1 && !x.is_multiple_of(3)).then(|| ((x / 3) % i, (x / 50) % i))
        })
        .collect();
    Kinship::from_rows(&pedigree(&parents)).unwrap()
}

#[test]
fn tables_that_are_no_kinship_are_refused() {
    let told = |rows: &[Vec<f64>]| Kinship::from_rows(rows).unwrap_err().to_string();
    assert!(told(&[vec![0.5, 0.1]]).contains("row 0 of the kinship has 2 values for 1"));
    let lopsided = [vec![0.5, 0.1], vec![0.2, 0.5]];
    assert!(told(&lopsided).contains("the kinship of 1 with 0 is 0.2, that of 0 with 1 0.1"));
    assert!(told(&[vec![f64::NAN]]).contains("NaN"));
    // Nobody can be nearer to another than to itself on both sides.
    let impossible = [vec![0.5, 0.6], vec![0.6, 0.5]];
    assert!(told(&impossible).contains("does not hang together"), "{}", told(&impossible));
    // Two pieces of one clone are: one genome twice.
    assert!(Kinship::from_rows(&[vec![0.5, 0.5], vec![0.5, 0.5]]).is_ok());
}

#[test]
fn the_mean_of_a_mixture() {
    // Falconer's sibs: by hand, (½ + ½ + 2 · ¼)/4.
    let sibs = Kinship::from_rows(&[vec![0.5, 0.25], vec![0.25, 0.5]]).unwrap();
    assert!((sibs.mean(&[1.0, 1.0]) - 0.375).abs() < 1e-12);
    assert!((sibs.mean(&[3.0, 0.0]) - 0.5).abs() < 1e-12);
    assert_eq!((sibs.mean(&[0.0, 0.0]), Kinship::unrelated(3).of(1, 1)), (0.0, 0.5));
}
