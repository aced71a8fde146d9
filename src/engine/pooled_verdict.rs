//! Several harvests together: what a treatment brought over seasons and fields.

use crate::deliver::{EarlierVerdict, PooledTreatment, PooledTrial};
use crate::error::Failure;
use crate::provenance::Place;
use crate::trial::TrialError;
use crate::trial::statistics::{Between, Year, common_gain, finding, o_brien_fleming, pool};

/// Seasons that a treatment is planned to be looked at before a claim is made.
const PLANNED_SEASONS: usize = 3;
/// Chance of a false alarm over all looks, two-sided.
const FALSE_ALARM: f64 = 0.05;

/// Pools the verdicts of several folders, treatment by treatment.
///
/// # Errors
/// The same strips twice; other crops, units or products under one name.
///
/// # Source
/// [`pool`] and [`o_brien_fleming`] name theirs.
pub fn pooled_verdict(verdicts: &[EarlierVerdict]) -> Result<Vec<PooledTreatment>, Failure> {
    refuse_repeats(verdicts)?;
    let mut names: Vec<&str> = Vec::new();
    for set in verdicts.iter().flat_map(|verdict| &verdict.sets) {
        if !names.contains(&set.treatment.as_str()) {
            names.push(&set.treatment);
        }
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
    }
    Ok(())
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
        verdict.crop != first.crop || set.unit != model.unit || set.products != model.products
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
    if let Some(((common, _), limit)) =
        common_gain(&years).zip(seasons.len().checked_sub(1).and_then(|at| limits.get(at)))
    {
        pooled.planned_seasons = planned;
        pooled.z = Some(common.gain / common.standard_error);
        pooled.limit_of_z = Some(*limit);
    }
}
