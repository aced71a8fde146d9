//! The sheet's facts in words, the same for text and page.

use super::factor_words::FactorWords;
use super::product_words::{chemistry_line, product_line};
use crate::analyte::Catalogue;
use crate::deliver::numbers::{grouped, percent, zones_in_words};
use crate::deliver::overview::Overview;
use crate::past::{Fate, Finding, LimitSince, ProductSince, SinceLastTime, StaveSince, ZoneSince};
use crate::units::{MoneyPerArea, UnitSystem};

/// How the line of limits begins that are in both years.
pub const STAYED: &str = "stayed";

/// The whole sheet.
#[derive(Debug, Clone)]
pub struct SinceFacts {
    /// The earlier season.
    pub then: u16,
    /// This season.
    pub now: u16,
    /// What is compared with what.
    pub about: String,
    /// What is not known.
    pub not_known: Vec<String>,
    /// What came of all zones together.
    pub together: Vec<String>,
    /// What the farm's own strips said, and what follows from it.
    pub own_trials: Vec<String>,
    /// The zones.
    pub zones: Vec<ZoneSinceFacts>,
    /// Where the errors come from.
    pub source: String,
}

/// One zone.
#[derive(Debug, Clone)]
pub struct ZoneSinceFacts {
    /// Its number.
    pub zone: u32,
    /// The earlier zones that it lies on.
    pub ground: String,
    /// Each factor.
    pub factors: Vec<FactorWords>,
    /// What was ordered, applied and expected.
    pub products: Vec<String>,
    /// A formula that was not kept, in full.
    pub misses: Vec<String>,
    /// Limits that left, came and stayed.
    pub limits: Vec<String>,
    /// What was spent, and for how many limits that left.
    pub money: String,
    /// How high each factor stood and stands.
    pub staves: Vec<StaveSince>,
}

impl SinceFacts {
    /// The sheet of a run; `None` where the plan names no earlier season and no own trials speak.
    #[must_use]
    pub fn new(overview: &Overview<'_>) -> Option<Self> {
        let since = overview.stages.past.since.as_ref()?;
        let units = overview.units;
        let name = since.other_name.as_ref().map_or_else(String::new, |name| {
            format!(", when the field was called \"{name}\"")
        });
        Some(Self {
            then: since.then,
            now: overview.stages.settings.season,
            about: format!(
                "{} (folder \"{}\"{name}) beside {}. Zones have moved: earlier results are laid over today's zones by area, never by number; {} of \
                 today's ground was part of that run. Behind each value stands how many cores or pushes it rests on; differences are given with their 90 % interval.",
                since.then,
                since.folder,
                overview.stages.settings.season,
                percent(since.covered)
            ),
            not_known: since.not_known.clone(),
            together: together(since),
            own_trials: own_trials(overview),
            zones: since
                .zones
                .iter()
                .map(|zone| zone_facts(zone, units))
                .collect(),
            source: Catalogue::built_in().repeat_source.clone(),
        })
    }
}

fn zone_facts(zone: &ZoneSince, units: UnitSystem) -> ZoneSinceFacts {
    let chemistry = |agrees: bool| {
        zone.products.iter().filter_map(move |product| {
            let chemistry = product.chemistry.as_ref()?;
            ((chemistry.agrees != Some(false)) == agrees)
                .then(|| chemistry_line(&product.label, chemistry, units))
        })
    };
    let products = zone.products.iter();
    ZoneSinceFacts {
        zone: zone.zone,
        ground: ground(zone),
        factors: zone
            .factors
            .iter()
            .map(|factor| FactorWords::new(factor, units))
            .collect(),
        products: products
            .map(|product| product_line(product, units))
            .chain(chemistry(true))
            .collect(),
        misses: chemistry(false).collect(),
        limits: limits(zone),
        money: money(zone, units),
        staves: zone.staves.clone(),
    }
}

/// "was zone 3 (81 %) and zone 4 (19 %)".
fn ground(zone: &ZoneSince) -> String {
    /// Less of a zone than this is not worth a word.
    const WORTH_A_WORD: f64 = 0.05;
    let parts: Vec<String> = zone
        .ground
        .iter()
        .filter(|(_, share)| *share >= WORTH_A_WORD)
        .map(|(number, share)| format!("zone {number} ({})", percent(*share)))
        .collect();
    if parts.is_empty() {
        "was not part of that run".to_owned()
    } else {
        format!("was {}", parts.join(" and "))
    }
}

/// The limits by what became of them, one line each; those without any are left out.
fn limits(zone: &ZoneSince) -> Vec<String> {
    let of = |word: &str, is_one: &dyn Fn(&LimitSince) -> bool| {
        let limits = zone.limits.iter().filter(|limit| is_one(limit));
        let names: Vec<&str> = limits.map(|limit| limit.factor.as_str()).collect();
        (!names.is_empty()).then(|| format!("{word}: {}", names.join(", ")))
    };
    let is = |fate: Fate, is_shown: bool| {
        move |limit: &LimitSince| limit.fate == fate && limit.is_shown == is_shown
    };
    let moved = [
        of("left, the change is shown", &is(Fate::Left, true)),
        of("left, within the error", &is(Fate::Left, false)),
        of("came, the change is shown", &is(Fate::Came, true)),
        of("came, within the error", &is(Fate::Came, false)),
    ];
    let rest = [
        of(
            "limited then, not tested this year",
            &|limit: &LimitSince| limit.fate == Fate::NotTested,
        ),
        of(STAYED, &|limit: &LimitSince| limit.fate == Fate::Stayed),
    ];
    moved
        .into_iter()
        .flatten()
        .chain(not_comparable(zone))
        .chain(rest.into_iter().flatten())
        .collect()
}

/// Limits of one year that the other year's test cannot speak of, those with the same reason together.
fn not_comparable(zone: &ZoneSince) -> Vec<String> {
    let mut lines: Vec<(String, Vec<&str>)> = Vec::new();
    let limits = zone.limits.iter();
    for limit in limits.filter(|limit| limit.fate == Fate::NotComparable) {
        let years = if limit.limited_then {
            "limit then, none now"
        } else {
            "limit now, none then"
        };
        let why = limit.why.as_deref().unwrap_or_default();
        let line = format!("not comparable ({why}), {years}");
        match lines.iter_mut().find(|(known, _)| *known == line) {
            Some((_, names)) => names.push(&limit.factor),
            None => lines.push((line, vec![&limit.factor])),
        }
    }
    let lines = lines.into_iter();
    lines
        .map(|(line, names)| format!("{line}: {}", names.join(", ")))
        .collect()
}

/// How a cost is known: by orders, or by logs of what truly went out.
fn known_by<'p>(products: impl Iterator<Item = &'p ProductSince>) -> &'static str {
    let (mut logged, mut ordered) = (false, false);
    for product in products {
        logged |= product.applied.is_some();
        ordered |= product.applied.is_none();
    }
    match (logged, ordered) {
        (true, false) => "spent by the logs",
        (true, true) => "spent by the logs, or ordered where there is none",
        _ => "ordered; whether it was carried out no log says",
    }
}

/// What was ordered or spent in a zone, for each limit that left.
fn money(zone: &ZoneSince, units: UnitSystem) -> String {
    let spent = MoneyPerArea::from_dollars_per_hectare(zone.spent_usd_ha).show(units, 2);
    let spent = format!("{spent} {}", known_by(zone.products.iter()));
    match zone.lifted() {
        _ if zone.spent_usd_ha <= 0.0 => "nothing was ordered or spent here".to_owned(),
        0 => format!("{spent}; no limit is shown to have left"),
        1 => format!("{spent}; one limit left"),
        count => {
            let each = zone.spent_usd_ha / count as f64;
            let each = MoneyPerArea::from_dollars_per_hectare(each).show(units, 2);
            format!("{spent}; {count} limits left: {each} for each")
        }
    }
}

/// The field as a whole: how many changes were shown of how many comparisons, and the money for each limit that left.
fn together(since: &SinceLastTime) -> Vec<String> {
    let all = || since.zones.iter().flat_map(|zone| &zone.factors);
    let compared = all()
        .filter(|factor| factor.finding.change().is_some())
        .count();
    let shown = all().filter(|factor| factor.finding.is_shown()).count();
    let dollars: f64 = since
        .zones
        .iter()
        .map(|zone| zone.spent_usd_ha * zone.area_m2 / 10_000.0)
        .sum();
    let lifted: usize = since.zones.iter().map(ZoneSince::lifted).sum();
    let limits = since.zones.iter().flat_map(|zone| &zone.limits);
    let within = limits
        .filter(|limit| limit.fate == Fate::Left && !limit.is_shown)
        .count();
    let products = since.zones.iter().flat_map(|zone| &zone.products);
    let spent = format!(
        "products and work for {} USD {}",
        grouped(dollars, 0),
        known_by(products)
    );
    let left = match lifted {
        0 => "no limit is shown to have left".to_owned(),
        _ => format!(
            "{lifted} limit(s) left with a change that the soil test shows, {} USD for each",
            grouped(dollars / lifted as f64, 0)
        ),
    };
    let doubt = match within {
        0 => String::new(),
        _ => format!("; {within} more crossed the threshold within the error and are not counted"),
    };
    let mut lines = vec![
        format!(
            "{shown} of {compared} comparisons show a change; one in ten would by chance alone where nothing changed"
        ),
        format!("{spent}; {left}{doubt}"),
    ];
    lines.extend(everywhere_alike(since));
    lines
}

/// Tests that moved the same way in every zone: a laboratory or a season does that more often than soil does.
fn everywhere_alike(since: &SinceLastTime) -> Option<String> {
    let all = || since.zones.iter().flat_map(|zone| &zone.factors);
    let mut names: Vec<String> = Vec::new();
    for factor in all() {
        let same = || all().filter(|other| other.layer == factor.layer);
        let is_alike = same().count() > 1
            && same().all(|other| {
                matches!(
                    (&factor.finding, &other.finding),
                    (Finding::Rose(_), Finding::Rose(_)) | (Finding::Fell(_), Finding::Fell(_))
                )
            });
        let own = factor.factors.iter().map(|factor| factor.name().to_owned());
        for name in own.filter(|_| is_alike) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    (!names.is_empty()).then(|| {
        format!(
            "moved the same way in every zone: {}; that is typical of a laboratory or a season, so do not take it for the work before another test",
            names.join(", ")
        )
    })
}

/// What own trials said of each rate, zones with the same line together.
fn own_trials(overview: &Overview<'_>) -> Vec<String> {
    let mut lines: Vec<(String, Vec<u32>)> = Vec::new();
    for view in &overview.zones {
        for (rate, column) in view.rates.rates.iter().zip(&overview.columns) {
            let Some(own) = &rate.own else { continue };
            let follows = if own.opens {
                ": it goes out here"
            } else if own.closes {
                ": it is held back here"
            } else {
                ""
            };
            let line = format!("{}: {}{follows}", column.product.label, own.line);
            let number = view.number;
            match lines.iter_mut().find(|(known, _)| *known == line) {
                Some((_, zones)) => zones.push(number),
                None => lines.push((line, vec![number])),
            }
        }
    }
    let say = |(line, zones): (String, Vec<u32>)| format!("{line} ({})", zones_in_words(&zones));
    lines.into_iter().map(say).collect()
}
