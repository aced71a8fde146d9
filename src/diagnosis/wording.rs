use crate::analyte::{LayerKey, Method};
use crate::rulebook::Rule;
use crate::units::{KILOPASCALS_PER_PSI, UnitSystem};

/// A factor that turns the unit of a layer into the unit of a rule; `None` where the units do not agree.
pub(super) fn factor_between(layer: &str, rule: &str) -> Option<f64> {
    match (plain(layer), plain(rule)) {
        (layer, rule) if layer == rule => Some(1.0),
        ("kPa", "psi") => Some(1.0 / KILOPASCALS_PER_PSI),
        ("psi", "kPa") => Some(KILOPASCALS_PER_PSI),
        ("MPa", "psi") => Some(1_000.0 / KILOPASCALS_PER_PSI),
        ("kPa", "MPa") => Some(0.001),
        _ => None,
    }
}

/// A unit as the rules write it.
fn plain(unit: &str) -> &str {
    match unit.trim() {
        "mg/kg" => "ppm",
        "cmol/kg" | "cmolc/kg" | "meq/100g" => "meq/100 g",
        "ratio" | ":1" | "pH" => "",
        other => other,
    }
}

/// The unit that people of a system read, and the factor to it.
pub(super) fn shown_unit(unit: &str, system: UnitSystem) -> (f64, &str) {
    match (unit, system) {
        ("psi", UnitSystem::Metric) => (KILOPASCALS_PER_PSI, "kPa"),
        ("kPa", UnitSystem::UnitedStates) => (1.0 / KILOPASCALS_PER_PSI, "psi"),
        ("MPa", UnitSystem::UnitedStates) => (1_000.0 / KILOPASCALS_PER_PSI, "psi"),
        (other, _) => (1.0, other),
    }
}

/// A number with its unit as it is spoken: `12.4:1`, `58 %`, `342 psi`; a pH stands alone, its label says it.
pub(super) fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "" | "pH" | "ratio" => number.to_owned(),
        unit if unit.starts_with(':') => format!("{number}{unit}"),
        unit => format!("{number} {unit}"),
    }
}

/// A layer as the subject of a sentence: "pH (water, 0-6 in)".
pub(super) fn subject(key: &LayerKey, units: UnitSystem) -> String {
    let method = key.method.as_ref().map(|method| method.name().to_owned());
    let details: Vec<String> = method
        .into_iter()
        .chain(key.depth.map(|depth| depth.show(units)))
        .collect();
    if details.is_empty() {
        key.analyte.label()
    } else {
        format!("{} ({})", key.analyte.label(), details.join(", "))
    }
}

/// The tests that a group of rules takes, in words.
pub(super) fn wanted(group: &[&Rule], units: UnitSystem) -> String {
    let mut tests: Vec<String> = group
        .iter()
        .map(|rule| {
            let methods: Vec<&str> = rule.methods.iter().map(Method::name).collect();
            let by = if methods.is_empty() {
                String::new()
            } else {
                format!(" by {}", methods.join(" or "))
            };
            let depths: Vec<String> = rule.depths.iter().map(|depth| depth.show(units)).collect();
            format!("{}{by}, {}", rule.analyte.label(), depths.join(" or "))
        })
        .collect();
    tests.dedup();
    tests.join("; ")
}
