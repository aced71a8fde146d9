//! Several harvests together: what a treatment brought over seasons and fields.

use crate::deliver::{EarlierGain, EarlierInput, EarlierVerdict, PooledTreatment, PooledTrial};
use crate::error::Failure;
use crate::provenance::Place;
use crate::trial::TrialError;
use crate::trial::statistics::{Between, Year, common_gain, finding, o_brien_fleming, pool};

/// Seasons that a treatment is planned to be looked at before a claim is made.
const PLANNED_SEASONS: usize = 3;
/// Chance of a false alarm over all looks, two-sided.
const FALSE_ALARM: f64 = 0.05;

/// No crop yields so much in any unit that is printed.
const MOST_YIELD: f64 = 1e5;

/// Pools the verdicts of several folders, treatment by treatment.
///
/// # Errors
/// The same strips twice; other crops, units or products under one name.
///
/// # Source
/// [`pool`] and [`o_brien_fleming`] name theirs.
pub fn pooled_verdict(verdicts: &[EarlierVerdict]) -> Result<Vec<PooledTreatment>, Failure> {
    refuse_repeats(verdicts)?;
    for verdict in verdicts {
        refuse_unsound(verdict)?;
    }
    let mut names: Vec<&str> = Vec::new();
    for set in verdicts.iter().flat_map(|verdict| &verdict.sets) {
        if !names.contains(&set.treatment.as_str()) {
            names.push(&set.treatment);
        }
    }
    if names.is_empty() {
        return Err(TrialError::NothingToPool.into());
    }
    names
        .into_iter()
        .map(|name| pooled_treatment(name, verdicts))
        .collect()
}

fn refuse_repeats(verdicts: &[EarlierVerdict]) -> Result<(), Failure> {
    for (at, verdict) in verdicts.iter().enumerate() {
        let same = |earlier: &&EarlierVerdict| {
            earlier.run_sha256 == verdict.run_sha256
                || (&earlier.field, earlier.season) == (&verdict.field, verdict.season)
        };
        if let Some(earlier) = verdicts[..at].iter().find(same) {
            return Err(TrialError::PooledTwice {
                place: Place::file(verdict.folder.clone()),
                earlier: earlier.folder.clone(),
                field: verdict.field.clone(),
                season: verdict.season,
            }
            .into());
        }
        let is_known = |file: &&EarlierInput| {
            let earlier = verdicts[..at].iter().flat_map(|verdict| &verdict.inputs);
            earlier.into_iter().any(|known| known.sha256 == file.sha256)
        };
        if verdict.inputs.iter().any(|file| is_known(&file)) {
            return Err(TrialError::NotOnTheStrips {
                place: Place::file(verdict.folder.clone()),
                what: "it was judged by a file that another of these folders was judged by, byte for byte; one harvest counts once".to_owned(),
            }
            .into());
        }
    }
    Ok(())
}

/// A verdict that this program cannot have written: it was edited.
fn refuse_unsound(verdict: &EarlierVerdict) -> Result<(), Failure> {
    let refused = |what: String| -> Failure {
        TrialError::NotOnTheStrips {
            place: Place::file(format!("{}/verdict.json", verdict.folder)),
            what,
        }
        .into()
    };
    for (at, set) in verdict.sets.iter().enumerate() {
        let name = &set.treatment;
        if verdict.sets[..at]
            .iter()
            .any(|other| other.treatment == *name)
        {
            return Err(refused(format!(
                "it holds \"{name}\" twice; one harvest counts once"
            )));
        }
        if !is_sound(&set.field) {
            return Err(refused(format!(
                "the gain of \"{name}\", its error and its interval do not fit together: the file was edited. Judge the harvest again: lowstave \
                 verdict DIR --results FILE"
            )));
        }
    }
    Ok(())
}

/// Whether a gain, its error and its interval can stand together: all there or none, the gain inside, the error above 0.
fn is_sound(field: &EarlierGain) -> bool {
    match (field.gain, field.standard_error, field.interval_90) {
        (None, None, None) => true,
        (Some(gain), Some(error), Some((low, high))) => {
            gain.abs() < MOST_YIELD
                && error > 1e-9
                && error < MOST_YIELD
                && low <= gain
                && gain <= high
        }
        _ => false,
    }
}

fn pooled_treatment(name: &str, verdicts: &[EarlierVerdict]) -> Result<PooledTreatment, Failure> {
    let sets = verdicts.iter().flat_map(|verdict| {
        let sets = verdict.sets.iter().filter(|set| set.treatment == name);
        sets.map(move |set| (verdict, set))
    });
    let sets: Vec<_> = sets.collect();
    let Some((first, model)) = sets.first().copied() else {
        return Ok(PooledTreatment::default());
    };
    let differs = sets.iter().find(|(verdict, set)| {
        verdict.crop != first.crop
            || set.unit != model.unit
            || set.products != model.products
            || set.gets_more != model.gets_more
    });
    if let Some((other, _)) = differs {
        return Err(TrialError::NotPoolable {
            place: Place::file(other.folder.clone()),
            treatment: name.to_owned(),
            other: first.folder.clone(),
        }
        .into());
    }
    let trials: Vec<PooledTrial> = sets
        .iter()
        .map(|(verdict, set)| PooledTrial {
            field: verdict.field.clone(),
            season: verdict.season,
            gain: set.field.gain,
            standard_error: set.field.standard_error,
            interval_90: set.field.interval_90,
            strips: set.field.strips,
        })
        .collect();
    let pays_from = sets
        .iter()
        .filter_map(|(_, set)| set.field.pays_from)
        .reduce(f64::max);
    let mut pooled = PooledTreatment {
        treatment: name.to_owned(),
        products: model.products.clone(),
        crop: first.crop.clone(),
        unit: model.unit.clone(),
        trials,
        pays_from,
        ..PooledTreatment::default()
    };
    judge(&mut pooled);
    Ok(pooled)
}

/// Adds what the trials say together; two do not tell how far seasons differ.
fn judge(pooled: &mut PooledTreatment) {
    let judged: Vec<(u16, Year)> = pooled
        .trials
        .iter()
        .filter_map(|trial| {
            let year = Year {
                gain: trial.gain?,
                standard_error: trial.standard_error.filter(|error| *error > 0.0)?,
            };
            Some((trial.season, year))
        })
        .collect();
    let years: Vec<Year> = judged.iter().map(|(_, year)| *year).collect();
    let mut seasons: Vec<u16> = judged.iter().map(|(season, _)| *season).collect();
    seasons.sort_unstable();
    seasons.dedup();
    pooled.seasons = seasons.len();
    if let Some(together) = pool(&years, Between::PauleMandel) {
        pooled.gain = Some(together.gain);
        pooled.interval_90 = Some(together.interval);
        pooled.standard_error = Some(together.standard_error);
        pooled.between_standard_deviation = Some(together.between.max(0.0).sqrt());
        pooled.finding = pooled
            .pays_from
            .map(|pays_from| finding(together.interval, pays_from).words());
    }
    let planned = PLANNED_SEASONS.max(seasons.len());
    let limits = o_brien_fleming(planned, FALSE_ALARM);
    // Where harvests are pooled, how far they differ counts in the look as it does in the interval.
    let common = || common_gain(&years).map(|(common, _)| common.gain / common.standard_error);
    let together = pooled.gain.zip(pooled.standard_error);
    let z = together.map(|(gain, error)| gain / error).or_else(common);
    let limit = seasons.len().checked_sub(1).and_then(|at| limits.get(at));
    if let Some((z, limit)) = z.zip(limit) {
        pooled.planned_seasons = planned;
        pooled.z = Some(z);
        pooled.limit_of_z = Some(*limit);
    }
}
