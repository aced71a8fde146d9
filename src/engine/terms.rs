use crate::plan::Inherited;

/// What a run goes by beside its plan: what the farm that the field belongs to says for all its fields.
#[derive(Debug, Clone, Copy, Default)]
pub struct Terms<'a> {
    /// Tables that the plan takes where it does not set them itself.
    pub inherited: Option<&'a Inherited>,
}
