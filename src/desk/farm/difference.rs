//! What a changed budget changes, in words.

use std::collections::BTreeMap;

/// What is done on each field: its name, its orders and whole dollars.
pub type Deeds = BTreeMap<String, (String, Vec<String>, f64)>;

/// What is otherwise than before: the sum first, then field by field.
pub fn difference(before: &Deeds, after: &Deeds) -> Vec<String> {
    let sum = |deeds: &Deeds| deeds.values().map(|deed| deed.2).sum::<f64>();
    let mut lines: Vec<String> = more(sum(after) - sum(before))
        .map(|more| format!("{more} over all fields"))
        .into_iter()
        .collect();
    for (id, (field, orders, cost)) in after {
        let Some((_, orders_before, cost_before)) = before.get(id) else {
            continue;
        };
        let added: Vec<&String> = orders
            .iter()
            .filter(|o| !orders_before.contains(o))
            .collect();
        let gone: Vec<&String> = orders_before
            .iter()
            .filter(|o| !orders.contains(o))
            .collect();
        let mut parts: Vec<String> = more(cost - cost_before).into_iter().collect();
        parts.extend(added.iter().map(|order| format!("first now: {order}")));
        parts.extend(gone.iter().map(|order| format!("no longer first: {order}")));
        if !parts.is_empty() {
            lines.push(format!("{field}: {}", parts.join("; ")));
        }
    }
    lines
}

fn more(dollars: f64) -> Option<String> {
    if dollars >= 1.0 {
        Some(format!("{dollars:.0} USD more"))
    } else if dollars <= -1.0 {
        Some(format!("{:.0} USD less", -dollars))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::{Deeds, difference};

    fn deeds(fields: &[(&str, &[&str], f64)]) -> Deeds {
        let deed = |(field, orders, cost): &(&str, &[&str], f64)| {
            let orders = orders.iter().map(|order| (*order).to_owned()).collect();
            ((*field).to_owned(), ((*field).to_owned(), orders, *cost))
        };
        fields.iter().map(deed).collect()
    }

    #[test]
    fn the_sum_comes_first_and_fields_without_a_change_are_not_named() {
        let before = deeds(&[("A", &["Lime"], 100.0), ("B", &["Test"], 0.0)]);
        let after = deeds(&[("A", &["Gypsum"], 40.0), ("B", &["Test"], 0.0)]);
        assert_eq!(
            difference(&before, &after),
            [
                "60 USD less over all fields",
                "A: 60 USD less; first now: Gypsum; no longer first: Lime"
            ]
        );
        assert!(difference(&before, &before).is_empty());
    }
}
