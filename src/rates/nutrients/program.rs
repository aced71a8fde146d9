//! The least-cost mix as a linear programme: rates of a few products in each zone that meet its needs inside its caps.
//!
//! No more products than are spread in a season: every set of so few is tried, each zone by itself where nothing is scarce, the whole
//! field at once where an amount on hand does not reach. A rate is nothing or at least what spreads evenly.

use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

/// A product that may go into the mix.
#[derive(Debug, Clone, PartialEq)]
pub struct MixProduct {
    /// United States dollars for a unit of its rate (kg or L).
    pub price: f64,
    /// What a unit brings of each need, in the order of [`MixZone::needs`].
    pub brings: Vec<f64>,
    /// What a unit takes of each ceiling, in the order of [`MixZone::ceilings`].
    pub counts: Vec<f64>,
    /// How much there is on the whole field, in units of rate times hectares.
    pub on_hand: Option<f64>,
}

/// A zone's needs and caps.
#[derive(Debug, Clone, PartialEq)]
pub struct MixZone {
    /// Area.
    pub hectares: f64,
    /// What is needed, kg/ha; nothing where it is not needed.
    pub needs: Vec<f64>,
    /// What a kilogram of each need that stays unmet counts for, United States dollars.
    pub worth: Vec<f64>,
    /// Ceilings on what the mix brings, kg/ha.
    pub ceilings: Vec<f64>,
    /// Most of each product.
    pub most: Vec<f64>,
    /// Least of each product that spreads evenly.
    pub least: Vec<f64>,
}

/// A field's mix to be found.
#[derive(Debug, Clone, PartialEq)]
pub struct MixProblem {
    /// The products.
    pub products: Vec<MixProduct>,
    /// The zones.
    pub zones: Vec<MixZone>,
    /// What spreading a product costs, United States dollars per hectare.
    pub pass: f64,
    /// Most products.
    pub passes: usize,
}

/// A mix that was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The products that it uses, rising.
    pub products: Vec<usize>,
    /// Rate of each product of the problem in each zone.
    pub rates: Vec<Vec<f64>>,
    /// Cost with spreading and with what is left unmet, United States dollars.
    pub cost: f64,
}

/// The cheapest mix of at most so many products, and the next best that uses another set.
#[must_use]
pub fn cheapest_mix(problem: &MixProblem) -> (Choice, Option<Choice>) {
    let mut best = solve(problem, &[]);
    let mut next: Option<Choice> = None;
    for set in sets(problem.products.len(), problem.passes) {
        let found = solve(problem, &set);
        let is_used = |at: &usize| found.rates.iter().any(|zone| zone[*at] > 0.0);
        // A set with an idle product is the smaller set again.
        if set.iter().any(|at| !is_used(at)) {
            continue;
        }
        if found.cost < best.cost - 1e-6 {
            next = Some(std::mem::replace(&mut best, found));
        } else if next
            .as_ref()
            .is_none_or(|next| found.cost < next.cost - 1e-6)
        {
            next = Some(found);
        }
    }
    let next = next.filter(|next| !next.products.is_empty());
    (best, next)
}

/// All sets of at least one and at most so many of the first `count` whole numbers.
fn sets(count: usize, most: usize) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = Vec::new();
    let mut of_size: Vec<Vec<usize>> = vec![Vec::new()];
    for _ in 0..most.min(count) {
        of_size = of_size
            .iter()
            .flat_map(|set| {
                let from = set.last().map_or(0, |last| last + 1);
                (from..count).map(move |next| {
                    let mut longer = set.clone();
                    longer.push(next);
                    longer
                })
            })
            .collect();
        all.extend(of_size.iter().cloned());
    }
    all
}

/// The best rates with one set of products.
fn solve(problem: &MixProblem, set: &[usize]) -> Choice {
    let zones: Vec<ZoneMix> = problem
        .zones
        .iter()
        .map(|zone| zone_mix(problem, zone, set))
        .collect();
    let choice = gather(problem, set, &zones);
    let is_short = |at: &usize| {
        let used: f64 = (choice.rates.iter().zip(&problem.zones))
            .map(|(rates, zone)| rates[*at] * zone.hectares)
            .sum();
        problem.products[*at]
            .on_hand
            .is_some_and(|stock| used > stock * (1.0 + 1e-9) + 1e-9)
    };
    if set.iter().any(is_short) {
        return shared(problem, set, &choice);
    }
    choice
}

/// One zone's rates and what they cost per hectare.
#[derive(Debug, Clone)]
struct ZoneMix {
    rates: Vec<f64>,
    cost: f64,
}

/// Branches on the products whose rate came out below what spreads: nothing of it, or at least that.
fn zone_mix(problem: &MixProblem, zone: &MixZone, set: &[usize]) -> ZoneMix {
    let nothing = ZoneMix {
        rates: vec![0.0; problem.products.len()],
        cost: unmet(problem, zone, &vec![0.0; problem.products.len()]),
    };
    let mut best = nothing;
    let mut open: Vec<Vec<(f64, f64)>> = vec![set.iter().map(|at| (0.0, zone.most[*at])).collect()];
    while let Some(bounds) = open.pop() {
        let Some(found) = relaxed(problem, zone, set, &bounds) else {
            continue;
        };
        if found.cost >= best.cost - 1e-9 {
            continue;
        }
        let small = set.iter().enumerate().find(|(_, at)| {
            let (rate, least) = (found.rates[**at], zone.least[**at]);
            rate > 1e-9 && rate < least * (1.0 - 1e-9)
        });
        let Some((place, at)) = small else {
            best = found;
            continue;
        };
        let mut none = bounds.clone();
        none[place] = (0.0, 0.0);
        open.push(none);
        if zone.least[*at] <= zone.most[*at] {
            let mut some = bounds;
            some[place] = (zone.least[*at], zone.most[*at]);
            open.push(some);
        }
    }
    // Spreading is paid for where something is spread, and is worth it only where it saves more.
    let used = best.rates.iter().filter(|rate| **rate > 0.0).count();
    best.cost += problem.pass * used as f64;
    let idle = unmet(problem, zone, &vec![0.0; problem.products.len()]);
    if best.cost >= idle {
        return ZoneMix {
            rates: vec![0.0; problem.products.len()],
            cost: idle,
        };
    }
    best
}

/// What unmet needs count for, United States dollars per hectare.
fn unmet(problem: &MixProblem, zone: &MixZone, rates: &[f64]) -> f64 {
    let of_need = |(at, need): (usize, &f64)| {
        let brought: f64 = (rates.iter().zip(&problem.products))
            .map(|(rate, product)| rate * product.brings[at])
            .sum();
        zone.worth[at] * (need - brought).max(0.0)
    };
    let needs = zone.needs.iter().enumerate();
    needs.filter(|(_, need)| **need > 0.0).map(of_need).sum()
}

/// The linear programme of one zone within bounds; `None` where the bounds cannot be kept.
fn relaxed(
    problem: &MixProblem,
    zone: &MixZone,
    set: &[usize],
    bounds: &[(f64, f64)],
) -> Option<ZoneMix> {
    let mut program = Problem::new(OptimizationDirection::Minimize);
    let rates = add_zone(&mut program, problem, zone, set, bounds, 1.0);
    let solution = program.solve().ok()?.into_solution().ok()?;
    let mut all = vec![0.0; problem.products.len()];
    for (at, rate) in set.iter().zip(&rates) {
        all[*at] = solution.var_value(*rate).max(0.0);
    }
    let price: f64 = (all.iter().zip(&problem.products))
        .map(|(rate, product)| rate * product.price)
        .sum();
    Some(ZoneMix {
        cost: price + unmet(problem, zone, &all),
        rates: all,
    })
}

/// Adds a zone's rates, shortages and caps to a programme; the weight is the zone's area.
fn add_zone(
    program: &mut Problem,
    problem: &MixProblem,
    zone: &MixZone,
    set: &[usize],
    bounds: &[(f64, f64)],
    weight: f64,
) -> Vec<Variable> {
    let rates: Vec<Variable> = (set.iter().zip(bounds))
        .map(|(at, bounds)| program.add_var(weight * problem.products[*at].price, *bounds))
        .collect();
    let terms = |of: &dyn Fn(&MixProduct) -> f64| -> Vec<(Variable, f64)> {
        (set.iter().zip(&rates))
            .map(|(at, rate)| (*rate, of(&problem.products[*at])))
            .filter(|(_, factor)| *factor != 0.0)
            .collect()
    };
    for (at, need) in zone
        .needs
        .iter()
        .enumerate()
        .filter(|(_, need)| **need > 0.0)
    {
        let short = program.add_var(weight * zone.worth[at], (0.0, f64::INFINITY));
        let mut row = terms(&|product| product.brings[at]);
        row.push((short, 1.0));
        program.add_constraint(&row, ComparisonOp::Ge, *need);
    }
    for (at, ceiling) in zone.ceilings.iter().enumerate() {
        let row = terms(&|product| product.counts[at]);
        if !row.is_empty() {
            program.add_constraint(&row, ComparisonOp::Le, *ceiling);
        }
    }
    rates
}

/// The whole field at once, where what is on hand does not reach: products stay where each zone by itself had them.
fn shared(problem: &MixProblem, set: &[usize], alone: &Choice) -> Choice {
    let mut off: Vec<Vec<bool>> = alone
        .rates
        .iter()
        .map(|rates| set.iter().map(|at| rates[*at] <= 0.0).collect())
        .collect();
    // Each round takes the rates off that fell below what spreads; there are no more rounds than rates.
    for _ in 0..=problem.zones.len() * set.len() {
        let Some(rates) = field_rates(problem, set, &off) else {
            break;
        };
        let mut is_small = false;
        for ((zone, found), off) in problem.zones.iter().zip(&rates).zip(&mut off) {
            for (place, at) in set.iter().enumerate() {
                let small = found[*at] > 1e-9 && found[*at] < zone.least[*at] * (1.0 - 1e-9);
                is_small |= small;
                off[place] |= small;
            }
        }
        if !is_small {
            let zones: Vec<ZoneMix> = (problem.zones.iter().zip(rates))
                .map(|(zone, rates)| {
                    let used = rates.iter().filter(|rate| **rate > 0.0).count();
                    let price: f64 = (rates.iter().zip(&problem.products))
                        .map(|(rate, product)| rate * product.price)
                        .sum();
                    ZoneMix {
                        cost: price + problem.pass * used as f64 + unmet(problem, zone, &rates),
                        rates,
                    }
                })
                .collect();
            return gather(problem, set, &zones);
        }
    }
    solve(problem, &[])
}

fn field_rates(problem: &MixProblem, set: &[usize], off: &[Vec<bool>]) -> Option<Vec<Vec<f64>>> {
    let mut program = Problem::new(OptimizationDirection::Minimize);
    let mut variables: Vec<Vec<Variable>> = Vec::new();
    for (zone, off) in problem.zones.iter().zip(off) {
        let bounds: Vec<(f64, f64)> = (set.iter().zip(off))
            .map(|(at, off)| (0.0, if *off { 0.0 } else { zone.most[*at] }))
            .collect();
        variables.push(add_zone(
            &mut program,
            problem,
            zone,
            set,
            &bounds,
            zone.hectares,
        ));
    }
    for (place, at) in set.iter().enumerate() {
        if let Some(stock) = problem.products[*at].on_hand {
            let row: Vec<(Variable, f64)> = (variables.iter().zip(&problem.zones))
                .map(|(rates, zone)| (rates[place], zone.hectares))
                .collect();
            program.add_constraint(&row, ComparisonOp::Le, stock);
        }
    }
    let solution = program.solve().ok()?.into_solution().ok()?;
    let rates = variables.iter().map(|variables| {
        let mut all = vec![0.0; problem.products.len()];
        for (at, rate) in set.iter().zip(variables) {
            let value = solution.var_value(*rate);
            all[*at] = if value > 1e-9 { value } else { 0.0 };
        }
        all
    });
    Some(rates.collect())
}

fn gather(problem: &MixProblem, set: &[usize], zones: &[ZoneMix]) -> Choice {
    let cost = (zones.iter().zip(&problem.zones))
        .map(|(mix, zone)| mix.cost * zone.hectares)
        .sum();
    Choice {
        products: set.to_vec(),
        rates: zones.iter().map(|mix| mix.rates.clone()).collect(),
        cost,
    }
}
