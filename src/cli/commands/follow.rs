//! `lowstave follow DIR --results FILE...`: the season's readings, and the leaf feeds that follow from them.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::cli::interrupt::Interrupt;
use crate::cli::outcome_of;
use crate::cli::terminal::Terminal;
use crate::cli::written_results::WrittenResults;
use crate::deliver::{self, FinishedRun, FollowInput};
use crate::engine::{self, FollowOptions, SeasonResult};
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::plan::Day;
use crate::plan::{self, Purpose, ResultKind, ResultSettings, Settings};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::season::SeasonSettings;
use crate::units::UnitSystem;
use crate::units::{Quantity as _, Volume, VolumePerArea};

/// Arguments of `follow`.
#[derive(Debug, Args)]
pub struct FollowArguments {
    /// Output folder of the `plan` run whose zones and strips were read
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
    /// Readings: plant counts, days to emergence, Brix, contents of leaves, weather; CSV, spreadsheet, GeoJSON or shapefile
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub results: Vec<PathBuf>,
    /// Plan file whose [[results]], prices and rulebook are read too
    #[arg(long, value_name = "PLAN")]
    pub plan: Option<PathBuf>,
    /// Day of planting, such as 2027-04-28, where no column says it
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub planted: Option<Day>,
    /// Plants wanted, an acre or a hectare as the run's units say, where no column says it
    #[arg(long, value_name = "COUNT", value_parser = population, allow_hyphen_values = true)]
    pub population: Option<f64>,
    /// The refractometer corrects for temperature itself
    #[arg(long)]
    pub compensated: bool,
    /// Water that the sprayer puts out, such as "15 gal/ac"; the rulebook's for each feed unless said
    #[arg(long, value_name = "RATE", value_parser = water, allow_hyphen_values = true)]
    pub water: Option<VolumePerArea>,
    /// Tank of the sprayer, such as "500 gal", for the loads of the mix sheet
    #[arg(long, value_name = "VOLUME", value_parser = tank, allow_hyphen_values = true)]
    pub tank: Option<Volume>,
    /// Folder to write into; DIR unless said
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Replace earlier results of the season even where their files were edited since
    #[arg(long)]
    pub force: bool,
}

fn day(text: &str) -> Result<Day, String> {
    Day::parse(text).ok_or_else(|| "write a day such as 2027-04-28".to_owned())
}

/// Most water of a sprayer, L/ha: 500 gal/ac, and a little for the rounding of its unit.
const MOST_WATER: f64 = 4_677.0;
/// Tanks of sprayers, litres.
const TANKS: std::ops::RangeInclusive<f64> = 1.0..=100_000.0;

fn population(text: &str) -> Result<f64, String> {
    let plants = text.replace(',', "").parse::<f64>().ok();
    let is_possible = |plants: &f64| (1_000.0..=12_500_000.0).contains(plants);
    plants
        .filter(is_possible)
        .ok_or_else(|| "write all digits of the plants wanted, such as 32000".to_owned())
}

fn water(text: &str) -> Result<VolumePerArea, String> {
    let most = VolumePerArea::from_litres_per_hectare(MOST_WATER);
    match VolumePerArea::parse(text) {
        Ok(rate) if rate > VolumePerArea::ZERO && rate <= most => Ok(rate),
        Ok(_) => Err("write what a sprayer puts out, such as \"15 gal/ac\"; possible: more than nothing, up to 500 gal/ac".to_owned()),
        Err(error) => Err(error.to_string()),
    }
}

fn tank(text: &str) -> Result<Volume, String> {
    match Volume::parse(text) {
        Ok(volume) if TANKS.contains(&volume.litres()) => Ok(volume),
        Ok(_) => Err(
            "write the tank of a sprayer, such as \"500 gal\"; possible: 1 L to 100,000 L"
                .to_owned(),
        ),
        Err(error) => Err(error.to_string()),
    }
}

/// Acres of a hectare.
const ACRES: f64 = 2.471_053_814_671_653;

/// The result for machines, beside the files.
#[derive(Debug, Serialize)]
struct FollowRecord<'a> {
    follow: serde_json::Value,
    remarks: &'a [Remark],
}

pub(super) fn run(
    arguments: &FollowArguments,
    terminal: Terminal,
    interrupt: &Interrupt,
) -> Result<Outcome, Failure> {
    let folder = &arguments.folder;
    let run = FinishedRun::open(folder)?;
    let out = arguments.out.as_ref().unwrap_or(folder);
    run.require_outside(out)?;
    let facts = run.facts();
    let mut options = FollowOptions {
        season: SeasonSettings {
            planted: arguments.planted,
            population: arguments.population.map(|plants| match facts.units {
                UnitSystem::UnitedStates => plants,
                UnitSystem::Metric => plants / ACRES,
            }),
            is_compensated: arguments.compensated,
            tank: arguments.tank,
            water: arguments.water,
            crop_price: None,
            yield_goal: None,
        },
        prices: Vec::new(),
    };
    let plan = plan_of(arguments, &run)?;
    let rulebook = rulebook_of(plan.as_ref(), facts.settings.supply.region.as_deref())?;
    if let Some((settings, _)) = &plan {
        options.take_plan(settings);
    }
    let results = results(arguments, plan.as_ref());
    let files = Files::folder("");
    let input: FollowInput = engine::follow(&run, &rulebook, &files, &results, &options)?;
    let made = deliver::follow_files(&input)?;
    interrupt.while_writing(|_| deliver::write_set(out, &made, "follow.json", arguments.force))?;
    terminal.remarks(&input.remarks);
    let written = WrittenResults {
        out,
        files: &made,
        to_read: "follow.txt",
    };
    let title = format!("{}: the season {}", facts.field, facts.season);
    let record = FollowRecord {
        follow: written.json("follow.json"),
        remarks: &input.remarks,
    };
    let lines = deliver::follow_lines(&input);
    written.print(terminal, outcome_of(&input.remarks), (title, lines), record)
}

/// The plan with the folder that it lies in; of this field, crop and season.
fn plan_of(
    arguments: &FollowArguments,
    run: &FinishedRun,
) -> Result<Option<(Settings, PathBuf)>, Failure> {
    let Some(plan) = &arguments.plan else {
        return Ok(None);
    };
    let (settings, _) = plan::read_for(&Files::folder(""), plan, Purpose::Layout)?;
    let named = plan.display().to_string();
    run.require_plan(&named, (&settings.field, &settings.crop, settings.season))?;
    let beside = plan.parent().unwrap_or(Path::new("")).to_owned();
    Ok(Some((settings, beside)))
}

/// The plan's rulebook, or the built-in one with the run's region.
fn rulebook_of(
    plan: Option<&(Settings, PathBuf)>,
    region: Option<&str>,
) -> Result<Rulebook, Failure> {
    Ok(match plan {
        Some((settings, beside)) => {
            let rules = settings.rules.as_ref().map(|rules| beside.join(rules));
            let region = settings.supply.region.as_deref();
            let mut rulebook = Rulebook::load(&Files::folder(""), region, rules.as_deref())?;
            if let Some(shed) = &settings.supply.shed {
                let place = shed.place.clone().unwrap_or_else(|| Place::file("plan"));
                for (product, parts) in &shed.analysis {
                    rulebook.put_analysis(product, parts, &place)?;
                }
            }
            rulebook
        }
        None => Rulebook::load(&Files::folder(""), region, None)?,
    })
}

/// The files named on the command line, and those of the plan.
fn results(arguments: &FollowArguments, plan: Option<&(Settings, PathBuf)>) -> Vec<SeasonResult> {
    let mut results: Vec<SeasonResult> = arguments
        .results
        .iter()
        .map(|file| SeasonResult {
            settings: ResultSettings::of_file(file, ResultKind::Stand),
            kind: None,
        })
        .collect();
    let Some((settings, beside)) = plan else {
        return results;
    };
    for result in settings
        .results
        .iter()
        .filter(|result| result.kind.is_of_season())
    {
        let file = beside.join(&result.file);
        // What the plan says of a file that is named on the command line too is kept.
        results.retain(|known| known.settings.file != file);
        results.push(SeasonResult {
            kind: Some(result.kind),
            settings: ResultSettings {
                file,
                ..result.clone()
            },
        });
    }
    results
}
