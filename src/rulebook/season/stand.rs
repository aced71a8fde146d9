//! Stand tables: what share of the best yield a stand keeps.

use crate::rulebook::Basis;
use crate::rulebook::reader::Entry;

/// Days of each month of a year that is no leap year.
const MONTH_DAYS: [u16; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// How a stand becomes a share of the best yield.
#[derive(Debug, Clone, PartialEq)]
pub enum StandForm {
    /// By planting day and plants per acre.
    Table {
        /// Days of the year from 1 January, rising.
        days: Vec<f64>,
        /// Plants per acre, rising.
        plants: Vec<f64>,
        /// Percent of the best yield, one row a day.
        percent: Vec<Vec<f64>>,
    },
    /// By plants per acre alone.
    Curve {
        /// Plants per acre and percent, rising.
        points: Vec<(f64, f64)>,
        /// Plants per acre under which replanting is the question.
        replant_below: f64,
    },
}

/// One stand table.
#[derive(Debug, Clone)]
pub struct StandRule {
    /// Name in the rulebook.
    pub name: String,
    /// The crop.
    pub crop: String,
    /// How a stand becomes a share of the best yield.
    pub form: StandForm,
    /// Whether it is printed beside the one that decides.
    pub is_second_opinion: bool,
    /// Where it holds.
    pub limits: String,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

/// What plants that came late cost.
#[derive(Debug, Clone)]
pub struct UnevenRule {
    /// Name in the rulebook.
    pub name: String,
    /// The crop.
    pub crop: String,
    /// Weeks that they came later than the others.
    pub weeks: f64,
    /// Share of the plants, percent, from which it holds.
    pub share_from: f64,
    /// Least and most loss of yield, percent.
    pub loss: (f64, f64),
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

/// Day of the year of `05-25`, from 1; 29 February has no number.
fn day_of_year(text: &str) -> Option<f64> {
    let (month, day) = text.split_once('-')?;
    let (month, day): (usize, u16) = (month.parse().ok()?, day.parse().ok()?);
    let length = *MONTH_DAYS.get(month.checked_sub(1)?)?;
    let before: u16 = MONTH_DAYS.iter().take(month - 1).sum();
    (1..=length).contains(&day).then(|| f64::from(before + day))
}

impl StandRule {
    pub(in crate::rulebook) fn read(entry: &mut Entry<'_>) -> Self {
        let is_table = entry.word("form", &[("table", true), ("curve", false)], None);
        let form = if is_table {
            read_table(entry)
        } else {
            read_curve(entry)
        };
        Self {
            name: entry.name.to_owned(),
            crop: entry.text("crop", "name the crop"),
            form,
            is_second_opinion: entry.flag_or("second_opinion", false),
            limits: entry.text("limits", "say where the table holds"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}

fn read_table(entry: &mut Entry<'_>) -> StandForm {
    let texts = entry.texts("days");
    let days: Vec<f64> = texts.iter().filter_map(|text| day_of_year(text)).collect();
    if days.len() != texts.len() || !is_rising(&days) {
        entry.contradiction("days", "write rising days such as \"04-25\"");
    }
    let plants = entry.numbers("plants");
    if !is_rising(&plants) {
        entry.contradiction("plants", "write rising numbers of plants per acre");
    }
    let percent = entry.rows("percent");
    let is_whole =
        percent.len() == days.len() && percent.iter().all(|row| row.len() == plants.len());
    if !is_whole {
        entry.contradiction(
            "percent",
            "write one row a day, one number for each of plants",
        );
    }
    StandForm::Table {
        days,
        plants,
        percent,
    }
}

fn read_curve(entry: &mut Entry<'_>) -> StandForm {
    let points = entry.pairs("curve");
    let plants: Vec<f64> = points.iter().map(|(plants, _)| *plants).collect();
    if !is_rising(&plants) {
        entry.contradiction(
            "curve",
            "write pairs of plants and percent, by rising plants",
        );
    }
    StandForm::Curve {
        points,
        replant_below: entry.number(
            "replant_below",
            "write the plants per acre under which replanting is the question",
        ),
    }
}

fn is_rising(numbers: &[f64]) -> bool {
    !numbers.is_empty() && numbers.windows(2).all(|pair| pair[0] < pair[1])
}

impl UnevenRule {
    pub(in crate::rulebook) fn read(entry: &mut Entry<'_>) -> Self {
        let mut number = |key| entry.number_in(key, 0.0..=100.0, "0 to 100", 0.0);
        let (weeks, share_from) = (number("weeks"), number("share_from"));
        let loss = (number("loss_least"), number("loss_most"));
        Self {
            name: entry.name.to_owned(),
            crop: entry.text("crop", "name the crop"),
            weeks,
            share_from,
            loss,
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}
