//! The first sheet: what to do where, what to test, what to buy and pay. Paper, phone, page and terminal say the same from it.

use super::money::{Money, work_words, zone_cost};
use super::treatment::{Treatment, do_first, first_order, treatments};
use super::whole_need::{in_zones, needs_not_met, parts_of_the_need};
use super::{BuyLine, RemarkFacts, TestLine, WorthLine, buy, check_strips, tests_first, worth};
use crate::deliver::columns::RateColumn;
use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::deliver::zone_view::ZoneView;
use crate::text::capital;
use crate::units::{Area, MoneyPerArea};

/// Most remarks that stand on the first sheet; all stand in the details.
const MOST_REMARKS: usize = 3;

/// The facts of the first sheet, in the order in which they are printed.
#[derive(Debug, Clone)]
pub struct FirstSheet {
    /// Name of the field.
    pub field: String,
    /// Crop, season and workable area: "corn 2027", "146 ac".
    pub about: Vec<String>,
    /// For whom, by whom, when; what the plan does not say is left out.
    pub people: Vec<String>,
    /// What is done first, and where.
    pub treatments: Vec<Treatment>,
    /// The passes of the season, one line each; none in a plan.
    pub passes: Vec<String>,
    /// What to test first, one line each.
    pub tests: Vec<TestLine>,
    /// What each zone gets.
    pub table: ZoneTable,
    /// What varying the rates is worth; empty where nothing is known of it.
    pub worth: Vec<WorthLine>,
    /// What was read in season, one line each; none in a plan.
    pub readings: Vec<String>,
    /// The check strips and what they can show, or could.
    pub checks: Vec<String>,
    /// What to buy, one line each.
    pub buy: Vec<BuyLine>,
    /// What it costs.
    pub money: Money,
    /// The other work in it, by name and zones; empty where there is none.
    pub work: String,
    /// At most three remarks that change a decision.
    pub before_you_drive: Vec<RemarkFacts>,
    /// How many more remarks of that level stand in the details.
    pub more_remarks: usize,
}

/// One row per zone, then the totals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZoneTable {
    /// Unit of the area column.
    pub area_unit: &'static str,
    /// Label, short word and unit of each product that goes somewhere.
    pub products: Vec<ProductHead>,
    /// Labels of the products that go nowhere.
    pub unused: Vec<String>,
    /// Labels of the products that go nowhere before a test tells how much.
    pub waiting: Vec<String>,
    /// The products that are needed and that the budget does not pay for, with their zones where it pays for them in others.
    pub unpaid: Vec<String>,
    /// Labels of the products that are needed and that the shed does not hold.
    pub not_in_shed: Vec<String>,
    /// Unit of the cost column.
    pub cost_unit: &'static str,
    /// One row per zone.
    pub rows: Vec<ZoneRow>,
    /// Total of each product over the field, with its unit.
    pub totals: Vec<String>,
    /// Total area.
    pub total_area: String,
    /// Whether check strips with other rates lie in the zones.
    pub has_strips: bool,
    /// Which of the rates rest on rules that research disputes: "gypsum in zones 5, 7; starter"; empty where none does.
    pub disputed: String,
    /// Which of the rates are a part of what is needed: "gypsum 4,000 of 10,250 lb/ac (zone 1), rest over 2 more seasons"; empty where none is.
    pub parts: String,
    /// What the rates leave of the needs of nutrients: "phosphate (P2O5) 84 of 96 lb/ac (zone 1)"; empty where they reach all.
    pub unmet: String,
}

/// A product as a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProductHead {
    /// What people call it.
    pub label: String,
    /// One or two words for a narrow place: "phosphate rock".
    pub word: String,
    /// Unit of its rates.
    pub unit: &'static str,
}

/// One zone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZoneRow {
    /// Its number.
    pub zone: u32,
    /// Position of its treatment.
    pub treatment: usize,
    /// Area in the table's unit.
    pub area: String,
    /// What to do first, with its rate.
    pub do_first: String,
    /// The same without the rate, which stands in its column.
    pub order: String,
    /// One rate per product.
    pub rates: Vec<String>,
    /// Whether each rate is more than nothing.
    pub is_applied: Vec<bool>,
    /// Cost of products and work per area.
    pub cost: String,
    /// Why, in one sentence.
    pub reason: String,
}

impl FirstSheet {
    /// Gathers the facts; `looks` are the remarks that somebody should look at, `sheet` is what has to be bought.
    #[must_use]
    pub fn new(overview: &Overview<'_>, looks: &[RemarkFacts]) -> Self {
        let settings = &overview.stages.settings;
        let workable = Area::from_square_metres(overview.stages.field.workable_m2);
        let area = format!(
            "{} {}",
            grouped(workable.number_in(overview.units), 0),
            Area::unit_in(overview.units)
        );
        let treatments = treatments(overview);
        let mut before: Vec<RemarkFacts> = looks
            .iter()
            .filter(|remark| remark.changes_a_decision())
            .cloned()
            .collect();
        before.sort_by_key(RemarkFacts::rank);
        before.truncate(MOST_REMARKS);
        Self {
            field: settings.field.clone(),
            about: vec![format!("{} {}", settings.crop, settings.season), area],
            people: people(overview),
            table: ZoneTable::new(overview, &treatments),
            treatments,
            passes: Vec::new(),
            tests: tests_first::lines(overview),
            worth: worth::products(overview),
            readings: Vec::new(),
            checks: check_strips::lines(overview),
            buy: buy::lines(overview),
            money: Money::new(overview),
            work: work_words(overview),
            more_remarks: looks.len() - before.len(),
            before_you_drive: before,
        }
    }

    /// What to test first, as whole lines.
    #[must_use]
    pub fn test_lines(&self) -> Vec<String> {
        self.tests.iter().map(TestLine::text).collect()
    }

    /// What varying the rates is worth, as whole lines.
    #[must_use]
    pub fn worth_lines(&self) -> Vec<String> {
        self.worth.iter().map(WorthLine::text).collect()
    }

    /// What to buy, as whole lines.
    #[must_use]
    pub fn buy_lines(&self) -> Vec<String> {
        self.buy.iter().map(BuyLine::text).collect()
    }
}

fn people(overview: &Overview<'_>) -> Vec<String> {
    let people = &overview.stages.settings.people;
    let owners: Vec<&str> = [&people.grower, &people.farm]
        .into_iter()
        .flatten()
        .map(String::as_str)
        .collect();
    let owner = (!owners.is_empty()).then(|| format!("for {}", owners.join(", ")));
    let author = people.prepared_by.as_ref().map(|name| format!("by {name}"));
    let day = people.date.map(crate::plan::Day::show);
    [owner, author, day].into_iter().flatten().collect()
}

impl ZoneTable {
    fn new(overview: &Overview<'_>, treatments: &[Treatment]) -> Self {
        let system = overview.units;
        let area: Area = overview.zones.iter().map(ZoneView::area).sum();
        let label = |c: &RateColumn<'_>| c.product.label.clone();
        let waits = |c: &&RateColumn<'_>| {
            let mut tests = overview.stages.prescription.test_first.iter();
            tests.any(|test| test.product.as_ref() == Some(&c.product.name))
        };
        let is_unpaid = |c: &&RateColumn<'_>| !unpaid_zones(overview, c).is_empty();
        let unpaid = overview
            .columns
            .iter()
            .filter_map(|c| unpaid_words(overview, c));
        let unpaid: Vec<String> = unpaid.collect();
        let unused = overview.columns.iter().filter(|c| !c.is_used);
        let (waiting, unused): (Vec<_>, Vec<_>) = unused.partition(waits);
        let unused = unused.into_iter().filter(|c| !is_unpaid(c));
        let is_missing = |c: &&RateColumn<'_>| is_not_in_shed(overview, c);
        let (not_in_shed, unused): (Vec<_>, Vec<_>) = unused.partition(is_missing);
        let unused = unused.into_iter().filter(|c| !is_held_back(overview, c));
        let head = |c: &RateColumn<'_>| ProductHead {
            label: c.product.label.clone(),
            word: c.product.name.words(),
            unit: c.unit,
        };
        let total = |column: &RateColumn<'_>| {
            let (number, unit) = column.printed_total(system);
            format!("{} {unit}", crate::deliver::numbers::with_commas(&number))
        };
        Self {
            area_unit: Area::unit_in(system),
            products: overview.used_columns().map(head).collect(),
            unused: unused.map(label).collect(),
            waiting: waiting.into_iter().map(label).collect(),
            unpaid,
            not_in_shed: not_in_shed.into_iter().map(label).collect(),
            cost_unit: MoneyPerArea::unit_in(system),
            rows: (0..overview.zones.len())
                .map(|place| zone_row(overview, treatments, place))
                .collect(),
            totals: overview.used_columns().map(total).collect(),
            has_strips: overview.stages.strips.strips().next().is_some(),
            disputed: disputed_rates(overview),
            parts: parts_of_the_need(overview),
            unmet: needs_not_met(overview),
            total_area: grouped(area.number_in(system), 1),
        }
    }
}

/// Numbers of the zones that need a product and get none, because the budget does not pay for it there.
fn unpaid_zones(overview: &Overview<'_>, column: &RateColumn<'_>) -> Vec<u32> {
    let is_unpaid = |(place, view): (usize, &ZoneView<'_>)| {
        let mut fixes = view.rates.fixes.iter();
        let is_left_out =
            fixes.any(|fix| fix.left_out && fix.product.as_ref() == Some(&column.product.name));
        (is_left_out && column.rates[place] <= 0.0).then_some(view.number)
    };
    let zones = overview.zones.iter().enumerate();
    zones.filter_map(is_unpaid).collect()
}

fn unpaid_words(overview: &Overview<'_>, column: &RateColumn<'_>) -> Option<String> {
    let zones = unpaid_zones(overview, column);
    let label = &column.product.label;
    match (zones.is_empty(), column.is_used) {
        (true, _) => None,
        (false, false) => Some(label.clone()),
        (false, true) => Some(format!("{label} ({})", in_zones(zones.into_iter()))),
    }
}

/// Whether a zone needs a product that the plan's list of what may be used leaves out.
fn is_not_in_shed(overview: &Overview<'_>, column: &RateColumn<'_>) -> bool {
    let shed = overview.stages.settings.supply.shed.as_ref();
    let is_listed = |name: &String| name == column.product.name.as_str();
    let is_left_out =
        shed.is_some_and(|shed| !shed.products.is_empty() && !shed.products.iter().any(is_listed));
    let mut rates = overview.zones.iter().flat_map(|view| &view.rates.rates);
    is_left_out && rates.any(|rate| rate.product == column.product.name && !rate.needed.is_zero())
}

/// Whether a product that goes nowhere is needed in a zone where nothing is ordered: the zone's line names it with its reason.
fn is_held_back(overview: &Overview<'_>, column: &RateColumn<'_>) -> bool {
    let zones = overview.zones.iter();
    zones
        .filter(|view| view.rates.fixes.is_empty())
        .flat_map(|view| &view.rates.rates)
        .any(|rate| {
            rate.product == column.product.name && rate.amount.is_zero() && !rate.needed.is_zero()
        })
}

/// The products whose rates rest on disputed rules, with their zones where it is not so in all that get them.
fn disputed_rates(overview: &Overview<'_>) -> String {
    let mut said = Vec::new();
    for column in overview.used_columns() {
        let name = &column.product.name;
        let given = |view: &&ZoneView<'_>| {
            let mut rates = view.rates.rates.iter();
            rates
                .find(|rate| rate.product == *name && !rate.amount.is_zero())
                .map(|rate| rate.disputed.is_some())
        };
        let all = overview
            .zones
            .iter()
            .filter_map(|view| Some((view.number, given(&view)?)));
        let (disputed, undisputed): (Vec<_>, Vec<_>) =
            all.partition(|(_, is_disputed)| *is_disputed);
        let zones: Vec<String> = disputed.iter().map(|(zone, _)| zone.to_string()).collect();
        let word = name.words();
        match (zones.len(), undisputed.is_empty()) {
            (0, _) => {}
            (_, true) => said.push(word),
            (1, false) => said.push(format!("{word} in zone {}", zones[0])),
            (_, false) => said.push(format!("{word} in zones {}", zones.join(", "))),
        }
    }
    said.join("; ")
}

fn zone_row(overview: &Overview<'_>, treatments: &[Treatment], place: usize) -> ZoneRow {
    let view = &overview.zones[place];
    let of_zone = |treatment: &Treatment| treatment.zones.contains(&place);
    ZoneRow {
        zone: view.number,
        treatment: treatments.iter().position(of_zone).unwrap_or(0),
        area: grouped(view.area().number_in(overview.units), 1),
        do_first: capital(&do_first(overview, place)),
        order: first_order(view),
        rates: overview
            .used_columns()
            .map(|column| grouped(column.rates[place], column.decimals))
            .collect(),
        is_applied: overview
            .used_columns()
            .map(|column| column.rates[place] > 0.0)
            .collect(),
        cost: grouped(zone_cost(view).number_in(overview.units), 2),
        reason: view.rates.reason.clone(),
    }
}
