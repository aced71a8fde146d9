//! The columns of a yield monitor in metres, seconds and kg/ha: units as they are said, else as they fit.

use super::passes::median_of_known;
use crate::analyte::{Analyte, Catalogue, Conversion};
use crate::intake::{YieldColumn, YieldFile};
use crate::plan::YieldRole;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::trial::error::TrialError;
use crate::trial::frame::Frame;
use crate::units::{KILOGRAMS_PER_POUND, METRES_PER_FOOT, UnitSystem, decimal};

/// Median yields of a harvest that can be, kg/ha: below it is a failed crop, above it no grain crop of a whole field. Common practice.
pub(super) const PLAUSIBLE: std::ops::RangeInclusive<f64> = 300.0..=25_000.0;
/// A middle yield below this is rather a wrong unit than a harvest, kg/ha: 24 bu/ac of corn. Common practice.
pub(super) const FEW_BELOW: f64 = 1_500.0;

/// What is known beside the file.
#[derive(Debug, Clone, Copy)]
pub struct HarvestContext<'a> {
    /// The planter's passes.
    pub frame: &'a Frame,
    /// Crop, for bushels.
    pub crop: &'a str,
    /// Units of the plan: what a column without a unit is taken to be in.
    pub units: UnitSystem,
    /// Width of the combine's header, metres.
    pub header_m: f64,
}

/// A column with what a number of it is multiplied by.
pub(super) struct Scaled<'a> {
    pub(super) column: &'a YieldColumn,
    pub(super) factor: f64,
    pub(super) unit: String,
    /// Why the unit was taken, where neither the plan nor the name says it.
    pub(super) guess: Option<String>,
    /// Whether another unit would make a possible yield too.
    pub(super) is_ambiguous: bool,
}

impl Scaled<'_> {
    pub(super) fn remark(&self, columns: &Columns<'_>) -> Option<Remark> {
        let why = self.guess.as_ref()?;
        let what = format!("the unit is not said; {} is taken: {why}", self.unit);
        let remark = if self.is_ambiguous {
            Remark::warning(
                "yield-unit-assumed",
                format!("{what}; another unit would make a possible yield too"),
            )
        } else {
            Remark::assumption("yield-unit-assumed", what)
        };
        let help = format!(
            "write \"{}\" = {{ is = \"{}\", unit = \"{}\" }} under [results.columns]",
            self.column.name,
            self.column.role.name(),
            self.unit
        );
        Some(
            remark
                .at(columns.place().in_column(self.column.name.as_str()))
                .help(help),
        )
    }
}

pub(super) struct Columns<'a> {
    pub(super) file: &'a YieldFile,
    pub(super) context: &'a HarvestContext<'a>,
    pub(super) spacing: f64,
}

impl<'a> Columns<'a> {
    pub(super) fn of(&self, role: YieldRole) -> Option<&'a YieldColumn> {
        self.file.columns.iter().find(|column| column.role == role)
    }

    pub(super) fn place(&self) -> Place {
        Place::file(self.file.table.file.clone())
    }

    pub(super) fn unknown(&self, column: &YieldColumn, unit: &str, allowed: &str) -> TrialError {
        TrialError::UnknownUnit {
            place: self.place().in_column(column.name.as_str()),
            unit: unit.to_owned(),
            allowed: allowed.to_owned(),
        }
    }

    /// A column of lengths. Without a unit the one is taken that fits what is known: the way between records, the header.
    pub(super) fn lengths(&self, role: YieldRole) -> Result<Option<Scaled<'a>>, TrialError> {
        const UNITS: [(&str, f64); 4] = [
            ("m", 1.0),
            ("ft", METRES_PER_FOOT),
            ("in", 0.0254),
            ("cm", 0.01),
        ];
        let Some(column) = self.of(role) else {
            return Ok(None);
        };
        if let Some(unit) = &column.unit {
            let plain = match unit.as_str() {
                "feet" => "ft",
                "inch" | "inches" => "in",
                other => other,
            };
            let known = UNITS.iter().find(|(name, _)| *name == plain);
            let (_, factor) = known.ok_or_else(|| self.unknown(column, unit, "m, ft, in, cm"))?;
            return Ok(Some(said(column, *factor, unit)));
        }
        let (known, what) = match role {
            YieldRole::Width => (self.context.header_m, "the header"),
            _ => (self.spacing, "the way between records"),
        };
        let middle = median_of_known(&column.values);
        let far = |factor: f64| (middle * factor / known).ln().abs();
        let (unit, factor) = UNITS
            .into_iter()
            .min_by(|a, b| far(a.1).total_cmp(&far(b.1)))
            .unwrap_or(UNITS[0]);
        Ok(Some(Scaled {
            column,
            factor,
            unit: unit.to_owned(),
            guess: Some(format!(
                "the middle value {} is then {} m, as {what}",
                decimal(middle, 1),
                decimal(middle * factor, 2)
            )),
            is_ambiguous: false,
        }))
    }

    pub(super) fn seconds(&self) -> Option<Scaled<'a>> {
        let column = self.of(YieldRole::Seconds)?;
        Some(said(column, 1.0, "s"))
    }

    /// Seconds between records where no column says them.
    pub(super) fn interval(&self) -> f64 {
        let Some(time) = self.of(YieldRole::Time) else {
            return f64::NAN;
        };
        let steps: Vec<f64> = time
            .values
            .windows(2)
            .map(|pair| (pair[1] - pair[0]).abs())
            .filter(|step| *step > 0.0)
            .collect();
        median_of_known(&steps)
    }

    pub(super) fn yields(&self, role: YieldRole) -> Result<Option<Scaled<'a>>, TrialError> {
        let Some(column) = self.of(role) else {
            return Ok(None);
        };
        let factor_of = |unit: &str| match Catalogue::built_in().conversion(
            &Analyte::Yield,
            unit,
            self.context.crop,
        ) {
            Ok(Conversion::Factor(factor) | Conversion::PerArea(factor)) => Some(factor),
            Err(_) => None,
        };
        if let Some(unit) = &column.unit {
            let plain = unit.replace("tonnes", "tonne").replace("q/ha", "dt/ha");
            let factor = factor_of(&plain).ok_or_else(|| {
                self.unknown(column, unit, "bu/ac, lb/ac, kg/ha, tonne/ha, dt/ha")
            })?;
            return Ok(Some(said(column, factor, unit)));
        }
        let order = match self.context.units {
            UnitSystem::UnitedStates => ["bu/ac", "lb/ac", "t/ha", "kg/ha", "dt/ha"],
            UnitSystem::Metric => ["t/ha", "kg/ha", "dt/ha", "bu/ac", "lb/ac"],
        };
        let middle = median_of_known(&column.values);
        let possible = order.iter().filter_map(|unit| {
            let factor = factor_of(unit)?;
            PLAUSIBLE
                .contains(&(middle * factor))
                .then_some((*unit, factor))
        });
        let mut possible = likelier_first(possible, |factor| middle * factor);
        let Some((unit, factor)) = possible.next() else {
            return Err(self.unknown(column, "none", "bu/ac, lb/ac, kg/ha, tonne/ha, dt/ha"));
        };
        Ok(Some(Scaled {
            column,
            factor,
            unit: unit.to_owned(),
            guess: Some(format!("the middle value is {}", decimal(middle, 1))),
            is_ambiguous: possible.next().is_some(),
        }))
    }

    pub(super) fn flow(
        &self,
        distance: Option<&Scaled<'_>>,
        width: Option<&Scaled<'_>>,
        seconds: Option<&Scaled<'_>>,
    ) -> Result<Option<Scaled<'a>>, TrialError> {
        const UNITS: [(&str, f64); 3] = [
            ("lb/s", KILOGRAMS_PER_POUND),
            ("kg/s", 1.0),
            ("t/h", 1_000.0 / 3_600.0),
        ];
        let Some(column) = self.of(YieldRole::Flow) else {
            return Ok(None);
        };
        if let Some(unit) = &column.unit {
            let plain = match unit.as_str() {
                "lbs/s" | "lb/sec" => "lb/s",
                other => other,
            };
            let known = UNITS.iter().find(|(name, _)| *name == plain);
            let (_, factor) = known.ok_or_else(|| self.unknown(column, unit, "lb/s, kg/s, t/h"))?;
            return Ok(Some(said(column, *factor, unit)));
        }
        let middle = |scaled: Option<&Scaled<'_>>, otherwise: f64| {
            scaled.map_or(otherwise, |scaled| {
                median_of_known(&scaled.column.values) * scaled.factor
            })
        };
        let ground = middle(distance, self.spacing) * middle(width, self.context.header_m);
        let per_unit = 10_000.0 * middle(seconds, self.interval()) / ground;
        let flow = median_of_known(&column.values);
        let order = match self.context.units {
            UnitSystem::UnitedStates => [UNITS[0], UNITS[1], UNITS[2]],
            UnitSystem::Metric => [UNITS[1], UNITS[2], UNITS[0]],
        };
        let possible = order
            .into_iter()
            .filter(|(_, factor)| PLAUSIBLE.contains(&(flow * factor * per_unit)));
        let mut possible = likelier_first(possible, |factor| flow * factor * per_unit);
        let Some((unit, factor)) = possible.next() else {
            return Err(self.unknown(column, "none", "lb/s, kg/s, t/h"));
        };
        Ok(Some(Scaled {
            column,
            factor,
            unit: unit.to_owned(),
            guess: Some(format!(
                "the middle yield is then {} t/ha",
                decimal(flow * factor * per_unit / 1_000.0, 1)
            )),
            is_ambiguous: possible.next().is_some(),
        }))
    }
}

/// Units that make a usual yield before those that make a very small one; else in their order.
fn likelier_first(
    possible: impl Iterator<Item = (&'static str, f64)>,
    yields: impl Fn(f64) -> f64,
) -> impl Iterator<Item = (&'static str, f64)> {
    let (usual, few): (Vec<_>, Vec<_>) =
        possible.partition(|(_, factor)| yields(*factor) >= FEW_BELOW);
    usual.into_iter().chain(few)
}

fn said<'a>(column: &'a YieldColumn, factor: f64, unit: &str) -> Scaled<'a> {
    Scaled {
        column,
        factor,
        unit: unit.to_owned(),
        guess: None,
        is_ambiguous: false,
    }
}

#[cfg(test)]
mod tests {
    use super::likelier_first;

    /// 10.6 are tonnes a hectare and no failed crop in bushels; 160 are bushels, which come first.
    #[test]
    fn a_usual_yield_comes_before_a_very_small_one() {
        let units = [("bu/ac", 62.77), ("t/ha", 1_000.0)];
        let first = |middle: f64| {
            let possible = units.into_iter();
            likelier_first(possible, |factor| middle * factor).next()
        };
        assert_eq!(first(10.6).map(|(unit, _)| unit), Some("t/ha"));
        assert_eq!(first(160.0).map(|(unit, _)| unit), Some("bu/ac"));
    }
}
