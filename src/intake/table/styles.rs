//! How the numbers of each column of a table are written.

use std::collections::BTreeMap;

use crate::intake::columns::Header;
use crate::intake::table::number_style::NumberStyle;
use crate::intake::table::result_column::NumberColumn;

/// How the numbers of each column are written, where it is not the usual way.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::intake) struct Styles {
    pub by_column: BTreeMap<usize, NumberStyle>,
    pub has_decimal_comma: bool,
}

impl Styles {
    /// A column to read numbers from.
    pub(in crate::intake) fn column(&self, header: &Header, index: usize) -> NumberColumn {
        let style = self.by_column.get(&index).copied().unwrap_or_default();
        NumberColumn::new(
            index,
            header.name(index).into(),
            style,
            self.has_decimal_comma,
        )
    }
}
