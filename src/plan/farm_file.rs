//! The farm file: which fields there are, what holds for all of them, and what is the farm's own (its name, its budget, its stock).

use std::path::{Path, PathBuf};

use super::error::{Hint, PlanError};
use super::file::PlanFile;
use super::homes;
use super::inherited::{INHERITED_KEYS, Inherited};
use super::people::People;
use super::reading::{Document, TableReader, Typed};
use super::resolve;
use super::supply::Stock;
use super::{LARGEST_PLAN_BYTES, bytes_as_text, parsed};
use crate::files::Files;
use crate::provenance::Place;
use crate::text::nearest;
use crate::toml_tree::{Item, Tree, Value};
use crate::units::{UnitSystem, Volume, split_number_and_unit};

/// The keys of a farm file that are the farm's own.
const OWN_KEYS: [&str; 4] = ["farm", "grower", "fields", "points"];
/// Keys of a plan that say something of one field.
const FIELD_KEYS: [&str; 6] = [
    "field", "boundary", "keep_out", "override", "results", "past",
];
/// No farm spends more, United States dollars.
const MOST_BUDGET: f64 = 1e9;

/// A farm file, checked.
#[derive(Debug, Clone)]
pub struct FarmFile {
    /// Name of the farm.
    pub farm: Option<String>,
    /// Whose farm it is, who made the review and when.
    pub people: People,
    /// Where its fields are found.
    pub fields: FieldList,
    /// What its fields take where their plans do not say it.
    pub inherited: Inherited,
    /// Units of the farm's own files.
    pub units: UnitSystem,
    /// Tank on the planter.
    pub tank: Option<Volume>,
    /// The most that may be spent over all fields, United States dollars.
    pub budget_usd: Option<f64>,
    /// What stands in the shed, for all fields together.
    pub stock: Vec<(String, Stock)>,
}

/// Where the fields of a farm are found.
#[derive(Debug, Clone, PartialEq)]
pub enum FieldList {
    /// Paths of plan files; `*` and `?` stand for any letters of one name, `**` for any folders.
    Patterns(Vec<String>, Place),
    /// A table with one row a field.
    Table(PathBuf, Place),
}

/// Reads and checks a farm file.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows.
pub fn read_farm(files: &Files, path: &Path) -> Result<FarmFile, Vec<PlanError>> {
    let text = bytes_as_text(files, path, LARGEST_PLAN_BYTES).map_err(|problem| vec![problem])?;
    farm_from_text(&text, files, path)
}

/// Checks the text of a farm file that stands, or would stand, at `path`.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows.
pub fn farm_from_text(text: &str, files: &Files, path: &Path) -> Result<FarmFile, Vec<PlanError>> {
    let name = path.file_name().unwrap_or(path.as_os_str());
    let document = Document::new(&name.to_string_lossy(), homes::home_of);
    let mut tree = parsed(text, &document)?;
    refuse_other_keys(&tree, &document);
    let own = OwnValues::take(&mut tree, &document);
    let inherited_tree = inherited(tree);
    let typed = PlanFile::read(TableReader::root(&document, &inherited_tree));
    let beside = files.beside(path);
    let values = resolve::farm_values(&typed, &document, &beside);
    let mut problems = document.into_problems();
    problems.retain(|problem| !is_of_the_field(problem));
    problems.sort_by_key(|problem| problem.place().row);
    let (Some(fields), true) = (own.fields, problems.is_empty()) else {
        return Err(problems);
    };
    let mut people = values.people;
    people.grower = own.grower.or(people.grower);
    Ok(FarmFile {
        farm: own.farm.or_else(|| people.farm.clone()),
        people,
        fields,
        inherited: Inherited {
            file: PathBuf::from(name),
            tree: inherited_tree,
            points: own.points,
            gives_points: false,
        },
        units: values.units,
        tank: values.tank,
        budget_usd: own.budget_usd,
        stock: own.stock,
    })
}

/// A farm file need not say what each field says of itself.
fn is_of_the_field(problem: &PlanError) -> bool {
    let of_field = [
        "field",
        "season",
        "crop",
        "boundary",
        "points",
        "points.file",
    ];
    matches!(problem, PlanError::Missing { key, .. } if of_field.contains(key))
}

/// What of a farm file goes into the plans. The farm's name stands in the task data of each field.
fn inherited(mut tree: Tree) -> Tree {
    tree.retain(|key, _| INHERITED_KEYS.contains(&key.as_str()));
    for key in ["budget", "shed"] {
        let is_empty = |item: &Item| item.value.table().is_some_and(Tree::is_empty);
        if tree.get(key).is_some_and(is_empty) {
            tree.remove(key);
        }
    }
    tree
}

/// Notes keys that no farm file has.
fn refuse_other_keys(tree: &Tree, document: &Document) {
    let allowed = || OWN_KEYS.iter().chain(&INHERITED_KEYS).copied();
    for (key, item) in tree
        .iter()
        .filter(|(key, _)| !allowed().any(|own| own == *key))
    {
        if FIELD_KEYS.contains(&key.as_str()) {
            document.note(PlanError::Contradiction {
                place: item.place.clone(),
                what: format!("\"{key}\" says something of one field"),
                help: "write it into that field's plan".to_owned(),
            });
            continue;
        }
        document.note(PlanError::UnknownKey {
            place: item.place.clone(),
            key: crate::text::shorten(key),
            table: "the farm file".to_owned(),
            hint: Hint::from(nearest(key, allowed().chain(FIELD_KEYS))),
            allowed: allowed().collect::<Vec<_>>().join(", "),
        });
    }
}

/// What is the farm's own and goes into no plan.
#[derive(Default)]
struct OwnValues {
    farm: Option<String>,
    grower: Option<String>,
    fields: Option<FieldList>,
    points: Tree,
    budget_usd: Option<f64>,
    stock: Vec<(String, Stock)>,
}

impl OwnValues {
    /// Takes them out of the tree.
    fn take(tree: &mut Tree, document: &Document) -> Self {
        let mut own = Tree::new();
        for key in OWN_KEYS {
            own.extend(tree.remove_entry(key));
        }
        let mut reader = TableReader::root(document, &own);
        let text = |typed: Typed<String>| typed.into_given();
        let farm = text(reader.text("farm", "\"Three Alders\""));
        let grower = text(reader.text("grower", "\"...\""));
        Self {
            fields: fields(&mut reader, document),
            points: points(own.get("points"), document),
            farm,
            grower,
            budget_usd: budget(tree, document),
            stock: stock(tree, document),
        }
    }
}

const FIELDS: &str =
    "fields = [\"*/plan.toml\"], or fields = { table = \"fields.csv\" } with one row a field";

fn fields(reader: &mut TableReader<'_>, document: &Document) -> Option<FieldList> {
    let place = reader.place();
    let typed = reader.value("fields");
    let Some(item) = typed else {
        document.note(PlanError::Missing {
            place: place.at_row(1).at_key("fields"),
            key: "fields",
            example: FIELDS,
        });
        return None;
    };
    match &item.value {
        Value::List(items) if !items.is_empty() => {
            let texts: Option<Vec<String>> = items
                .iter()
                .map(|item| item.value.text().map(str::trim).map(str::to_owned))
                .collect();
            let texts = texts.filter(|texts| texts.iter().all(|text| !text.is_empty()));
            if let Some(texts) = texts {
                return Some(FieldList::Patterns(texts, item.place.clone()));
            }
        }
        Value::Table(table) => {
            let mut reader = TableReader::of_item(document, "fields", item)?;
            let file = reader.text("table", "\"fields.csv\" or \"fields.parquet\"");
            reader.finish();
            if table.contains_key("table") {
                let file = file.given()?;
                return Some(FieldList::Table(
                    PathBuf::from(&file.value),
                    file.place.clone(),
                ));
            }
        }
        _ => {}
    }
    document.note(PlanError::WrongType {
        place: item.place.clone(),
        found: item.value.described(),
        wanted: FIELDS.to_owned(),
    });
    None
}

/// `[points]`: what the tables of points of a field without a plan file take.
fn points(item: Option<&Item>, document: &Document) -> Tree {
    let Some(item) = item else {
        return Tree::new();
    };
    if let Value::Table(tree) = &item.value {
        return tree.clone();
    }
    document.note(PlanError::WrongType {
        place: item.place.clone(),
        found: item.value.described(),
        wanted: "[points] in single brackets: what holds for the points of every field in the table of fields".to_owned(),
    });
    Tree::new()
}

/// Takes the farm's limit out of `[budget]`, where it is an amount for all fields. One per area stays: it holds for each field.
fn budget(tree: &mut Tree, document: &Document) -> Option<f64> {
    let Value::Table(table) = &mut tree.get_mut("budget")?.value else {
        return None;
    };
    let item = table.get("limit")?;
    let text = item.value.text()?;
    let (number, unit) = split_number_and_unit(text)?;
    if unit != "USD" {
        return None;
    }
    let is_possible = (0.0..=MOST_BUDGET).contains(&number);
    if !is_possible {
        document.note(PlanError::OutOfRange {
            place: item.place.clone(),
            found: crate::text::shorten(text),
            allowed: "0 to 1,000,000,000 USD for all fields together",
        });
    }
    table.remove("limit");
    is_possible.then_some(number)
}

/// Takes the stock out of `[shed]`: it is there once, for all fields together.
fn stock(tree: &mut Tree, document: &Document) -> Vec<(String, Stock)> {
    let Some(Item {
        value: Value::Table(shed),
        ..
    }) = tree.get_mut("shed")
    else {
        return Vec::new();
    };
    let Some(on_hand) = shed.remove("on_hand") else {
        return Vec::new();
    };
    let alone: Tree = [("on_hand".to_owned(), on_hand)].into_iter().collect();
    resolve::farm_stock(&alone, document)
}
