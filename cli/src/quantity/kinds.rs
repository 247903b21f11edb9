//! The kinds of quantities and their units. Exact factors: the inch is 25.4 mm, the pound 453.59237 g
//! (international yard and pound agreement, 1959), standard gravity 9.80665 m/s2 (3rd CGPM, 1901).

use super::{Dimension, Kind};

const POUND_FORCE_N: f64 = 4.448_221_615_260_5;
const PSI_MPA: f64 = POUND_FORCE_N / (25.4 * 25.4);
const STANDARD_GRAVITY: f64 = 9.806_65;
const POUND_G: f64 = 453.592_37;

/// Marker of lengths (mm).
#[derive(Debug)]
pub enum LengthKind {}
/// Marker of stresses and moduli (MPa).
#[derive(Debug)]
pub enum StressKind {}
/// Marker of forces (N).
#[derive(Debug)]
pub enum ForceKind {}
/// Marker of moments (N mm).
#[derive(Debug)]
pub enum MomentKind {}
/// Marker of energies (mJ).
#[derive(Debug)]
pub enum EnergyKind {}
/// Marker of angles (rad).
#[derive(Debug)]
pub enum AngleKind {}
/// Marker of plain ratios (1).
#[derive(Debug)]
pub enum RatioKind {}
/// Marker of densities (g/mm3).
#[derive(Debug)]
pub enum DensityKind {}
/// Marker of speeds (mm/ms).
#[derive(Debug)]
pub enum SpeedKind {}
/// Marker of times (ms).
#[derive(Debug)]
pub enum TimeKind {}
/// Marker of masses (g).
#[derive(Debug)]
pub enum MassKind {}
/// Marker of energies by area (mJ/mm2).
#[derive(Debug)]
pub enum EnergyDensityKind {}

impl Dimension for LengthKind {
    const KIND: Kind = Kind {
        name: "a length",
        example: "28 mm",
        units: &[
            ("mm", 1.0),
            ("cm", 10.0),
            ("m", 1e3),
            ("um", 1e-3),
            ("in", 25.4),
            ("ft", 304.8),
            ("thou", 0.0254),
        ],
    };
}

impl Dimension for StressKind {
    const KIND: Kind = Kind {
        name: "a stress or modulus",
        example: "2.1 GPa",
        units: &[
            ("MPa", 1.0),
            ("GPa", 1e3),
            ("kPa", 1e-3),
            ("Pa", 1e-6),
            ("N/mm2", 1.0),
            ("psi", PSI_MPA),
            ("ksi", 1e3 * PSI_MPA),
        ],
    };
}

impl Dimension for ForceKind {
    const KIND: Kind = Kind {
        name: "a force",
        example: "40 N",
        units: &[
            ("N", 1.0),
            ("kN", 1e3),
            ("lbf", POUND_FORCE_N),
            ("ozf", POUND_FORCE_N / 16.0),
            ("kgf", STANDARD_GRAVITY),
            ("gf", 1e-3 * STANDARD_GRAVITY),
        ],
    };
}

impl Dimension for MomentKind {
    const KIND: Kind = Kind {
        name: "a moment",
        example: "30 N mm",
        units: &[
            ("N mm", 1.0),
            ("N cm", 10.0),
            ("N m", 1e3),
            ("lbf in", POUND_FORCE_N * 25.4),
            ("lbf ft", POUND_FORCE_N * 304.8),
            ("kgf cm", STANDARD_GRAVITY * 10.0),
        ],
    };
}

impl Dimension for EnergyKind {
    const KIND: Kind = Kind {
        name: "an energy",
        example: "120 mJ",
        units: &[
            ("mJ", 1.0),
            ("J", 1e3),
            ("N mm", 1.0),
            ("N m", 1e3),
            ("ft lbf", POUND_FORCE_N * 304.8),
            ("in lbf", POUND_FORCE_N * 25.4),
        ],
    };
}

impl Dimension for AngleKind {
    const KIND: Kind = Kind {
        name: "an angle",
        example: "10 deg",
        units: &[
            ("deg", std::f64::consts::PI / 180.0),
            ("rad", 1.0),
            ("turn", std::f64::consts::TAU),
        ],
    };
}

impl Dimension for RatioKind {
    const KIND: Kind = Kind { name: "a ratio", example: "2 %", units: &[("", 1.0), ("%", 0.01)] };
}

impl Dimension for DensityKind {
    const KIND: Kind = Kind {
        name: "a density",
        example: "1.27 g/cm3",
        units: &[
            ("g/cm3", 1e-3),
            ("kg/m3", 1e-6),
            ("g/mm3", 1.0),
            ("lb/in3", POUND_G / (25.4 * 25.4 * 25.4)),
        ],
    };
}

impl Dimension for SpeedKind {
    const KIND: Kind = Kind {
        name: "a speed",
        example: "3 m/s",
        units: &[
            ("m/s", 1.0),
            ("mm/s", 1e-3),
            ("mm/ms", 1.0),
            ("km/h", 1.0 / 3.6),
            ("ft/s", 0.3048),
            ("in/s", 0.0254),
        ],
    };
}

impl Dimension for TimeKind {
    const KIND: Kind = Kind {
        name: "a time",
        example: "30 s",
        units: &[("ms", 1.0), ("s", 1e3), ("min", 6e4), ("h", 3.6e6), ("d", 8.64e7)],
    };
}

impl Dimension for MassKind {
    const KIND: Kind = Kind {
        name: "a mass",
        example: "5 g",
        units: &[("g", 1.0), ("kg", 1e3), ("mg", 1e-3), ("oz", POUND_G / 16.0), ("lb", POUND_G)],
    };
}

impl Dimension for EnergyDensityKind {
    const KIND: Kind = Kind {
        name: "an energy by area",
        example: "1600 J/m2",
        units: &[("J/m2", 1e-3), ("kJ/m2", 1.0), ("J/cm2", 10.0), ("mJ/mm2", 1.0)],
    };
}

/// Every kind, to name what a misplaced unit would have been.
pub(super) const KINDS: [Kind; 12] = [
    LengthKind::KIND,
    StressKind::KIND,
    ForceKind::KIND,
    MomentKind::KIND,
    EnergyKind::KIND,
    AngleKind::KIND,
    RatioKind::KIND,
    DensityKind::KIND,
    SpeedKind::KIND,
    TimeKind::KIND,
    MassKind::KIND,
    EnergyDensityKind::KIND,
];
