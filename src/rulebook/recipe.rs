use super::reader::Entry;
use super::{Basis, Factor};
use crate::units::VolumePerArea;

/// One ingredient of a recipe, as the rulebook gives it.
#[derive(Debug, Clone)]
pub struct RecipeIngredient {
    /// Product name; the key below `ingredient`.
    pub product: String,
    /// Order of addition, from 1.
    pub order: f64,
    /// Share of the mix by volume, 0 to 1, for a liquid.
    pub share: Option<f64>,
    /// Kilograms in a litre of the mix, for a dry ingredient.
    pub kilograms_per_litre: Option<f64>,
    /// Whether it fills what the others leave.
    pub fills: bool,
}

/// A starter's recipe, as the rulebook gives it.
#[derive(Debug, Clone)]
pub struct StarterRecipe {
    /// Name in the rulebook.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// Ingredients in the order of addition.
    pub ingredients: Vec<RecipeIngredient>,
    /// Least rate that the recipe is made for.
    pub least: VolumePerArea,
    /// Rate where what the starter answers is barely short, and what a check strip tries.
    pub usual: VolumePerArea,
    /// Most, where what it answers is at its worst.
    pub most: VolumePerArea,
    /// Most on ground that is too tight to carry a heavy planter.
    pub most_on_tight_ground: VolumePerArea,
    /// The factors that the starter answers.
    pub answers: Vec<Factor>,
    /// One line where research disputes it.
    pub disputed: Option<String>,
    /// Notes for filling the tank.
    pub notes: Vec<String>,
    /// What the recipe rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl StarterRecipe {
    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let mut ingredients = entry.tables("ingredient", read_ingredient);
        ingredients.sort_by(|a, b| {
            a.order
                .total_cmp(&b.order)
                .then_with(|| a.product.cmp(&b.product))
        });
        let answers = entry.texts("answers");
        let recipe = Self {
            name: entry.name.to_owned(),
            label: entry.text("label", "write what people call the recipe"),
            ingredients,
            least: entry.quantity("least", "write the least rate, such as \"2 gal/ac\""),
            usual: entry.quantity("usual", "write the usual rate, such as \"3 gal/ac\""),
            most: entry.quantity("most", "write the most, such as \"6 gal/ac\""),
            most_on_tight_ground: entry.quantity(
                "most_on_tight_ground",
                "write the most on tight ground, such as \"4 gal/ac\"",
            ),
            answers: super::read_factors(entry, "answers", &answers),
            disputed: entry.maybe_text("disputed"),
            notes: entry.texts("notes"),
            basis: entry.basis("basis"),
            source: entry.text("source", "say whose recipe it is"),
        };
        if !(recipe.least <= recipe.usual && recipe.usual <= recipe.most) {
            entry.contradiction("usual", "the rates must rise: least, usual, most");
        }
        recipe.check_rates(entry);
        let share: f64 = recipe.ingredients.iter().filter_map(|i| i.share).sum();
        if share > 1.0 + 1e-9 {
            entry.contradiction(
                "ingredient",
                format!(
                    "the shares add up to {}, more than the whole mix",
                    crate::units::decimal(share, 4)
                ),
            );
        }
        if recipe.ingredients.iter().filter(|i| i.fills).count() != 1 {
            entry.contradiction(
                "ingredient",
                "one ingredient, and only one, fills what the others leave: fills = true",
            );
        }
        recipe
    }
}

impl StarterRecipe {
    /// Refuses rates that no furrow takes.
    fn check_rates(&self, entry: &mut Entry<'_>) {
        let rates = [
            ("least", self.least),
            ("most", self.most),
            ("most_on_tight_ground", self.most_on_tight_ground),
        ];
        for (key, rate) in rates {
            if !(rate.litres_per_hectare() > 0.0 && rate.litres_per_hectare() <= MOST_IN_FURROW) {
                entry.contradiction(
                    key,
                    "a starter in the furrow is more than zero and at most 1,000 L/ha (107 gal/ac)",
                );
            }
        }
    }
}

/// No starter in the furrow is more, L/ha.
const MOST_IN_FURROW: f64 = 1_000.0;

fn read_ingredient(entry: &mut Entry<'_>) -> RecipeIngredient {
    let (dry, share) = (entry.has("grams_per_litre"), entry.has("share"));
    let ingredient = RecipeIngredient {
        product: entry.name.to_owned(),
        order: entry.number("order", "write its place in the order of addition"),
        share: share.then(|| entry.number_in("share", 0.0..=1.0, "0 to 1", 0.0)),
        kilograms_per_litre: dry
            .then(|| entry.number_in("grams_per_litre", 0.0..=1_000.0, "0 to 1000", 0.0) / 1_000.0),
        fills: entry.flag_or("fills", false),
    };
    if usize::from(dry) + usize::from(share) + usize::from(ingredient.fills) != 1 {
        entry.contradiction(
            "share",
            "an ingredient has either a share, or grams_per_litre, or fills = true",
        );
    }
    ingredient
}
