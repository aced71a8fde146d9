//! Values of stages that are kept from one run for the next: a stage whose files and settings are the same is not done again.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::demand::Demand;
use crate::choice::Worth;
use crate::diagnosis::Diagnosis;
use crate::field::Field;
use crate::files::Files;
use crate::intake::InputFile;
use crate::plan::{
    FixedOrAuto, MachineSettings, People, Settings, Supply, SurfaceSettings, WorkLimits,
    ZoneMethod, ZoneSettings, ZoneShape,
};
use crate::rates::Prescription;
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::surface::Surfaces;
use crate::units::{Area, Length, Speed, Volume, VolumeFlow};
use crate::zones::Zones;

/// Values that are kept of each stage: the saved plan, what is tried, and what was tried before.
const MOST: usize = 4;
/// Treatments are small, and going back to one that was looked at is common.
const MOST_TREATMENTS: usize = 16;

/// A few values of one stage, each with what it was made from; the one that was used longest ago gives way.
#[derive(Debug)]
pub(super) struct Shelf<K, V> {
    most: usize,
    values: Vec<(K, Arc<V>)>,
}

impl<K: PartialEq, V> Shelf<K, V> {
    fn new(most: usize) -> Self {
        Self {
            most,
            values: Vec::new(),
        }
    }

    /// The value that was made from the same, or a new one.
    pub fn get<E>(&mut self, key: K, make: impl FnOnce() -> Result<V, E>) -> Result<Arc<V>, E> {
        if let Some(at) = self.values.iter().position(|(known, _)| *known == key) {
            let found = self.values.remove(at);
            let value = Arc::clone(&found.1);
            self.values.push(found);
            return Ok(value);
        }
        let value = Arc::new(make()?);
        if self.most > 0 {
            if self.values.len() >= self.most {
                self.values.remove(0);
            }
            self.values.push((key, Arc::clone(&value)));
        }
        Ok(value)
    }
}

/// What is kept between runs.
#[derive(Debug)]
pub(super) struct Kept {
    pub rulebooks: Shelf<RulebookKey, Rulebook>,
    pub laid: Shelf<LaidKey, Laid>,
    pub surfaces: Shelf<SurfacesKey, Surfaces>,
    pub treated: Shelf<TreatedKey, Treated>,
}

impl Kept {
    /// For a run that stands alone.
    pub fn nothing() -> Self {
        Self::with_room(0, 0)
    }

    /// For runs that follow one another.
    pub fn some() -> Self {
        Self::with_room(MOST, MOST_TREATMENTS)
    }

    fn with_room(most: usize, treatments: usize) -> Self {
        Self {
            rulebooks: Shelf::new(most),
            laid: Shelf::new(most),
            surfaces: Shelf::new(most),
            treated: Shelf::new(treatments),
        }
    }
}

/// The state of some files. Files that cannot be told apart without reading them are never the same.
#[derive(Debug)]
pub(super) struct Stamps(Vec<(String, Option<String>)>);

impl PartialEq for Stamps {
    fn eq(&self, other: &Self) -> bool {
        self.0 == other.0 && self.0.iter().all(|(_, stamp)| stamp.is_some())
    }
}

impl Stamps {
    /// Of files and of all that lie beside them under the same name with another ending, as the parts of a shapefile do.
    fn new<'p>(files: &Files, named: impl Iterator<Item = &'p Path>) -> Self {
        let mut paths: Vec<PathBuf> = Vec::new();
        for path in named {
            let beside = files.names_beside(path).into_iter();
            let parts = beside.filter(|name| Path::new(name).file_stem() == path.file_stem());
            paths.extend(parts.map(|name| path.with_file_name(name)));
            paths.push(path.to_owned());
        }
        paths.sort();
        paths.dedup();
        let stamped = paths
            .iter()
            .map(|path| (path.display().to_string(), files.stamp(path)));
        Self(stamped.collect())
    }
}

/// What a rulebook is made from.
#[derive(Debug, PartialEq)]
pub(super) struct RulebookKey {
    settings: Settings,
    stamps: Stamps,
}

impl RulebookKey {
    pub fn new(files: &Files, settings: &Settings) -> Self {
        let mut own = of_the_ground(settings);
        own.rules.clone_from(&settings.rules);
        own.supply = settings.supply.clone();
        own.points = Vec::new();
        Self {
            settings: own,
            stamps: Stamps::new(files, settings.rules.iter().map(PathBuf::as_path)),
        }
    }
}

/// The files as they were read and laid out on the field.
#[derive(Debug)]
pub(super) struct Laid {
    pub field: Arc<Field>,
    /// The files that were read, without the plan and the user's rulebook.
    pub inputs: Vec<InputFile>,
    /// What reading them gave to say.
    pub remarks: Vec<Remark>,
    pub demand: Demand,
}

/// What a laid out field is made from.
#[derive(Debug, PartialEq)]
pub(super) struct LaidKey {
    settings: Settings,
    free_lime_ph: f64,
    stamps: Stamps,
}

impl LaidKey {
    pub fn new(files: &Files, settings: &Settings, free_lime_ph: f64) -> Self {
        let named = std::iter::once(&settings.boundary.file)
            .chain(settings.keep_outs.iter().map(|keep_out| &keep_out.file))
            .chain(settings.points.iter().map(|points| &points.file));
        Self {
            settings: of_the_ground(settings),
            free_lime_ph,
            stamps: Stamps::new(files, named.map(PathBuf::as_path)),
        }
    }
}

/// The settings without those that come after the field is laid out. What is not named here counts, so that a new key is never
/// overlooked.
fn of_the_ground(settings: &Settings) -> Settings {
    Settings {
        surface: SurfaceSettings::default(),
        zones: ZoneSettings {
            count: FixedOrAuto::Auto,
            layers: None,
            smallest: Area::ZERO,
            method: ZoneMethod::default(),
            seed: 0,
            tolerance: None,
            components: false,
            shape: ZoneShape::default(),
        },
        machine: MachineSettings {
            swath: Length::ZERO,
            row_spacing: Length::ZERO,
            heading: 0.0,
            speed: Speed::ZERO,
            tank: Volume::ZERO,
            flow_per_row: (VolumeFlow::ZERO, VolumeFlow::ZERO),
            liquid_step: None,
            dry_step: None,
        },
        rules: None,
        prices: Vec::new(),
        crop_price: None,
        strips: None,
        results: Vec::new(),
        past: Vec::new(),
        budget: None,
        overrides: Vec::new(),
        people: People::default(),
        supply: Supply::default(),
        limits: WorkLimits::default(),
        ..settings.clone()
    }
}

/// What maps are drawn from.
#[derive(Debug)]
pub(super) struct SurfacesKey {
    pub field: Arc<Field>,
    pub settings: SurfaceSettings,
}

impl PartialEq for SurfacesKey {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.field, &other.field) && self.settings == other.settings
    }
}

/// Zones with what they get and what they are worth.
#[derive(Debug, Clone)]
pub(super) struct Treated {
    pub zones: Zones,
    pub diagnosis: Diagnosis,
    pub prescription: Prescription,
    pub worth: Worth,
    pub remarks: Vec<Remark>,
}

/// What zones and rates follow from. The values that it points to are held, so that no other can come to lie at their place.
#[derive(Debug)]
pub(super) struct TreatedKey {
    pub field: Arc<Field>,
    pub surfaces: Arc<Surfaces>,
    pub rulebook: Arc<Rulebook>,
    settings: Settings,
}

impl TreatedKey {
    pub fn new(
        field: &Arc<Field>,
        surfaces: &Arc<Surfaces>,
        rulebook: &Arc<Rulebook>,
        settings: &Settings,
    ) -> Self {
        Self {
            field: Arc::clone(field),
            surfaces: Arc::clone(surfaces),
            rulebook: Arc::clone(rulebook),
            settings: Settings {
                strips: None,
                results: Vec::new(),
                past: Vec::new(),
                people: People::default(),
                limits: WorkLimits::default(),
                ..settings.clone()
            },
        }
    }
}

impl PartialEq for TreatedKey {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.field, &other.field)
            && Arc::ptr_eq(&self.surfaces, &other.surfaces)
            && Arc::ptr_eq(&self.rulebook, &other.rulebook)
            && self.settings == other.settings
    }
}
