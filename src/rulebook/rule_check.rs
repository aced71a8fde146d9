//! What a rule may not say: thresholds that cannot be measured, methods of another analyte, keys that contradict each other.

use super::RulebookError;
use super::Side;
use super::error::nearest_word;
use super::reader::Entry;
use super::rule::{Rule, Statistic};
use crate::analyte::{Analyte, Catalogue, CatalogueEntry, Conversion};
use crate::units::decimal;

impl Rule {
    pub(super) fn check(&self, entry: &mut Entry<'_>) {
        self.check_worst(entry);
        self.check_severity(entry);
        self.check_statistic(entry);
        if let Some(known) = Catalogue::built_in().entry(&self.analyte) {
            self.check_unit(entry);
            self.check_thresholds(known, entry);
            self.check_methods(known, entry);
        }
    }

    fn thresholds(&self) -> impl Iterator<Item = f64> + '_ {
        let for_crops = self.threshold_for.iter().map(|(_, threshold)| *threshold);
        std::iter::once(self.threshold).chain(for_crops)
    }

    fn check_worst(&self, entry: &mut Entry<'_>) {
        if self
            .thresholds()
            .all(|threshold| self.is_past(self.worst, threshold))
        {
            return;
        }
        let side = match self.side {
            Side::Below => "below",
            Side::Above => "above",
        };
        entry.contradiction(
            "worst",
            format!("worst must lie {side} every threshold, because the trouble lies on that side"),
        );
    }

    fn check_severity(&self, entry: &mut Entry<'_>) {
        if self.least > self.most {
            entry.contradiction(
                "least",
                "the severity at the threshold can not be greater than at the worst value",
            );
        }
    }

    fn check_statistic(&self, entry: &mut Entry<'_>) {
        if self.statistic == Statistic::ShareOfPushes && self.limit.is_none() {
            entry.contradiction(
                "limit",
                "a rule on the share of pushes needs a limit, such as limit = \"300 psi\"",
            );
        }
        if self.statistic == Statistic::ManganeseAvailability {
            if self.analyte != Analyte::Manganese {
                entry.contradiction(
                    "statistic",
                    "this statistic is made from manganese and pH; the rule's analyte must be \"mn\"",
                );
            }
            return;
        }
        if self.statistic != Statistic::Mean && self.analyte != Analyte::ConeIndex {
            entry.contradiction(
                "statistic",
                "this statistic is made from cone readings; the rule's analyte must be \"cone_index\"",
            );
        }
    }

    /// A rule in a unit of another quantity would be compared with nothing, and its factor would count as not known.
    fn check_unit(&self, entry: &mut Entry<'_>) {
        let is_of_layer = matches!(self.statistic, Statistic::Mean | Statistic::TightestMark);
        let is_pressure = matches!(self.unit.trim(), "psi" | "kPa" | "MPa");
        let conversion = Catalogue::built_in().conversion(&self.analyte, &self.unit, "");
        let is_same =
            matches!(conversion, Ok(Conversion::Factor(factor)) if factor == 1.0 || is_pressure);
        if is_of_layer && !is_same {
            let what = format!(
                "a rule on {} is not in \"{}\"; write the unit that the built-in rules of it have",
                self.analyte, self.unit
            );
            entry.contradiction("unit", what);
        }
    }

    /// A threshold that no soil can reach never fires, or always does.
    fn check_thresholds(&self, known: &CatalogueEntry, entry: &mut Entry<'_>) {
        let is_of_layer = matches!(self.statistic, Statistic::Mean | Statistic::TightestMark);
        if !is_of_layer {
            return;
        }
        let conversion = Catalogue::built_in().conversion(&self.analyte, &self.unit, "");
        let Ok(Conversion::Factor(factor)) = conversion else {
            return;
        };
        let (least, most) = (known.possible.0 / factor, known.possible.1 / factor);
        let impossible = self
            .thresholds()
            .find(|value| !(least..=most).contains(value));
        if let Some(value) = impossible {
            let range = [value, least, most].map(|number| decimal(number, 3));
            entry.contradiction(
                "threshold",
                format!(
                    "{} is no possible {}; allowed: {} to {} {}",
                    range[0], self.analyte, range[1], range[2], self.unit
                ),
            );
        }
    }

    fn check_methods(&self, known: &CatalogueEntry, entry: &mut Entry<'_>) {
        let own: Vec<&str> = known.method_names().collect();
        let strangers: Vec<&str> = self
            .methods
            .iter()
            .map(crate::analyte::Method::name)
            .filter(|name| !own.contains(name) && is_of_another(name))
            .collect();
        for word in strangers {
            let place = entry.place_of("methods");
            entry.report(RulebookError::UnknownWord {
                place,
                word: word.to_owned(),
                nearest: nearest_word(word, own.iter().copied()),
                allowed: own.join(", "),
            });
        }
    }
}

/// Whether a method is known of any analyte. One that is known of none may be a laboratory's own.
fn is_of_another(method: &str) -> bool {
    Catalogue::built_in()
        .entries()
        .any(|(_, entry)| entry.method_names().any(|name| name == method))
}
