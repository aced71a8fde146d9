//! Names of the plan that the rulebook does not know, and places that are not on the field: told before any map is drawn.

use geo::{Intersects, LineString, Point, Polygon};

use crate::field::Field;
use crate::plan::Settings;
use crate::provenance::Place;
use crate::rulebook::Rulebook;
use crate::units::decimal;

use super::RatesError;
use super::prices;

/// Everything that `prescribe` would refuse of the plan's own words: shed, yields, places of overrides.
#[must_use]
pub fn check_names(settings: &Settings, rulebook: &Rulebook, field: &Field) -> Vec<RatesError> {
    let mut errors = unknown_in_shed(settings, rulebook);
    errors.extend(unknown_harvests(settings, rulebook));
    errors.extend(overrides_elsewhere(settings, field));
    errors
}

/// Crops of the yield goals and last harvests that the rulebook does not know.
pub(super) fn unknown_harvests(settings: &Settings, rulebook: &Rulebook) -> Vec<RatesError> {
    let goals = settings.supply.yield_goals.iter();
    let goals = goals.map(|(crop, _)| ("yield_goal", crop));
    let last = settings.supply.last_harvests.iter();
    let last = last.map(|(crop, _)| ("last_harvest", crop));
    goals
        .chain(last)
        .filter(|(_, crop)| rulebook.crop(crop).is_none())
        .map(|(table, crop)| RatesError::UnknownCrop {
            place: place_at(settings, &format!("{table}.{crop}")),
            crop: crop.clone(),
        })
        .collect()
}

/// Names of the shed that the rulebook does not know.
pub(super) fn unknown_in_shed(settings: &Settings, rulebook: &Rulebook) -> Vec<RatesError> {
    let Some(shed) = &settings.supply.shed else {
        return Vec::new();
    };
    let listed = shed
        .products
        .iter()
        .map(|name| ("shed.products".to_owned(), name));
    let stocked = shed.on_hand.iter();
    let stocked = stocked.map(|(name, _)| (format!("shed.on_hand.{name}"), name));
    listed
        .chain(stocked)
        .filter(|(_, name)| rulebook.product(name).is_none())
        .map(|(key, name)| {
            let place = place_at(settings, &key);
            if name == Rulebook::STARTER {
                RatesError::StarterInShed { place }
            } else {
                prices::unknown(name, place, rulebook)
            }
        })
        .collect()
}

/// Overrides for a place that no zone can hold.
fn overrides_elsewhere(settings: &Settings, field: &Field) -> Vec<RatesError> {
    let said = settings.overrides.iter();
    let meant = said.filter_map(|said| Some((said, said.at.or(said.inside.first().copied())?)));
    meant
        .filter(|(said, at)| match said.at {
            Some(_) => !touches(field, &[*at]),
            None => !touches(field, &said.inside),
        })
        .map(|(said, (longitude, latitude))| RatesError::NoZoneThere {
            place: said.place.clone(),
            longitude: decimal(longitude, 6),
            latitude: decimal(latitude, 6),
        })
        .collect()
}

/// Whether a place or a drawn place touches the workable field.
fn touches(field: &Field, corners: &[(f64, f64)]) -> bool {
    let mut corners = corners.to_vec();
    if field.crs.project(&mut corners).is_err() {
        return false;
    }
    match corners[..] {
        [at] => field.workable.intersects(&Point::from(at)),
        _ => {
            let drawn = Polygon::new(LineString::from(corners), Vec::new());
            field.workable.intersects(&drawn)
        }
    }
}

/// A key of the plan with its row.
fn place_at(settings: &Settings, key: &str) -> Place {
    if let Some(place) = settings.farm.places.get(key) {
        return place.clone();
    }
    let file = Place::file(settings.plan_file.display().to_string());
    let rows = &settings.supply.rows;
    let row = rows.iter().find(|(own, _)| own == key).map(|(_, row)| *row);
    row.map_or_else(|| file.clone(), |row| file.clone().at_row(row))
        .at_key(key)
}
