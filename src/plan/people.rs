//! `[people]`: whose field it is and who reviewed it. It is printed on the first page and written into the task data.

use serde::{Deserialize, Serialize};
use toml::value::Datetime;

use super::reading::{TableReader, Typed, Written};

/// The people of a review; each is left out where the plan does not say it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct People {
    /// Who grows the crop.
    pub grower: Option<String>,
    /// Name of the farm.
    pub farm: Option<String>,
    /// Who made the review.
    pub prepared_by: Option<String>,
    /// Day of the review.
    pub date: Option<Day>,
}

/// A day of the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Day {
    /// Year.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month, 1 to 31.
    pub day: u8,
}

impl Day {
    /// `2 March 2027`.
    #[must_use]
    pub fn show(self) -> String {
        const MONTHS: [&str; 12] = [
            "January",
            "February",
            "March",
            "April",
            "May",
            "June",
            "July",
            "August",
            "September",
            "October",
            "November",
            "December",
        ];
        let month = MONTHS.get(usize::from(self.month).saturating_sub(1));
        format!("{} {} {}", self.day, month.unwrap_or(&""), self.year)
    }

    /// `2027-03-02`.
    #[must_use]
    pub fn in_figures(self) -> String {
        format!("{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }

    /// How many days lie between two days of the calendar, whatever their years: 31 December and 1 January are one apart.
    #[must_use]
    pub fn days_apart_in_the_year(self, other: Self) -> u32 {
        const YEAR: u32 = 365;
        let apart = self.day_of_the_year().abs_diff(other.day_of_the_year());
        apart.min(YEAR.saturating_sub(apart))
    }

    /// Days since the year began; 29 February counts as the 28th.
    fn day_of_the_year(self) -> u32 {
        const BEFORE: [u32; 12] = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];
        let month = usize::from(self.month).saturating_sub(1);
        BEFORE.get(month).copied().unwrap_or_default() + u32::from(self.day)
    }

    pub(super) fn from_toml(date: Datetime) -> Option<Self> {
        let date = date.date?;
        Some(Self {
            year: date.year,
            month: date.month,
            day: date.day,
        })
    }
}

/// The table as typed.
#[derive(Default)]
pub(super) struct PeopleTable {
    grower: Typed<String>,
    farm: Typed<String>,
    prepared_by: Typed<String>,
    date: Typed<Datetime>,
}

impl PeopleTable {
    pub(super) fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            grower: table.text("grower", "\"Three Alders\""),
            farm: table.text("farm", "\"Home Farm\""),
            prepared_by: table.text("prepared_by", "\"your name\""),
            date: table.date("date", "date = 2027-03-02, without quotes"),
        };
        table.finish();
        read
    }
}

/// The people of a plan.
pub(super) fn people(table: &PeopleTable) -> People {
    let said = |typed: &Typed<String>| typed.given().map(|written| written.value.clone());
    let day = |written: &Written<Datetime>| Day::from_toml(written.value);
    People {
        grower: said(&table.grower),
        farm: said(&table.farm),
        prepared_by: said(&table.prepared_by),
        date: table.date.given().and_then(day),
    }
}
