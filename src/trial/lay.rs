//! Lays the check strips of a plan into its prescription, and says beforehand what they can show.

use geo::{Coord, LineString, MultiPolygon, Polygon};

use super::contrasts::TRIM;
use super::earlier_harvest::{self, EarlierHarvest, EarlierLines};
use super::error::TrialError;
use super::frame::Frame;
use super::lay_remarks::{fewer, header_assumed, no_room, passes_off_the_field};
use super::layout::{
    Check, Draw, FEWEST_CHECKS, Lengths, Rings, Room, Run, draw, passes_over, sites,
    with_trimmed_ends,
};
use super::machines::Machines;
use super::outlook::{Outlook, cost_change, zone_outlook};
use super::statistics::Scatter;
use super::strip_plan::{PlannedRate, ScatterSource, Strip, StripPlan, StripSet};
use super::treatment::{Treatment, treatments};
use crate::field::Field;
use crate::plan::{FixedOrAuto, Settings, StripSettings};
use crate::rates::Prescription;
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::zones::Zones;

/// Checks of a treatment where the plan says `auto` and nothing is known of the spread: four pairs (common practice; two are the least that say
/// anything).
const USUAL_COUNT: usize = 4;
/// No more than this many where the count is found from what is worth seeing.
const MOST_COUNT: usize = 12;
/// How far inside its zone a strip ends, metres; tried in this order until the whole strip lies in the zone.
const INSETS: [f64; 5] = [0.5, 1.0, 2.0, 5.0, 10.0];

/// What is laid, and what there is to say about it.
#[derive(Debug, Clone, Default)]
pub struct Laid {
    /// The strips; no set where none could be laid.
    pub plan: StripPlan,
    /// What this stage has to say.
    pub remarks: Vec<Remark>,
}

/// What a plan's strips are laid into.
#[derive(Debug, Clone, Copy)]
pub struct LayingGround<'a> {
    /// The plan.
    pub settings: &'a Settings,
    /// The field.
    pub field: &'a Field,
    /// Its zones.
    pub zones: &'a Zones,
    /// What goes where.
    pub prescription: &'a Prescription,
    /// The thresholds; the guess of the spread is one.
    pub rulebook: &'a Rulebook,
    /// An earlier harvest that tells how much neighbouring passes differ.
    pub earlier: Option<&'a EarlierHarvest>,
}

/// Everything that the strips are laid into.
struct Ground<'a> {
    settings: &'a Settings,
    field: &'a Field,
    zones: &'a Zones,
    prescription: &'a Prescription,
    asked: &'a StripSettings,
    machines: &'a Machines,
    passes: usize,
    spread: (f64, ScatterSource),
    /// Zones in which two products are left out together.
    joint_zones: Vec<u32>,
    /// The lines of an earlier harvest, and their scatter.
    earlier: Option<(EarlierLines<'a>, Scatter)>,
}

/// Lays the strips that a plan asks for. A plan without `[strips]` gets none.
///
/// # Errors
/// A product that the prescription does not have; a place that cannot be brought to degrees.
pub fn lay(ground: LayingGround<'_>) -> Result<Laid, Vec<TrialError>> {
    match &ground.settings.strips {
        Some(asked) => lay_asked(ground, asked),
        None => Ok(Laid::default()),
    }
}

/// Lays strips as if a plan asked for them: what a report can offer.
///
/// # Errors
/// As [`lay`].
pub fn lay_asked(ground: LayingGround<'_>, asked: &StripSettings) -> Result<Laid, Vec<TrialError>> {
    let LayingGround {
        settings,
        field,
        zones,
        prescription,
        rulebook,
        earlier,
    } = ground;
    let (treatments, mut remarks) = treatments(asked, prescription, settings.units)?;
    let swath_m = settings.machine.swath.metres();
    let (left_m, passes) = passes_over(&field.workable, settings.machine.heading, swath_m);
    let frame = Frame {
        heading: settings.machine.heading,
        left_m,
        swath_m,
    };
    let header_m = asked.header.unwrap_or(settings.machine.swath).metres();
    let machines = Machines::new(frame, header_m, asked.position_error.metres());
    let mut ground = Ground {
        settings,
        field,
        zones,
        prescription,
        asked,
        machines: &machines,
        passes,
        spread: spread(asked, rulebook),
        joint_zones: joint_zones(&treatments),
        earlier: None,
    };
    if let Some(harvest) = earlier {
        ground
            .measure(harvest, &mut remarks)
            .map_err(|error| vec![error])?;
    }
    remarks.extend(passes_off_the_field(asked, passes));
    let mut laid = Laid {
        plan: StripPlan::default(),
        remarks,
    };
    let mut taken: Vec<Check> = Vec::new();
    for treatment in &treatments {
        match ground.set(treatment, &taken).map_err(|error| vec![error])? {
            Some(set) => {
                laid.remarks.extend(fewer(asked, &set));
                taken.extend(set.draw.checks.iter().cloned());
                laid.plan.sets.push(set);
            }
            None => laid.remarks.push(no_room(treatment, asked)),
        }
    }
    if !laid.plan.sets.is_empty() {
        laid.remarks.extend(header_assumed(asked));
    }
    Ok(laid)
}

/// How much neighbouring passes differ, where no harvest says it.
fn spread(asked: &StripSettings, rulebook: &Rulebook) -> (f64, ScatterSource) {
    let guess = || rulebook.numbers.strip_spread.kilograms_per_hectare();
    match asked.spread {
        Some(spread) => (spread, ScatterSource::Plan),
        None => (guess(), ScatterSource::Guess),
    }
}

fn joint_zones(treatments: &[Treatment]) -> Vec<u32> {
    let joint = treatments.iter().filter(|treatment| treatment.is_joint);
    joint
        .flat_map(|treatment| treatment.zones.iter().map(|(zone, _)| *zone))
        .collect()
}

impl Ground<'_> {
    /// Takes the scatter from an earlier harvest, where it reaches enough passes.
    fn measure(
        &mut self,
        harvest: &EarlierHarvest,
        remarks: &mut Vec<Remark>,
    ) -> Result<(), TrialError> {
        let units = self.settings.units;
        let points = harvest.clean(self.machines, &self.settings.crop, units, remarks)?;
        let shortest_m = self.shortest_m();
        let zones = self.prescription.zones.iter();
        let shortest = Lengths {
            zones: zones.map(|zone| (zone.number, shortest_m)).collect(),
            shortest_m,
        };
        let sites = self.sites(&self.shapes());
        let positions: Vec<Vec<Run>> = sites.iter().map(|runs| shortest.pieces(runs)).collect();
        let found = EarlierLines::new(&points, self.machines)
            .and_then(|lines| Some((lines.anywhere(&positions)?, lines)));
        let scatter = found.as_ref().map(|(scatter, _)| scatter);
        remarks.push(earlier_harvest::remark(
            harvest,
            scatter,
            points.len(),
            shortest_m,
            units,
        ));
        if let Some((scatter, lines)) = found {
            self.spread = (scatter.sd, ScatterSource::Harvest);
            self.earlier = Some((lines, scatter));
        }
        Ok(())
    }

    fn sites(&self, shapes: &[(u32, &MultiPolygon<f64>)]) -> Vec<Vec<Run>> {
        sites(&self.field.workable, shapes, self.machines, self.passes)
    }

    fn set(&self, treatment: &Treatment, taken: &[Check]) -> Result<Option<StripSet>, TrialError> {
        if treatment.zones.is_empty() {
            return Ok(None);
        }
        let shapes = self.shapes();
        let all_sites = self.sites(&shapes);
        let mut sites = all_sites.clone();
        self.clear(&mut sites, taken);
        let outlook = Outlook {
            settings: self.settings,
            asked: self.asked,
            prescription: self.prescription,
            treatment,
            spread: self.spread.0,
        };
        let rooms = self.rooms(treatment);
        let frame = &self.machines.frame;
        let shapes: Vec<(u32, Rings)> = shapes
            .iter()
            .map(|(zone, shape)| (*zone, Rings::new(shape, frame)))
            .collect();
        let Some(drawn) = self.drawn(&outlook, &sites, &rooms, &shapes) else {
            return Ok(None);
        };
        let width_m = 2.0 * self.machines.half_width();
        Ok(Some(StripSet {
            treatment: treatment.name.clone(),
            products: treatment.products.clone(),
            gets_more: treatment.gets_more,
            machines: *self.machines,
            shortest_m: self.shortest_m(),
            elsewhere: self.elsewhere(&all_sites, &drawn),
            rates: self.rates(treatment),
            scatter: self.spread.1,
            zones: rooms
                .iter()
                .map(|room| zone_outlook(&outlook, room, &drawn, width_m, self.earlier.as_ref()))
                .collect(),
            strips: self.strips(&drawn, treatment)?,
            draw: drawn,
        }))
    }

    /// The rates that the treatment changes, zone by zone.
    fn rates(&self, treatment: &Treatment) -> Vec<PlannedRate> {
        let mut rates = Vec::new();
        for zone in &self.prescription.zones {
            let Some(own) = treatment.rates_in(zone.number) else {
                continue;
            };
            let products = self.prescription.products.iter();
            for ((rate, own), product) in zone.rates.iter().zip(own).zip(products) {
                if rate.amount != *own {
                    rates.push(PlannedRate {
                        zone: zone.number,
                        product: product.name.to_string(),
                        form: product.form,
                        in_zone: rate.amount.per_hectare(),
                        on_strips: own.per_hectare(),
                    });
                }
            }
        }
        rates
    }

    /// The shortest piece, its trimmed ends included.
    fn shortest_m(&self) -> f64 {
        with_trimmed_ends(self.asked.length.metres())
    }

    fn shapes(&self) -> Vec<(u32, &MultiPolygon<f64>)> {
        let zones = self.prescription.zones.iter();
        zones
            .map(|zone| (zone.number, &self.zones.zones[zone.zone].shape))
            .collect()
    }

    /// Among how many sets a zone's share is parted: a trial of two factors needs room for all three sets in the same zones.
    fn sets_in(&self, zone: u32) -> usize {
        let is_joint = self.joint_zones.contains(&zone);
        if is_joint {
            self.asked.treatments.len()
        } else {
            1
        }
    }

    /// The zones that a treatment changes, with their areas.
    fn rooms(&self, treatment: &Treatment) -> Vec<Room> {
        let zones = self.prescription.zones.iter();
        zones
            .filter(|zone| treatment.rates_in(zone.number).is_some())
            .map(|zone| Room {
                zone: zone.number,
                area_m2: self.zones.zones[zone.zone].area_m2,
                sets: self.sets_in(zone.number),
            })
            .collect()
    }

    /// The draw. Every check that is drawn must lie somewhere, so fewer are drawn where the zones have room for fewer.
    fn drawn(
        &self,
        outlook: &Outlook<'_>,
        sites: &[Vec<Run>],
        rooms: &[Room],
        shapes: &[(u32, Rings)],
    ) -> Option<Draw> {
        let (shortest_m, width_m) = (self.shortest_m(), 2.0 * self.machines.half_width());
        let seed = self
            .asked
            .seed
            .wrapping_add(u64::from(outlook.treatment.place));
        let wanted = match self.asked.count {
            FixedOrAuto::Fixed(count) => count,
            FixedOrAuto::Auto => outlook.count_for_worth(MOST_COUNT).max(USUAL_COUNT),
        };
        let pieces = |room: &Room| (room.longest_m(width_m) / shortest_m) as usize;
        let mut fitting: Vec<Room> = rooms.to_vec();
        fitting.retain(|room| pieces(room) >= FEWEST_CHECKS);
        fitting.sort_by(|a, b| b.area_m2.total_cmp(&a.area_m2).then(a.zone.cmp(&b.zone)));
        // What does not fit in all zones together may fit without the smallest.
        while !fitting.is_empty() {
            let most = wanted.min(fitting.iter().map(pieces).sum());
            let found = (FEWEST_CHECKS..=most).rev().find_map(|count| {
                let drawn = draw(sites, &fitting, self.machines, (count, shortest_m), seed)?;
                let drawn = self.inside_zones(drawn, shapes, shortest_m);
                let is_laid = |check: &Check| !check.pieces.is_empty();
                drawn.checks.iter().all(is_laid).then_some(drawn)
            });
            if found.is_some() {
                return found;
            }
            fitting.pop();
        }
        None
    }

    /// Takes out the passes that the plan names, and the stretches beside the checks of earlier sets.
    fn clear(&self, sites: &mut [Vec<Run>], taken: &[Check]) {
        let apart = self.machines.apart();
        let width = self.machines.check_passes;
        for (position, runs) in sites.iter_mut().enumerate() {
            // A check and the pass on either side of it stay off the named passes.
            let lanes = position.saturating_sub(1)..=position + width;
            let mut named = self.asked.avoid_passes.iter();
            if named.any(|pass| lanes.contains(&(pass - 1))) {
                runs.clear();
            }
            let near = taken
                .iter()
                .filter(|check| check.position.abs_diff(position) < apart);
            let pieces: Vec<&Run> = near.flat_map(|check| &check.pieces).collect();
            runs.retain(|run| {
                let is_clear =
                    |piece: &&Run| run.to_m < piece.from_m - TRIM || run.from_m > piece.to_m + TRIM;
                pieces.iter().all(is_clear)
            });
        }
    }

    /// The checks with every piece wholly inside its zone; a piece that cannot be brought inside is left out.
    fn inside_zones(&self, mut drawn: Draw, shapes: &[(u32, Rings)], shortest_m: f64) -> Draw {
        let half = self.machines.half_width();
        for check in &mut drawn.checks {
            let middle = self.machines.middle(check.position);
            let across = (middle - half, middle + half);
            let fitted = check.pieces.iter().filter_map(|piece| {
                let rings = &shapes.iter().find(|(zone, _)| *zone == piece.zone)?.1;
                INSETS.iter().find_map(|inset| {
                    let shorter = Run {
                        zone: piece.zone,
                        from_m: piece.from_m + inset,
                        to_m: piece.to_m - inset,
                    };
                    let is_inside = shorter.length() + 2.0 * INSETS[0]
                        >= shortest_m.min(piece.length() - 0.1)
                        && rings.holds((shorter.from_m, shorter.to_m), across);
                    is_inside.then_some(shorter)
                })
            });
            check.pieces = fitted.collect();
            if let Some(pieces) = drawn.positions.get_mut(check.position) {
                pieces.clone_from(&check.pieces);
            }
        }
        drawn
    }

    /// Stretches of any zone, each as long as the mean piece of the checks.
    fn elsewhere(&self, sites: &[Vec<Run>], drawn: &Draw) -> Vec<Vec<Run>> {
        let lengths: Vec<f64> = drawn
            .checks
            .iter()
            .flat_map(|check| &check.pieces)
            .map(Run::length)
            .collect();
        let mean = lengths.iter().sum::<f64>() / lengths.len().max(1) as f64;
        let zones = self.prescription.zones.iter();
        let whole = Lengths {
            zones: zones.map(|zone| (zone.number, mean)).collect(),
            shortest_m: self.shortest_m().min(mean),
        };
        sites.iter().map(|runs| whole.pieces(runs)).collect()
    }

    /// A piece on the field's plane.
    fn outline(&self, position: usize, piece: &Run) -> Polygon<f64> {
        let frame = &self.machines.frame;
        let (middle, half) = (self.machines.middle(position), self.machines.half_width());
        let corners = [
            (piece.from_m, middle - half),
            (piece.from_m, middle + half),
            (piece.to_m, middle + half),
            (piece.to_m, middle - half),
        ];
        let ring: Vec<Coord<f64>> = corners
            .iter()
            .map(|&(along, across)| frame.place(along, across).into())
            .collect();
        Polygon::new(LineString::new(ring), Vec::new())
    }

    fn strips(&self, drawn: &Draw, treatment: &Treatment) -> Result<Vec<Strip>, TrialError> {
        let pieces = drawn
            .checks
            .iter()
            .enumerate()
            .flat_map(|(at, check)| check.pieces.iter().map(move |piece| (at, check, piece)));
        pieces
            .map(|(at, check, piece)| self.strip(at, check, piece, treatment))
            .collect()
    }

    fn strip(
        &self,
        at: usize,
        check: &Check,
        piece: &Run,
        treatment: &Treatment,
    ) -> Result<Strip, TrialError> {
        let outline = self.outline(check.position, piece);
        // The ring is closed; its last place is its first.
        let mut places: Vec<(f64, f64)> = outline
            .exterior()
            .0
            .iter()
            .take(4)
            .map(|c| (c.x, c.y))
            .collect();
        let on_plane = places.clone();
        self.field
            .crs
            .unproject_outline(&mut places)
            .map_err(TrialError::Projection)?;
        let rates = treatment.rates_in(piece.zone).unwrap_or_default();
        Ok(Strip {
            cost_change: cost_change(self.prescription, piece.zone, rates),
            name: Strip::name_of(&treatment.name, at),
            zone: piece.zone,
            area_m2: piece.length() * 2.0 * self.machines.half_width(),
            length_m: piece.length(),
            rates: rates.to_vec(),
            on_plane,
            outline: places,
        })
    }
}
