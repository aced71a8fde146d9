//! `lowstave follow DIR --results FILE...`: the season's readings, and the leaf feeds that follow from them.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::arguments::FollowArguments;
use super::color::Tone;
use super::interrupt::Interrupt;
use super::outcome_of;
use super::page::Page;
use super::terminal::Terminal;
use crate::deliver::{self, FinishedRun, FollowInput};
use crate::engine::{self, FollowOptions, SeasonResult};
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::plan::{self, Purpose, ResultKind, ResultSettings, Settings};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::season::SeasonSettings;
use crate::units::UnitSystem;

/// Acres of a hectare.
const ACRES: f64 = 2.471_053_814_671_653;

/// The result for machines.
#[derive(Debug, Serialize)]
struct FollowRecord<'a> {
    outcome: Outcome,
    exit_code: u8,
    files: Vec<String>,
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
    let paths: Vec<PathBuf> = made.iter().map(|file| out.join(&file.path)).collect();
    interrupt.while_writing(|_| deliver::write_set(out, &made, "follow.json", arguments.force))?;
    let mut page = Page::default();
    let title = format!("{}: the season {}", facts.field, facts.season);
    page.line(Tone::Strong, title);
    for line in deliver::follow_lines(&input) {
        page.line(Tone::Plain, line);
    }
    let read = format!("read {}", out.join("follow.txt").display());
    page.line(Tone::Plain, read);
    let outcome = outcome_of(&input.remarks);
    terminal.remarks(&input.remarks);
    let json = made.iter().find(|file| file.path == "follow.json");
    let record = FollowRecord {
        outcome,
        exit_code: outcome.code(),
        files: paths
            .iter()
            .map(|path| path.display().to_string())
            .collect(),
        follow: json
            .and_then(|file| serde_json::from_slice(&file.bytes).ok())
            .unwrap_or_default(),
        remarks: &input.remarks,
    };
    terminal.result(&page, &record)?;
    Ok(outcome)
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
            settings: ResultSettings {
                file: file.clone(),
                kind: ResultKind::Stand,
                product: None,
                season: None,
                date: None,
                crs: None,
                columns: Vec::new(),
                season_columns: Vec::new(),
                place: Place::file(file.display().to_string()),
            },
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
