//! Days that a plan says of its samples and of the work of its seasons, compared with its season.

use super::error::PastError;
use crate::plan::{ResultKind, Settings};

/// The days that cannot be: samples after the season or after the plan was made, work outside its season.
///
/// A season is named by the year of its harvest and may begin in the year before.
#[must_use]
pub fn wrong_days(settings: &Settings) -> Vec<PastError> {
    let mut problems = Vec::new();
    for points in &settings.points {
        let Some(sampled) = points.sampled else {
            continue;
        };
        let made = settings.people.date.filter(|made| sampled > *made);
        let what = if let Some(made) = made {
            format!(
                "the samples are of {}, and the plan is of {}: nothing is sampled in the future. Write the day on which they were taken (sampled =), or the plan's (date = under [people])",
                sampled.show(),
                made.show()
            )
        } else if sampled.year > settings.season {
            format!(
                "the samples are of {}, after the season {}. Write the day on which they were taken (sampled =)",
                sampled.show(),
                settings.season
            )
        } else {
            continue;
        };
        let place = points.place.clone();
        problems.push(PastError::WrongDay { place, what });
    }
    let is_applied = |kind: ResultKind| kind == ResultKind::Applied;
    for result in settings.results.iter().filter(|log| is_applied(log.kind)) {
        let season = result.season.unwrap_or(settings.season);
        let Some(day) = result
            .date
            .filter(|day| day.year > season || day.year < season.saturating_sub(1))
        else {
            continue;
        };
        problems.push(PastError::WrongDay {
            place: result.place.clone(),
            what: format!(
                "the work is of {}, and its season is {season}, which begins in {} at the earliest and ends with {season}. Write the day of the work (date =), or its season (season =)",
                day.show(),
                season.saturating_sub(1)
            ),
        });
    }
    problems
}
