//! Which products share a tank.

use super::context::SeasonContext;
use super::dose::Dose;
use super::foliar_plan::{NotFed, Unfed, ZoneWhy};
use crate::crop::concentration_pct;
use crate::rulebook::{FoliarRule, Product};
use crate::units::{VolumePerArea, decimal};

/// One product in the zones that take the same dose of it.
#[derive(Debug, Clone)]
pub(super) struct Share<'a> {
    pub rule: &'a FoliarRule,
    pub product: &'a Product,
    pub dose: Dose,
    pub zones: Vec<u32>,
    pub why: Vec<ZoneWhy>,
    pub severity: f64,
}

/// A tank: some shares in the same zones at the same time.
#[derive(Debug, Clone)]
pub(super) struct Tank<'a> {
    pub window: f64,
    /// 0 for the first feed, 1 for its repeat.
    pub turn: usize,
    pub shares: Vec<Share<'a>>,
}

/// Shares of the same time, zones and turn share a tank where the salt allows it.
pub(super) fn tanks<'a>(mut shares: Vec<Share<'a>>, context: &SeasonContext<'a>) -> Vec<Tank<'a>> {
    shares.sort_by(|a, b| {
        a.rule
            .window
            .total_cmp(&b.rule.window)
            .then(a.rule.order.total_cmp(&b.rule.order))
            .then_with(|| a.rule.name.cmp(&b.rule.name))
            .then_with(|| a.zones.cmp(&b.zones))
    });
    let most = salt_most(context);
    let mut tanks: Vec<Tank<'a>> = Vec::new();
    for share in shares {
        for turn in 0..share.dose.feeds {
            let fits = |tank: &&mut Tank<'a>| {
                let is_same = tank.window == share.rule.window
                    && tank.turn == turn
                    && tank.shares[0].zones == share.zones;
                let mut together = tank.shares.clone();
                together.push(share.clone());
                is_same && salt(&together) <= most * (1.0 + 1e-9)
            };
            match tanks.iter_mut().find(fits) {
                Some(tank) => tank.shares.push(share.clone()),
                None => tanks.push(Tank {
                    window: share.rule.window,
                    turn,
                    shares: vec![share.clone()],
                }),
            }
        }
    }
    tanks
}

/// The water of a tank: the most that one of its products asks for.
pub(super) fn water(shares: &[Share<'_>]) -> VolumePerArea {
    let litres = shares
        .iter()
        .map(|share| share.dose.water.litres_per_hectare())
        .fold(0.0, f64::max);
    VolumePerArea::from_litres_per_hectare(litres)
}

/// All salt in the spray, grams in 100 mL.
pub(super) fn salt(shares: &[Share<'_>]) -> f64 {
    let water = water(shares);
    shares
        .iter()
        .map(|share| concentration_pct(share.dose.amount, water))
        .sum()
}

/// The most salt that leaves of the crop bear in the spray, grams in 100 mL.
fn salt_most(context: &SeasonContext<'_>) -> f64 {
    let most = context.rulebook.season.salt_of(&context.crop.name);
    most.map_or(f64::INFINITY, |salt| salt.most)
}

/// Said of a feed that goes at the same stage on the same ground as an earlier one, where the salt of both is more than leaves bear.
pub(super) fn apart(
    tank: &Tank<'_>,
    earlier: &[Tank<'_>],
    context: &SeasonContext<'_>,
) -> Option<String> {
    let zones = &tank.shares[0].zones;
    let is_too_much = |other: &Tank<'_>| {
        let mut on_both = other.shares[0].zones.iter();
        let together = [&tank.shares[..], &other.shares[..]].concat();
        other.window == tank.window
            && other.turn == tank.turn
            && on_both.any(|zone| zones.contains(zone))
            && salt(&together) > salt_most(context) * (1.0 + 1e-9)
    };
    let numbers: Vec<String> = earlier
        .iter()
        .enumerate()
        .filter(|(_, other)| is_too_much(other))
        .map(|(at, _)| (at + 1).to_string())
        .collect();
    let (word, whose) = if numbers.len() == 1 {
        ("feed", "its")
    } else {
        ("feeds", "their")
    };
    (!numbers.is_empty()).then(|| {
        format!(
            "on another day than {word} {}, once {whose} leaves show no burn after the hours that the cautions name: together they are more salt than a leaf bears",
            numbers.join(" and ")
        )
    })
}

/// What zones do not get because the season takes no more feeds; a repeat that is left out takes nothing from them.
pub(super) fn left_out(tank: &Tank<'_>, most: f64) -> Vec<NotFed> {
    let first = tank.shares.iter().filter(|_| tank.turn == 0);
    let of_share = |share: &Share<'_>| {
        let factor = share.rule.factor;
        let not = |zone: &u32| NotFed {
            zone: *zone,
            factor: Some(factor),
            finding: None,
            why: format!("Left out: more than {} feeds a season.", decimal(most, 1)),
            strip: None,
            cause: Unfed::LeftOut,
        };
        share.zones.iter().map(not).collect::<Vec<_>>()
    };
    first.flat_map(of_share).collect()
}
