use serde::{Deserialize, Serialize};

use super::nutrient::Nutrient;
use super::reader::Entry;
use super::{Basis, Condition};
use crate::units::{
    Density, Mass, MassPerArea, Metering, MoneyPerMass, MoneyPerVolume, Quantity, Volume,
    VolumePerArea,
};

/// What is in a product, percent of its mass as it is delivered.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Analysis {
    /// Nitrogen.
    pub nitrogen: f64,
    /// Phosphate as P2O5, all of it.
    pub phosphate: f64,
    /// Phosphate as P2O5 that is available in the first season.
    pub available_phosphate: f64,
    /// Potash as K2O.
    pub potash: f64,
    /// Calcium.
    pub calcium: f64,
    /// Magnesium.
    pub magnesium: f64,
    /// Sulfur.
    pub sulfur: f64,
    /// Sodium.
    pub sodium: f64,
    /// Carbon.
    pub carbon: f64,
    /// Zinc.
    pub zinc: f64,
    /// Boron.
    pub boron: f64,
    /// Manganese.
    pub manganese: f64,
}

/// A product: an amendment, or an ingredient of a starter.
#[derive(Debug, Clone)]
pub struct Product {
    /// Name in the rulebook, `[a-z][a-z0-9_]*`.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// How it is metered.
    pub metering: Metering,
    /// The nutrients that it may be spread for.
    pub feeds: Vec<Nutrient>,
    /// Whether it is used only where the plan's shed names it.
    pub is_shed_only: bool,
    /// Mass per volume: of a liquid, or of what a dry ingredient displaces in a mix.
    pub density: Option<Density>,
    /// What is in it.
    pub analysis: Analysis,
    /// Carbon to nitrogen ratio, where it is a source of carbon; `None` where it has no nitrogen to speak of.
    pub carbon_to_nitrogen: Option<f64>,
    /// Effective calcium carbonate: percent of pure, fine lime that it counts for.
    pub effective_neutralizing_value: f64,
    /// Purity of gypsum, percent CaSO4.2H2O.
    pub purity: f64,
    /// Price in United States dollars per kilogram (dry) or litre (liquid).
    pub price: Option<f64>,
    /// The same where it is the program's own, which no file of the user's changed.
    pub built_in_price: Option<f64>,
    /// What the price rests on.
    pub price_basis: Basis,
    /// Most per season, kg/ha or L/ha.
    pub cap: Option<f64>,
    /// Most per season where it cannot be worked in.
    pub surface_cap: Option<f64>,
    /// What the caps rest on.
    pub cap_basis: Basis,
    /// Where they come from.
    pub cap_source: String,
    /// Least that can be spread evenly, kg/ha or L/ha.
    pub smallest: f64,
    /// Name of the pack it is bought in and its size in kg or L.
    pub pack: Option<(String, f64)>,
    /// Whether it is meant as an organic input; the certifier decides.
    pub is_organic_input: bool,
    /// Whether it counts as a product that carries salt.
    pub carries_salt: bool,
    /// Where it may be used; all must be true.
    pub only_where: Vec<Condition>,
    /// Products that it is not given with in one season, and why.
    pub not_with: Option<NotWith>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// What the analysis rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

/// Products that undo what a product does.
#[derive(Debug, Clone)]
pub struct NotWith {
    /// Names of the products.
    pub products: Vec<String>,
    /// Why, one sentence.
    pub why: String,
}

impl NotWith {
    fn read(entry: &mut Entry<'_>) -> Self {
        Self {
            products: entry.texts("products"),
            why: entry.text("why", "say what the one does to the other"),
        }
    }
}

/// Where a price comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PriceSource {
    /// The plan, or a rulebook of the user's.
    Given,
    /// The program's own rulebook: a guess, which the sheets say beside the money.
    BuiltIn,
    /// The price of the blend that it goes into.
    InTheBlend,
}

impl Product {
    /// Where its price comes from; `prices` are the names that the plan prices.
    pub fn price_source<'a>(&self, mut prices: impl Iterator<Item = &'a String>) -> PriceSource {
        if self.built_in_price.is_some() && !prices.any(|name| *name == self.name) {
            PriceSource::BuiltIn
        } else {
            PriceSource::Given
        }
    }

    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let metering = entry.word(
            "form",
            &[("dry", Metering::Dry), ("liquid", Metering::Liquid)],
            None,
        );
        let density = read_density(entry);
        if metering == Metering::Liquid && !entry.has("density") {
            entry.contradiction(
                "density",
                "a liquid needs its density, such as density = \"9.6 lb/gal\"",
            );
        }
        let nitrogen = entry.has("carbon_to_nitrogen");
        let feeds = read_feeds(entry);
        let product = Self {
            name: entry.name.to_owned(),
            label: entry.text("label", "write what people call the product"),
            metering,
            feeds,
            is_shed_only: entry.flag_or("shed_only", false),
            density,
            analysis: Analysis::read(entry),
            carbon_to_nitrogen: nitrogen.then(|| {
                entry.number_in("carbon_to_nitrogen", 0.1..=10_000.0, "0.1 to 10000", 20.0)
            }),
            // Burnt lime counts for up to 178.5 % of calcium carbonate.
            effective_neutralizing_value: entry.number_in(
                "effective_neutralizing_value",
                0.0..=180.0,
                "0 to 180 percent",
                0.0,
            ),
            // Common practice: what is sold as gypsum has more than half. Next to none would order a mountain.
            purity: entry.number_in("purity", 10.0..=100.0, "10 to 100 percent", 100.0),
            price: read_price(entry, metering),
            built_in_price: super::is_built_in(&entry.place_of("price"))
                .then(|| read_price(entry, metering))
                .flatten(),
            price_basis: entry.basis("price_basis"),
            cap: stored::<MassPerArea, VolumePerArea>(entry, metering, "cap"),
            surface_cap: stored::<MassPerArea, VolumePerArea>(entry, metering, "surface_cap"),
            cap_basis: entry.basis("cap_basis"),
            cap_source: entry.maybe_text("cap_source").unwrap_or_default(),
            smallest: stored::<MassPerArea, VolumePerArea>(entry, metering, "smallest")
                .unwrap_or(0.0),
            pack: read_pack(entry, metering),
            is_organic_input: entry.flag_or("organic_input", false),
            carries_salt: entry.flag_or("carries_salt", false),
            only_where: entry.tables("only_where", Condition::read),
            not_with: entry.table("not_with", NotWith::read),
            cautions: entry.texts("cautions"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        };
        product.check_caps(entry);
        product
    }

    /// Refuses caps that no field has ever seen, and caps that contradict each other.
    fn check_caps(&self, entry: &mut Entry<'_>) {
        for (key, cap) in [("cap", self.cap), ("surface_cap", self.surface_cap)] {
            if cap.is_some_and(|cap| !(cap > 0.0 && cap <= MOST_PER_HECTARE)) {
                entry.contradiction(
                    key,
                    "a cap is more than zero and at most 300,000 kg/ha or L/ha (130 ton/ac, 32,000 gal/ac)",
                );
            }
        }
        let over = |a: Option<f64>, b: Option<f64>| a.zip(b).is_some_and(|(a, b)| a > b);
        if over(self.surface_cap, self.cap) {
            entry.contradiction(
                "surface_cap",
                "the cap on the surface is more than the cap itself",
            );
        }
        let least = Some(self.smallest);
        if over(least, self.cap) || over(least, self.surface_cap) {
            entry.contradiction(
                "smallest",
                "the least that spreads evenly is more than the cap: nothing could ever be applied",
            );
        }
    }
}

impl Analysis {
    /// Percent of a part by its name; `None` for a name that is no part.
    #[must_use]
    pub fn part(&self, name: &str) -> Option<f64> {
        Some(match name {
            "nitrogen" => self.nitrogen,
            "phosphate" => self.phosphate,
            "available_phosphate" => self.available_phosphate,
            "potash" => self.potash,
            "calcium" => self.calcium,
            "magnesium" => self.magnesium,
            "sulfur" => self.sulfur,
            "sodium" => self.sodium,
            "carbon" => self.carbon,
            "zinc" => self.zinc,
            "boron" => self.boron,
            "manganese" => self.manganese,
            _ => return None,
        })
    }

    /// Puts in the user's own percent of a part; whether there is such a part.
    pub fn set(&mut self, name: &str, percent: f64) -> bool {
        if name == "phosphate" {
            // The available share of the phosphate stays what it was.
            let share = if self.phosphate > 0.0 {
                self.available_phosphate / self.phosphate
            } else {
                1.0
            };
            self.available_phosphate = percent * share;
        }
        let part = match name {
            "nitrogen" => &mut self.nitrogen,
            "phosphate" => &mut self.phosphate,
            "available_phosphate" => &mut self.available_phosphate,
            "potash" => &mut self.potash,
            "calcium" => &mut self.calcium,
            "magnesium" => &mut self.magnesium,
            "sulfur" => &mut self.sulfur,
            "sodium" => &mut self.sodium,
            "carbon" => &mut self.carbon,
            "zinc" => &mut self.zinc,
            "boron" => &mut self.boron,
            "manganese" => &mut self.manganese,
            _ => return false,
        };
        *part = percent;
        true
    }

    /// What is in it, by name, without what is not.
    pub fn parts(&self) -> impl Iterator<Item = (&'static str, f64)> {
        let parts = [
            ("nitrogen", self.nitrogen),
            ("phosphate", self.phosphate),
            ("available_phosphate", self.available_phosphate),
            ("potash", self.potash),
            ("calcium", self.calcium),
            ("magnesium", self.magnesium),
            ("sulfur", self.sulfur),
            ("sodium", self.sodium),
            ("carbon", self.carbon),
            ("zinc", self.zinc),
            ("boron", self.boron),
            ("manganese", self.manganese),
        ];
        parts.into_iter().filter(|(_, percent)| *percent > 0.0)
    }

    fn read(entry: &mut Entry<'_>) -> Self {
        let phosphate = percent(entry, "phosphate", 0.0);
        let available_phosphate = percent(entry, "available_phosphate", phosphate);
        if available_phosphate > phosphate {
            entry.contradiction(
                "available_phosphate",
                "the available phosphate cannot be more than all of it",
            );
        }
        let analysis = Self {
            nitrogen: percent(entry, "nitrogen", 0.0),
            phosphate,
            available_phosphate,
            potash: percent(entry, "potash", 0.0),
            calcium: percent(entry, "calcium", 0.0),
            magnesium: percent(entry, "magnesium", 0.0),
            sulfur: percent(entry, "sulfur", 0.0),
            sodium: percent(entry, "sodium", 0.0),
            carbon: percent(entry, "carbon", 0.0),
            zinc: percent(entry, "zinc", 0.0),
            boron: percent(entry, "boron", 0.0),
            manganese: percent(entry, "manganese", 0.0),
        };
        // The available phosphate is part of all of it.
        let sum: f64 = analysis.parts().map(|(_, percent)| percent).sum::<f64>()
            - analysis.available_phosphate;
        if sum > 100.0 + 1e-9 {
            let what = format!(
                "the analysis adds up to {} %, more than the whole product",
                crate::units::decimal(sum, 2)
            );
            let last = ANALYSIS_KEYS.iter().rev().find(|key| entry.has(key));
            entry.contradiction(last.copied().unwrap_or("nitrogen"), what);
        }
        analysis
    }
}

/// The keys of an analysis.
pub(super) const ANALYSIS_KEYS: [&str; 11] = [
    "nitrogen",
    "phosphate",
    "potash",
    "calcium",
    "magnesium",
    "sulfur",
    "sodium",
    "carbon",
    "zinc",
    "boron",
    "manganese",
];

/// No product is applied at more, kg/ha or L/ha: above the heaviest dressings of manure.
const MOST_PER_HECTARE: f64 = 300_000.0;

/// The lightest and the heaviest that a product or its grains can be, kg/L.
const DENSITIES: std::ops::RangeInclusive<f64> = 0.1..=10.0;

fn read_feeds(entry: &mut Entry<'_>) -> Vec<Nutrient> {
    let mut feeds = Vec::new();
    for word in entry.texts("feeds") {
        if let Some(nutrient) = Nutrient::ALL.into_iter().find(|known| known.key() == word) {
            feeds.push(nutrient);
            continue;
        }
        let place = entry.place_of("feeds");
        let names = || Nutrient::ALL.iter().map(|nutrient| nutrient.key());
        entry.report(super::RulebookError::UnknownWord {
            place,
            nearest: super::error::nearest_word(&word, names()),
            word,
            allowed: names().collect::<Vec<_>>().join(", "),
        });
    }
    feeds
}

fn read_density(entry: &mut Entry<'_>) -> Option<Density> {
    let density = entry.maybe_quantity::<Density>("density")?;
    if DENSITIES.contains(&density.kilograms_per_litre()) {
        return Some(density);
    }
    let place = entry.place_of("density");
    entry.report(super::RulebookError::OutOfRange {
        place,
        found: format!("{density}"),
        allowed: "0.1 to 10 kg/L (0.8 to 83 lb/gal)",
    });
    None
}

fn percent(entry: &mut Entry<'_>, key: &'static str, default: f64) -> f64 {
    entry.number_in(key, 0.0..=100.0, "0 to 100 percent", default)
}

/// Highest price, United States dollars per kilogram or litre.
const DEAREST: f64 = 10_000.0;

/// A quantity in the unit of the product's form.
fn stored<D: Quantity, L: Quantity>(
    entry: &mut Entry<'_>,
    metering: Metering,
    key: &'static str,
) -> Option<f64> {
    match metering {
        Metering::Dry => entry.maybe_quantity::<D>(key).map(Quantity::stored),
        Metering::Liquid => entry.maybe_quantity::<L>(key).map(Quantity::stored),
    }
}

/// A price that something is sold at; the dearest inputs of a field are sold by the gram.
fn read_price(entry: &mut Entry<'_>, metering: Metering) -> Option<f64> {
    let price = stored::<MoneyPerMass, MoneyPerVolume>(entry, metering, "price")?;
    if (0.0..=DEAREST).contains(&price) {
        return Some(price);
    }
    entry.report(super::RulebookError::OutOfRange {
        place: entry.place_of("price"),
        found: crate::units::significant(price, 3),
        allowed: "0 to 10000 USD/kg or USD/L",
    });
    None
}

fn read_pack(entry: &mut Entry<'_>, metering: Metering) -> Option<(String, f64)> {
    let name = entry.maybe_text("pack");
    let size = stored::<Mass, Volume>(entry, metering, "pack_size");
    match (name, size) {
        (Some(name), Some(size)) if size > 0.0 => Some((name, size)),
        (None, None) => None,
        _ => {
            entry.contradiction(
                "pack_size",
                "a pack needs a name and a size of more than zero: pack = \"275 gal tote\", pack_size = \"275 gal\"",
            );
            None
        }
    }
}
