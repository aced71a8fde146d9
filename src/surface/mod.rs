//! Stage 4: one surface per layer by inverse distance, with the skill that leave-one-out measures.

mod surfaces;

pub use surfaces::{Flat, Map, Skill, Surface, Surfaces};
