//! Why a need stays unmet: nothing that may be used brings it, something holds what does, or it costs more than the need counts for.

use super::ceiling::{CEILINGS, ceiling};
use super::found::Found;
use super::need::{Needed, needs};
use super::program::MixZone;
use crate::rates::caps;
use crate::rates::material::Material;
use crate::rates::pending_rate::PendingRate;
use crate::rates::prescription::UnmetNeed;
use crate::rates::zone_context::ZoneContext;
use crate::rulebook::{Nutrient, Product};
use crate::units::{KILOGRAMS_PER_POUND, MassPerArea, MoneyPerArea, Quantity, UnitSystem, fixed};

/// Most suppliers of a need whose reasons are told.
const MOST_TOLD: usize = 3;
/// A share by which a rate may miss what holds it: rounding of the programme, not of soil.
const HAIR: f64 = 1e-6;

/// How far the mix meets a need of a zone.
#[derive(Debug, Clone)]
pub(in crate::rates) struct Met {
    /// Which.
    pub nutrient: Nutrient,
    /// kg/ha that all rates bring together, before they are rounded and before a budget or the consultant changes them.
    pub brought: f64,
    /// What is left and why, in words; nothing where that is next to nothing.
    pub left_unmet: Option<String>,
}

/// How far a need of a zone is met.
pub(super) fn met(
    (case, needs, given): (ZoneContext<'_>, &[Needed], &[PendingRate]),
    need: &Needed,
    found: &Found<'_>,
    at: usize,
) -> Met {
    let by_mix = found.brought(at, need.nutrient.part());
    Met {
        nutrient: need.nutrient,
        brought: need.brought + by_mix,
        left_unmet: left_unmet((case, needs, given), need, found, (at, by_mix)),
    }
}

/// Less of a need than this is next to nothing.
const NEXT_TO_NOTHING: f64 = 0.02;

/// What is left of a need of a zone, in words.
fn left_unmet(
    (case, needs, given): (ZoneContext<'_>, &[Needed], &[PendingRate]),
    need: &Needed,
    found: &Found<'_>,
    (at, by_mix): (usize, f64),
) -> Option<String> {
    let short = need.left() - by_mix;
    if short <= NEXT_TO_NOTHING * need.wanted.max(1e-9) {
        return None;
    }
    let zone = Unmet {
        case,
        needs,
        given,
        found,
        at,
        nutrient: need.nutrient,
    };
    Some(words(case, need, short, &case.told(|| zone.why())))
}

fn words(case: ZoneContext<'_>, need: &Needed, short: f64, why: &str) -> String {
    format!(
        "{}: {} of {} left unmet: {why} ({})",
        need.nutrient.label(),
        case.show_mass(short, 1),
        case.show_mass(need.wanted, 1),
        need.steps.join("; ")
    )
}

/// A need that the rates of a zone do not reach is told from a tenth of it on (own); less is the rounding of the rates.
const TOLD_FROM: f64 = 0.1;

/// What the rates that go out leave unmet of the needs that the mix was made for, in words for each, and those that are worth a line on the
/// sheet.
pub(in crate::rates) fn left_in_the_end(
    case: ZoneContext<'_>,
    rates: &[PendingRate],
    met: &[Met],
) -> (Vec<String>, Vec<UnmetNeed>) {
    let (mut told, mut unmet) = (Vec::new(), Vec::new());
    for need in needs(case, rates) {
        let Some(met) = met.iter().find(|met| met.nutrient == need.nutrient) else {
            continue;
        };
        let is_changed = (need.brought - met.brought).abs() > TOLD_FROM * need.wanted;
        let is_short = need.left() > NEXT_TO_NOTHING * need.wanted;
        match &met.left_unmet {
            Some(words) if !is_changed => told.push(words.clone()),
            _ if is_changed && is_short => {
                let why = "the budget or the consultant's own rates changed what goes out";
                told.push(words(case, &need, need.left(), why));
            }
            _ => continue,
        }
        if need.left() > TOLD_FROM * need.wanted {
            unmet.push(UnmetNeed {
                nutrient: need.nutrient,
                wanted: MassPerArea::from_stored(need.wanted),
                left: MassPerArea::from_stored(need.left()),
            });
        }
    }
    (told, unmet)
}

/// The ceiling that leaves nothing more of a product in a zone, or less than spreads evenly, after the product's name.
pub(super) fn full_ceiling(
    case: ZoneContext<'_>,
    needs: &[Needed],
    found: &Found<'_>,
    (zone_at, at): (usize, usize),
) -> Option<String> {
    let zone = &found.problem.zones[zone_at];
    let counts = &found.problem.products[at].counts;
    let (rate, least) = (found.rates()[zone_at][at], zone.least[at]);
    let counted = CEILINGS.iter().enumerate();
    for (place, part) in counted.filter(|(place, _)| counts[*place] > 0.0) {
        let room = zone.ceilings[place] - found.counted(zone_at, place);
        let why = || ceiling(case, part, needs).why;
        if room <= HAIR * zone.ceilings[place].max(1.0) {
            return Some(format!("is held by the ceiling of {part}: {}", why()));
        }
        if rate <= 0.0 && room / counts[place] < least * (1.0 - HAIR) {
            let least = case.show(least, found.products[at].metering);
            return Some(format!(
                "is held by the ceiling of {part}: {}, and what is left of it is less than spreads evenly ({least})",
                why()
            ));
        }
    }
    None
}

/// One need of one zone that is not met.
struct Unmet<'a> {
    case: ZoneContext<'a>,
    needs: &'a [Needed],
    given: &'a [PendingRate],
    found: &'a Found<'a>,
    /// Which zone.
    at: usize,
    nutrient: Nutrient,
}

impl Unmet<'_> {
    fn why(&self) -> String {
        let place = self.found.place_of(self.nutrient);
        let brings = |at: &usize| {
            let product = &self.found.problem.products[*at];
            place.is_some_and(|place| product.brings[place] > 0.0)
        };
        let mut suppliers: Vec<usize> = (0..self.found.products.len()).filter(brings).collect();
        // What goes out, and does not reach, first.
        suppliers.sort_by(|a, b| self.rate(*b).total_cmp(&self.rate(*a)));
        let goes_out = suppliers.iter().filter(|at| self.rate(**at) > 0.0).count();
        suppliers.truncate(if goes_out > 0 { goes_out } else { MOST_TOLD });
        if suppliers.is_empty() {
            return "nothing that may be used brings it".to_owned();
        }
        let mut told: Vec<String> = Vec::new();
        for at in suppliers {
            let why = self.why_no_more(at);
            let why = format!("{} {why}", self.found.products[at].label);
            if !told.contains(&why) {
                told.push(why);
            }
        }
        told.join("; ")
    }

    fn zone(&self) -> &MixZone {
        &self.found.problem.zones[self.at]
    }

    fn rate(&self, at: usize) -> f64 {
        self.found.rates()[self.at][at]
    }

    /// Why no more of a product goes out, after its name.
    fn why_no_more(&self, at: usize) -> String {
        let product = self.found.products[at];
        let (rate, most) = (self.rate(at), self.zone().most[at]);
        if most <= 0.0 {
            return format!("does not go out here: {}", self.why_closed(product));
        }
        let held = if rate >= most * (1.0 - HAIR) {
            let why = self.lowest_cap(product);
            Some(format!(
                "is at its most, {}: {why}",
                self.show(product, most)
            ))
        } else {
            self.under_a_ceiling(at).or_else(|| self.out_of_stock(at))
        };
        held.or_else(|| self.too_dear(at))
            .or_else(|| self.idle(at))
            .unwrap_or_else(|| self.pays_less(at))
    }

    fn show(&self, product: &Product, rate: f64) -> String {
        self.case.show(rate, product.metering)
    }

    fn lowest_cap(&self, product: &Product) -> String {
        let caps = caps::caps(self.case, Material::Product(product), self.given);
        caps::lowest(&caps).map_or_else(String::new, |cap| cap.why.clone())
    }

    fn why_closed(&self, product: &Product) -> String {
        let closing = self.case.closed_by(Material::Product(product));
        if let Some(finding) = closing {
            return finding.sentence.clone();
        }
        let mut given = self.given.iter();
        if given.any(|rate| rate.product == product.name.as_str() && rate.amount > 0.0) {
            return "it goes out already for something else".to_owned();
        }
        self.lowest_cap(product)
    }

    /// The ceiling that holds it.
    fn under_a_ceiling(&self, at: usize) -> Option<String> {
        full_ceiling(self.case, self.needs, self.found, (self.at, at))
    }

    /// Where the field has no more of it on hand.
    fn out_of_stock(&self, at: usize) -> Option<String> {
        let stock = self.found.problem.products[at].on_hand?;
        let zones = self.found.problem.zones.iter().zip(self.found.rates());
        let used: f64 = zones.map(|(zone, rates)| zone.hectares * rates[at]).sum();
        let too_little = self.rate(at) <= 0.0
            && (stock - used) / self.zone().hectares.max(f64::MIN_POSITIVE) < self.zone().least[at];
        (used >= stock * (1.0 - HAIR) || too_little)
            .then(|| "is used up, as much as is on hand".to_owned())
    }

    /// What a unit of a product counts for by what is short of each need.
    fn worth(&self, at: usize) -> f64 {
        let brings = &self.found.problem.products[at].brings;
        let zone = self.zone();
        let needs = zone.needs.iter().enumerate();
        needs
            .filter(|(place, need)| **need > self.found.met(self.at, *place) + HAIR)
            .map(|(place, _)| brings[place] * zone.worth[place])
            .sum()
    }

    /// Where a unit of a product costs more than what it brings counts for.
    fn too_dear(&self, at: usize) -> Option<String> {
        let place = self.found.place_of(self.nutrient)?;
        let product = &self.found.problem.products[at];
        if product.price < self.worth(at) {
            return None;
        }
        let part = self.nutrient.label();
        Some(format!(
            "is too dear: {part} from it costs {}, and a need of {part} counts for {} (worth_of_a_need, usual_need_of_{})",
            self.per_mass(product.price / product.brings[place]),
            self.per_mass(self.zone().worth[place]),
            self.nutrient.key()
        ))
    }

    /// Where none of a product goes out although each unit of it pays for itself.
    fn idle(&self, at: usize) -> Option<String> {
        if self.rate(at) > 0.0 {
            return None;
        }
        let zone = self.zone();
        if zone.least[at] > zone.most[at] {
            return Some(format!(
                "may go out up to {}, less than spreads evenly ({})",
                self.show(self.found.products[at], zone.most[at]),
                self.show(self.found.products[at], zone.least[at])
            ));
        }
        let (passes, used) = (self.found.problem.passes, &self.found.best.products);
        (used.len() >= passes && !used.contains(&at)).then(|| {
            format!("would be one more than the {passes} product(s) that are spread in a season")
        })
    }

    fn pays_less(&self, at: usize) -> String {
        let least = self.show(self.found.products[at], self.zone().least[at]);
        let pass = MoneyPerArea::from_dollars_per_hectare(self.found.problem.pass);
        format!(
            "would cost more, with {} for spreading and no less than {least}, than what it would bring counts for",
            pass.show(self.case.field.settings.units, 2)
        )
    }

    /// United States dollars for a kilogram, in words.
    fn per_mass(&self, dollars: f64) -> String {
        match self.case.field.settings.units {
            UnitSystem::UnitedStates => {
                format!("{} USD/lb", fixed(dollars * KILOGRAMS_PER_POUND, 2))
            }
            UnitSystem::Metric => format!("{} USD/kg", fixed(dollars, 2)),
        }
    }
}
