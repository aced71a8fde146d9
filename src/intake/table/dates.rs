//! When the samples were taken: a result from another season is told, never dropped.

use crate::analyte::Catalogue;
use crate::plan::{PointKind, PointsSettings};
use crate::remark::Remark;

use crate::intake::columns::Header;
use crate::intake::context::Context;
use crate::intake::formats::delimited::{Row, text_of};
use crate::intake::table::tally::RowTally;

/// Names of the column that says when a sample was taken, in plain form. A laboratory's own dates (received, reported)
/// are not among them.
const DATE_NAMES: [&str; 8] = [
    "date",
    "sample date",
    "sampling date",
    "date sampled",
    "sampled",
    "sampled on",
    "collection date",
    "date collected",
];

/// The dates of a table's rows, compared with the season of the plan.
pub(in crate::intake) struct Dates {
    column: usize,
    name: String,
    season: u16,
    old: RowTally,
    late: RowTally,
}

impl Dates {
    /// The column of dates, where a table of samples has one that holds nothing else.
    pub(in crate::intake) fn find(
        header: &Header,
        claimed: &[usize],
        context: &Context<'_>,
    ) -> Option<Self> {
        if context.settings.kind == PointKind::Readings {
            return None;
        }
        let season = context.rules.season?;
        let column = header
            .find_role(&DATE_NAMES)
            .filter(|at| !claimed.contains(at))?;
        let name = header.name(column).to_owned();
        Some(Self {
            column,
            name,
            season,
            old: RowTally::default(),
            late: RowTally::default(),
        })
    }

    /// Takes the date of a row that is kept.
    pub(in crate::intake) fn take(&mut self, row: &Row<'_>) {
        let (text, _) = text_of(row.cell(self.column).trim_ascii());
        match year_of(&text) {
            Some(year) if year > self.season => self.late.add(row.number),
            Some(year) if is_long_ago(year, self.season) => self.old.add(row.number),
            _ => {}
        }
    }

    /// Adds the dates of later rows.
    pub(in crate::intake) fn join(&mut self, later: &Self) {
        self.old.join(&later.old);
        self.late.join(&later.late);
    }

    /// Says what is out of season.
    pub(in crate::intake) fn report(&self, context: &mut Context<'_>) {
        let place = context.column(&self.name);
        let season = self.season;
        context.remarks.extend(self.old.remark(|rows| {
            let what = format!(
                "{} a date more than {} years before the season of {season}: used as they are",
                rows.do_it("carries", "carry"),
                Catalogue::built_in().oldest_seasons
            );
            let remark = Remark::warning("sampled-long-ago", what).at(place.clone());
            remark.help(
                "sample again, or leave these rows out if the ground was limed or manured since",
            )
        }));
        context.remarks.extend(self.late.remark(|rows| {
            let what = format!(
                "{} a date after the season of {season}: used as they are",
                rows.do_it("carries", "carry")
            );
            let remark = Remark::warning("sampled-after-season", what).at(place);
            remark.help("correct the dates, or the season in the plan")
        }));
    }
}

/// Whether samples of a year are so old that it is told.
fn is_long_ago(year: u16, season: u16) -> bool {
    year.saturating_add(Catalogue::built_in().oldest_seasons) < season
}

/// What is said of samples that by the plan were taken long ago.
pub(in crate::intake) fn plan_says_long_ago(
    points: &PointsSettings,
    season: Option<u16>,
) -> Option<Remark> {
    let (sampled, season) = points.sampled.zip(season)?;
    is_long_ago(sampled.year, season).then(|| {
        let what = format!(
            "the samples are of {}, {} years before the season of {season}: used as they are",
            sampled.show(),
            season - sampled.year
        );
        Remark::warning("sampled-long-ago", what)
            .at(points.place.clone())
            .help("sample again: much changes in so many years, above all where lime or manure went out since")
    })
}

/// The year of a date such as `2026-10-14`, `20261014`, `10/14/2026`, `14.10.2026`; nothing for any other text, and for
/// years of two digits, which say too little.
fn year_of(text: &str) -> Option<u16> {
    let date = text.trim().split([' ', 'T']).next().unwrap_or_default();
    let is_number = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let parts: Vec<&str> = date.split(['-', '/', '.']).collect();
    let year = match parts.as_slice() {
        [whole] if whole.len() == 8 && is_number(whole) => &whole[..4],
        [year, month, day] if year.len() == 4 && is_number(month) && is_number(day) => year,
        [a, b, year] if year.len() == 4 && is_number(a) && is_number(b) => year,
        _ => return None,
    };
    year.parse()
        .ok()
        .filter(|year| (1900..=2200).contains(year))
}

#[cfg(test)]
mod tests {
    use super::year_of;

    #[test]
    fn a_year_is_found_in_the_usual_ways_to_write_a_date() {
        for text in [
            "2026-10-14",
            "20261014",
            "10/14/2026",
            "14.10.2026",
            "2026/10/14 08:15",
            "2026-10-14T08:15:00Z",
        ] {
            assert_eq!(year_of(text), Some(2026), "{text}");
        }
    }

    #[test]
    fn other_texts_have_no_year() {
        for text in [
            "",
            "10/14/26",
            "12345678",
            "Oct 14",
            "6-12-18",
            "fall",
            "é-é-2026",
            "0000-00-00",
        ] {
            let found = year_of(text);
            assert_eq!(found, None, "{text}");
        }
    }
}
