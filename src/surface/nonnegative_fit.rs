//! Least squares for `a + b g(x)` with neither term below zero, where `g` has one more number inside it.

/// One observation: weight, `x`, target.
pub(super) type Row = (f64, f64, f64);

/// `a + b g(x, scale)` with `a` and `b` not negative, and the scale that fits best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct NonnegativeFit {
    /// Value at zero.
    pub constant: f64,
    /// What it may rise by.
    pub rise: f64,
    /// The number inside `g`.
    pub scale: f64,
}

impl NonnegativeFit {
    /// Tries every scale and keeps the best; the first of equals. `None` without rows.
    pub(super) fn fit(
        rows: &[Row],
        scales: impl Iterator<Item = f64>,
        shape: impl Fn(f64, f64) -> f64,
    ) -> Option<Self> {
        if rows.is_empty() {
            return None;
        }
        let mut best: Option<(f64, Self)> = None;
        for scale in scales {
            let (loss, constant, rise) = fit_at(rows, |x| shape(x, scale));
            if loss.is_finite() && best.is_none_or(|(least, _)| loss < least) {
                best = Some((
                    loss,
                    Self {
                        constant,
                        rise,
                        scale,
                    },
                ));
            }
        }
        best.map(|(_, terms)| terms)
    }
}

/// Weighted loss, constant and rise for one shape.
fn fit_at(rows: &[Row], shape: impl Fn(f64) -> f64) -> (f64, f64, f64) {
    let (mut w, mut wg, mut wgg, mut wt, mut wgt) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for &(weight, x, target) in rows {
        let g = shape(x);
        w += weight;
        wg += weight * g;
        wgg += weight * g * g;
        wt += weight * target;
        wgt += weight * g * target;
    }
    let determinant = w * wgg - wg * wg;
    let both = if determinant > 1e-12 * w * wgg {
        (
            (wgg * wt - wg * wgt) / determinant,
            (w * wgt - wg * wt) / determinant,
        )
    } else {
        (wt / w, 0.0)
    };
    let (constant, rise) = match both {
        (a, b) if a >= 0.0 && b >= 0.0 => (a, b),
        (a, _) if a < 0.0 && wgt > 0.0 => (0.0, wgt / wgg),
        _ => ((wt / w).max(0.0), 0.0),
    };
    let loss = rows
        .iter()
        .map(|&(weight, x, target)| weight * (target - constant - rise * shape(x)).powi(2))
        .sum();
    (loss, constant, rise)
}

#[cfg(test)]
#[path = "nonnegative_fit_tests.rs"]
mod tests;
