//! Earlier seasons: their folders are read before the rates, so that the farm's own trials count; the comparison is made when the zones of
//! today stand.

use super::yield_places::yield_places;
use crate::deliver::SeasonValues;
use crate::error::Failure;
use crate::field::Field;
use crate::files::Files;
use crate::intake::{self, InputFile};
use crate::past::{
    AppliedPlaces, Ground, PastError, PastRun, Today, earlier_applied, since_last_time, wrong_days,
};
use crate::plan::{ResultKind, ResultSettings, Settings};
use crate::rates::Prescription;
use crate::remark::Remark;
use crate::trial::applied::applied_log;
use crate::trial::{Frame, PlannedRate};

/// North is along, east is across: a log's places stay what they are on the plane.
const PLANE: Frame = Frame {
    heading: 0.0,
    left_m: 0.0,
    swath_m: 1.0,
};

/// Reads the folders that a plan names, by rising season, and records their files among the inputs.
pub(super) fn past_runs(
    files: &Files,
    settings: &Settings,
    inputs: &mut Vec<InputFile>,
) -> Result<Vec<PastRun>, Failure> {
    let (mut runs, mut problems) = (Vec::new(), wrong_days(settings));
    for named in &settings.past {
        match PastRun::read(files, named) {
            Ok(run) => runs.push(run),
            Err(problem) => problems.push(problem),
        }
    }
    if !problems.is_empty() {
        return Err(problems.into());
    }
    PastRun::check_order(&runs, settings.season)?;
    runs.sort_by_key(|run| run.record.season);
    inputs.extend(runs.iter().flat_map(|run| run.inputs.clone()));
    Ok(runs)
}

/// Compares today with the latest of the earlier seasons; nothing where the plan names none.
pub(super) fn compare(
    today: Today<'_>,
    runs: Vec<PastRun>,
    logs: Vec<AppliedPlaces>,
) -> Result<SeasonValues, Failure> {
    let mut applied = Vec::new();
    for run in &runs {
        let name = &today.settings.field;
        let ground = Ground::lay(run, today.field, today.zones, name)?;
        applied.extend(earlier_applied(run, &ground, &logs, today.field));
    }
    let since = runs
        .last()
        .map(|run| since_last_time(today, run, &logs))
        .transpose()?;
    Ok(SeasonValues {
        since,
        runs,
        applied,
    })
}

/// The logs of a plan whose season is said: what was truly applied.
pub(super) fn logs(
    files: &Files,
    settings: &Settings,
    (field, prescription): (&Field, &Prescription),
    runs: &[PastRun],
    (inputs, remarks): (&mut Vec<InputFile>, &mut Vec<Remark>),
) -> Result<Vec<AppliedPlaces>, Failure> {
    let logs = settings
        .results
        .iter()
        .filter(|result| result.kind == ResultKind::Applied);
    let (mut read, mut seen) = (Vec::new(), Vec::new());
    for (result, season) in logs.filter_map(|result| Some((result, result.season?))) {
        let planned = planned(settings, season, prescription, runs).ok_or_else(|| {
            let known = runs.iter().map(|run| run.record.season.to_string());
            let known = known.chain([settings.season.to_string()]);
            PastError::NoSuchSeason {
                place: result.place.clone(),
                season,
                known: known.collect::<Vec<_>>().join(", "),
            }
        })?;
        let before = inputs.len();
        let notes = (&mut *inputs, &mut *remarks);
        let log = log(files, settings, field, (result, season), &planned, notes)?;
        let own = inputs.get(before..).unwrap_or_default();
        let bytes: Vec<String> = own.iter().map(|file| file.sha256.clone()).collect();
        let same = |(product, other, _): &&(String, Vec<String>, String)| {
            *product == log.product && *other == bytes
        };
        if let Some((.., other)) = seen.iter().find(same) {
            return Err(PastError::SameLog {
                place: result.place.clone(),
                product: log.product,
                other: other.clone(),
            }
            .into());
        }
        seen.push((log.product.clone(), bytes, log.file.clone()));
        read.push(log);
    }
    Ok(read)
}

/// The products of a season as they are metered; `None` for a season that is neither this one nor one of the earlier runs.
fn planned(
    settings: &Settings,
    season: u16,
    prescription: &Prescription,
    runs: &[PastRun],
) -> Option<Vec<PlannedRate>> {
    let rate = |product: &str, form| PlannedRate {
        zone: 0,
        product: product.to_owned(),
        form,
        in_zone: 0.0,
        on_strips: 0.0,
    };
    if season == settings.season {
        let products = prescription.products.iter();
        return Some(
            products
                .map(|product| rate(&product.name, product.form))
                .collect(),
        );
    }
    let run = runs.iter().find(|run| run.record.season == season)?;
    let mut planned: Vec<PlannedRate> = Vec::new();
    for known in run.record.zones.iter().flat_map(|zone| &zone.rates) {
        if planned.iter().all(|seen| seen.product != known.product) {
            planned.push(rate(&known.product, known.form));
        }
    }
    Some(planned)
}

fn log(
    files: &Files,
    settings: &Settings,
    field: &Field,
    (result, season): (&ResultSettings, u16),
    planned: &[PlannedRate],
    (inputs, remarks): (&mut Vec<InputFile>, &mut Vec<Remark>),
) -> Result<AppliedPlaces, Failure> {
    let mut file = intake::read_yield_file(
        files,
        &result.file,
        &result.columns,
        result.crs.as_deref(),
        (&settings.crop, season),
        intake::LOG_COLUMNS,
    )?;
    remarks.append(&mut file.remarks);
    inputs.append(&mut file.inputs);
    let (east, north) = yield_places(&field.crs, &mut file)?;
    let product = result.product.as_deref().unwrap_or_default();
    let planned: Vec<&PlannedRate> = planned.iter().collect();
    let places = (&east[..], &north[..]);
    let read = applied_log(
        &file,
        places,
        &PLANE,
        product,
        &planned,
        settings.units,
        remarks,
    )?;
    let records = read.records.into_iter();
    let on_plane = |((along, across), rate): ((f64, f64), f64)| (PLANE.place(along, across), rate);
    let log = AppliedPlaces {
        product: product.to_owned(),
        season,
        date: result.date,
        file: file.table.file.to_string(),
        swath_m: settings.machine.swath.metres(),
        records: records.map(on_plane).collect(),
    };
    let is_here = |((x, y), _): &((f64, f64), f64)| {
        let cell = field.grid.cell_at(*x, *y);
        cell.and_then(|cell| field.grid.slot(cell)).is_some()
    };
    if !log.records.iter().any(is_here) {
        return Err(PastError::LogElsewhere {
            place: crate::provenance::Place::file(log.file),
            records: log.records.len(),
            field: settings.field.clone(),
        }
        .into());
    }
    Ok(log)
}
