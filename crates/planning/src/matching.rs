//! The cheapest way to give each row a column of its own.
//!
//! Successive shortest paths with potentials, after Kuhn and Munkres in the form of Jonker and
//! Volgenant (Computing 38:325-340, 1987, from memory): rows are added one by one, each along the
//! cheapest path that makes room. Exact; for n rows and m columns it takes n² m steps at most.

use crate::PlanningError;

/// Column of each row, and the sum of their costs. A cost of infinity forbids a pair.
///
/// # Errors
/// If rows differ in length, there are fewer columns than rows, a cost is not a number or minus
/// infinity, or no way avoids the forbidden pairs.
pub fn cheapest(costs: &[Vec<f64>]) -> Result<(Vec<usize>, f64), PlanningError> {
    let columns = check(costs)?;
    let rows = costs.len();
    // Row potentials, column potentials, and the row that each column has; the last column is that
    // of the row on its way in.
    let (mut u, mut v) = (vec![0.0; rows], vec![0.0; columns + 1]);
    let mut row_of: Vec<Option<usize>> = vec![None; columns + 1];
    for entering in 0..rows {
        row_of[columns] = Some(entering);
        let mut at = columns;
        let mut least = vec![f64::INFINITY; columns];
        let mut came_from = vec![columns; columns];
        let mut used = vec![false; columns + 1];
        while let Some(row) = row_of[at] {
            used[at] = true;
            let (mut step, mut next) = (f64::INFINITY, columns);
            for column in 0..columns {
                if used[column] {
                    continue;
                }
                let reduced = costs[row][column] - u[row] - v[column];
                if reduced < least[column] {
                    least[column] = reduced;
                    came_from[column] = at;
                }
                if least[column] < step {
                    step = least[column];
                    next = column;
                }
            }
            if !step.is_finite() {
                return Err(PlanningError::NoWay);
            }
            for column in 0..=columns {
                if used[column] {
                    if let Some(row) = row_of[column] {
                        u[row] += step;
                    }
                    v[column] -= step;
                } else {
                    least[column] -= step;
                }
            }
            at = next;
        }
        // Back along the path: each column takes the row of the one before it.
        while at != columns {
            let before = came_from[at];
            row_of[at] = row_of[before];
            at = before;
        }
    }
    let mut to = vec![0; rows];
    for (column, row) in row_of[..columns].iter().enumerate() {
        if let Some(row) = row {
            to[*row] = column;
        }
    }
    let cost = to.iter().enumerate().map(|(row, column)| costs[row][*column]).sum();
    Ok((to, cost))
}

/// The number of columns.
fn check(costs: &[Vec<f64>]) -> Result<usize, PlanningError> {
    let shape = |what: String, next| Err(PlanningError::Shape { what, next });
    let columns = costs.first().map_or(0, Vec::len);
    if let Some((k, row)) = costs.iter().enumerate().find(|(_, r)| r.len() != columns) {
        let what = format!("row {k} has {} costs, the first has {columns}", row.len());
        return shape(what, "give each row a cost for each column");
    }
    if columns < costs.len() {
        let what = format!("{} rows are more than {columns} columns", costs.len());
        return shape(what, "allow more places");
    }
    let bad = |c: &f64| c.is_nan() || *c == f64::NEG_INFINITY;
    if let Some(k) = costs.iter().position(|row| row.iter().any(bad)) {
        let what = format!("a cost of row {k} is not a number");
        return shape(what, "write infinity for a pair that is forbidden");
    }
    Ok(columns)
}
