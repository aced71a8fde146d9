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

    #[expect(
        clippy::too_many_lines,
        reason = "a table: a line for each entry that is listed"
    )]
    fn rule_lines(&self, units: UnitSystem) -> Vec<Line> {
        let mut lines = Vec::new();
        for rule in &self.rules {
            let line = |key: &str, value: f64, what: String| Line {
                key: format!("rule.{}.{key}", rule.name),
                value: decimal(value, 6),
                unit: rule.unit.clone(),
                what,
                basis: rule.basis,
                source: rule.source.clone(),
                disputed: rule.disputed.clone(),
            };
            let methods = match rule.methods.as_slice() {
                [] => "any method".to_owned(),
                methods => methods
                    .iter()
                    .map(|m| m.name().to_owned())
                    .collect::<Vec<_>>()
                    .join(" or "),
            };
            let depths = rule
                .depths
                .iter()
                .map(|depth| depth.show(units))
                .collect::<Vec<_>>()
                .join(" or ");
            let subject = format!("{} by {methods}, {depths}", rule.analyte.label());
            lines.push(line(
                "threshold",
                rule.threshold,
                format!("{}: {subject}: {}", rule.factor.name(), rule.means),
            ));
            for (crop, threshold) in &rule.threshold_for {
                lines.push(line(
                    &format!("threshold_for.{crop}"),
                    *threshold,
                    format!("{}: {subject}, for {crop}", rule.factor.name()),
                ));
            }
            let enough = rule
                .enough_from
                .map(|enough| ("enough_from".to_owned(), enough));
            let for_crops = rule.enough_from_for.iter();
            let for_crops =
                for_crops.map(|(crop, enough)| (format!("enough_from_for.{crop}"), *enough));
            for (key, enough) in enough.into_iter().chain(for_crops) {
                let what = "enough by every state's table; between it and the threshold the region decides";
                lines.push(line(&key, enough, what.to_owned()));
            }
            lines.push(line(
                "worst",
                rule.worst,
                format!("severity is at its greatest, {}", decimal(rule.most, 3)),
            ));
            if let Some(from) = rule.closes_from {
                let what = "from here on it closes what it closes, for every crop";
                lines.push(line("closes_from", from, what.to_owned()));
            }
            if let Some(target) = rule.target {
                lines.push(line(
                    "target",
                    target,
                    "what an amendment aims at".to_owned(),
                ));
            }
            if let Some(limit) = rule.limit {
                let value = decimal(limit.number_in(units), 1);
                let unit = crate::units::Pressure::unit_in(units).to_owned();
                lines.push(Line {
                    value,
                    unit,
                    ..line("limit", 0.0, "cone index that counts as hard".to_owned())
                });
            }
            for condition in &rule.only_where {
                let what = format!(
                    "holds only where {} is {} this: {}",
                    condition.analyte.label(),
                    condition.side.name(),
                    condition.why
                );
                lines.push(Line {
                    unit: condition.unit.clone(),
                    basis: condition.basis,
                    source: condition.source.clone(),
                    ..line(
                        &format!("only_where.{}", condition.name),
                        condition.value,
                        what,
                    )
                });
            }
        }
        lines
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

    #[expect(
        clippy::too_many_lines,
        reason = "a table: a line for each entry that is listed"
    )]
    fn product_lines(&self, units: UnitSystem) -> Vec<Line> {
        let mut lines = Vec::new();
        for product in &self.products {
            let (rate, rate_unit) = product.metering.rate_unit(units);
            let (price, price_unit) = product.metering.price_unit(units);
            let mut push =
                |key: &str, value: f64, unit: &str, what: String, basis, source: &str| {
                    lines.push(Line {
                        key: format!("product.{}.{key}", product.name),
                        value: decimal(value, 4),
                        unit: unit.to_owned(),
                        what,
                        basis,
                        source: source.to_owned(),
                        disputed: None,
                    });
                };
            for (key, cap) in [("cap", product.cap), ("surface_cap", product.surface_cap)] {
                if let Some(cap) = cap {
                    push(
                        key,
                        cap / rate,
                        rate_unit,
                        "most per season".to_owned(),
                        product.cap_basis,
                        &product.cap_source,
                    );
                }
            }
            if product.smallest > 0.0 {
                push(
                    "smallest",
                    product.smallest / rate,
                    rate_unit,
                    "least that spreads evenly".to_owned(),
                    Basis::Own,
                    "",
                );
            }
            if let Some(value) = product.price {
                push(
                    "price",
                    value / price,
                    price_unit,
                    "price".to_owned(),
                    product.price_basis,
                    "put in your own under [prices] in the plan",
                );
            }
            for (name, percent) in product.analysis.parts() {
                push(
                    name,
                    percent,
                    "%",
                    format!("{name} in {}", product.label),
                    product.basis,
                    &product.source,
                );
            }
            for (key, percent, what) in [
                (
                    "effective_neutralizing_value",
                    product.effective_neutralizing_value,
                    "effective calcium carbonate, percent of pure fine lime",
                ),
                ("purity", product.purity, "purity as gypsum"),
            ] {
                if percent > 0.0 && !(key == "purity" && percent >= 100.0) {
                    push(
                        key,
                        percent,
                        "%",
                        what.to_owned(),
                        product.basis,
                        &product.source,
                    );
                }
            }
            if let Some(ratio) = product.carbon_to_nitrogen {
                let what = "carbon to nitrogen".to_owned();
                push(
                    "carbon_to_nitrogen",
                    ratio,
                    ":1",
                    what,
                    product.basis,
                    &product.source,
                );
            }
            if let Some(density) = product.density {
                push(
                    "density",
                    density.number_in(units),
                    crate::units::Density::unit_in(units),
                    "mass in a volume".to_owned(),
                    product.basis,
                    &product.source,
                );
            }
            if let Some((name, size)) = &product.pack {
                let (per_pack, unit) = product.metering.amount_unit(units);
                push(
                    "pack_size",
                    size / per_pack,
                    unit,
                    format!("bought in: {name}"),
                    product.price_basis,
                    "put in your supplier's pack",
                );
            }
            for condition in &product.only_where {
                let what = format!(
                    "used only where {} is {} this: {}",
                    condition.analyte.label(),
                    condition.side.name(),
                    condition.why
                );
                let key = format!("only_where.{}", condition.name);
                push(
                    &key,
                    condition.value,
                    &condition.unit,
                    what,
                    condition.basis,
                    &condition.source,
                );
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
            let parts = [
                ("cost", cost.0, cost.1, "cost besides the product"),
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
