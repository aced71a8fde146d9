//! The order of fixes: fixes of measured limits, gates first, then severity relieved per cost and effort; what must come first comes first.
//! The test of what is not known stands behind the fixes of greater limits.

use super::Fix;
use super::money_over_time::Lasting;
use super::nutrients;
use super::part_of_ground;
use super::pending_rate::{PendingRate, number};
use super::tests_to_run::ZoneTest;
use super::zone_context::ZoneContext;
use crate::diagnosis::{Finding, Outcome};
use crate::rulebook::{Basis, Crop, Factor, FixRule, Rulebook};
use crate::text::capital;
use crate::units::{MoneyPerArea, UnitSystem, decimal, fixed};

/// Stands in a fix for the crops that bear the salt that was found.
const CROPS: &str = "{crops}";

/// A fix with what it relieves, for the budget.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub fix: Fix,
    /// The factors it mends, the severity of each and the share of it that the fix takes off.
    pub relieves: Vec<(Factor, f64, f64)>,
    /// Years that it works, each by what it is worth today.
    pub lasts: f64,
    /// Whether the rate is the consultant's: the budget takes it as it is.
    pub is_decided: bool,
    is_blocking: bool,
}

impl Candidate {
    /// Severity relieved for a dollar of a year's cost.
    pub fn worth_a_dollar(&self) -> f64 {
        let relieved: f64 = self
            .relieves
            .iter()
            .map(|(_, severity, share)| severity * share)
            .sum();
        relieved / self.fix.cost_a_year.dollars_per_hectare()
    }
}

/// The fixes of a zone in their order, the tests among them.
pub(super) fn candidates(
    case: ZoneContext<'_>,
    pending: &[PendingRate],
    tests: &[ZoneTest],
) -> Vec<Candidate> {
    let mut candidates: Vec<Candidate> = case
        .field
        .rulebook
        .fixes
        .iter()
        .filter_map(|rule| candidate(case, rule, pending))
        .collect();
    set_prerequisites(case.field.rulebook, &mut candidates);
    candidates.sort_by(|a, b| {
        b.is_blocking
            .cmp(&a.is_blocking)
            .then_with(|| b.fix.score.total_cmp(&a.fix.score))
            .then_with(|| a.fix.name.cmp(&b.fix.name))
    });
    let mut ordered = prerequisites_first(candidates);
    for test in tests {
        insert_test(case, &mut ordered, test);
    }
    ordered
}

/// Puts a test behind the last fix of a limit that is as severe as what hangs on it: what may limit less waits for what does limit more.
fn insert_test(case: ZoneContext<'_>, ordered: &mut Vec<Candidate>, test: &ZoneTest) {
    let at = ordered
        .iter()
        .rposition(|candidate| candidate.fix.severity >= test.severity)
        .map_or(0, |last| last + 1);
    let arithmetic = format!(
        "a test; it stands behind every fix of a limit of severity {} and more",
        number(test.severity)
    );
    // One sample of the zone.
    let per_hectare = test.dollars_a_sample / case.hectares().max(f64::MIN_POSITIVE);
    let cost = if per_hectare.is_finite() {
        per_hectare
    } else {
        0.0
    };
    let fix = Fix {
        name: test.name.clone(),
        what: capital(&test.what),
        factor: test.factor,
        product: None,
        is_test: true,
        cost: MoneyPerArea::from_dollars_per_hectare(cost),
        years: 1.0,
        cost_a_year: MoneyPerArea::from_dollars_per_hectare(cost),
        effort: 1.0,
        seasons: 0.0,
        severity: test.severity,
        score: 0.0,
        arithmetic,
        after: Vec::new(),
        basis: Basis::Own,
        left_out: false,
    };
    let candidate = Candidate {
        fix,
        relieves: Vec::new(),
        lasts: 1.0,
        is_decided: false,
        is_blocking: false,
    };
    ordered.insert(at, candidate);
}

/// Whether a factor is known and nothing of it limits.
fn is_adequate(case: ZoneContext<'_>, factor: Factor) -> bool {
    let mut findings = case.diagnosis.findings.iter();
    let has =
        findings.any(|finding| finding.factor == factor && finding.outcome == Outcome::Adequate);
    has && case.limit(factor).is_none()
}

/// Whether a fix is not offered: something else does its work, or it changes nothing that needs a change.
fn is_left(
    case: ZoneContext<'_>,
    rule: &FixRule,
    relieved: &[&Finding],
    pending: &[PendingRate],
) -> bool {
    let mut unless = rule.unless_adequate.iter();
    rule.unless_spread && is_spread_for(case, relieved, pending)
        || rule.carries_salt && case.closes_salt()
        || is_needless_change(case, rule, relieved)
        || unless.any(|factor| is_adequate(case, *factor))
}

fn candidate(case: ZoneContext<'_>, rule: &FixRule, pending: &[PendingRate]) -> Option<Candidate> {
    let relieved = relieved(case, rule, pending);
    if is_left(case, rule, &relieved, pending) {
        return None;
    }
    let worst = relieved.iter().copied().max_by(|a, b| {
        severity(case, a)
            .total_cmp(&severity(case, b))
            .then_with(|| b.factor.cmp(&a.factor))
    })?;
    let rate = match &rule.product {
        Some(name) => Some(
            pending
                .iter()
                .find(|pending| pending.product == *name && pending.amount > 0.0)?,
        ),
        None => None,
    };
    let product_cost = rate.map_or(0.0, |rate| case.field.cost_of(&rate.product, rate.amount));
    let with_product = |own: MoneyPerArea| {
        MoneyPerArea::from_dollars_per_hectare(own.dollars_per_hectare() + product_cost)
    };
    let cost = with_product(counted(case, rule));
    let relieves: Vec<(Factor, f64, f64)> = relieved
        .iter()
        .map(|finding| (finding.factor, severity(case, finding), rule.relief))
        .collect();
    let lasting = Lasting::of(case, rule, rate.and_then(|rate| rate.build));
    let (score, arithmetic) = score(case, rule, (with_product(rule.cost), &lasting), &relieves);
    Some(Candidate {
        lasts: lasting.worth(),
        is_blocking: relieved.iter().any(|finding| finding.is_closing),
        is_decided: rate.is_some_and(|rate| rate.overridden.is_some()),
        fix: Fix {
            name: rule.name.clone(),
            what: if case.field.has_words() {
                what(case, rule, &relieved)
            } else {
                String::new()
            },
            factor: worst.factor,
            product: rule.product.clone(),
            is_test: false,
            cost,
            years: lasting.years,
            cost_a_year: lasting.cost_a_year(cost),
            effort: rule.effort,
            seasons: rule.seasons,
            severity: severity(case, worst),
            score,
            arithmetic,
            after: Vec::new(),
            basis: rule.basis,
            left_out: false,
        },
        relieves,
    })
}

/// How bad it is: of the zone's mean, or of the part of it that asks for a product where the mean does not.
fn severity(case: ZoneContext<'_>, finding: &Finding) -> f64 {
    let part = part_of_ground::past(case, finding);
    part.map_or(finding.severity, |part| part.severity)
}

/// What counts of a fix's own cost.
fn counted(case: ZoneContext<'_>, rule: &FixRule) -> MoneyPerArea {
    if case.field.counts_guesses() {
        rule.cost
    } else {
        rule.billed()
    }
}

/// Whether a product goes out for all that a fix would relieve, or what goes out for something else brings all that is needed of it:
/// dolomitic lime the magnesium.
fn is_spread_for(case: ZoneContext<'_>, relieved: &[&Finding], pending: &[PendingRate]) -> bool {
    let goes_out = |rate: &PendingRate, finding: &Finding| {
        let mut fixes = case.field.rulebook.fixes.iter();
        rate.amount > 0.0
            && fixes.any(|fix| {
                fix.product.as_ref() == Some(&rate.product)
                    && fix.answers(finding.factor, &finding.rule)
            })
    };
    let is_spread = |finding: &Finding| pending.iter().any(|rate| goes_out(rate, finding));
    let others = || relieved.iter().filter(|finding| !is_spread(finding));
    if others().next().is_none() {
        return true;
    }
    let needs = nutrients::needs(case, pending);
    let is_brought = |finding: &&&Finding| {
        let mut needs = needs.iter();
        needs.any(|need| need.nutrient.factor() == finding.factor && need.is_brought())
    };
    others().all(|finding| is_brought(&finding))
}

/// What is done, with the depth that a finding asks for.
fn what(case: ZoneContext<'_>, rule: &FixRule, relieved: &[&Finding]) -> String {
    const DEPTH: &str = "{depth}";
    if rule.what.contains(CROPS) {
        let crops = crops_that_bear(case, relieved);
        let without = rule.what_without_depth.clone();
        return match without.filter(|_| crops.is_empty()) {
            Some(without) => without,
            None => rule.what.replace(CROPS, &crops.join(", ")),
        };
    }
    if !rule.what.contains(DEPTH) {
        return rule.what.clone();
    }
    let depth = relieved.iter().find_map(|finding| finding.loosen_to);
    let shown = depth.map(|depth| match case.field.settings.units {
        UnitSystem::UnitedStates => format!("{} in", decimal(depth.metres() / 0.0254, 0)),
        UnitSystem::Metric => format!("{} cm", decimal(depth.metres() * 100.0, 0)),
    });
    match (shown, &rule.what_without_depth) {
        (Some(depth), _) => rule.what.replace(DEPTH, &depth),
        (None, Some(without)) => without.clone(),
        (None, None) => rule.what.replace(DEPTH, "to the depth that a spade shows"),
    }
}

/// Whether a crop bears a conductivity: it loses no more than the share from which salt-carrying products are closed.
fn bears(case: ZoneContext<'_>, crop: &Crop, conductivity: f64) -> bool {
    let loss = case.field.rulebook.numbers.salt_loss_that_closes;
    crop.salt.as_ref().is_some_and(|salt| {
        let left = crate::soil::relative_yield(conductivity, salt.threshold, salt.slope);
        left.is_ok_and(|left| left >= 100.0 - loss)
    })
}

/// The hardiest crops of the rulebook that bear the salt of a finding.
fn crops_that_bear<'a>(case: ZoneContext<'a>, relieved: &[&Finding]) -> Vec<&'a str> {
    const MOST_NAMED: usize = 3;
    let salt = relieved
        .iter()
        .find(|finding| finding.factor == Factor::Salt);
    let Some(conductivity) = salt.and_then(|salt| salt.value) else {
        return Vec::new();
    };
    let crops = case.field.rulebook.crops.iter();
    let mut bearing: Vec<&Crop> = crops
        .filter(|crop| bears(case, crop, conductivity))
        .collect();
    let threshold = |crop: &Crop| crop.salt.as_ref().map_or(0.0, |salt| salt.threshold);
    bearing.sort_by(|a, b| {
        threshold(b)
            .total_cmp(&threshold(a))
            .then_with(|| a.name.cmp(&b.name))
    });
    bearing
        .iter()
        .take(MOST_NAMED)
        .map(|crop| crop.label.as_str())
        .collect()
}

/// Whether another crop is advised although this one bears the salt.
fn is_needless_change(case: ZoneContext<'_>, rule: &FixRule, relieved: &[&Finding]) -> bool {
    let is_borne = |finding: &&Finding| {
        finding
            .value
            .is_some_and(|value| bears(case, case.field.crop, value))
    };
    rule.what.contains(CROPS) && relieved.iter().all(is_borne)
}

/// The findings that a fix mends in a zone, one for each factor. Where its product has a rate although the zone's mean is adequate,
/// part of the zone asks for it.
fn relieved<'a>(
    case: ZoneContext<'a>,
    rule: &FixRule,
    pending: &[PendingRate],
) -> Vec<&'a Finding> {
    let mut relieved: Vec<&Finding> = Vec::new();
    let has_rate = rule.product.as_ref().is_some_and(|name| {
        pending
            .iter()
            .any(|rate| rate.product == *name && rate.amount > 0.0)
    });
    let asks = |finding: &&Finding| {
        finding.outcome == Outcome::Limiting
            || has_rate && finding.outcome == Outcome::Adequate && finding.factor == Factor::Acidity
    };
    let limiting = case
        .diagnosis
        .findings
        .iter()
        .filter(asks)
        .filter(|finding| rule.answers(finding.factor, &finding.rule));
    for finding in limiting {
        if !relieved.iter().any(|known| known.factor == finding.factor) {
            relieved.push(finding);
        }
    }
    relieved
}

/// Said of a zone in which nothing has to be done.
pub const NOTHING_FIRST: &str = "Nothing needs to be done first";

/// The first thing to do in a zone, an order in plain words.
pub(super) fn do_first(
    case: ZoneContext<'_>,
    ordered: &[Candidate],
    pending: &[PendingRate],
) -> String {
    let mut fixes = ordered.iter().map(|candidate| &candidate.fix);
    let Some(first) = fixes.find(|fix| !fix.left_out) else {
        return held_back(case, pending).unwrap_or_else(|| NOTHING_FIRST.to_owned());
    };
    let rate = first
        .product
        .as_ref()
        .and_then(|name| pending.iter().find(|rate| rate.product == *name));
    match rate {
        Some(rate) => format!("{}, {}", first.what, case.show(rate.amount, rate.metering)),
        None => first.what.clone(),
    }
}

/// What is needed where none of it goes out, with the reason: a step, a cap or an override that leaves nothing is no clean bill. What is no
/// finding of the zone, and so little that it does not spread evenly, is not needed there: a few cells over an edge ask for it.
fn held_back(case: ZoneContext<'_>, pending: &[PendingRate]) -> Option<String> {
    // Lime mends calcium too, but only acid asks for it.
    let is_finding = |rate: &PendingRate| {
        let product = case.field.rulebook.product(&rate.product);
        let is_lime = product
            .is_some_and(|own| own.effective_neutralizing_value > 0.0 && own.feeds.is_empty());
        let is_acid = |factor| matches!(factor, Factor::Acidity | Factor::SurfaceAcidity);
        let mut answered = case.answered_by(&rate.product);
        answered.any(|finding| !is_lime || is_acid(finding.factor))
    };
    let is_held = |rate: &&PendingRate| {
        rate.needed > 0.0 && rate.amount <= 0.0 && (!rate.is_too_little || is_finding(rate))
    };
    let rate = pending.iter().find(is_held)?;
    let needed = match case.answered_by(&rate.product).next() {
        Some(finding) if rate.is_too_little || is_never_put_here(case, rate) => format!(
            "Nothing is spread for {}: {}",
            finding.factor.name(),
            rate.product.words()
        ),
        _ => format!("Needed, but not applied: {}", rate.product.words()),
    };
    Some(match &rate.note {
        Some(note) => format!("{needed} ({note})"),
        None => needed,
    })
}

/// Whether the ground itself rules a product out: then it is not needed here, whatever limits.
fn is_never_put_here(case: ZoneContext<'_>, rate: &PendingRate) -> bool {
    let rulebook = case.field.rulebook;
    let product = rulebook.product(&rate.product);
    let unmet = product.and_then(|own| case.diagnosis.unmet(&own.only_where, rulebook));
    unmet.is_some_and(|unmet| unmet.is_known)
}

/// Severity relieved per hundred dollars of cost, effort and waiting, brought to one year, and its arithmetic.
fn score(
    case: ZoneContext<'_>,
    rule: &FixRule,
    (cost, lasting): (MoneyPerArea, &Lasting),
    relieves: &[(Factor, f64, f64)],
) -> (f64, String) {
    let (numbers, units) = (&case.field.rulebook.numbers, case.field.settings.units);
    let money = |amount: MoneyPerArea| amount.number_in(units);
    let (a_year, work) = (
        lasting.cost_a_year(cost),
        lasting.work_a_year(numbers.cost_of_effort * rule.effort),
    );
    let waiting = numbers.cost_of_waiting * rule.seasons;
    let price = money(a_year) + money(work) + money(waiting);
    let relieved: f64 = relieves
        .iter()
        .map(|(_, severity, share)| severity * share)
        .sum();
    let score = 100.0 * relieved / price.max(0.01);
    if !case.field.has_words() {
        return (score, String::new());
    }
    let part = |(factor, severity, share): &(Factor, f64, f64)| {
        format!(
            "{} {} x {}",
            factor.name(),
            number(*severity),
            number(*share)
        )
    };
    let parts: Vec<String> = relieves.iter().map(part).collect();
    let arithmetic = format!(
        "({}) / (cost {} {} = {} + effort {} x {} likewise = {} + {} x {} = {} {} a year) = {} per 100 USD",
        parts.join(" + "),
        fixed(money(cost), 2),
        lasting.words(),
        fixed(money(a_year), 2),
        decimal(rule.effort, 1),
        fixed(money(numbers.cost_of_effort), 2),
        fixed(money(work), 2),
        seasons(rule.seasons),
        fixed(money(numbers.cost_of_waiting), 2),
        fixed(price, 2),
        MoneyPerArea::unit_in(units),
        decimal(score, 3)
    );
    let guess = if rule.has_no_rate {
        "; the cost is a guess for the order alone: without a rate nothing is billed"
    } else {
        ""
    };
    (score, arithmetic + guess)
}

fn seasons(count: f64) -> String {
    let word = if count == 1.0 { "season" } else { "seasons" };
    format!("{} {word}", decimal(count, 1))
}

/// Moves each fix behind those that must come before it, and keeps the order otherwise.
fn prerequisites_first(mut waiting: Vec<Candidate>) -> Vec<Candidate> {
    let names: Vec<String> = waiting
        .iter()
        .map(|candidate| candidate.fix.name.clone())
        .collect();
    let mut ordered: Vec<Candidate> = Vec::with_capacity(waiting.len());
    while !waiting.is_empty() {
        let is_ready = |candidate: &Candidate| {
            candidate.fix.after.iter().all(|before| {
                !names.contains(before) || ordered.iter().any(|done| done.fix.name == *before)
            })
        };
        // A ring of prerequisites has no first; then the order of the scores holds.
        let next = waiting.iter().position(is_ready).unwrap_or(0);
        ordered.push(waiting.remove(next));
    }
    ordered
}

/// Keeps of each fix's prerequisites those that the zone needs too.
fn set_prerequisites(rulebook: &Rulebook, candidates: &mut [Candidate]) {
    let names: Vec<String> = candidates
        .iter()
        .map(|candidate| candidate.fix.name.clone())
        .collect();
    for candidate in candidates {
        let rule = rulebook
            .fixes
            .iter()
            .find(|rule| rule.name == candidate.fix.name);
        candidate.fix.after = rule
            .map(|rule| {
                rule.after
                    .iter()
                    .filter(|name| names.contains(name))
                    .cloned()
                    .collect()
            })
            .unwrap_or_default();
    }
}
