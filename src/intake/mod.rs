//! Stage 2: files become a [`Survey`]: located observations with analyte, method, unit, depth and qualifier,
//! and a list of remarks. No value is dropped or changed without a remark that names file, row and column.

mod derived;
mod survey;

pub use survey::{AreaShape, ConeProfiles, InputFile, LayerColumn, PointTable, Qualifier, Survey};
