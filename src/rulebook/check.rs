//! What only the whole rulebook shows: names that must exist, fixes that must not wait for each other, numbers that conditions refer to.

use super::error::nearest_word;
use super::{Condition, Rulebook, RulebookError, place_in};
use crate::toml_tree::Tree;

impl Rulebook {
    /// Reports names that nothing answers to, and fixes that wait for each other.
    pub(super) fn check(&self, tree: &Tree, errors: &mut Vec<RulebookError>) {
        self.check_names(tree, errors);
        self.check_order(tree, errors);
    }

    #[expect(
        clippy::too_many_lines,
        reason = "a table: a block for each kind of name"
    )]
    fn check_names(&self, tree: &Tree, errors: &mut Vec<RulebookError>) {
        let products: Vec<&str> = self.products.iter().map(|p| p.name.as_str()).collect();
        let rules: Vec<&str> = self.rules.iter().map(|r| r.name.as_str()).collect();
        let fixes: Vec<&str> = self.fixes.iter().map(|f| f.name.as_str()).collect();
        let crops: Vec<&str> = self.crops.iter().map(|c| c.name.as_str()).collect();
        let mut with_starter = products.clone();
        with_starter.push(Self::STARTER);
        let mut closable = with_starter.clone();
        closable.push(Self::SALT_CARRYING);
        let mut known = |path: [&str; 3], allowed: &[&str], word: &str| {
            if !allowed.contains(&word) {
                errors.push(RulebookError::UnknownWord {
                    place: place_in(tree, &path),
                    word: word.to_owned(),
                    nearest: nearest_word(word, allowed.iter().copied()),
                    allowed: allowed.join(", "),
                });
            }
        };
        for rule in &self.rules {
            for word in &rule.blocks {
                known(["rule", &rule.name, "closes"], &closable, word);
            }
            for (crop, _) in &rule.threshold_for {
                known(["rule", &rule.name, "threshold_for"], &crops, crop);
            }
            for (crop, _) in &rule.enough_from_for {
                known(["rule", &rule.name, "enough_from_for"], &crops, crop);
            }
        }
        for rule in &self.rules {
            for crop in &rule.crops {
                known(["rule", &rule.name, "crops"], &crops, crop);
            }
        }
        for rate in &self.rates {
            for crop in &rate.crops {
                known(["rate", &rate.name, "crops"], &crops, crop);
            }
        }
        for product in &self.products {
            for word in product
                .not_with
                .iter()
                .flat_map(|not_with| &not_with.products)
            {
                known(["product", &product.name, "not_with"], &products, word);
            }
        }
        for fix in &self.fixes {
            for word in fix
                .product
                .iter()
                .map(super::product_name::ProductName::as_str)
            {
                known(["fix", &fix.name, "product"], &with_starter, word);
            }
            for word in &fix.rules {
                known(["fix", &fix.name, "rules"], &rules, word);
            }
            for word in &fix.after {
                known(["fix", &fix.name, "after"], &fixes, word);
            }
        }
        let rates: Vec<&str> = self.rates.iter().map(|rate| rate.name.as_str()).collect();
        for worked in &self.worked {
            known(["worked", &worked.name, "rate"], &rates, &worked.rate);
            if let Some(word) = &worked.crop {
                known(["worked", &worked.name, "crop"], &crops, word);
            }
        }
        for test in &self.tests {
            for word in &test.products {
                known(["test", &test.name, "products"], &with_starter, word);
            }
        }
        for caution in &self.cautions {
            for word in &caution.products {
                known(["caution", &caution.name, "products"], &with_starter, word);
            }
        }
        for recipe in &self.recipes {
            for ingredient in &recipe.ingredients {
                known(
                    ["recipe", &recipe.name, "ingredient"],
                    &products,
                    &ingredient.product,
                );
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
