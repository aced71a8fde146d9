//! What the page is told of a plan with its changes.

use std::sync::Arc;
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};

use super::change::Change;
use super::controls::{Control, controls};
use super::desk::{Answered, Desk, SavedAnswer};
use super::refused::Refused;
use super::turn::Turn;
use crate::deliver::{
    RasterPart, SampleFacts, SampleFile, SampleValue, Sheet, difference, raster, sample_facts,
    sample_files, sample_values,
};
use crate::engine::Run;
use crate::plan::Sample;

/// A plan with changes.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// What tells the saved plan's state.
    pub plan: String,
    /// The changes.
    #[serde(default)]
    pub changes: Vec<Change>,
    /// Whether the texts with the changes are told too.
    #[serde(default)]
    pub with_texts: bool,
}

/// The answer.
#[derive(Debug, Serialize)]
pub struct Answer {
    /// Its number, by which maps and files are asked for.
    pub id: u64,
    /// What tells the saved plan's state.
    pub plan: String,
    /// Whether it is the saved plan's.
    pub is_saved: bool,
    /// Whether its maps are others than the saved plan's.
    pub has_own_maps: bool,
    /// What changed against the saved plan.
    pub difference: Vec<String>,
    /// The run.
    pub sheet: Arc<Sheet>,
    /// What can be changed.
    pub controls: Vec<Control>,
    /// Rates of the consultant's own, in the order of the plan.
    pub overrides: Vec<OverrideFacts>,
    /// Samples that are left out.
    pub left_out: Vec<LeftOutFacts>,
    /// Name and text of the plan and of the rulebook with the changes, where they were asked for.
    pub texts: Vec<(String, String)>,
    /// How long it took.
    #[serde(skip)]
    pub spent: Spent,
}

/// Where the time of an answer went.
#[derive(Debug, Clone, Copy)]
pub struct Spent {
    /// In the engine, the wait for its turn included.
    pub engine: Duration,
    /// In all, without the writing of the reply.
    pub all: Duration,
}

/// A rate of the consultant's own.
#[derive(Debug, Serialize)]
pub struct OverrideFacts {
    /// Where it holds.
    pub place: String,
    /// Product.
    pub product: String,
    /// Why.
    pub why: String,
}

/// A sample that is left out.
#[derive(Debug, Serialize)]
pub struct LeftOutFacts {
    /// The file.
    pub file: String,
    /// Its name.
    pub core: Option<String>,
    /// Its row.
    pub row: Option<u32>,
    /// Why.
    pub why: String,
}

/// Answers a question.
///
/// # Errors
/// What the engine refuses; a plan that was changed underneath; a newer change of the same window.
pub fn answer(desk: &Desk, question: &Question, turn: &Turn) -> Result<Answer, Refused> {
    let start = Instant::now();
    let saved = desk.saved(&question.plan)?;
    let mut engine = Duration::ZERO;
    let mut run = |changes: &[Change]| {
        let start = Instant::now();
        let answered = desk.run(&saved, changes, turn);
        engine += start.elapsed();
        answered
    };
    let tried = run(&question.changes)?;
    let sheet = Arc::new(tried.run.sheet()?);
    let own = SavedAnswer {
        texts: saved.clone(),
        run: Arc::clone(&tried.run),
        sheet: Arc::clone(&sheet),
    };
    let before = if tried.is_saved {
        desk.remember_saved(own.clone());
        own
    } else if let Some(known) = desk.saved_answer(&saved, &tried.run) {
        known
    } else {
        let run = run(&[])?.run;
        let sheet = Arc::new(run.sheet()?);
        let texts = saved.clone();
        let before = SavedAnswer { texts, run, sheet };
        desk.remember_saved(before.clone());
        before
    };
    let mut answer = Answer {
        id: tried.id,
        plan: question.plan.clone(),
        is_saved: tried.is_saved,
        has_own_maps: !before.run.has_maps_of(&tried.run),
        difference: difference(&before.sheet, &sheet),
        controls: controls(&tried.run, &tried.texts)?,
        overrides: overrides(&tried.run),
        left_out: left_out(&tried.run),
        texts: if question.with_texts {
            tried.texts.named()
        } else {
            Vec::new()
        },
        sheet,
        spent: Spent {
            engine,
            all: Duration::ZERO,
        },
    };
    answer.spent.all = start.elapsed();
    Ok(answer)
}

fn overrides(run: &Run) -> Vec<OverrideFacts> {
    let all = run.settings().overrides.iter();
    all.map(|said| OverrideFacts {
        place: match said.at {
            Some((longitude, latitude)) => format!("at {longitude}, {latitude}"),
            None if said.is_by_number() => format!("zone {}", said.zone),
            None => drawn_place(run, &said.inside),
        },
        product: said.product.clone(),
        why: said.why.clone(),
    })
    .collect()
}

/// A drawn place with the number of the zone that it became.
fn drawn_place(run: &Run, corners: &[(f64, f64)]) -> String {
    let mut drawn = run.zones().drawn.iter();
    let own = drawn.find(|place| place.corners == corners);
    let mut zones = run.diagnosis().zones.iter();
    let zone = own.and_then(|own| zones.find(|zone| zone.zone == own.zone));
    zone.map_or_else(
        || "drawn place".to_owned(),
        |zone| format!("drawn place, zone {}", zone.number),
    )
}

fn left_out(run: &Run) -> Vec<LeftOutFacts> {
    let files = run.settings().points.iter();
    files
        .flat_map(|points| points.leave_out.iter().map(move |left| (points, left)))
        .map(|(points, left)| {
            let (core, row) = match &left.sample {
                Sample::Core(core) => (Some(core.clone()), None),
                Sample::Row(row) => (None, Some(*row)),
            };
            LeftOutFacts {
                file: points.file.display().to_string(),
                core,
                row,
                why: left.why.clone(),
            }
        })
        .collect()
}

/// The samples of an answer.
#[must_use]
pub fn samples(answered: &Answered) -> Vec<SampleFile> {
    sample_files(answered.run.field())
}

/// One sample of an answer.
///
/// # Errors
/// Where there is none.
pub fn sample(answered: &Answered, file: usize, at: usize) -> Result<SampleFacts, Refused> {
    let run = &answered.run;
    let units = run.settings().units;
    sample_facts(run.field(), run.surfaces(), units, (file, at))
        .ok_or_else(|| Refused::NotFound("there is no such sample".to_owned()))
}

/// The results of a layer at the samples of an answer.
///
/// # Errors
/// Where there is no such layer.
pub fn values(answered: &Answered, layer: usize) -> Result<Vec<SampleValue>, Refused> {
    let run = &answered.run;
    let surface = run.surfaces().surfaces.get(layer);
    surface
        .map(|surface| sample_values(run.field(), &surface.key, run.settings().units))
        .ok_or_else(|| Refused::NotFound("there is no such layer".to_owned()))
}

/// Markup that the desk made and escaped itself.
#[derive(Debug, Serialize)]
pub struct Markup {
    /// The markup.
    pub markup: String,
}

/// A zone's chapter of the report.
///
/// # Errors
/// Where there is no such zone.
pub fn chapter(answered: &Answered, zone: u32) -> Result<Markup, Refused> {
    let chapter = answered.run.chapter(zone)?;
    chapter
        .map(|markup| Markup { markup })
        .ok_or_else(|| Refused::NotFound("there is no such zone".to_owned()))
}

/// The charts of the cone pushes.
///
/// # Errors
/// As the result files.
pub fn cones(answered: &Answered) -> Result<Markup, Refused> {
    let markup = answered.run.cones()?;
    Ok(Markup { markup })
}

/// A map of an answer as numbers.
///
/// # Errors
/// Where there is none.
pub fn map(answered: &Answered, layer: usize, part: RasterPart) -> Result<Vec<u8>, Refused> {
    let run = &answered.run;
    let surface = run.surfaces().surfaces.get(layer);
    surface
        .and_then(|surface| raster(&run.field().grid, surface, part))
        .ok_or_else(|| Refused::NotFound("there is no such map".to_owned()))
}

/// Longitude and latitude of places on the field's plane.
///
/// # Errors
/// Where one cannot be projected.
pub fn places(answered: &Answered, places: &[[f64; 2]]) -> Result<Vec<[f64; 2]>, Refused> {
    let mut places: Vec<(f64, f64)> = places.iter().map(|&[x, y]| (x, y)).collect();
    let crs = &answered.run.field().crs;
    crs.unproject(&mut places)
        .map_err(|error| Refused::Malformed(error.to_string()))?;
    // A millionth of a degree is a hand's breadth: nobody points closer.
    let round = |degrees: f64| (degrees * 1e6).round() / 1e6;
    Ok(places
        .into_iter()
        .map(|(x, y)| [round(x), round(y)])
        .collect())
}
