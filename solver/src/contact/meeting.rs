//! What the meetings of a state add to the equations.

use super::border::{Border, Meeting, Met, Partner, parabola};
use super::terms::HalfSquare;
use super::{STIFFNESS, Shape};
use crate::configuration::Configuration;
use crate::coupled::Links;
use crate::dofs::{Dofs, index};
use crate::element::packed;
use crate::model::Model;
use nalgebra_sparse::CscMatrix;
use std::collections::BTreeSet;

/// A point this deep, as a part of its edge, is under a pressure of two thirds of the modulus and more: no
/// equilibrium of a real part.
pub(crate) const DRIVEN_THROUGH: f64 = 0.02;

/// The rigid body that held nodes make up; numbered behind all others.
pub(crate) fn still_body(dofs: &Dofs) -> u32 {
    index(dofs.bodies.len())
}

/// Contact of one model.
#[derive(Clone, Debug)]
pub(crate) struct Contact {
    pub(crate) border: Border,
    /// Penalty stiffness by edge (MPa/mm), of one side where two edges meet.
    stiffness: Vec<f64>,
    /// Part of it that counts: 1 but while a state is looked for.
    hardness: f64,
    pub(crate) thickness: f64,
    /// Pairs of edges that the pattern of the tangent knows.
    pairs: BTreeSet<[usize; 2]>,
    /// Whether there are pairs that it does not know yet.
    new_pairs: bool,
    /// What the last assembly found.
    pub(crate) meetings: Vec<Meeting>,
    /// Whether it was given no state of a part, in which nothing is looked for.
    wild: bool,
}

impl Contact {
    /// `None` if a model meets nothing.
    pub(crate) fn of(
        model: &Model,
        dofs: &Dofs,
        x: &[[f64; 2]],
        modulus: f64,
    ) -> Option<Box<Self>> {
        let obstacles = model.obstacles();
        if obstacles.is_empty() && !model.meets_itself() {
            return None;
        }
        let border = Border::new(model.mesh(), dofs, x, obstacles, model.meets_itself());
        let stiffness = border.lengths.iter().map(|length| STIFFNESS * modulus / length).collect();
        Some(Box::new(Self {
            border,
            stiffness,
            hardness: 1.0,
            thickness: model.thickness(),
            pairs: BTreeSet::new(),
            new_pairs: false,
            meetings: Vec::new(),
            wild: false,
        }))
    }

    /// Finds the meetings of a state.
    pub(crate) fn find(&mut self, places: &[[f64; 2]]) {
        let meetings = self.border.meetings(places);
        self.wild = meetings.is_none();
        self.meetings = meetings.unwrap_or_default();
        for k in 0..self.meetings.len() {
            let Meeting { edge, partner: Partner::Edge(other, _), .. } = self.meetings[k] else {
                continue;
            };
            if !self.pairs.contains(&[edge.min(other), edge.max(other)]) {
                self.pairs.extend(self.border.pairs_around(places, edge, other));
                self.pairs.insert([edge.min(other), edge.max(other)]);
                self.new_pairs = true;
            }
        }
    }

    /// What the last state that was assembled pushes.
    pub(crate) fn met(&self) -> BTreeSet<Met> {
        self.meetings.iter().map(|m| m.partner.met()).collect()
    }

    /// Whether the last assembly was given a state that no part gets into.
    pub(crate) fn is_wild(&self) -> bool {
        self.wild
    }

    /// Whether a state lies deeper in what it meets than any equilibrium of a real part.
    pub(crate) fn lies_deep(&self, places: &[[f64; 2]]) -> bool {
        let deep = |m: &Meeting| m.depth > DRIVEN_THROUGH * self.border.lengths[m.edge];
        self.border.meetings(places).is_none_or(|meetings| meetings.iter().any(deep))
    }

    /// The pairs of edges that the pattern knows.
    pub(crate) fn pairs(&self) -> BTreeSet<[usize; 2]> {
        self.pairs.clone()
    }

    /// Lets the pattern shrink to pairs that it knew before.
    pub(crate) fn forget_all_but(&mut self, pairs: BTreeSet<[usize; 2]>) {
        if pairs.len() < self.pairs.len() {
            self.pairs = pairs;
            self.new_pairs = true;
        }
    }

    /// Whether the tangent's pattern has to change; it is taken to have changed afterwards.
    pub(crate) fn takes_new_pairs(&mut self) -> bool {
        std::mem::take(&mut self.new_pairs)
    }

    /// The nodes of each pair of edges that the pattern has to couple.
    pub(crate) fn coupled_nodes(&self) -> Vec<[u32; 6]> {
        self.pairs.iter().map(|&[e, f]| self.six(e, f)).collect()
    }

    /// Penalty stiffness of a meeting times thickness and length (N/mm).
    pub(crate) fn weight(&self, m: &Meeting) -> f64 {
        let stiffness = match m.partner {
            Partner::Edge(..) => 0.5 * self.stiffness[m.edge],
            Partner::Obstacle(_) => self.stiffness[m.edge],
        };
        self.hardness * stiffness * self.thickness * m.length
    }

    /// Softens all surfaces to a part of their stiffness, until they are hardened again.
    pub(crate) fn set_hardness(&mut self, hardness: f64) {
        self.hardness = hardness;
    }

    /// Pressure at a meeting (MPa): where two edges meet, that of both sides.
    pub(crate) fn pressure(&self, m: &Meeting) -> f64 {
        let stiffness = match m.partner {
            Partner::Edge(other, foot) => {
                let [own, others] =
                    [(other, foot), (m.edge, m.s)].map(|(e, s)| self.border.fade(e, s).value());
                0.5 * (own * self.stiffness[m.edge] + others * self.stiffness[other])
            }
            Partner::Obstacle(_) => m.fade.value() * self.stiffness[m.edge],
        };
        stiffness * m.depth
    }

    /// Half the squared depth of a meeting and its nodes.
    pub(crate) fn term(&self, m: &Meeting, places: &[[f64; 2]]) -> ([u32; 6], HalfSquare) {
        let own = self.border.edges[m.edge];
        match m.partner {
            Partner::Edge(other, foot) => {
                let of = |e: usize| self.border.edges[e].map(|n| places[n as usize]);
                (
                    self.six(m.edge, other),
                    HalfSquare::edge(&of(m.edge), &of(other), m.s, foot, m.fade),
                )
            }
            Partner::Obstacle(k) => {
                let place = parabola(&own, places).at(m.s);
                let place = [place.x, place.y];
                let met = self.border.surface(k, m.edge).unwrap_or(&self.border.obstacles[k].shape);
                let term = match *met {
                    Shape::Rail { from, to } => {
                        let along = [to[0] - from[0], to[1] - from[1]];
                        let length = along[0].hypot(along[1]);
                        let normal = [-along[1] / length, along[0] / length];
                        HalfSquare::line(place, m.s, from, normal, m.fade)
                    }
                    Shape::Pin { at, radius } => HalfSquare::circle(place, m.s, at, radius),
                };
                (self.six(m.edge, m.edge), term)
            }
        }
    }

    /// Where a point lies deeper than any pressure of a real part puts it, at rest (mm).
    pub(crate) fn driven_through(&self) -> Option<[f64; 2]> {
        // Where a surface fades a point may lie deep and bear little.
        let deep = |m: &&Meeting| {
            // Of soft surfaces no state is looked for that is to stay.
            self.hardness >= 1.0
                && self.pressure(m)
                    > DRIVEN_THROUGH * self.stiffness[m.edge] * self.border.lengths[m.edge]
        };
        let deepest =
            self.meetings.iter().filter(deep).max_by(|a, b| a.depth.total_cmp(&b.depth))?;
        let place = self.border.rest[deepest.edge].at(0.5);
        Some([place.x, place.y])
    }

    /// Adds the forces of the meetings found, and their tangent if its values are given; returns the sum of the
    /// squares of the forces (N2).
    pub(crate) fn add(
        &self,
        dofs: &Dofs,
        x: &[[f64; 2]],
        at: &Configuration,
        internal: &mut [[f64; 2]],
        mut tangent: Option<&mut CscMatrix<f64>>,
    ) -> f64 {
        let places = places(x, at);
        let mut squares = 0.0;
        for m in &self.meetings {
            let (nodes, term) = self.term(m, &places);
            let weight = self.weight(m);
            let force = term.gradient.map(|g| weight * g);
            for (a, &n) in nodes.iter().enumerate() {
                internal[n as usize][0] += force[2 * a];
                internal[n as usize][1] += force[2 * a + 1];
            }
            squares += force.iter().map(|f| f * f).sum::<f64>();
            if let Some(tangent) = tangent.as_deref_mut() {
                let links = Links::new(dofs, &nodes, tangent);
                let entry = |k: usize| weight * term.second[k];
                links.add_tangent(dofs, x, at, &nodes, &force, entry, tangent.values_mut());
            }
        }
        squares
    }

    /// Adds the rate of the forces of the meetings found under nodal velocities.
    pub(crate) fn add_rate(
        &self,
        x: &[[f64; 2]],
        at: &Configuration,
        velocity: impl Fn(u32) -> [f64; 2],
        rate: &mut [[f64; 2]],
    ) {
        let places = places(x, at);
        for m in &self.meetings {
            let (nodes, term) = self.term(m, &places);
            let weight = self.weight(m);
            let v = nodes.map(&velocity);
            for i in 0..12 {
                let of = |j: usize| term.second[if i >= j { packed(i, j) } else { packed(j, i) }];
                let sum: f64 = (0..12).map(|j| of(j) * v[j / 2][j % 2]).sum();
                rate[nodes[i / 2] as usize][i % 2] += weight * sum;
            }
        }
    }

    fn six(&self, edge: usize, other: usize) -> [u32; 6] {
        let ([a, b, c], [d, e, f]) = (self.border.edges[edge], self.border.edges[other]);
        [a, b, c, d, e, f]
    }
}

/// Where the solver's nodes are now (mm).
pub(crate) fn places(x: &[[f64; 2]], at: &Configuration) -> Vec<[f64; 2]> {
    x.iter().zip(&at.u).map(|(x, u)| [x[0] + u[0], x[1] + u[1]]).collect()
}
