//! Which products share a tank.

use super::context::SeasonContext;
use super::dose::Dose;
use crate::crop::concentration_pct;
use crate::rulebook::{FoliarRule, Product};
use crate::units::VolumePerArea;

/// One product in the zones that take the same dose of it.
#[derive(Debug, Clone)]
pub(super) struct Share<'a> {
    pub rule: &'a FoliarRule,
    pub product: &'a Product,
    pub dose: Dose,
    pub zones: Vec<u32>,
    pub why: Vec<String>,
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
    let most = context.rulebook.season.salt_of(&context.crop.name);
    let most = most.map_or(f64::INFINITY, |salt| salt.most);
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
