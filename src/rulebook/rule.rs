use super::reader::Entry;
use super::{Basis, Condition, Factor, Side};
use crate::analyte::{Analyte, DepthRange, LayerKey, Method};
use crate::units::{Length, Pressure};

/// Which number of a zone is compared with the threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Statistic {
    /// Area-weighted mean of the layer.
    Mean,
    /// Of the cone readings inside the rule's depth, the mean at the tightest depth mark.
    TightestMark,
    /// Percent of the zone's pushes whose maximum inside the rule's depth is above the rule's limit.
    ShareOfPushes,
    /// The availability index of manganese, from manganese and the pH in water of the same depth.
    ManganeseAvailability,
}

/// The limit of a rule for a crop whose tolerance is known.
#[derive(Debug, Clone, PartialEq)]
pub struct CropLimit {
    /// Name of the crop.
    pub crop: String,
    /// Value from which its yield falls.
    pub threshold: f64,
    /// Value at which nothing is left of it.
    pub worst: f64,
    /// Value from which the rule closes what it closes.
    pub closes_from: f64,
    /// Where the tolerance comes from.
    pub source: String,
}

/// A threshold: what is measured, how, at which depth, and what is said where it is passed.
#[derive(Debug, Clone)]
pub struct Rule {
    /// Name in the rulebook.
    pub name: String,
    /// The factor it speaks of.
    pub factor: Factor,
    /// What must be measured.
    pub analyte: Analyte,
    /// Methods that the threshold is valid for; empty where the method does not matter.
    pub methods: Vec<Method>,
    /// Depths that the threshold is valid for, the preferred one first.
    pub depths: Vec<DepthRange>,
    /// How far either edge of a layer may differ from a depth.
    pub depth_tolerance: Length,
    /// Unit of the threshold.
    pub unit: String,
    /// On which side the trouble lies.
    pub side: Side,
    /// The threshold.
    pub threshold: f64,
    /// The threshold for single crops.
    pub threshold_for: Vec<(String, f64)>,
    /// The value from which every state's table calls it enough: between it and the threshold it depends on the state. Absent where the threshold
    /// is a region's or the user's own.
    pub enough_from: Option<f64>,
    /// The same for single crops.
    pub enough_from_for: Vec<(String, f64)>,
    /// Whether threshold and worst value are the crop's own where its tolerance of salt is known.
    pub goes_by_crop: bool,
    /// Limits of single crops, from their tolerance.
    pub of_crops: Vec<CropLimit>,
    /// The value from which the rule closes what it closes; the threshold where absent.
    pub closes_from: Option<f64>,
    /// The value at which severity is greatest.
    pub worst: f64,
    /// Exponent of the severity curve, 1 for a straight line.
    pub curve: f64,
    /// The severity just past the threshold, 0 to 1; 0 where absent.
    pub least: f64,
    /// The greatest severity that this rule gives, 0 to 1.
    pub most: f64,
    /// What an amendment aims at; the threshold where absent.
    pub target: Option<f64>,
    /// Which number is compared with the threshold.
    pub statistic: Statistic,
    /// For the share of pushes: the cone index that counts as hard.
    pub limit: Option<Pressure>,
    /// For the share of pushes: how deep a push must have gone to show that it met no hard layer; the rule's whole depth where absent.
    pub reach: Option<Length>,
    /// Where the rule holds; all must be true.
    pub only_where: Vec<Condition>,
    /// Products or classes of products that stay closed while the threshold is passed.
    pub blocks: Vec<String>,
    /// Crops that it is for; all where empty.
    pub crops: Vec<String>,
    /// Whether a test is asked for where nothing was measured.
    pub asks: bool,
    /// What it means to be past the threshold, one sentence.
    pub means: String,
    /// What the number rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
    /// One line where research disputes it.
    pub disputed: Option<String>,
    /// What the reader should know of any finding of this rule.
    pub caution: Option<String>,
}

/// What a statistic is called in the rulebook.
const STATISTICS: [(&str, Statistic); 4] = [
    ("mean", Statistic::Mean),
    ("tightest mark", Statistic::TightestMark),
    ("share of pushes", Statistic::ShareOfPushes),
    ("manganese availability", Statistic::ManganeseAvailability),
];

impl Rule {
    /// The threshold for a crop.
    #[must_use]
    pub fn threshold_for(&self, crop: &str) -> f64 {
        self.threshold_for
            .iter()
            .find(|(name, _)| name == crop)
            .map(|(_, threshold)| *threshold)
            .or_else(|| self.of_crop(crop).map(|limit| limit.threshold))
            .unwrap_or(self.threshold)
    }

    /// The value from which it is enough by every state's table, where that lies beyond the threshold.
    #[must_use]
    pub fn enough_from(&self, crop: &str) -> Option<f64> {
        let of_crop = self.enough_from_for.iter().find(|(name, _)| name == crop);
        let enough = of_crop.map(|(_, enough)| *enough).or(self.enough_from)?;
        self.is_past(self.threshold_for(crop), enough)
            .then_some(enough)
    }

    /// The limit that a crop's own tolerance gives; `None` where the rule's number holds.
    #[must_use]
    pub fn of_crop(&self, crop: &str) -> Option<&CropLimit> {
        self.of_crops.iter().find(|limit| limit.crop == crop)
    }

    /// The value at which severity is greatest for a crop.
    #[must_use]
    pub fn worst_for(&self, crop: &str) -> f64 {
        self.of_crop(crop).map_or(self.worst, |limit| limit.worst)
    }

    /// The value from which the rule closes what it closes, for a crop.
    #[must_use]
    pub fn closes_from(&self, crop: &str) -> f64 {
        self.of_crop(crop)
            .map(|limit| limit.closes_from)
            .or(self.closes_from)
            .unwrap_or_else(|| self.threshold_for(crop))
    }

    /// Whether a value is past a threshold of this rule.
    #[must_use]
    pub fn is_past(&self, value: f64, threshold: f64) -> bool {
        match self.side {
            Side::Below => value < threshold,
            Side::Above => value > threshold,
        }
    }

    /// How bad a value past the threshold is: [`Rule::least`] at the threshold, [`Rule::most`] at the worst value and beyond.
    #[must_use]
    pub fn severity(&self, value: f64, crop: &str) -> f64 {
        let threshold = self.threshold_for(crop);
        let way = (value - threshold) / (self.worst_for(crop) - threshold);
        if way.is_finite() {
            self.least + (self.most - self.least) * way.clamp(0.0, 1.0).powf(self.curve)
        } else {
            0.0
        }
    }

    /// Whether the threshold is valid for a method.
    #[must_use]
    pub fn takes_method(&self, method: Option<&Method>) -> bool {
        self.methods.is_empty() || method.is_some_and(|method| self.methods.contains(method))
    }

    /// Position in [`Rule::depths`] of the depth that a layer's depth agrees with.
    #[must_use]
    pub fn depth_rank(&self, depth: Option<DepthRange>) -> Option<usize> {
        match depth {
            None => self.depths.is_empty().then_some(0),
            Some(_) if self.depths.is_empty() => Some(0),
            Some(depth) => self
                .depths
                .iter()
                .position(|wanted| agrees(*wanted, depth, self.depth_tolerance)),
        }
    }

    /// The nearest of the rule's depths, where a sampled depth is taken for it but is another: 0-9 in for 0-8 in, not 0-20 cm for 0-8 in.
    #[must_use]
    pub fn stands_for(&self, sampled: DepthRange) -> Option<DepthRange> {
        let gap = |a: Length, b: Length| (a - b).metres().abs();
        let apart = |wanted: &DepthRange| {
            gap(wanted.top(), sampled.top()).max(gap(wanted.bottom(), sampled.bottom()))
        };
        let taken = self
            .depths
            .iter()
            .filter(|wanted| agrees(**wanted, sampled, self.depth_tolerance));
        let nearest = taken.min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        (apart(nearest) > SAME_DEPTH_M).then_some(*nearest)
    }

    /// Whether a layer can be compared with this rule.
    #[must_use]
    pub fn takes(&self, key: &LayerKey) -> bool {
        key.analyte == self.analyte
            && self.takes_method(key.method.as_ref())
            && self.depth_rank(key.depth).is_some()
    }

    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let factors = Factor::ALL.map(|factor| (factor.key(), factor));
        let mut rule = Self {
            name: entry.name.to_owned(),
            factor: entry.word("factor", &factors, None),
            analyte: entry.analyte("analyte"),
            methods: entry.methods("methods"),
            depths: entry.depths("depths"),
            depth_tolerance: entry
                .maybe_quantity("depth_tolerance")
                .unwrap_or(Length::ZERO),
            unit: entry.maybe_text("unit").unwrap_or_default(),
            side: entry.word(
                "side",
                &[("below", Side::Below), ("above", Side::Above)],
                None,
            ),
            threshold: entry.number("threshold", "write the number at which trouble begins"),
            threshold_for: entry.numbers_by_name("threshold_for"),
            enough_from: entry.maybe_number("enough_from"),
            enough_from_for: entry.numbers_by_name("enough_from_for"),
            goes_by_crop: entry.flag_or("goes_by_crop", false),
            of_crops: Vec::new(),
            closes_from: entry.maybe_number("closes_from"),
            worst: entry.number(
                "worst",
                "write the value at which the trouble is at its greatest",
            ),
            curve: entry.number_in("curve", 0.1..=10.0, "0.1 to 10", 1.0),
            least: entry.number_in("least", 0.0..=1.0, "0 to 1", 0.0),
            most: entry.number_in("most", 0.0..=1.0, "0 to 1", 1.0),
            target: entry.maybe_number("target"),
            statistic: entry.word("statistic", &STATISTICS, Some(Statistic::Mean)),
            limit: entry.maybe_quantity("limit"),
            reach: entry.maybe_quantity("reach"),
            only_where: entry.tables("only_where", Condition::read),
            blocks: entry.texts("closes"),
            crops: entry.texts("crops"),
            asks: entry.flag_or("asks", true),
            means: entry.text(
                "means",
                "say in one sentence what it means to be past the threshold",
            ),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
            disputed: entry.maybe_text("disputed"),
            caution: entry.maybe_text("caution"),
        };
        rule.check(entry);
        rule.close_the_bracket(entry);
        rule
    }

    /// Where a region or the user gives the threshold, nothing is left between the states.
    fn close_the_bracket(&mut self, entry: &Entry<'_>) {
        let file = entry.place_of("enough_from").file;
        if entry.place_of("threshold").file != file {
            self.enough_from = None;
            self.enough_from_for.clear();
        }
        for (crop, own) in entry.files_by_name("threshold_for") {
            if own != file && self.enough_from.is_some() {
                let threshold = self.threshold_for(&crop);
                self.enough_from_for.retain(|(name, _)| *name != crop);
                self.enough_from_for.push((crop, threshold));
            }
        }
    }
}

/// Two depths nearer than this are one depth in rounded inches and rounded centimetres (12 in are 30 cm and 5 mm).
const SAME_DEPTH_M: f64 = 0.006;

/// Whether two depths agree within a tolerance at either edge.
fn agrees(wanted: DepthRange, found: DepthRange, tolerance: Length) -> bool {
    // A tenth of a millimetre, the resolution of a depth, so that "1 in" is not lost to rounding.
    let near = |a: Length, b: Length| (a - b).metres().abs() <= tolerance.metres() + 1e-4;
    near(wanted.top(), found.top()) && near(wanted.bottom(), found.bottom())
}
