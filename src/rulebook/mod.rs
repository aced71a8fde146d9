//! The thresholds in force, each with method, depth, unit, basis and source; and the products, recipe and crops.
//!
//! `built_in.toml` is embedded in the program; the user's file is laid over it key by key. No threshold is a bare
//! number in the code: code asks the rulebook.

mod caution;
mod check;
mod checksum;
mod condition;
mod crop;
mod crop_listing;
mod error;
mod factor;
mod fix;
mod inference;
mod listing;
mod numbers;
mod nutrient;
mod own_trials;
mod product;
mod product_listing;
mod product_name;
mod rate_table;
mod reader;
mod recipe;
mod region;
mod rule;
mod rule_check;
mod rule_listing;
mod season;
mod sections;
mod soil_test;
mod tree;
mod worked;

use std::io;
use std::path::Path;
use std::sync::Arc;

pub use caution::{Caution, LimeChoice};
pub use checksum::built_in_sha256;
pub use condition::Condition;
pub use crop::{Crop, FullStand, Removal, RowHabit, SaltTolerance, SeedSaltClass};
pub use error::RulebookError;
pub use factor::{Basis, Factor, Side};
pub use fix::FixRule;
pub use inference::{Inference, StraightLine};
pub use listing::Line;
pub use numbers::{Figure, Numbers};
pub use nutrient::Nutrient;
pub use own_trials::{Gate, OwnHarvest, OwnTrial, Weighed};
pub use product::{Analysis, NotWith, PriceSource, Product};
pub use product_name::ProductName;
pub use rate_table::{EquationTerms, RateForm, RateTable};
pub use recipe::{RecipeIngredient, StarterRecipe};
pub use region::Region;
pub use rule::{CropLimit, Rule, Statistic};
pub use season::{
    BrixTable, FoliarRule, LeafCaution, LeafSalt, NoLeafFeed, NotForCrops, SeasonRules, StandForm,
    StandRule, TissueRule, UnevenRule,
};
pub use soil_test::Test;
pub use tree::Change;
pub use worked::WorkedValue;

use reader::Entry;
use sections::{SECTIONS, section};

use rayon::prelude::*;

use crate::files::Files;
use crate::provenance::Place;
use crate::toml_tree::{Item, Tree, Value};
use crate::units::UnitSystem;

/// The rulebook that comes with the program.
const BUILT_IN: &str = include_str!("built_in.toml");
/// Nutrient rates, the products of the shed and further crops, laid over it.
const NUTRIENTS: &str = include_str!("nutrients.toml");
/// What messages call them.
const NUTRIENTS_NAME: &str = "built-in nutrient tables";
/// What decides after emergence, laid over both.
const SEASON: &str = include_str!("season.toml");
/// What messages call it.
const SEASON_NAME: &str = "built-in season rules";
/// What messages call it.
const BUILT_IN_NAME: &str = "built-in rulebook";
/// What messages call the rules of a region; its name follows.
const REGION_NAME: &str = "rules of ";
/// No rulebook is larger; a larger file is a mistake.
const LARGEST_FILE: u64 = 1_000_000;

/// Everything that decides: rules, crops, products, the starter's recipe, fixes, and single numbers.
#[derive(Debug, Clone)]
pub struct Rulebook {
    /// Thresholds, in the order of their factors, then of their names.
    pub rules: Vec<Rule>,
    /// Crops, by name.
    pub crops: Vec<Crop>,
    /// Products, by name.
    pub products: Vec<Product>,
    /// The starter's recipe; the first by name is used.
    pub recipes: Vec<StarterRecipe>,
    /// Fixes, by name.
    pub fixes: Vec<FixRule>,
    /// What a reading by one method tells of another, by name.
    pub inferences: Vec<Inference>,
    /// Tests that tell what is not known, by name.
    pub tests: Vec<Test>,
    /// Lime rules by buffer.
    pub limes: Vec<LimeChoice>,
    /// Rate tables, those of the region and the user first, then by name.
    pub rates: Vec<RateTable>,
    /// Values that the user knows of rate tables, for `rulebook check`.
    pub worked: Vec<WorkedValue>,
    /// The region's pack in force; none where the plan names none.
    pub region: Option<Region>,
    /// Cautions, by name.
    pub cautions: Vec<Caution>,
    /// Single numbers.
    pub numbers: Numbers,
    /// What the farm's own check strips said; none unless the plan names earlier seasons.
    pub own_trials: Vec<OwnTrial>,
    /// What decides after emergence.
    pub season: SeasonRules,
    /// For each cell of the field's grid the season in which the last earlier run that judged salt there found it; empty unless the plan
    /// names earlier seasons.
    pub earlier_salt: Vec<Option<u16>>,
    changes: Vec<Change>,
}

impl Rulebook {
    /// The rulebook that comes with the program.
    ///
    /// # Panics
    /// Never: a test reads the embedded text.
    #[must_use]
    pub fn built_in() -> Self {
        match Self::from_texts(BUILT_IN, None) {
            Ok(rulebook) => rulebook,
            Err(errors) => unreachable!("the built-in rulebook is faulty: {errors:?}"),
        }
    }

    /// The built-in rulebook with a region's pack and the user's file laid over it.
    ///
    /// # Errors
    /// A region that there is no pack of; all that is wrong with the file, each with line and key.
    pub fn load(
        files: &Files,
        region: Option<&str>,
        overlay: Option<&Path>,
    ) -> Result<Self, Vec<RulebookError>> {
        let Some(path) = overlay else {
            return Self::laid(BUILT_IN, region, None);
        };
        let file: Arc<str> = path.display().to_string().into();
        let bytes = files.read(path, LARGEST_FILE);
        let text = bytes.and_then(|bytes| {
            String::from_utf8(bytes)
                .map_err(|cause| io::Error::new(io::ErrorKind::InvalidData, cause.to_string()))
        });
        match text {
            Ok(text) => Self::laid(BUILT_IN, region, Some((&text, &file))),
            Err(cause) if cause.kind() == io::ErrorKind::FileTooLarge => {
                Err(vec![RulebookError::TooLarge {
                    file,
                    bytes: files.size(path).unwrap_or_default(),
                    allowed: LARGEST_FILE,
                }])
            }
            Err(source) => Err(vec![RulebookError::Unreadable { file, source }]),
        }
    }

    /// The rulebook of a region.
    ///
    /// # Errors
    /// A region that there is no pack of.
    pub fn of_region(region: &str) -> Result<Self, Vec<RulebookError>> {
        Self::laid(BUILT_IN, Some(region), None)
    }

    /// The words of all regions.
    pub fn regions() -> impl Iterator<Item = &'static str> {
        Region::PACKS.iter().map(|(name, _)| *name)
    }

    /// The built-in rulebook with a text laid over it; `file` is the name that messages use.
    ///
    /// # Errors
    /// All that is wrong with the text, each with line and key.
    pub fn from_text(text: &str, file: &str) -> Result<Self, Vec<RulebookError>> {
        Self::from_texts(BUILT_IN, Some((text, file)))
    }

    /// A rulebook from a base text and an overlay, for tests of the built-in text itself.
    ///
    /// # Errors
    /// All that is wrong with the texts, each with line and key.
    pub fn from_texts(
        base: &str,
        overlay: Option<(&str, &str)>,
    ) -> Result<Self, Vec<RulebookError>> {
        Self::laid(base, None, overlay)
    }

    fn laid(
        base: &str,
        region: Option<&str>,
        overlay: Option<(&str, &str)>,
    ) -> Result<Self, Vec<RulebookError>> {
        let parts = [
            (base, BUILT_IN_NAME),
            (NUTRIENTS, NUTRIENTS_NAME),
            (SEASON, SEASON_NAME),
        ];
        let trees = parts
            .par_iter()
            .map(|(text, name)| tree::parse(text, &(*name).into()));
        let mut trees = trees.collect::<Result<Vec<Tree>, _>>()?.into_iter();
        let mut tree = trees.next().unwrap_or_default();
        for part in trees {
            tree::overlay(&mut tree, part, "", &mut Vec::new());
        }
        let mut changes = Vec::new();
        if let Some(region) = region {
            let pack = pack(region)?;
            let name = format!("{REGION_NAME}{region}");
            let pack = tree::parse(pack, &name.as_str().into())?;
            tree::overlay(&mut tree, pack, "", &mut Vec::new());
        }
        if let Some((text, file)) = overlay {
            let text = text.strip_prefix('\u{feff}').unwrap_or(text);
            tree::overlay(
                &mut tree,
                tree::parse(text, &file.into())?,
                "",
                &mut changes,
            );
        }
        let mut errors = Vec::new();
        let mut rulebook = read(&tree, changes, &mut errors);
        rulebook.resolve_conditions(&tree, &mut errors);
        rulebook.resolve_crop_limits();
        rulebook.check(&tree, &mut errors);
        if errors.is_empty() {
            Ok(rulebook)
        } else {
            tree::at_the_change(&mut errors, &rulebook.changes, is_built_in);
            Err(error::without_what_follows(errors, is_built_in))
        }
    }

    /// The text of the built-in rulebook.
    #[must_use]
    pub fn built_in_text() -> &'static str {
        BUILT_IN
    }

    /// The text of the built-in rules of the season.
    #[must_use]
    pub fn season_text() -> &'static str {
        SEASON
    }

    /// What the user's file changes, in the order of the keys.
    #[must_use]
    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// The same rulebook with the depths of its tests written as people of a unit system write them: "0-15 cm" for "0-6 in".
    #[must_use]
    pub fn with_depths_in(mut self, units: UnitSystem) -> Self {
        for test in &mut self.tests {
            test.what = soil_test::with_depths_of(units, &test.what);
        }
        self
    }

    /// A rule by name.
    #[must_use]
    pub fn rule(&self, name: &str) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.name == name)
    }

    /// A crop by its name or one of its other names, whatever the case.
    #[must_use]
    pub fn crop(&self, name: &str) -> Option<&Crop> {
        let name = name.trim().to_lowercase();
        self.crops
            .iter()
            .find(|crop| crop.name == name || crop.also.contains(&name))
    }

    /// A product by name.
    #[must_use]
    pub fn product(&self, name: &str) -> Option<&Product> {
        self.products.iter().find(|product| product.name == name)
    }

    /// The starter's recipe in force.
    #[must_use]
    pub fn recipe(&self) -> Option<&StarterRecipe> {
        self.recipes.first()
    }

    /// The nearest known crop to a word, where one is near.
    #[must_use]
    pub fn nearest_crop(&self, word: &str) -> Option<String> {
        error::nearest_word(word, self.crops.iter().map(|crop| crop.name.as_str()))
    }

    /// The nearest known product to a word, where one is near; `starter` counts.
    #[must_use]
    pub fn nearest_product(&self, word: &str) -> Option<String> {
        error::nearest_word(
            word,
            self.products
                .iter()
                .map(|product| product.name.as_str())
                .chain([Self::STARTER]),
        )
    }

    /// Puts in the user's own analysis of a product, percent of each part.
    ///
    /// # Errors
    /// A product or a part that the rulebook does not know.
    pub fn put_analysis(
        &mut self,
        product: &str,
        parts: &[(String, f64)],
        place: &Place,
    ) -> Result<(), RulebookError> {
        let unknown = |word: &str, names: Vec<&str>| RulebookError::UnknownWord {
            place: place.clone(),
            word: word.to_owned(),
            nearest: error::nearest_word(word, names.iter().copied()),
            allowed: names.join(", "),
        };
        let Some(at) = self.products.iter().position(|known| known.name == product) else {
            let names = self
                .products
                .iter()
                .map(|known| known.name.as_str())
                .collect();
            return Err(unknown(product, names));
        };
        for (part, percent) in parts {
            if !self.products[at].analysis.set(part, *percent) {
                return Err(unknown(part, product::ANALYSIS_KEYS.to_vec()));
            }
        }
        let analysis = &self.products[at].analysis;
        let sum: f64 = analysis.parts().map(|(_, percent)| percent).sum::<f64>()
            - analysis.available_phosphate;
        if sum > 100.0 + 1e-9 {
            return Err(RulebookError::Contradiction {
                place: place.clone(),
                what: format!(
                    "the analysis adds up to {} %, more than the whole product; parts that are not said here are the rulebook's",
                    crate::units::decimal(sum, 2)
                ),
            });
        }
        Ok(())
    }

    /// The name under which the starter mix goes through prescription, prices and overrides.
    pub const STARTER: &'static str = "starter";

    /// The class of products that carry salt, which a rule may close as a whole.
    pub const SALT_CARRYING: &'static str = "salt-carrying";
}

/// The text of a region's pack.
fn pack(region: &str) -> Result<&'static str, Vec<RulebookError>> {
    let known = Region::PACKS.iter().find(|(name, _)| *name == region);
    known.map(|(_, text)| *text).ok_or_else(|| {
        vec![RulebookError::UnknownRegion {
            place: None,
            region: region.to_owned(),
            nearest: error::nearest_word(region, Rulebook::regions()),
            allowed: Rulebook::regions().collect::<Vec<_>>().join(", "),
        }]
    })
}

fn read(tree: &Tree, changes: Vec<Change>, errors: &mut Vec<RulebookError>) -> Rulebook {
    for (key, item) in tree
        .iter()
        .filter(|(key, _)| !SECTIONS.contains(&key.as_str()))
    {
        errors.push(RulebookError::UnknownKey {
            place: item.place.clone(),
            nearest: error::nearest_word(key, SECTIONS.into_iter()),
            allowed: SECTIONS.join(", "),
        });
    }
    let mut rules = section(tree, "rule", errors, Rule::read);
    rules.sort_by(|a, b| a.factor.cmp(&b.factor).then_with(|| a.name.cmp(&b.name)));
    let mut figures: Vec<Figure> = section(tree, "number", errors, Figure::read)
        .into_iter()
        .flatten()
        .collect();
    figures.sort_by_key(|figure| Numbers::NAMES.iter().position(|name| *name == figure.name));
    let mut rates = section(tree, "rate", errors, RateTable::read);
    rates.sort_by_key(|rate| rate.is_national);
    let regions = section(tree, "region", errors, Region::read);
    let mut complaints = Vec::new();
    let numbers = Numbers::assemble(figures, &mut |figure, wanted| {
        complaints.push((figure.name, figure.unit.clone(), wanted));
    });
    for (name, found, wanted) in complaints {
        let place = place_in(tree, &["number", name, "unit"]);
        errors.push(RulebookError::WrongKind {
            place,
            found: format!("\"{found}\""),
            wanted,
        });
    }
    Rulebook {
        rules,
        crops: section(tree, "crop", errors, Crop::read),
        products: section(tree, "product", errors, Product::read),
        recipes: section(tree, "recipe", errors, StarterRecipe::read),
        fixes: section(tree, "fix", errors, FixRule::read),
        inferences: section(tree, "inference", errors, Inference::read),
        tests: section(tree, "test", errors, Test::read),
        limes: section(tree, "lime", errors, LimeChoice::read),
        cautions: section(tree, "caution", errors, Caution::read),
        rates,
        worked: section(tree, "worked", errors, WorkedValue::read),
        region: regions.into_iter().next(),
        numbers,
        own_trials: Vec::new(),
        season: SeasonRules::read(tree, errors),
        earlier_salt: Vec::new(),
        changes,
    }
}

/// The place of a key, or as near to it as the tree goes.
fn place_in(tree: &Tree, path: &[&str]) -> Place {
    let key = path.join(".");
    match path
        .split_first()
        .and_then(|(first, rest)| tree.get(*first).map(|item| (item, rest)))
    {
        Some((item, [])) => item.place.clone(),
        Some((
            Item {
                value: Value::Table(below),
                ..
            },
            rest,
        )) if below.contains_key(rest[0]) => place_in(below, rest),
        Some((item, _)) => item.place.clone(),
        None => Place::file(BUILT_IN_NAME).at_key(key),
    }
}

/// The factors of a list of words.
fn read_factors(entry: &mut Entry<'_>, key: &'static str, words: &[String]) -> Vec<Factor> {
    let mut factors = Vec::new();
    for word in words {
        if let Some(factor) = Factor::ALL.iter().find(|factor| factor.key() == word) {
            factors.push(*factor);
            continue;
        }
        let place = entry.place_of(key);
        entry.report(RulebookError::UnknownWord {
            place,
            word: word.clone(),
            nearest: error::nearest_word(word, Factor::ALL.iter().map(|factor| factor.key())),
            allowed: Factor::ALL.map(Factor::key).join(", "),
        });
    }
    factors
}

/// Whether something stands in the program's own rules.
fn is_built_in(place: &Place) -> bool {
    let region = place.file.strip_prefix(REGION_NAME);
    [BUILT_IN_NAME, NUTRIENTS_NAME, SEASON_NAME].contains(&&*place.file)
        || region.is_some_and(|name| pack(name).is_ok())
}
