//! From the outline to the mesh, step by step.

use crate::arrangement::arrange;
use crate::border::Border;
use crate::division::divide;
use crate::error::MeshError;
use crate::mesh::{BoundaryEdge, ElementId, Mesh, NodeId, RegionNodes};
use crate::number::largest;
use crate::order::along_curve;
use crate::outline::{Outline, Region};
use crate::quadratic::scaled_jacobian;
use crate::refine::refine;
use crate::sizing::{SizeField, Sizing};
use crate::smooth::smooth;
use crate::surface::{Surface, short};
use crate::triangle::centroid;
use crate::triangulate::Net;
use kurbo::{Point, Rect};
use rayon::prelude::*;
use std::collections::BTreeSet;

/// Nodes this close to a region's border belong to the region (mm).
const ON_BORDER_MM: f64 = 1e-6;
/// Elements of a graded mesh per integral of dA/h^2: 4/sqrt(3) for equilateral triangles of
/// edge h, and a little less because triangles up to 1.15 h are left alone.
const ELEMENTS_PER_SQUARE: f64 = 2.2;
/// Triangles between two looks at the number of elements so far, at most.
const COUNTED_AT_ONCE: usize = 128;
/// Rounds of halving the edges of elements that are not proven; then the edge is made straight.
const REPAIRS: usize = 4;
/// An element is good enough for the solver if det J varies by less than this.
const LEAST_JACOBIAN: f64 = 0.05;

/// Meshes an outline with 6-node triangles.
///
/// The same outline and sizing give the same mesh, bit by bit.
///
/// # Errors
///
/// The sizing has no meaning, asks for too many elements, or the outline is too intricate.
pub fn mesh_outline(outline: &Outline, sizing: &Sizing) -> Result<Mesh, MeshError> {
    mesh_outline_unless(outline, sizing, &|| false)
}

/// Meshes an outline, unless `stop` becomes true on the way; it is asked many times a second.
///
/// # Errors
///
/// Those of [`mesh_outline`]; [`MeshError::Interrupted`].
pub fn mesh_outline_unless(
    outline: &Outline,
    sizing: &Sizing,
    stop: &dyn Fn() -> bool,
) -> Result<Mesh, MeshError> {
    let size = outline.size();
    let arrangement = arrange(outline);
    let (field, tips) = SizeField::new(outline, &arrangement, sizing, stop)?;
    let (bounds, limit) = (outline.bounds(), sizing.most_elements);
    let (points, edges) = divide(&arrangement, &field, &tips, limit)?;
    let mut net = Net::new(&arrangement.strands, &tips, points, edges);
    net.renumber(&bounds);
    let start = net.conform(size)?;
    check_count(&net.points, &start.1, &field, limit)?;
    let triangles = refine(&mut net, start, &field, size, limit, stop)?;
    let mut surface = smooth(&mut net, triangles, &field, &bounds, size, stop)?;
    let mut quadratic = Quadratic::new(&net, &surface, &BTreeSet::new());
    for _ in 0..REPAIRS {
        let mut unproven = quadratic.unproven();
        // Halving the first edges at a tip only moves the problem into the tip.
        unproven.retain(|&e| !net.is_first_at_tip(net.edges[e].ends, net.length(&net.edges[e])));
        if unproven.is_empty() {
            break;
        }
        unproven.into_iter().for_each(|edge| {
            net.halve(edge);
        });
        let start = net.conform(size)?;
        let triangles = refine(&mut net, start, &field, size, limit, stop)?;
        surface = smooth(&mut net, triangles, &field, &bounds, size, stop)?;
        quadratic = Quadratic::new(&net, &surface, &BTreeSet::new());
    }
    let mut straightened = BTreeSet::new();
    loop {
        // Every pass straightens at least one more edge, so that this ends.
        let before = straightened.len();
        straightened.extend(quadratic.unproven());
        if straightened.len() == before {
            break;
        }
        quadratic = Quadratic::new(&net, &surface, &straightened);
    }
    if surface.len() > limit {
        return Err(MeshError::TooManyElements { estimate: surface.len() as f64, limit });
    }
    quadratic.into_mesh(&net, &surface, outline)
}

/// Refuses a mesh that would be too large before it is built.
fn check_count(
    points: &[Point],
    triangles: &[[usize; 3]],
    field: &SizeField,
    limit: usize,
) -> Result<(), MeshError> {
    let mut estimate = 0.0;
    let mut rest = triangles;
    let mut some;
    // Few at first: where far too much is asked for, nearly every triangle holds too many.
    let mut together = 1;
    while !rest.is_empty() {
        (some, rest) = rest.split_at(rest.len().min(together));
        together = (2 * together).min(COUNTED_AT_ONCE);
        let count = |guess: &mut usize, t: &[usize; 3]| {
            elements_in(t.map(|v| points[v]), field, guess, limit)
        };
        let counts: Vec<f64> = some.par_iter().map_init(|| 0, count).collect();
        estimate += counts.into_iter().sum::<f64>();
        if !(estimate <= limit as f64) {
            return Err(MeshError::TooManyElements { estimate, limit });
        }
    }
    Ok(())
}

/// About how many elements a triangle will hold; counted no further than beyond a limit.
fn elements_in(triangle: [Point; 3], field: &SizeField, guess: &mut usize, limit: usize) -> f64 {
    let mut estimate = 0.0;
    let mut stack = vec![triangle];
    while let Some([a, b, c]) = stack.pop() {
        let h;
        (h, *guess) = field.at_from(centroid([a, b, c]), *guess);
        let sides = [a.distance(b), b.distance(c), c.distance(a)];
        let longest = largest(0.0, sides);
        if longest > 2.0 * h {
            // Halve the longest side.
            let [p, q, r] = if sides[0] >= longest {
                [a, b, c]
            } else if sides[1] >= longest {
                [b, c, a]
            } else {
                [c, a, b]
            };
            let m = p.midpoint(q);
            stack.extend([[p, m, r], [m, q, r]]);
        } else {
            estimate += ELEMENTS_PER_SQUARE * 0.5 * (b - a).cross(c - a) / (h * h);
        }
        if !(estimate <= limit as f64) {
            break;
        }
    }
    estimate
}

/// The 6-node triangles of a surface, with corners and sides in its order.
struct Quadratic {
    /// Corner nodes first, in the order of the net, then mid-side nodes.
    nodes: Vec<Point>,
    elements: Vec<[usize; 6]>,
    /// Edges of the net whose mid-side node is not halfway between their ends, with the element.
    bent: Vec<(usize, usize)>,
}

impl Quadratic {
    /// Mid-side nodes at half arc length on the curves; on the straightened edges, halfway.
    fn new(net: &Net<'_>, surface: &Surface, straightened: &BTreeSet<usize>) -> Self {
        let mut nodes = net.points.clone();
        nodes.reserve(surface.sides() as usize / 2);
        let mut elements: Vec<[usize; 6]> = Vec::with_capacity(surface.len());
        let mut bent = Vec::new();
        for (e, t) in surface.triangles().enumerate() {
            let mut element = [t[0], t[1], t[2], 0, 0, 0];
            for k in 0..3 {
                let side = short(3 * e + k);
                let known = surface.twin(side).filter(|&twin| twin < side);
                let edge = surface.edge(side).filter(|edge| !straightened.contains(edge));
                element[3 + k] = if let Some(twin) = known {
                    elements[twin as usize / 3][3 + twin as usize % 3]
                } else {
                    let halfway = net.points[t[k]].midpoint(net.points[t[(k + 1) % 3]]);
                    nodes.push(edge.and_then(|i| middle_on_curve(net, i)).unwrap_or(halfway));
                    nodes.len() - 1
                };
                let [p, q, middle] = [t[k], t[(k + 1) % 3], element[3 + k]].map(|node| nodes[node]);
                bent.extend(edge.filter(|_| middle != p.midpoint(q)).map(|edge| (e, edge)));
            }
            elements.push(element);
        }
        Self { nodes, elements, bent }
    }

    /// The curved edges of elements whose map is not proven to be invertible.
    fn unproven(&self) -> BTreeSet<usize> {
        let is_unproven = |e: usize| {
            !(scaled_jacobian(&self.elements[e].map(|n| self.nodes[n])) >= LEAST_JACOBIAN)
        };
        self.bent.iter().filter(|(e, _)| is_unproven(*e)).map(|&(_, edge)| edge).collect()
    }

    /// Renumbers along a space-filling curve and checks.
    fn into_mesh(
        self,
        net: &Net<'_>,
        surface: &Surface,
        outline: &Outline,
    ) -> Result<Mesh, MeshError> {
        let mut elements = self.elements;
        let center = |e: &[usize; 6]| centroid([e[0], e[1], e[2]].map(|n| self.nodes[n]));
        let centers: Vec<Point> = elements.iter().map(center).collect();
        let order = along_curve(&centers, &outline.bounds());
        elements = order.iter().map(|&i| elements[i]).collect();
        let mut number = vec![None; self.nodes.len()];
        let mut nodes = Vec::new();
        let mut numbered = Vec::with_capacity(elements.len());
        for e in &elements {
            numbered.push(e.map(|n| {
                *number[n].get_or_insert_with(|| {
                    nodes.push(self.nodes[n]);
                    NodeId(u32::try_from(nodes.len() - 1).unwrap_or(u32::MAX))
                })
            }));
        }
        let mut boundary = Vec::new();
        for (i, (&old, new)) in order.iter().zip(&numbered).enumerate() {
            for k in 0..3 {
                let Some(edge) = surface.edge(short(3 * old + k)) else { continue };
                let edge = net.edges[edge];
                if let Some([loop_index, curve_index]) = net.strands[edge.strand].outline {
                    boundary.push(BoundaryEdge {
                        element: ElementId(u32::try_from(i).unwrap_or(u32::MAX)),
                        nodes: [new[k], new[3 + k], new[(k + 1) % 3]],
                        loop_index,
                        curve_index,
                        parameters: edge.range,
                    });
                }
            }
        }
        boundary.sort_by(|a, b| {
            let place = |e: &BoundaryEdge| (e.loop_index, e.curve_index);
            place(a).cmp(&place(b)).then(a.parameters[0].total_cmp(&b.parameters[0]))
        });
        let regions = outline.regions().iter().map(|r| nodes_of(r, &nodes)).collect();
        let curves = outline.loops().iter().map(|l| l.curves.clone()).collect();
        Mesh::checked(nodes, numbered, boundary, regions, curves)
    }
}

/// The middle of an edge by arc length, unless an end of it was moved off the curve.
fn middle_on_curve(net: &Net<'_>, index: usize) -> Option<Point> {
    let edge = net.edges[index];
    let curve = &net.strands[edge.strand].curve;
    let on_curve = |k: usize| curve.at(edge.range[k]).distance(net.points[edge.ends[k]]) < 1e-5;
    (on_curve(0) && on_curve(1)).then(|| curve.at(curve.middle(edge.range[0], edge.range[1])))
}

/// The nodes inside a region or on its border.
fn nodes_of(region: &Region, nodes: &[Point]) -> RegionNodes {
    let border = Border::new(&region.loops);
    let reach: Rect = border.bounds().inflate(ON_BORDER_MM, ON_BORDER_MM);
    // "Within" includes the tolerance itself.
    let within = ON_BORDER_MM * (1.0 + 1e-9);
    let covers = |p: Point| {
        let near = p.x >= reach.x0 && p.x <= reach.x1 && p.y >= reach.y0 && p.y <= reach.y1;
        near && (border.contains(p) || border.nearest(p, within).is_some())
    };
    let numbers = nodes.par_iter().enumerate().filter(|(_, p)| covers(**p));
    RegionNodes {
        name: region.name.clone(),
        nodes: numbers.map(|(i, _)| NodeId(u32::try_from(i).unwrap_or(u32::MAX))).collect(),
    }
}
