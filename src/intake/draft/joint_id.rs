//! The sample names by which results without places find theirs in a file of places.

use std::collections::BTreeSet;

use crate::intake::columns::Header;
use crate::intake::columns::roles::{self, RoleNames};
use crate::plan::PointKind;

use super::sketch::Sketch;

/// A column of sample names in a file of places.
pub(super) struct JointId {
    /// Its name.
    pub name: String,
    /// One name here and there, where both files write them differently.
    spellings: Option<(String, String)>,
}

impl JointId {
    /// The column of a file of places that holds the sample names of a file of results; `None` where the one has no places or the other
    /// has some.
    pub(super) fn find(places: &Sketch, results: &Sketch) -> Option<Self> {
        let is_placed = |sketch: &Sketch| {
            let names = RoleNames::built_in();
            sketch.has_geometry || sketch.header.find_coordinate(&names.x).is_some()
        };
        if places.kind != PointKind::Readings || !is_placed(places) || is_placed(results) {
            return None;
        }
        let wanted = values(
            &results.header,
            results.header.find_role(&RoleNames::built_in().id)?,
        );
        let first = usize::from(places.has_geometry) * 2;
        let columns = || first..places.header.names.len();
        let share = |at: usize| {
            let own = values(&places.header, at);
            let shared = own.intersection(&wanted).count();
            // Spellings are told apart from names that are there and there.
            if shared * 2 > own.len().min(wanted.len()) {
                return Some((shared, None));
            }
            let like = |name: &String| wanted.iter().find(|other| plain(other) == plain(name));
            let pairs: Vec<(&String, &String)> = own
                .iter()
                .filter_map(|name| Some((name, like(name)?)))
                .collect();
            let example = pairs.iter().find(|(one, other)| one != other);
            (pairs.len() * 2 > own.len().min(wanted.len())).then(|| {
                let owned = example.map(|(one, other)| ((*one).clone(), (*other).clone()));
                (pairs.len(), owned)
            })
        };
        let is_id = |at: &usize| {
            let name = roles::role_name(places.header.name(*at));
            RoleNames::built_in().id.contains(&name)
        };
        // By its name first, else the first column with the same values.
        let found = |at: usize| share(at).map(|(_, spellings)| (at, spellings));
        let (at, spellings) = columns().filter(is_id).find_map(found).or_else(|| {
            columns()
                .filter(|at| !roles::is_place_name(places.header.name(*at)))
                .find_map(found)
        })?;
        Some(Self {
            name: places.header.name(at).to_owned(),
            spellings,
        })
    }

    /// What has to be said where both files write the names differently.
    pub(super) fn question(self) -> Option<String> {
        let (here, there) = self.spellings?;
        Some(format!(
            "the sample names are written \"{here}\" here and \"{there}\" in the file of results: write them alike in both, or no result finds its place"
        ))
    }
}

/// The different texts of a column's first rows.
fn values(header: &Header, at: usize) -> BTreeSet<String> {
    let cells = header.sample.iter().filter_map(|row| row.get(at));
    let filled = cells
        .map(|cell| cell.trim())
        .filter(|cell| !cell.is_empty());
    filled.map(str::to_owned).collect()
}

/// A sample name without leading zeros, blanks and case.
fn plain(name: &str) -> String {
    let bare: String = name.chars().filter(|c| !c.is_whitespace()).collect();
    bare.to_lowercase().trim_start_matches('0').to_owned()
}
