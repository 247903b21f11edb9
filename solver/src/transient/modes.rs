//! Natural frequencies of a part about a state of it.

use super::system::Moving;
use crate::error::Failure;
use crate::model::Model;
use nalgebra_sparse::na::{Cholesky, DMatrix, SymmetricEigen};

/// Subspace iterations; each brings a mode closer by its eigenvalue by the first one left out.
const MOST_ITERATIONS: usize = 60;
/// Relative change of every frequency at which they are taken.
const SETTLED: f64 = 1e-10;

/// The lowest `count` natural frequencies (rad/ms) of a part that is held as its model says, about a state
/// (displacement of each mesh node), by subspace iteration (K.-J. Bathe, Finite Element Procedures, section 11.6, from
/// memory). Drives and loads do not act. `density` in g/mm3.
///
/// # Errors
/// A singular stiffness: the part can move without being strained.
pub fn frequencies(
    model: &Model,
    state: &[[f64; 2]],
    density: f64,
    count: usize,
) -> Result<Vec<f64>, Failure> {
    let mut moving = Moving::new(model, density);
    let u: Vec<[f64; 2]> = moving.dofs.mesh_node.iter().map(|&n| state[n as usize]).collect();
    // The tangent of a step of no length is half the stiffness.
    moving.factor(&u, &u, 0.0, 0.0)?;
    let equations = moving.dofs.count;
    let width = (count + 8).min(2 * count).min(equations);
    // Reproducible vectors with a share of every mode.
    let mut vectors: Vec<Vec<f64>> = (0..width)
        .map(|k| {
            (0..equations)
                .map(|e| ((e * (2 * k + 1) + 7 * k) as f64 * 0.618_033_988_75).fract() - 0.5)
                .collect()
        })
        .collect();
    let mut last = vec![f64::INFINITY; count];
    for _ in 0..MOST_ITERATIONS {
        let loads: Vec<Vec<f64>> = vectors.iter().map(|x| moving.mass_times(x)).collect();
        let mut moved = loads.clone();
        for x in &mut moved {
            // (K/2)^-1 M x = 2 K^-1 M x.
            moving.solve(x);
            x.iter_mut().for_each(|v| *v *= 0.5);
        }
        let dot = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| a * b).sum() };
        let masses: Vec<Vec<f64>> = moved.iter().map(|x| moving.mass_times(x)).collect();
        let stiffness = DMatrix::from_fn(width, width, |i, j| dot(&moved[i], &loads[j]));
        let mass = DMatrix::from_fn(width, width, |i, j| dot(&moved[i], &masses[j]));
        // K q = lambda M q as L^-1 M L^-T with K = L L', whose largest values are the lowest modes'.
        let symmetric = 0.5 * (&stiffness + stiffness.transpose());
        let Some(cholesky) = Cholesky::new(symmetric) else { return Err(Failure::Singular) };
        let lower = cholesky.l();
        let solved = lower.solve_lower_triangular(&mass).ok_or(Failure::Singular)?;
        let reduced = lower.solve_lower_triangular(&solved.transpose()).ok_or(Failure::Singular)?;
        let eigen = SymmetricEigen::new(0.5 * (&reduced + reduced.transpose()));
        let mut order: Vec<usize> = (0..width).collect();
        order.sort_by(|a, b| eigen.eigenvalues[*b].total_cmp(&eigen.eigenvalues[*a]));
        let shapes = lower
            .transpose()
            .solve_upper_triangular(&eigen.eigenvectors)
            .ok_or(Failure::Singular)?;
        vectors = order
            .iter()
            .map(|&k| {
                (0..equations)
                    .map(|e| (0..width).map(|i| moved[i][e] * shapes[(i, k)]).sum())
                    .collect()
            })
            .collect();
        let found: Vec<f64> =
            order[..count].iter().map(|&k| (1.0 / eigen.eigenvalues[k]).sqrt()).collect();
        let settled =
            found.iter().zip(&last).all(|(now, before)| (now / before - 1.0).abs() < SETTLED);
        last = found;
        if settled {
            break;
        }
    }
    Ok(last)
}
