//! Turnbull: the survival curve from records that lie between two looks.

use super::curve::{Curve, Mass};
use super::time::{SurvivalError, Time, check_all};

/// The non-parametric maximum-likelihood estimate for interval-censored times (Turnbull 1976,
/// J. R. Stat. Soc. B 38:290–295).
///
/// The likelihood only decides how much probability lies in each *innermost interval*, not where
/// inside it. How probability is shared among neighbouring innermost intervals can be weakly
/// determined; the curve at times of looking, and the log-likelihood, are not affected.
#[derive(Debug, Clone, PartialEq)]
pub struct Turnbull {
    /// The probability in each innermost interval.
    pub masses: Vec<Mass>,
    /// Log-likelihood at the optimum.
    pub log_likelihood: f64,
    /// Number of records.
    pub n: usize,
    /// Number of records in which the event has come.
    pub events: usize,
    /// How far the optimality condition (directional derivatives at most 0, per record) is from
    /// being met.
    pub excess: f64,
}

/// A record's interval as positions among the sorted ends: an end just after a value sorts after
/// the value itself. `(value, after)`.
type End = (f64, bool);

impl Turnbull {
    /// Fits the curve.
    ///
    /// # Errors
    /// No records, impossible times, delayed entry, or an optimum that is not reached.
    pub fn fit(times: &[Time]) -> Result<Self, SurvivalError> {
        // At 1e-9 a record the log-likelihood is within n·1e-9 of its maximum.
        Self::fit_to(times, 1e-9, 200_000)
    }

    pub(crate) fn fit_to(
        times: &[Time],
        tolerance: f64,
        most: usize,
    ) -> Result<Self, SurvivalError> {
        check_all(times)?;
        if let Some(i) = times.iter().position(|t| t.entry > 0.0) {
            return Err(SurvivalError::EntryWithIntervals { row: i + 1 });
        }
        let ends: Vec<(End, End)> = times.iter().map(ends).collect();
        let inner = innermost(&ends);
        let rows = covered(&ends, &inner);
        let fit = maximise(&rows, inner.len(), tolerance, most)?;
        let masses = inner.iter().zip(&fit.p).map(|(&((left, _), (right, _)), &mass)| Mass {
            left: left.max(0.0),
            right: right.is_finite().then_some(right),
            mass,
        });
        Ok(Turnbull {
            masses: masses.collect(),
            log_likelihood: fit.log_likelihood,
            n: times.len(),
            events: times.iter().filter(|t| !t.is_open()).count(),
            excess: fit.excess,
        })
    }

    /// The curve.
    pub fn curve(&self) -> Curve {
        Curve::new(self.masses.clone(), self.n, self.events)
    }
}

fn ends(t: &Time) -> (End, End) {
    let right = (t.right.unwrap_or(f64::INFINITY), false);
    match t.left {
        // An exact time is the single point itself.
        Some(left) if t.right == Some(left) => ((left, false), right),
        Some(left) => ((left, true), right),
        None => ((f64::NEG_INFINITY, false), right),
    }
}

/// Intervals from a left end to the right end that follows it with no other end between.
fn innermost(ends: &[(End, End)]) -> Vec<(End, End)> {
    // At one value: left ends at the value itself, right ends, left ends just after it.
    let rank = |end: End, is_right: bool| (end.0, if is_right { 1 } else { 2 * u8::from(end.1) });
    let mut all: Vec<(f64, u8, End)> = Vec::with_capacity(2 * ends.len());
    for &(left, right) in ends {
        let (l, r) = (rank(left, false), rank(right, true));
        all.push((l.0, l.1, left));
        all.push((r.0, r.1, right));
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    all.dedup();
    all.windows(2).filter(|w| w[0].1 != 1 && w[1].1 == 1).map(|w| (w[0].2, w[1].2)).collect()
}

/// For each different record: the range of innermost intervals inside it, and how many such
/// records there are.
fn covered(ends: &[(End, End)], inner: &[(End, End)]) -> Vec<(usize, usize, f64)> {
    let mut rows: Vec<(usize, usize)> = ends
        .iter()
        .map(|&(left, right)| {
            let from =
                inner.partition_point(|&(l, _)| l.0 < left.0 || (l.0 == left.0 && !l.1 && left.1));
            let to = inner.partition_point(|&(_, r)| r.0 <= right.0);
            (from, to)
        })
        .collect();
    rows.sort_unstable();
    let mut counted: Vec<(usize, usize, f64)> = Vec::new();
    for (from, to) in rows {
        match counted.last_mut() {
            Some(last) if (last.0, last.1) == (from, to) => last.2 += 1.0,
            _ => counted.push((from, to, 1.0)),
        }
    }
    counted
}

struct Fit {
    p: Vec<f64>,
    log_likelihood: f64,
    excess: f64,
}

/// Alternates two steps until the optimality condition holds.
///
/// The iterative convex minorant (Groeneboom & Wellner 1992; made to converge by a line search by
/// Jongbloed 1998, J. Comput. Graph. Statist. 7:310–321) moves the whole curve at once and can empty
/// intervals and fill them again; expectation–maximisation settles the masses among each other
/// (together: Wellner & Zhan 1997, J. Am. Stat. Assoc. 92:945–959). All from memory.
fn maximise(
    rows: &[(usize, usize, f64)],
    m: usize,
    tolerance: f64,
    most: usize,
) -> Result<Fit, SurvivalError> {
    let mut p = vec![1.0 / m as f64; m];
    let mut here = Evaluation::of(rows, &p);
    for _ in 0..most {
        if here.excess <= tolerance {
            return Ok(Fit { p, log_likelihood: here.log_likelihood, excess: here.excess });
        }
        if let Some((moved, found)) = minorant_step(rows, &p, &here) {
            (p, here) = (moved, found);
        }
        let p1 = here.em_step(&p);
        let one = Evaluation::of(rows, &p1);
        let p2 = one.em_step(&p1);
        let two = Evaluation::of(rows, &p2);
        let long = extrapolate(&p, &p1, &p2);
        let far = Evaluation::of(rows, &long);
        if far.log_likelihood > two.log_likelihood {
            (p, here) = (long, far);
        } else {
            (p, here) = (p2, two);
        }
    }
    Err(SurvivalError::NotReached { iterations: most, excess: here.excess })
}

/// One step of the convex minorant: a weighted isotonic regression of a Newton step in the
/// cumulative curve, shortened until the likelihood rises. `None` when it does not.
fn minorant_step(
    rows: &[(usize, usize, f64)],
    p: &[f64],
    here: &Evaluation,
) -> Option<(Vec<f64>, Evaluation)> {
    let m = p.len();
    // Slope and curvature in the curve just after interval k; those at 0 and at the end are fixed.
    let (mut slope, mut bend) = (vec![0.0; m + 1], vec![0.0; m + 1]);
    for (&(from, to, weight), inside) in rows.iter().zip(&here.inside) {
        let one = weight / inside;
        slope[to] += one;
        slope[from] -= one;
        bend[to] += one / inside;
        bend[from] += one / inside;
    }
    let mut curve = Vec::with_capacity(m + 1);
    let mut sum = 0.0;
    curve.push(0.0);
    for x in p {
        sum += x;
        curve.push(sum);
    }
    let target: Vec<(f64, f64)> = (1..m)
        .map(|k| {
            let bend = bend[k].max(f64::MIN_POSITIVE);
            (curve[k] + slope[k] / bend, bend)
        })
        .collect();
    let fitted = isotonic(&target);
    let mut wanted = vec![0.0; m + 1];
    for (k, f) in fitted.into_iter().enumerate() {
        wanted[k + 1] = f.clamp(0.0, 1.0);
    }
    wanted[m] = 1.0;
    let mut length = 1.0;
    for _ in 0..12 {
        let mut moved: Vec<f64> = (0..m)
            .map(|k| {
                let was = p[k];
                (was + length * (wanted[k + 1] - wanted[k] - was)).max(0.0)
            })
            .collect();
        let total: f64 = moved.iter().sum();
        moved.iter_mut().for_each(|x| *x /= total);
        let found = Evaluation::of(rows, &moved);
        if found.log_likelihood > here.log_likelihood {
            return Some((moved, found));
        }
        length *= 0.5;
    }
    None
}

/// Weighted isotonic regression by pooling adjacent violators: values and weights in order.
fn isotonic(points: &[(f64, f64)]) -> Vec<f64> {
    let mut blocks: Vec<(f64, f64, usize)> = Vec::with_capacity(points.len());
    for &(value, weight) in points {
        let mut block = (value, weight, 1);
        while let Some(&(v, w, n)) = blocks.last()
            && v >= block.0
        {
            let weight = w + block.1;
            block = ((v * w + block.0 * block.1) / weight, weight, n + block.2);
            blocks.pop();
        }
        blocks.push(block);
    }
    blocks.into_iter().flat_map(|(value, _, n)| std::iter::repeat_n(value, n)).collect()
}

struct Evaluation {
    log_likelihood: f64,
    /// Derivative of the mean log-likelihood towards each interval; at the optimum at most 1.
    slope: Vec<f64>,
    excess: f64,
    /// Probability of each row.
    inside: Vec<f64>,
}

impl Evaluation {
    fn of(rows: &[(usize, usize, f64)], p: &[f64]) -> Self {
        let mut below = Vec::with_capacity(p.len() + 1);
        below.push(0.0);
        let mut sum = 0.0;
        for x in p {
            sum += x;
            below.push(sum);
        }
        let n: f64 = rows.iter().map(|r| r.2).sum();
        let mut change = vec![0.0; p.len() + 1];
        let mut log_likelihood = 0.0;
        let mut every = Vec::with_capacity(rows.len());
        for &(from, to, weight) in rows {
            // Differences of sums lose digits where almost nothing lies; short ranges are added up.
            let inside: f64 =
                if to - from <= 8 { p[from..to].iter().sum() } else { below[to] - below[from] };
            every.push(inside);
            log_likelihood += weight * inside.ln();
            change[from] += weight / inside / n;
            change[to] -= weight / inside / n;
        }
        let mut slope = Vec::with_capacity(p.len());
        let mut sum = 0.0;
        for x in &change[..p.len()] {
            sum += x;
            slope.push(sum);
        }
        let excess = slope.iter().fold(0.0, |a: f64, s| a.max(s - 1.0));
        Evaluation { log_likelihood, slope, excess, inside: every }
    }

    fn em_step(&self, p: &[f64]) -> Vec<f64> {
        let next: Vec<f64> = p.iter().zip(&self.slope).map(|(p, s)| (p * s).max(0.0)).collect();
        let total: f64 = next.iter().sum();
        next.into_iter().map(|x| x / total).collect()
    }
}

fn extrapolate(p0: &[f64], p1: &[f64], p2: &[f64]) -> Vec<f64> {
    let (mut rr, mut vv) = (0.0, 0.0);
    for i in 0..p0.len() {
        let r = p1[i] - p0[i];
        let v = (p2[i] - p1[i]) - r;
        rr += r * r;
        vv += v * v;
    }
    let a = if vv > 0.0 { (rr / vv).sqrt().max(1.0) } else { 1.0 };
    let mut p: Vec<f64> = (0..p0.len())
        .map(|i| {
            let r = p1[i] - p0[i];
            let v = (p2[i] - p1[i]) - r;
            // A probability that would turn negative stays a little above 0, so that it can grow.
            (p0[i] + 2.0 * a * r + a * a * v).max(0.01 * p2[i])
        })
        .collect();
    let total: f64 = p.iter().sum();
    p.iter_mut().for_each(|x| *x /= total);
    p
}
