//! The whole field's rates, step by step: calculated, overridden, through the last gate, ordered, paid for, added up.

use super::material::Material;
use super::nutrients::Maintenance;
use super::order;
use super::overrides::{self, Word};
use super::pending_rate::PendingRate;
use super::seed_safe::seed_safe;
use super::spending;
use super::zone_context::{FieldContext, ZoneContext};
use super::zone_plan::{ZonePlan, cents_up};
use super::{
    BudgetOutcome, Offers, Prescription, ProductUse, Recipe, ZoneRates, amendment, balance,
    columns, field_remarks, last_gate, nutrients, reason, starter, starter_remarks, stock_offers,
    strip_totals, tests_to_run, totals,
};
use crate::diagnosis::{Diagnosis, ZoneDiagnosis};
use crate::plan::Stock;
use crate::remark::Remark;
use crate::rulebook::{Nutrient, ProductName};
use crate::soil::SeedSaltLimit;
use crate::units::MoneyPerArea;
use rayon::prelude::*;

/// A rate that is rounded up to the step takes at most this share more.
const ROUNDING_UP: f64 = 1.05;

/// What chemistry, recipe and tables ask for in a zone.
struct Calculated {
    pending: Vec<PendingRate>,
    /// What has to be said of it.
    cautions: Vec<String>,
    /// How far the mix meets each need.
    met: Vec<nutrients::Met>,
}

/// What the whole field's rates are worked out with.
pub(super) struct Prescriber<'a> {
    pub field: &'a FieldContext<'a>,
    pub diagnosis: &'a Diagnosis,
    pub words: &'a [Word<'a>],
}

impl Prescriber<'_> {
    /// The rates of all zones, inside every cap and the budget.
    pub fn prescribe(&self) -> Prescription {
        let mut remarks = Vec::new();
        let zones = self.diagnosis.zones.iter();
        let calculated = self.calculated_all(zones.clone());
        let mut plans: Vec<ZonePlan> = zones
            .zip(calculated)
            .map(|(zone, calculated)| self.zone_plan(zone, calculated, &mut remarks))
            .collect();
        if !self.field.has_words() {
            return self.amounts(plans);
        }
        let mut offers = spending::offers(self.field, &plans);
        offers.stock = stock_offers::all(self.field, &plans);
        let mut budget = spending::apply(self.field, &mut plans);
        for (case, plan) in self.cases().zip(&mut plans) {
            self.tell_what_is_supplied(case, plan);
        }
        self.tell_what_is_unmet(&mut plans);
        remarks.extend(self.tell_maintenance(&mut plans));
        let names = columns::names(&plans);
        for plan in &mut plans {
            columns::fill(self.field, &names, plan);
        }
        remarks.splice(0..0, self.starter_remarks(&plans));
        offers.spent_cents = cents_up(self.spent(&plans));
        if let Some(outcome) = budget.as_mut() {
            remarks.extend(self.add_up(outcome, &plans));
        }
        let products: Vec<ProductUse> = names
            .iter()
            .filter_map(|name| totals::product_use(self.field, name, &rates_of(&plans, name)))
            .collect();
        remarks.extend(
            products
                .iter()
                .filter_map(|product| self.beyond_stock(product)),
        );
        let recipe = self.recipe(&plans);
        let zones: Vec<_> = self.cases().zip(&plans).collect();
        remarks.extend(field_remarks::all(
            self.field,
            &zones,
            &products,
            recipe.as_ref(),
        ));
        Prescription {
            balance: balance::balance(self.field, &plans),
            recipe,
            cautions: strip_totals::cautions(self.field.rulebook, &products),
            products,
            test_first: Self::test_first(&plans),
            zones: self
                .cases()
                .zip(plans)
                .map(|(case, plan)| self.zone_rates(case, plan))
                .collect(),
            budget,
            offers,
            remarks,
        }
    }

    /// What goes out, and nothing that is only said of it. The budget has no say.
    fn amounts(&self, mut plans: Vec<ZonePlan>) -> Prescription {
        let names = columns::names(&plans);
        for plan in &mut plans {
            columns::fill(self.field, &names, plan);
        }
        let products = names
            .iter()
            .filter_map(|name| totals::product_use(self.field, name, &rates_of(&plans, name)));
        Prescription {
            products: products.collect(),
            zones: self
                .cases()
                .zip(plans)
                .map(|(case, plan)| self.zone_rates(case, plan))
                .collect(),
            recipe: None,
            balance: None,
            cautions: Vec::new(),
            test_first: Vec::new(),
            budget: None,
            offers: Offers::default(),
            remarks: Vec::new(),
        }
    }

    fn cases(&self) -> impl Iterator<Item = ZoneContext<'_>> {
        self.diagnosis.zones.iter().map(|zone| self.case(zone))
    }

    fn case<'z>(&'z self, diagnosis: &'z ZoneDiagnosis) -> ZoneContext<'z> {
        ZoneContext {
            field: self.field,
            diagnosis,
        }
    }

    /// A zone's rates as they are applied, before the budget, with its fixes and tests.
    fn zone_plan(
        &self,
        zone: &ZoneDiagnosis,
        calculated: Calculated,
        remarks: &mut Vec<Remark>,
    ) -> ZonePlan {
        let case = self.case(zone);
        let Calculated {
            mut pending,
            cautions,
            met,
        } = calculated;
        let words: Vec<&Word<'_>> = self
            .words
            .iter()
            .filter(|word| word.zone == zone.number)
            .collect();
        for word in &words {
            overrides::apply(case, word, &mut pending);
        }
        remarks.extend(last_gate::pass(case, &mut pending, &words));
        if self.field.has_words() {
            remarks.extend(pending.iter().filter_map(|rate| need_at_least(case, rate)));
        }
        remarks.extend(self.against_gates(case, &mut pending, &words));
        let tests = if self.field.has_words() {
            tests_to_run::of_zone(case, &pending)
        } else {
            Vec::new()
        };
        let from = self.field.rulebook.numbers.test_from_severity;
        let heavy: Vec<_> = tests
            .iter()
            .filter(|test| test.severity >= from)
            .cloned()
            .collect();
        ZonePlan {
            number: zone.number,
            hectares: case.hectares(),
            candidates: order::candidates(case, &pending, &heavy),
            pending,
            tests,
            cautions,
            met,
            unmet: Vec::new(),
        }
    }

    /// What chemistry, recipe and tables ask for, in every zone: the nutrients of all zones come from one mix.
    fn calculated_all<'z>(
        &'z self,
        zones: impl Iterator<Item = &'z ZoneDiagnosis>,
    ) -> Vec<Calculated> {
        let cases: Vec<ZoneContext<'z>> = zones.map(|zone| self.case(zone)).collect();
        let calculate = |case: &ZoneContext<'z>| self.calculated(*case);
        // What is worked out without words is a zoning on trial, many of which run side by side.
        let mut all: Vec<Calculated> = if self.field.has_words() {
            cases.par_iter().map(calculate).collect()
        } else {
            cases.iter().map(calculate).collect()
        };
        let needs: Vec<_> = (cases.iter().zip(&all))
            .map(|(case, calculated)| {
                let needs = nutrients::needs(*case, &calculated.pending);
                (*case, needs, calculated.pending.as_slice())
            })
            .collect();
        let mixed = nutrients::mix(self.field, &needs);
        for ((case, mixed), calculated) in cases.iter().zip(mixed).zip(&mut all) {
            let pending = &mut calculated.pending;
            for (product, need) in mixed.rates {
                if let Some(rate) = amendment::of_mix(*case, &product, pending, need) {
                    put(pending, rate);
                }
            }
            calculated.cautions.extend(mixed.cautions);
            calculated.met = mixed.met;
            let slow = amendment::slow(*case, pending);
            pending.extend(slow);
            for rate in pending {
                if self.field.has_words() {
                    rate.disputed = disputed(*case, &rate.product);
                }
            }
        }
        all
    }

    /// What chemistry and recipe ask for in a zone, before its nutrients.
    fn calculated(&self, case: ZoneContext<'_>) -> Calculated {
        let mut pending = Vec::new();
        let mut cautions = Vec::new();
        if let Some(blend) = self.field.blend {
            let (rate, told) = starter::pending(case, blend);
            pending.push(rate);
            cautions.extend(told);
        }
        pending.extend(amendment::pending(case));
        Calculated {
            pending,
            cautions,
            met: Vec::new(),
        }
    }

    fn against_gates(
        &self,
        case: ZoneContext<'_>,
        pending: &mut [PendingRate],
        words: &[&Word<'_>],
    ) -> Vec<Remark> {
        let mut remarks = Vec::new();
        for word in words {
            let rate = pending.iter_mut().find(|rate| rate.product == word.product);
            let material = self.field.material(&word.product);
            if let (Some(rate), Some(gate)) = (rate, material.and_then(|m| case.closed_by(m))) {
                remarks.extend(overrides::against_gate(case, word, rate, gate));
            }
        }
        remarks
    }

    /// Tells what each rate supplies besides, the consultant's too, so that no nitrogen, potassium or sodium slips in unseen.
    fn tell_what_is_supplied(&self, case: ZoneContext<'_>, plan: &mut ZonePlan) {
        for pending in &mut plan.pending {
            let Some(material) = self.field.material(&pending.product) else {
                continue;
            };
            pending.tell_what_it_supplies(case, material);
            if let Material::Starter(blend) = material {
                starter::tell_what_it_supplies(case, blend, pending);
            }
        }
    }

    /// Tells in each zone what its rates leave of its needs.
    fn tell_what_is_unmet(&self, plans: &mut [ZonePlan]) {
        for (case, plan) in self.cases().zip(plans) {
            let (told, unmet) = nutrients::left_in_the_end(case, &plan.pending, &plan.met);
            plan.cautions.extend(told);
            plan.unmet = unmet;
        }
    }

    /// Tells in each zone what its tables give back where nothing is short, and that it is not ordered; once for the field beside it.
    fn tell_maintenance(&self, plans: &mut [ZonePlan]) -> Vec<Remark> {
        let mut told: Vec<(u32, Maintenance)> = Vec::new();
        for (case, plan) in self.cases().zip(plans) {
            let all = nutrients::maintenance(case, &plan.pending);
            plan.cautions
                .extend(all.iter().map(|one| one.words.clone()));
            told.extend(all.into_iter().map(|one| (plan.number, one)));
        }
        Nutrient::ALL
            .into_iter()
            .filter_map(|nutrient| nutrients::not_ordered(self.field, nutrient, &told))
            .collect()
    }

    /// What is spent in all; a remark where that passes the limit.
    fn add_up(&self, outcome: &mut BudgetOutcome, plans: &[ZonePlan]) -> Option<Remark> {
        let hectares: f64 = plans.iter().map(|plan| plan.hectares).sum();
        let spent = self.spent(plans);
        let average = if hectares > 0.0 {
            spent / hectares
        } else {
            0.0
        };
        outcome.spent = MoneyPerArea::from_dollars_per_hectare(average);
        let units = self.field.settings.units;
        let is_over = average > outcome.limit.dollars_per_hectare() + 1e-6;
        is_over.then(|| {
            let what = format!(
                "{} is spent with the overrides, over the budget of {}",
                outcome.spent.show(units, 2),
                outcome.limit.show(units, 2)
            );
            Remark::warning("over-budget", what).help("raise the limit or take an override back")
        })
    }

    /// What products and other work cost over the field, United States dollars.
    fn spent(&self, plans: &[ZonePlan]) -> f64 {
        let plans = plans.iter();
        plans
            .map(|plan| plan.hectares * (plan.products_cost(self.field) + plan.other_cost()))
            .sum()
    }

    /// An amendment that takes more than is on hand: the mix stays inside the stock, lime and gypsum follow the soil.
    fn beyond_stock(&self, product: &ProductUse) -> Option<Remark> {
        let shed = self.field.settings.supply.shed.as_ref()?;
        let (_, stock) = shed
            .on_hand
            .iter()
            .find(|(name, _)| product.name == name.as_str())?;
        let units = self.field.settings.units;
        let (is_short, needed, on_hand) = match stock {
            Stock::Mass(most) => (
                product.total_mass.kilograms() > most.kilograms() * ROUNDING_UP,
                product.total_mass.show(units, 0),
                most.show(units, 0),
            ),
            Stock::Volume(most) => (
                product.total_volume.litres() > most.litres() * ROUNDING_UP,
                product.total_volume.show(units, 1),
                most.show(units, 1),
            ),
        };
        let what = format!(
            "{}: {needed} go out, and {on_hand} are on hand",
            product.label
        );
        let place = shed.place.clone();
        is_short.then(|| {
            let remark = Remark::warning("more-than-on-hand", what);
            let remark = remark.help("buy the rest, or set lower rates under [[override]]");
            place.map_or(remark.clone(), |place| remark.at(place))
        })
    }

    fn zone_rates(&self, case: ZoneContext<'_>, plan: ZonePlan) -> ZoneRates {
        let (mut do_first, mut not_known, mut reason) = (String::new(), Vec::new(), String::new());
        if self.field.has_words() {
            do_first = order::do_first(case, &plan.candidates, &plan.pending);
            not_known.clone_from(&case.diagnosis.not_known);
            reason = reason::reason(case, &plan.pending);
        }
        ZoneRates {
            number: case.diagnosis.number,
            zone: case.diagnosis.zone,
            do_first,
            not_known,
            reason,
            cost: MoneyPerArea::from_dollars_per_hectare(plan.products_cost(self.field)),
            rates: plan.pending.into_iter().map(PendingRate::finish).collect(),
            fixes: plan
                .candidates
                .into_iter()
                .map(|candidate| candidate.fix)
                .collect(),
            cautions: plan.cautions,
            unmet: plan.unmet,
        }
    }

    fn test_first(plans: &[ZonePlan]) -> Vec<super::TestFirst> {
        let zones: Vec<_> = plans
            .iter()
            .map(|plan| (plan.number, plan.hectares, plan.tests.clone()))
            .collect();
        tests_to_run::of_field(&zones)
    }

    fn starter_remarks(&self, plans: &[ZonePlan]) -> Vec<Remark> {
        let Some(blend) = self.field.blend else {
            return Vec::new();
        };
        let rates: Vec<f64> = rates_of(plans, &ProductName::Starter)
            .iter()
            .map(|(_, rate)| rate.amount)
            .collect();
        let where_applied = |is_open: fn(ZoneContext<'_>) -> bool| {
            let mut zones = self.cases().zip(&rates);
            zones.any(|(case, rate)| *rate > 0.0 && is_open(case))
        };
        let open = starter_remarks::OpenGates {
            carbon: where_applied(starter::has_unknown_gate),
            salt: where_applied(starter::has_open_salt),
        };
        starter_remarks::remarks(self.field, blend, &rates, open)
    }

    fn recipe(&self, plans: &[ZonePlan]) -> Option<Recipe> {
        let blend = self.field.blend?;
        let limit = self.lowest_limit(plans);
        let rates = rates_of(plans, &ProductName::Starter);
        Some(totals::recipe(self.field, blend, &rates, limit.as_ref()))
    }

    /// The strictest seed-safe limit among the zones that get starter; of all zones where none does.
    fn lowest_limit(&self, plans: &[ZonePlan]) -> Option<SeedSaltLimit> {
        let gets_any = |plan: &ZonePlan| {
            plan.pending
                .iter()
                .any(|rate| rate.product == ProductName::Starter && rate.amount > 0.0)
        };
        let nobody = !plans.iter().any(gets_any);
        self.cases()
            .zip(plans)
            .filter(|(_, plan)| nobody || gets_any(plan))
            .filter_map(|(case, _)| seed_safe(case).ok())
            .map(|safe| safe.limit)
            .min_by(|a, b| {
                let salt =
                    |limit: &SeedSaltLimit| limit.nitrogen_plus_potash.kilograms_per_hectare();
                salt(a).total_cmp(&salt(b))
            })
    }
}

/// A need that is known to be no less, and not how much more.
fn need_at_least(case: ZoneContext<'_>, rate: &PendingRate) -> Option<Remark> {
    let why = rate.at_least.as_ref()?;
    let what = format!(
        "zone {}: {} is needed at {} or more: {why}",
        case.diagnosis.number,
        rate.product.words(),
        case.show(rate.needed, rate.metering)
    );
    let remark = Remark::warning("need-at-least", what);
    Some(
        remark.help("ask the laboratory for its own rate, and test again after the first dressing"),
    )
}

/// Puts a rate of the mix among the others: in the place of what chemistry asked for of the same product where none of it goes out, with its
/// steps. A zone has one rate of a product.
fn put(pending: &mut Vec<PendingRate>, rate: PendingRate) {
    let known = pending
        .iter_mut()
        .find(|known| known.product == rate.product);
    match known {
        Some(known) if rate.amount > 0.0 => {
            let before = std::mem::replace(known, rate);
            known.needed = known.needed.max(before.needed);
            known.is_unknown |= before.is_unknown;
            let steps = before.steps.into_iter().chain(before.note);
            known.steps.splice(0..0, steps);
        }
        Some(_) => {}
        None => pending.push(rate),
    }
}

/// The rates of a product in all zones, each with the zone's hectares.
fn rates_of<'p>(plans: &'p [ZonePlan], name: &ProductName) -> Vec<(f64, &'p PendingRate)> {
    plans
        .iter()
        .filter_map(|plan| {
            let rate = plan.pending.iter().find(|rate| rate.product == *name)?;
            Some((plan.hectares, rate))
        })
        .collect()
}

/// Where research disputes the recipe, or the rule whose limit a product answers, in one line.
fn disputed(case: ZoneContext<'_>, name: &ProductName) -> Option<String> {
    let of_recipe = case
        .field
        .blend
        .filter(|_| *name == ProductName::Starter)
        .and_then(|blend| blend.recipe.disputed.clone());
    of_recipe.or_else(|| case.answered_by(name).next()?.disputed.clone())
}
