//! What is done first over the whole farm: the orders that the fields share, by the ground they hold.

use std::collections::BTreeMap;

use super::input::FarmInput;

/// Orders that have a colour of their own; the rest share one.
const MOST_ORDERS: usize = 7;
/// What the rest is called.
const OTHER: &str = "Something else: see the field";

/// One order and where it holds.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FarmOrder {
    /// `A` and so on.
    pub letter: String,
    /// What is done.
    pub order: String,
    /// Square metres.
    pub area_m2: f64,
    /// How many fields.
    pub fields: usize,
}

/// The farm's orders, and which of them each zone of each field has.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FarmOrders {
    pub orders: Vec<FarmOrder>,
    /// By order as it is worded.
    places: BTreeMap<String, usize>,
}

impl FarmOrders {
    pub(super) fn new(input: &FarmInput<'_>) -> Self {
        let mut found: BTreeMap<(bool, &str), (f64, usize)> = BTreeMap::new();
        for field in &input.fields {
            let sheet = &field.facts.sheet;
            let mut of_field: BTreeMap<(bool, &str), f64> = BTreeMap::new();
            for (at, own) in sheet.orders.iter().enumerate() {
                let row = sheet.rows.iter().find(|row| row.order_at == at);
                let order = row.map_or("", |row| short(&row.order));
                *of_field.entry((own.is_nothing, order)).or_default() += own.area_m2;
            }
            for (order, area) in of_field {
                let known = found.entry(order).or_default();
                known.0 += area;
                known.1 += 1;
            }
        }
        let mut sorted: Vec<_> = found.into_iter().collect();
        // What asks for something comes first, by falling area.
        sorted.sort_by(|((is_nothing, order), a), ((is_other_nothing, other), b)| {
            is_nothing
                .cmp(is_other_nothing)
                .then(b.0.total_cmp(&a.0))
                .then_with(|| order.cmp(other))
        });
        let mut orders: Vec<FarmOrder> = Vec::new();
        let mut places = BTreeMap::new();
        let is_whole = sorted.len() <= MOST_ORDERS + 1;
        for ((_, order), (area_m2, fields)) in sorted {
            if orders.len() < MOST_ORDERS || is_whole {
                places.insert(order.to_owned(), orders.len());
                orders.push(FarmOrder {
                    letter: letter(orders.len()),
                    order: order.to_owned(),
                    area_m2,
                    fields,
                });
            } else {
                rest(&mut orders, area_m2, fields);
                places.insert(order.to_owned(), MOST_ORDERS);
            }
        }
        Self { orders, places }
    }

    /// The position of an order.
    pub(super) fn at(&self, order: &str) -> usize {
        self.places.get(short(order)).copied().unwrap_or_default()
    }

    /// The letter of an order.
    pub(super) fn letter(&self, at: usize) -> &str {
        self.orders.get(at).map_or("", |order| &order.letter)
    }
}

/// An order without what is said of it in brackets, so that fields share it.
fn short(order: &str) -> &str {
    order.split(" (").next().unwrap_or(order)
}

fn rest(orders: &mut Vec<FarmOrder>, area_m2: f64, fields: usize) {
    match orders.get_mut(MOST_ORDERS) {
        Some(other) => {
            other.area_m2 += area_m2;
            other.fields = other.fields.max(fields);
        }
        None => orders.push(FarmOrder {
            letter: letter(MOST_ORDERS),
            order: OTHER.to_owned(),
            area_m2,
            fields,
        }),
    }
}

fn letter(at: usize) -> String {
    char::from(b'A' + (at % 26) as u8).to_string()
}
