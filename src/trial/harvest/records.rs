//! A yield monitor's columns become records on the planter's passes, in metres, seconds and kg/ha.

use super::YieldPoint;
use super::dry_yield::standard_moisture;
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
const PLAUSIBLE: std::ops::RangeInclusive<f64> = 300.0..=25_000.0;
/// A middle yield below this is rather a wrong unit than a harvest, kg/ha: 24 bu/ac of corn. Common practice.
const FEW_BELOW: f64 = 1_500.0;

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

/// The records of a file whose places stand on the field's plane already (`east` and `north`, metres). All are of treatment 0.
///
/// # Errors
/// Where no yield can be made of the columns, or a unit is not known.
pub fn records(
    file: &YieldFile,
    (east, north): (&[f64], &[f64]),
    context: &HarvestContext<'_>,
    remarks: &mut Vec<Remark>,
) -> Result<Vec<YieldPoint>, TrialError> {
    let columns = Columns {
        file,
        context,
        spacing: spacing(east, north),
    };
    let scaled = ScaledColumns::new(&columns)?;
    remarks.extend(scaled.remarks(&columns));
    let place = |at: usize| context.frame.along_across((east[at], north[at]));
    let records: Vec<YieldPoint> = (0..east.len())
        .map(|at| scaled.record(at, place(at)))
        .collect();
    remarks.extend(impossible(&records, &columns));
    Ok(records)
}

/// A harvest whose middle yield no grain crop makes: a unit is wrong, whoever said it.
fn impossible(records: &[YieldPoint], columns: &Columns<'_>) -> Option<Remark> {
    let standard = standard_moisture(columns.context.crop).unwrap_or(0.0);
    let yields: Vec<f64> = records.iter().map(|r| r.dry(r.flow, standard)).collect();
    let middle = median_of_known(&yields);
    let is_wrong = middle > 0.0 && !PLAUSIBLE.contains(&middle);
    let is_small = middle > 0.0 && middle < FEW_BELOW;
    (is_wrong || is_small).then(|| {
        let end = if is_wrong {
            "which no field of it makes: a unit or a column is wrong"
        } else {
            "a failed crop, or a unit or a column that is wrong"
        };
        let what = format!(
            "the middle yield of {} is {} t/ha, {end}",
            columns.context.crop,
            decimal(middle / 1_000.0, 2)
        );
        Remark::warning("impossible-yield", what)
            .at(columns.place())
            .help("check units and columns under [results.columns]")
    })
}

/// All columns with what their numbers are multiplied by, and what stands in for those that are not there.
struct ScaledColumns<'a> {
    distance: Option<Scaled<'a>>,
    width: Option<Scaled<'a>>,
    seconds: Option<Scaled<'a>>,
    dry: Option<Scaled<'a>>,
    wet: Option<Scaled<'a>>,
    flow: Option<Scaled<'a>>,
    moisture: Option<&'a YieldColumn>,
    time: Option<&'a YieldColumn>,
    spacing: f64,
    header_m: f64,
    interval: f64,
    /// Without a column the grain is taken to be as wet as it is sold.
    trade_moisture: f64,
    /// What a number of the moisture's column is multiplied by: 100 where it is a share.
    moisture_factor: f64,
}

impl<'a> ScaledColumns<'a> {
    fn new(columns: &Columns<'a>) -> Result<Self, TrialError> {
        let distance = columns.lengths(YieldRole::Distance)?;
        let width = columns.lengths(YieldRole::Width)?;
        let seconds = columns.seconds();
        let dry = columns.yields(YieldRole::DryYield)?;
        let wet = match dry {
            Some(_) => None,
            None => columns.yields(YieldRole::Yield)?,
        };
        let flow = match (&dry, &wet) {
            (None, None) => columns.flow(distance.as_ref(), width.as_ref(), seconds.as_ref())?,
            _ => None,
        };
        let place = columns.place();
        if dry.is_none() && wet.is_none() && flow.is_none() {
            return Err(TrialError::NoYield {
                place,
                columns: columns.file.unused.join(", "),
            });
        }
        let interval = columns.interval();
        if flow.is_some() && seconds.is_none() && !interval.is_normal() {
            return Err(TrialError::NoSeconds { place });
        }
        Ok(Self {
            distance,
            width,
            seconds,
            dry,
            wet,
            flow,
            moisture_factor: columns.of(YieldRole::Moisture).map_or(1.0, |column| {
                if median_of_known(&column.values) < 1.0 {
                    100.0
                } else {
                    1.0
                }
            }),
            moisture: columns.of(YieldRole::Moisture),
            time: columns.of(YieldRole::Time),
            spacing: columns.spacing,
            header_m: columns.context.header_m,
            interval,
            trade_moisture: standard_moisture(columns.context.crop).unwrap_or(0.0),
        })
    }

    fn remarks(&self, columns: &Columns<'_>) -> Vec<Remark> {
        let mut remarks = Vec::new();
        if self.moisture.is_none() && self.dry.is_none() {
            let what = "there is no column of grain moisture; the yields are taken as they are, and a product that changes how wet the grain is will look better or worse than it is";
            remarks.push(Remark::warning("no-moisture", what).at(columns.place()));
        }
        if let Some(column) = self.moisture.filter(|_| self.moisture_factor > 1.0) {
            let what = format!(
                "the middle moisture is {}: taken as a share, {} %",
                decimal(median_of_known(&column.values), 3),
                decimal(100.0 * median_of_known(&column.values), 1)
            );
            let place = columns.place().in_column(column.name.as_str());
            remarks.push(Remark::warning("moisture-as-share", what).at(place));
        }
        if let (Some(wet), Some(_)) = (&self.wet, self.moisture)
            && !wet.column.is_said
        {
            let what = "the yield is taken as harvested and brought to trade moisture";
            let remark = Remark::assumption("yield-taken-as-wet", what);
            let help = format!(
                "if it is at trade moisture already, write \"{}\" = {{ is = \"dry_yield\" }} under [results.columns]",
                wet.column.name
            );
            let place = columns.place().in_column(wet.column.name.as_str());
            remarks.push(remark.at(place).help(help));
        }
        let all = [
            &self.distance,
            &self.width,
            &self.dry,
            &self.wet,
            &self.flow,
            &self.seconds,
        ];
        remarks.extend(
            all.into_iter()
                .flatten()
                .filter_map(|found| found.remark(columns)),
        );
        remarks
    }

    fn record(&self, at: usize, (along, across): (f64, f64)) -> YieldPoint {
        let scaled = |found: &Option<Scaled<'_>>, otherwise: f64| {
            found
                .as_ref()
                .map_or(otherwise, |scaled| scaled.column.values[at] * scaled.factor)
        };
        let plain = |column: Option<&YieldColumn>, otherwise: f64| {
            column.map_or(otherwise, |column| column.values[at])
        };
        YieldPoint {
            along,
            across,
            time: plain(self.time, f64::NAN),
            flow: scaled(&self.flow, f64::NAN),
            seconds: scaled(&self.seconds, self.interval),
            distance: scaled(&self.distance, self.spacing),
            width: scaled(&self.width, self.header_m),
            moisture: self.moisture.map_or(self.trade_moisture, |column| {
                column.values[at] * self.moisture_factor
            }),
            yields: scaled(&self.dry, scaled(&self.wet, f64::NAN)),
            is_dry: self.dry.is_some() || self.moisture.is_none(),
            treatment: 0,
        }
    }
}

/// The middle cutting width of a file, metres; `None` without such a column.
///
/// # Errors
/// Where its unit is not known.
pub fn middle_width(
    file: &YieldFile,
    context: &HarvestContext<'_>,
) -> Result<Option<f64>, TrialError> {
    let columns = Columns {
        file,
        context,
        spacing: context.header_m,
    };
    let width = columns.lengths(YieldRole::Width)?;
    Ok(width.map(|width| median_of_known(&width.column.values) * width.factor))
}

/// Median distance between one record and the next, metres.
fn spacing(east: &[f64], north: &[f64]) -> f64 {
    let steps: Vec<f64> = east
        .windows(2)
        .zip(north.windows(2))
        .map(|(x, y)| (x[1] - x[0]).hypot(y[1] - y[0]))
        .filter(|step| *step > 0.0)
        .collect();
    median_of_known(&steps)
}

/// A column with what a number of it is multiplied by.
struct Scaled<'a> {
    column: &'a YieldColumn,
    factor: f64,
    unit: String,
    /// Why the unit was taken, where neither the plan nor the name says it.
    guess: Option<String>,
    /// Whether another unit would make a possible yield too.
    is_ambiguous: bool,
}

impl Scaled<'_> {
    fn remark(&self, columns: &Columns<'_>) -> Option<Remark> {
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

struct Columns<'a> {
    file: &'a YieldFile,
    context: &'a HarvestContext<'a>,
    spacing: f64,
}

impl<'a> Columns<'a> {
    fn of(&self, role: YieldRole) -> Option<&'a YieldColumn> {
        self.file.columns.iter().find(|column| column.role == role)
    }

    fn place(&self) -> Place {
        Place::file(self.file.table.file.clone())
    }

    fn unknown(&self, column: &YieldColumn, unit: &str, allowed: &str) -> TrialError {
        TrialError::UnknownUnit {
            place: self.place().in_column(column.name.as_str()),
            unit: unit.to_owned(),
            allowed: allowed.to_owned(),
        }
    }

    /// A column of lengths. Without a unit the one is taken that fits what is known: the way between records, the header.
    fn lengths(&self, role: YieldRole) -> Result<Option<Scaled<'a>>, TrialError> {
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

    fn seconds(&self) -> Option<Scaled<'a>> {
        let column = self.of(YieldRole::Seconds)?;
        Some(said(column, 1.0, "s"))
    }

    /// Seconds between records where no column says them.
    fn interval(&self) -> f64 {
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

    fn yields(&self, role: YieldRole) -> Result<Option<Scaled<'a>>, TrialError> {
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

    fn flow(
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
