/// One record of a yield monitor. Columns that the file does not have are NaN.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YieldPoint {
    /// Metres along the way of travel.
    pub along: f64,
    /// Metres across it.
    pub across: f64,
    /// Seconds since some beginning.
    pub time: f64,
    /// Mass flow of wet grain, kg/s.
    pub flow: f64,
    /// Seconds that the record stands for.
    pub seconds: f64,
    /// Distance driven in that time, metres.
    pub distance: f64,
    /// Cutting width, metres.
    pub width: f64,
    /// Moisture of the grain, percent.
    pub moisture: f64,
    /// Yield as the file has it, kg/ha, where it has one.
    pub yields: f64,
    /// Whether that yield is at standard moisture already.
    pub is_dry: bool,
    /// Which treatment it was cut from; points of different treatments are never judged by each other.
    pub treatment: u8,
}
