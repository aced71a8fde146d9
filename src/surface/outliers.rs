//! Cores that their neighbours contradict. They are shown, never dropped: a hot spot and a swapped bag look alike.

use super::exchanged::{Exchange, Fitted};
use super::inverse_distance::Power;
use super::joined::Joined;
use super::leave_one_out::Prediction;
use super::left_out::LeftOut;
use super::scale::Scale;
use super::sites::Sites;
use super::standard_error::harmonic_squared;
use super::standard_error_curve::StandardErrorCurve;
use super::surfaces::OddCore;
use crate::field::{Field, FieldLayer};
use crate::order_statistics::median;
use crate::plan::PointKind;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::significant;

/// Least distance from the median that is worth a look, in standard deviations made from the median absolute deviation.
///
/// # Source
/// Iglewicz, B. and D.C. Hoaglin. 1993. How to Detect and Handle Outliers. ASQC Quality Press (from memory).
const LEAST_Z: f64 = 3.5;
/// A median absolute deviation is this share of a normal standard deviation.
const MAD_PER_SD: f64 = 0.674_5;
/// Most cores named per layer.
const MOST_NAMED: usize = 5;
/// Most layers told of a core.
const MOST_TOLD: usize = 4;
/// What a core without a name is called.
const NAMELESS: &str = "the core";
/// Fewer places than this cannot tell what is usual.
const FEWEST: usize = 12;

/// A place whose observation is far from what the others predict.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Outlier {
    place: usize,
    observed: f64,
    predicted: f64,
    z: f64,
}

/// What decides how a layer's places are predicted.
pub(super) struct Checked<'a> {
    /// The sites.
    pub sites: &'a Sites,
    /// The places left out.
    pub left_out: &'a LeftOut,
    /// The layer.
    pub layer: &'a Joined<'a>,
    /// Its values by observation.
    pub values: &'a [f64],
    /// Power of the inverse distance.
    pub power: Power,
    /// How many nearest sites.
    pub count: usize,
    /// What error is to be expected where.
    pub curve: StandardErrorCurve,
}

impl Checked<'_> {
    /// An error at a place, as a multiple of what is to be expected so far from its neighbours.
    fn relative(&self, place: usize, error: f64) -> f64 {
        let expected = self
            .curve
            .at(harmonic_squared(self.left_out.near(place), self.count));
        if expected > 0.0 {
            error / expected
        } else {
            error
        }
    }
}

/// A core that its neighbours contradict in one layer.
#[derive(Debug, Clone)]
pub(super) struct Suspect {
    /// The core and the layer.
    pub core: OddCore,
    z: f64,
    /// "sodium, 0-2 in 495 ppm where its neighbours suggest 69.3 ppm".
    what: String,
}

/// The cores that stand out most in a layer; readings of sensors are summed up in one remark.
pub(super) fn look(field: &Field, checked: &Checked<'_>) -> (Vec<Suspect>, Option<Remark>) {
    let found = find(checked);
    if found.is_empty() {
        return (Vec::new(), None);
    }
    let key = checked.layer.key;
    if checked
        .layer
        .parts
        .iter()
        .any(|part| field.places[part.places].kind == PointKind::Readings)
    {
        let what = format!(
            "{} of {} readings of {key} differ much from those around them",
            found.len(),
            checked.left_out.len()
        );
        let note = Remark::info("spatial-outliers", what)
            .help("no reading was dropped; clean the file if this is more than you expect");
        return (Vec::new(), Some(note));
    }
    let suspects = found
        .iter()
        .take(MOST_NAMED)
        .map(|outlier| suspect(field, checked, outlier))
        .collect();
    let more = found.len().checked_sub(MOST_NAMED).filter(|more| *more > 0);
    let note = more.map(|more| {
        Remark::info(
            "spatial-outliers",
            format!("{more} more cores differ much from their neighbours in {key}"),
        )
    });
    (suspects, note)
}

fn suspect(field: &Field, checked: &Checked<'_>, outlier: &Outlier) -> Suspect {
    let unit = checked.layer.parts.first().map_or("", |part| &*part.unit);
    let show = |value: f64| {
        format!("{} {unit}", significant(value, 3))
            .trim_end()
            .to_owned()
    };
    let site = checked.left_out.sites[outlier.place] as usize;
    let (place, name, at) = whereabouts(field, checked.layer, checked.sites.source[site] as usize);
    let what = format!(
        "{} {} where its neighbours suggest {}",
        checked.layer.key,
        show(outlier.observed),
        show(outlier.predicted),
    );
    Suspect {
        core: OddCore {
            key: checked.layer.key.clone(),
            unit: unit.into(),
            name,
            place,
            at,
            observed: outlier.observed,
            predicted: outlier.predicted,
        },
        z: outlier.z.abs(),
        what,
    }
}

/// One remark for each core with all that its neighbours contradict, the one that stands out most first: a bag that was swapped is odd in
/// many layers and depths, and it is the core that is looked at.
pub(super) fn by_core(mut suspects: Vec<Suspect>) -> Vec<Remark> {
    suspects.sort_by(|a, b| {
        b.z.total_cmp(&a.z)
            .then_with(|| a.core.name.cmp(&b.core.name))
            .then_with(|| a.what.cmp(&b.what))
    });
    let mut cores: Vec<Vec<Suspect>> = Vec::new();
    for suspect in suspects {
        match cores.iter_mut().find(|known| {
            known
                .iter()
                .any(|other| other.is_of_the_same_core(&suspect))
        }) {
            Some(core) => core.push(suspect),
            None => cores.push(vec![suspect]),
        }
    }
    cores.iter().filter_map(|core| remark(core)).collect()
}

impl Suspect {
    /// Same name in the same file; without names the same row.
    fn is_of_the_same_core(&self, other: &Self) -> bool {
        let name = &self.core.name;
        match (&self.core.place, &other.core.place) {
            (Some(a), Some(b)) => {
                a.file == b.file && *name == other.core.name && (name != NAMELESS || a.row == b.row)
            }
            _ => false,
        }
    }
}

fn remark(core: &[Suspect]) -> Option<Remark> {
    let first = core.first()?;
    let told: Vec<&str> = core
        .iter()
        .take(MOST_TOLD)
        .map(|suspect| suspect.what.as_str())
        .collect();
    let more = core.len().checked_sub(MOST_TOLD).filter(|more| *more > 0);
    let more = more.map_or_else(String::new, |more| format!("; and {more} more"));
    let what = format!(
        "{} has {}{more}; kept, check for a mix-up",
        first.core.name,
        told.join("; ")
    );
    let remark = Remark::info("spatial-outlier", what)
        .help("keep it if the place is known to be different; test again or take the row out if the sample may have been mixed up");
    Some(match first.core.place.clone() {
        Some(place) => remark.at(place),
        None => remark,
    })
}

/// Row and column of an observation, what to call it, and where on the plane it lies.
fn whereabouts(
    field: &Field,
    layer: &Joined<'_>,
    observation: usize,
) -> (Option<Place>, String, (f64, f64)) {
    let mut index = observation;
    for part in &layer.parts {
        if index < part.values.len() {
            let places = &field.places[part.places];
            let mut place = Place::file(places.file.clone()).in_column(part.column.clone());
            if let Some(row) = places.row.get(index) {
                place = place.at_row(*row);
            }
            let name = places
                .id
                .as_ref()
                .and_then(|ids| ids.get(index))
                .map_or(NAMELESS.to_owned(), |id| format!("core {id}"));
            let on_plane = |along: &[f64]| along.get(index).copied().unwrap_or(f64::NAN);
            return (
                Some(place),
                name,
                (on_plane(&places.x), on_plane(&places.y)),
            );
        }
        index -= part.values.len();
    }
    (None, "a core".to_owned(), (f64::NAN, f64::NAN))
}

/// How a layer's cores fit their places, for a look at all layers together; `None` where the layer cannot tell what is usual, or holds readings.
pub(super) fn fitted(field: &Field, checked: &Checked<'_>) -> Option<Fitted> {
    let is_of_readings = |part: &&FieldLayer| field.places[part.places].kind == PointKind::Readings;
    if checked.left_out.len() < FEWEST || checked.layer.parts.iter().any(is_of_readings) {
        return None;
    }
    let scale = Scale::of(checked.left_out, checked.sites, checked.values);
    let values = scale.taken(checked.values);
    let prediction = predicted(checked, &values);
    let places = 0..checked.left_out.len();
    let relative = |place: usize| checked.relative(place, prediction.errors()[place]);
    let usual = Usual::of(&places.clone().map(relative).collect::<Vec<f64>>());
    let expected: Vec<f64> = places
        .map(|place| usual.spread / checked.relative(place, 1.0))
        .collect();
    let is_usable = expected
        .iter()
        .all(|error| error.is_finite() && *error > 0.0);
    is_usable.then(|| Fitted {
        observed: prediction.observed.clone(),
        predicted: prediction.predicted.clone(),
        expected,
    })
}

/// What is to be said of two cores that fit each other's places better than their own.
pub(super) fn exchange_remark(
    field: &Field,
    checked: &Checked<'_>,
    pair: &Exchange,
    layers: usize,
) -> Remark {
    let name_of = |place: usize| {
        let site = checked.left_out.sites[place] as usize;
        whereabouts(field, checked.layer, checked.sites.source[site] as usize)
    };
    let ((place, one, _), (_, other, _)) = (name_of(pair.places.0), name_of(pair.places.1));
    let what = format!(
        "{one} and {other} fit each other's places better than their own in {layers} layers together (mean square of the misfit {} as they \
         stand, {} exchanged): their bags may have been exchanged",
        significant(pair.before, 2),
        significant(pair.after, 2)
    );
    let remark = Remark::warning("cores-exchanged", what)
        .help("compare the numbers on the bags with the laboratory's sheet; if they were exchanged, exchange the names in the file");
    match place {
        Some(place) => remark.at(place),
        None => remark,
    }
}

fn predicted(checked: &Checked<'_>, values: &[f64]) -> Prediction {
    Prediction::new(
        checked.left_out,
        &checked.sites.source,
        values,
        checked.power,
        checked.count,
    )
}

/// The places that stand out, worst first.
fn find(checked: &Checked<'_>) -> Vec<Outlier> {
    if checked.left_out.len() < FEWEST {
        return Vec::new();
    }
    let scale = Scale::of(checked.left_out, checked.sites, checked.values);
    let values = scale.taken(checked.values);
    let prediction = predicted(checked, &values);
    let errors: Vec<f64> = prediction
        .errors()
        .iter()
        .enumerate()
        .map(|(place, error)| checked.relative(place, *error))
        .collect();
    let usual = Usual::of(&errors);
    if usual.spread <= 0.0 {
        return Vec::new();
    }
    let limit = least_z(errors.len());
    let mut found: Vec<Outlier> = Vec::new();
    for place in usual.beyond(&errors, limit) {
        // A wild core makes its neighbours look wild too: each is judged without those found before it.
        let wild: Vec<u32> = found
            .iter()
            .map(|outlier| checked.left_out.sites[outlier.place])
            .collect();
        let Some(predicted) = without(checked, &values, place, &wild) else {
            continue;
        };
        let observed = prediction.observed[place];
        let z = usual.z(checked.relative(place, predicted - observed));
        if z.abs() > limit {
            found.push(Outlier {
                place,
                observed: scale.back(observed),
                predicted: scale.back(predicted),
                z: -z,
            });
        }
    }
    found
}

/// What error is usual in a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Usual {
    middle: f64,
    spread: f64,
}

impl Usual {
    fn of(errors: &[f64]) -> Self {
        let (middle, spread) = middle_and_spread(errors);
        Self { middle, spread }
    }

    fn z(&self, error: f64) -> f64 {
        (error - self.middle) / self.spread
    }

    /// The places whose error is farther from the usual than the limit, the farthest first.
    fn beyond(&self, errors: &[f64], limit: f64) -> Vec<usize> {
        let z = |place: usize| self.z(errors[place]).abs();
        let mut places: Vec<usize> = (0..errors.len())
            .filter(|&place| z(place) > limit)
            .collect();
        places.sort_by(|&a, &b| z(b).total_cmp(&z(a)).then(a.cmp(&b)));
        places
    }
}

/// Prediction of a place from its neighbours but some.
fn without(checked: &Checked<'_>, values: &[f64], place: usize, wild: &[u32]) -> Option<f64> {
    let near: Vec<_> = checked
        .left_out
        .near(place)
        .iter()
        .copied()
        .filter(|n| !wild.contains(&n.site))
        .collect();
    let mut weights = Vec::new();
    checked.power.weigh(&near, checked.count, &mut weights);
    let all: f64 = weights.iter().sum();
    let sum: f64 = weights
        .iter()
        .zip(&near)
        .map(|(w, n)| w * values[checked.sites.source[n.site as usize] as usize])
        .sum();
    (all > 0.0).then_some(sum / all)
}

/// The limit rises with the number of places, so that chance alone names a core in few layers of any size. Own rule.
fn least_z(places: usize) -> f64 {
    LEAST_Z.max((2.0 * (20.0 * places as f64).ln()).sqrt())
}

/// Median, and a standard deviation made from the median absolute deviation.
fn middle_and_spread(errors: &[f64]) -> (f64, f64) {
    let median = |mut numbers: Vec<f64>| median(&mut numbers).unwrap_or(f64::NAN);
    let middle = median(errors.to_vec());
    let off = errors.iter().map(|e| (e - middle).abs()).collect();
    (middle, median(off) / MAD_PER_SD)
}

#[cfg(test)]
#[path = "outliers_tests.rs"]
mod tests;
