//! `RowTally` that are not used, or only in part.

use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::context::Context;
use crate::intake::table::tally::{Problems, RowTally};

/// `RowTally` that are not used, or only in part.
#[derive(Default)]
pub(in crate::intake) struct OddRows {
    pub without_place: RowTally,
    pub without_fix: RowTally,
    pub notes: RowTally,
    /// With fewer cells than the header.
    pub short: RowTally,
    pub too_wide: Problems,
    /// Coordinates in degrees, minutes and seconds.
    pub is_degrees_text: RowTally,
    /// Not in UTF-8.
    pub latin: RowTally,
}

impl OddRows {
    /// Adds those of later rows.
    pub(in crate::intake) fn join(&mut self, later: Self) {
        self.without_place.join(&later.without_place);
        self.without_fix.join(&later.without_fix);
        self.notes.join(&later.notes);
        self.short.join(&later.short);
        self.too_wide.join(later.too_wide);
        self.is_degrees_text.join(&later.is_degrees_text);
        self.latin.join(&later.latin);
    }

    fn of_few_cells(&self, place: &Place) -> Option<Remark> {
        let what = format!(
            "{} with fewer cells than there are columns: those at the end count as blank",
            self.short.show()
        );
        (self.short.count() > 0).then(|| {
            Remark::warning("rows-of-few-cells", what).at(place.clone()).help(
                "where a cell is missing in the middle of a row, all to the right of it have slipped into the wrong column",
            )
        })
    }

    /// Says which they are.
    pub(in crate::intake) fn remark(&self, context: &mut Context<'_>) {
        let odd = self;
        let place = context.place();
        if odd.without_place.count() > 0 {
            let what = format!("{} without coordinates: not used", odd.without_place.show());
            context.remarks.push(
                Remark::warning("rows-without-place", what)
                    .at(place.clone())
                    .help("fill in the coordinates or delete the rows"),
            );
        }
        if odd.without_fix.count() > 0 {
            let what = format!(
                "{} at coordinates 0, 0, where a receiver had no fix: not used",
                odd.without_fix.show()
            );
            context.remarks.push(
                Remark::warning("rows-without-fix", what)
                    .at(place.clone())
                    .help("fill in the coordinates or delete the rows"),
            );
        }
        if odd.notes.count() > 0 {
            let what = format!(
                "{} with one or two cells only, taken as notes: not used",
                odd.notes.show()
            );
            context
                .remarks
                .push(Remark::info("rows-of-notes", what).at(place.clone()));
        }
        context.remarks.extend(self.of_few_cells(&place));
        if self.is_degrees_text.count() > 0 {
            let what = format!(
                "{} with degrees, minutes and seconds or a letter of the compass: turned into degrees",
                self.is_degrees_text.show()
            );
            context
                .remarks
                .push(Remark::info("degrees-minutes-seconds", what).at(place.clone()));
        }
        if self.latin.count() > 0 {
            context.remarks.push(
                Remark::info(
                    "read-as-windows-1252",
                    format!("{} not in UTF-8: read as Windows-1252", self.latin.show()),
                )
                .at(place),
            );
        }
    }
}
