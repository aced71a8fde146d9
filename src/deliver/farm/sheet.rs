//! The farm's sheet in facts: what page and text say alike.

use super::bill::{Bill, usd};
use super::bill_files::shown;
use super::facts::SheetFacts;
use super::input::{FarmField, FarmInput};
use super::orders::FarmOrders;
use crate::deliver::columns::printed_total;
use crate::deliver::mix::sheet_lines::cost;
use crate::deliver::numbers::{grouped, with_commas};
use crate::deliver::review::WorthLine;
use crate::units::{Area, UnitSystem};

/// Most remarks that stand on the sheet.
const MOST_REMARKS: usize = 3;
/// Most fields whose first sheets follow.
pub(super) const MOST_SHEETS: usize = 200;
/// Most fields without a result that are told with their reason on the sheet; the names of the others follow.
pub(super) const MOST_PROBLEMS: usize = 12;
/// Most others that are named.
const MOST_MORE: usize = 60;

/// What stands on the farm's sheet.
#[derive(Debug, Clone)]
pub(super) struct FarmSheet {
    /// Crop and season, fields, area.
    pub about: Vec<String>,
    /// For whom, by whom, when.
    pub people: Vec<String>,
    pub orders: FarmOrders,
    /// One line per field.
    pub lines: Vec<FieldLine>,
    /// The area of all fields, as printed, and the unit.
    pub total_area: (String, &'static str),
    /// What all fields cost, whole United States dollars.
    pub total_cost: String,
    /// What to buy, one line each.
    pub buy: Vec<String>,
    /// What it costs, one line each.
    pub money: Vec<String>,
    /// Fields without a result: name, and the first reason.
    pub problems: Vec<(String, String)>,
    /// At most three lines that change a decision.
    pub before_you_drive: Vec<String>,
    /// How many more remarks stand on the fields' sheets.
    pub more_remarks: usize,
    /// How many packages the card's files are in.
    pub cards: usize,
}

/// A field on the farm's sheet.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FieldLine {
    pub id: String,
    pub field: String,
    pub crop: String,
    pub area: String,
    /// Positions of its orders, by falling area; that nothing needs to be done comes last.
    pub orders: Vec<usize>,
    /// What is done first on the most of it.
    pub first: String,
    /// What is tested first.
    pub test: Option<String>,
    /// Products and work, whole United States dollars.
    pub cost: String,
    /// What varying is worth.
    pub worth: String,
}

impl FarmSheet {
    pub(super) fn new(input: &FarmInput<'_>, bill: &Bill, cards: usize) -> Self {
        let orders = FarmOrders::new(input);
        let lines = input.fields.iter().zip(&bill.fields);
        let area: f64 = input
            .fields
            .iter()
            .map(|field| field.area(input.units))
            .sum();
        let (before, more_remarks) = before_you_drive(input, bill);
        let money = [Some(bill.money_line()), bill.packs_line()];
        Self {
            about: about(input),
            people: people(input),
            lines: lines
                .map(|(field, money)| line(input.units, field, *money, &orders))
                .collect(),
            orders,
            total_area: (grouped(area, 0), Area::unit_in(input.units)),
            total_cost: usd(bill.products() + bill.work()),
            buy: buy(input, bill),
            money: money
                .into_iter()
                .flatten()
                .chain(bill.shared_lines())
                .collect(),
            problems: problems(input),
            before_you_drive: before,
            more_remarks,
            cards,
        }
    }

    /// The fields without a result that are not told with their reason.
    pub(super) fn more_problems(&self) -> Option<String> {
        let more = self.problems.get(MOST_PROBLEMS..)?;
        let named = more.iter().take(MOST_MORE).map(|(id, _)| id.as_str());
        let named = named.collect::<Vec<_>>().join(", ");
        let rest = more.len().saturating_sub(MOST_MORE);
        match (more.len(), rest) {
            (0, _) => None,
            (count, 0) => Some(format!("{count} more, see problems.csv: {named}")),
            (count, _) => Some(format!(
                "{count} more, see problems.csv: {named} and {} more",
                grouped(rest as f64, 0)
            )),
        }
    }

    /// What is said of the card.
    pub(super) fn card_line(&self) -> String {
        match self.cards {
            0 => "No product goes anywhere: there is no task for the machine.".to_owned(),
            1 => "One card holds all fields: controller/taskdata.zip.".to_owned(),
            count => format!(
                "The tasks are more than one card should hold: load controller/taskdata-1.zip to taskdata-{count}.zip one after the other."
            ),
        }
    }
}

fn about(input: &FarmInput<'_>) -> Vec<String> {
    let mut crops: Vec<String> = Vec::new();
    for field in &input.fields {
        let crop = format!("{} {}", field.crop, field.season);
        if !crops.contains(&crop) {
            crops.push(crop);
        }
    }
    let area: f64 = input
        .fields
        .iter()
        .map(|field| field.area(input.units))
        .sum();
    let crops = match crops.len() {
        0..=3 => crops.join(", "),
        count => format!("{count} crops"),
    };
    let fields = match input.fields.len() {
        1 => "1 field".to_owned(),
        count => format!("{} fields", grouped(count as f64, 0)),
    };
    let area = format!("{} {}", grouped(area, 0), Area::unit_in(input.units));
    [crops, fields, area]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect()
}

/// The fields without a result, each once.
fn problems(input: &FarmInput<'_>) -> Vec<(String, String)> {
    let mut all: Vec<(String, String, usize)> = Vec::new();
    for problem in &input.problems {
        match all.iter_mut().find(|(id, ..)| *id == problem.id) {
            Some((_, _, more)) => *more += 1,
            None => all.push((problem.id.clone(), problem.what.clone(), 0)),
        }
    }
    let told = all.into_iter().map(|(id, what, more)| match more {
        0 => (id, what),
        more => (id, format!("{what} (and {more} more in problems.csv)")),
    });
    told.collect()
}

fn people(input: &FarmInput<'_>) -> Vec<String> {
    let grower = input.grower.map(|name| format!("for {name}"));
    let author = input.prepared_by.map(|name| format!("by {name}"));
    let day = input.date.map(crate::plan::Day::show);
    [grower, author, day].into_iter().flatten().collect()
}

fn line(
    units: UnitSystem,
    field: &FarmField<'_>,
    money: (i64, i64),
    orders: &FarmOrders,
) -> FieldLine {
    let sheet = &field.facts.sheet;
    // What asks for something comes first, paid for or not, by falling area.
    let mut by_area: Vec<(usize, bool, f64)> = Vec::new();
    for (at, order) in sheet.orders.iter().enumerate() {
        by_area.push((at, order.is_nothing, order.area_m2));
    }
    by_area.sort_by(|a, b| a.1.cmp(&b.1).then(b.2.total_cmp(&a.2)).then(a.0.cmp(&b.0)));
    let mut places: Vec<usize> = Vec::new();
    for (at, ..) in &by_area {
        let row = sheet.rows.iter().find(|row| row.order_at == *at);
        let place = row.map_or(0, |row| orders.at(&row.order));
        if !places.contains(&place) {
            places.push(place);
        }
    }
    let first = by_area.first().and_then(|(at, ..)| sheet.orders.get(*at));
    FieldLine {
        id: field.id.to_owned(),
        field: field.field.to_owned(),
        crop: field.crop.to_owned(),
        area: grouped(field.area(units), 0),
        orders: places,
        first: first.map_or_else(String::new, |first| match sheet.orders.len() {
            1 => first.order.clone(),
            _ => format!("{} ({})", first.order, first.place),
        }),
        test: sheet.tests.first().map(|line| line.test.clone()),
        cost: usd(money.0 + money.1),
        worth: worth(sheet),
    }
}

/// What varying is worth, without the words that head every such line.
fn worth(sheet: &SheetFacts) -> String {
    let lines = sheet.worth.iter().filter_map(WorthLine::in_column);
    lines.collect::<Vec<_>>().join("; ")
}

fn buy(input: &FarmInput<'_>, bill: &Bill) -> Vec<String> {
    let number = |amount: f64, is_liquid: bool| {
        let (amount, unit) = shown(amount, is_liquid, input.units);
        let amount = printed_total(amount);
        format!("{} {unit}", with_commas(&amount))
    };
    let lines = bill.purchases.iter();
    lines
        .map(|line| {
            let packs = line.packs().zip(line.pack.as_ref());
            let packs = packs.map_or_else(String::new, |(count, (name, _))| {
                format!(" ({count} x {name})")
            });
            let shed = match line.on_hand > 0.0 {
                true => format!(
                    ", {} more from the shed",
                    number(line.on_hand, line.is_liquid)
                ),
                false => String::new(),
            };
            let paid = line.paid().map(|cents| format!("{} USD", usd(cents)));
            let paid = cost(paid, line.price_source);
            let amount = number(line.bought(), line.is_liquid);
            format!("{amount} {}{packs}: {paid}{shed}", line.label)
        })
        .collect()
}

/// Fields that lack, money that is passed, then the fields' own remarks, one a field in their order; and how many more there are.
fn before_you_drive(input: &FarmInput<'_>, bill: &Bill) -> (Vec<String>, usize) {
    let mut lines: Vec<String> = Vec::new();
    let missing: std::collections::BTreeSet<&str> = input
        .problems
        .iter()
        .map(|problem| problem.id.as_str())
        .collect();
    let missing = missing.len();
    if missing > 0 {
        let fields = if missing == 1 {
            "field has"
        } else {
            "fields have"
        };
        lines.push(format!(
            "{missing} {fields} no rates: nothing of them is on the card or in the bill. problems.csv says why"
        ));
    }
    lines.extend(bill.over_line());
    let remarks = input.fields.iter().flat_map(|field| {
        let remarks = &field.facts.sheet.before_you_drive;
        remarks
            .iter()
            .enumerate()
            .map(move |(at, remark)| (at, field, remark))
    });
    let mut remarks: Vec<_> = remarks.collect();
    remarks.sort_by_key(|(at, _, _)| *at);
    let hidden: usize = input
        .fields
        .iter()
        .map(|field| field.facts.sheet.more_remarks)
        .sum();
    let room = MOST_REMARKS.saturating_sub(lines.len());
    let more = remarks.len().saturating_sub(room) + hidden;
    for (_, field, (what, help)) in remarks.into_iter().take(room) {
        let help = help.as_ref().map(|help| format!(" \u{2192} {help}"));
        lines.push(format!(
            "{}: {what}{}",
            field.field,
            help.unwrap_or_default()
        ));
    }
    (lines, more)
}
