//! The day of planting of each zone, as the season's rows say it.

use super::readings::Readings;
use crate::plan::Day;

/// Days of planting by zone.
pub(super) struct Calendar {
    days: Vec<(u32, Day)>,
}

impl Calendar {
    pub(super) fn new(readings: &Readings) -> Self {
        let stands = readings.stands.iter().map(|row| (&row.spot, row.planted));
        let places = readings.emergence.iter();
        let leaves = readings.tissue.iter();
        let mut days: Vec<(u32, Day)> = stands
            .chain(places.map(|row| (&row.spot, row.planted)))
            .chain(leaves.map(|row| (&row.spot, row.planted)))
            .filter_map(|(spot, planted)| Some((spot.zone, planted?)))
            .collect();
        days.sort_unstable();
        days.dedup();
        Self { days }
    }

    /// The day that a zone's rows share; where they say none, the one day that all rows share. `None` where days differ or nobody says one.
    pub(super) fn planted(&self, zone: u32) -> Option<Day> {
        let own: Vec<Day> = self.of(|number| number == zone);
        let found = if own.is_empty() {
            self.of(|_| true)
        } else {
            own
        };
        match found[..] {
            [day] => Some(day),
            _ => None,
        }
    }

    fn of(&self, is_wanted: impl Fn(u32) -> bool) -> Vec<Day> {
        let wanted = self.days.iter().filter(|(zone, _)| is_wanted(*zone));
        let mut days: Vec<Day> = wanted.map(|(_, day)| *day).collect();
        days.sort_unstable();
        days.dedup();
        days
    }
}
