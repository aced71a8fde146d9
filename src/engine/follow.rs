//! From a finished run and the season's readings to what they say and what to feed.

use crate::deliver::{FinishedRun, FollowInput, ReadSeasonFile, RunFacts};
use crate::error::Failure;
use crate::files::Files;
use crate::intake::{self, SeasonFile};
use crate::plan::{Day, Price, ResultKind, ResultSettings, Settings, YieldGoal};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::season::{
    self, Readings, SeasonContext, SeasonError, SeasonGround, SeasonReview, SeasonSettings,
};
use crate::units::{Length, METRES_PER_FOOT, Quantity};

/// A file of readings; the plan's word on it where there is one.
#[derive(Debug, Clone)]
pub struct SeasonResult {
    /// The file and its columns.
    pub settings: ResultSettings,
    /// What the plan says that it holds; `None` where its columns say it.
    pub kind: Option<ResultKind>,
}

/// What is followed.
#[derive(Debug, Clone, Default)]
pub struct FollowOptions {
    /// What the user says of the season.
    pub season: SeasonSettings,
    /// Prices of the plan, laid over the rulebook's.
    pub prices: Vec<(String, Price)>,
}

impl FollowOptions {
    /// Takes from a plan what the user did not say otherwise.
    pub fn take_plan(&mut self, plan: &Settings) {
        self.prices.clone_from(&plan.prices);
        let season = &mut self.season;
        season.crop_price = season.crop_price.or(plan.crop_price);
        let goals = plan.supply.yield_goals.iter();
        let own = goals.filter(|(crop, _)| *crop == plan.crop);
        for (_, goal) in own {
            if let YieldGoal::BushelsPerAcre(bushels) = goal {
                season.yield_goal = season.yield_goal.or(Some(*bushels));
            }
        }
    }
}

/// Holds the season's readings against an earlier run.
///
/// # Errors
/// A run that was edited; files that cannot be read, are of another field, crop or season, or hold what cannot be.
pub fn follow(
    run: &FinishedRun,
    rulebook: &Rulebook,
    files: &Files,
    results: &[SeasonResult],
    options: &FollowOptions,
) -> Result<FollowInput, Failure> {
    let facts = run.facts();
    if results.is_empty() {
        return Err(SeasonError::NoResults.into());
    }
    let Some(crop) = rulebook.crop(&facts.crop) else {
        return Err(SeasonError::UnknownCrop {
            crop: facts.crop.clone(),
        }
        .into());
    };
    let ground = run.ground(rulebook)?;
    let mut settings = options.season;
    settings.crop_price = settings.crop_price.or(facts.crop_price);
    let spacing = facts.settings.machine.as_ref();
    let spacing = spacing.and_then(|machine| Length::parse(&machine.row_spacing).ok());
    let context = SeasonContext {
        rulebook,
        crop,
        season: facts.season,
        units: facts.units,
        row_spacing_ft: spacing.map_or(2.5, |spacing| spacing.metres() / METRES_PER_FOOT),
        field: &facts.field,
        folder: &facts.folder,
        ground: &ground.season,
        zones: &ground.records,
        settings: &settings,
        prices: &options.prices,
    };
    require_planted_in_season(settings.planted, facts.season)?;
    let guessed = spacing.is_none().then(guessed_spacing);
    let mut remarks: Vec<Remark> = other_changes(run).into_iter().chain(guessed).collect();
    remarks.extend(unread_rules(&facts, rulebook));
    let mut read = Read::default();
    read.all(files, results, &context, &facts, &mut remarks)?;
    let review: SeasonReview = season::review(&read.readings, &context);
    remarks.extend(not_corrected(&read.readings));
    Ok(FollowInput {
        review,
        settings,
        rulebook: rulebook.clone(),
        facts,
        ground,
        files: read.files,
        inputs: read.inputs,
        remarks,
    })
}

/// The record of an old version does not say how far the rows stand apart.
fn guessed_spacing() -> Remark {
    let what =
        "the run's record does not say the row spacing: 30 in are taken where no column says it";
    Remark::assumption("row-spacing-guessed", what)
        .help("add a column row spacing (in) to the counts")
}

/// A day of planting of another year is a slip of the hand.
fn require_planted_in_season(planted: Option<Day>, season: u16) -> Result<(), SeasonError> {
    let is_near = |day: &Day| (season.saturating_sub(1)..=season).contains(&day.year);
    match planted.filter(|day| !is_near(day)) {
        Some(day) => Err(SeasonError::OtherSeason {
            place: Place::file("the command line").at_key("--planted"),
            day,
            season,
        }),
        None => Ok(()),
    }
}

/// The files as far as they are read.
#[derive(Default)]
struct Read {
    readings: Readings,
    files: Vec<ReadSeasonFile>,
    inputs: Vec<intake::InputFile>,
}

impl Read {
    /// A file whose bytes were read already counts once.
    fn repeated(&self, file: &SeasonFile) -> Option<Remark> {
        let own = file.inputs.first()?;
        let mut known = self.inputs.iter();
        let known = known.find(|input| input.sha256 == own.sha256)?;
        let what = format!(
            "it holds the same bytes as \"{}\" and counts once",
            known.path
        );
        let remark = Remark::warning("repeated-file", what).at(file.place.clone());
        Some(remark.help("name each file once"))
    }

    /// All files; what is wrong in any of them is told at once.
    fn all(
        &mut self,
        files: &Files,
        results: &[SeasonResult],
        context: &SeasonContext<'_>,
        facts: &RunFacts,
        remarks: &mut Vec<Remark>,
    ) -> Result<(), Failure> {
        let mut failure: Option<Failure> = None;
        for result in results {
            if let Err(found) = self.file(files, result, context, facts, remarks) {
                failure = Some(match failure {
                    Some(earlier) => earlier.and(found),
                    None => found,
                });
            }
        }
        failure.map_or(Ok(()), Err)
    }

    fn file(
        &mut self,
        files: &Files,
        result: &SeasonResult,
        context: &SeasonContext<'_>,
        facts: &RunFacts,
        remarks: &mut Vec<Remark>,
    ) -> Result<(), Failure> {
        let mut file = intake::read_season_file(files, &result.settings, result.kind)?;
        if let Some(remark) = self.repeated(&file) {
            remarks.push(remark);
            return Ok(());
        }
        let places = on_plane(&file, facts)?;
        require_here(&file, &places, facts, context.ground)?;
        self.readings.take(&file, &places, context, remarks)?;
        self.inputs.append(&mut file.inputs);
        self.files.push(ReadSeasonFile {
            file: file.place.file.to_string(),
            kinds: file.kinds.clone(),
            rows: file.rows.len(),
            columns: file.columns,
            unused: file.unused,
        });
        Ok(())
    }
}

/// The places of a file on the field's plane, row by row.
fn on_plane(file: &SeasonFile, facts: &RunFacts) -> Result<Vec<Option<(f64, f64)>>, Failure> {
    let Some(crs) = &file.crs else {
        return Ok(vec![None; file.rows.len()]);
    };
    let placed: Vec<(f64, f64)> = file.rows.iter().filter_map(|row| row.at).collect();
    let (mut east, mut north): (Vec<f64>, Vec<f64>) = placed.into_iter().unzip();
    facts
        .origin
        .project_table(crs, &mut east, &mut north)
        .map_err(|cause| SeasonError::Projection {
            file: file.place.file.to_string(),
            cause,
        })?;
    let mut found = east.into_iter().zip(north);
    let place = |at: Option<(f64, f64)>| at.and_then(|_| found.next());
    Ok(file.rows.iter().map(|row| row.at).map(place).collect())
}

/// A file whose nearest place lies further than this from the field is another field's, metres.
const OTHER_FIELD: f64 = 2_000.0;

/// The plane is centred on the field, so a place far from its middle is of another field.
fn require_here(
    file: &SeasonFile,
    places: &[Option<(f64, f64)>],
    facts: &RunFacts,
    ground: &SeasonGround,
) -> Result<(), Failure> {
    let nearest = places
        .iter()
        .flatten()
        .map(|(x, y)| x.hypot(*y))
        .fold(f64::INFINITY, f64::min);
    let area: f64 = ground.zones.iter().map(|zone| zone.area_m2).sum();
    if nearest <= OTHER_FIELD + area.sqrt() || places.iter().all(Option::is_none) {
        return Ok(());
    }
    let away = Length::from_metres(nearest).show(facts.units, 0);
    Err(SeasonError::OtherField {
        place: file.place.clone(),
        what: format!(
            "its nearest reading lies {away} from the field: it is another field's, or its crs is wrong"
        ),
        folder: facts.folder.clone(),
        field: facts.field.clone(),
    }
    .into())
}

/// Files of the run beside its record and prescription that are not as they were written: they decide nothing here.
fn other_changes(run: &FinishedRun) -> Option<Remark> {
    let changes = run.changes();
    let first = changes.first()?;
    let what = format!(
        "{} files of the run were changed or are gone since they were written, \"{}\" among them; its zones are as they were planned",
        changes.len(),
        first.path
    );
    Some(Remark::info("result-files-changed", what))
}

/// The run had a rulebook file of its own that was not handed in.
fn unread_rules(facts: &RunFacts, rulebook: &Rulebook) -> Option<Remark> {
    let rules = facts.settings.rules.as_ref()?;
    rulebook.changes().is_empty().then(|| {
        let what = format!(
            "the run used its own rulebook file \"{}\"; the built-in rules of the season are used here",
            rules.display()
        );
        Remark::assumption("rules-not-read", what)
            .at(Place::file("run.json"))
            .help("give the plan by --plan, and its rulebook, prices and results are read too")
    })
}

/// Brix as read where nobody noted the temperature.
fn not_corrected(readings: &Readings) -> Option<Remark> {
    let all = readings.brix.len();
    let bare = readings
        .brix
        .iter()
        .filter(|reading| reading.correction.is_none())
        .count();
    (bare > 0).then(|| {
        let what = format!(
            "{bare} of {all} Brix readings have no temperature and are taken as read: at 15 C that is a third of a unit too high"
        );
        Remark::assumption("brix-not-corrected", what)
            .help("note the temperature in a column temp (F) or temp (C), or say --compensated where the instrument does it")
    })
}
