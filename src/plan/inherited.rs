//! What a farm file says for all its fields: tables that a plan takes where it does not set them itself, key by key. A value keeps the place
//! that it was typed in, so that an error names the farm file.

use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

use super::error::PlanError;
use crate::provenance::Place;
use crate::toml_tree::{Item, Tree, Value, join};

/// The keys of a plan that a farm file may set for its fields.
pub(super) const INHERITED_KEYS: [&str; 20] = [
    "season",
    "crop",
    "units",
    "region",
    "organic_carbon",
    "below_detection",
    "bulk_density",
    "grid",
    "surface",
    "zones",
    "machine",
    "rules",
    "prices",
    "budget",
    "people",
    "shed",
    "yield_goal",
    "last_harvest",
    "strips",
    "limits",
];

/// Keys whose value is the path of a file.
const PATHS: [&str; 2] = ["rules.file", "strips.earlier_harvest"];

/// Behind every byte of a plan: what is inherited stands after what the plan says itself.
const BEHIND_THE_PLAN: usize = 1 << 40;

/// The tables of a farm file that its fields take.
#[derive(Debug, Clone, Default)]
pub struct Inherited {
    /// Name of the farm file.
    pub(super) file: PathBuf,
    /// What a plan takes.
    pub(super) tree: Tree,
    /// What each `[[points]]` of a field takes that has no plan file of its own.
    pub(super) points: Tree,
    /// Whether the plan is one that takes `points`.
    pub(super) gives_points: bool,
}

impl Inherited {
    /// The farm file as seen from a plan below its folder; `None` where the plan does not lie there.
    pub(super) fn file_from(&self, plan: &Path) -> Option<PathBuf> {
        Some(climb_from(plan)?.join(&self.file))
    }

    /// Puts what a plan does not say itself into it; gives the places of what was put there, by key.
    pub(super) fn fill(
        &self,
        plan: &mut Tree,
        path: &Path,
        problems: &mut Vec<PlanError>,
    ) -> BTreeMap<String, Place> {
        if self.gives_points {
            self.fill_points(plan);
        }
        let mut taken = Filling {
            climb: climb_from(path),
            places: BTreeMap::new(),
            problems,
        };
        taken.fill(plan, &self.tree, "");
        taken.places
    }

    /// Whether the farm says something of the points of fields that have no plan file of their own.
    #[must_use]
    pub fn says_of_points(&self, key: &str) -> bool {
        self.points.contains_key(key)
    }

    /// The same for fields that have no plan file of their own: their points take what the farm says of points.
    #[must_use]
    pub fn with_points(&self) -> Self {
        Self {
            gives_points: true,
            ..self.clone()
        }
    }

    /// Puts the farm's `[points]` into each table of points.
    fn fill_points(&self, plan: &mut Tree) {
        let Some(Item {
            value: Value::List(tables),
            ..
        }) = plan.get_mut("points")
        else {
            return;
        };
        for table in tables {
            if let Value::Table(table) = &mut table.value {
                for (key, item) in &self.points {
                    table.entry(key.clone()).or_insert_with(|| item.clone());
                }
            }
        }
    }

    /// A text that is the same where the tables are the same, row by row.
    #[must_use]
    pub fn as_text(&self) -> String {
        let mut lines = Vec::new();
        for tree in [&self.tree, &self.points] {
            leaves(tree, "", &mut |path, item| {
                lines.push(format!("{path} = {} ({})", item.value.show(), item.place));
            });
        }
        lines.join("\n")
    }
}

/// The way from a plan's folder up to the farm's; `None` where the plan lies outside of it.
fn climb_from(plan: &Path) -> Option<PathBuf> {
    let mut climb = PathBuf::new();
    for part in plan.parent()?.components() {
        match part {
            Component::Normal(_) => climb.push(".."),
            Component::CurDir => {}
            _ => return None,
        }
    }
    Some(climb)
}

struct Filling<'p> {
    climb: Option<PathBuf>,
    places: BTreeMap<String, Place>,
    problems: &'p mut Vec<PlanError>,
}

impl Filling<'_> {
    fn fill(&mut self, own: &mut Tree, farm: &Tree, path: &str) {
        for (key, item) in farm {
            let path = join(path, key);
            match (own.get_mut(key), &item.value) {
                (None, _) => drop(own.insert(key.clone(), self.taken(item, &path))),
                (Some(own), Value::Table(farm)) => {
                    if let Value::Table(own) = &mut own.value {
                        self.fill(own, farm, &path);
                    }
                }
                (Some(_), _) => {}
            }
        }
    }

    /// An item of the farm as a plan holds it.
    fn taken(&mut self, item: &Item, path: &str) -> Item {
        self.places.insert(path.to_owned(), item.place.clone());
        let value = match &item.value {
            Value::Table(tree) => {
                let own = |(key, item): (&String, &Item)| {
                    (key.clone(), self.taken(item, &join(path, key)))
                };
                Value::Table(tree.iter().map(own).collect())
            }
            Value::Text(text) if PATHS.contains(&path) => Value::Text(self.moved(text, item)),
            other => other.clone(),
        };
        Item {
            value,
            place: item.place.clone(),
            order: item.order.saturating_add(BEHIND_THE_PLAN),
        }
    }

    /// A path of the farm file as seen from the plan.
    fn moved(&mut self, text: &str, item: &Item) -> String {
        if Path::new(text).is_absolute() {
            return text.to_owned();
        }
        let Some(climb) = &self.climb else {
            self.problems.push(PlanError::Contradiction {
                place: item.place.clone(),
                what: "a path of the farm file holds for plans in its folder and below, and this plan lies elsewhere".to_owned(),
                help: "set it in the plan itself".to_owned(),
            });
            return text.to_owned();
        };
        climb.join(text).to_string_lossy().replace('\\', "/")
    }
}

/// Every value that is no table, with its dotted key.
pub(super) fn leaves(tree: &Tree, path: &str, each: &mut impl FnMut(&str, &Item)) {
    let mut items: Vec<(&String, &Item)> = tree.iter().collect();
    items.sort_by_key(|(_, item)| item.order);
    for (key, item) in items {
        let path = join(path, key);
        match &item.value {
            Value::Table(tree) => leaves(tree, &path, each),
            _ => each(&path, item),
        }
    }
}
