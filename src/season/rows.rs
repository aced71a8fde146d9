//! The rows of one file: which zone each is of, and its cells in the units of the calculation.

use super::context::SeasonContext;
use super::error::SeasonError;
use super::ground::Spot;
use super::measures::{feet_of, per_acre};
use crate::intake::{SeasonFile, SeasonRow};
use crate::plan::{Day, SeasonRole};
use crate::remark::Remark;

/// Most errors that are told of one file.
const MOST_ERRORS: usize = 12;
/// Most rows that are named in a remark.
const MOST_NAMED: usize = 6;

/// Where a row lies.
pub(super) enum Where {
    /// In a zone.
    Inside(Spot),
    /// In none.
    Outside,
}

/// A file being taken.
pub(super) struct Rows<'a> {
    pub file: &'a SeasonFile,
    pub context: &'a SeasonContext<'a>,
    pub errors: Vec<SeasonError>,
    outside: Vec<u32>,
    inside: usize,
}

impl<'a> Rows<'a> {
    pub(super) fn new(file: &'a SeasonFile, context: &'a SeasonContext<'a>) -> Self {
        Self {
            file,
            context,
            errors: Vec::new(),
            outside: Vec::new(),
            inside: 0,
        }
    }

    /// The zone of a row: where its place lies, else the zone that it names.
    pub(super) fn place(
        &mut self,
        row: &SeasonRow,
        at: Option<(f64, f64)>,
    ) -> Result<Where, SeasonError> {
        let ground = self.context.ground;
        let named = self.named_zone(row)?;
        let strip = row.text(SeasonRole::Strip).map(str::to_owned);
        if let Some(name) = &strip
            && ground.strips.iter().all(|known| known.name != *name)
        {
            return Err(SeasonError::UnknownStrip {
                place: self.file.place_of(row, SeasonRole::Strip),
                found: name.clone(),
                known: ground.strip_names(),
            });
        }
        let found = match (at, named) {
            (Some((x, y)), _) => ground.spot(x, y),
            (None, Some(zone)) => Some(Spot { zone, strip: None }),
            (None, None) => {
                return Err(SeasonError::NoPlace {
                    place: self.file.place.clone().at_row(row.row),
                });
            }
        };
        let Some(mut spot) = found else {
            self.outside.push(row.row);
            return Ok(Where::Outside);
        };
        self.inside += 1;
        if at.is_some() && named.is_some_and(|zone| zone != spot.zone) {
            return Err(SeasonError::Contradiction {
                place: self.file.place_of(row, SeasonRole::Zone),
                what: format!(
                    "the place lies in zone {}, the row names another",
                    spot.zone
                ),
                help: "correct the zone, or take its column out: the place says it",
            });
        }
        if let Some(name) = &strip {
            self.require_strip_in(name, spot.zone, row)?;
        }
        spot.strip = strip.or(spot.strip);
        Ok(Where::Inside(spot))
    }

    /// Refuses a strip that has no piece in the zone of its row.
    fn require_strip_in(&self, name: &str, zone: u32, row: &SeasonRow) -> Result<(), SeasonError> {
        let pieces = self.context.ground.strips.iter();
        let mut zones: Vec<u32> = pieces
            .filter(|piece| piece.name == name)
            .map(|piece| piece.zone)
            .collect();
        if zones.contains(&zone) {
            return Ok(());
        }
        zones.sort_unstable();
        zones.dedup();
        let zones: Vec<String> = zones.iter().map(u32::to_string).collect();
        Err(SeasonError::Contradiction {
            place: self.file.place_of(row, SeasonRole::Strip),
            what: format!(
                "the check strip \"{name}\" lies in zone {}, not in zone {zone}",
                zones.join(" and ")
            ),
            help: "correct the zone or the strip",
        })
    }

    fn named_zone(&self, row: &SeasonRow) -> Result<Option<u32>, SeasonError> {
        let Some(text) = row.text(SeasonRole::Zone) else {
            return Ok(None);
        };
        let zones = &self.context.ground.zones;
        let plain = text.trim_start_matches("zone").trim();
        // A spreadsheet may write 1 as 1.0.
        let plain = plain.strip_suffix(".0").unwrap_or(plain);
        let number: Option<u32> = plain.parse().ok();
        let known = number.filter(|number| zones.iter().any(|zone| zone.number == *number));
        known.map(Some).ok_or_else(|| SeasonError::UnknownZone {
            place: self.file.place_of(row, SeasonRole::Zone),
            found: crate::text::shorten(text),
            last: zones.len(),
        })
    }

    /// Refuses rows of another crop, season or time before planting.
    pub(super) fn require_of_this_run(&self, row: &SeasonRow) -> Result<(), SeasonError> {
        let crop = self.context.crop;
        let own = self.context.field.to_lowercase();
        if let Some(found) = row.text(SeasonRole::Field)
            && found.to_lowercase() != own
        {
            return Err(SeasonError::OtherField {
                place: self.file.place_of(row, SeasonRole::Field),
                what: format!("the field is \"{}\"", crate::text::shorten(found)),
                folder: self.context.folder.to_owned(),
                field: self.context.field.to_owned(),
            });
        }
        if let Some(found) = row.text(SeasonRole::Crop) {
            let word = found.to_lowercase();
            if word != crop.name && word != crop.label && !crop.also.contains(&word) {
                return Err(SeasonError::WrongCrop {
                    place: self.file.place_of(row, SeasonRole::Crop),
                    found: crate::text::shorten(found),
                    crop: crop.label.clone(),
                });
            }
        }
        let planted = self.planted(row)?;
        for role in [SeasonRole::Planted, SeasonRole::Date, SeasonRole::EmergedOn] {
            let Some(day) = row.day(self.file, role)? else {
                continue;
            };
            let place = || self.file.place_of(row, role);
            // A winter crop is sown in the year before.
            let is_near =
                (self.context.season.saturating_sub(1)..=self.context.season).contains(&day.year);
            if !is_near {
                return Err(SeasonError::OtherSeason {
                    place: place(),
                    day,
                    season: self.context.season,
                });
            }
            if let Some(planted) = planted.filter(|planted| day < *planted) {
                return Err(SeasonError::BeforePlanting {
                    place: place(),
                    day,
                    planted,
                });
            }
        }
        Ok(())
    }

    pub(super) fn day(
        &self,
        row: &SeasonRow,
        role: SeasonRole,
    ) -> Result<Option<Day>, SeasonError> {
        Ok(row.day(self.file, role)?)
    }

    /// Day of planting, of the row or of the whole season.
    pub(super) fn planted(&self, row: &SeasonRow) -> Result<Option<Day>, SeasonError> {
        let own = row.day(self.file, SeasonRole::Planted)?;
        Ok(own.or(self.context.settings.planted))
    }

    /// Plants wanted, per acre.
    pub(super) fn population(&self, row: &SeasonRow) -> Result<Option<f64>, SeasonError> {
        let Some(number) = row.number(self.file, SeasonRole::Population)? else {
            return Ok(self.context.settings.population);
        };
        let unit = self.unit(SeasonRole::Population);
        let found = per_acre(number, unit);
        let Some(plants) = found else {
            return Err(self.unit_error(SeasonRole::Population, "/ac, /ha", "target (/ac)"));
        };
        // 32 is meant as 32,000 by some; nothing is guessed.
        if !(1_000.0..=5e6).contains(&plants) {
            return Err(self.impossible(
                row,
                SeasonRole::Population,
                "the plants that were wanted",
                "1,000 to 5,000,000 an acre; write all its digits",
            ));
        }
        Ok(Some(plants))
    }

    fn unit(&self, role: SeasonRole) -> Option<&str> {
        self.file.column(role)?.unit.as_deref()
    }

    fn unit_error(
        &self,
        role: SeasonRole,
        allowed: &'static str,
        example: &'static str,
    ) -> SeasonError {
        let found = self.unit(role).map_or_else(
            || "the column says no unit".to_owned(),
            |unit| format!("\"{unit}\" is not a unit of it"),
        );
        let place = self.file.place.clone();
        SeasonError::Unit {
            place: match self.file.column(role) {
                Some(column) => place.in_column(column.name.as_str()),
                None => place,
            },
            found,
            allowed,
            example,
        }
    }

    /// A length in feet.
    pub(super) fn feet(
        &self,
        row: &SeasonRow,
        role: SeasonRole,
        example: &'static str,
    ) -> Result<Option<f64>, SeasonError> {
        let Some(number) = row.number(self.file, role)? else {
            return Ok(None);
        };
        let feet = self.unit(role).and_then(|unit| feet_of(number, unit));
        let Some(feet) = feet else {
            return Err(self.unit_error(role, "ft, in, m, cm", example));
        };
        if !(0.05..=5_000.0).contains(&feet) {
            return Err(self.impossible(row, role, "a length", "0.6 in to 5,000 ft"));
        }
        Ok(Some(feet))
    }

    /// Degrees Celsius of the sap.
    pub(super) fn celsius(&self, row: &SeasonRow) -> Result<Option<f64>, SeasonError> {
        let Some(number) = row.number(self.file, SeasonRole::Temperature)? else {
            return Ok(None);
        };
        match self.unit(SeasonRole::Temperature) {
            Some("c" | "degc" | "C") => Ok(Some(number)),
            Some("f" | "degf" | "F") => Ok(Some((number - 32.0) / 1.8)),
            _ => Err(self.unit_error(SeasonRole::Temperature, "C, F", "temp (F)")),
        }
    }

    /// Degrees Fahrenheit of the air.
    pub(super) fn fahrenheit(
        &self,
        row: &SeasonRow,
        role: SeasonRole,
    ) -> Result<Option<f64>, SeasonError> {
        let Some(number) = row.number(self.file, role)? else {
            return Ok(None);
        };
        let degrees = match self.unit(role) {
            Some("c" | "degc" | "C") => number * 1.8 + 32.0,
            Some("f" | "degf" | "F") => number,
            _ => return Err(self.unit_error(role, "C, F", "max (F)")),
        };
        if !(-60.0..=140.0).contains(&degrees) {
            return Err(self.impossible(row, role, "a temperature of the air", "-60 to 140 F"));
        }
        Ok(Some(degrees))
    }

    /// A content of the dry matter in percent.
    pub(super) fn percent_content(
        &self,
        row: &SeasonRow,
        role: SeasonRole,
        value: f64,
    ) -> Result<f64, SeasonError> {
        let percent = match self.unit(role) {
            Some("%" | "pct") => value,
            Some("ppm" | "mg/kg") => value / 10_000.0,
            _ => return Err(self.unit_error(role, "%, ppm", "Zn (ppm)")),
        };
        if !(0.0..=15.0).contains(&percent) {
            let what = "a content of dry leaves";
            return Err(self.impossible(row, role, what, "0 to 15 %, 0 to 150,000 ppm"));
        }
        Ok(percent)
    }

    pub(super) fn impossible(
        &self,
        row: &SeasonRow,
        role: SeasonRole,
        what: &'static str,
        allowed: &'static str,
    ) -> SeasonError {
        SeasonError::Impossible {
            place: self.file.place_of(row, role),
            found: crate::text::shorten(row.text(role).unwrap_or("nothing")),
            what,
            allowed,
            hint: "",
        }
    }

    /// The errors of the file; what lay outside is told, and refused where it is most of it.
    pub(super) fn finish(mut self, remarks: &mut Vec<Remark>) -> Result<(), Vec<SeasonError>> {
        let named: Vec<String> = self
            .outside
            .iter()
            .take(MOST_NAMED)
            .map(u32::to_string)
            .collect();
        let more = if self.outside.len() > MOST_NAMED {
            " and more"
        } else {
            ""
        };
        let rows = format!("rows {}{more}", named.join(", "));
        if self.outside.len() > self.inside {
            self.errors.push(SeasonError::NotInTheField {
                place: self.file.place.clone(),
                what: format!(
                    "{} of {} readings lie in no zone of this run ({rows}): they are of another field, or longitude and latitude are wrong",
                    self.outside.len(),
                    self.outside.len() + self.inside
                ),
            });
        } else if !self.outside.is_empty() {
            let what = format!(
                "{} readings lie in no zone and are left out ({rows})",
                self.outside.len()
            );
            let remark = Remark::warning("reading-outside", what).at(self.file.place.clone());
            remarks.push(remark.help("correct their places, or take the rows out"));
        }
        let more = self.errors.len().saturating_sub(MOST_ERRORS);
        if more > 0 {
            self.errors.truncate(MOST_ERRORS);
            self.errors.push(SeasonError::More {
                place: self.file.place.clone(),
                count: more,
            });
        }
        if self.errors.is_empty() {
            Ok(())
        } else {
            Err(self.errors)
        }
    }
}
