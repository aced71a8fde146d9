//! The engine's call for a field, and for many side by side.

use std::sync::Mutex;
use std::sync::PoisonError;

use lowstave::deliver::{DeliverOptions, OutputFile};
use lowstave::engine::{self, Grant, Watch};
use lowstave::farm::{FieldRecord, Problem, side_by_side};
use lowstave::remark::Level;
use lowstave::units::{DataSize, Quantity as _};
use lowstave::{Error, Failure, Files, Outcome, Run};

/// A row of the table of fields.
pub(crate) struct FieldInput {
    /// Its name in the table.
    pub id: String,
    /// Its plan and files, or why there are none.
    pub files: Result<Files, String>,
}

/// The name that a row's plan has among its files.
pub(crate) const PLAN: &str = "plan.toml";

/// What came of a field.
pub(crate) type FieldResult = Result<FieldRecord, Vec<Problem>>;

/// A field that is planned.
pub(crate) struct Planned {
    /// Exit code: 1 where somebody should look at a remark.
    pub code: u8,
    /// The remarks as JSON.
    pub remarks: String,
    /// Its zones.
    pub record: FieldRecord,
    /// Its files.
    pub files: Vec<OutputFile>,
}

/// What a field may take.
pub(crate) struct Limits {
    threads: usize,
    memory: Option<DataSize>,
}

impl Limits {
    /// Threads for each field, and its memory as text: `2 GB`.
    pub(crate) fn new(threads: usize, memory: Option<&str>) -> Result<Self, String> {
        let memory = memory.map(DataSize::parse).transpose();
        Ok(Self {
            threads: threads.max(1),
            memory: memory.map_err(|error| format!("memory: {error}"))?,
        })
    }
}

impl Watch for Limits {
    fn grant(&self) -> Grant {
        Grant {
            memory_asked: self.memory,
            ..Grant::default()
        }
    }
}

/// Which files of a field are handed over.
pub(crate) use lowstave::farm::FieldFiles as Wanted;

/// Reads the word of the caller.
pub(crate) fn wanted(word: &str) -> Result<Wanted, String> {
    match word {
        "none" => Ok(Wanted::None),
        "rates" => Ok(Wanted::Rates),
        "all" => Ok(Wanted::All),
        other => Err(format!(
            "files_wanted is \"{other}\"; it can be \"none\", \"rates\" or \"all\""
        )),
    }
}

/// One field, on threads of its own.
pub(crate) fn plan(
    files: &Files,
    plan: &str,
    wanted: Wanted,
    limits: &Limits,
) -> Result<Result<Planned, Vec<Problem>>, Error> {
    let result = Mutex::new(None);
    side_by_side(limits.threads, 1, |_| {
        let planned = planned(files, ("", plan), wanted, limits);
        *result.lock().unwrap_or_else(PoisonError::into_inner) = Some(planned);
    })?;
    let result = result.into_inner().unwrap_or_else(PoisonError::into_inner);
    Ok(result.unwrap_or_else(|| Err(Problem::all("", plan, &Error::Defect.into()))))
}

fn planned(
    files: &Files,
    (id, plan): (&str, &str),
    wanted: Wanted,
    limits: &Limits,
) -> Result<Planned, Vec<Problem>> {
    let problems = |failure: Failure| Problem::all(id, plan, &failure);
    let run = engine::run_watched(files, plan, limits).map_err(problems)?;
    let options = DeliverOptions {
        made: wanted.made(),
        ..DeliverOptions::default()
    };
    let delivery = run.deliver_watched(&options, limits).map_err(problems)?;
    let record = FieldRecord::new(id, plan, &run, &delivery).map_err(problems)?;
    Ok(Planned {
        code: outcome(&run).code(),
        remarks: serde_json::to_string(run.remarks()).unwrap_or_default(),
        record,
        files: delivery.files,
    })
}

fn outcome(run: &Run) -> Outcome {
    let mut remarks = run.remarks().iter();
    if remarks.any(|remark| remark.level == Level::Warning) {
        Outcome::Look
    } else {
        Outcome::Done
    }
}

/// All fields, in their order.
pub(crate) fn plan_all(
    fields: &[FieldInput],
    threads: usize,
    limits: &Limits,
) -> Result<Vec<FieldResult>, Error> {
    let results: Vec<Mutex<Option<FieldResult>>> =
        fields.iter().map(|_| Mutex::new(None)).collect();
    side_by_side(threads.clamp(1, fields.len().max(1)), fields.len(), |job| {
        if let (Some(field), Some(result)) = (fields.get(job), results.get(job)) {
            *result.lock().unwrap_or_else(PoisonError::into_inner) = Some(row(field, limits));
        }
    })?;
    let taken = fields.iter().zip(results).map(|(field, result)| {
        let result = result.into_inner().unwrap_or_else(PoisonError::into_inner);
        result.unwrap_or_else(|| Err(Problem::all(&field.id, "", &Error::Defect.into())))
    });
    Ok(taken.collect())
}

fn row(field: &FieldInput, limits: &Limits) -> FieldResult {
    match &field.files {
        Ok(files) => {
            let planned = planned(files, (&field.id, PLAN), Wanted::None, limits);
            planned.map(|planned| planned.record)
        }
        Err(why) => Err(vec![Problem {
            code: Outcome::Refused.code(),
            ..failed(&field.id, why)
        }]),
    }
}

/// A field that came to nothing although nothing is known to be wrong with its input.
pub(crate) fn failed(id: &str, why: &str) -> Problem {
    Problem {
        id: id.to_owned(),
        plan: String::new(),
        code: Outcome::Failed.code(),
        what: why.to_owned(),
        file: String::new(),
        row: None,
        column: String::new(),
        way_out: String::new(),
    }
}
