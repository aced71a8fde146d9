//! From a finished run and its harvest to a verdict: nothing of the layout is moved, it is read from the run's record.

use super::yield_places::yield_places;
use std::collections::HashSet;

use crate::deliver::{RECORD_FORM, ReadColumn, RunFacts, VerdictInput};
use crate::error::Failure;
use crate::files::Files;
use crate::intake::{self, InputFile, YieldFile};
use crate::plan::{ResultKind, ResultSettings, YieldRole};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::trial::applied::{AppliedLog, applied_log};
use crate::trial::harvest::{HarvestContext, YieldPoint, records};
use crate::trial::verdict::{HarvestVerdict, check_width, mark_treatments, verdict_of};
use crate::trial::{PlannedRate, Strip, StripSet, TrialError};
use crate::units::Length;

/// A harvest whose nearest record lies further than this from the field is another field's, metres.
const OTHER_FIELD: f64 = 2_000.0;

/// Judges the check strips of a run by the yields of these files, where the logs among them say that the plan was kept.
///
/// # Errors
/// A run without strips; files that cannot be read; a harvest that does not lie on the strips, or was cut wider than they are.
pub fn verdict(
    facts: &RunFacts,
    files: &Files,
    results: &[ResultSettings],
) -> Result<VerdictInput, Failure> {
    let Some(first) = facts.strips.sets.first() else {
        return Err(TrialError::NoStrips {
            folder: facts.folder.clone(),
        }
        .into());
    };
    let of_kind = |kind: ResultKind| results.iter().filter(move |result| result.kind == kind);
    let yields: Vec<&ResultSettings> = of_kind(ResultKind::Yield).collect();
    if yields.is_empty() {
        return Err(TrialError::NoResults.into());
    }
    if facts.form > RECORD_FORM || !is_sound(facts) {
        return Err(TrialError::EditedRun {
            folder: facts.folder.clone(),
        }
        .into());
    }
    let header_m = first.machines.header_m;
    let context = HarvestContext {
        frame: &first.machines.frame,
        crop: &facts.crop,
        units: facts.units,
        header_m,
    };
    let mut read = Harvest::read(facts, files, &yields, &context)?;
    let logs = of_kind(ResultKind::Applied)
        .map(|result| read.log(facts, files, result, &context))
        .collect::<Result<Vec<AppliedLog>, Failure>>()?;
    let Harvest {
        mut points,
        columns,
        inputs,
        mut remarks,
    } = read;
    remarks.extend(drop_repeated(&mut points));
    mark_treatments(&mut points, &facts.strips);
    let harvest = verdict_of(&points, &facts.strips, &facts.crop, &logs);
    require_on_strips(&harvest, &yields)?;
    remarks.extend(harvest.remarks.iter().cloned());
    remarks.extend(nothing_judged(&harvest));
    Ok(VerdictInput {
        facts: facts.clone(),
        points,
        columns,
        harvest,
        inputs,
        remarks,
    })
}

fn require_on_strips(
    harvest: &HarvestVerdict,
    yields: &[&ResultSettings],
) -> Result<(), TrialError> {
    if harvest.sets.iter().any(|set| set.points_on_strips > 0) {
        return Ok(());
    }
    let first = yields.first();
    let file = first.map_or_else(String::new, |result| result.file.display().to_string());
    Err(TrialError::NotOnTheStrips {
        place: Place::file(file),
        what: "no clean record lies on a check strip: was another part of the field harvested, or another year's layout planted?".to_owned(),
    })
}

fn nothing_judged(harvest: &HarvestVerdict) -> Option<Remark> {
    let mut sets = harvest.sets.iter();
    let is_none = sets.all(|set| set.verdict.field.zones.is_empty());
    let what = "no zone could be judged; the reasons stand with the zones";
    is_none.then(|| Remark::warning("nothing-judged", what))
}

/// Metres east and north of the plane's middle.
type PlanePlaces = (Vec<f64>, Vec<f64>);

/// The records of all files.
#[derive(Default)]
struct Harvest {
    points: Vec<YieldPoint>,
    columns: Vec<ReadColumn>,
    inputs: Vec<InputFile>,
    remarks: Vec<Remark>,
}

impl Harvest {
    fn read(
        facts: &RunFacts,
        files: &Files,
        results: &[&ResultSettings],
        context: &HarvestContext<'_>,
    ) -> Result<Self, Failure> {
        let check_m = facts
            .strips
            .sets
            .first()
            .map_or(f64::INFINITY, |set| check_width(&set.machines));
        let mut harvest = Self::default();
        for result in results {
            let (file, (east, north)) =
                harvest.open(facts, files, result, intake::HARVEST_COLUMNS)?;
            require_narrow(facts, &file, check_m, context)?;
            let points = records(&file, (&east, &north), context, &mut harvest.remarks)?;
            harvest.points.extend(points);
        }
        Ok(harvest)
    }

    /// Reads a log of what was applied.
    fn log(
        &mut self,
        facts: &RunFacts,
        files: &Files,
        result: &ResultSettings,
        context: &HarvestContext<'_>,
    ) -> Result<AppliedLog, Failure> {
        let (file, (east, north)) = self.open(facts, files, result, intake::LOG_COLUMNS)?;
        let planned: Vec<&PlannedRate> = facts
            .strips
            .sets
            .iter()
            .flat_map(|set| &set.rates)
            .collect();
        let product = result.product.as_deref().unwrap_or_default();
        let places = (&east[..], &north[..]);
        Ok(applied_log(
            &file,
            places,
            context.frame,
            product,
            &planned,
            facts.units,
            &mut self.remarks,
        )?)
    }

    /// Reads a file of results whose places lie on this field; gives metres east and north of them.
    fn open(
        &mut self,
        facts: &RunFacts,
        files: &Files,
        result: &ResultSettings,
        wanted: &[YieldRole],
    ) -> Result<(YieldFile, PlanePlaces), Failure> {
        let mut file = intake::read_yield_file(
            files,
            &result.file,
            &result.columns,
            result.crs.as_deref(),
            (&facts.crop, facts.season),
            wanted,
        )?;
        self.remarks.append(&mut file.remarks);
        self.inputs.append(&mut file.inputs);
        self.columns.extend(file.columns.iter().map(|column| {
            (
                file.table.file.to_string(),
                column.name.clone(),
                column.role,
                column.unit.clone(),
            )
        }));
        let (east, north) = yield_places(&facts.origin, &mut file)?;
        require_here(facts, &file, &east, &north)?;
        Ok((file, (east, north)))
    }
}

/// The plane is centred on the field, so a record far from its middle is of another field.
fn require_here(
    facts: &RunFacts,
    file: &YieldFile,
    east: &[f64],
    north: &[f64],
) -> Result<(), Failure> {
    let nearest = east
        .iter()
        .zip(north)
        .map(|(x, y)| x.hypot(*y))
        .fold(f64::INFINITY, f64::min);
    let reach = OTHER_FIELD + facts.area_m2.sqrt();
    if nearest <= reach {
        return Ok(());
    }
    let away = Length::from_metres(nearest).show(facts.units, 0);
    Err(TrialError::NotOnTheStrips {
        place: Place::file(file.table.file.clone()),
        what: format!("its nearest record lies {away} from \"{}\": it is the harvest of another field, or its crs is wrong", facts.field),
    }
    .into())
}

fn require_narrow(
    facts: &RunFacts,
    file: &YieldFile,
    check_m: f64,
    context: &HarvestContext<'_>,
) -> Result<(), Failure> {
    let Some(width) = intake_width(file, context)? else {
        return Ok(());
    };
    if width <= check_m + 0.1 {
        return Ok(());
    }
    let show = |metres: f64| Length::from_metres(metres).show(facts.units, 1);
    Err(TrialError::NotOnTheStrips {
        place: Place::file(file.table.file.clone()),
        what: format!(
            "the harvest was cut {} wide, the strips are {} wide: every pass mixes strip and field, so there is no verdict",
            show(width),
            show(check_m)
        ),
    }
    .into())
}

/// The middle cutting width, metres, where a column says it.
fn intake_width(file: &YieldFile, context: &HarvestContext<'_>) -> Result<Option<f64>, Failure> {
    if !file
        .columns
        .iter()
        .any(|column| column.role == YieldRole::Width)
    {
        return Ok(None);
    }
    Ok(crate::trial::harvest::middle_width(file, context)?)
}

/// Leaves out records that stand twice: a file named twice, or joined to itself.
fn drop_repeated(points: &mut Vec<YieldPoint>) -> Option<Remark> {
    let read = points.len();
    let mut seen = HashSet::with_capacity(read);
    points.retain(|point| {
        let bits = [
            point.along,
            point.across,
            point.time,
            point.flow,
            point.yields,
        ];
        seen.insert(bits.map(f64::to_bits))
    });
    let repeated = read - points.len();
    (repeated > 0).then(|| {
        let what =
            format!("{repeated} record(s) stand twice, to the last digit; each was counted once");
        Remark::warning("repeated-records", what).help("name each file once")
    })
}

/// Whether the strips of a record lie where its draw says, so that nobody moved them afterwards.
fn is_sound(facts: &RunFacts) -> bool {
    facts.strips.sets.iter().all(|set| {
        let positions = set.draw.positions.len();
        let is_whole = set
            .draw
            .checks
            .iter()
            .all(|check| check.position < positions)
            && set
                .draw
                .blocks
                .blocks
                .iter()
                .flatten()
                .all(|position| *position < positions);
        is_whole
            && set
                .strips
                .iter()
                .all(|strip| lies_on_its_check(facts, set, strip))
    })
}

fn lies_on_its_check(facts: &RunFacts, set: &StripSet, strip: &Strip) -> bool {
    /// Degrees are written with many decimals; a hand moves a strip by metres.
    const CLOSE_M: f64 = 0.5;
    let mut corners = strip.outline.clone();
    if corners.len() != 4 || facts.origin.project(&mut corners).is_err() {
        return false;
    }
    let machines = &set.machines;
    let mut checks = set.draw.checks.iter();
    checks.any(|check| {
        let middle = machines.middle(check.position);
        check
            .pieces
            .iter()
            .filter(|piece| piece.zone == strip.zone)
            .any(|piece| {
                corners.iter().all(|corner| {
                    let (along, across) = machines.frame.along_across(*corner);
                    let to_end = (along - piece.from_m).abs().min((along - piece.to_m).abs());
                    let to_edge = ((across - middle).abs() - machines.half_width()).abs();
                    to_end < CLOSE_M && to_edge < CLOSE_M
                })
            })
    })
}
