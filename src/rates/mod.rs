//! Stage 7: findings become a starter rate, amendment rates and an order of fixes, inside every cap.
//!
//! For each zone: what the chemistry asks for, cut to the season's caps and rounded down to the controller's step; the starter where
//! nothing closes it; the fixes in their order; what the budget buys; and the consultant's word, last. Every step is kept in
//! words, so that a reader can redo it.

mod amendment;
mod budget;
mod draft;
mod error;
mod mix;
mod order;
mod overrides;
mod prescription;
mod prices;
mod reason;
mod rounding;
mod spending;
mod starter;
mod totals;
mod zone;

pub use error::RatesError;
pub use prescription::{
    Amount, BudgetOutcome, Fix, Ingredient, Load, Prescription, ProductForm, ProductUse, Rate,
    Recipe, ZoneRates,
};

use crate::diagnosis::Diagnosis;
use crate::field::Field;
use crate::plan::Settings;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::rulebook::{Metering, Rulebook};
use crate::surface::Surfaces;
use crate::units::MoneyPerArea;
use crate::zones::Zones;
use amendment::LimeRules;
use draft::Draft;
use mix::Mix;
use overrides::Word;
use prices::Prices;
use rounding::Steps;
use spending::ZonePlan;
use starter::PumpRange;
use zone::{Bench, Case};

/// Amendments in the order of the output columns; others follow by name.
const COLUMNS: [&str; 8] = [
    Rulebook::STARTER,
    "lime",
    "dolomitic_lime",
    "gypsum",
    "compost",
    "molasses",
    "phosphate_rock",
    "elemental_sulfur",
];

/// Sets the rates of every zone.
///
/// # Errors
/// Prices and overrides that name unknown products or zones, or are in the wrong form; a recipe that does not fit; all at once.
pub fn prescribe(
    settings: &Settings,
    field: &Field,
    surfaces: &Surfaces,
    zones: &Zones,
    diagnosis: &Diagnosis,
    rulebook: &Rulebook,
) -> Result<Prescription, Vec<RatesError>> {
    let mut errors = Vec::new();
    let prices = Prices::gather(settings, rulebook, &mut errors);
    let lime_rules = LimeRules::gather(rulebook, &mut errors);
    let mix = Mix::of(rulebook, &prices, &mut errors);
    let words = overrides::words(settings, rulebook, diagnosis.zones.len(), &mut errors);
    errors.extend(
        diagnosis
            .zones
            .iter()
            .filter(|zone| zone.zone >= zones.zones.len())
            .map(|zone| RatesError::OtherZones {
                zone: zone.zone,
                zones: zones.zones.len(),
            }),
    );
    let crop = rulebook.crop(&settings.crop);
    if crop.is_none() {
        let place = Place::file(settings.plan_file.display().to_string()).at_key("crop");
        errors.push(RatesError::UnknownCrop {
            place,
            crop: settings.crop.clone(),
        });
    }
    let Some(crop) = crop.filter(|_| errors.is_empty()) else {
        return Err(errors);
    };
    let bench = Bench {
        settings,
        field,
        surfaces,
        zones,
        rulebook,
        crop,
        steps: Steps::of(settings, rulebook),
    };
    let work = Work {
        bench: &bench,
        prices: &prices,
        lime_rules: &lime_rules,
        mix: mix.as_ref(),
        pump: PumpRange::of(settings),
    };
    Ok(work.prescribe(diagnosis, &words))
}

/// What the whole field's rates are worked out with.
struct Work<'a> {
    bench: &'a Bench<'a>,
    prices: &'a Prices,
    lime_rules: &'a LimeRules,
    mix: Option<&'a Mix<'a>>,
    pump: PumpRange,
}

impl Work<'_> {
    fn prescribe(&self, diagnosis: &Diagnosis, words: &[Word<'_>]) -> Prescription {
        let mut cautions: Vec<Vec<String>> = Vec::new();
        let mut plans: Vec<ZonePlan> = Vec::new();
        for zone in &diagnosis.zones {
            let (plan, zone_cautions) = self.zone_plan(Case {
                bench: self.bench,
                diagnosis: zone,
            });
            plans.push(plan);
            cautions.push(zone_cautions);
        }
        let mut budget = spending::apply(self.bench.settings, &mut plans);
        let mut remarks = self.starter_remarks(diagnosis, &plans);
        remarks.extend(self.apply_words(diagnosis, &mut plans, words));
        for (zone, plan) in diagnosis.zones.iter().zip(&mut plans) {
            self.tell_what_is_brought(
                Case {
                    bench: self.bench,
                    diagnosis: zone,
                },
                plan,
            );
        }
        let names = columns(&plans);
        for plan in &mut plans {
            fill_columns(self.bench.rulebook, &names, plan);
        }
        if let Some(outcome) = budget.as_mut() {
            remarks.extend(self.over_budget(outcome, &plans));
        }
        let zones: Vec<ZoneRates> = diagnosis
            .zones
            .iter()
            .zip(&plans)
            .zip(cautions)
            .map(|((zone, plan), cautions)| self.zone_rates(zone, plan, cautions))
            .collect();
        let of_product = |name: &str| -> Vec<(f64, &Draft)> {
            plans
                .iter()
                .filter_map(|plan| {
                    Some((
                        plan.hectares,
                        plan.drafts.iter().find(|draft| draft.product == name)?,
                    ))
                })
                .collect()
        };
        let products: Vec<ProductUse> = names
            .iter()
            .map(|name| {
                totals::product_use(self.bench, name, &of_product(name), self.mix, self.prices)
            })
            .collect();
        let recipe = self.mix.map(|mix| {
            let limit = self.lowest_limit(diagnosis, &plans);
            totals::recipe(
                self.bench,
                mix,
                &of_product(Rulebook::STARTER),
                limit.as_ref(),
                self.prices,
            )
        });
        let cautions = self.cautions(&products);
        Prescription {
            products,
            recipe,
            zones,
            budget,
            cautions,
            remarks,
        }
    }

    fn zone_plan(&self, case: Case<'_>) -> (ZonePlan, Vec<String>) {
        let mut drafts = Vec::new();
        let mut cautions = Vec::new();
        if let Some(mix) = self.mix {
            let (draft, told) = starter::draft(case, mix, self.pump);
            drafts.push(draft);
            cautions.extend(told);
        }
        drafts.extend(amendment::drafts(case, self.lime_rules));
        if starter::has_unknown_gate(case)
            && drafts
                .iter()
                .any(|draft| draft.product == Rulebook::STARTER && draft.amount > 0.0)
        {
            cautions.push(
                "carbon is not known here: the starter may do nothing until it is mended"
                    .to_owned(),
            );
        }
        let candidates = order::candidates(case, &drafts, |draft| self.cost(draft));
        (
            ZonePlan {
                number: case.diagnosis.number,
                hectares: case.hectares(),
                drafts,
                candidates,
            },
            cautions,
        )
    }

    /// Cost of a draft, United States dollars per hectare.
    fn cost(&self, draft: &Draft) -> f64 {
        let price = if draft.product == Rulebook::STARTER {
            self.mix.and_then(|mix| mix.price)
        } else {
            self.prices.of(&draft.product)
        };
        draft.amount * price.unwrap_or(0.0)
    }

    fn apply_words(
        &self,
        diagnosis: &Diagnosis,
        plans: &mut [ZonePlan],
        words: &[Word<'_>],
    ) -> Vec<Remark> {
        let mut remarks = Vec::new();
        for word in words {
            let found = diagnosis
                .zones
                .iter()
                .zip(plans.iter_mut())
                .find(|(zone, _)| zone.number == word.said.zone);
            let Some((zone, plan)) = found else { continue };
            let case = Case {
                bench: self.bench,
                diagnosis: zone,
            };
            let caps = overrides::hard_caps(case, &word.said.product, self.mix);
            let at = plan
                .drafts
                .iter()
                .position(|draft| draft.product == word.said.product)
                .unwrap_or_else(|| {
                    plan.drafts
                        .push(Draft::nothing(&word.said.product, word.metering));
                    plan.drafts.len() - 1
                });
            let gate = self.gate(case, &word.said.product);
            if let Some(draft) = plan.drafts.get_mut(at) {
                remarks.extend(overrides::apply(case, word, draft, &caps, gate));
            }
        }
        remarks
    }

    /// Tells what each rate brings besides, the consultant's too, so that no nitrogen, potassium or sodium slips in unseen.
    fn tell_what_is_brought(&self, case: Case<'_>, plan: &mut ZonePlan) {
        for draft in &mut plan.drafts {
            match (self.mix, self.bench.rulebook.product(&draft.product)) {
                (Some(mix), _) if draft.product == Rulebook::STARTER => {
                    starter::tell_what_it_brings(case, mix, draft)
                }
                (_, Some(product)) => draft.tell_what_it_brings(case, product),
                _ => {}
            }
        }
    }

    /// The finding that closes a product in a zone.
    fn gate<'z>(&self, case: Case<'z>, name: &str) -> Option<&'z crate::diagnosis::Finding> {
        match (self.mix, self.bench.rulebook.product(name)) {
            (Some(mix), _) if name == Rulebook::STARTER => starter::gate(case, mix),
            (_, Some(product)) => case.closed_by(name, product.carries_salt),
            _ => None,
        }
    }

    /// What is spent in all, after the consultant's word; a remark where that passes the limit.
    fn over_budget(&self, outcome: &mut BudgetOutcome, plans: &[ZonePlan]) -> Option<Remark> {
        let hectares: f64 = plans.iter().map(|plan| plan.hectares).sum();
        let spent: f64 = plans
            .iter()
            .map(|plan| plan.hectares * (self.zone_cost(plan) + other_cost(plan)))
            .sum();
        outcome.spent = MoneyPerArea::from_dollars_per_hectare(if hectares > 0.0 {
            spent / hectares
        } else {
            0.0
        });
        let units = self.bench.settings.units;
        let is_over =
            outcome.spent.dollars_per_hectare() > outcome.limit.dollars_per_hectare() + 1e-6;
        is_over.then(|| {
            let what = format!(
                "{} is spent with the overrides, over the budget of {}",
                outcome.spent.show(units, 2),
                outcome.limit.show(units, 2)
            );
            Remark::look("over-budget", what).way_out("raise the limit or take an override back")
        })
    }

    fn zone_cost(&self, plan: &ZonePlan) -> f64 {
        plan.drafts.iter().map(|draft| self.cost(draft)).sum()
    }

    fn zone_rates(
        &self,
        zone: &crate::diagnosis::ZoneDiagnosis,
        plan: &ZonePlan,
        cautions: Vec<String>,
    ) -> ZoneRates {
        let case = Case {
            bench: self.bench,
            diagnosis: zone,
        };
        ZoneRates {
            number: zone.number,
            zone: zone.zone,
            rates: plan.drafts.iter().cloned().map(Draft::finish).collect(),
            fixes: plan
                .candidates
                .iter()
                .map(|candidate| candidate.fix.clone())
                .collect(),
            reason: reason::reason(case, &plan.drafts),
            cost: MoneyPerArea::from_dollars_per_hectare(self.zone_cost(plan)),
            cautions,
        }
    }

    fn starter_remarks(&self, diagnosis: &Diagnosis, plans: &[ZonePlan]) -> Vec<Remark> {
        let Some(mix) = self.mix else {
            return Vec::new();
        };
        let drafts: Vec<&Draft> = plans
            .iter()
            .flat_map(|plan| &plan.drafts)
            .filter(|draft| draft.product == Rulebook::STARTER)
            .collect();
        let is_unknown = diagnosis.zones.iter().any(|zone| {
            starter::has_unknown_gate(Case {
                bench: self.bench,
                diagnosis: zone,
            })
        });
        starter::remarks(
            self.bench.settings,
            self.bench.crop,
            mix,
            &drafts,
            is_unknown,
        )
    }

    /// The strictest seed-safe limit among the zones that get starter; of all zones where none does.
    fn lowest_limit(
        &self,
        diagnosis: &Diagnosis,
        plans: &[ZonePlan],
    ) -> Option<crate::soil::SeedSaltLimit> {
        let gets_any = |plan: &ZonePlan| {
            plan.drafts
                .iter()
                .any(|draft| draft.product == Rulebook::STARTER && draft.amount > 0.0)
        };
        let nobody = !plans.iter().any(gets_any);
        let limits = diagnosis
            .zones
            .iter()
            .zip(plans)
            .filter(|(_, plan)| nobody || gets_any(plan));
        limits
            .filter_map(|(zone, _)| {
                starter::seed_safe(Case {
                    bench: self.bench,
                    diagnosis: zone,
                })
                .ok()
            })
            .map(|safe| safe.limit)
            .min_by(|a, b| {
                a.nitrogen_plus_potash
                    .kilograms_per_hectare()
                    .total_cmp(&b.nitrogen_plus_potash.kilograms_per_hectare())
            })
    }

    fn cautions(&self, products: &[ProductUse]) -> Vec<String> {
        let is_used = |name: &String| {
            products
                .iter()
                .any(|product| product.name == *name && product.total_mass.kilograms() > 0.0)
        };
        let rulebook = self.bench.rulebook;
        rulebook
            .cautions
            .iter()
            .filter(|c| c.products.is_empty() || c.products.iter().any(is_used))
            .map(|c| c.what.clone())
            .collect()
    }
}

/// Cost of the fixes in force that are no products, United States dollars per hectare.
fn other_cost(plan: &ZonePlan) -> f64 {
    let is_other = |fix: &&Fix| fix.product.is_none() && !fix.left_out;
    plan.candidates
        .iter()
        .map(|candidate| &candidate.fix)
        .filter(is_other)
        .map(|fix| fix.cost.dollars_per_hectare())
        .sum()
}

/// The products that some zone wants or gets, the starter first.
fn columns(plans: &[ZonePlan]) -> Vec<String> {
    let is_wanted = |draft: &&Draft| {
        draft.product == Rulebook::STARTER
            || draft.needed > 0.0
            || draft.amount > 0.0
            || draft.note.is_some()
            || draft.overridden.is_some()
    };
    let mut names: Vec<String> = plans
        .iter()
        .flat_map(|plan| &plan.drafts)
        .filter(is_wanted)
        .map(|draft| draft.product.clone())
        .collect();
    let rank = |name: &str| {
        COLUMNS
            .iter()
            .position(|column| *column == name)
            .unwrap_or(COLUMNS.len())
    };
    names.sort_by(|a, b| rank(a).cmp(&rank(b)).then_with(|| a.cmp(b)));
    names.dedup();
    names
}

/// One draft for each column, in the order of the columns.
fn fill_columns(rulebook: &Rulebook, names: &[String], plan: &mut ZonePlan) {
    let drafts = std::mem::take(&mut plan.drafts);
    plan.drafts = names
        .iter()
        .map(|name| {
            let metering = rulebook
                .product(name)
                .filter(|_| name != Rulebook::STARTER)
                .map_or(Metering::Liquid, |product| product.metering);
            drafts
                .iter()
                .find(|draft| draft.product == *name)
                .cloned()
                .unwrap_or_else(|| Draft::nothing(name, metering))
        })
        .collect();
}
