//! Several harvests together, in words and files: `pooled.txt` and `pooled.json`.

use serde::Serialize;

use crate::deliver::error::DeliverError;
use crate::deliver::output_file::OutputFile;
use crate::deliver::run_record::{PROGRAM, VERSION, WrittenFile};
use crate::text::Page;
use crate::trial::statistics::Finding;
use crate::units::fixed;

/// What a treatment brought over several harvests.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct PooledTreatment {
    /// Its name.
    pub treatment: String,
    /// Products that were judged.
    pub products: Vec<String>,
    /// Crop.
    pub crop: String,
    /// Unit of all yields.
    pub unit: String,
    /// Harvest by harvest.
    pub trials: Vec<PooledTrial>,
    /// Seasons with a gain.
    pub seasons: usize,
    /// Mean gain; `None` with fewer than three harvests, which do not tell how far seasons differ.
    pub gain: Option<f64>,
    /// Its 90 % interval.
    pub interval_90: Option<(f64, f64)>,
    /// Its standard error.
    pub standard_error: Option<f64>,
    /// Standard deviation of the true gain between harvests.
    pub between_standard_deviation: Option<f64>,
    /// The highest gain that any of the harvests needed to pay.
    pub pays_from: Option<f64>,
    /// The finding beside it.
    pub finding: Option<&'static str>,
    /// Seasons that are looked at before a claim is made.
    pub planned_seasons: usize,
    /// The common gain over its standard error.
    pub z: Option<f64>,
    /// What `z` must pass at this look.
    pub limit_of_z: Option<f64>,
}

/// One harvest of a treatment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PooledTrial {
    /// Field.
    pub field: String,
    /// Season.
    pub season: u16,
    /// Gain over the judged zones; `None` where none was judged.
    pub gain: Option<f64>,
    /// Its standard error.
    pub standard_error: Option<f64>,
    /// Its 90 % interval.
    pub interval_90: Option<(f64, f64)>,
    /// Strips that count.
    pub strips: usize,
}

#[derive(Serialize)]
struct PooledRecord<'a> {
    program: &'a str,
    version: &'a str,
    form: u32,
    checksum: &'a str,
    files: Vec<WrittenFile>,
    treatments: &'a [PooledTreatment],
}

/// The files of a pooled verdict. Nothing is written.
///
/// # Errors
/// Where the JSON writer refuses a value.
pub fn pooled_files(treatments: &[PooledTreatment]) -> Result<Vec<OutputFile>, DeliverError> {
    let mut page = Page::default();
    for treatment in treatments {
        page.chapter(&format!(
            "\"{}\" over several harvests",
            treatment.treatment
        ));
        for line in lines(treatment) {
            page.item("- ", &line);
        }
    }
    page.chapter("How to read this");
    page.paragraph(
        "Each harvest counts by how sure it is and by how far harvests differ (Paule and Mandel; the interval after Hartung and Knapp, Sidik and \
         Jonkman). A look every season raises false alarms, so an early look must be clearer than a late one (O'Brien and Fleming). A season is one \
         draw of the weather: three or more, or several fields, before a product is praised or dropped.",
    );
    let text = OutputFile::new("pooled.txt", page.finish());
    let record = PooledRecord {
        program: PROGRAM,
        version: VERSION,
        form: 1,
        checksum: "",
        files: vec![WrittenFile::new(&text)],
        treatments,
    };
    let json = OutputFile::checked_json("pooled.json", &record)?;
    Ok(vec![text, json])
}

/// The pooled verdict in lines for the terminal.
#[must_use]
pub fn pooled_lines(treatments: &[PooledTreatment]) -> Vec<String> {
    let of = |treatment: &PooledTreatment| {
        let name = &treatment.treatment;
        lines(treatment)
            .into_iter()
            .map(move |line| format!("\"{name}\": {line}"))
            .collect::<Vec<_>>()
    };
    treatments.iter().flat_map(of).collect()
}

fn lines(treatment: &PooledTreatment) -> Vec<String> {
    let mut lines: Vec<String> = treatment
        .trials
        .iter()
        .map(|trial| one_trial(trial, treatment))
        .collect();
    lines.push(together(treatment));
    lines.extend(look(treatment));
    lines
}

fn one_trial(trial: &PooledTrial, treatment: &PooledTreatment) -> String {
    let name = format!("{} {}", trial.field, trial.season);
    match trial.gain.zip(trial.interval_90) {
        Some((gain, interval)) => format!(
            "{name}: {}, {} strips",
            with_interval(gain, interval, treatment),
            trial.strips
        ),
        None => format!("{name}: not judged, not counted"),
    }
}

fn together(treatment: &PooledTreatment) -> String {
    let judged = treatment.trials.iter().filter(|trial| trial.gain.is_some());
    let count = judged.count();
    let Some((gain, interval)) = treatment.gain.zip(treatment.interval_90) else {
        return format!(
            "together: {count} judged harvests do not tell how far seasons differ; from 3 on they are pooled"
        );
    };
    let spread = treatment.between_standard_deviation.unwrap_or_default();
    let paid = match (treatment.pays_from, treatment.finding) {
        (Some(from), Some(finding)) => format!(
            "; {finding}, where {} {} would pay",
            number(from, treatment),
            treatment.unit
        ),
        _ => "; no price, so nothing is said of money".to_owned(),
    };
    format!(
        "together, {count} harvests: {}; the true gain differs between harvests by about {} either way{paid}",
        with_interval(gain, interval, treatment),
        number(spread, treatment)
    )
}

/// How clear an early look must be.
fn look(treatment: &PooledTreatment) -> Option<String> {
    let (z, limit) = treatment.z.zip(treatment.limit_of_z)?;
    let (season, planned) = (treatment.seasons, treatment.planned_seasons);
    // Fewer than three harvests do not tell how far seasons differ, and a gain that is not decided is nowhere clear.
    let is_decided = treatment.finding != Some(Finding::NotDecided.words())
        && treatment
            .interval_90
            .is_some_and(|(low, high)| low > 0.0 || high < 0.0);
    let rest = if z.abs() > limit && is_decided {
        "clear enough to stop here"
    } else if season < planned {
        "too early to stop"
    } else {
        "not clear after all of them"
    };
    Some(format!(
        "season {season} of {planned}: |z| {}, and {} is needed at this look: {rest}",
        fixed(z.abs(), 2),
        fixed(limit, 2)
    ))
}

fn with_interval(gain: f64, interval: (f64, f64), treatment: &PooledTreatment) -> String {
    format!(
        "gain {} ({} to {}) {}, 90 % interval",
        number(gain, treatment),
        number(interval.0, treatment),
        number(interval.1, treatment),
        treatment.unit
    )
}

fn number(value: f64, treatment: &PooledTreatment) -> String {
    // A zero has no sign.
    fixed(value + 0.0, crate::analyte::decimals(&treatment.unit))
}
