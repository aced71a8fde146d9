//! After emergence and after harvest: readings compared with the result folder, as `follow` and `verdict` do.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::desk::Desk;
use super::home::file_name;
use super::refused::Refused;
use crate::deliver::{self, FinishedRun, OutputFile};
use crate::engine::{self, FollowOptions, SeasonResult};
use crate::error::Failure;
use crate::files::Files;
use crate::plan::{self, Day, Purpose, ResultKind, ResultSettings};
use crate::rulebook::Rulebook;
use crate::season::SeasonSettings;
use crate::units::UnitSystem;

/// Acres of a hectare.
const ACRES: f64 = 2.471_053_814_671_653;

/// Readings of a season.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Readings {
    /// Name of the result folder in the plan's folder.
    pub out: String,
    /// Files of stands, emergence, Brix or leaves in the folder.
    #[serde(default)]
    pub season: Vec<String>,
    /// Files of yields in the folder.
    #[serde(default)]
    pub harvest: Vec<String>,
    /// Day of planting, `2027-04-28`.
    pub planted: Option<String>,
    /// Plants wanted, an acre or a hectare as the plan prints.
    pub population: Option<f64>,
}

/// What they say.
#[derive(Debug, Serialize)]
pub struct Told {
    /// The short of the season.
    pub season: Vec<String>,
    /// The short of the verdict.
    pub verdict: Vec<String>,
    /// Texts to read in full: name and text.
    pub texts: Vec<(String, String)>,
    /// Remarks.
    pub remarks: Vec<String>,
}

/// Compares readings with a result that was written.
///
/// # Errors
/// A result folder that is not there or was edited; files that cannot be read; what the engine refuses.
pub fn after(desk: &Desk, readings: &Readings) -> Result<Told, Refused> {
    let folder = desk.home.folder().join(file_name(&readings.out)?);
    let run = FinishedRun::open(&folder).map_err(Failure::from)?;
    let mut told = Told {
        season: Vec::new(),
        verdict: Vec::new(),
        texts: Vec::new(),
        remarks: Vec::new(),
    };
    let files = desk.home.files();
    if !readings.season.is_empty() {
        season(desk, &run, &files, readings, &mut told)?;
    }
    if !readings.harvest.is_empty() {
        harvest(&run, &files, readings, &mut told)?;
    }
    Ok(told)
}

fn season(
    desk: &Desk,
    run: &FinishedRun,
    files: &Files,
    readings: &Readings,
    told: &mut Told,
) -> Result<(), Refused> {
    let facts = run.facts();
    let planted = readings.planted.as_deref().filter(|text| !text.is_empty());
    let planted = planted.map(|text| {
        let what = format!("\"{text}\" is no day; write a day such as 2027-04-28");
        Day::parse(text).ok_or(Refused::Malformed(what))
    });
    let mut options = FollowOptions {
        season: SeasonSettings {
            planted: planted.transpose()?,
            population: readings.population.map(|plants| match facts.units {
                UnitSystem::UnitedStates => plants,
                UnitSystem::Metric => plants / ACRES,
            }),
            ..SeasonSettings::default()
        },
        prices: Vec::new(),
    };
    let plan = Path::new(desk.home.plan_file());
    let (settings, _) = plan::read_for(files, plan, Purpose::Layout).map_err(Failure::from)?;
    options.take_plan(&settings);
    let region = settings.supply.region.as_deref();
    let rulebook = Rulebook::load(files, region, settings.rules.as_deref());
    let rulebook = rulebook.map_err(Failure::from)?;
    let results: Result<Vec<SeasonResult>, Refused> = readings
        .season
        .iter()
        .map(|name| {
            Ok(SeasonResult {
                settings: ResultSettings::of_file(Path::new(file_name(name)?), ResultKind::Stand),
                kind: None,
            })
        })
        .collect();
    let results = results?;
    let input = engine::follow(run, &rulebook, files, &results, &options)?;
    let made = deliver::follow_files(&input).map_err(Failure::from)?;
    told.season = deliver::follow_lines(&input);
    told.remarks
        .extend(input.remarks.iter().map(|remark| remark.what.clone()));
    told.texts.extend(text_of(&made, "follow.txt"));
    Ok(())
}

fn harvest(
    run: &FinishedRun,
    files: &Files,
    readings: &Readings,
    told: &mut Told,
) -> Result<(), Refused> {
    let results: Result<Vec<ResultSettings>, Refused> = readings
        .harvest
        .iter()
        .map(|name| {
            Ok(ResultSettings::of_file(
                Path::new(file_name(name)?),
                ResultKind::Yield,
            ))
        })
        .collect();
    let input = engine::verdict(&run.facts(), files, &results?)?;
    let made = deliver::verdict_files(&input).map_err(Failure::from)?;
    told.verdict = deliver::verdict_lines(&input);
    told.remarks
        .extend(input.remarks.iter().map(|remark| remark.what.clone()));
    told.texts.extend(text_of(&made, "verdict.txt"));
    Ok(())
}

fn text_of(made: &[OutputFile], path: &str) -> Option<(String, String)> {
    let found = made.iter().find(|file| file.path == path)?;
    let text = String::from_utf8_lossy(&found.bytes).into_owned();
    Some((path.to_owned(), text))
}
