//! What is saved on the cores that were left out, with its error.

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::units::{MoneyPerArea, UnitSystem, significant};

/// Chance that a printed interval holds the truth.
const CONFIDENCE: f64 = 0.90;
/// With fewer cores than this twice the standard error counts: so few measure it badly (own).
const FEW: usize = 10;

/// A mean saving per area with its 90 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Saving {
    /// Mean over the cores.
    pub mean: MoneyPerArea,
    /// Standard error of the mean, from the means of the folds.
    pub standard_error: MoneyPerArea,
    /// Ends of the 90 % interval.
    pub interval: (MoneyPerArea, MoneyPerArea),
}

impl Saving {
    /// Of one number per core (USD/ha) and the fold of each. Neighbouring cores are alike, so the error is that of the folds.
    #[must_use]
    pub fn of(saved: &[f64], fold: &[usize]) -> Self {
        let n = saved.len().max(1) as f64;
        let mean = saved.iter().sum::<f64>() / n;
        let folds = fold.iter().max().map_or(1, |last| last + 1);
        let mut sums = vec![0.0; folds];
        for (saved, fold) in saved.iter().zip(fold) {
            sums[*fold] += saved - mean;
        }
        let (count, squares) = (folds as f64, sums.iter().map(|sum| sum * sum).sum::<f64>());
        let error = if folds > 1 {
            (squares * count / (count - 1.0)).sqrt() / n
        } else {
            f64::INFINITY
        };
        let law = StudentsT::new(0.0, 1.0, (count - 1.0).max(1.0));
        let t = law.map_or(f64::INFINITY, |law| {
            law.inverse_cdf(f64::midpoint(1.0, CONFIDENCE))
        });
        let money = MoneyPerArea::from_dollars_per_hectare;
        let half = if error > 0.0 { t * error } else { 0.0 };
        Self {
            mean: money(mean),
            standard_error: money(error),
            interval: (money(mean - half), money(mean + half)),
        }
    }

    /// The same as a cost.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let minus = |money: MoneyPerArea| {
            MoneyPerArea::from_dollars_per_hectare(-money.dollars_per_hectare())
        };
        Self {
            mean: minus(self.mean),
            standard_error: self.standard_error,
            interval: (minus(self.interval.1), minus(self.interval.0)),
        }
    }

    /// Whether the interval lies above nothing.
    #[must_use]
    pub fn is_shown(&self) -> bool {
        self.interval.0 > MoneyPerArea::ZERO
    }

    /// Standard errors that a difference must exceed before it counts.
    #[must_use]
    pub fn errors_that_count(cores: usize) -> f64 {
        if cores < FEW { 2.0 } else { 1.0 }
    }

    /// In words: "11 (4 to 18) USD/ac".
    #[must_use]
    pub fn show(&self, units: UnitSystem) -> String {
        format!("{} {}", self.figures(units), MoneyPerArea::unit_in(units))
    }

    /// The mean in words, where nobody knows how sure it is: "11 USD/ac".
    #[must_use]
    pub fn mean_alone(&self, units: UnitSystem) -> String {
        format!(
            "{} {}",
            self.mean_figure(units),
            MoneyPerArea::unit_in(units)
        )
    }

    /// The mean alone: "11".
    #[must_use]
    pub fn mean_figure(&self, units: UnitSystem) -> String {
        significant(rounded(self.mean.number_in(units)), 2)
    }

    /// The same without its unit: "11 (4 to 18)".
    #[must_use]
    pub fn figures(&self, units: UnitSystem) -> String {
        format!("{} ({})", self.mean_figure(units), self.ends(units))
    }

    /// The ends of the interval: "4 to 18".
    #[must_use]
    pub fn ends(&self, units: UnitSystem) -> String {
        let number = |money: MoneyPerArea| significant(rounded(money.number_in(units)), 2);
        let (low, high) = self.interval;
        format!("{} to {}", number(low), number(high))
    }
}

/// Cents that nobody decides by are left out; a zero has no sign.
fn rounded(money: f64) -> f64 {
    let step = if money.abs() < 10.0 { 10.0 } else { 1.0 };
    (money * step).round() / step + 0.0
}

/// The position of the smallest choice whose loss is within one standard error of the least loss. `errors` are those of the differences from
/// the best choice: all are tried on the same cores and folds, so a difference is known far better than either loss.
///
/// # Source
/// Breiman, Friedman, Olshen and Stone 1984, "Classification and regression trees", section 3.4.3; Hastie, Tibshirani and Friedman,
/// "The elements of statistical learning", section 7.10. They take the error of the best loss itself; that of the paired difference is our own.
#[must_use]
pub fn within_one_standard_error(losses: &[f64], errors: &[f64]) -> Option<usize> {
    let best = losses.iter().copied().min_by(f64::total_cmp)?;
    let mut pairs = losses.iter().zip(errors);
    pairs.position(|(loss, error)| *loss <= best + error)
}
