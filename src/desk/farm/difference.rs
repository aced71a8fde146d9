//! What a changed budget changes, in words.

use std::collections::BTreeMap;

/// What is done on each field: its name, the totals of its products in words, and whole dollars.
pub type Deeds = BTreeMap<String, (String, Vec<String>, f64)>;

/// What is otherwise than before: the sum first, then field by field.
pub fn difference(before: &Deeds, after: &Deeds) -> Vec<String> {
    let sum = |deeds: &Deeds| deeds.values().map(|deed| deed.2).sum::<f64>();
    let mut lines: Vec<String> = more(sum(after) - sum(before))
        .map(|more| format!("{more} over all fields"))
        .into_iter()
        .collect();
    for (id, (field, totals, cost)) in after {
        let Some((_, totals_before, cost_before)) = before.get(id) else {
            continue;
        };
        let mut parts: Vec<String> = more(cost - cost_before).into_iter().collect();
        let others: Vec<&str> = totals
            .iter()
            .filter(|total| !totals_before.contains(total))
            .map(String::as_str)
            .collect();
        if !others.is_empty() {
            parts.push(format!("now {}", others.join(", ")));
        } else if totals.is_empty() && !totals_before.is_empty() {
            parts.push("nothing is bought".to_owned());
        }
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
        let deed = |(field, totals, cost): &(&str, &[&str], f64)| {
            let totals = totals.iter().map(|total| (*total).to_owned()).collect();
            ((*field).to_owned(), ((*field).to_owned(), totals, *cost))
        };
        fields.iter().map(deed).collect()
    }

    #[test]
    fn the_sum_comes_first_and_fields_without_a_change_are_not_named() {
        let before = deeds(&[
            ("A", &["lime 9 lb"], 100.0),
            ("B", &[], 0.0),
            ("C", &["x"], 5.0),
        ]);
        let after = deeds(&[
            ("A", &["lime 4 lb"], 40.0),
            ("B", &[], 0.0),
            ("C", &[], 0.0),
        ]);
        assert_eq!(
            difference(&before, &after),
            [
                "65 USD less over all fields",
                "A: 60 USD less; now lime 4 lb",
                "C: 5 USD less; nothing is bought"
            ]
        );
        assert!(difference(&before, &before).is_empty());
    }
}
