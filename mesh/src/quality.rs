//! How well shaped the elements of a mesh are.

use crate::mesh::Mesh;
use crate::number::min;
use crate::quadratic::scaled_jacobian;
use crate::triangle::smallest_angle;

/// Figures of a mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quality {
    /// Smallest corner angle, between straight sides (degrees).
    pub min_angle_deg: f64,
    /// Mean of the elements' smallest corner angles (degrees); 60 is perfect.
    pub mean_min_angle_deg: f64,
    /// Smallest proven ratio of the smallest to the largest det J in an element; 1 is straight.
    pub worst_scaled_jacobian: f64,
    /// Number of elements.
    pub elements: usize,
    /// Number of nodes.
    pub nodes: usize,
    /// Area (mm2).
    pub area_mm2: f64,
}

/// The figures of a mesh.
#[must_use]
pub fn quality(mesh: &Mesh) -> Quality {
    let mut least_angle = f64::INFINITY;
    let mut sum = 0.0;
    let mut worst = f64::INFINITY;
    for e in mesh.elements() {
        let x = e.map(|n| mesh.nodes()[n.index()]);
        let (angle, _) = smallest_angle([x[0], x[1], x[2]]);
        least_angle = min(least_angle, angle);
        sum += angle;
        worst = min(worst, scaled_jacobian(&x));
    }
    Quality {
        min_angle_deg: least_angle,
        mean_min_angle_deg: sum / mesh.elements().len() as f64,
        worst_scaled_jacobian: worst,
        elements: mesh.elements().len(),
        nodes: mesh.nodes().len(),
        area_mm2: mesh.area(),
    }
}
