//! The leaf feeds of a season: only for what is measured short, only where the leaf can fill it, no more than a season takes.

use super::context::{SeasonContext, ZoneRecord};
use super::dose::{Dose, dose, price};
use super::foliar_plan::{FeedProduct, FoliarPlan, LeafFeed, NotFed, Unfed, ZoneWhy};
use super::shortage::{Lack, Progress, lacks};
use super::tanks::{Share, Tank, apart, left_out, salt, tanks, water};
use super::tissue::TissueResult;
use crate::crop::concentration_pct;
use crate::rates::RateCap;
use crate::rulebook::{FoliarRule, LeafSalt, Product};
use crate::units::{VolumePerArea, decimal};

/// The plan.
pub(super) fn foliar(tissue: &[TissueResult], context: &SeasonContext<'_>) -> FoliarPlan {
    let mut plan = FoliarPlan {
        cautions: context
            .rulebook
            .season
            .leaf_cautions
            .iter()
            .map(|caution| caution.what.clone())
            .collect(),
        ..FoliarPlan::default()
    };
    let lacks = lacks(tissue, context);
    not_through_the_leaf(&lacks, context, &mut plan);
    let progress = Progress::of(tissue, context);
    let shares = shares(&lacks, &progress, context, &mut plan);
    let tanks = tanks(shares, context);
    choose(tanks, context, &mut plan);
    closed_zones(&lacks, context, &mut plan);
    not_known(tissue, context, &mut plan);
    plan.not_fed.sort_by_key(|not| (not.zone, not.factor));
    plan
}

/// Shortages that the leaf cannot fill.
fn not_through_the_leaf(lacks: &[Lack], context: &SeasonContext<'_>, plan: &mut FoliarPlan) {
    for rule in &context.rulebook.season.no_leaf_feed {
        for lack in lacks.iter().filter(|lack| lack.factor.key() == rule.factor) {
            plan.not_fed.push(NotFed {
                zone: lack.zone,
                factor: Some(lack.factor),
                finding: Some(lack.sentence.clone()),
                why: format!("Not through the leaf: {}.", rule.why),
                strip: None,
                cause: Unfed::NotThroughLeaf,
            });
        }
    }
}

fn zone_of<'a>(context: &SeasonContext<'a>, number: u32) -> Option<&'a ZoneRecord> {
    context.zones.iter().find(|zone| zone.number == number)
}

/// The products with their doses and zones; what is not fed goes into the plan.
fn shares<'a>(
    lacks: &[Lack],
    progress: &Progress,
    context: &SeasonContext<'a>,
    plan: &mut FoliarPlan,
) -> Vec<Share<'a>> {
    let mut shares: Vec<Share<'a>> = Vec::new();
    for rule in &context.rulebook.season.foliar {
        let Some(product) = context.rulebook.product(&rule.product) else {
            continue;
        };
        for lack in lacks.iter().filter(|lack| lack.factor == rule.factor) {
            let Some(zone) = zone_of(context, lack.zone) else {
                continue;
            };
            let given = refused(rule, zone, context)
                .or_else(|| progress.too_late(rule))
                .map_or_else(|| dose(rule, product, zone, context), Err);
            match given {
                Ok(given) if zone.carbon_gate.is_none() => {
                    add(&mut shares, rule, product, given, lack);
                }
                Ok(given) => plan
                    .not_fed
                    .push(held_back(lack, zone, product, &given, context)),
                Err(why) => plan.not_fed.push(NotFed {
                    zone: lack.zone,
                    factor: Some(lack.factor),
                    finding: Some(lack.sentence.clone()),
                    why: format!("{}.", crate::text::capital(why.trim_end_matches('.'))),
                    strip: None,
                    cause: cause(rule, progress, zone, context),
                }),
            }
        }
    }
    shares
}

/// What of it keeps a refused feed from a zone.
fn cause(
    rule: &FoliarRule,
    progress: &Progress,
    zone: &ZoneRecord,
    context: &SeasonContext<'_>,
) -> Unfed {
    let crop = &context.crop.name;
    let against = rule.not_for.as_ref();
    if !rule.crops.contains(crop) || against.is_some_and(|against| against.crops.contains(crop)) {
        Unfed::NotThroughLeaf
    } else if zone.salt_gate.is_some() {
        Unfed::Salt
    } else if progress.too_late(rule).is_some() {
        Unfed::TooLate
    } else if context.settings.water.unwrap_or(rule.water)
        < context.rulebook.numbers.leaf_water_least
    {
        Unfed::Water
    } else {
        Unfed::Capped
    }
}

/// Why a rule gives nothing in a zone, whatever the dose.
fn refused(rule: &FoliarRule, zone: &ZoneRecord, context: &SeasonContext<'_>) -> Option<String> {
    let crop = context.crop;
    let against = rule.not_for.as_ref();
    if let Some(against) = against.filter(|against| against.crops.contains(&crop.name)) {
        return Some(format!("No leaf feed: {}", against.why));
    }
    if !rule.crops.contains(&crop.name) {
        return Some(format!(
            "No leaf feed: the rulebook holds no rate of {} for {}",
            rule.factor.name(),
            crop.label
        ));
    }
    zone.salt_gate.as_ref().map(|gate| {
        let asked = rule.rate.show_small(context.units);
        let gate = gate.trim_end_matches('.');
        RateCap::refused_words(&format!("{asked} of {}", rule.factor.name()), gate)
    })
}

fn add<'a>(
    shares: &mut Vec<Share<'a>>,
    rule: &'a FoliarRule,
    product: &'a Product,
    dose: Dose,
    lack: &Lack,
) {
    let why = ZoneWhy {
        zone: lack.zone,
        finding: lack.sentence.clone(),
    };
    let same = shares
        .iter_mut()
        .find(|share| share.rule.name == rule.name && share.dose == dose);
    match same {
        Some(share) => {
            share.zones.push(lack.zone);
            share.why.push(why);
            share.severity = share.severity.max(lack.severity);
        }
        None => shares.push(Share {
            rule,
            product,
            dose,
            zones: vec![lack.zone],
            why: vec![why],
            severity: lack.severity,
        }),
    }
}

/// A zone whose carbon gate is closed: nothing by default, a check strip is offered.
fn held_back(
    lack: &Lack,
    zone: &ZoneRecord,
    product: &Product,
    dose: &Dose,
    context: &SeasonContext<'_>,
) -> NotFed {
    let gate = zone.carbon_gate.as_deref().unwrap_or_default();
    let strip = format!(
        "{} {} in {}",
        dose.amount.show_small(context.units),
        product.label,
        dose.water.show(context.units, 1)
    );
    let why = after_carbon(gate);
    NotFed {
        zone: lack.zone,
        factor: Some(lack.factor),
        finding: Some(lack.sentence.clone()),
        why: crate::text::capital(&RateCap::held_back_words(&why, Some(&strip))),
        strip: Some(strip),
        cause: Unfed::Carbon,
    }
}

/// A carbon gate with what it means for a leaf feed.
fn after_carbon(gate: &str) -> String {
    format!(
        "{}, and where carbon is short a leaf feed mattered neither way (common practice)",
        gate.trim_end_matches('.')
    )
}

/// The feeds of the season, first turns before repeats, the most severe shortage first; what is too many is left out.
fn choose(mut tanks: Vec<Tank<'_>>, context: &SeasonContext<'_>, plan: &mut FoliarPlan) {
    let severity = |tank: &Tank<'_>| {
        tank.shares
            .iter()
            .map(|share| share.severity)
            .fold(0.0, f64::max)
    };
    tanks.sort_by(|a, b| {
        a.turn
            .cmp(&b.turn)
            .then(severity(b).total_cmp(&severity(a)))
            .then(a.window.total_cmp(&b.window))
    });
    let most = context.rulebook.numbers.feeds_most;
    let keep = tanks.len().min(most.max(0.0) as usize);
    let over = tanks.split_off(keep);
    for tank in &over {
        let names: Vec<&str> = tank
            .shares
            .iter()
            .map(|share| share.product.label.as_str())
            .collect();
        plan.left_out.push(format!(
            "{} in {}{}: more than {} feeds a season",
            names.join(" with "),
            zones_words(&tank.shares[0].zones),
            if tank.turn > 0 { ", repeated" } else { "" },
            decimal(most, 1)
        ));
        plan.not_fed.extend(left_out(tank, most));
    }
    tanks.sort_by(|a, b| a.window.total_cmp(&b.window).then(a.turn.cmp(&b.turn)));
    let mut numbers: Vec<(String, usize)> = Vec::new();
    for (at, tank) in tanks.iter().enumerate() {
        let key = |turn: usize| {
            let names: Vec<&str> = tank
                .shares
                .iter()
                .map(|share| share.rule.name.as_str())
                .collect();
            format!("{} {:?} {turn}", names.join("+"), tank.shares[0].zones)
        };
        let before = tank.turn.checked_sub(1).and_then(|turn| {
            let wanted = key(turn);
            numbers
                .iter()
                .find(|(name, _)| *name == wanted)
                .map(|(_, number)| *number)
        });
        numbers.push((key(tank.turn), at + 1));
        let mut made = feed(at + 1, tank, before, context);
        if let Some(apart) = apart(tank, &tanks[..at], context) {
            made.when = format!("{}; {apart}", made.when);
        }
        plan.feeds.push(made);
    }
}

/// "zone 3", "zones 2 and 5".
pub(super) fn zones_words(zones: &[u32]) -> String {
    let names: Vec<String> = zones.iter().map(u32::to_string).collect();
    if names.len() == 1 {
        format!("zone {}", names[0])
    } else {
        format!("zones {}", names.join(", "))
    }
}

fn feed(
    number: usize,
    tank: &Tank<'_>,
    before: Option<usize>,
    context: &SeasonContext<'_>,
) -> LeafFeed {
    let zones = tank.shares[0].zones.clone();
    let area_m2: f64 = zones
        .iter()
        .filter_map(|zone| Some(zone_of(context, *zone)?.area_m2))
        .sum();
    let hectares = area_m2 / 10_000.0;
    let spray = water(&tank.shares);
    let mut products: Vec<FeedProduct> = tank
        .shares
        .iter()
        .map(|share| feed_product(share, spray, hectares, context))
        .collect();
    products.sort_by(|a, b| {
        a.order
            .total_cmp(&b.order)
            .then_with(|| a.product.cmp(&b.product))
    });
    let limit: Option<&LeafSalt> = context.rulebook.season.salt_of(&context.crop.name);
    let cost: Option<f64> = products.iter().map(|product| product.cost_usd_ha).sum();
    LeafFeed {
        number,
        when: when(tank, before, context),
        repeats: before,
        zones,
        area_m2,
        spray,
        salt_pct: salt(&tank.shares),
        salt_most_pct: limit.map_or(0.0, |limit| limit.most),
        salt_source: limit.map_or_else(String::new, |limit| {
            format!("{}: {}", limit.basis.name(), limit.source)
        }),
        products,
        cost_usd_ha: cost,
        cost_usd: cost.map(|cost| cost * hectares),
    }
}

/// When a tank goes out: at the stages of its rules, or some days after the feed that it repeats.
fn when(tank: &Tank<'_>, before: Option<usize>, context: &SeasonContext<'_>) -> String {
    if tank.turn == 0 {
        let shares = tank.shares.iter();
        let mut stages: Vec<&str> = shares.map(|share| share.rule.stage.as_str()).collect();
        stages.dedup();
        return crate::text::capital(&stages.join("; "));
    }
    let numbers = &context.rulebook.numbers;
    let after = before.map_or("the one before".to_owned(), |before| {
        format!("feed {before}")
    });
    format!(
        "{} to {} days after {after}, only where the signs return",
        decimal(numbers.feed_days_least, 1),
        decimal(numbers.feed_days_most, 1)
    )
}

fn feed_product(
    share: &Share<'_>,
    spray: VolumePerArea,
    hectares: f64,
    context: &SeasonContext<'_>,
) -> FeedProduct {
    let kilograms = share.dose.amount.kilograms_per_hectare();
    let concentration_pct = concentration_pct(share.dose.amount, spray);
    let mut steps = share.dose.steps.clone();
    if spray > share.dose.water {
        steps.push(format!(
            "the shared tank has {} of water: {} % there",
            spray.show(context.units, 1),
            decimal(concentration_pct, 2)
        ));
    }
    let given = context.prices.iter().map(|(name, _)| name);
    FeedProduct {
        product: share.product.name.clone(),
        label: share.product.label.clone(),
        factor: share.rule.factor,
        nutrient: share.dose.nutrient,
        amount: share.dose.amount,
        wanted: share.dose.wanted,
        concentration_pct,
        total_kg: kilograms * hectares,
        cost_usd_ha: price(share.product, context).map(|price| price * kilograms),
        price_source: share.product.price_source(given),
        steps,
        note: share.dose.note.clone(),
        why: share.why.clone(),
        response: share.rule.response.clone(),
        source: share.rule.source.clone(),
        basis: share.rule.basis.name(),
        is_organic_input: share.product.is_organic_input,
        cautions: share.product.cautions.clone(),
        order: share.rule.order,
    }
}

/// Zones whose carbon gate is closed and that were not told so yet.
fn closed_zones(lacks: &[Lack], context: &SeasonContext<'_>, plan: &mut FoliarPlan) {
    for zone in context.zones {
        let is_told = plan
            .not_fed
            .iter()
            .any(|not| not.zone == zone.number && not.strip.is_some());
        // Where salt closes what carries salt, nobody is told to try a leaf feed.
        let is_offered = !is_told && zone.salt_gate.is_none();
        if let Some(gate) = zone.carbon_gate.as_ref().filter(|_| is_offered) {
            let strip = plan.feeds.first().map_or_else(
                || {
                    "one pass of a leaf feed of your own choice, inside the limits of this sheet"
                        .to_owned()
                },
                |feed| format!("one pass of feed {}", feed.number),
            );
            let why = RateCap::held_back_words(&after_carbon(gate), Some(&strip));
            plan.not_fed.push(NotFed {
                zone: zone.number,
                factor: None,
                finding: None,
                why: crate::text::capital(&why),
                strip: Some(strip),
                cause: Unfed::Carbon,
            });
            continue;
        }
        let is_fed = plan
            .feeds
            .iter()
            .any(|feed| feed.zones.contains(&zone.number));
        let is_named = plan.not_fed.iter().any(|not| not.zone == zone.number);
        if !is_fed && !is_named && lacks.iter().all(|lack| lack.zone != zone.number) {
            plan.not_fed.push(NotFed {
                zone: zone.number,
                factor: None,
                finding: None,
                why: "Nothing that the leaf could fill is measured short here.".to_owned(),
                strip: None,
                cause: Unfed::NothingShort,
            });
        }
    }
}

/// Factors of the crop's leaf feeds that nothing measured.
fn not_known(tissue: &[TissueResult], context: &SeasonContext<'_>, plan: &mut FoliarPlan) {
    let crop = &context.crop.name;
    for rule in &context.rulebook.season.foliar {
        if !rule.crops.contains(crop) {
            continue;
        }
        let zones: Vec<u32> = context
            .zones
            .iter()
            .filter(|zone| {
                let in_soil = zone.soil.iter().any(|soil| soil.factor == rule.factor);
                let in_leaf = tissue.iter().any(|leaf| {
                    leaf.zone == zone.number
                        && leaf.factor == rule.factor
                        && leaf.is_short.is_some()
                });
                !in_soil && !in_leaf
            })
            .map(|zone| zone.number)
            .collect();
        if zones.is_empty() {
            continue;
        }
        let limit = context
            .rulebook
            .season
            .tissue
            .iter()
            .find(|limit| limit.crop == *crop && limit.factor == rule.factor);
        let test = limit.map_or_else(
            || "have it tested in soil or leaf".to_owned(),
            |limit| format!("send the {} to the laboratory", limit.part),
        );
        plan.not_known.push(format!(
            "{} is not known in {}: {test}; no feed goes out on an unknown",
            crate::text::capital(rule.factor.name()),
            zones_words(&zones)
        ));
    }
}
