//! `[people]`: whose field it is and who reviewed it. It is printed on the first page and written into the task data.

use serde::{Deserialize, Serialize};
use toml::value::Datetime;

use super::reading::{TableReader, Typed, Written};

/// The people of a review; each is left out where the plan does not say it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
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

    /// How many days lie between two days of the calendar, whatever their years: 31 December and 1 January are one apart.
    #[must_use]
    pub fn days_apart_in_the_year(self, other: Self) -> u32 {
        const YEAR: u32 = 365;
        let apart = u32::from(self.of_year().abs_diff(other.of_year()));
        apart.min(YEAR.saturating_sub(apart))
    }

    /// A day as people write it: `2027-05-12`, `5/12/2027` (month first), `12.5.2027` (day first). `None` of anything else, and of a day that
    /// no calendar has.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let text = text.split(['T', ' ']).next().unwrap_or(text);
        let parts = |mark: char| -> Option<[u16; 3]> {
            let parts: Vec<u16> = text
                .split(mark)
                .map(str::parse)
                .collect::<Result<_, _>>()
                .ok()?;
            parts.try_into().ok()
        };
        let (year, month, day) = if let Some([year, month, day]) = parts('-') {
            (year, month, day)
        } else if let Some([month, day, year]) = parts('/') {
            (year, month, day)
        } else {
            let [day, month, year] = parts('.')?;
            (year, month, day)
        };
        let found = Self {
            year,
            month: u8::try_from(month).ok()?,
            day: u8::try_from(day).ok()?,
        };
        let is_real = (1..=12).contains(&month)
            && year >= 1900
            && (1..=month_length(year, found.month)).contains(&found.day);
        is_real.then_some(found)
    }

    /// Days since 1 March of the year 0, to count the days between two.
    #[must_use]
    pub fn number(self) -> i64 {
        let (month, year) = match self.month {
            month @ 3.. => (i64::from(month) - 3, i64::from(self.year)),
            month => (i64::from(month) + 9, i64::from(self.year) - 1),
        };
        365 * year + year / 4 - year / 100
            + year / 400
            + (153 * month + 2) / 5
            + i64::from(self.day)
    }

    /// Day of the year from 1, 29 February not counted.
    #[must_use]
    pub fn of_year(self) -> u16 {
        let before: u16 = (1..self.month)
            .map(|month| u16::from(month_length(2_001, month)))
            .sum();
        let is_leap_day = self.month == 2 && self.day == 29;
        before + u16::from(self.day) - u16::from(is_leap_day)
    }

    /// Day and month of a day of the year, 29 February not counted: `12 May`.
    #[must_use]
    pub fn show_of_year(of_year: u16) -> String {
        let mut left = of_year.clamp(1, 365);
        for month in 1..=12 {
            let length = u16::from(month_length(2_001, month));
            if left <= length {
                let day = Self {
                    year: 2_001,
                    month,
                    day: left as u8,
                };
                return day.show().trim_end_matches(" 2001").to_owned();
            }
            left -= length;
        }
        String::new()
    }

    /// `2027-05-12`.
    #[must_use]
    pub fn iso(self) -> String {
        format!("{:04}-{:02}-{:02}", self.year, self.month, self.day)
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

/// Days of a month.
fn month_length(year: u16, month: u8) -> u8 {
    let is_leap = year.is_multiple_of(4) && !year.is_multiple_of(100) || year.is_multiple_of(400);
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if is_leap => 29,
        2 => 28,
        _ => 31,
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
