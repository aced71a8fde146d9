use super::product::LimeQuality;
use super::{
    adams_evans_pounds_per_acre, minnesota_pounds_enp_per_acre, north_carolina_tons_per_acre,
    oregon_tons_per_acre, penn_state_pounds_per_acre, tri_state_1995_tons_per_acre,
};
use crate::soil::customary::{inches, pounds_per_acre, tons_per_acre};
use crate::soil::error::within;
use crate::soil::{Buffer, SoilError};
use crate::units::{Length, MassPerArea};

/// A published lime rule, chosen by name or by buffer and region.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LimeRule {
    /// North Carolina, Mehlich buffer.
    NorthCarolina,
    /// Pennsylvania, acidity as printed by the laboratory.
    PennState,
    /// Minnesota 2002, SMP buffer.
    Minnesota,
    /// Oregon 2025, Sikora buffer.
    Oregon,
    /// Ohio, Michigan and Indiana 1995, SMP buffer.
    TriState1995,
    /// Southeast, Adams-Evans buffer and the one that reads as it.
    AdamsEvans,
}

/// What a lime rule needs to know of a soil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidSoil {
    /// pH in water. A pH in calcium chloride reads about 0.5 lower and must not be put here.
    pub water_ph: f64,
    /// pH in the rule's own buffer.
    pub buffer_ph: Option<f64>,
    /// Acidity as the laboratory printed it, meq/100 g; Pennsylvania needs it.
    pub printed_acidity_meq: Option<f64>,
    /// pH wanted.
    pub target_ph: f64,
}

/// What a rule asks for, in its own terms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimeNeed {
    /// The rule.
    pub rule: LimeRule,
    /// Rate of lime of the reference quality over `depth`.
    pub rate: MassPerArea,
    /// Depth of soil that the rate is for.
    pub depth: Length,
    /// Effective calcium carbonate equivalent of the reference lime, %.
    pub reference_pct: f64,
}

impl LimeRule {
    /// All rules.
    pub const ALL: [Self; 6] = [
        Self::NorthCarolina,
        Self::PennState,
        Self::Minnesota,
        Self::Oregon,
        Self::TriState1995,
        Self::AdamsEvans,
    ];

    /// The name in kebab case, for rulebooks.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::NorthCarolina => "north-carolina-mehlich",
            Self::PennState => "penn-state",
            Self::Minnesota => "minnesota-2002-smp",
            Self::Oregon => "oregon-2025-sikora",
            Self::TriState1995 => "tri-state-1995-smp",
            Self::AdamsEvans => "adams-evans",
        }
    }

    /// The rule of a name.
    ///
    /// # Errors
    /// [`SoilError::UnknownName`] with the names known.
    pub fn from_name(name: &str) -> Result<Self, SoilError> {
        Self::ALL
            .into_iter()
            .find(|rule| rule.name() == name)
            .ok_or_else(|| SoilError::UnknownName {
                what: "lime rule",
                found: name.to_owned(),
                allowed: Self::ALL.map(Self::name).join(", "),
            })
    }

    /// The buffers that the rule is made for.
    #[must_use]
    pub const fn buffers(self) -> &'static [Buffer] {
        match self {
            Self::NorthCarolina => &[Buffer::MehlichNorthCarolina],
            Self::PennState => &[Buffer::MehlichPennsylvania],
            // Minnesota's laboratory runs the Sikora buffer in place of SMP, which it was made to read as.
            Self::Minnesota => &[Buffer::Smp, Buffer::Sikora],
            Self::TriState1995 => &[Buffer::Smp],
            Self::Oregon => &[Buffer::Sikora],
            Self::AdamsEvans => &[Buffer::AdamsEvans, Buffer::MooreSikora],
        }
    }

    /// The states that the rule is published for, lower case.
    #[must_use]
    pub const fn regions(self) -> &'static [&'static str] {
        match self {
            Self::NorthCarolina => &["north carolina"],
            Self::PennState => &["pennsylvania"],
            Self::Minnesota => &["minnesota"],
            Self::Oregon => &["oregon"],
            Self::TriState1995 => &["ohio", "michigan", "indiana"],
            Self::AdamsEvans => &["alabama", "georgia", "south carolina"],
        }
    }

    /// The rule for a buffer in a region. Without a region the buffer must have one rule only.
    ///
    /// # Errors
    /// [`SoilError::UnknownBuffer`] for a buffer not known; [`SoilError::UnknownName`] where no rule, or more than one, fits.
    pub fn for_buffer(buffer: &str, region: Option<&str>) -> Result<Self, SoilError> {
        let buffer = Buffer::from_name(buffer)?;
        let region = region.map(|region| region.trim().to_lowercase());
        let of_buffer = || {
            Self::ALL
                .into_iter()
                .filter(|rule| rule.buffers().contains(&buffer))
        };
        let fitting: Vec<Self> = of_buffer()
            .filter(|rule| {
                region
                    .as_deref()
                    .is_none_or(|r| rule.regions().contains(&r))
            })
            .collect();
        if let [only] = fitting[..] {
            return Ok(only);
        }
        let places: Vec<&str> = of_buffer()
            .flat_map(|rule| rule.regions().iter().copied())
            .collect();
        let allowed = if places.is_empty() {
            "none; use the laboratory's own lime rate".to_owned()
        } else {
            places.join(", ")
        };
        let found = region.unwrap_or_else(|| "any region".to_owned());
        Err(SoilError::UnknownName {
            what: buffer.region_question(),
            found,
            allowed,
        })
    }

    /// Depth of soil that the rule's rate is for.
    #[must_use]
    pub const fn depth(self) -> Length {
        match self {
            Self::PennState => inches(7.0),
            Self::Oregon => inches(6.0),
            Self::TriState1995 | Self::NorthCarolina => inches(8.0),
            Self::AdamsEvans | Self::Minnesota => inches(20.0 / 3.0),
        }
    }

    /// Effective calcium carbonate equivalent of the lime that the rule's rate is in, %.
    #[must_use]
    pub const fn reference_pct(self) -> f64 {
        match self {
            Self::TriState1995 => 90.0,
            _ => 100.0,
        }
    }

    /// The publication, with what of it was recalled.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::NorthCarolina => {
                "North Carolina Department of Agriculture, note to the lime factor table (depth 8 in and lime quality from memory)"
            }
            Self::PennState => "Penn State Agronomy Guide, Limestone recommendation",
            Self::Minnesota => {
                "University of Minnesota Extension, crop e-news, 2002 (depth 6 2/3 in assumed)"
            }
            Self::Oregon => "Oregon State University Extension 2025, EM 9585, table 3.2",
            Self::TriState1995 => {
                "Vitosh, Johnson and Mengel 1995, Tri-State Fertilizer Recommendations, Bulletin E-2567 (equations from memory)"
            }
            Self::AdamsEvans => {
                "Adams and Evans 1962, Soil Sci. Soc. Am. Proc. 26:355-357 (from memory)"
            }
        }
    }

    /// Lime that the rule asks for; nothing at and above the target.
    ///
    /// # Errors
    /// [`SoilError`] outside the rule's range or where an input that the rule needs is missing.
    ///
    /// # Example
    /// ```
    /// use lowstave::soil::{AcidSoil, LimeQuality, LimeRule};
    /// use lowstave::units::{Length, Quantity};
    /// let rule = LimeRule::for_buffer("sikora", Some("Oregon")).unwrap();
    /// let soil = AcidSoil { water_ph: 5.4, buffer_ph: Some(6.4), printed_acidity_meq: None, target_ph: 6.8 };
    /// let need = rule.need(&soil).unwrap();
    /// let product = need.of_product(Length::parse("6 in").unwrap(), LimeQuality::Effective { pct: 80.0 }).unwrap();
    /// assert!((product.in_unit("ton/ac").unwrap() - 2.9 / 0.80).abs() < 1e-9);
    /// assert!(LimeRule::for_buffer("somebody's own", None).is_err());
    /// ```
    pub fn need(self, soil: &AcidSoil) -> Result<LimeNeed, SoilError> {
        let (ph, target) = (soil.water_ph, soil.target_ph);
        let rate = if within(ph, "pH in water", "", 2.5..=11.0, "a soil")?
            >= within(target, "the target pH", "", 4.5..=7.5, "liming")?
        {
            MassPerArea::ZERO
        } else {
            self.rate_below_target(soil)?
        };
        Ok(LimeNeed {
            rule: self,
            rate,
            depth: self.depth(),
            reference_pct: self.reference_pct(),
        })
    }

    fn rate_below_target(self, soil: &AcidSoil) -> Result<MassPerArea, SoilError> {
        let (ph, target) = (soil.water_ph, soil.target_ph);
        let buffer_ph = || {
            soil.buffer_ph.ok_or(SoilError::Missing {
                what: "a buffer pH",
                rule: self.name(),
            })
        };
        Ok(match self {
            Self::NorthCarolina => {
                let acidity = Buffer::MehlichNorthCarolina.acidity_meq(buffer_ph()?)?;
                tons_per_acre(north_carolina_tons_per_acre(acidity, ph, target, 0.0)?)
            }
            Self::PennState => {
                let what = "the exchangeable acidity that the laboratory prints";
                let acidity = soil.printed_acidity_meq.ok_or(SoilError::Missing {
                    what,
                    rule: self.name(),
                })?;
                pounds_per_acre(penn_state_pounds_per_acre(acidity, ph, target)?)
            }
            Self::Minnesota => pounds_per_acre(minnesota_pounds_enp_per_acre(ph, buffer_ph()?)?),
            Self::Oregon => tons_per_acre(oregon_tons_per_acre(ph, buffer_ph()?, target)?),
            Self::TriState1995 => {
                tons_per_acre(tri_state_1995_tons_per_acre(ph, buffer_ph()?, target)?)
            }
            Self::AdamsEvans => {
                pounds_per_acre(adams_evans_pounds_per_acre(ph, buffer_ph()?, target)?)
            }
        })
    }
}

impl Buffer {
    const fn region_question(self) -> &'static str {
        match self {
            Self::AdamsEvans | Self::MooreSikora => "region with an Adams-Evans lime rule",
            Self::Smp => "region with an SMP lime rule",
            Self::Sikora => "region with a Sikora lime rule",
            Self::MehlichNorthCarolina | Self::MehlichPennsylvania => {
                "region with a Mehlich lime rule"
            }
            Self::ModifiedMehlich => "region with a modified Mehlich lime rule",
        }
    }
}

impl LimeNeed {
    /// Rate of a product over the depth that it is mixed into.
    ///
    /// `rate x mixing depth / rule's depth x reference value / product's value`.
    ///
    /// # Range
    /// Mixing depth 1 to 18 in; product's value 10 to 180 %.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    ///
    /// # Source
    /// Purity: Penn State Agricultural Analytical Services Laboratory, home garden report notes (5 lb at CCE 70 is 7 lb);
    /// effective value: Ohio State University Extension 2014, "Select a lime source based on ENP"; depth: proportion,
    /// as in the half rate of Bulletin E-2567 for 4 in instead of 8 in.
    pub fn of_product(
        &self,
        mixing_depth: Length,
        quality: LimeQuality,
    ) -> Result<MassPerArea, SoilError> {
        let depth = within(
            mixing_depth.metres(),
            "the mixing depth",
            "m",
            0.0254..=0.457_21,
            "a lime rate",
        )?;
        let value = within(
            quality.pct(),
            "the lime's neutralizing value",
            "%",
            10.0..=180.0,
            "a lime product",
        )?;
        Ok(self.rate * (depth / self.depth.metres() * self.reference_pct / value))
    }
}
