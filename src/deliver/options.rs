//! What the user may choose of the files.

/// How the task data for the controller stores the rates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TaskDataForm {
    /// Treatment zones as polygons; a grid of zone codes where there are more parts than codes.
    #[default]
    Polygons,
    /// A grid of rates (type 2).
    Grid,
}

/// Which files are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FilesMade {
    /// All of them.
    #[default]
    All,
    /// `prescription.geojson` alone: for whoever takes zones and rates into a table and writes no files of the field.
    MapAlone,
}

/// What the user may choose of the files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DeliverOptions {
    /// Form of the task data.
    pub task_data: TaskDataForm,
    /// Which files are made.
    pub made: FilesMade,
}
