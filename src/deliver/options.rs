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

/// What the user may choose of the files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DeliverOptions {
    /// Form of the task data.
    pub task_data: TaskDataForm,
}
