//! Leaf feeds as the values that the writers of a prescription take: each feed one product in one tank, its spray as the rate.

use super::FollowInput;
use super::words;
use crate::choice::Worth;
use crate::deliver::SeasonValues;
use crate::deliver::run_record::ReadMachine;
use crate::deliver::stage_values::StageValues;
use crate::diagnosis::{Diagnosis, ZoneDiagnosis};
use crate::plan::{
    BelowDetection, BoundarySettings, FixedOrAuto, MachineSettings, Price, Settings, Supply,
    SurfaceSettings, TakenFromFarm, WorkLimits, ZoneMethod, ZoneSettings, ZoneShape,
};
use crate::provenance::Place;
use crate::rates::{Ingredient, Offers, Prescription, ProductUse, Rate, Recipe, ZoneRates};
use crate::remark::Remark;
use crate::rulebook::{PriceSource, ProductName};
use crate::season::{FeedProduct, LeafFeed};
use crate::surface::Surfaces;
use crate::trial::StripPlan;
use crate::units::{
    Area, Density, Length, Mass, MassPerArea, Metering, MoneyPerArea, MoneyPerMass, ProductRate,
    Quantity, Speed, UnitSystem, Volume, VolumeFlow, VolumePerArea,
};

/// Mass of a litre of water, kg.
const WATER: f64 = 1.0;

/// Values of all stages for one feed, or for all of them side by side.
pub(super) struct FeedStages<'a> {
    input: &'a FollowInput,
    settings: Settings,
    surfaces: Surfaces,
    diagnosis: Diagnosis,
    prescription: Prescription,
    strips: StripPlan,
    worth: Worth,
    past: SeasonValues,
    remarks: Vec<Remark>,
}

impl<'a> FeedStages<'a> {
    /// One feed.
    pub(super) fn of_feed(input: &'a FollowInput, at: usize) -> Self {
        let feeds = input.review.foliar.feeds.get(at..=at).unwrap_or_default();
        Self::new(input, feeds)
    }

    /// All feeds side by side.
    pub(super) fn of_all(input: &'a FollowInput) -> Self {
        Self::new(input, &input.review.foliar.feeds)
    }

    fn new(input: &'a FollowInput, feeds: &[LeafFeed]) -> Self {
        let numbers = || input.ground.records.iter().map(|zone| zone.number);
        let zones = numbers().enumerate().map(|(zone, number)| ZoneDiagnosis {
            number,
            zone,
            profile: Vec::new(),
            findings: Vec::new(),
            not_known: Vec::new(),
        });
        Self {
            settings: settings(input),
            surfaces: Surfaces {
                surfaces: Vec::new(),
                odd_cores: Vec::new(),
                remarks: Vec::new(),
            },
            diagnosis: Diagnosis {
                zones: zones.collect(),
                not_known: Vec::new(),
                remarks: Vec::new(),
            },
            prescription: prescription(input, feeds),
            strips: StripPlan::default(),
            worth: Worth::default(),
            past: SeasonValues::default(),
            remarks: Vec::new(),
            input,
        }
    }

    /// The values as the writers take them.
    pub(super) fn values(&self) -> StageValues<'_> {
        StageValues {
            settings: &self.settings,
            field: &self.input.ground.field,
            inputs: &[],
            surfaces: &self.surfaces,
            zones: &self.input.ground.zones,
            diagnosis: &self.diagnosis,
            prescription: &self.prescription,
            strips: &self.strips,
            offer: None,
            worth: &self.worth,
            rulebook: &self.input.rulebook,
            past: &self.past,
            remarks: &self.remarks,
            timings: &[],
        }
    }
}

/// The run's settings, as far as the writers read them.
fn settings(input: &FollowInput) -> Settings {
    let own = &input.facts.settings;
    Settings {
        plan_file: "run.json".into(),
        field: own.field.clone(),
        season: own.season,
        crop: own.crop.clone(),
        crop_row: None,
        units: own.units,
        boundary: BoundarySettings {
            file: "prescription.geojson".into(),
            crs: None,
            choose: None,
            layer: None,
            place: Place::file("run.json"),
        },
        keep_outs: Vec::new(),
        points: Vec::new(),
        cell: Length::from_metres(input.ground.field.grid.cell),
        surface: SurfaceSettings::default(),
        zones: ZoneSettings {
            count: FixedOrAuto::Auto,
            layers: None,
            smallest: Area::ZERO,
            method: ZoneMethod::KMeans,
            seed: 0,
            tolerance: None,
            components: false,
            shape: ZoneShape::Smooth,
        },
        machine: machine(own.machine.as_ref(), input.settings.tank),
        rules: None,
        prices: Vec::new(),
        crop_price: own.crop_price,
        strips: None,
        results: Vec::new(),
        past: Vec::new(),
        budget: None,
        overrides: Vec::new(),
        carbon_from_organic_matter: false,
        below_detection: BelowDetection::Half,
        bulk_density: None,
        people: own.people.clone(),
        supply: Supply::default(),
        limits: WorkLimits::default(),
        farm: TakenFromFarm::default(),
    }
}

fn machine(own: Option<&ReadMachine>, tank: Option<Volume>) -> MachineSettings {
    let length = |text: Option<&String>| {
        text.and_then(|text| Length::parse(text).ok())
            .unwrap_or(Length::ZERO)
    };
    MachineSettings {
        swath: length(own.map(|own| &own.swath)),
        row_spacing: length(own.map(|own| &own.row_spacing)),
        heading: own.map_or(0.0, |own| own.heading),
        speed: Speed::ZERO,
        tank: tank.unwrap_or(Volume::ZERO),
        flow_per_row: (VolumeFlow::ZERO, VolumeFlow::ZERO),
        liquid_step: None,
        dry_step: None,
    }
}

/// The name under which a feed goes through the files: `feed_1`.
fn name(feed: &LeafFeed) -> ProductName {
    ProductName::Product(format!("feed_{}", feed.number))
}

fn prescription(input: &FollowInput, feeds: &[LeafFeed]) -> Prescription {
    let units = input.facts.units;
    let zones = input.ground.records.iter().enumerate();
    let zones = zones.map(|(zone, record)| zone_rates(input, feeds, zone, record.number));
    let recipe = match feeds {
        [feed] => Some(recipe(input, feed)),
        _ => None,
    };
    Prescription {
        products: feeds
            .iter()
            .map(|feed| product_use(input, feed, units))
            .collect(),
        recipe,
        zones: zones.collect(),
        test_first: Vec::new(),
        balance: None,
        budget: None,
        offers: Offers::default(),
        cautions: input.review.foliar.cautions.clone(),
        remarks: Vec::new(),
    }
}

fn product_use(input: &FollowInput, feed: &LeafFeed, units: UnitSystem) -> ProductUse {
    let numbers = &input.rulebook.numbers;
    let step = match units {
        UnitSystem::UnitedStates => numbers.liquid_step_us,
        UnitSystem::Metric => numbers.liquid_step_metric,
    };
    let mut cautions: Vec<String> = Vec::new();
    for caution in feed.products.iter().flat_map(|product| &product.cautions) {
        if !cautions.contains(caution) {
            cautions.push(caution.clone());
        }
    }
    ProductUse {
        name: name(feed),
        label: words::feed_label(feed),
        form: Metering::Liquid,
        price: None,
        price_source: PriceSource::Given,
        density: Some(Density::from_kilograms_per_litre(density(feed))),
        step: ProductRate::Volume(step),
        total_mass: Mass::ZERO,
        total_volume: Volume::from_litres(litres(feed)),
        pack: None,
        is_organic_input: feed.products.iter().all(|product| product.is_organic_input),
        cautions,
    }
}

/// Spray over all zones, litres.
fn litres(feed: &LeafFeed) -> f64 {
    feed.spray.litres_per_hectare() * feed.area_m2 / 10_000.0
}

/// A product in a litre of spray, kg.
fn in_a_litre(product: &FeedProduct, spray: VolumePerArea) -> f64 {
    product.amount.kilograms_per_hectare() / spray.litres_per_hectare()
}

/// Mass of a litre of spray: water and what is dissolved in it, whose own volume is left out.
fn density(feed: &LeafFeed) -> f64 {
    let salts = feed
        .products
        .iter()
        .map(|product| in_a_litre(product, feed.spray));
    WATER + salts.sum::<f64>()
}

fn recipe(input: &FollowInput, feed: &LeafFeed) -> Recipe {
    let ingredient = |product: &FeedProduct| {
        let price = product
            .cost_usd_ha
            .map(|cost| cost / product.amount.kilograms_per_hectare())
            .map(|price| Price::PerMass(MoneyPerMass::from_dollars_per_kilogram(price)));
        Ingredient {
            product: product.product.clone(),
            label: product.label.clone(),
            volume_share: 0.0,
            kilograms_per_litre: in_a_litre(product, feed.spray),
            total_mass: Mass::ZERO,
            total_volume: Volume::ZERO,
            is_dry: true,
            price,
            price_source: product.price_source,
            pack: input
                .rulebook
                .product(&product.product)
                .and_then(|known| known.pack.clone()),
        }
    };
    let water = Ingredient {
        product: "water".to_owned(),
        label: "water".to_owned(),
        volume_share: 1.0,
        kilograms_per_litre: WATER,
        total_mass: Mass::ZERO,
        total_volume: Volume::ZERO,
        is_dry: false,
        price: None,
        price_source: PriceSource::Given,
        pack: None,
    };
    let mut recipe = Recipe {
        product: name(feed),
        name: words::feed_label(feed),
        ingredients: std::iter::once(water)
            .chain(feed.products.iter().map(ingredient))
            .collect(),
        density: Density::from_kilograms_per_litre(density(feed)),
        range: (feed.spray, feed.spray),
        seed_salt: MassPerArea::ZERO,
        seed_salt_per_litre: 0.0,
        seed_salt_limit: MassPerArea::ZERO,
        seed_salt_source: String::new(),
        notes: words::mixing_notes(feed),
        loads: Vec::new(),
    };
    let tank = input.settings.tank.unwrap_or(Volume::ZERO);
    recipe.fill(litres(feed), feed.spray.litres_per_hectare(), tank);
    recipe
}

/// Whether the rates of a feed rest on published trials.
fn is_published(feed: &LeafFeed) -> bool {
    feed.products
        .iter()
        .all(|product| product.basis == "published")
}

fn zone_rates(input: &FollowInput, feeds: &[LeafFeed], zone: usize, number: u32) -> ZoneRates {
    let rates = feeds.iter().map(|feed| {
        let is_fed = feed.zones.contains(&number);
        let amount = if is_fed {
            feed.spray
        } else {
            VolumePerArea::ZERO
        };
        Rate {
            product: name(feed),
            amount: ProductRate::Volume(amount),
            needed: ProductRate::Volume(amount),
            steps: Vec::new(),
            note: None,
            seasons_after: 0,
            overridden: None,
            strip: None,
            cap: None,
            least: None,
            disputed: (is_fed && !is_published(feed)).then(|| words::responses(feed)),
            gate: None,
            aim: None,
            cut: None,
            own: None,
        }
    });
    let pass = words::pass_cost(input).dollars_per_hectare();
    let cost: f64 = feeds
        .iter()
        .filter(|feed| feed.zones.contains(&number))
        .map(|feed| feed.cost_usd_ha.unwrap_or_default() + pass)
        .sum();
    ZoneRates {
        number,
        zone,
        rates: rates.collect(),
        do_first: words::zone_order(input, feeds, number),
        not_known: Vec::new(),
        fixes: Vec::new(),
        reason: words::zone_reason(input, feeds, number),
        cost: MoneyPerArea::from_dollars_per_hectare(cost),
        cautions: Vec::new(),
        unmet: Vec::new(),
    }
}
