//! The normal distribution: how much of it lies below a point, and the point below which a share of it lies.
//!
//! By the complementary error function of `libm`. Turned down: a rational approximation of our own, or a crate of
//! distributions of which two lines would be used.

use std::f64::consts::{FRAC_1_SQRT_2, TAU};

/// Share of a normal distribution below `sigmas` standard deviations over its mean.
pub(super) fn below(sigmas: f64) -> f64 {
    0.5 * libm::erfc(-sigmas * FRAC_1_SQRT_2)
}

/// Standard deviations over the mean below which `share` of it lies, by halving: exact to the last digits that
/// [`below`] can tell apart.
pub(super) fn sigmas(share: f64) -> f64 {
    let (mut low, mut high) = (-10.0_f64, 10.0_f64);
    for _ in 0..64 {
        let middle = f64::midpoint(low, high);
        if below(middle) < share {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Logarithm of the density of a normal distribution around nothing, at `away` from it.
pub(super) fn log_density(away: f64, variance: f64) -> f64 {
    -0.5 * ((TAU * variance).ln() + away * away / variance)
}

/// Logarithm of the sum of the exponentials of `logs`, without over- or underflow.
pub(super) fn log_sum(logs: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    if most.is_finite() { most + logs.map(|log| (log - most).exp()).sum::<f64>().ln() } else { most }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz and Stegun, Handbook of Mathematical Functions (1964), table 26.1: P(1) = 0.84134 47461,
    /// P(1.96) = 0.97500 21049, P(3) = 0.99865 01020; the quantile of 0.975 is 1.95996 3985.
    #[test]
    fn a_published_table_is_met() {
        for (x, p) in [(0.0, 0.5), (1.0, 0.841_344_746_1), (1.96, 0.975_002_104_9), (3.0, 0.998_650_102_0)] {
            assert!((below(x) - p).abs() < 1e-10, "{x}");
            assert!((below(-x) - (1.0 - p)).abs() < 1e-10, "{x}");
            assert!((sigmas(p) - x).abs() < 1e-7, "{p}");
        }
        assert!((sigmas(0.975) - 1.959_963_985).abs() < 1e-9);
    }

    #[test]
    fn far_below_nothing_sums_still_hold() {
        let sum = log_sum([-1000.0, -1000.0].into_iter());
        assert!((sum - (-1000.0 + 2.0_f64.ln())).abs() < 1e-12);
        assert!(log_sum([f64::NEG_INFINITY].into_iter()).is_infinite());
    }
}
