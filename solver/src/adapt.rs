//! Element sizes for the next mesh, from the errors of this one.
//!
//! Two wishes meet. Globally every element should carry the same error energy (Zienkiewicz and Zhu
//! 1987): with eta_e the element's error and e = target sqrt(U / elements) its share,
//! h_new = h (e / eta_e)^(1/2), since the error of quadratic elements in energy norm falls with h^2.
//! Locally, where the stress is near its peak, the element's own relative error must be below the
//! accuracy asked for.

use crate::model::Model;
use crate::stress::{ErrorEstimate, StressField};
use withy_mesh::number::max;
use withy_mesh::{Mesh, NodeId, SizeWish};

/// What the next mesh should reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// Relative error of the whole strain field in energy norm.
    pub energy: f64,
    /// Relative error in energy norm of the elements at the peak.
    pub peak: f64,
}

/// Elements whose stress reaches this part of the peak count as being at the peak.
const NEAR_PEAK: f64 = 0.85;
/// One pass refines at most by this factor: an estimate from a coarse mesh says no more.
const STRONGEST: f64 = 0.25;
/// Wishes for less than this change are left out: they would only shift nodes about.
const WORTHWHILE: f64 = 0.9;

/// Sizes wished at the centres of elements that are too coarse.
///
/// `skip` marks nodes whose stress is artificial or singular: the elements that touch them are left
/// as they are, refinement there never ends.
#[must_use]
pub fn size_wishes(
    model: &Model,
    field: &StressField,
    error: &ErrorEstimate,
    skip: &[bool],
    target: Target,
) -> Vec<SizeWish> {
    let mesh = model.mesh();
    let energy: f64 = error.element_energy.iter().sum();
    let counted = error.element_energy.iter().filter(|u| **u > 0.0).count();
    let share = target.energy * (energy / counted.max(1) as f64).sqrt();
    let peak = field.peak(skip, |s| s.von_mises).map_or(f64::INFINITY, |p| p.value);
    let mut wishes = Vec::new();
    for (e, nodes) in mesh.elements().iter().enumerate() {
        if nodes.iter().any(|n| skip[n.index()]) {
            continue;
        }
        let eta = error.element_error[e].sqrt();
        let mut factor = shrink(share, eta);
        let highest = nodes.iter().map(|n| field.stress[n.index()].von_mises).fold(0.0, max);
        if highest >= NEAR_PEAK * peak {
            let own = error.element_energy[e].sqrt();
            let local = shrink(target.peak * own, eta);
            factor = if local < factor { local } else { factor };
        }
        if factor < WORTHWHILE {
            let (center, size) = center_and_size(mesh, nodes);
            wishes.push(SizeWish { at: center, size: factor * size });
        }
    }
    wishes
}

/// h_new / h for an element of error `eta` that should have `allowed`.
fn shrink(allowed: f64, eta: f64) -> f64 {
    let factor = (allowed / eta).sqrt();
    if factor.is_nan() || factor > 1.0 {
        1.0
    } else if factor < STRONGEST {
        STRONGEST
    } else {
        factor
    }
}

/// An element's centre and the side of the equilateral triangle of its area (mm).
fn center_and_size(mesh: &Mesh, nodes: &[NodeId; 6]) -> (withy_mesh::Point, f64) {
    let [a, b, c] = [0, 1, 2].map(|k| mesh.nodes()[nodes[k].index()]);
    let doubled = (b - a).cross(c - a);
    let center = a.to_vec2() + b.to_vec2() + c.to_vec2();
    ((center / 3.0).to_point(), (doubled * 2.0 / 3f64.sqrt()).sqrt())
}
