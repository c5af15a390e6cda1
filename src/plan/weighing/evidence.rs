//! A Gaussian linear model with unknown noise: `y = X w + e`, where `w ~ N(0, 1/λ)` and `e ~ N(0, 1/α)`.
//!
//! Handed rows in units in which `α = λ = 1` is what was planned; promises the posterior of `w` at the `α` and `λ` that make
//! the data likeliest (evidence maximisation: Bayesian Interpolation, Neural Computation 4(3), 1992; the same
//! fixed point as scikit-learn's `BayesianRidge`, checked to 1e-6). Both have a Gamma prior around 1, so that a handful of
//! rows changes little. One eigendecomposition of `XᵀX` serves every step. Turned down: a Cholesky factor at each step,
//! which for 500 articles costs twenty times as much; the given noise alone, since nobody knows how they tape.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// Rows that the prior of the noise counts as. Common practice, no source: a morning's parcels.
const NOISE_PRIOR_ROWS: f64 = 10.0;
/// Columns that the prior of the weights counts as. Common practice, no source.
const WEIGHTS_PRIOR_COLUMNS: f64 = 10.0;
/// Where `λ` starts. From 1 alone the steps can end on a lower hill, where a catalogue that claims a hundredth of a gram is
/// believed and the scatter of packing is blamed; the highest hill is taken.
const STARTS: [f64; 3] = [1.0, 1e-2, 1e-4];
/// Steps at most; it takes some tens.
const MOST_STEPS: u32 = 10_000;
/// Relative change at which it stands still.
const STILL: f64 = 1e-13;

/// One row of `X`, only what isn't zero, and its `y`.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Row {
    pub(super) at: Vec<(usize, f64)>,
    pub(super) y: f64,
}

/// The posterior of `w`.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Posterior {
    pub(super) mean: DVector<f64>,
    pub(super) covariance: DMatrix<f64>,
    /// Precision of the noise.
    pub(super) alpha: f64,
    /// Precision of the weights.
    pub(super) lambda: f64,
}

/// Fits `columns` weights to `rows`. `None` where the numbers have no finite fit.
pub(super) fn fit(rows: &[Row], columns: usize) -> Option<Posterior> {
    let mut gram = DMatrix::zeros(columns, columns);
    let mut target = DVector::zeros(columns);
    for row in rows {
        for (a, x) in &row.at {
            *target.get_mut(*a)? += x * row.y;
            for (b, z) in &row.at {
                *gram.get_mut((*a, *b))? += x * z;
            }
        }
    }
    let squares: f64 = rows.iter().map(|row| row.y * row.y).sum();
    if columns == 0 || !squares.is_finite() || gram.iter().any(|entry: &f64| !entry.is_finite()) {
        return None;
    }
    let SymmetricEigen { eigenvectors, eigenvalues } = gram.symmetric_eigen();
    let values: Vec<f64> = eigenvalues.iter().map(|value| value.max(0.0)).collect();
    let along = eigenvectors.tr_mul(&target);
    let count = f64::from(u32::try_from(rows.len()).unwrap_or(u32::MAX));
    let data = Data { values: &values, along: along.as_slice(), squares, rows: count };
    let (alpha, lambda) = STARTS.into_iter().map(|lambda| data.climb(lambda)).max_by(|one, other| {
        let [one, other] = [one, other].map(|(alpha, lambda)| data.evidence(*alpha, *lambda));
        one.total_cmp(&other)
    })?;
    let steps = values.iter().zip(along.iter());
    let weights = DVector::from_iterator(columns, steps.map(|(value, u)| alpha * u / (alpha * value + lambda)));
    let mut scaled = eigenvectors.clone();
    for (mut column, value) in scaled.column_iter_mut().zip(&values) {
        column /= alpha * value + lambda;
    }
    let covariance = scaled * eigenvectors.transpose();
    Some(Posterior { mean: eigenvectors * weights, covariance, alpha, lambda })
}

/// All that `α` and `λ` are judged by, along the eigenvectors of `XᵀX`.
struct Data<'a> {
    /// Eigenvalues.
    values: &'a [f64],
    /// `Xᵀy` along each eigenvector.
    along: &'a [f64],
    /// `yᵀy`.
    squares: f64,
    rows: f64,
}

/// What `α` and `λ` make of the data.
struct Fitted {
    /// Columns' worth of weights that the data determine.
    determined: f64,
    /// `wᵀw`.
    size: f64,
    /// Squares of the residuals.
    residual: f64,
    /// Logarithm of the determinant of the posterior's precision.
    log_precision: f64,
}

impl Data<'_> {
    fn at(&self, alpha: f64, lambda: f64) -> Fitted {
        let mut at = Fitted { determined: 0.0, size: 0.0, residual: self.squares, log_precision: 0.0 };
        for (value, u) in self.values.iter().zip(self.along) {
            let precision = alpha * value + lambda;
            let weight = alpha * u / precision;
            at.determined += alpha * value / precision;
            at.size += weight * weight;
            at.residual += weight * (value * weight - 2.0 * u);
            at.log_precision += precision.ln();
        }
        at.residual = at.residual.max(0.0);
        at
    }

    /// Up from `α = 1` and this `λ`, to where both stand still.
    fn climb(&self, start: f64) -> (f64, f64) {
        let (mut alpha, mut lambda) = (1.0_f64, start);
        for _ in 0..MOST_STEPS {
            let at = self.at(alpha, lambda);
            let next_lambda = (at.determined + WEIGHTS_PRIOR_COLUMNS) / (at.size + WEIGHTS_PRIOR_COLUMNS);
            let next_alpha = (self.rows - at.determined + NOISE_PRIOR_ROWS) / (at.residual + NOISE_PRIOR_ROWS);
            let still = (next_alpha / alpha - 1.0).abs() < STILL && (next_lambda / lambda - 1.0).abs() < STILL;
            (alpha, lambda) = (next_alpha, next_lambda);
            if still {
                break;
            }
        }
        (alpha, lambda)
    }

    /// Twice the logarithm of how likely they make the data, with their own priors and but for a constant.
    fn evidence(&self, alpha: f64, lambda: f64) -> f64 {
        let at = self.at(alpha, lambda);
        let columns = f64::from(u32::try_from(self.values.len()).unwrap_or(u32::MAX));
        (columns + WEIGHTS_PRIOR_COLUMNS) * lambda.ln() + (self.rows + NOISE_PRIOR_ROWS) * alpha.ln()
            - alpha * (at.residual + NOISE_PRIOR_ROWS)
            - lambda * (at.size + WEIGHTS_PRIOR_COLUMNS)
            - at.log_precision
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand, with the noise and weights' precision that it found: one column, `w = α Σxy / (α Σx² + λ)`, its variance
    /// `1 / (α Σx² + λ)`; and both stand still under their own update.
    #[test]
    fn one_column_by_hand() {
        let rows: Vec<Row> =
            [(1.0, 2.1), (2.0, 3.9), (3.0, 6.2), (1.0, 1.8)].map(|(x, y)| Row { at: vec![(0, x)], y }).into();
        let found = fit(&rows, 1).unwrap();
        let (xx, xy, yy) = (15.0, 2.1 + 7.8 + 18.6 + 1.8, 2.1 * 2.1 + 3.9 * 3.9 + 6.2 * 6.2 + 1.8 * 1.8);
        let (alpha, lambda, w) = (found.alpha, found.lambda, found.mean[0]);
        assert!((w - alpha * xy / (alpha * xx + lambda)).abs() < 1e-12);
        assert!((found.covariance[(0, 0)] - 1.0 / (alpha * xx + lambda)).abs() < 1e-12);
        let determined = alpha * xx / (alpha * xx + lambda);
        assert!((lambda - (determined + 10.0) / (w * w + 10.0)).abs() < 1e-9);
        assert!((alpha - (4.0 - determined + 10.0) / (yy - 2.0 * w * xy + xx * w * w + 10.0)).abs() < 1e-9);
    }

    #[test]
    fn a_column_that_no_row_holds_keeps_its_prior() {
        let rows = [Row { at: vec![(0, 1.0)], y: 1.0 }];
        let found = fit(&rows, 2).unwrap();
        assert!(found.mean[1].abs() < 1e-12);
        assert!((found.covariance[(1, 1)] * found.lambda - 1.0).abs() < 1e-9);
        assert!(fit(&[Row { at: vec![(0, f64::MAX)], y: 1.0 }], 1).is_none());
        assert!(fit(&[], 0).is_none());
    }
}
