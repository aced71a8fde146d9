//! Published soil science as pure functions: numbers in, numbers out, each with its source, units and range of validity.
//!
//! | topic | file |
//! |---|---|
//! | mass of a soil layer, ppm and mass per area | `soil_mass.rs` |
//! | oxide and element | `oxide_and_element.rs` |
//! | meq/100 g | `units_of_charge.rs` |
//! | buffers and the acidity that each gives | `buffer.rs` |
//! | CEC by summation, saturations, free lime | `cation_exchange.rs` |
//! | lime by published rule, product, fineness | `lime_requirement/` |
//! | SAR, ESP, gypsum for sodium | `sodicity.rs` |
//! | gypsum for calcium | `gypsum.rs` |
//! | conductivity by method, salt-affected classes | `salinity.rs` |
//! | organic matter and organic carbon | `organic_carbon.rs` |
//! | C:N by method, carbon to add, nitrogen released or tied up | `carbon_nitrogen.rs` |
//! | soil-test classes by state and extractant, manganese index | `sufficiency.rs` |
//! | nutrient rates by equation, steps, build-up | `nutrient_rate.rs` |
//! | phosphorus need, phosphate rock | `phosphorus.rs` |
//! | cone index: replicates, share above a limit, hard layers, moisture | `cone_index/` |
//! | texture class | `texture.rs` |
//! | crop uptake and removal | `removal.rs` |
//! | nitrogen and potash that seed bears | `seed_salt.rs` |
//! | salt index of materials and mixes | `salt_index.rs` |
//! | flow, speed, loads, weight, density, pressure | `application.rs` |
//!
//! No threshold of decision stands here; the rulebook holds them. Published tables do stand here, each under the name by which the
//! rulebook asks for it. An input outside the range in which a rule holds is a [`SoilError`], never a number.

mod application;
mod buffer;
mod carbon_nitrogen;
mod cation_exchange;
mod cone_index;
mod customary;
mod error;
mod gypsum;
mod lime_requirement;
mod nutrient_rate;
mod organic_carbon;
mod oxide_and_element;
mod phosphorus;
mod removal;
mod salinity;
mod salt_index;
mod seed_salt;
mod sodicity;
mod soil_mass;
mod sufficiency;
mod texture;
mod units_of_charge;

pub use application::{
    TankLoads, WATER, blend_analysis_pct, density_factor, field_rate_of_band, flow_per_outlet,
    liquid_for_nutrient, look_ahead, nutrient_per_volume, pressure_for_flow, rate_from_row_rate,
    rate_of_flow, row_length, speed_for_rate, speed_of_course, tank_loads, turndown, weight,
};
pub use buffer::Buffer;
pub use carbon_nitrogen::{
    CarbonAndNitrogen, CarbonSource, GLUCOSE_CARBON_PCT, MATERIAL_RATIOS, MICROBIAL_DIET_RATIO,
    RatioKind, SUCROSE_CARBON_PCT, carbon_in_material, carbon_nitrogen_ratio,
    carbon_to_reach_ratio, crude_protein_pct, material_for_carbon, net_nitrogen,
    nitrogen_pct_from_ratio,
};
pub use cation_exchange::{Acidity, CationExchange, NEUTRAL_WATER_PH, exchangeable_acidity};
pub use cone_index::{
    CONE_DIAMETERS_MM, CompactionClass, ConeReading, HardLayer, LayerBottom, LayerTop,
    SoilMoisture, comparable_dates, cone_base_area_mm2, cone_index_from_force, hard_layers,
    is_cone_worn_out, loosening_depth, median_of_replicates, share_above_pct, worn_out_diameter_mm,
};
pub use error::SoilError;
pub use gypsum::{
    CALCIUM_IN_GYPSUM, GRAMS_GYPSUM_PER_EQUIVALENT, SULFUR_IN_GYPSUM, calcium_to_raise_saturation,
    gypsum_for_calcium, gypsum_product, sulfur_in_gypsum,
};
pub use lime_requirement::{
    AcidSoil, LimeKind, LimeNeed, LimeQuality, LimeRule, LimedSoil, Limestone, PURE_MATERIALS,
    adams_evans_acid_saturation, adams_evans_pounds_per_acre, fineness_minnesota_pct,
    fineness_new_york_pct, iowa_ecce_pct, lime_kind, limestone_by_texture, minnesota_enp_pct,
    minnesota_pounds_enp_per_acre, new_york_env_pct, north_carolina_residual_credit,
    north_carolina_tons_per_acre, ohio_enp_pct, oregon_tons_per_acre, penn_state_pounds_per_acre,
    tri_state_1995_tons_per_acre,
};
pub use nutrient_rate::{BuildAndMaintain, RateEquation, build_and_maintain, rate_of_steps};
pub use organic_carbon::{OrganicMatterFactor, organic_carbon_pct};
pub use oxide_and_element::StatedForm;
pub use phosphorus::{
    RockPhosphate, RockRelease, phosphate_in_rock, phosphate_rock_release, phosphate_short,
    phosphate_to_build_up,
};
pub use removal::{
    CORN_POUNDS_PER_BUSHEL, CropPart, REMOVAL_FACTORS, RemovalFactor, SOYBEAN_POUNDS_PER_BUSHEL,
    soybean_uptake,
};
pub use salinity::{
    ConductivityMethod, SalinityGrade, SaltClass, SodiumMeasure, relative_yield,
    rough_paste_conductivity_from_one_to_one, salinity_grade, salt_class,
};
pub use salt_index::{SALT_INDICES, SaltIndex, salt_index, salt_index_of_mix, salt_index_per_unit};
pub use seed_salt::{
    EmergenceSlope, SeedCrop, SeedSaltLimit, SeedSaltReading, SeedSaltTable, Seedbed,
    material_for_stand_loss, nitrogen_plus_potash,
};
pub use sodicity::{
    SodicSoil, exchangeable_sodium_pct, exchangeable_sodium_pct_from_sar, gypsum_for_sodium,
    gypsum_requirement_oster, sodium_adsorption_ratio, sodium_to_replace_meq, soluble_sodium_meq,
    sulfur_for_sodium,
};
pub use soil_mass::{TRADE_POUNDS_PER_ACRE_INCH, nutrient_mass, nutrient_ppm, soil_mass};
pub use sufficiency::{
    SUFFICIENCY_TABLES, Sufficiency, SufficiencyTable, TableUnit, manganese_availability_index,
};
pub use texture::{TextureClass, may_be_sandy, texture_class};
pub use units_of_charge::Cation;
