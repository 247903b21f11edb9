//! What holds a moving region in line, and where the path branches.
//!
//! **Region stiffness.** The tangent condensed to the three coordinates q of a rigid region,
//! S = K_qq - K_qf K_ff^-1 K_fq: what a guide would feel. With the factor of the system at hand, in
//! which some coordinates (F) are free and others (D) driven: the compliance of the free ones gives
//! S_FF = C_FF^-1; a unit motion of a driven one moves the free ones by v and needs the rate R, so
//! S_FD = -S_FF v and S_DD = R + S_DF S_FF^-1 S_FD.
//!
//! **Branches.** The number of negative pivots changes where an eigenvalue of the tangent passes
//! zero. The mode comes from inverse iteration; at a fold of the path the load does work on it, at a
//! bifurcation it does none.

use crate::assembly::Want;
use crate::configuration::{Configuration, arm_now, reduce, resultant, rigid_velocity};
use crate::dofs::{Motion, NONE};
use crate::error::Failure;
use crate::newton::{System, norm};
use nalgebra_sparse::CscMatrix;
use withy_mesh::number::max;

/// Stiffness of a rigid region against its three coordinates, everything else finding its own
/// equilibrium: along x, along y, turn (N/mm, N, N mm per rad), symmetric.
pub type RegionStiffness = [[f64; 3]; 3];

/// A stiffness about another point of its region.
///
/// `force` is what the drive exerts (N), `turn` the region's (rad), `arm` the point seen from the
/// centroid at rest (mm). The point's own shift takes the place of the centroid's: dq = T dp with
/// T = ((1, 0, r_y), (0, 1, -r_x), (0, 0, 1)), r the arm now. T' S T has to gain r . F in turn,
/// because T turns with the region.
#[must_use]
pub fn stiffness_about(
    stiffness: &RegionStiffness,
    force: [f64; 2],
    turn: f64,
    arm: [f64; 2],
) -> RegionStiffness {
    let (sin, cos) = turn.sin_cos();
    let r = [cos * arm[0] - sin * arm[1], sin * arm[0] + cos * arm[1]];
    let t = [[1.0, 0.0, r[1]], [0.0, 1.0, -r[0]], [0.0, 0.0, 1.0]];
    let mut about: RegionStiffness = std::array::from_fn(|i| {
        std::array::from_fn(|j| {
            (0..9).map(|n| t[n / 3][i] * stiffness[n / 3][n % 3] * t[n % 3][j]).sum()
        })
    });
    about[2][2] += r[0] * force[0] + r[1] * force[1];
    about
}

/// Condensed stiffness of each rigid region at an equilibrium.
///
/// The factor at hand is that of an iterate before: not good enough where a stiffness is a small difference of large
/// ones, but good enough to solve the equilibrium's own tangent by refinement, which costs a third of factoring that.
///
/// # Errors
/// A tangent that is singular to working precision.
pub(crate) fn region_stiffnesses(
    system: &mut System,
    at: &Configuration,
) -> Result<Vec<RegionStiffness>, Failure> {
    let _ = system.assembly.assemble(at, Want::Tangent);
    let bodies = 0..system.assembly.dofs.bodies.len();
    // What touches may have changed since, and the tangent's pattern with it.
    if system.assembly.contact.is_none() {
        let refined = |b| condense(system, at, b, &|columns| refine(system, columns));
        if let Some(all) = bodies.clone().map(refined).collect() {
            return Ok(all);
        }
    }
    system.factor_assembled()?;
    let system = &*system;
    let solved = |columns: &mut [Vec<f64>]| {
        system.factor.solve_all(columns);
        Some(())
    };
    // No column is refused here.
    Ok(bodies.filter_map(|b| condense(system, at, b, &solved)).collect())
}

/// What is still missing of a refined solution, by its size, as the last two corrections foretell it: a stiffness may be
/// a small difference of others, and keeps five digits where four of theirs cancel.
const REFINED: f64 = 1e-9;
/// Refinement must gain this factor each time, and come to its end within so many times, or factoring is cheaper.
const GAIN: f64 = 0.05;
const MOST_REFINEMENTS: usize = 3;

/// Solves the tangent assembled last with the factor of one nearby, for several right-hand sides in place; `None` if
/// it is too far.
fn refine(system: &System, columns: &mut [Vec<f64>]) -> Option<()> {
    let asked = columns.to_vec();
    system.factor.solve_all(columns);
    let mut before = 1.0;
    for _ in 0..MOST_REFINEMENTS {
        let mut change = asked.clone();
        subtract_products(&system.assembly.tangent, columns, &mut change);
        system.factor.solve_all(&mut change);
        let mut size = 0.0;
        for (solution, change) in columns.iter_mut().zip(&change) {
            for (s, c) in solution.iter_mut().zip(change) {
                *s += c;
            }
            // 0 / 0 of a column without any response ends the refinement, as any NaN does.
            size = max(size, norm(change) / norm(solution));
        }
        if size * (size / before) <= REFINED {
            return Some(());
        }
        let gains = size <= GAIN * before;
        if !gains {
            return None;
        }
        before = size;
    }
    None
}

/// Columns that a matrix is multiplied by at once: the coordinates of a rigid region.
const AT_ONCE: usize = 3;

/// Y <- Y - K X of a symmetric K, given by its lower triangle, by columns.
fn subtract_products(lower: &CscMatrix<f64>, x: &[Vec<f64>], y: &mut [Vec<f64>]) {
    for (x, y) in x.chunks(AT_ONCE).zip(y.chunks_mut(AT_ONCE)) {
        // Row by row, so that one look at a place of K serves all columns.
        let rows = |columns: &[Vec<f64>]| {
            let mut rows = vec![[0.0; AT_ONCE]; lower.ncols()];
            for (k, column) in columns.iter().enumerate() {
                rows.iter_mut().zip(column).for_each(|(row, v)| row[k] = *v);
            }
            rows
        };
        let (x, mut sums) = (rows(x), rows(y));
        for (j, column) in lower.col_iter().enumerate() {
            let mut own = [0.0; AT_ONCE];
            for (&i, value) in column.row_indices().iter().zip(column.values()) {
                for k in 0..AT_ONCE {
                    sums[i][k] -= value * x[j][k];
                    // The diagonal has no counterpart above it.
                    own[k] += if i == j { 0.0 } else { value * x[i][k] };
                }
            }
            for k in 0..AT_ONCE {
                sums[j][k] -= own[k];
            }
        }
        for (k, column) in y.iter_mut().enumerate() {
            column.iter_mut().zip(&sums).for_each(|(v, row)| *v = row[k]);
        }
    }
}

/// Solves several right-hand sides in place; `None` if it cannot.
type Solver<'a> = dyn Fn(&mut [Vec<f64>]) -> Option<()> + 'a;

fn condense(
    system: &System,
    at: &Configuration,
    b: usize,
    solve_all: &Solver,
) -> Option<RegionStiffness> {
    let equations = system.assembly.dofs.bodies[b].equations;
    let free: Vec<usize> = (0..3).filter(|&k| equations[k] != NONE).collect();
    let driven: Vec<usize> = (0..3).filter(|&k| equations[k] == NONE).collect();
    let mut stiffness = [[0.0; 3]; 3];
    // A unit load on each free coordinate, and what a unit motion of each driven one leaves out of balance.
    let mut columns: Vec<Vec<f64>> = free
        .iter()
        .map(|&k| {
            let mut column = vec![0.0; system.assembly.dofs.count];
            column[equations[k] as usize] = 1.0;
            column
        })
        .collect();
    columns.extend(driven.iter().map(|&d| unbalanced(system, at, b, d)));
    solve_all(&mut columns)?;
    let (of_free, of_driven) = columns.split_at(free.len());
    // Compliance of the free coordinates, inverted.
    let mut compliance = [[0.0; 3]; 3];
    for (&k, column) in free.iter().zip(of_free) {
        for &j in &free {
            compliance[j][k] = column[equations[j] as usize];
        }
    }
    let inverse = inverted(&compliance, &free);
    for &j in &free {
        for &k in &free {
            stiffness[j][k] = inverse[j][k];
        }
    }
    let motions: Vec<(usize, [f64; 3], [f64; 3])> = driven
        .iter()
        .zip(of_driven)
        .map(|(&d, left)| {
            let response: Vec<f64> = left.iter().map(|v| -v).collect();
            let (own, rate) = unit_motion(system, at, b, d, &response);
            (d, own, rate)
        })
        .collect();
    for (d, response, _) in &motions {
        for &j in &free {
            let coupling: f64 = -free.iter().map(|&k| inverse[j][k] * response[k]).sum::<f64>();
            stiffness[j][*d] = coupling;
            stiffness[*d][j] = coupling;
        }
    }
    for (d, response, rate) in &motions {
        for &e in &driven {
            // S_DF S_FF^-1 S_FD = -S_DF v.
            let released: f64 = free.iter().map(|&k| stiffness[e][k] * response[k]).sum();
            stiffness[e][*d] = rate[e] - released;
        }
    }
    Some(stiffness)
}

/// What a unit motion of one driven coordinate leaves out of balance if no unknown follows.
fn unbalanced(system: &System, at: &Configuration, b: usize, coordinate: usize) -> Vec<f64> {
    let mut unit = vec![[0.0; 3]; at.q.len()];
    unit[b][coordinate] = 1.0;
    let assembly = &system.assembly;
    let still = vec![0.0; assembly.dofs.count];
    let driven = assembly.force_rate_at_bodies(at, |n| velocity(system, at, n, &unit, &still));
    // A driven turn has no equation of its own, so no second-derivative term enters here.
    reduce(&assembly.dofs, &assembly.x, &at.q, &driven)
}

/// A unit motion of one driven coordinate with the response of the unknowns: what the region's free
/// coordinates do (0 where driven), and the rate of the force and moment on the region.
fn unit_motion(
    system: &System,
    at: &Configuration,
    b: usize,
    coordinate: usize,
    response: &[f64],
) -> ([f64; 3], [f64; 3]) {
    let mut unit = vec![[0.0; 3]; at.q.len()];
    unit[b][coordinate] = 1.0;
    let dofs = &system.assembly.dofs;
    for (body, q) in dofs.bodies.iter().zip(&mut unit) {
        for k in 0..3 {
            if body.equations[k] != NONE {
                q[k] = response[body.equations[k] as usize];
            }
        }
    }
    let assembly = &system.assembly;
    let rates = assembly.force_rate_at_bodies(at, |n| velocity(system, at, n, &unit, response));
    let body = &assembly.dofs.bodies[b];
    let mut rate = resultant(body, &assembly.x, at.q[b][2], &rates);
    rate[2] -= unit[b][2] * moment_of_turning(system, at, b);
    let own = std::array::from_fn(|k| if body.equations[k] == NONE { 0.0 } else { unit[b][k] });
    (own, rate)
}

/// Velocity of a node under velocities of rigid regions and unknowns.
fn velocity(
    system: &System,
    at: &Configuration,
    n: u32,
    bodies: &[[f64; 3]],
    unknowns: &[f64],
) -> [f64; 2] {
    let dofs = &system.assembly.dofs;
    match dofs.motion[n as usize] {
        Motion::Own(e) => e.map(|e| if e == NONE { 0.0 } else { unknowns[e as usize] }),
        Motion::Rigid(b) => {
            let b = b as usize;
            rigid_velocity(&dofs.bodies[b], at.q[b][2], system.assembly.x[n as usize], bodies[b])
        }
    }
}

/// Sum of r . f over a region: turning the arms takes this from the moment's rate (N mm).
fn moment_of_turning(system: &System, at: &Configuration, b: usize) -> f64 {
    let body = &system.assembly.dofs.bodies[b];
    body.nodes
        .iter()
        .map(|&n| {
            let f = system.assembly.internal[n as usize];
            let r = arm_now(body, at.q[b][2], system.assembly.x[n as usize]);
            r[0] * f[0] + r[1] * f[1]
        })
        .sum()
}

/// Inverse of the block of a 3 x 3 matrix over some indices, by Gauss-Jordan with pivoting.
fn inverted(matrix: &[[f64; 3]; 3], over: &[usize]) -> [[f64; 3]; 3] {
    let mut a = *matrix;
    let mut inverse = [[0.0; 3]; 3];
    for &k in over {
        inverse[k][k] = 1.0;
    }
    let mut rows: Vec<usize> = over.to_vec();
    for (step, &column) in over.iter().enumerate() {
        let best = (step..rows.len())
            .max_by(|&p, &q| a[rows[p]][column].abs().total_cmp(&a[rows[q]][column].abs()))
            .unwrap_or(step);
        rows.swap(step, best);
        let pivot_row = rows[step];
        let pivot = a[pivot_row][column];
        for &k in over {
            a[pivot_row][k] /= pivot;
            inverse[pivot_row][k] /= pivot;
        }
        for &row in over.iter().filter(|&&r| r != pivot_row) {
            let factor = a[row][column];
            for &k in over {
                a[row][k] -= factor * a[pivot_row][k];
                inverse[row][k] -= factor * inverse[pivot_row][k];
            }
        }
    }
    // Row rows[i] of the worked inverse belongs to index over[i].
    let mut ordered = [[0.0; 3]; 3];
    for (&to, &from) in over.iter().zip(&rows) {
        ordered[to] = inverse[from];
    }
    ordered
}

/// A place of the path where the tangent has a zero eigenvalue.
#[derive(Clone, Debug, PartialEq)]
pub struct CriticalPoint {
    /// Load factor.
    pub fraction: f64,
    /// The mode by mesh node, largest displacement 1.
    pub mode: Vec<[f64; 2]>,
    /// Negative pivots before and behind it.
    pub negative_pivots: [usize; 2],
}

/// Inverse iterations from a fixed start; near a zero eigenvalue each gains many digits.
const INVERSE_ITERATIONS: usize = 6;

/// The eigenvector of the smallest eigenvalue (by magnitude) of the tangent, by mesh node, scaled to
/// a largest displacement of 1.
pub(crate) fn softest_mode(
    system: &mut System,
    at: &Configuration,
) -> Result<Vec<[f64; 2]>, Failure> {
    system.factor_tangent(at)?;
    let n = system.assembly.dofs.count;
    // A fixed start without symmetry: the golden ratio's multiples never repeat.
    let golden = 0.618_033_988_749_894_9;
    let mut mode: Vec<f64> = (0..n).map(|i| (golden * (i + 1) as f64).fract() - 0.5).collect();
    for _ in 0..INVERSE_ITERATIONS {
        system.factor.solve(&mut mode);
        let size = norm(&mode);
        if !(size > 0.0 && size.is_finite()) {
            return Err(Failure::Singular);
        }
        mode.iter_mut().for_each(|m| *m /= size);
    }
    let dofs = &system.assembly.dofs;
    let mut bodies = vec![[0.0; 3]; dofs.bodies.len()];
    for (body, q) in dofs.bodies.iter().zip(&mut bodies) {
        for k in 0..3 {
            if body.equations[k] != NONE {
                q[k] = mode[body.equations[k] as usize];
            }
        }
    }
    let mut field = vec![[0.0; 2]; dofs.mesh_node.len()];
    for (s, &m) in dofs.mesh_node.iter().enumerate() {
        field[m as usize] = velocity(system, at, crate::dofs::index(s), &bodies, &mode);
    }
    let largest = withy_mesh::number::largest(0.0, field.iter().map(|v| v[0].hypot(v[1])));
    Ok(field.iter().map(|v| v.map(|x| x / largest)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_inverts_with_a_zero_on_its_diagonal() {
        let matrix = [[0.0, 7.0, 2.0], [7.0, 7.0, 7.0], [2.0, 7.0, 1.0]];
        let inverse = inverted(&matrix, &[0, 2]);
        for i in [0, 2] {
            for j in [0, 2] {
                let sum: f64 = [0, 2].iter().map(|&k| matrix[i][k] * inverse[k][j]).sum();
                let expected = if i == j { 1.0 } else { 0.0 };
                assert!((sum - expected).abs() < 1e-15, "{i} {j}: {sum}");
            }
        }
        assert!(inverse[1].iter().all(|v| v.abs() <= 0.0), "the rest stays empty");
    }
}
