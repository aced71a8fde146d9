//! Stage 1: the plan file becomes checked settings with units resolved.
//!
//! What the user typed and what the later stages trust are different types: only [`Settings`] leaves this stage.

mod settings;

pub use settings::{
    BelowDetection, BoundarySettings, Choice, ColumnMeaning, ConeSettings, Depths, KeepOut, MachineSettings, Override, OverrideRate,
    PointKind, PointsSettings, Price, Settings, SurfaceSettings, ZoneMethod, ZoneSettings,
};
