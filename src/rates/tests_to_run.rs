//! The tests that would tell what is not known: in a zone's order of fixes, and said once for the field with the money that hangs on them.

use super::TestFirst;
use super::pending_rate::PendingRate;
use super::worst_case;
use super::zone_context::{FieldContext, ZoneContext};
use crate::analyte::Analyte;
use crate::diagnosis::{Because, Finding, NotKnown};
use crate::rulebook::{Factor, ProductName, Test};
use crate::text::{capital, listed};

/// What comes before money.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    /// A sample to be tested.
    Sample,
    /// The methods of tests that were run, which cost nothing to name.
    Methods,
    /// A gate was closed on a bound: the paste test that tells how salty the ground is.
    ClosedGate,
}

/// A test in a zone.
#[derive(Debug, Clone)]
pub(super) struct ZoneTest {
    pub name: String,
    pub what: String,
    pub factor: Factor,
    /// Severity that hangs on it.
    pub severity: f64,
    pub dollars_a_sample: f64,
    /// Why it is asked for.
    pub why: String,
    /// What it decides.
    pub decides: String,
    /// The product whose rate it decides.
    product: Option<ProductName>,
    rank: Rank,
    /// Money that hangs on it, United States dollars per hectare.
    dollars_per_hectare: f64,
}

/// All tests that a zone waits for, the one that could change most first: those that settle a gate that a bound closed, then by severity
/// times money.
pub(super) fn of_zone(case: ZoneContext<'_>, pending: &[PendingRate]) -> Vec<ZoneTest> {
    let mut tests = of_bounds(case);
    tests.extend(of_rates(case, pending));
    for test in of_unnamed_methods(case)
        .into_iter()
        .chain(of_unknown_factors(case))
    {
        if tests.iter().all(|known| known.name != test.name) {
            tests.push(test);
        }
    }
    tests.sort_by(order);
    tests
}

fn order(a: &ZoneTest, b: &ZoneTest) -> std::cmp::Ordering {
    let worth = |test: &ZoneTest| test.severity * test.dollars_per_hectare;
    b.rank
        .cmp(&a.rank)
        .then_with(|| worth(b).total_cmp(&worth(a)))
        .then_with(|| b.severity.total_cmp(&a.severity))
        .then_with(|| a.name.cmp(&b.name))
}

/// Limits that only a bound tells of: the test of the rule's own method tells how severe they are.
fn of_bounds(case: ZoneContext<'_>) -> Vec<ZoneTest> {
    case.limits()
        .filter(|finding| finding.inferred.is_some())
        .filter_map(|finding| {
            let test = for_factor(case.field, finding.factor)?;
            Some(ZoneTest {
                rank: if finding.blocks.is_empty() {
                    Rank::Sample
                } else {
                    Rank::ClosedGate
                },
                ..zone_test(
                    case,
                    test,
                    finding.factor,
                    finding.severity,
                    "how severe it is",
                )
                .because(&finding.sentence)
            })
        })
        .collect()
}

/// Measured limits whose product cannot be calculated.
fn of_rates(case: ZoneContext<'_>, pending: &[PendingRate]) -> Vec<ZoneTest> {
    let unknown = pending
        .iter()
        .filter(|rate| rate.is_unknown && rate.overridden.is_none());
    unknown
        .filter_map(|rate| {
            let mut tests = case.field.rulebook.tests.iter();
            let test =
                tests.find(|test| test.products.iter().any(|name| rate.product == **name))?;
            let finding = case.answered_by(&rate.product).next()?;
            let decides = format!("how much {}", rate.product.words());
            let why = rate.note.as_deref().unwrap_or(&finding.sentence);
            let found = zone_test(case, test, finding.factor, finding.severity, &decides);
            Some(ZoneTest {
                product: Some(rate.product.clone()),
                ..unless_run(case, finding, test, found).because(why)
            })
        })
        .collect()
}

/// A test that was run already and gives no rate here (organic soil, a buffer without its name, a target outside the equation) is not
/// asked for again: the rulebook says what is done instead.
fn unless_run(case: ZoneContext<'_>, finding: &Finding, test: &Test, asked: ZoneTest) -> ZoneTest {
    let depth = finding.layer.as_ref().and_then(|layer| layer.depth);
    let is_run = test
        .reads
        .as_ref()
        .is_some_and(|analyte| case.summary(analyte, depth).is_some());
    match test.if_run.as_ref().filter(|_| is_run) {
        Some(instead) => ZoneTest {
            name: format!("{}_was_run", test.name),
            what: instead.clone(),
            dollars_a_sample: 0.0,
            ..asked
        },
        None => asked,
    }
}

/// Factors that nothing settles.
fn of_unknown_factors(case: ZoneContext<'_>) -> Vec<ZoneTest> {
    case.diagnosis
        .not_known
        .iter()
        .filter(|unknown| {
            let no_test_tells = [
                Because::RuleDoesNotHold,
                Because::DependsOnRegion,
                Because::MethodNotStated,
            ];
            !no_test_tells.contains(&unknown.because)
        })
        .filter(|unknown| unknown.factor != Factor::SurfaceAcidity || !is_limy(case))
        .filter_map(|unknown| {
            let test = for_factor(case.field, unknown.factor)?;
            let decides = format!("whether {} limits", unknown.factor.name());
            let severity = unknown.possible_severity;
            let mut found = zone_test(case, test, unknown.factor, severity, &decides);
            found.what = unknown.because.test_instead(&test.what);
            if let Some(dollars) = worst_case::dollars_per_hectare(case, unknown.factor) {
                found.dollars_per_hectare = within_budget(case.field, dollars);
            }
            (severity > 0.0).then(|| found.because(&unknown.sentence))
        })
        .collect()
}

/// Results whose method nobody names, all of them in one line: naming it costs nothing and may settle several factors.
fn of_unnamed_methods(case: ZoneContext<'_>) -> Option<ZoneTest> {
    let unknown = case.diagnosis.not_known.iter();
    let mut waiting = unknown
        .filter(|unknown| unknown.because == Because::MethodNotStated)
        .filter(|unknown| unknown.possible_severity > 0.0);
    let first = waiting.next()?;
    let factors: Vec<Factor> = std::iter::once(first.factor)
        .chain(waiting.map(|unknown| unknown.factor))
        .collect();
    let mut analytes: Vec<String> = Vec::new();
    for summary in case.unnamed_methods() {
        let label = summary.key.analyte.label();
        if !analytes.contains(&label) {
            analytes.push(label);
        }
    }
    let names: Vec<String> = factors
        .iter()
        .map(|factor| factor.name().to_owned())
        .collect();
    let verb = if names.len() == 1 { "limits" } else { "limit" };
    Some(ZoneTest {
        name: "test_methods".to_owned(),
        what: NotKnown::naming_of_methods(&analytes),
        factor: first.factor,
        severity: first.possible_severity,
        dollars_a_sample: 0.0,
        why: first.sentence.clone(),
        decides: format!("whether {} {verb}", listed(&names)),
        product: None,
        rank: Rank::Methods,
        dollars_per_hectare: within_budget(
            case.field,
            factors
                .iter()
                .map(|factor| {
                    let worst = worst_case::dollars_per_hectare(case, *factor);
                    worst.unwrap_or_else(|| money_on(case.field, *factor))
                })
                .sum(),
        ),
    })
}

/// Whether the topsoil has free lime by its pH in water: its surface is not acid.
fn is_limy(case: ZoneContext<'_>) -> bool {
    let ph = case.summary(&Analyte::Ph, None);
    ph.is_some_and(|ph| {
        let is_in_water = ph
            .key
            .method
            .as_ref()
            .is_some_and(|method| method.name() == "water");
        is_in_water && ph.mean >= case.field.rulebook.numbers.free_lime_ph
    })
}

fn for_factor<'a>(field: &FieldContext<'a>, factor: Factor) -> Option<&'a Test> {
    field
        .rulebook
        .tests
        .iter()
        .find(|test| test.factors.contains(&factor))
}

fn zone_test(
    case: ZoneContext<'_>,
    test: &Test,
    factor: Factor,
    severity: f64,
    decides: &str,
) -> ZoneTest {
    ZoneTest {
        name: test.name.clone(),
        what: test.what.clone(),
        factor,
        severity,
        dollars_a_sample: test.dollars_a_sample,
        why: String::new(),
        decides: decides.to_owned(),
        product: None,
        rank: Rank::Sample,
        dollars_per_hectare: within_budget(case.field, money_on(case.field, factor)),
    }
}

/// What the plan's budget leaves of an amount of money, United States dollars per hectare.
fn within_budget(field: &FieldContext<'_>, dollars: f64) -> f64 {
    let budget = field.settings.budget;
    budget.map_or(dollars, |limit| dollars.min(limit.dollars_per_hectare()))
}

impl ZoneTest {
    fn because(mut self, why: &str) -> Self {
        why.clone_into(&mut self.why);
        self
    }
}

/// The most money that can hang on a factor, United States dollars per hectare: the dearest of its fixes, a product at its season's cap.
/// For where the rates do not tell what its worst value would cost.
fn money_on(field: &FieldContext<'_>, factor: Factor) -> f64 {
    let fixes = field.rulebook.fixes.iter();
    fixes
        .filter(|fix| fix.mends.contains(&factor))
        .map(|fix| {
            let product = fix.product.as_ref().map_or(0.0, |name| {
                let most = match (field.blend, field.rulebook.product(name)) {
                    (_, Some(product)) => product.cap.unwrap_or(0.0),
                    (Some(blend), None) => blend.recipe.most.litres_per_hectare(),
                    (None, None) => 0.0,
                };
                field.cost_of(name, most)
            });
            fix.cost.dollars_per_hectare() + product
        })
        .fold(0.0, f64::max)
}

/// The tests of all zones, each said once with its zones and their hectares; what could change most first.
pub(super) fn of_field(zones: &[(u32, f64, Vec<ZoneTest>)]) -> Vec<TestFirst> {
    let mut all: Vec<(Rank, TestFirst)> = Vec::new();
    for (number, hectares, tests) in zones {
        for test in tests {
            let dollars = test.dollars_per_hectare * hectares;
            let known = all.iter_mut().find(|(_, known)| {
                known.test == capital(&test.what) && known.decides == test.decides
            });
            match known {
                None => all.push((test.rank, test_first(test, *number, dollars))),
                Some((_, known)) => {
                    known.zones.push(*number);
                    known.dollars += dollars;
                    if test.severity > known.severity {
                        known.severity = test.severity;
                        known.why.clone_from(&test.why);
                    }
                }
            }
        }
    }
    let worth = |test: &TestFirst| test.severity * test.dollars;
    all.sort_by(|a, b| {
        b.0.cmp(&a.0)
            .then_with(|| worth(&b.1).total_cmp(&worth(&a.1)))
            .then_with(|| b.1.severity.total_cmp(&a.1.severity))
            .then_with(|| a.1.test.cmp(&b.1.test))
    });
    all.into_iter().map(|(_, test)| test).collect()
}

fn test_first(test: &ZoneTest, zone: u32, dollars: f64) -> TestFirst {
    TestFirst {
        test: capital(&test.what),
        factor: test.factor,
        why: test.why.clone(),
        zones: vec![zone],
        decides: test.decides.clone(),
        product: test.product.clone(),
        severity: test.severity,
        dollars,
        dollars_a_sample: Some(test.dollars_a_sample).filter(|dollars| *dollars > 0.0),
    }
}
