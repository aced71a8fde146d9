//! What the work will take, told before it begins: from the files' sizes before they are read, from cells, layers, results and
//! corners before the maps are drawn. What is more than the limit is refused with words; an allocation that fails would end
//! the program without any.

use std::path::Path;

use super::Grant;
use crate::error::Error;
use crate::field::{FieldError, GridEstimate};
use crate::files::Files;
use crate::intake::Survey;
use crate::plan::{Settings, WorkLimits};
use crate::remark::Remark;
use crate::units::{DataSize, Quantity, TimeSpan};

/// Time where the plan does not say how long it may take.
const USUAL_TIME: TimeSpan = TimeSpan::from_seconds(3_600.0);
/// Result files that are worth a word beforehand.
const MUCH_DISK: DataSize = DataSize::from_bytes(200e6);

// Own measurements of the whole program, 2026-11: fields of 1 million cells and 5 layers, of a quarter million cells and 21 layers, of
// 100,000 cores, of 1 million sensor readings, of outlines with 400,000 corners; rounded up.
const PROGRAM_BYTES: f64 = 50e6;
const BYTES_PER_RESULT: f64 = 120.0;
const BYTES_PER_CORNER: f64 = 700.0;
const BYTES_PER_FILE_BYTE: f64 = 4.0;
/// A GeoJSON text is held as a tree.
const BYTES_PER_GEOJSON_BYTE: f64 = 20.0;
const FILES_ALONE: DataSize = DataSize::from_bytes(2e6);
const FILE_BYTES_PER_CELL_AND_LAYER: f64 = 8.0;
const SECONDS_PER_CELL_AND_LAYER: f64 = 1e-6;
/// What is cut at the outline takes its time from pairs of corners (measured: a star of 100,000 corners, 10 s).
const SECONDS_PER_PAIR_OF_CORNERS: f64 = 1e-9;

/// What a run will take at most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// Cells of the grid.
    pub cells: f64,
    /// Layers that are mapped.
    pub layers: usize,
    /// Memory.
    pub memory: DataSize,
    /// Size of all result files.
    pub disk: DataSize,
    /// Time, about.
    pub time: TimeSpan,
    /// Memory that a larger cell does not save.
    fixed_memory: DataSize,
}

impl Demand {
    /// Estimates it from what was read and the grid that it will be drawn on.
    pub(super) fn new(survey: &Survey, grid: &GridEstimate) -> Self {
        let layers = layers(survey);
        let cells_and_layers = grid.cells * layers as f64;
        let fixed =
            PROGRAM_BYTES + BYTES_PER_RESULT * results(survey) + BYTES_PER_CORNER * corners(survey);
        Self {
            cells: grid.cells,
            layers,
            memory: DataSize::from_bytes(fixed + grid.bytes(layers)),
            disk: DataSize::from_bytes(
                FILES_ALONE.stored() + FILE_BYTES_PER_CELL_AND_LAYER * cells_and_layers,
            ),
            time: TimeSpan::from_seconds(
                SECONDS_PER_CELL_AND_LAYER * cells_and_layers
                    + SECONDS_PER_PAIR_OF_CORNERS * corners(survey).powi(2),
            ),
            fixed_memory: DataSize::from_bytes(fixed),
        }
    }

    /// Whether more is written than people expect of a field.
    #[must_use]
    pub fn writes_much(&self) -> bool {
        self.disk > MUCH_DISK
    }

    /// A remark where that is so.
    pub(super) fn remark(&self) -> Option<Remark> {
        self.writes_much().then(|| {
            let what = format!(
                "The maps have {} cells and {} layers: up to {} of files, {} of memory and about {}.",
                counted(self.cells),
                self.layers,
                self.disk.in_words(),
                self.memory.in_words(),
                self.time.in_words()
            );
            Remark::warning("much-to-write", what)
                .help("A larger cell under [grid] makes it less; [limits] sets what is too much.")
        })
    }
}

/// The most that a run may take, and who says so.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    memory: (DataSize, &'static str),
    disk: Option<(DataSize, &'static str)>,
    disk_free: Option<DataSize>,
    time: (TimeSpan, &'static str),
}

impl Limits {
    pub(super) fn new(plan: &WorkLimits, grant: Grant) -> Self {
        let in_plan = "[limits] of the plan";
        let in_plan_alone = plan.memory.filter(|_| grant.memory_asked.is_none());
        let free = grant.memory_free.map(|size| (size, "free on this machine"));
        let memory = match in_plan_alone {
            Some(size) => least(Some((size, in_plan)), free).unwrap_or((size, in_plan)),
            None => grant.memory_limit(),
        };
        Self {
            memory,
            disk: plan.disk.map(|size| (size, in_plan)),
            disk_free: grant.disk_free,
            time: plan
                .time
                .map_or((USUAL_TIME, "the usual limit"), |time| (time, in_plan)),
        }
    }

    /// Refuses files whose reading alone would take too much memory.
    pub(super) fn allow_reading(
        &self,
        files: &Files,
        settings: &Settings,
    ) -> Result<(), Vec<Error>> {
        let strips = settings.strips.as_ref();
        let earlier = strips.and_then(|strips| strips.earlier_harvest.as_ref());
        let names = std::iter::once(settings.boundary.file.as_path())
            .chain(
                settings
                    .keep_outs
                    .iter()
                    .map(|keep_out| keep_out.file.as_path()),
            )
            .chain(settings.points.iter().map(|points| points.file.as_path()))
            .chain(earlier.map(|harvest| harvest.file.as_path()));
        let (limit, whence) = self.memory;
        let errors: Vec<Error> = names
            .filter_map(|name| {
                let needed = DataSize::from_bytes(PROGRAM_BYTES) + memory_to_read(files, name);
                (needed > limit).then(|| Error::FileTakesTooMuch {
                    file: name.display().to_string(),
                    needed: needed.in_words(),
                    limit: limit.in_words(),
                    whence,
                })
            })
            .collect();
        none_of(errors)
    }

    /// Refuses work that would take too much.
    pub(super) fn allow(&self, demand: &Demand, settings: &Settings) -> Result<(), Vec<Error>> {
        let too_much = [
            over(
                (demand.memory, demand.fixed_memory),
                self.memory,
                "memory",
                DataSize::in_words,
            ),
            self.disk.and_then(|limit| {
                over(
                    (demand.disk, FILES_ALONE),
                    limit,
                    "disk",
                    DataSize::in_words,
                )
            }),
            over(
                (demand.time, TimeSpan::ZERO),
                self.time,
                "time",
                TimeSpan::in_words,
            ),
        ];
        let place = || settings.place_of("grid.cell");
        let too_full = self.disk_free.filter(|&free| demand.disk > free);
        let too_full = too_full.map(|free| Error::DiskTooFull {
            place: place(),
            cells: counted(demand.cells),
            layers: demand.layers,
            needed: demand.disk.in_words(),
            free: free.in_words(),
            fitting: fitting(settings, excess(demand.disk, FILES_ALONE, free)),
        });
        let errors: Vec<Error> = too_much
            .into_iter()
            .flatten()
            .map(|over| Error::TooMuchWork {
                place: place(),
                cells: counted(demand.cells),
                layers: demand.layers,
                what: over.what,
                needed: over.needed,
                limit: over.limit,
                whence: over.whence,
                fitting: fitting(settings, over.factor),
            })
            .collect();
        // Room is said to be missing only where nothing else stops the run: another disk would not help then.
        none_of(if errors.is_empty() {
            too_full.into_iter().collect()
        } else {
            errors
        })
    }
}

/// A demand over its limit.
struct Over {
    what: &'static str,
    needed: String,
    limit: String,
    whence: &'static str,
    factor: f64,
}

fn over<Q: Quantity>(
    (needed, fixed): (Q, Q),
    (limit, whence): (Q, &'static str),
    what: &'static str,
    words: fn(Q) -> String,
) -> Option<Over> {
    let is_over = needed.stored() > limit.stored();
    is_over.then(|| Over {
        what,
        needed: words(needed),
        limit: words(limit),
        whence,
        factor: excess(needed, fixed, limit),
    })
}

fn none_of(errors: Vec<Error>) -> Result<(), Vec<Error>> {
    if errors.is_empty() {
        Ok(())
    } else {
        Err(errors)
    }
}

fn least<Q: PartialOrd>(
    a: Option<(Q, &'static str)>,
    b: Option<(Q, &'static str)>,
) -> Option<(Q, &'static str)> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.0 < a.0 { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// How many times fewer cells would fit; infinite where none would.
fn excess<Q: Quantity>(needed: Q, fixed: Q, limit: Q) -> f64 {
    let room = limit.stored() - fixed.stored();
    if room > 0.0 {
        (needed.stored() - fixed.stored()) / room
    } else {
        f64::INFINITY
    }
}

/// Advice of a cell at which the work would fit, in whole units that people write; none where it would at no size. What is free moves from
/// run to run, and the cells at the edge grow slower than the others: a quarter is kept spare.
fn fitting(settings: &Settings, factor: f64) -> String {
    let metres = settings.cell.metres() * (factor * 1.25).sqrt();
    let step = if metres < 1.0 { 0.1 } else { 1.0 };
    if metres.is_finite() {
        let metres = crate::units::decimal((metres / step).ceil() * step, 1);
        format!("write cell = \"{metres} m\" or more, ")
    } else {
        String::new()
    }
}

fn memory_to_read(files: &Files, name: &Path) -> DataSize {
    let bytes = files.size(name).unwrap_or_default() as f64;
    let ending = name.extension().map(std::ffi::OsStr::to_ascii_lowercase);
    let is_geojson = ending.is_some_and(|ending| ending == "geojson" || ending == "json");
    let factor = if is_geojson {
        BYTES_PER_GEOJSON_BYTE
    } else {
        BYTES_PER_FILE_BYTE
    };
    DataSize::from_bytes(bytes * factor)
}

/// Layers that differ, in all tables.
fn layers(survey: &Survey) -> usize {
    let mut keys: Vec<_> = survey
        .tables
        .iter()
        .flat_map(|table| &table.layers)
        .map(|layer| &layer.key)
        .collect();
    keys.sort();
    keys.dedup();
    keys.len()
}

fn results(survey: &Survey) -> f64 {
    let of = |table: &crate::intake::PointTable| table.x.len() * (table.layers.len() + 1);
    survey.tables.iter().map(of).sum::<usize>() as f64
}

fn corners(survey: &Survey) -> f64 {
    use geo::CoordsIter as _;
    let keep_outs = survey.keep_outs.iter();
    let count = survey.boundary.shape.coords_count()
        + keep_outs
            .map(|area| area.shape.coords_count())
            .sum::<usize>();
    count as f64
}

fn counted(cells: f64) -> String {
    match cells {
        many if many >= 1e6 => format!("{} million", crate::units::significant(many / 1e6, 2)),
        few => crate::units::decimal(few, 0),
    }
}

/// Estimates the work of a survey and refuses it where it is too much.
pub(super) fn allowed(
    survey: &Survey,
    settings: &Settings,
    limits: &Limits,
) -> Result<Demand, Vec<Error>> {
    let grid =
        crate::field::estimate(survey, settings).map_err(|error: FieldError| vec![error.into()])?;
    let demand = Demand::new(survey, &grid);
    limits.allow(&demand, settings)?;
    Ok(demand)
}
