//! What is to be said of a cone file: pushes that ended early, moisture, unit.

use crate::remark::Remark;
use crate::units::{Length, significant};

use crate::intake::context::Context;
use crate::intake::table::cone_profiles::Mark;
use crate::intake::table::tally::RowTally;

/// `RowTally` of a cone file at which something was seen.
#[derive(Debug, Default)]
pub(in crate::intake) struct ConeTally {
    /// Met a stone.
    pub stones: RowTally,
    /// Refused, by what stands in the file or by where it ends.
    pub refused: RowTally,
    /// End above the others, on purpose or for a reason that is not known.
    pub ended: RowTally,
    /// Have a blank between two readings.
    pub gaps: RowTally,
    /// Zeros below the last reading.
    pub filled_with_zero: RowTally,
    /// Depths with a minus.
    pub negative_depth: RowTally,
}

impl ConeTally {
    /// Says it. `deepest` is the depth that pushes were meant to reach, where that is known.
    pub(in crate::intake) fn report(&self, deepest: Option<Mark>, context: &mut Context<'_>) {
        let units = context.rules.units;
        let deepest = deepest.map_or_else(String::new, |mark| {
            let depth = Length::from_metres(f64::from(mark) / 1e4);
            format!(" while others go on to {}", depth.as_depth(units))
        });
        let remarks = [
            self.stones.remark(|rows| {
                let what = format!("{} met a stone: missing from there on, not counted as soil", rows.show());
                Remark::warning("cone-stopped", what).help("push again beside the stone")
            }),
            self.refused.remark(|rows| {
                let what = format!(
                    "{} with nothing below the last reading{deepest}: taken as refused there, too hard",
                    rows.do_it("ends", "end")
                );
                Remark::warning("cone-refused", what).help(
                    "where a push was ended on purpose, write \"ended\" in the cell below its last reading, \
                     or say blank_below = \"not pushed\" in this [[points]] table",
                )
            }),
            self.ended.remark(|rows| {
                let what = format!("{} above the deepest mark: missing below, nothing is concluded from it", rows.do_it("ends", "end"));
                Remark::info("cone-short", what)
            }),
            self.gaps.remark(|rows| {
                let what = format!("{} no reading between two others: missing there", rows.do_it("has", "have"));
                Remark::info("cone-gaps", what)
            }),
            self.filled_with_zero.remark(|rows| {
                let what = format!("{} with zeros below the last reading: taken as not reached, not as soft soil", rows.show());
                Remark::warning("cone-zeros", what).help("leave the cells empty where the push did not reach")
            }),
            self.negative_depth.remark(|rows| {
                let what = format!("{} negative depths, taken as below the surface", rows.count());
                Remark::info("cone-negative-depth", what)
            }),
        ];
        let place = context.place();
        let remarks = remarks.into_iter().flatten();
        context
            .remarks
            .extend(remarks.map(|remark| remark.at(place.clone())));
    }
}

/// Says of a place's pushes that they were taken together.
pub(in crate::intake) fn remark_on_replicates(counts: &[usize], context: &mut Context<'_>) {
    if counts.iter().any(|count| *count > 1) {
        let what = format!(
            "{} pushes at {} places: the median of the pushes is used at each depth, one that was refused counting as harder than any reading",
            counts.iter().sum::<usize>(),
            counts.len()
        );
        context
            .remarks
            .push(Remark::info("cone-replicates", what).at(context.place()));
    }
}

pub(in crate::intake) fn remark_on_moisture(context: &mut Context<'_>) {
    let moisture = context
        .settings
        .cone
        .as_ref()
        .and_then(|cone| cone.moisture.clone());
    let remark = match moisture.as_deref().map(str::to_lowercase) {
        None => Remark::warning("cone-moisture-not-given", "nothing says how wet the soil was; a reading means little without it")
            .help("add moisture = \"field capacity\" (or what the operator noted) to this [[points]] table"),
        Some(text) if text.contains("dry") => {
            Remark::warning("cone-dry-soil", format!("read in soil noted as \"{text}\": readings are an upper bound"))
                .help("push again near field capacity before paying for loosening")
        }
        Some(_) => return,
    };
    context.remarks.push(remark.at(context.place()));
}

/// Contradicts a declared unit where the median speaks for another; never chooses one.
pub(in crate::intake) fn remark_on_unit(raw: &mut [f64], unit: &str, context: &mut Context<'_>) {
    raw.sort_by(f64::total_cmp);
    let Some(&median) = raw.get(raw.len() / 2) else {
        return;
    };
    let looks_like = match median {
        m if (0.3..=6.0).contains(&m) => "MPa",
        m if (60.0..600.0).contains(&m) => "psi",
        m if (700.0..=5_000.0).contains(&m) => "kPa",
        _ => return,
    };
    let fits = match unit.to_ascii_lowercase().as_str() {
        "mpa" => looks_like == "MPa",
        "psi" => looks_like == "psi",
        "kpa" => looks_like == "kPa" || median >= 400.0,
        _ => true,
    };
    if !fits {
        let what = format!(
            "the median reading is {}; that is usual in {looks_like}, but the unit is {}",
            significant(median, 4),
            unit
        );
        context.remarks.push(
            Remark::warning("unit-mistake", what)
                .at(context.place())
                .help(format!(
                    "if the readings are in {looks_like}, set unit = \"{looks_like}\""
                )),
        );
    }
}
