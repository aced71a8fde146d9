//! Stage 7: findings become a starter rate, amendment rates and an order of fixes, inside every cap.
//!
//! For each zone: what the chemistry asks for, cut to the season's caps and rounded down to the controller's step; the starter where
//! nothing closes it; the fixes in their order; what the budget buys; and the consultant's word, last. Every step is kept in
//! words, so that a reader can redo it.

mod amendment;
mod blend;
mod budget;
mod error;
mod order;
mod overrides;
mod pending_rate;
mod prescription;
mod prices;
mod reason;
mod rounding;
mod spending;
mod starter;
mod totals;
mod zone_context;

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
use blend::Blend;
use overrides::Word;
use pending_rate::PendingRate;
use prices::Prices;
use rounding::Steps;
use spending::ZonePlan;
use starter::PumpRange;
use zone_context::{FieldContext, ZoneContext};

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
    let blend = Blend::from_rulebook(rulebook, &prices, &mut errors);
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
    let bench = FieldContext {
        settings,
        field,
        surfaces,
        zones,
        rulebook,
        crop,
        steps: Steps::new(settings, rulebook),
    };
    let work = Work {
        bench: &bench,
        prices: &prices,
        lime_rules: &lime_rules,
        blend: blend.as_ref(),
        pump: PumpRange::from_settings(settings),
    };
    Ok(work.prescribe(diagnosis, &words))
}

/// What the whole field's rates are worked out with.
struct Work<'a> {
    bench: &'a FieldContext<'a>,
    prices: &'a Prices,
    lime_rules: &'a LimeRules,
    blend: Option<&'a Blend<'a>>,
    pump: PumpRange,
}

impl Work<'_> {
    fn prescribe(&self, diagnosis: &Diagnosis, words: &[Word<'_>]) -> Prescription {
        let mut cautions: Vec<Vec<String>> = Vec::new();
        let mut plans: Vec<ZonePlan> = Vec::new();
        for zone in &diagnosis.zones {
            let (plan, zone_cautions) = self.zone_plan(ZoneContext {
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
            self.tell_what_is_supplied(
                ZoneContext {
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
        let of_product = |name: &str| -> Vec<(f64, &PendingRate)> {
            plans
                .iter()
                .filter_map(|plan| {
                    Some((
                        plan.hectares,
                        plan.pending
                            .iter()
                            .find(|pending| pending.product == name)?,
                    ))
                })
                .collect()
        };
        let products: Vec<ProductUse> = names
            .iter()
            .map(|name| {
                totals::product_use(self.bench, name, &of_product(name), self.blend, self.prices)
            })
            .collect();
        let recipe = self.blend.map(|blend| {
            let limit = self.lowest_limit(diagnosis, &plans);
            totals::recipe(
                self.bench,
                blend,
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

    fn zone_plan(&self, case: ZoneContext<'_>) -> (ZonePlan, Vec<String>) {
        let mut pending = Vec::new();
        let mut cautions = Vec::new();
        if let Some(blend) = self.blend {
            let (rate, told) = starter::pending(case, blend, self.pump);
            pending.push(rate);
            cautions.extend(told);
        }
        pending.extend(amendment::pending(case, self.lime_rules));
        if starter::has_unknown_gate(case)
            && pending
                .iter()
                .any(|pending| pending.product == Rulebook::STARTER && pending.amount > 0.0)
        {
            cautions.push(
                "carbon is not known here: the starter may do nothing until it is mended"
                    .to_owned(),
            );
        }
        let candidates = order::candidates(case, &pending, |pending| self.cost(pending));
        (
            ZonePlan {
                number: case.diagnosis.number,
                hectares: case.hectares(),
                pending,
                candidates,
            },
            cautions,
        )
    }

    /// Cost of a pending rate, United States dollars per hectare.
    fn cost(&self, pending: &PendingRate) -> f64 {
        let price = if pending.product == Rulebook::STARTER {
            self.blend.and_then(|blend| blend.price)
        } else {
            self.prices.price_of(&pending.product)
        };
        pending.amount * price.unwrap_or(0.0)
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
            let case = ZoneContext {
                bench: self.bench,
                diagnosis: zone,
            };
            let caps = overrides::hard_caps(case, &word.said.product, self.blend);
            let at = plan
                .pending
                .iter()
                .position(|pending| pending.product == word.said.product)
                .unwrap_or_else(|| {
                    plan.pending
                        .push(PendingRate::nothing(&word.said.product, word.metering));
                    plan.pending.len() - 1
                });
            let gate = self.gate(case, &word.said.product);
            if let Some(pending) = plan.pending.get_mut(at) {
                remarks.extend(overrides::apply(case, word, pending, &caps, gate));
            }
        }
        remarks
    }

    /// Tells what each rate brings besides, the consultant's too, so that no nitrogen, potassium or sodium slips in unseen.
    fn tell_what_is_supplied(&self, case: ZoneContext<'_>, plan: &mut ZonePlan) {
        for pending in &mut plan.pending {
            match (self.blend, self.bench.rulebook.product(&pending.product)) {
                (Some(blend), _) if pending.product == Rulebook::STARTER => {
                    starter::tell_what_it_supplies(case, blend, pending)
                }
                (_, Some(product)) => pending.tell_what_it_supplies(case, product),
                _ => {}
            }
        }
    }

    /// The finding that closes a product in a zone.
    fn gate<'z>(&self, case: ZoneContext<'z>, name: &str) -> Option<&'z crate::diagnosis::Finding> {
        match (self.blend, self.bench.rulebook.product(name)) {
            (Some(blend), _) if name == Rulebook::STARTER => starter::gate(case, blend),
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
            Remark::warning("over-budget", what).help("raise the limit or take an override back")
        })
    }

    fn zone_cost(&self, plan: &ZonePlan) -> f64 {
        plan.pending.iter().map(|pending| self.cost(pending)).sum()
    }

    fn zone_rates(
        &self,
        zone: &crate::diagnosis::ZoneDiagnosis,
        plan: &ZonePlan,
        cautions: Vec<String>,
    ) -> ZoneRates {
        let case = ZoneContext {
            bench: self.bench,
            diagnosis: zone,
        };
        ZoneRates {
            number: zone.number,
            zone: zone.zone,
            rates: plan
                .pending
                .iter()
                .cloned()
                .map(PendingRate::finish)
                .collect(),
            fixes: plan
                .candidates
                .iter()
                .map(|candidate| candidate.fix.clone())
                .collect(),
            reason: reason::reason(case, &plan.pending),
            cost: MoneyPerArea::from_dollars_per_hectare(self.zone_cost(plan)),
            cautions,
        }
    }

    fn starter_remarks(&self, diagnosis: &Diagnosis, plans: &[ZonePlan]) -> Vec<Remark> {
        let Some(blend) = self.blend else {
            return Vec::new();
        };
        let pending: Vec<&PendingRate> = plans
            .iter()
            .flat_map(|plan| &plan.pending)
            .filter(|pending| pending.product == Rulebook::STARTER)
            .collect();
        let is_unknown = diagnosis.zones.iter().any(|zone| {
            starter::has_unknown_gate(ZoneContext {
                bench: self.bench,
                diagnosis: zone,
            })
        });
        starter::remarks(
            self.bench.settings,
            self.bench.crop,
            blend,
            &pending,
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
            plan.pending
                .iter()
                .any(|pending| pending.product == Rulebook::STARTER && pending.amount > 0.0)
        };
        let nobody = !plans.iter().any(gets_any);
        let limits = diagnosis
            .zones
            .iter()
            .zip(plans)
            .filter(|(_, plan)| nobody || gets_any(plan));
        limits
            .filter_map(|(zone, _)| {
                starter::seed_safe(ZoneContext {
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
    let is_wanted = |pending: &&PendingRate| {
        pending.product == Rulebook::STARTER
            || pending.needed > 0.0
            || pending.amount > 0.0
            || pending.note.is_some()
            || pending.overridden.is_some()
    };
    let mut names: Vec<String> = plans
        .iter()
        .flat_map(|plan| &plan.pending)
        .filter(is_wanted)
        .map(|pending| pending.product.clone())
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

/// One pending rate for each column, in the order of the columns.
fn fill_columns(rulebook: &Rulebook, names: &[String], plan: &mut ZonePlan) {
    let pending = std::mem::take(&mut plan.pending);
    plan.pending = names
        .iter()
        .map(|name| {
            let metering = rulebook
                .product(name)
                .filter(|_| name != Rulebook::STARTER)
                .map_or(Metering::Liquid, |product| product.metering);
            pending
                .iter()
                .find(|pending| pending.product == *name)
                .cloned()
                .unwrap_or_else(|| PendingRate::nothing(name, metering))
        })
        .collect();
}
