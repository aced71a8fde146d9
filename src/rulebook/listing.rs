use serde::Serialize;

use super::{Basis, Rulebook};
use crate::units::{UnitSystem, decimal};

/// One number of the rulebook in force, for `rulebook show`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Dotted key: `rule.salt.threshold`.
    pub key: String,
    /// The number or words, without the unit.
    pub value: String,
    /// Its unit; empty for a plain number.
    pub unit: String,
    /// What it is valid for and what it means: analyte, method, depth, consequence.
    pub what: String,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
    /// One line where research disputes it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub disputed: Option<String>,
}

impl Rulebook {
    /// Every threshold, limit and weight in force, with its basis and source.
    pub fn lines(&self, units: UnitSystem) -> impl Iterator<Item = Line> {
        let mut lines = self.rule_lines(units);
        lines.extend(self.crop_lines());
        lines.extend(self.product_lines(units));
        lines.extend(self.recipe_lines(units));
        lines.extend(self.fix_lines(units));
        lines.extend(self.rate_lines());
        lines.extend(self.inference_lines());
        lines.extend(self.season.lines(units));
        lines.extend(self.tests.iter().map(|test| Line {
            key: format!("test.{}.usd_a_sample", test.name),
            value: decimal(test.dollars_a_sample, 2),
            unit: "USD".to_owned(),
            what: test.what.clone(),
            basis: test.basis,
            source: test.source.clone(),
            disputed: None,
        }));
        lines.extend(self.limes.iter().map(|choice| Line {
            key: format!("lime.{}.rule", choice.buffer),
            value: choice.rule.clone(),
            unit: String::new(),
            what: format!("lime rule for the {} buffer", choice.buffer),
            basis: choice.basis,
            source: choice.source.clone(),
            disputed: None,
        }));
        lines.extend(self.numbers.figures.iter().map(|figure| Line {
            key: format!("number.{}", figure.name),
            value: decimal(figure.value, 6),
            unit: figure.unit.clone(),
            what: figure.what.clone(),
            basis: figure.basis,
            source: figure.source.clone(),
            disputed: None,
        }));
        lines.into_iter()
    }

    /// The rate tables, each row as one line.
    fn rate_lines(&self) -> Vec<Line> {
        let of = |rate: &super::RateTable| {
            let crops = if rate.crops.is_empty() {
                "every crop".to_owned()
            } else {
                rate.crops.join(", ")
            };
            let methods: Vec<&str> = rate
                .methods
                .iter()
                .map(crate::analyte::Method::name)
                .collect();
            let by = if methods.is_empty() {
                String::new()
            } else {
                format!(" by {}", methods.join(" or "))
            };
            let place = if rate.is_national {
                "national"
            } else {
                "of the region or your own"
            };
            Line {
                key: format!("rate.{}", rate.name),
                value: rate.form.words(),
                unit: String::new(),
                what: format!("{} of {crops}{by}, {place}", rate.nutrient.label()),
                basis: rate.basis,
                source: rate.source.clone(),
                disputed: rate.disputed.clone(),
            }
        };
        self.rates.iter().map(of).collect()
    }

    fn inference_lines(&self) -> Vec<Line> {
        let names = |methods: &[crate::analyte::Method]| match methods {
            [] => "a method that is not stated".to_owned(),
            methods => methods
                .iter()
                .map(crate::analyte::Method::name)
                .collect::<Vec<_>>()
                .join(" or "),
        };
        let mut lines = Vec::new();
        for inference in &self.inferences {
            let what = format!(
                "{} by {} from {}",
                inference.analyte.label(),
                names(&inference.to),
                names(&inference.from)
            );
            let reading = inference
                .is_at_least_the_reading
                .then_some("the reading itself");
            let ends = [
                ("least", "the smallest of", &inference.least, reading),
                ("most", "the greatest of", &inference.most, None),
            ];
            for (key, which, bounds, floor) in ends.into_iter().filter(|end| !end.2.is_empty()) {
                let texts: Vec<String> = bounds
                    .iter()
                    .map(|line| {
                        format!("{} x + {}", decimal(line.slope, 4), decimal(line.offset, 4))
                    })
                    .collect();
                let floor = floor
                    .map(|floor| format!(", or {floor}"))
                    .unwrap_or_default();
                lines.push(Line {
                    key: format!("inference.{}.{key}", inference.name),
                    value: texts.join("; "),
                    unit: String::new(),
                    what: format!("{what}, at {key} {which} these{floor}: {}", inference.why),
                    basis: inference.basis,
                    source: inference.source.clone(),
                    disputed: None,
                });
            }
        }
        lines
    }

    fn recipe_lines(&self, units: UnitSystem) -> Vec<Line> {
        let mut lines = Vec::new();
        for recipe in &self.recipes {
            let rates = [
                ("least", recipe.least, "least rate of the recipe"),
                (
                    "usual",
                    recipe.usual,
                    "rate where what it answers is barely short, and what a check strip tries",
                ),
                (
                    "most",
                    recipe.most,
                    "most, where what it answers is at its worst",
                ),
                (
                    "most_on_tight_ground",
                    recipe.most_on_tight_ground,
                    "most where the ground is too tight for a heavy planter",
                ),
            ];
            lines.extend(rates.map(|(key, rate, what)| Line {
                key: format!("recipe.{}.{key}", recipe.name),
                value: decimal(rate.number_in(units), 2),
                unit: crate::units::VolumePerArea::unit_in(units).to_owned(),
                what: what.to_owned(),
                basis: recipe.basis,
                source: recipe.source.clone(),
                disputed: None,
            }));
            lines.extend(recipe.ingredients.iter().map(|ingredient| {
                let (key, value, unit) = match (ingredient.share, ingredient.kilograms_per_litre) {
                    (Some(share), _) => ("share", decimal(100.0 * share, 3), "% by volume"),
                    (None, Some(mass)) => (
                        "grams_per_litre",
                        decimal(1_000.0 * mass, 3),
                        "g/L of the mix",
                    ),
                    (None, None) => ("fills", "true".to_owned(), ""),
                };
                Line {
                    key: format!(
                        "recipe.{}.ingredient.{}.{key}",
                        recipe.name, ingredient.product
                    ),
                    value,
                    unit: unit.to_owned(),
                    what: "ingredient of the mix".to_owned(),
                    basis: recipe.basis,
                    source: recipe.source.clone(),
                    disputed: None,
                }
            }));
        }
        lines
    }

    fn fix_lines(&self, units: UnitSystem) -> Vec<Line> {
        let mut lines = Vec::new();
        for fix in &self.fixes {
            let cost = (
                fix.cost.number_in(units),
                crate::units::MoneyPerArea::unit_in(units),
            );
            let of_cost = if fix.has_no_rate {
                "guess of the cost, which orders it and is not billed"
            } else {
                "cost besides the product"
            };
            let parts = [
                ("cost", cost.0, cost.1, of_cost),
                ("effort", fix.effort, "", "effort, 1 easy to 5 hard"),
                ("seasons", fix.seasons, "", "seasons until it works"),
                ("years", fix.years, "", "years that it works"),
                (
                    "years_on_sand",
                    fix.years_on_sand.unwrap_or(fix.years),
                    "",
                    "years that it works on sandy ground",
                ),
                (
                    "relief",
                    fix.relief,
                    "",
                    "share of the severity that it relieves",
                ),
            ];
            lines.extend(parts.map(|(key, value, unit, what)| Line {
                key: format!("fix.{}.{key}", fix.name),
                value: decimal(value, 4),
                unit: unit.to_owned(),
                what: format!("{}: {what}", fix.what),
                basis: fix.basis,
                source: fix.source.clone(),
                disputed: None,
            }));
        }
        lines
    }
}
