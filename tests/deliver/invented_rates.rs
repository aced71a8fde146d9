//! Invented rates, recipe and fixes.

use lowstave::plan::Price;
use lowstave::rates::{Fix, Ingredient, Load, Prescription, ProductUse, Rate, Recipe, ZoneRates};
use lowstave::rulebook::{Basis, Factor, PriceSource};
use lowstave::units::{
    Density, Mass, MassPerArea, MoneyPerArea, MoneyPerMass, MoneyPerVolume, Quantity, UnitSystem,
    Volume, VolumePerArea,
};
use lowstave::units::{Metering, ProductRate};

const HECTARE: f64 = 10_000.0;

fn liquid(rate: f64, units: UnitSystem) -> VolumePerArea {
    let unit = VolumePerArea::unit_in(units);
    VolumePerArea::parse(&format!("{rate} {unit}")).expect("a rate")
}

fn dry(rate: f64, units: UnitSystem) -> MassPerArea {
    MassPerArea::parse(&format!("{rate} {}", MassPerArea::unit_in(units))).expect("a rate")
}

/// Rates of the three zones by number: starter, gypsum, lime, in the units asked for.
fn rates_of(place: usize, units: UnitSystem) -> [ProductRate; 3] {
    let (starter, gypsum, lime) = match units {
        UnitSystem::UnitedStates => (
            [0.0, 4.3, 5.0],
            [500.0, 0.0, 750.0],
            [1_500.0, 0.0, 2_260.0],
        ),
        UnitSystem::Metric => (
            [0.0, 40.5, 46.0],
            [560.0, 0.0, 840.0],
            [1_680.0, 0.0, 2_530.0],
        ),
    };
    [
        ProductRate::Volume(liquid(starter[place], units)),
        ProductRate::Mass(dry(gypsum[place], units)),
        ProductRate::Mass(dry(lime[place], units)),
    ]
}

fn stored(amount: ProductRate) -> f64 {
    match amount {
        ProductRate::Volume(volume) => volume.litres_per_hectare(),
        ProductRate::Mass(mass) => mass.kilograms_per_hectare(),
    }
}

/// The prescription for zones of these areas in the order of the clustering.
pub fn prescription(areas: &[f64], units: UnitSystem) -> Prescription {
    let order = [2, 0, 1];
    let total = |product: usize| -> f64 {
        let zones = order.iter().enumerate();
        zones
            .map(|(place, &zone)| stored(rates_of(place, units)[product]) * areas[zone] / HECTARE)
            .sum()
    };
    Prescription {
        balance: None,
        test_first: Vec::new(),
        products: products(total(0), total(1), total(2), units),
        recipe: Some(recipe(total(0))),
        zones: order.iter().enumerate().map(|(place, &zone)| zone_rates(place, zone, units)).collect(),
        budget: None,
        offers: lowstave::rates::Offers::default(),
        cautions: vec![
            "The label of each product is the law; the certifier decides what counts as an organic input.".to_owned(),
            "Slurry and fish tanks are confined spaces: never enter, ventilate, work in pairs.".to_owned(),
        ],
        remarks: Vec::new(),
    }
}

fn products(starter: f64, gypsum: f64, lime: f64, units: UnitSystem) -> Vec<ProductUse> {
    let ton = MoneyPerMass::parse("45 USD/ton").expect("a price");
    let dry_product = |name: &str, label: &str, kilograms: f64| ProductUse {
        name: name.into(),
        label: label.to_owned(),
        form: Metering::Dry,
        price: Some(Price::PerMass(ton)),
        price_source: PriceSource::Given,
        density: None,
        step: ProductRate::Mass(dry(10.0, units)),
        total_mass: Mass::from_kilograms(kilograms),
        total_volume: Volume::ZERO,
        pack: None,
        is_organic_input: true,
        cautions: vec!["Dust irritates eyes and lungs: mask and goggles when loading.".to_owned()],
    };
    let starter = ProductUse {
        name: "starter".into(),
        label: "Starter".to_owned(),
        form: Metering::Liquid,
        price: Some(Price::PerVolume(
            MoneyPerVolume::parse("4.2 USD/gal").expect("a price"),
        )),
        price_source: PriceSource::Given,
        density: Some(Density::from_kilograms_per_litre(1.12)),
        step: ProductRate::Volume(liquid(0.1, units)),
        total_mass: Mass::ZERO,
        total_volume: Volume::from_litres(starter),
        pack: None,
        is_organic_input: true,
        cautions: vec!["Keep it moving: it settles.".to_owned()],
    };
    vec![
        starter,
        dry_product("gypsum", "Gypsum", gypsum),
        dry_product("lime", "Ag lime", lime),
    ]
}

fn recipe(litres: f64) -> Recipe {
    let tank = 150.0;
    let full = (litres / tank).floor();
    let rest = litres - full * tank;
    let ingredient =
        |product: &str, label: &str, volume_share: f64, kilograms_per_litre: f64, is_dry: bool| {
            Ingredient {
                product: product.to_owned(),
                label: label.to_owned(),
                volume_share,
                kilograms_per_litre,
                total_mass: Mass::from_kilograms(litres * kilograms_per_litre),
                total_volume: if is_dry {
                    Volume::ZERO
                } else {
                    Volume::from_litres(litres * volume_share)
                },
                is_dry,
                price: Some(Price::PerMass(MoneyPerMass::from_dollars_per_kilogram(
                    if product == "water" { 0.0 } else { 0.9 },
                ))),
                price_source: PriceSource::Given,
                pack: (product == "fish").then(|| ("275 gal tote".to_owned(), 1_041.0)),
            }
        };
    let ingredients = vec![
        ingredient("water", "Water, half", 0.30, 0.30, false),
        ingredient("fish", "Liquid fish, acidified", 0.40, 0.45, false),
        ingredient("molasses", "Cane molasses", 0.28, 0.39, false),
        ingredient("rock", "Soft rock phosphate, fine", 0.02, 0.05, true),
    ];
    let load = |count: u32, volume: f64| Load {
        count,
        volume: Volume::from_litres(volume),
        mass: Mass::from_kilograms(volume * 1.19),
        amounts: ingredients
            .iter()
            .map(|i| {
                volume
                    * if i.is_dry {
                        i.kilograms_per_litre
                    } else {
                        i.volume_share
                    }
            })
            .collect(),
    };
    Recipe {
        product: "starter".into(),
        name: "invented fish and molasses".to_owned(),
        loads: [load(full as u32, tank), load(1, rest)].into_iter().filter(|load| load.count > 0).collect(),
        ingredients,
        density: Density::from_kilograms_per_litre(1.19),
        range: (VolumePerArea::from_litres_per_hectare(18.0), VolumePerArea::from_litres_per_hectare(56.0)),
        seed_salt: MassPerArea::from_kilograms_per_hectare(1.3),
        seed_salt_per_litre: 0.1,
        seed_salt_limit: MassPerArea::from_kilograms_per_hectare(9.0),
        seed_salt_source: "invented for the tests (seed salt)".to_owned(),
        notes: vec!["Agitate from the first gallon to the last; 50 mesh before the pump; jar test at field proportions.".to_owned()],
    }
}

fn zone_rates(place: usize, zone: usize, units: UnitSystem) -> ZoneRates {
    let names = ["starter", "gypsum", "lime"];
    let rates = rates_of(place, units);
    let cost = MoneyPerArea::from_dollars_per_hectare([81.0, 44.6, 200.2][place]);
    let reason = [
        "C:N ratio 9.4 is below the limit of 12, so the starter is held back; carbon first.",
        "Cone index 352 psi is above the limit of 300 psi; the starter is open at 4.3 gal/ac.",
        "pH 5.7 is below the limit of 6.0; lime and a full starter pay here.",
    ][place];
    ZoneRates {
        do_first: format!("Do what zone {} needs", place + 1),
        not_known: Vec::new(),
        number: place as u32 + 1,
        zone,
        rates: names
            .iter()
            .zip(rates)
            .map(|(name, amount)| rate(name, amount, place))
            .collect(),
        fixes: fixes(place),
        reason: reason.to_owned(),
        cost,
        unmet: Vec::new(),
        cautions: if place == 0 {
            vec!["No starter here: lay a check strip to see whether that is right.".to_owned()]
        } else {
            Vec::new()
        },
    }
}

fn twice(amount: ProductRate) -> ProductRate {
    match amount {
        ProductRate::Volume(volume) => ProductRate::Volume(VolumePerArea::from_litres_per_hectare(
            2.0 * volume.litres_per_hectare(),
        )),
        ProductRate::Mass(mass) => ProductRate::Mass(MassPerArea::from_kilograms_per_hectare(
            2.0 * mass.kilograms_per_hectare(),
        )),
    }
}

fn rate(name: &str, amount: ProductRate, place: usize) -> Rate {
    let is_held_back = place == 0 && name == "starter";
    let is_spread_out = place == 2 && name == "lime";
    Rate {
        strip: None,
        cap: None,
        least: None,
        disputed: None,
        gate: None,
        aim: None,
        cut: None,
        own: None,
        product: name.into(),
        amount,
        needed: if is_spread_out { twice(amount) } else { amount },
        steps: if amount.is_zero() {
            Vec::new()
        } else {
            vec![format!(
                "{name}: need x depth / purity, rounded to the step (invented arithmetic)"
            )]
        },
        note: is_held_back.then(|| "Held back: the C:N ratio closes the starter.".to_owned()),
        seasons_after: u8::from(is_spread_out),
        overridden: None,
    }
}

fn fixes(place: usize) -> Vec<Fix> {
    let fix =
        |name: &str, what: &str, factor, product: Option<&str>, cost: f64, severity: f64| Fix {
            name: name.to_owned(),
            what: what.to_owned(),
            factor,
            product: product.map(Into::into),
            is_test: false,
            cost: MoneyPerArea::from_dollars_per_hectare(cost),
            years: 1.0,
            cost_a_year: MoneyPerArea::from_dollars_per_hectare(cost),
            effort: 2.0,
            seasons: 1.0,
            severity,
            score: severity / (cost / 100.0 + 0.4),
            arithmetic: format!(
                "{severity} / ({cost} USD/ha / 100 + effort 2 x 0.2) = {:.2}",
                severity / (cost / 100.0 + 0.4)
            ),
            after: Vec::new(),
            basis: Basis::CommonPractice,
            left_out: false,
        };
    let cover = |severity| {
        fix(
            "cover-crop",
            "Grow a deep-rooted cover crop",
            Factor::Carbon,
            None,
            62.0,
            severity,
        )
    };
    let loosen = |severity| {
        fix(
            "loosen",
            "Loosen to 14 in when the soil crumbles",
            Factor::Air,
            None,
            55.0,
            severity,
        )
    };
    let lime = |severity| {
        fix(
            "lime",
            "Spread lime",
            Factor::Acidity,
            Some("lime"),
            84.0,
            severity,
        )
    };
    match place {
        0 => vec![cover(0.72), loosen(0.31), lime(0.12)],
        1 => vec![
            fix(
                "wheels",
                "Keep wheels off wet ground",
                Factor::Air,
                None,
                0.0,
                0.44,
            ),
            loosen(0.44),
        ],
        _ => vec![lime(0.26)],
    }
}
