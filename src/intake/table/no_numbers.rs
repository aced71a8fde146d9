//! Counts of the words that programs write where they have no number.

use std::collections::BTreeMap;

use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::table::cell::NoNumber;
use crate::intake::table::tally::RowTally;

/// What was counted in one column.
#[derive(Debug, Default, Clone)]
pub(in crate::intake) struct NoNumbers {
    by_word: BTreeMap<NoNumber, usize>,
    rows: RowTally,
}

impl NoNumbers {
    pub(in crate::intake) fn add(&mut self, word: NoNumber, row: u32) {
        *self.by_word.entry(word).or_insert(0) += 1;
        self.rows.add(row);
    }

    /// Adds those of later rows.
    pub(in crate::intake) fn join(&mut self, later: &Self) {
        for (word, count) in &later.by_word {
            *self.by_word.entry(*word).or_insert(0) += count;
        }
        self.rows.join(&later.rows);
    }

    /// What is to be said of them.
    pub(in crate::intake) fn remark(&self, place: &Place) -> Option<Remark> {
        self.rows.first()?;
        let place = place.clone();
        let list: Vec<String> = self
            .by_word
            .iter()
            .map(|(word, count)| format!("{count} {}", words(*word)))
            .collect();
        let what = format!(
            "{} no number but a program's word for none ({}): taken as missing",
            self.rows.do_it("holds", "hold"),
            list.join(", ")
        );
        Some(if self.by_word.contains_key(&NoNumber::FailedFormula) {
            Remark::warning("cells-without-number", what)
                .at(place)
                .help("correct the formulas and export again, or leave the cells empty")
        } else {
            Remark::info("cells-without-number", what).at(place)
        })
    }
}

fn words(word: NoNumber) -> &'static str {
    match word {
        NoNumber::FailedFormula => "of a formula that failed, such as #DIV/0!",
        NoNumber::NotFound => "#N/A",
        NoNumber::NotANumber => "NaN",
        NoNumber::Null => "null",
    }
}
