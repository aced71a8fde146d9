//! How much lime, by published rule. Water pH decides whether, buffer pH decides how much.
//!
//! A rule belongs to one buffer and one region. No rule is moved to another buffer, and without a known buffer there is
//! no rate. What a rule returns is lime of that rule's reference quality over that rule's depth;
//! [`LimeNeed::of_product`] turns it into the product at hand over the depth that is worked.

mod adams_evans;
mod minnesota;
mod north_carolina;
mod oregon;
mod penn_state;
mod product;
mod rule;
mod texture;
mod tri_state;

pub use adams_evans::{adams_evans_acid_saturation, adams_evans_pounds_per_acre};
pub use minnesota::minnesota_pounds_enp_per_acre;
pub use north_carolina::{LimedSoil, north_carolina_residual_credit, north_carolina_tons_per_acre};
pub use oregon::oregon_tons_per_acre;
pub use penn_state::penn_state_pounds_per_acre;
pub use product::{
    LimeKind, LimeQuality, Limestone, PURE_MATERIALS, fineness_minnesota_pct,
    fineness_new_york_pct, iowa_ecce_pct, lime_kind, minnesota_enp_pct, new_york_env_pct,
    ohio_enp_pct,
};
pub use rule::{AcidSoil, LimeNeed, LimeRule};
pub use texture::limestone_by_texture;
pub use tri_state::tri_state_1995_tons_per_acre;
