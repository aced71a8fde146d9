//! How the numbers of each column of a table are written.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::intake::columns::Header;
use crate::intake::table::number_style::NumberStyle;
use crate::intake::table::result_column::NumberColumn;
use crate::plan::{NumberForm, PointsSettings};

/// How the numbers of each column are written, where it is not the usual way.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::intake) struct Styles {
    pub by_column: BTreeMap<usize, NumberStyle>,
    pub has_decimal_comma: bool,
    /// What the plan says, for all columns and for some.
    said: Arc<(NumberForm, BTreeMap<usize, NumberForm>)>,
}

impl Styles {
    /// What the plan says of a file's numbers.
    pub(in crate::intake) fn of_plan(settings: &PointsSettings, header: &Header) -> Self {
        let columns = settings.columns.iter();
        let said = columns.filter(|(_, column)| column.numbers != NumberForm::default());
        let by_column = said
            .filter_map(|(name, column)| Some((header.find(name)?, column.numbers.clone())))
            .collect();
        Self {
            said: Arc::new((settings.reading.numbers.clone(), by_column)),
            ..Self::default()
        }
    }

    /// The same plan with nothing found in the cells yet.
    pub(in crate::intake) fn without_findings(&self) -> Self {
        Self {
            said: Arc::clone(&self.said),
            ..Self::default()
        }
    }

    /// A column to read numbers from.
    pub(in crate::intake) fn column(&self, header: &Header, index: usize) -> NumberColumn {
        let (file, columns) = &*self.said;
        let own = columns.get(&index);
        let said = own.and_then(style_of).or_else(|| style_of(file));
        let found = self.by_column.get(&index).copied();
        let mut column = NumberColumn::new(
            index,
            header.name(index).into(),
            said.or(found).unwrap_or_default(),
            self.has_decimal_comma && said.is_none(),
        );
        column.signs.is_said = said.is_some();
        column.na = file
            .na
            .iter()
            .chain(own.iter().flat_map(|own| &own.na))
            .cloned()
            .collect();
        column
    }

    /// A column of coordinates. Its own cells tell how they are written, for places come from another instrument than results; what the
    /// plan says of the file holds where they do not tell.
    pub(in crate::intake) fn coordinate(&self, header: &Header, index: usize) -> NumberColumn {
        let mut column = self.column(header, index);
        let of_file = style_of(&self.said.0);
        if !self.said.1.contains_key(&index) && of_file.is_some() {
            let found = self.by_column.get(&index).copied();
            let na = column.na;
            column = NumberColumn::new(
                index,
                header.name(index).into(),
                found.unwrap_or_default(),
                false,
            );
            column.signs.fallback = of_file;
            column.na = na;
        }
        column
    }
}

/// The way of writing that a plan's signs mean. Blanks and apostrophes between thousands are read in every way.
fn style_of(form: &NumberForm) -> Option<NumberStyle> {
    match (form.decimal, form.thousands) {
        (Some(','), _) | (None, Some('.')) => Some(NumberStyle::Comma),
        (_, Some(',')) => Some(NumberStyle::PointWithCommaGroups),
        (Some(_), _) => Some(NumberStyle::Point),
        (None, _) => None,
    }
}
