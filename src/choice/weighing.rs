//! How many zones: the fewest whose loss on the cores that were left out is within one standard error of the least, and only where
//! that saves more than a map asks for.

use super::agreement::LEAST_AGREEMENT;
use super::cross_validation::{Bench, Losses};
use super::saving::{Saving, within_one_standard_error};
use super::worth::CountTried;
use crate::units::{MoneyPerArea, UnitSystem, decimal};

/// The count with the reason, and what was tried.
pub(super) struct Weighed {
    pub count: usize,
    pub why: String,
    pub tried: Vec<CountTried>,
}

/// Weighs the counts. `least` is what a map must save before it is drawn.
pub(super) fn weigh(
    bench: &Bench,
    losses: &[Losses],
    least: MoneyPerArea,
    units: UnitSystem,
) -> Weighed {
    let tried: Vec<CountTried> = losses.iter().map(|own| row(bench, losses, own)).collect();
    let stable: Vec<&CountTried> = tried.iter().filter(|row| row.is_stable).collect();
    let of_losses: Vec<f64> = stable.iter().map(|row| row.loss).collect();
    let best = stable.iter().min_by(|a, b| a.loss.total_cmp(&b.loss));
    let errors = Saving::errors_that_count(bench.cores.len());
    let error = best.map_or(0.0, |best| {
        errors * best.saved.standard_error.dollars_per_hectare()
    });
    let chosen = within_one_standard_error(&of_losses, error).map(|at| stable[at]);
    let (count, why) = match (chosen, best) {
        (Some(row), _) if row.count > 1 && pays(row, errors, least) => {
            (row.count, draw(row, &tried, units))
        }
        (_, Some(best)) if best.count > 1 => (1, not_worth(best, least, units)),
        _ => (1, nothing(&tried, units)),
    };
    Weighed { count, why, tried }
}

fn row(bench: &Bench, losses: &[Losses], own: &Losses) -> CountTried {
    let saved: Vec<f64> = losses[0]
        .total
        .iter()
        .zip(&own.total)
        .map(|(one, own)| one - own)
        .collect();
    CountTried {
        count: own.count,
        loss: own.total.iter().sum::<f64>() / own.total.len().max(1) as f64,
        saved: Saving::of(&saved, &bench.fold),
        stability: own.stability,
        is_stable: own.count == 1 || own.stability >= LEAST_AGREEMENT,
    }
}

fn pays(row: &CountTried, errors: f64, least: MoneyPerArea) -> bool {
    let saved = row.saved;
    let sure =
        saved.mean.dollars_per_hectare() - errors * saved.standard_error.dollars_per_hectare();
    sure > least.dollars_per_hectare()
}

const TESTED: &str = "tested on cores that were left out; 90 % interval";

fn draw(row: &CountTried, tried: &[CountTried], units: UnitSystem) -> String {
    let start = format!(
        "{} zones: they save {} against one rate, {TESTED}",
        row.count,
        row.saved.show(units)
    );
    let more = tried
        .iter()
        .filter(|other| other.count > row.count && other.is_stable);
    match more.min_by(|a, b| a.loss.total_cmp(&b.loss)) {
        Some(more) => format!(
            "{start}. {} zones would save {}: no clear gain over fewer.",
            more.count,
            more.saved.show(units)
        ),
        None => format!("{start}."),
    }
}

fn not_worth(best: &CountTried, least: MoneyPerArea, units: UnitSystem) -> String {
    format!(
        "One zone: {} zones would save {} against one rate ({TESTED}). That is not clearly more than the {} that a map asks for.",
        best.count,
        best.saved.show(units),
        least.show(units, 2)
    )
}

fn nothing(tried: &[CountTried], units: UnitSystem) -> String {
    match tried
        .iter()
        .filter(|row| row.count > 1)
        .min_by(|a, b| a.loss.total_cmp(&b.loss))
    {
        Some(row) if !row.is_stable => format!(
            "One zone: the lines of {} zones move too far where a few cores are left out (adjusted Rand index {}).",
            row.count,
            decimal(row.stability, 2)
        ),
        Some(row) if row.saved.mean.dollars_per_hectare() < 0.0 => format!(
            "One zone: {} zones would cost {} more than one rate, {TESTED}.",
            row.count,
            reversed(&row.saved).show(units)
        ),
        None => "One zone: more zones would lie elsewhere as soon as a few cores are left out."
            .to_owned(),
        _ => "One zone: more zones would change no rate.".to_owned(),
    }
}

/// A saving as a cost.
fn reversed(saved: &Saving) -> Saving {
    let minus =
        |money: MoneyPerArea| MoneyPerArea::from_dollars_per_hectare(-money.dollars_per_hectare());
    Saving {
        mean: minus(saved.mean),
        standard_error: saved.standard_error,
        interval: (minus(saved.interval.1), minus(saved.interval.0)),
    }
}
