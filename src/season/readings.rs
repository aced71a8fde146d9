//! Readings as numbers with their zone, from the texts of the files.

use super::context::SeasonContext;
use super::error::SeasonError;
use super::ground::Spot;
use super::rows::{Rows, Where};
use crate::crop::{plants_per_acre, plants_per_acre_in_hoop, temperature_correction};
use crate::intake::{SeasonFile, SeasonRow};
use crate::plan::{Day, ResultKind, SeasonRole};
use crate::remark::Remark;
use crate::rulebook::Factor;

/// Plants counted at one place.
#[derive(Debug, Clone)]
pub struct StandCount {
    /// Where.
    pub spot: Spot,
    /// Its place on the field's plane, metres; `None` where the row names a zone alone.
    pub at: Option<(f64, f64)>,
    /// Plants per acre.
    pub per_acre: f64,
    /// Day of the count.
    pub day: Option<Day>,
    /// Day of planting.
    pub planted: Option<Day>,
    /// Plants wanted, per acre.
    pub population: Option<f64>,
}

/// Emergence at one place.
#[derive(Debug, Clone)]
pub struct EmergencePlace {
    /// Where.
    pub spot: Spot,
    /// Days from planting.
    pub days: Option<f64>,
    /// Growing degree days (F) from planting.
    pub degree_days: Option<f64>,
    /// Day of emergence.
    pub on: Option<Day>,
    /// Day of planting.
    pub planted: Option<Day>,
    /// Share of the plants that came late, percent.
    pub late_share: Option<f64>,
    /// Weeks that they came late.
    pub late_weeks: Option<f64>,
}

/// A refractometer reading.
#[derive(Debug, Clone)]
pub struct BrixReading {
    /// Where.
    pub spot: Spot,
    /// Day.
    pub day: Option<Day>,
    /// Hour of the day.
    pub hour: Option<f64>,
    /// Leaf or stem, as written; empty where nobody said it.
    pub part: String,
    /// Brix at 20 C, or as read.
    pub brix: f64,
    /// What was added for the temperature; `None` where nothing was to add or nothing was known.
    pub correction: Option<f64>,
    /// The round as written.
    pub round: Option<String>,
    /// The plant as written.
    pub plant: Option<String>,
    /// Who read.
    pub person: Option<String>,
}

/// A sample of leaves.
#[derive(Debug, Clone)]
pub struct TissueSample {
    /// Where.
    pub spot: Spot,
    /// Day.
    pub day: Option<Day>,
    /// Day of planting.
    pub planted: Option<Day>,
    /// Part of the plant, as written.
    pub part: String,
    /// Contents by factor: percent of the dry matter.
    pub contents: Vec<(Factor, f64)>,
    /// Contents that the laboratory could not see: less than this, percent of the dry matter.
    pub under: Vec<(Factor, f64)>,
}

/// A day's weather.
#[derive(Debug, Clone, Copy)]
pub struct WeatherDay {
    /// The day.
    pub day: Day,
    /// Highest temperature, F.
    pub highest: f64,
    /// Lowest temperature, F.
    pub lowest: f64,
}

/// All readings of all files.
#[derive(Debug, Clone, Default)]
pub struct Readings {
    /// Stand counts.
    pub stands: Vec<StandCount>,
    /// Emergence.
    pub emergence: Vec<EmergencePlace>,
    /// Brix.
    pub brix: Vec<BrixReading>,
    /// Tissue.
    pub tissue: Vec<TissueSample>,
    /// Weather by rising day.
    pub weather: Vec<WeatherDay>,
}

/// Most plants per acre that any crop is sown to.
const MOST_PLANTS: f64 = 5e6;

impl Readings {
    /// Takes a file whose places stand on the field's plane.
    ///
    /// # Errors
    /// Everything that is wrong in its rows.
    pub fn take(
        &mut self,
        file: &SeasonFile,
        places: &[Option<(f64, f64)>],
        context: &SeasonContext<'_>,
        remarks: &mut Vec<Remark>,
    ) -> Result<(), Vec<SeasonError>> {
        let mut rows = Rows::new(file, context);
        let before = self.count();
        let copies = file.copies();
        remarks.extend(copies_remark(file, &copies));
        for (row, at) in file.rows.iter().zip(places) {
            if copies.contains(&row.row) {
                continue;
            }
            let taken = self.take_row(row, *at, &mut rows);
            if let Err(error) = taken {
                rows.errors.push(error);
            }
        }
        rows.finish(remarks)?;
        if self.count() == before {
            return Err(vec![SeasonError::Missing {
                place: file.place.clone(),
                what: "no row holds a reading",
                help: "fill its column of counts, days, Brix, contents or temperatures",
            }]);
        }
        Ok(())
    }

    /// A day of weather; the same day again is refused where it says something else.
    fn take_weather(
        &mut self,
        day: WeatherDay,
        row: &SeasonRow,
        rows: &Rows<'_>,
    ) -> Result<(), SeasonError> {
        let known = self.weather.iter().find(|known| known.day == day.day);
        let Some(known) = known else {
            self.weather.push(day);
            return Ok(());
        };
        if (known.highest, known.lowest) == (day.highest, day.lowest) {
            return Ok(());
        }
        Err(SeasonError::Contradiction {
            place: rows.file.place_of(row, SeasonRole::Date),
            what: format!("{} has its weather twice, and they differ", day.day.show()),
            help: "keep one row of each day",
        })
    }

    /// How many readings of all kinds.
    fn count(&self) -> usize {
        self.stands.len()
            + self.emergence.len()
            + self.brix.len()
            + self.tissue.len()
            + self.weather.len()
    }

    fn take_row(
        &mut self,
        row: &SeasonRow,
        at: Option<(f64, f64)>,
        rows: &mut Rows<'_>,
    ) -> Result<(), SeasonError> {
        let file = rows.file;
        if file.kinds.contains(&ResultKind::Weather) {
            let Some(day) = weather(row, rows)? else {
                return Ok(());
            };
            return self.take_weather(day, row, rows);
        }
        rows.require_of_this_run(row)?;
        let Where::Inside(spot) = rows.place(row, at)? else {
            return Ok(());
        };
        for kind in &file.kinds {
            match kind {
                ResultKind::Stand => self.stands.extend(stand(row, &spot, at, rows)?),
                ResultKind::Emergence => self.emergence.push(emergence(row, &spot, rows)?),
                ResultKind::Brix => self.brix.extend(brix(row, &spot, rows)?),
                ResultKind::Tissue => self.tissue.push(tissue(row, &spot, rows)?),
                _ => {}
            }
        }
        Ok(())
    }
}

/// Rows that are copies of an earlier one, told once.
fn copies_remark(file: &SeasonFile, copies: &[u32]) -> Option<Remark> {
    let named: Vec<String> = copies.iter().take(6).map(u32::to_string).collect();
    let more = if copies.len() > named.len() {
        " and more"
    } else {
        ""
    };
    (!copies.is_empty()).then(|| {
        let what = format!(
            "rows {}{more} are copies of an earlier row, its place too, and count once",
            named.join(", ")
        );
        Remark::warning("repeated-row", what)
            .at(file.place.clone())
            .help("take the copies out")
    })
}

fn stand(
    row: &SeasonRow,
    spot: &Spot,
    at: Option<(f64, f64)>,
    rows: &Rows<'_>,
) -> Result<Option<StandCount>, SeasonError> {
    let file = rows.file;
    let Some(count) = row.number(file, SeasonRole::Count)? else {
        return Ok(None);
    };
    if !(0.0..=100_000.0).contains(&count) {
        return Err(rows.impossible(row, SeasonRole::Count, "a count of plants", "0 to 100,000"));
    }
    if row.text(SeasonRole::Hoop).is_some() && row.text(SeasonRole::RowLength).is_some() {
        return Err(SeasonError::Contradiction {
            place: file.place.clone().at_row(row.row),
            what: "a hoop and a length of row are both filled in".to_owned(),
            help: "leave the one empty in which nothing was counted",
        });
    }
    let spacing = rows.feet(row, SeasonRole::RowSpacing, "row spacing (in)")?;
    let spacing = spacing.unwrap_or(rows.context.row_spacing_ft);
    let per_acre = if let Some(hoop) = rows.feet(row, SeasonRole::Hoop, "hoop (in)")? {
        plants_per_acre_in_hoop(count, hoop)
    } else {
        let length = rows.feet(row, SeasonRole::RowLength, "row length (ft)")?;
        // Without a length the usual one: 1/1,000 acre.
        plants_per_acre(count, length.unwrap_or(43.56 / spacing), spacing)
    };
    let per_acre = per_acre.filter(|plants| *plants <= MOST_PLANTS);
    let Some(per_acre) = per_acre else {
        return Err(rows.impossible(
            row,
            SeasonRole::Count,
            "plants on that length of row",
            "up to 5,000,000 an acre, on a length and a spacing above 0",
        ));
    };
    Ok(Some(StandCount {
        spot: spot.clone(),
        at,
        per_acre,
        day: rows.day(row, SeasonRole::Date)?,
        planted: rows.planted(row)?,
        population: rows.population(row)?,
    }))
}

fn emergence(row: &SeasonRow, spot: &Spot, rows: &Rows<'_>) -> Result<EmergencePlace, SeasonError> {
    let file = rows.file;
    let planted = rows.planted(row)?;
    let on = rows.day(row, SeasonRole::EmergedOn)?;
    let counted = on
        .zip(planted)
        .map(|(on, planted)| (on.number() - planted.number()) as f64);
    let days = row.number(file, SeasonRole::Days)?.or(counted);
    if days.is_some_and(|days| !(0.0..=120.0).contains(&days)) {
        return Err(rows.impossible(row, SeasonRole::Days, "days to emergence", "0 to 120"));
    }
    let degree_days = row.number(file, SeasonRole::DegreeDays)?;
    if degree_days.is_some_and(|sum| !(0.0..=2_000.0).contains(&sum)) {
        let what = "growing degree days (F) to emergence";
        return Err(rows.impossible(row, SeasonRole::DegreeDays, what, "0 to 2,000"));
    }
    let late_share = row.number(file, SeasonRole::LateShare)?;
    if late_share.is_some_and(|share| !(0.0..=100.0).contains(&share)) {
        let what = "the share of late plants, percent";
        return Err(rows.impossible(row, SeasonRole::LateShare, what, "0 to 100"));
    }
    Ok(EmergencePlace {
        spot: spot.clone(),
        days,
        degree_days,
        on,
        planted,
        late_share,
        late_weeks: row.number(file, SeasonRole::LateWeeks)?,
    })
}

fn brix(row: &SeasonRow, spot: &Spot, rows: &Rows<'_>) -> Result<Option<BrixReading>, SeasonError> {
    let file = rows.file;
    let Some(read) = row.number(file, SeasonRole::Brix)? else {
        return Ok(None);
    };
    if !(0.0..=40.0).contains(&read) {
        return Err(rows.impossible(row, SeasonRole::Brix, "leaf-sap Brix, percent", "0 to 40"));
    }
    let said = row.text(SeasonRole::Compensated).map(str::to_lowercase);
    let is_compensated = match said.as_deref() {
        Some("yes" | "y" | "true" | "1" | "atc") => true,
        Some("no" | "n" | "false" | "0") => false,
        Some(_) => {
            let what = "whether the instrument corrects for temperature";
            return Err(rows.impossible(row, SeasonRole::Compensated, what, "yes or no"));
        }
        None => rows.context.settings.is_compensated,
    };
    let celsius = rows.celsius(row)?;
    let correction = match celsius {
        Some(celsius) if !is_compensated => Some(correction(row, celsius, read, rows)?),
        _ => None,
    };
    let text = |role| row.text(role).map(crate::text::shorten);
    Ok(Some(BrixReading {
        spot: spot.clone(),
        day: rows.day(row, SeasonRole::Date)?,
        hour: row.hour(file, SeasonRole::Time)?,
        part: text(SeasonRole::Part).unwrap_or_default().to_lowercase(),
        // Sap holds no less than nothing: the corrections are for readings of 10 % and more.
        brix: (read + correction.unwrap_or(0.0)).max(0.0),
        correction: correction.or(is_compensated.then_some(0.0)),
        round: text(SeasonRole::Round),
        plant: text(SeasonRole::Plant),
        person: text(SeasonRole::Person),
    }))
}

/// What the rulebook's table adds at a temperature.
fn correction(
    row: &SeasonRow,
    celsius: f64,
    read: f64,
    rows: &Rows<'_>,
) -> Result<f64, SeasonError> {
    let mut tables: Vec<_> = rows.context.rulebook.season.brix.iter().collect();
    tables.sort_by(|a, b| a.range().0.total_cmp(&b.range().0));
    let found = tables.iter().find_map(|table| {
        let parts = (&table.degrees[..], &table.at[..], &table.correction[..]);
        temperature_correction(parts, celsius, read)
    });
    found.ok_or_else(|| SeasonError::Impossible {
        place: rows.file.place_of(row, SeasonRole::Temperature),
        found: format!("{} C", crate::units::decimal(celsius, 1)),
        what: "the temperature correction of Brix",
        allowed: "10 to 30 C, 50 to 86 F, the ends of the published tables",
        hint: "; read again in that range, or say that the instrument corrects itself (--compensated, or a column compensated)",
    })
}

fn tissue(row: &SeasonRow, spot: &Spot, rows: &Rows<'_>) -> Result<TissueSample, SeasonError> {
    let (mut contents, mut under) = (Vec::new(), Vec::new());
    for role in SeasonRole::TISSUE {
        let Some((value, is_under)) = row.number_or_less(rows.file, role)? else {
            continue;
        };
        let content = (factor_of(role), rows.percent_content(row, role, value)?);
        let list = if is_under { &mut under } else { &mut contents };
        list.push(content);
    }
    Ok(TissueSample {
        spot: spot.clone(),
        day: rows.day(row, SeasonRole::Date)?,
        planted: rows.planted(row)?,
        part: crate::text::shorten(row.text(SeasonRole::Part).unwrap_or_default()).to_lowercase(),
        contents,
        under,
    })
}

/// The factor that a content speaks of.
fn factor_of(role: SeasonRole) -> Factor {
    match role {
        SeasonRole::Phosphorus => Factor::Phosphorus,
        SeasonRole::Potassium => Factor::Potassium,
        SeasonRole::Calcium => Factor::Calcium,
        SeasonRole::Magnesium => Factor::Magnesium,
        SeasonRole::Sulfur => Factor::Sulfur,
        SeasonRole::Zinc => Factor::Zinc,
        SeasonRole::Manganese => Factor::Manganese,
        SeasonRole::Boron => Factor::Boron,
        _ => Factor::Iron,
    }
}

fn weather(row: &SeasonRow, rows: &Rows<'_>) -> Result<Option<WeatherDay>, SeasonError> {
    let day = row.day(rows.file, SeasonRole::Date)?;
    let highest = rows.fahrenheit(row, SeasonRole::Highest)?;
    let lowest = rows.fahrenheit(row, SeasonRole::Lowest)?;
    let Some(day) = day else {
        return Err(SeasonError::Missing {
            place: rows.file.place.clone().at_row(row.row),
            what: "the row has no date",
            help: "write the day of each pair of temperatures in a column date",
        });
    };
    let Some((highest, lowest)) = highest.zip(lowest) else {
        return Ok(None);
    };
    if highest < lowest {
        return Err(SeasonError::Contradiction {
            place: rows.file.place.clone().at_row(row.row),
            what: "the day's highest temperature lies under its lowest".to_owned(),
            help: "correct one of the two, or the names of their columns",
        });
    }
    Ok(Some(WeatherDay {
        day,
        highest,
        lowest,
    }))
}
