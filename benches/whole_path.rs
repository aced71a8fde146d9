//! The library's path on the samples, stage by stage and as a whole, up to the bytes of every file; nothing is written.
//!
//! The values that a stage takes are made outside the timed part.
#![allow(missing_docs, clippy::expect_used)]

use std::hint::black_box;
use std::path::{Path, PathBuf};

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use lowstave::Files;
use lowstave::choice::Worth;
use lowstave::deliver::{self, DeliverOptions, Delivery, SeasonValues, StageValues};
use lowstave::diagnosis::{self, Diagnosis};
use lowstave::field::{self, Field};
use lowstave::intake::{self, Survey};
use lowstave::plan::{self, Settings};
use lowstave::rates::{self, Prescription};
use lowstave::rulebook::Rulebook;
use lowstave::surface::{self, Surfaces};
use lowstave::trial::StripPlan;
use lowstave::zones::{self, Zones};

/// The value of every stage but the last.
struct Values {
    files: Files,
    settings: Settings,
    rulebook: Rulebook,
    field: Field,
    surfaces: Surfaces,
    zones: Zones,
    diagnosis: Diagnosis,
    prescription: Prescription,
}

impl Values {
    fn of(plan: &Path) -> Self {
        let files = Files::folder("");
        let (settings, _) = plan::read(&files, plan).expect("a sample's plan");
        let files = files.beside(plan);
        let rulebook =
            Rulebook::load(&files, None, settings.rules.as_deref()).expect("a sound rulebook");
        let field = field::lay_out(survey(&files, &settings), &settings).expect("a sample's field");
        let surfaces = surface::interpolate(&field, &settings.surface).expect("surfaces");
        let zones = zones::delineate(&field, &surfaces, &settings).expect("zones");
        let diagnosis = diagnosis::diagnose(&settings, &field, &surfaces, &zones, &rulebook)
            .expect("a diagnosis");
        let prescription =
            rates::prescribe(&settings, &field, &surfaces, &zones, &diagnosis, &rulebook)
                .expect("rates");
        Self {
            files,
            settings,
            rulebook,
            field,
            surfaces,
            zones,
            diagnosis,
            prescription,
        }
    }

    fn delivery(&self) -> Delivery {
        let worth = Worth::default();
        let strips = StripPlan::default();
        let past = SeasonValues::default();
        let case = StageValues {
            settings: &self.settings,
            field: &self.field,
            inputs: &[],
            surfaces: &self.surfaces,
            zones: &self.zones,
            diagnosis: &self.diagnosis,
            prescription: &self.prescription,
            strips: &strips,
            offer: None,
            worth: &worth,
            rulebook: &self.rulebook,
            past: &past,
            remarks: &[],
            timings: &[],
        };
        deliver::prepare(&case, &DeliverOptions::default()).expect("files")
    }
}

fn survey(files: &Files, settings: &Settings) -> Survey {
    intake::read(files, settings, 7.3).expect("a sample's files")
}

fn stages(criterion: &mut Criterion) {
    for (sample, plan) in samples() {
        let v = Values::of(&plan);
        let mut group = criterion.benchmark_group(sample);
        group.sample_size(10);
        group.bench_function("plan", |b| {
            b.iter(|| plan::read(&Files::folder(""), black_box(&plan)));
        });
        group.bench_function("intake", |b| {
            b.iter(|| survey(&v.files, black_box(&v.settings)));
        });
        group.bench_function("field", |b| {
            b.iter_batched(
                || survey(&v.files, &v.settings),
                |survey| field::lay_out(survey, &v.settings),
                BatchSize::LargeInput,
            );
        });
        group.bench_function("surface", |b| {
            b.iter(|| surface::interpolate(black_box(&v.field), &v.settings.surface));
        });
        group.bench_function("zones", |b| {
            b.iter(|| zones::delineate(black_box(&v.field), &v.surfaces, &v.settings));
        });
        group.bench_function("diagnosis", |b| {
            b.iter(|| {
                diagnosis::diagnose(
                    black_box(&v.settings),
                    &v.field,
                    &v.surfaces,
                    &v.zones,
                    &v.rulebook,
                )
            });
        });
        group.bench_function("rates", |b| {
            b.iter(|| {
                rates::prescribe(
                    black_box(&v.settings),
                    &v.field,
                    &v.surfaces,
                    &v.zones,
                    &v.diagnosis,
                    &v.rulebook,
                )
            });
        });
        group.bench_function("deliver", |b| b.iter(|| black_box(&v).delivery()));
        group.finish();
    }
}

fn whole_path(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("whole path");
    group.sample_size(10);
    for (sample, plan) in samples() {
        group.bench_function(sample, |b| {
            b.iter(|| Values::of(black_box(&plan)).delivery());
        });
    }
    group.finish();
}

fn samples() -> [(&'static str, PathBuf); 2] {
    let plan = |folder: &str| {
        Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("samples")
            .join(folder)
            .join("plan.toml")
    };
    [
        ("alder-flat", plan("alder-flat")),
        ("open-field", plan("open-field")),
    ]
}

criterion_group!(benches, stages, whole_path);
criterion_main!(benches);
