//! Element sizes for the next mesh, from the errors of this one.
//!
//! Two wishes meet. Globally no element should carry more error than a share s (Zienkiewicz and Zhu
//! 1987, who let all carry the same): with eta_e the element's error, h_new = h (s / eta_e)^(1/2), since the error of
//! quadratic elements in energy norm falls with h^2. What replaces the element then carries s, and elements below it
//! stay as they are, so s is the root of sum min(eta_e^2, s^2) = target^2 U: nothing is wished where the whole is good
//! enough already. Locally, where the stress is near its peak, the element's own relative error must be below the
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
pub const NEAR_PEAK: f64 = 0.85;
/// One pass refines at most by this factor: an estimate from a coarse mesh says no more.
const STRONGEST: f64 = 0.25;
/// Wishes for less than this change are left out: they would only shift nodes about.
const WORTHWHILE: f64 = 0.9;

/// Sizes wished at the centres of elements that are too coarse, and at the nodes of those at the peak.
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
    let left = |e: &usize| mesh.elements()[*e].iter().any(|n| skip[n.index()]);
    let counted: Vec<usize> = (0..mesh.elements().len()).filter(|e| !left(e)).collect();
    let energy: f64 = counted.iter().map(|&e| error.element_energy[e]).sum();
    let squares = counted.iter().map(|&e| error.element_error[e]).collect();
    let share = largest_share(squares, target.energy * target.energy * energy).sqrt();
    let peak = field.peak(skip, |s| s.von_mises).map_or(f64::INFINITY, |p| p.value);
    let mut wishes = Vec::new();
    for e in counted {
        let nodes = &mesh.elements()[e];
        let eta = error.element_error[e].sqrt();
        let factor = shrink(share, eta);
        let (center, size) = center_and_size(mesh, nodes);
        if factor < WORTHWHILE {
            wishes.push(SizeWish { at: center, size: factor * size });
        }
        let highest = nodes.iter().map(|n| field.stress[n.index()].von_mises).fold(0.0, max);
        if highest >= NEAR_PEAK * peak {
            let local = shrink(target.peak * error.element_energy[e].sqrt(), eta);
            // At the element's nodes, as sizes grow from each wish: all over it they must be as small as that.
            if local < WORTHWHILE && local < factor {
                let wish =
                    |n: &NodeId| SizeWish { at: mesh.nodes()[n.index()], size: local * size };
                wishes.extend(nodes.iter().map(wish));
            }
        }
    }
    wishes
}

/// The most that any of some parts may be so that all of them, cut down to it, sum up to `total`; infinite if they
/// do uncut.
fn largest_share(mut parts: Vec<f64>, total: f64) -> f64 {
    parts.sort_unstable_by(f64::total_cmp);
    let mut left = total;
    for (n, part) in parts.iter().enumerate() {
        let each = left / (parts.len() - n) as f64;
        if *part > each {
            return each;
        }
        left -= part;
    }
    f64::INFINITY
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_cut_down_to_their_largest_share_sum_up_to_the_total() {
        let parts = vec![5.0, 0.5, 3.0, 1.0, 0.0];
        for total in [0.3, 1.4, 4.0, 9.0] {
            let share = largest_share(parts.clone(), total);
            let sum: f64 = parts.iter().map(|p| if *p < share { *p } else { share }).sum();
            assert!((sum - total).abs() < 1e-12, "{total}: {share}");
        }
        assert!(
            largest_share(parts, 9.6).is_infinite(),
            "nothing is cut where all of it is little enough"
        );
    }
}
