//! The resonances of the parts.

/// What rings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// The escape wheel.
    Wheel,
    /// The lever with its fork.
    Lever,
    /// The balance.
    Balance,
    /// The plate with the case, and the pillar and spring by which the pick-up holds it.
    Plate,
}

/// A resonance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mode {
    /// What rings.
    pub part: Part,
    /// Natural frequency, undamped.
    pub natural_hz: f64,
    /// Its quality factor, a ratio: the amplitude dies away with the time constant quality / (pi f).
    pub quality_ratio: f64,
    /// Modal mass between the blow and the microphone: a blow of impulse J alone makes the surface there move with J / mass.
    pub mass_kg: f64,
    /// Whether it moves the other way when the blow falls on the other side of the part's middle.
    pub is_odd: bool,
    /// Whether its frequency is published; else it is chosen.
    pub is_published: bool,
}

impl Mode {
    const fn published(part: Part, natural_hz: f64, quality_ratio: f64, mass_kg: f64, is_odd: bool) -> Mode {
        Mode { part, natural_hz, quality_ratio, mass_kg, is_odd, is_published: true }
    }

    const fn chosen(part: Part, natural_hz: f64, quality_ratio: f64, mass_kg: f64, is_odd: bool) -> Mode {
        Mode { part, natural_hz, quality_ratio, mass_kg, is_odd, is_published: false }
    }
}

use Part::{Balance, Lever, Plate, Wheel};

/// Every resonance. Published frequencies: Q. He, S. Su, R. Du, ACTA Press paper 33268, Appendix A, finite elements of a watch
/// escapement (of the balance the lowest and the highest are known here). Quality factors, modal masses and all other
/// frequencies, Hz and kg, are chosen: parts of some milligrams ring for a millisecond and reach the plate through their
/// pivots by their part of its grams.
pub const MODES: [Mode; 19] = [
    Mode::published(Wheel, 9_100.0, 25.0, 0.012, false),
    Mode::published(Wheel, 11_300.0, 30.0, 0.015, true),
    Mode::published(Wheel, 12_700.0, 30.0, 0.020, false),
    Mode::published(Wheel, 18_700.0, 40.0, 0.030, true),
    Mode::published(Wheel, 19_400.0, 40.0, 0.030, false),
    Mode::published(Lever, 16_800.0, 35.0, 0.020, false),
    Mode::published(Lever, 21_200.0, 45.0, 0.030, true),
    Mode::published(Lever, 22_200.0, 45.0, 0.030, false),
    Mode::published(Balance, 480.0, 6.0, 0.200, false),
    Mode::chosen(Balance, 2_350.0, 14.0, 0.060, true),
    Mode::chosen(Balance, 5_900.0, 22.0, 0.025, false),
    Mode::chosen(Balance, 10_400.0, 30.0, 0.025, true),
    Mode::chosen(Balance, 15_300.0, 38.0, 0.030, false),
    Mode::published(Balance, 21_500.0, 45.0, 0.040, true),
    Mode::chosen(Plate, 1_700.0, 7.0, 0.040, false),
    Mode::chosen(Plate, 3_300.0, 10.0, 0.025, false),
    Mode::chosen(Plate, 5_200.0, 14.0, 0.015, true),
    Mode::chosen(Plate, 7_400.0, 18.0, 0.015, false),
    Mode::chosen(Plate, 13_900.0, 28.0, 0.030, false),
];
