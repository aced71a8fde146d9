//! A yield monitor's columns become records on the planter's passes, in metres, seconds and kg/ha.

use super::YieldPoint;
use super::column_units::{Columns, FEW_BELOW, HarvestContext, PLAUSIBLE, Scaled};
use super::dry_yield::standard_moisture;
use super::passes::median_of_known;
use crate::intake::{YieldColumn, YieldFile};
use crate::plan::YieldRole;
use crate::remark::Remark;
use crate::trial::error::TrialError;
use crate::units::decimal;

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
