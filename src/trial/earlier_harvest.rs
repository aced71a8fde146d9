//! How much neighbouring passes differ where nothing was left out, measured on an earlier harvest of the field.

use super::contrasts::{Cut, Ground, Line, Table, lines};
use super::error::TrialError;
use super::harvest::{CleanPoint, HarvestContext, clean, records, standard_moisture};
use super::layout::{Draw, Run};
use super::machines::Machines;
use super::statistics::{Contrast, FEWEST_PLACEBOS, Scatter, least_difference, scatter};
use crate::intake::YieldFile;
use crate::remark::Remark;
use crate::units::{Length, UnitSystem};

/// An earlier harvest of the field, read; its places stand on the field's plane.
#[derive(Debug, Clone)]
pub struct EarlierHarvest {
    /// The file.
    pub file: YieldFile,
    /// Metres east of the plane's middle.
    pub east: Vec<f64>,
    /// Metres north of it.
    pub north: Vec<f64>,
}

impl EarlierHarvest {
    /// The records that can be believed. No treatment is known in it: whatever was tried then counts as chance.
    ///
    /// # Errors
    /// Where no yield can be made of the columns.
    pub(super) fn clean(
        &self,
        machines: &Machines,
        crop: &str,
        units: UnitSystem,
        remarks: &mut Vec<Remark>,
    ) -> Result<Vec<CleanPoint>, TrialError> {
        let context = HarvestContext {
            frame: &machines.frame,
            crop,
            units,
            header_m: machines.header_m,
        };
        let places = (&self.east[..], &self.north[..]);
        let points = records(&self.file, places, &context, remarks)?;
        Ok(clean(&points, standard_moisture(crop).unwrap_or(0.0), true).points)
    }
}

/// The lines that an earlier harvest left on the field.
pub(super) struct EarlierLines<'a> {
    machines: &'a Machines,
    cut: Cut,
    lines: Vec<Line>,
}

impl<'a> EarlierLines<'a> {
    /// `None` without records.
    pub fn new(points: &[CleanPoint], machines: &'a Machines) -> Option<Self> {
        let along = || points.iter().map(|point| point.along);
        let from = along().reduce(f64::min)?;
        let to = along().reduce(f64::max)?;
        let cut = Cut::over(from, to);
        let lines = lines(points, machines, &cut);
        Some(Self {
            machines,
            cut,
            lines,
        })
    }

    fn table(&self, positions: &[Vec<Run>]) -> Table {
        let ground = Ground { positions };
        Table::new(&self.lines, &self.cut, &ground, self.machines, (&[], &[]))
    }

    /// The scatter over passes anywhere; `None` with too few to tell.
    pub fn anywhere(&self, positions: &[Vec<Run>]) -> Option<Scatter> {
        let table = self.table(positions);
        let contrasts: Vec<Contrast> = table
            .placebos
            .iter()
            .filter_map(|&at| Some(table.contrast(at, |_| 1.0)?.contrast))
            .collect();
        scatter(&contrasts).filter(|found| found.placebos >= FEWEST_PLACEBOS)
    }

    /// The least gain that the checks of a draw show in a zone, by the scatter of that zone's passes; where they are too few, by that of passes
    /// `anywhere`. `None` where the earlier harvest does not reach the checks.
    pub fn least_seen(&self, zone: u32, drawn: &Draw, anywhere: &Scatter) -> Option<f64> {
        let table = self.table(&drawn.positions);
        let in_zone = |number: u32| f64::from(u8::from(number == zone));
        let contrast = |at: usize| Some(table.contrast(at, in_zone)?.contrast);
        let placebos: Vec<Contrast> = table
            .placebos
            .iter()
            .filter_map(|&at| contrast(at))
            .collect();
        let own = scatter(&placebos).filter(|found| found.placebos >= FEWEST_PLACEBOS);
        let checks: Vec<Contrast> = drawn
            .checks
            .iter()
            .filter_map(|check| contrast(check.position))
            .collect();
        least_difference(&checks, own.as_ref().unwrap_or(anywhere))
    }
}

/// What is said of an earlier harvest that was used, or could not be.
pub(super) fn remark(
    harvest: &EarlierHarvest,
    found: Option<&Scatter>,
    records: usize,
    shortest_m: f64,
    units: UnitSystem,
) -> Remark {
    let file = &harvest.file.table.file;
    match found {
        Some(found) => {
            let what = format!(
                "how much neighbouring passes differ is taken from {} passes of the earlier harvest \"{file}\" ({records} clean records)",
                found.placebos
            );
            Remark::info("scatter-from-harvest", what)
        }
        None => {
            let what = format!(
                "the earlier harvest \"{file}\" has fewer than {FEWEST_PLACEBOS} passes of {} with one on either side ({records} clean records): how \
                 much neighbouring passes differ is a guess all the same",
                Length::from_metres(shortest_m).show(units, 0)
            );
            Remark::warning("scatter-not-known", what)
                .help("name a harvest of the same crop, cut along the same heading with the same header, or write strips.spread")
        }
    }
}
