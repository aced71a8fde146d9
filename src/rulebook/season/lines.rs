//! The season's rules as lines of `rulebook show`.

use super::{SeasonRules, StandForm};
use crate::rulebook::{Basis, Line};
use crate::units::{MassPerArea, UnitSystem, VolumePerArea, decimal};

/// A line without a dispute.
fn line(
    key: String,
    (value, unit): (String, &str),
    what: String,
    basis: Basis,
    source: &str,
) -> Line {
    Line {
        key,
        value,
        unit: unit.to_owned(),
        what,
        basis,
        source: source.to_owned(),
        disputed: None,
    }
}

impl SeasonRules {
    /// Every table and limit, one line each.
    pub(in crate::rulebook) fn lines(&self, units: UnitSystem) -> Vec<Line> {
        let mut lines = self.stand_lines();
        lines.extend(self.brix.iter().map(|table| {
            let (from, to) = table.range();
            let readings: Vec<String> = table.at.iter().map(|at| decimal(*at, 1)).collect();
            line(
                format!("brix.{}", table.name),
                (format!("{} to {}", decimal(from, 1), decimal(to, 1)), "C"),
                format!(
                    "temperature table of the refractometer: what is added to a reading, for readings of {} %",
                    readings.join(", ")
                ),
                table.basis,
                &table.source,
            )
        }));
        lines.extend(self.tissue_lines());
        lines.extend(self.leaf_salt.iter().map(|salt| {
            line(
                format!("leaf_salt.{}.most", salt.crop),
                (decimal(salt.most, 3), "% (g in 100 mL)"),
                "most salt in the spray".to_owned(),
                salt.basis,
                &salt.source,
            )
        }));
        lines.extend(self.foliar_lines(units));
        lines.extend(self.no_leaf_feed.iter().map(|rule| {
            line(
                format!("no_leaf_feed.{}", rule.factor),
                ("none".to_owned(), ""),
                rule.why.clone(),
                rule.basis,
                &rule.source,
            )
        }));
        lines
    }

    fn tissue_lines(&self) -> Vec<Line> {
        let mut lines: Vec<Line> = self
            .tissue
            .iter()
            .map(|rule| {
                line(
                    format!("tissue.{}.below", rule.name),
                    (decimal(rule.below, 4), rule.unit),
                    format!(
                        "{} in the {} of {}",
                        rule.factor.name(),
                        rule.part,
                        rule.crop
                    ),
                    rule.basis,
                    &rule.source,
                )
            })
            .collect();
        lines.extend(self.tissue.iter().map(|rule| {
            let (from, to) = rule.days;
            line(
                format!("tissue.{}.days", rule.name),
                (
                    format!("{} to {}", decimal(from, 0), decimal(to, 0)),
                    "days",
                ),
                format!("after planting, when the {} is of that stage", rule.part),
                rule.basis,
                &rule.source,
            )
        }));
        lines
    }

    fn stand_lines(&self) -> Vec<Line> {
        let mut lines: Vec<Line> = Vec::new();
        for rule in &self.stands {
            let value = match &rule.form {
                StandForm::Table {
                    plants, percent, ..
                } => {
                    format!("{} days x {} stands", percent.len(), plants.len())
                }
                StandForm::Curve { points, .. } => {
                    let points = points.iter().map(|(plants, percent)| {
                        format!("{} at {}", decimal(*percent, 1), decimal(*plants, 0))
                    });
                    points.collect::<Vec<_>>().join(", ")
                }
            };
            lines.push(line(
                format!("stand.{}", rule.name),
                (value, "%"),
                format!(
                    "percent of the best yield of {}: {}",
                    rule.crop, rule.limits
                ),
                rule.basis,
                &rule.source,
            ));
        }
        lines.extend(self.uneven.iter().map(|rule| {
            let (least, most) = rule.loss;
            line(
                format!("uneven.{}", rule.name),
                (
                    format!("{} to {}", decimal(least, 1), decimal(most, 1)),
                    "%",
                ),
                format!(
                    "loss of {} where {} % of the plants and more came {} weeks late",
                    rule.crop,
                    decimal(rule.share_from, 1),
                    decimal(rule.weeks, 1)
                ),
                rule.basis,
                &rule.source,
            )
        }));
        lines
    }

    fn foliar_lines(&self, units: UnitSystem) -> Vec<Line> {
        let mut lines = Vec::new();
        for rule in &self.foliar {
            let mass = |amount: MassPerArea| {
                (
                    decimal(amount.number_in(units), 3),
                    MassPerArea::unit_in(units),
                )
            };
            let rows = [
                ("rate", mass(rule.rate), "nutrient of one leaf feed"),
                (
                    "season_most",
                    mass(rule.season_most),
                    "nutrient of all leaf feeds of a season",
                ),
                (
                    "water",
                    (
                        decimal(rule.water.number_in(units), 1),
                        VolumePerArea::unit_in(units),
                    ),
                    "water of one leaf feed",
                ),
                (
                    "spray_most",
                    (decimal(rule.spray_most, 3), "% (g in 100 mL)"),
                    "most of the product in the spray",
                ),
                (
                    "feeds",
                    (rule.feeds.to_string(), ""),
                    "most leaf feeds of it in a season",
                ),
            ];
            lines.extend(rule.last_day.map(|day| {
                line(
                    format!("foliar.{}.last_day", rule.name),
                    (decimal(day, 0), "days"),
                    "after planting, the last of its stage".to_owned(),
                    rule.basis,
                    &rule.source,
                )
            }));
            lines.extend(rows.map(|(key, value, what)| {
                line(
                    format!("foliar.{}.{key}", rule.name),
                    value,
                    format!("{what}, {}", rule.factor.name()),
                    rule.basis,
                    &rule.source,
                )
            }));
        }
        lines
    }
}
