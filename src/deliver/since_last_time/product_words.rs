//! What was ordered, what was applied, and what the chemistry said, in words.

use crate::analyte::Catalogue;
use crate::deliver::numbers::{grouped, layer_number, layer_unit, percent, with_unit};
use crate::past::{ChemistrySince, ProductSince};
use crate::units::{Metering, UnitSystem};

/// "calcitic lime: 2,000 lb/ac ordered, 1,980 lb/ac applied (212 records of the log)".
pub fn product_line(product: &ProductSince, units: UnitSystem) -> String {
    let rate = |value: f64| rate(value, product.form, units);
    let applied = match product.applied {
        Some(applied) => format!(
            "{} applied by the log, which reaches {} of it",
            rate(applied.rate),
            percent(applied.share)
        ),
        None => "what was applied is not known: no log of it is named".to_owned(),
    };
    format!(
        "{}: {} ordered on this ground, {applied}",
        product.label,
        rate(product.ordered)
    )
}

/// A rate with its unit.
fn rate(value: f64, form: Metering, units: UnitSystem) -> String {
    let (size, unit) = form.rate_unit(units);
    let number = value / size;
    format!("{} {unit}", grouped(number, usize::from(number < 100.0)))
}

/// What the formula said beside what the soil test says: both numbers, whatever they are.
pub fn chemistry_line(label: &str, chemistry: &ChemistrySince, units: UnitSystem) -> String {
    let unit = Catalogue::built_in().canonical_unit(&chemistry.layer.analyte);
    let number = |value: f64| layer_number(&chemistry.layer, unit, value, units);
    let show = |value: f64| with_unit(&number(value), layer_unit(&chemistry.layer, unit, units));
    let layer = chemistry.layer.show(units);
    let expected = show(chemistry.expected);
    if let Some(why) = &chemistry.not_judged {
        return format!(
            "{label}: what the formula says of {layer} is not compared with the soil test: {why}"
        );
    }
    let Some(found) = &chemistry.found else {
        return format!(
            "{label}: the formula says {layer} {expected} now; the two years' soil tests cannot be compared, so whether it did is not known"
        );
    };
    let (low, high) = found.interval;
    let start = found.then.mean;
    let measured = format!(
        "the soil test {} (90 %: {} to {})",
        show(found.now.mean),
        number(start + low),
        number(start + high)
    );
    let due = chemistry.not_due.map_or_else(String::new, |seasons| {
        format!(
            "; it is given {} seasons to work and is not due yet",
            crate::units::decimal(seasons, 1)
        )
    });
    let verdict = if chemistry.agrees == Some(true) {
        "the two agree within the error"
    } else if found.now.mean < chemistry.expected {
        "it is less than the formula says"
    } else {
        "it is more than the formula says"
    };
    format!(
        "{label}: {layer} was {}; the formula says {expected} now, {measured}: {verdict}{due}",
        show(start)
    )
}
