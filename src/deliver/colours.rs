//! Colours that stay in order for every kind of colour vision and in black and white: lightness only ever rises, along blue and straw.

/// A colour, red, green, blue.
pub type Colour = [u8; 3];

/// Deep blue through grey to light straw: our own ramp.
const DUSK: [Colour; 5] = [
    [22, 38, 84],
    [66, 80, 116],
    [120, 122, 120],
    [184, 168, 104],
    [248, 226, 140],
];
/// Pale to deep green-blue, for rates.
const RATE: [Colour; 4] = [
    [222, 238, 236],
    [142, 194, 196],
    [54, 132, 146],
    [10, 66, 86],
];

/// A layer's colour from its lowest (0) to its highest value (1).
#[must_use]
pub fn layer(share: f64) -> Colour {
    along(&DUSK, share)
}

/// Eight colours told apart by every kind of colour vision.
///
/// # Source
/// Okabe, M. and K. Ito. 2008. Color Universal Design (from memory), lightened where letters stand on them.
const TREATMENTS: [Colour; 8] = [
    [0, 114, 178],
    [230, 159, 0],
    [0, 158, 115],
    [204, 121, 167],
    [240, 228, 66],
    [213, 94, 0],
    [86, 180, 233],
    [153, 153, 153],
];

/// The colour of a treatment; from the ninth on they come again, and letter and hatch tell them apart.
#[must_use]
pub fn treatment(at: usize) -> Colour {
    TREATMENTS[at % TREATMENTS.len()]
}

/// A rate's colour from nothing (0) to the highest rate of the map (1).
#[must_use]
pub fn rate(share: f64) -> Colour {
    along(&RATE, share)
}

fn along(stops: &[Colour], share: f64) -> Colour {
    let place = if share.is_finite() {
        share.clamp(0.0, 1.0)
    } else {
        0.0
    } * (stops.len() - 1) as f64;
    let from = (place as usize).min(stops.len() - 2);
    let part = place - from as f64;
    std::array::from_fn(|channel| {
        let (a, b) = (
            f64::from(stops[from][channel]),
            f64::from(stops[from + 1][channel]),
        );
        (a + part * (b - a)).round() as u8
    })
}

/// `#rrggbb`.
#[must_use]
pub fn hex([red, green, blue]: Colour) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// Black or white, whichever is read better on a colour.
#[must_use]
pub fn ink_on([red, green, blue]: Colour) -> &'static str {
    // Relative luminance, WCAG 2.2; the better contrast changes over at 0.179.
    let linear = |channel: u8| {
        let share = f64::from(channel) / 255.0;
        if share <= 0.040_45 {
            share / 12.92
        } else {
            ((share + 0.055) / 1.055).powf(2.4)
        }
    };
    let luminance = 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue);
    if luminance > 0.179 {
        "#101418"
    } else {
        "#ffffff"
    }
}
