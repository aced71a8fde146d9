//! What only the whole rulebook shows: names that must exist, fixes that must not wait for each other, numbers that conditions refer to.

use super::error::nearest_word;
use super::{Condition, Rulebook, RulebookError, place_in};
use crate::toml_tree::Tree;

/// The names that entries of the rulebook may refer to.
struct Names<'a> {
    products: Vec<&'a str>,
    /// The products and the starter.
    with_starter: Vec<&'a str>,
    /// What a rule may close: the products, the starter and all that carries salt.
    closable: Vec<&'a str>,
    rules: Vec<&'a str>,
    fixes: Vec<&'a str>,
    crops: Vec<&'a str>,
    rates: Vec<&'a str>,
}

impl<'a> Names<'a> {
    fn of(rulebook: &'a Rulebook) -> Self {
        let products: Vec<&str> = rulebook.products.iter().map(|p| p.name.as_str()).collect();
        let mut with_starter = products.clone();
        with_starter.push(Rulebook::STARTER);
        let mut closable = with_starter.clone();
        closable.push(Rulebook::SALT_CARRYING);
        Self {
            products,
            with_starter,
            closable,
            rules: rulebook.rules.iter().map(|r| r.name.as_str()).collect(),
            fixes: rulebook.fixes.iter().map(|f| f.name.as_str()).collect(),
            crops: rulebook.crops.iter().map(|c| c.name.as_str()).collect(),
            rates: rulebook.rates.iter().map(|r| r.name.as_str()).collect(),
        }
    }
}

/// Where names stand in the files, and what is wrong with them.
struct NameCheck<'a> {
    tree: &'a Tree,
    errors: &'a mut Vec<RulebookError>,
}

impl NameCheck<'_> {
    /// Reports a word that is none of the allowed ones.
    fn known(&mut self, path: [&str; 3], allowed: &[&str], word: &str) {
        if !allowed.contains(&word) {
            self.errors.push(RulebookError::UnknownWord {
                place: place_in(self.tree, &path),
                word: word.to_owned(),
                nearest: nearest_word(word, allowed.iter().copied()),
                allowed: allowed.join(", "),
            });
        }
    }
}

impl Rulebook {
    /// Reports names that nothing answers to, and fixes that wait for each other.
    pub(super) fn check(&self, tree: &Tree, errors: &mut Vec<RulebookError>) {
        self.check_names(tree, errors);
        self.check_order(tree, errors);
    }

    fn check_names(&self, tree: &Tree, errors: &mut Vec<RulebookError>) {
        let names = Names::of(self);
        let mut check = NameCheck { tree, errors };
        self.check_rules(&names, &mut check);
        self.check_rates_and_products(&names, &mut check);
        self.check_fixes(&names, &mut check);
        self.check_worked_values(&names, &mut check);
        self.check_tests_and_cautions(&names, &mut check);
        self.check_season(&names, &mut check);
        self.check_recipes(&names, &mut check);
    }

    fn check_rules(&self, names: &Names<'_>, check: &mut NameCheck<'_>) {
        for rule in &self.rules {
            for word in &rule.blocks {
                check.known(["rule", &rule.name, "closes"], &names.closable, word);
            }
            for (crop, _) in &rule.threshold_for {
                check.known(["rule", &rule.name, "threshold_for"], &names.crops, crop);
            }
            for (crop, _) in &rule.enough_from_for {
                check.known(["rule", &rule.name, "enough_from_for"], &names.crops, crop);
            }
        }
        for rule in &self.rules {
            for crop in &rule.crops {
                check.known(["rule", &rule.name, "crops"], &names.crops, crop);
            }
        }
    }

    fn check_rates_and_products(&self, names: &Names<'_>, check: &mut NameCheck<'_>) {
        for rate in &self.rates {
            for crop in &rate.crops {
                check.known(["rate", &rate.name, "crops"], &names.crops, crop);
            }
        }
        for product in &self.products {
            let not_with = product.not_with.iter();
            for word in not_with.flat_map(|not_with| &not_with.products) {
                let path = ["product", &product.name, "not_with"];
                check.known(path, &names.products, word);
            }
        }
    }

    fn check_fixes(&self, names: &Names<'_>, check: &mut NameCheck<'_>) {
        for fix in &self.fixes {
            if let Some(product) = &fix.product {
                let path = ["fix", &fix.name, "product"];
                check.known(path, &names.with_starter, product.as_str());
            }
            for word in &fix.rules {
                check.known(["fix", &fix.name, "rules"], &names.rules, word);
            }
            for word in &fix.after {
                check.known(["fix", &fix.name, "after"], &names.fixes, word);
            }
        }
    }

    fn check_worked_values(&self, names: &Names<'_>, check: &mut NameCheck<'_>) {
        for worked in &self.worked {
            check.known(["worked", &worked.name, "rate"], &names.rates, &worked.rate);
            if let Some(word) = &worked.crop {
                check.known(["worked", &worked.name, "crop"], &names.crops, word);
            }
        }
    }

    fn check_tests_and_cautions(&self, names: &Names<'_>, check: &mut NameCheck<'_>) {
        for test in &self.tests {
            for word in &test.products {
                check.known(["test", &test.name, "products"], &names.with_starter, word);
            }
        }
        for caution in &self.cautions {
            for word in &caution.products {
                let path = ["caution", &caution.name, "products"];
                check.known(path, &names.with_starter, word);
            }
        }
    }

    fn check_season(&self, names: &Names<'_>, check: &mut NameCheck<'_>) {
        let season = &self.season;
        for rule in &season.foliar {
            check.known(
                ["foliar", &rule.name, "product"],
                &names.products,
                &rule.product,
            );
            let not_for = rule.not_for.iter().flat_map(|not_for| &not_for.crops);
            for crop in rule.crops.iter().chain(not_for) {
                check.known(["foliar", &rule.name, "crops"], &names.crops, crop);
            }
        }
        let stands = season.stands.iter().map(|r| ("stand", &r.name, &r.crop));
        let uneven = season.uneven.iter().map(|r| ("uneven", &r.name, &r.crop));
        let tissue = season.tissue.iter().map(|r| ("tissue", &r.name, &r.crop));
        for (section, name, crop) in stands.chain(uneven).chain(tissue) {
            check.known([section, name, "crop"], &names.crops, crop);
        }
    }

    fn check_recipes(&self, names: &Names<'_>, check: &mut NameCheck<'_>) {
        for recipe in &self.recipes {
            for ingredient in &recipe.ingredients {
                let path = ["recipe", &recipe.name, "ingredient"];
                check.known(path, &names.products, &ingredient.product);
            }
        }
    }

    /// Fixes that wait for each other in a circle have no first.
    fn check_order(&self, tree: &Tree, errors: &mut Vec<RulebookError>) {
        let mut told: Vec<&str> = Vec::new();
        for fix in &self.fixes {
            let Some(circle) = self.circle_from(&fix.name) else {
                continue;
            };
            if circle.iter().any(|name| told.contains(name)) {
                continue;
            }
            // The user's own line closes the circle; the built-in ones are none.
            let places = || {
                circle
                    .iter()
                    .map(|name| place_in(tree, &["fix", name, "after"]))
            };
            let own = places()
                .filter(|place| &*place.file != super::BUILT_IN_NAME)
                .min_by_key(|place| place.row);
            let any = || place_in(tree, &["fix", &fix.name, "after"]);
            errors.push(RulebookError::Contradiction {
                place: own.unwrap_or_else(any),
                what: format!(
                    "these fixes wait for each other: {} waits for {}; take one of them out of `after`",
                    circle.join(" waits for "),
                    fix.name
                ),
            });
            told.extend(circle);
        }
    }

    /// The fixes of a circle through a fix, in the order of waiting.
    fn circle_from<'a>(&'a self, start: &'a str) -> Option<Vec<&'a str>> {
        let after = |name: &str| {
            self.fixes
                .iter()
                .find(|fix| fix.name == name)
                .map_or(&[][..], |fix| fix.after.as_slice())
        };
        let mut paths: Vec<Vec<&str>> = vec![vec![start]];
        let mut seen: Vec<&str> = Vec::new();
        while let Some(path) = paths.pop() {
            for next in path.last().map_or(&[][..], |last| after(last)) {
                if next == start {
                    return Some(path);
                }
                if !seen.contains(&next.as_str()) {
                    seen.push(next);
                    let mut longer = path.clone();
                    longer.push(next);
                    paths.push(longer);
                }
            }
        }
        None
    }

    /// Puts the limits of crops whose tolerance of salt is known into the rules that go by it: from their threshold to where nothing is left of the
    /// yield. What a rule closes it closes from its own value, or from where the crop has lost a set share, whichever comes first.
    pub(super) fn resolve_crop_limits(&mut self) {
        self.resolve_acid_limits();
        let loss = self.numbers.salt_loss_that_closes;
        for rule in self.rules.iter_mut().filter(|rule| rule.goes_by_crop) {
            let from = rule.closes_from.unwrap_or(rule.threshold);
            let limit = |crop: &super::Crop| {
                let salt = crop.salt.as_ref()?;
                Some(super::CropLimit {
                    crop: crop.name.clone(),
                    threshold: salt.threshold,
                    worst: salt.threshold + 100.0 / salt.slope,
                    closes_from: from.min(salt.threshold + loss / salt.slope),
                    source: salt.source.clone(),
                })
            };
            rule.of_crops = self.crops.iter().filter_map(limit).collect();
        }
    }

    /// A crop whose own target is no higher than the common limit is too acid from somewhat under its target.
    fn resolve_acid_limits(&mut self) {
        let margin = self.numbers.acid_below_target;
        let acid = |rule: &&mut super::Rule| {
            rule.factor == super::Factor::Acidity
                && rule.analyte == crate::analyte::Analyte::Ph
                && !rule.goes_by_crop
        };
        for rule in self.rules.iter_mut().filter(acid) {
            let fall = rule.threshold - rule.worst;
            let common = rule.threshold;
            let kept_acid = self.crops.iter().filter(|crop| crop.target_ph <= common);
            rule.of_crops = kept_acid
                .map(|crop| super::CropLimit {
                    crop: crop.name.clone(),
                    threshold: crop.target_ph - margin,
                    worst: crop.target_ph - margin - fall,
                    closes_from: rule.closes_from.unwrap_or(crop.target_ph - margin),
                    source: format!(
                        "target of {} ({}): {}",
                        crop.label,
                        crop.basis.name(),
                        crop.source
                    ),
                })
                .collect();
        }
    }

    /// Puts the numbers in that conditions refer to by name.
    pub(super) fn resolve_conditions(&mut self, tree: &Tree, errors: &mut Vec<RulebookError>) {
        let numbers = self.numbers.clone();
        let rules = self
            .rules
            .iter_mut()
            .map(|rule| ("rule", &rule.name, &mut rule.only_where));
        let products = self
            .products
            .iter_mut()
            .map(|product| ("product", &product.name, &mut product.only_where));
        let rates = self
            .rates
            .iter_mut()
            .map(|rate| ("rate", &rate.name, &mut rate.only_where));
        for (section, name, conditions) in rules.chain(products).chain(rates) {
            for condition in conditions {
                if let Some(unknown) = resolve(condition, &numbers) {
                    let path = [
                        section,
                        name.as_str(),
                        "only_where",
                        &condition.name,
                        "value",
                    ];
                    errors.push(RulebookError::UnknownWord {
                        place: place_in(tree, &path),
                        nearest: nearest_word(&unknown, super::Numbers::NAMES.iter().copied()),
                        word: unknown,
                        allowed: super::Numbers::NAMES.join(", "),
                    });
                }
            }
        }
    }
}

/// Puts in the number that a condition names; the name where there is no such number.
fn resolve(condition: &mut Condition, numbers: &super::Numbers) -> Option<String> {
    let name = condition.value_from.clone()?;
    match numbers.named(&name) {
        Some(value) => {
            condition.value = value;
            None
        }
        None => Some(name),
    }
}
