//! The sparsity pattern of the tangent: lower triangle, columns by equation.

use crate::dofs::{Dofs, Motion, NONE, index};
use nalgebra_sparse::CscMatrix;
use nalgebra_sparse::pattern::SparsityPattern;

/// The pattern of all elements that can be strained, with zero values.
///
/// `rigid[e]` marks elements that lie wholly in one rigid region.
pub(crate) fn lower_triangle(dofs: &Dofs, elements: &[[u32; 6]], rigid: &[bool]) -> CscMatrix<f64> {
    // For each node or rigid region: those it shares an element with. Rigid regions are numbered
    // behind the nodes, as their equations are.
    let nodes = dofs.motion.len();
    let owner = |n: u32| match dofs.motion[n as usize] {
        Motion::Own(_) => n,
        Motion::Rigid(b) => index(nodes) + b,
    };
    let equations_of = |o: u32| -> [u32; 3] {
        match (o as usize).checked_sub(nodes) {
            Some(b) => dofs.bodies[b].equations,
            None => match dofs.motion[o as usize] {
                Motion::Own([x, y]) => [x, y, NONE],
                Motion::Rigid(_) => [NONE; 3],
            },
        }
    };
    let owners = nodes + dofs.bodies.len();
    let mut counts = vec![0usize; owners + 1];
    let strained = || elements.iter().zip(rigid).filter(|(_, r)| !**r).map(|(e, _)| e);
    for element in strained() {
        for &n in element {
            counts[owner(n) as usize + 1] += 6;
        }
    }
    for i in 1..counts.len() {
        counts[i] += counts[i - 1];
    }
    let mut fill = counts.clone();
    let mut neighbours = vec![0u32; counts[owners]];
    for element in strained() {
        let own = element.map(owner);
        for o in own {
            let at = &mut fill[o as usize];
            neighbours[*at..*at + 6].copy_from_slice(&own);
            *at += 6;
        }
    }

    let mut offsets = vec![0usize];
    let mut rows: Vec<usize> = Vec::new();
    for o in 0..owners {
        let list = &mut neighbours[counts[o]..counts[o + 1]];
        list.sort_unstable();
        let mut unique = list.to_vec();
        unique.dedup();
        if unique.is_empty() {
            // A region or node without strained elements: its equations stand alone.
            unique.push(index(o));
        }
        for column in equations_of(index(o)).into_iter().filter(|&e| e != NONE) {
            let below = unique.iter().flat_map(|&m| equations_of(m));
            rows.extend(below.filter(|&r| r != NONE && r >= column).map(|r| r as usize));
            offsets.push(rows.len());
        }
    }
    let n = dofs.count;
    let values = vec![0.0; rows.len()];
    let pattern = SparsityPattern::try_from_offsets_and_indices(n, n, offsets, rows)
        .expect("columns are built in order from sorted, unique neighbours");
    CscMatrix::try_from_pattern_and_values(pattern, values)
        .expect("one value is made for each entry of the pattern")
}

/// Where entry (row, column) of either triangle stands among the values.
pub(crate) fn slot(matrix: &CscMatrix<f64>, i: u32, j: u32) -> u32 {
    let (row, column) = (i.max(j) as usize, i.min(j) as usize);
    let (offsets, rows, _) = matrix.csc_data();
    let column = offsets[column]..offsets[column + 1];
    let at = rows[column.clone()]
        .binary_search(&row)
        .expect("the pattern was built from the same elements");
    index(column.start + at)
}
