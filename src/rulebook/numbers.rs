use super::Basis;
use super::Nutrient;
use super::error::RulebookError;
use super::reader::Entry;
use crate::units::{Length, MassPerArea, MoneyPerArea, Quantity, VolumePerArea};

/// A number of the rulebook that is no threshold of a rule: a weight, a step, a limit.
#[derive(Debug, Clone)]
pub struct Figure {
    /// Name in the rulebook.
    pub name: &'static str,
    /// The number, in `unit`.
    pub value: f64,
    /// Its unit; empty for a plain number.
    pub unit: String,
    /// What it is for.
    pub what: String,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

/// How a figure becomes a typed value.
trait FromFigure: Sized {
    fn from_figure(value: f64, unit: &str) -> Result<Self, String>;
}

impl FromFigure for f64 {
    fn from_figure(value: f64, _: &str) -> Result<Self, String> {
        Ok(value)
    }
}

macro_rules! from_figure {
    ($($quantity:ty),+) => {$(
        impl FromFigure for $quantity {
            fn from_figure(value: f64, unit: &str) -> Result<Self, String> {
                let factor = Self::UNITS.iter().find(|(name, _)| *name == unit).map(|(_, factor)| *factor);
                let allowed = || Self::UNITS.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ");
                factor.map(|factor| Self::from_stored(value * factor)).ok_or_else(|| format!("one of the units {}", allowed()))
            }
        }
    )+};
}
from_figure!(Length, MassPerArea, MoneyPerArea, VolumePerArea);

macro_rules! numbers {
    ($($(#[doc = $doc:literal])+ $name:ident: $kind:ty),+ $(,)?) => {
        /// The numbers of the section `number`.
        #[derive(Debug, Clone)]
        pub struct Numbers {
            $($(#[doc = $doc])+ pub $name: $kind,)+
            /// All of them with their basis and source, in this order.
            pub figures: Vec<Figure>,
        }

        impl Numbers {
            pub(super) const NAMES: &'static [&'static str] = &[$(stringify!($name)),+];

            /// Puts the figures into their fields. One that could not be read is reported where it was read.
            pub(super) fn assemble(figures: Vec<Figure>, complain: &mut impl FnMut(&Figure, String)) -> Self {
                let named = |name| figures.iter().find(|figure| figure.name == name);
                Self {
                    $($name: typed::<$kind>(named(stringify!($name)), complain),)+
                    figures: figures.clone(),
                }
            }
        }
    };
}

numbers! {
    /// Share of a product's highest rate up to which it lies on a zone of another season by the drawing of the edge alone.
    mere_edge: f64,
    /// What went out in proportion to the whole need, from which on the formula says nothing more of what it did.
    far_more_than_needed: f64,
    /// Fewest observations in a zone for a finding without a caution.
    few_cores: f64,
    /// The deepest lower edge of a layer that still counts as topsoil.
    topsoil_depth: Length,
    /// pH in water from which free lime is expected.
    free_lime_ph: f64,
    /// The greatest severity of a rule that research disputes.
    most_severity_if_disputed: f64,
    /// Severity that an unknown factor is counted with: the chance that it limits, times how badly.
    unknown_severity: f64,
    /// Least severity, still possible, of an unknown factor whose test stands in a zone's order of fixes.
    test_from_severity: f64,
    /// Pure fine lime on a surface that is acid over a plough layer that is not.
    surface_lime: MassPerArea,
    /// Ground limestone for each unit of pH on sand, where buffer pH is not known.
    lime_factor_sand: MassPerArea,
    /// Ground limestone for each unit of pH on clay, where buffer pH is not known.
    lime_factor_clay: MassPerArea,
    /// Depth that the liming factors are for.
    lime_factor_depth: Length,
    /// Most of a first dressing of lime where the rate is a guess by texture.
    lime_first_dressing: MassPerArea,
    /// Organic matter in percent from which a soil counts as organic.
    organic_soil_from: f64,
    /// How far the pH lies under a crop's own target before it counts as too acid, where that target is no higher than the common limit.
    acid_below_target: f64,
    /// pH in water that lime aims at on organic soil.
    organic_target_ph: f64,
    /// Sand, percent, from which a seedbed counts as sandy.
    sandy_from_sand: f64,
    /// Cation exchange capacity, meq/100 g, below which a seedbed counts as sandy where the texture is not known.
    sandy_below_cec: f64,
    /// Factor of the gypsum requirement for incomplete exchange.
    gypsum_exchange_factor: f64,
    /// Depth in inches that lime is worked in to on tilled ground.
    mixing_depth_tilled: f64,
    /// Depth in inches that lime reaches on ground that is not tilled.
    mixing_depth_untilled: f64,
    /// Magnesium in ppm below which lime is dolomitic.
    dolomitic_below_magnesium: f64,
    /// Phosphate P2O5 that raises the soil test by 1 ppm in a 6 2/3 in layer.
    phosphate_per_ppm: MassPerArea,
    /// Compost where the pools of carbon and nitrogen are not known and the finding is at its worst.
    carbon_product_most: MassPerArea,
    /// Cost that a point of effort counts for in the order of fixes.
    cost_of_effort: MoneyPerArea,
    /// Cost that a season of waiting counts for in the order of fixes.
    cost_of_waiting: MoneyPerArea,
    /// What a dollar's worth of product or work that is missing counts for, against one that is too much.
    under_application: f64,
    /// What a starter counts for that goes onto ground where salt holds it back.
    harm_of_salt: MoneyPerArea,
    /// What a map must save against one rate before it is drawn.
    cost_of_a_map: MoneyPerArea,
    /// Step of a liquid rate in United States units, where the plan names none.
    liquid_step_us: VolumePerArea,
    /// Step of a liquid rate in metric units, where the plan names none.
    liquid_step_metric: VolumePerArea,
    /// Step of a dry rate in United States units, where the plan names none.
    dry_step_us: MassPerArea,
    /// Step of a dry rate in metric units, where the plan names none.
    dry_step_metric: MassPerArea,
    /// Elemental sulfur per ppm of sulfate sulfur short.
    sulfur_per_ppm: MassPerArea,
    /// Standard deviation, kg/ha, of the yield difference between a check strip and its sides, where nobody measured it.
    strip_spread: MassPerArea,
    /// Elemental sulfur that lowers the pH by one unit.
    sulfur_per_ph: MassPerArea,
    /// Most phosphate of the mix where the soil test is not short of it.
    phosphate_ceiling: MassPerArea,
    /// Most nitrogen that the mix brings.
    nitrogen_ceiling: MassPerArea,
    /// Most potash of one season.
    potash_ceiling: MassPerArea,
    /// Most sulfur that the mix brings beside its potash or magnesium.
    sulfur_ceiling: MassPerArea,
    /// What the mix may bring of total phosphate or sulfur, as a multiple of what is short.
    ceiling_over_need: f64,
    /// Most phosphate of all products together in a season.
    phosphate_most: MassPerArea,
    /// Most boron of all products together in a season.
    boron_most: MassPerArea,
    /// What leaving a usual need wholly unmet counts for in the choice of the mix; a larger need counts for more in proportion.
    worth_of_a_need: MoneyPerArea,
    /// A usual need of phosphate, P2O5.
    usual_need_of_phosphate: MassPerArea,
    /// A usual need of potash, K2O.
    usual_need_of_potash: MassPerArea,
    /// A usual need of sulfur.
    usual_need_of_sulfur: MassPerArea,
    /// A usual need of magnesium.
    usual_need_of_magnesium: MassPerArea,
    /// A usual need of zinc.
    usual_need_of_zinc: MassPerArea,
    /// A usual need of boron.
    usual_need_of_boron: MassPerArea,
    /// A usual need of manganese.
    usual_need_of_manganese: MassPerArea,
    /// Most products of the mix that are spread in a season.
    spreader_passes: f64,
    /// Loss of yield to salt, percent, from which nothing that carries salt goes out, where the saline class is not reached before.
    salt_loss_that_closes: f64,
    /// Gain that is expected of a product before the farm's own trials.
    own_trial_prior_gain: MassPerArea,
    /// Standard deviation of that gain between farms and fields.
    own_trial_prior_spread: MassPerArea,
    /// Standard deviation of a product's gain from season to season on one field.
    own_trial_between_seasons: MassPerArea,
    /// Harvests from which own trials may open or close a gate.
    own_trials_to_decide: f64,
    /// Chance, 0 to 1, below which harvests differ too much to be one gain, so that together they decide nothing.
    own_trials_disagree_below: f64,
    /// Interest, percent a year.
    interest: f64,
    /// Leaf-sap Brix, percent, under which plants are counted.
    brix_floor: f64,
    /// Smallest difference of Brix, percent, that is worth a word.
    brix_smallest_difference: f64,
    /// Hours of day that readings of Brix may lie apart and still be compared.
    brix_hours_apart: f64,
    /// Smallest step of a refractometer's scale, percent.
    brix_step: f64,
    /// Fewest samples of leaves that decide anything.
    leaf_samples_fewest: f64,
    /// Least coefficient of variation of contents of leaves, percent.
    leaf_spread: f64,
    /// Coefficient of variation of stand counts, percent, where too few were made to know it, or all are the same.
    stand_spread: f64,
    /// Counts nearer to each other than this are of one place.
    stand_places_apart: Length,
    /// Days after planting past which a count says nothing on planting again.
    replant_days_most: f64,
    /// Gap to the target population, percent, that the counts should show.
    stand_gap: f64,
    /// Fewest places of a zone whose stand is judged without a caution.
    stand_fewest_counts: f64,
    /// Least growing degree days (F) from planting to emergence.
    emergence_least: f64,
    /// Most growing degree days (F) from planting to emergence.
    emergence_most: f64,
    /// Growing degree days (F) past which one digs for the seed.
    emergence_dig: f64,
    /// Growing degree days (F) from the first to the last place to emerge in an even stand.
    emergence_even: f64,
    /// Most leaf feeds of a season.
    feeds_most: f64,
    /// Fewest days between two leaf feeds of one nutrient.
    feed_days_least: f64,
    /// Most days between two leaf feeds of one nutrient.
    feed_days_most: f64,
    /// Least water under which no salt goes on a leaf.
    leaf_water_least: VolumePerArea,
    /// Share of a zone's cores on the other side of a threshold than its mean, from which it is said.
    cores_across_from: f64,
    /// Share of a zone's cores past a limit that holds a product back, from which it is said where the mean is not past it.
    cores_past_gate_from: f64,
    /// Share of the cores of two methods that stand where the other method has none, from which it is said.
    cores_elsewhere_from: f64,
    /// Share of what the crop brings at the plan's goal and price, from which it is said that a season costs so much.
    dear_season_from: f64,
    /// Places in a zone from which its cores take back a limit that only the field's mean is past.
    own_cores_from: f64,
    /// Layers in which a core's neighbours contradict it, from which a core past a threshold is told of by itself.
    lone_core_layers: f64,
}

fn typed<T: FromFigure>(figure: Option<&Figure>, complain: &mut impl FnMut(&Figure, String)) -> T {
    let made = figure.map(|figure| (figure, T::from_figure(figure.value, &figure.unit)));
    match made {
        Some((_, Ok(value))) => value,
        Some((figure, Err(wanted))) => {
            complain(figure, wanted);
            neutral()
        }
        None => neutral(),
    }
}

impl Numbers {
    /// A usual need of a nutrient: the one whose absence counts for [`Numbers::worth_of_a_need`].
    #[must_use]
    pub fn usual_need(&self, nutrient: Nutrient) -> MassPerArea {
        match nutrient {
            Nutrient::Phosphate => self.usual_need_of_phosphate,
            Nutrient::Potash => self.usual_need_of_potash,
            Nutrient::Sulfur => self.usual_need_of_sulfur,
            Nutrient::Magnesium => self.usual_need_of_magnesium,
            Nutrient::Zinc => self.usual_need_of_zinc,
            Nutrient::Boron => self.usual_need_of_boron,
            Nutrient::Manganese => self.usual_need_of_manganese,
        }
    }

    /// A number by its name in the rulebook, for a condition that refers to it.
    pub(super) fn named(&self, name: &str) -> Option<f64> {
        self.figures
            .iter()
            .find(|figure| figure.name == name)
            .map(|figure| figure.value)
    }
}

/// A stand-in; the rulebook is refused as a whole where it is needed.
fn neutral<T: FromFigure>() -> T {
    ["", "m", "kg/ha", "L/ha", "USD/ha"]
        .iter()
        .find_map(|unit| T::from_figure(1.0, unit).ok())
        .unwrap_or_else(|| unreachable!("every kind of figure takes one of these units"))
}

impl Figure {
    pub(super) fn read(entry: &mut Entry<'_>) -> Option<Self> {
        let name = Numbers::NAMES
            .iter()
            .find(|name| **name == entry.name)
            .copied();
        let figure = Self {
            name: name.unwrap_or_default(),
            value: entry.required_in("value", "write the number", 0.0..=1e6, "zero or more"),
            unit: entry.maybe_text("unit").unwrap_or_default(),
            what: entry.text("what", "say what the number is for"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        };
        if name.is_none() {
            let place = entry.place();
            entry.report(RulebookError::UnknownKey {
                place,
                nearest: super::error::nearest_word(entry.name, Numbers::NAMES.iter().copied()),
                allowed: Numbers::NAMES.join(", "),
            });
        }
        figure.check_step(entry);
        name.map(|_| figure)
    }

    /// A rate cannot be rounded to steps of nothing.
    fn check_step(&self, entry: &mut Entry<'_>) {
        if STEPS.contains(&self.name) && self.value <= 0.0 {
            entry.contradiction(
                "value",
                format!(
                    "{} is a step that rates are rounded to; it must be more than 0",
                    self.name
                ),
            );
        }
        if (self.name.starts_with("mixing_depth_") || self.name == "lime_factor_depth")
            && self.value <= 0.0
        {
            let what = format!(
                "{} is a depth that lime is worked in to; it must be more than 0",
                self.name
            );
            entry.contradiction("value", what);
        }
        if self.name.starts_with("usual_need_of_") && self.value <= 0.0 {
            let what = format!(
                "{} is what a need is measured by; it must be more than 0",
                self.name
            );
            entry.contradiction("value", what);
        }
    }
}

/// The numbers that rates are rounded to.
const STEPS: [&str; 4] = [
    "liquid_step_us",
    "liquid_step_metric",
    "dry_step_us",
    "dry_step_metric",
];
