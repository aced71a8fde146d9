//! A field of zones made by hand (invented): a row of zones, each of 16 cells, with values that the test sets.

use std::sync::Arc;

use geo::MultiPolygon;
use lowstave::analyte::{Analyte, DepthRange, LayerKey, Method};
use lowstave::diagnosis::{Diagnosis, ZoneDiagnosis, diagnose};
use lowstave::field::{Field, FieldLayer, Grid, Places, WorkingCrs};
use lowstave::intake::ConeProfiles;
use lowstave::plan::{PointKind, Settings};
use lowstave::rates::{Prescription, Rate, RatesError, ZoneRates, prescribe};
use lowstave::rulebook::Rulebook;
use lowstave::surface::{Flat, Map, Surface, Surfaces};
use lowstave::units::{KILOPASCALS_PER_PSI, Length, Quantity, UnitSystem};
use lowstave::zones::{Zone, Zones};

/// Cells of a zone.
const CELLS: usize = 16;

/// The made field.
#[derive(Clone)]
pub(crate) struct Made {
    pub settings: Settings,
    pub field: Field,
    pub surfaces: Surfaces,
    pub zones: Zones,
}

pub(crate) fn key(analyte: Analyte, method: &str, depth: &str) -> LayerKey {
    let depth = (!depth.is_empty()).then(|| DepthRange::parse(depth, None).expect("a depth"));
    LayerKey::new(
        analyte,
        (!method.is_empty()).then(|| Method::new(method)),
        depth,
    )
}

impl Made {
    /// Zones of these hectares.
    pub fn new(hectares: &[f64]) -> Self {
        let count = hectares.len();
        let mut settings = super::made_surveys::settings(10.0);
        settings.units = UnitSystem::UnitedStates;
        let columns = count * CELLS;
        let grid = Grid {
            west: 0.0,
            north: 10.0,
            cell: 10.0,
            columns,
            rows: 1,
            cells: (0..columns as u32).collect(),
            share: vec![1.0; columns],
        };
        let area: f64 = hectares.iter().sum::<f64>() * 10_000.0;
        let field = Field {
            crs: WorkingCrs::centred_on(-96.5, 41.2),
            boundary: MultiPolygon::new(Vec::new()),
            workable: MultiPolygon::new(Vec::new()),
            kept_out: Vec::new(),
            area_m2: area,
            workable_m2: area,
            grid,
            places: Vec::new(),
            layers: Vec::new(),
            cones: Vec::new(),
            remarks: Vec::new(),
        };
        let zone = |hectares: &f64| Zone {
            shape: MultiPolygon::new(Vec::new()),
            lonlat: MultiPolygon::new(Vec::new()),
            area_m2: hectares * 10_000.0,
        };
        let zones = Zones {
            of_cell: (0..columns).map(|cell| (cell / CELLS) as u16).collect(),
            zones: hectares.iter().map(zone).collect(),
            layers: Vec::new(),
            components: Vec::new(),
            drawn: Vec::new(),
            undrawn: Vec::new(),
            tried: Vec::new(),
            why: String::new(),
            remarks: Vec::new(),
        };
        Self {
            settings,
            field,
            surfaces: Surfaces {
                odd_cores: Vec::new(),
                surfaces: Vec::new(),
                remarks: Vec::new(),
            },
            zones,
        }
    }

    /// One zone of 10 ha.
    pub fn one() -> Self {
        Self::new(&[10.0])
    }

    /// A layer with one value in each zone, a `standard_error` of a tenth of a per mille, and four observations in each zone.
    pub fn layer(self, key: LayerKey, unit: &str, values: &[f64]) -> Self {
        self.doubtful_layer(key, unit, values, 1e-4, 4)
    }

    /// A layer with a relative `standard_error` in each cell and a number of observations in each zone.
    pub fn doubtful_layer(
        mut self,
        key: LayerKey,
        unit: &str,
        values: &[f64],
        standard_error: f64,
        cores: usize,
    ) -> Self {
        assert_eq!(values.len(), self.zones.zones.len());
        let of_cell = |cell: usize| values[cell / CELLS];
        let cells = self.field.grid.cells.len();
        self.surfaces.surfaces.push(Surface {
            logs: None,
            mean_error: None,
            key: key.clone(),
            unit: unit.into(),
            method: lowstave::surface::Method::InverseDistance,
            power: 2.0,
            neighbours: None,
            skill: None,
            map: Map::Drawn {
                values: (0..cells).map(|cell| of_cell(cell) as f32).collect(),
                standard_error: (0..cells)
                    .map(|cell| (of_cell(cell).abs() * standard_error) as f32)
                    .collect(),
            },
        });
        self.surfaces.surfaces.sort_by(|a, b| a.key.cmp(&b.key));
        let places = self.places(&vec![cores; values.len()], PointKind::Cores);
        self.field.layers.push(FieldLayer {
            key,
            places,
            column: "made".into(),
            unit: unit.into(),
            values: values
                .iter()
                .flat_map(|value| vec![*value; cores])
                .collect(),
            qualified: Vec::new(),
            derived: false,
        });
        self
    }

    /// A layer with one value for the whole field.
    pub fn flat_layer(
        mut self,
        key: LayerKey,
        unit: &str,
        value: f64,
        standard_error: f64,
    ) -> Self {
        let map = Map::Flat {
            value,
            standard_error,
            why: Flat::NoSkill,
        };
        self.surfaces.surfaces.push(Surface {
            logs: None,
            mean_error: None,
            key,
            unit: unit.into(),
            method: lowstave::surface::Method::InverseDistance,
            power: 2.0,
            neighbours: None,
            skill: None,
            map,
        });
        self.surfaces.surfaces.sort_by(|a, b| a.key.cmp(&b.key));
        self
    }

    /// A layer with a value in each cell.
    pub fn cell_layer(mut self, key: LayerKey, unit: &str, value: impl Fn(usize) -> f64) -> Self {
        let cells = self.field.grid.cells.len();
        let map = Map::Drawn {
            values: (0..cells).map(|cell| value(cell) as f32).collect(),
            standard_error: vec![0.01; cells],
        };
        self.surfaces.surfaces.push(Surface {
            logs: None,
            mean_error: None,
            key,
            unit: unit.into(),
            method: lowstave::surface::Method::InverseDistance,
            power: 2.0,
            neighbours: None,
            skill: None,
            map,
        });
        self.surfaces.surfaces.sort_by(|a, b| a.key.cmp(&b.key));
        self
    }

    /// Pushes of the cone in psi at 2, 4, 6, 9, 12 and 15 in, zone by zone, with their layers; the last reading that is given is repeated downward.
    pub fn pushes(mut self, zones: &[&[&[f64]]], moisture: Option<&str>) -> Self {
        const MARKS: [f64; 6] = [2.0, 4.0, 6.0, 9.0, 12.0, 15.0];
        let counts: Vec<usize> = zones.iter().map(|pushes| pushes.len()).collect();
        let places = self.places(&counts, PointKind::Cone);
        let reading = |push: &[f64], mark: usize| {
            push.get(mark).or(push.last()).copied().unwrap_or(f64::NAN) * KILOPASCALS_PER_PSI
        };
        let all: Vec<&[f64]> = zones
            .iter()
            .flat_map(|pushes| pushes.iter().copied())
            .collect();
        self.field.cones.resize(places, None);
        self.field.cones.push(Some(ConeProfiles {
            depths: MARKS
                .iter()
                .map(|inches| Length::from_metres(inches * 0.0254))
                .collect(),
            kilopascals: all
                .iter()
                .flat_map(|push| (0..MARKS.len()).map(|mark| reading(push, mark)))
                .collect(),
            refused: vec![None; all.len()],
            moisture: moisture.map(str::to_owned),
        }));
        for (mark, inches) in MARKS.iter().enumerate() {
            let top = if mark == 0 { 0.0 } else { MARKS[mark - 1] };
            let key = key(Analyte::ConeIndex, "profile", &format!("{top}-{inches} in"));
            let mean = |pushes: &[&[f64]]| {
                pushes.iter().map(|push| reading(push, mark)).sum::<f64>() / pushes.len() as f64
            };
            let means: Vec<f64> = zones.iter().map(|pushes| mean(pushes)).collect();
            let cells = self.field.grid.cells.len();
            let values: Vec<f32> = (0..cells).map(|cell| means[cell / CELLS] as f32).collect();
            let standard_error = values.iter().map(|value| value * 1e-4).collect();
            let map = Map::Drawn {
                values,
                standard_error,
            };
            self.surfaces.surfaces.push(Surface {
                logs: None,
                mean_error: None,
                key: key.clone(),
                unit: "kPa".into(),
                method: lowstave::surface::Method::InverseDistance,
                power: 2.0,
                neighbours: None,
                skill: None,
                map,
            });
            self.field.layers.push(FieldLayer {
                key,
                places,
                column: Arc::from("d"),
                unit: "kPa".into(),
                values: all.iter().map(|push| reading(push, mark)).collect(),
                qualified: Vec::new(),
                derived: false,
            });
        }
        self.surfaces.surfaces.sort_by(|a, b| a.key.cmp(&b.key));
        self
    }

    /// Places inside the zones, so many in each.
    fn places(&mut self, counts: &[usize], kind: PointKind) -> usize {
        let mut x = Vec::new();
        for (zone, count) in counts.iter().enumerate() {
            x.extend((0..*count).map(|at| (zone * CELLS + at % CELLS) as f64 * 10.0 + 5.0));
        }
        self.field.places.push(Places {
            file: "made.csv".into(),
            kind,
            y: vec![5.0; x.len()],
            row: (0..x.len() as u32).map(|at| at + 2).collect(),
            x,
            id: None,
            outside: Vec::new(),
        });
        self.field.cones.resize(self.field.places.len(), None);
        self.field
            .cones
            .truncate(self.field.places.len() - usize::from(kind == PointKind::Cone));
        self.field.places.len() - 1
    }

    pub fn settings(mut self, change: impl FnOnce(&mut Settings)) -> Self {
        change(&mut self.settings);
        self
    }

    pub fn diagnosis(&self, rulebook: &Rulebook) -> Diagnosis {
        diagnose(
            &self.settings,
            &self.field,
            &self.surfaces,
            &self.zones,
            rulebook,
        )
        .expect("a diagnosis")
    }

    pub fn diagnosed(&self) -> Vec<ZoneDiagnosis> {
        self.diagnosis(&Rulebook::built_in()).zones
    }

    pub fn prescribed_by(&self, rulebook: &Rulebook) -> Prescription {
        self.prescribed_with(&self.diagnosis(rulebook), rulebook)
            .expect("a prescription")
    }

    /// The prescription for a diagnosis, which need not be of these zones.
    pub fn prescribed_with(
        &self,
        diagnosis: &Diagnosis,
        rulebook: &Rulebook,
    ) -> Result<Prescription, Vec<RatesError>> {
        prescribe(
            &self.settings,
            &self.field,
            &self.surfaces,
            &self.zones,
            diagnosis,
            rulebook,
        )
    }

    pub fn prescribed(&self) -> Prescription {
        self.prescribed_by(&Rulebook::built_in())
    }

    /// A soil with nothing wrong: corn on medium ground.
    pub fn sound(self) -> Self {
        let all = |value: f64| vec![value; self.zones.zones.len()];
        let layers: Vec<(LayerKey, &str, f64)> = vec![
            (
                key(Analyte::CarbonNitrogenRatio, "water-extract", "0-6 in"),
                "ratio",
                18.0,
            ),
            (key(Analyte::Ph, "water", "0-6 in"), "pH", 6.6),
            (key(Analyte::BufferPh, "smp", "0-6 in"), "pH", 6.8),
            (key(Analyte::Phosphorus, "mehlich-3", "0-6 in"), "ppm", 40.0),
            (
                key(Analyte::CalciumSaturation, "ammonium-acetate", "0-6 in"),
                "%",
                70.0,
            ),
            (
                key(Analyte::MagnesiumSaturation, "ammonium-acetate", "0-6 in"),
                "%",
                13.0,
            ),
            (
                key(Analyte::SodiumSaturation, "ammonium-acetate", "0-6 in"),
                "%",
                1.0,
            ),
            (
                key(Analyte::CationExchangeCapacity, "sum", "0-6 in"),
                "meq/100 g",
                15.0,
            ),
            (
                key(Analyte::Magnesium, "ammonium-acetate", "0-6 in"),
                "ppm",
                200.0,
            ),
        ];
        layers
            .into_iter()
            .fold(self.clone(), |made, (key, unit, value)| {
                made.layer(key, unit, &all(value))
            })
    }

    /// The same field with other values of a layer that it has.
    #[allow(
        clippy::needless_pass_by_value,
        reason = "a test reads better without the borrow"
    )]
    pub fn with(mut self, analyte: Analyte, values: &[f64]) -> Self {
        let surface = self
            .surfaces
            .surfaces
            .iter()
            .find(|surface| surface.key.analyte == analyte)
            .expect("the layer")
            .clone();
        self.surfaces
            .surfaces
            .retain(|other| other.key != surface.key);
        self.field.layers.retain(|layer| layer.key != surface.key);
        self.layer(surface.key, &surface.unit, values)
    }
}

/// The rate of a product in a zone, in customary United States units; 0 where the prescription has no such product.
pub(crate) fn rate(zone: &ZoneRates, product: &str) -> f64 {
    find(zone, product).map_or(0.0, |rate| rate.amount.number_in(UnitSystem::UnitedStates))
}

pub(crate) fn find<'a>(zone: &'a ZoneRates, product: &str) -> Option<&'a Rate> {
    zone.rates.iter().find(|rate| rate.product == product)
}

pub(crate) fn quantity<Q: Quantity>(text: &str) -> Q {
    Q::parse(text).expect("a quantity")
}
