//! What the check strips are and what they can show.

use crate::analyte::{decimals, show_yield, yield_unit};
use crate::deliver::numbers::{grouped, zones_in_words};
use crate::deliver::overview::Overview;
use crate::trial::{ScatterSource, StripPlan, StripSet, ZoneOutlook};
use crate::units::{Length, UnitSystem, decimal, significant};

/// Lines for the first sheet: the strips that are laid, or what strips could show where the plan asks for none.
#[must_use]
pub fn lines(overview: &Overview<'_>) -> Vec<String> {
    let stages = overview.stages;
    if stages.strips.sets.is_empty() {
        return stages
            .offer
            .into_iter()
            .flat_map(|offer| offered(overview, offer))
            .collect();
    }
    let sets = stages.strips.sets.iter();
    sets.map(|set| format!("{} {}", count(set), can_show(overview, set)))
        .chain(guessed(overview))
        .collect()
}

/// Said once where the scatter of yields is nobody's measurement.
fn guessed(overview: &Overview<'_>) -> Option<String> {
    let sets = &overview.stages.strips.sets;
    let is_guessed = sets.iter().all(|set| set.scatter == ScatterSource::Guess);
    is_guessed.then(|| "The scatter of yields here is guessed".to_owned())
}

fn offered(overview: &Overview<'_>, offer: &StripPlan) -> Vec<String> {
    let line = |set: &StripSet| {
        format!(
            "Not laid: {} {}. [strips] in the plan lays them",
            count(set),
            can_show(overview, set)
        )
    };
    let scatter = guessed(overview).filter(|_| !offer.sets.is_empty());
    offer.sets.iter().map(line).chain(scatter).collect()
}

/// `"no starter", zones 1, 3: 4 strips`.
fn count(set: &StripSet) -> String {
    let laid = set.zones.iter().filter(|zone| zone.checks > 0);
    let zones: Vec<u32> = laid.map(|zone| zone.zone).collect();
    format!(
        "\"{}\", {}: {} strips",
        set.treatment,
        zones_in_words(&zones),
        set.draw.checks.len()
    )
}

/// The best that a set can show, beside the gain that pays.
fn can_show(overview: &Overview<'_>, set: &StripSet) -> String {
    let judged = set.zones.iter().filter(|zone| zone.not_judged.is_none());
    let best = judged
        .filter_map(|zone| Some((zone.shows?, zone)))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let Some((shows, zone)) = best else {
        return "are too few in any zone to say anything".to_owned();
    };
    let crop = &overview.stages.settings.crop;
    let (size, unit) = yield_unit(crop, overview.units);
    let bare = |value: f64| decimal(value / size, decimals(unit));
    let pays = zone
        .pays_from
        .map(|pays| format!("; pays from {}", bare(pays)));
    let wanted = zone.wanted.filter(|wanted| *wanted < shows).map(|wanted| {
        let wanted = bare(wanted);
        match zone.needed {
            Some(needed) => format!(", about {needed} would show {wanted}"),
            None => format!(", no number that anybody lays would show {wanted}"),
        }
    });
    format!(
        "can show about {} {unit}{}{}",
        significant(shows / size, 2),
        wanted.unwrap_or_default(),
        pays.unwrap_or_default()
    )
}

/// A row a zone: number, strips, metres or feet, what they can show, what pays, strips needed, what they may cost.
#[must_use]
pub fn row(overview: &Overview<'_>, outlook: &ZoneOutlook) -> Vec<String> {
    let show = |value: Option<f64>| {
        value.map_or_else(
            || "not known".to_owned(),
            |value| show_yield(value, &overview.stages.settings.crop, overview.units),
        )
    };
    let length = Length::from_metres(outlook.metres);
    vec![
        outlook.zone.to_string(),
        outlook.checks.to_string(),
        match overview.units {
            UnitSystem::UnitedStates => format!(
                "{} ft",
                grouped(length.metres() / crate::units::METRES_PER_FOOT, 0)
            ),
            UnitSystem::Metric => format!("{} m", grouped(length.metres(), 0)),
        },
        outlook
            .not_judged
            .clone()
            .unwrap_or_else(|| show(outlook.shows)),
        show(outlook.pays_from),
        outlook
            .needed
            .map_or_else(|| "not known".to_owned(), |needed| needed.to_string()),
        outlook.cost.map_or_else(
            || "not known".to_owned(),
            |cost| format!("{} USD", decimal(cost, 0)),
        ),
    ]
}
