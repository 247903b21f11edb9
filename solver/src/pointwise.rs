//! Elements of any law, point by point, and what their points remember.
//!
//! The linear law has its own kernel for eight elements at once ([`crate::element`]); every other law is
//! computed here, one Gauss point after another. What a point remembers is that of the last
//! converged state and only changes in [`Pointwise::commit`]: an iteration that fails leaves no trace.
//!
//! The symbols are those of [`crate::element`].
#![expect(non_snake_case, reason = "symbols of the textbook")]

use crate::assembly::Want;
use crate::batch::ElementBatch;
use crate::element::{self, BatchResult, packed};
use crate::lanes::Lanes;
use crate::material::{Law, PlasticState, Response, directions};
use crate::model::Model;
use crate::quadrature::DEGREE_2;
use crate::triangle::{self, gradients};
use crate::viscous::{Borne, Kept, Viscous};
use rayon::prelude::*;
use withy_mesh::Mesh;

/// Reference positions and displacements of an element's nodes (mm).
pub(crate) type Places = ([[f64; 2]; 6], [[f64; 2]; 6]);

/// A law that is computed point by point.
#[derive(Clone, Debug)]
pub(crate) struct Pointwise {
    law: Law,
    /// By mesh element and Gauss point.
    states: Vec<[PlasticState; 3]>,
    /// Along the beads, likewise; empty if there are none.
    beads: Vec<[[f64; 2]; 3]>,
    /// What time does to them; none if nothing.
    viscous: Option<Viscous>,
}

impl Pointwise {
    /// None for the law that has a kernel of its own.
    pub(crate) fn of(model: &Model) -> Option<Self> {
        match model.law() {
            Law::StVenantKirchhoff(_) => None,
            Law::Hencky(_) | Law::Elastoplastic(..) | Law::Orthotropic(..) => {
                Some(Self::any(model))
            }
        }
    }

    /// For the law that has a kernel of its own too.
    pub(crate) fn any(model: &Model) -> Self {
        let law = model.law();
        let states = vec![[PlasticState::default(); 3]; model.mesh().elements().len()];
        Self { law: *law, states, beads: beads(model.mesh(), law), viscous: None }
    }

    /// What time does to the points from now on.
    pub(crate) fn set_viscous(&mut self, viscous: Viscous) {
        self.viscous = Some(viscous);
    }

    pub(crate) fn viscous(&self) -> Option<&Viscous> {
        self.viscous.as_ref()
    }

    /// Begins a step of this time.
    pub(crate) fn begin(&mut self, dt: f64) {
        if let Some(viscous) = &mut self.viscous {
            viscous.begin(dt);
        }
    }

    /// The strain that each point's springs bear at these displacements.
    pub(crate) fn borne(&self, elements: impl Fn(usize) -> Places + Sync) -> Vec<[Borne; 3]> {
        let of = |(e, states): (usize, &[PlasticState; 3])| -> [Borne; 3] {
            let (X, u) = elements(e);
            std::array::from_fn(|q| {
                let (G, _) = gradients(&X, DEGREE_2[q].xi, DEGREE_2[q].eta);
                self.law.borne(strain(&slopes(&u, &G)), &states[q])
            })
        };
        self.states.par_iter().enumerate().map(of).collect()
    }

    fn kept(&self, element: usize, q: usize) -> Kept {
        self.viscous.as_ref().map_or(Kept::NOTHING, |v| v.kept(element, q))
    }

    /// What the points remember, by mesh element.
    pub(crate) fn states(&self) -> &[[PlasticState; 3]] {
        &self.states
    }

    /// What each point will remember if these displacements are a converged state.
    pub(crate) fn commit(&mut self, elements: impl Fn(usize) -> Places + Sync) {
        let (law, beads, viscous) = (self.law, &self.beads, &self.viscous);
        self.states.par_iter_mut().enumerate().for_each(|(e, states)| {
            let (X, u) = elements(e);
            for (q, (state, g)) in states.iter_mut().zip(DEGREE_2).enumerate() {
                let (G, _) = gradients(&X, g.xi, g.eta);
                let (E, bead) = (strain(&slopes(&u, &G)), bead_of(beads, e, q));
                let kept = viscous.as_ref().map_or(Kept::NOTHING, |v| v.kept(e, q));
                *state = law.respond(E, bead, state, &kept).state;
            }
        });
        if self.viscous.is_some() {
            let borne = self.borne(elements);
            let (law, beads) = (self.law, &self.beads);
            if let Some(viscous) = &mut self.viscous {
                viscous.take(&borne, |e, q, strain| law.density(strain, bead_of(beads, e, q)));
                viscous.begin(0.0);
            }
        }
    }

    fn batch(
        &self,
        batch: &ElementBatch,
        u: &[Lanes; 12],
        thickness: f64,
        want: Want,
        out: &mut BatchResult,
    ) {
        *out = BatchResult::new();
        out.det_F = Lanes([f64::INFINITY; crate::lanes::WIDTH]);
        for l in 0..batch.count {
            let at = |v: &[Lanes; 12]| -> [[f64; 2]; 6] {
                std::array::from_fn(|a| [v[2 * a].0[l], v[2 * a + 1].0[l]])
            };
            let (X, u) = (at(&batch.x), at(u));
            let element = batch.element[l] as usize;
            for (q, (g, before)) in DEGREE_2.iter().zip(&self.states[element]).enumerate() {
                let (G, det) = gradients(&X, g.xi, g.eta);
                let w = thickness * g.weight * det;
                let H = slopes(&u, &G);
                let (bead, kept) = (bead_of(&self.beads, element, q), self.kept(element, q));
                let response = self.law.respond(strain(&H), bead, before, &kept);
                let F = [[1.0 + H[0][0], H[0][1]], [H[1][0], 1.0 + H[1][1]]];
                let det_F = F[0][0] * F[1][1] - F[0][1] * F[1][0];
                // NaN counts as worse than all.
                let least = &mut out.det_F.0[l];
                *least = if det_F < *least || det_F.is_nan() { det_F } else { *least };
                out.energy.0[l] += w * response.energy;
                add_point(&G, &F, &response, w, want, l, out);
            }
        }
    }
}

/// Along the beads at every Gauss point; empty without beads.
fn beads(mesh: &Mesh, law: &Law) -> Vec<[[f64; 2]; 3]> {
    let Law::Orthotropic(_, beads) = law else { return Vec::new() };
    let mut points = Vec::new();
    for element in mesh.elements() {
        let X = triangle::places(mesh, element);
        for g in DEGREE_2 {
            let N = triangle::shape(g.xi, g.eta);
            points.push([0, 1].map(|i| (0..6).map(|a| N[a] * X[a][i]).sum()));
        }
    }
    directions(mesh, *beads, &points).chunks_exact(3).map(|d| [d[0], d[1], d[2]]).collect()
}

fn bead_of(beads: &[[[f64; 2]; 3]], element: usize, q: usize) -> [f64; 2] {
    beads.get(element).map_or([1.0, 0.0], |own| own[q])
}

/// F - I: displacement by reference position.
pub(crate) fn slopes(u: &[[f64; 2]; 6], G: &[[f64; 2]; 6]) -> [[f64; 2]; 2] {
    let mut H = [[0.0; 2]; 2];
    for a in 0..6 {
        for i in 0..2 {
            for j in 0..2 {
                H[i][j] += u[a][i] * G[a][j];
            }
        }
    }
    H
}

/// Green-Lagrange strain, free of the cancellation in (F'F - I) / 2.
pub(crate) fn strain(H: &[[f64; 2]; 2]) -> [f64; 3] {
    [
        H[0][0] + 0.5 * (H[0][0] * H[0][0] + H[1][0] * H[1][0]),
        H[1][1] + 0.5 * (H[0][1] * H[0][1] + H[1][1] * H[1][1]),
        H[0][1] + H[1][0] + (H[0][0] * H[0][1] + H[1][0] * H[1][1]),
    ]
}

/// Adds force and, if wanted, tangent of one Gauss point of lane `l`.
fn add_point(
    G: &[[f64; 2]; 6],
    F: &[[f64; 2]; 2],
    at: &Response,
    w: f64,
    want: Want,
    l: usize,
    out: &mut BatchResult,
) {
    let S = at.S;
    let B: [[f64; 3]; 12] = std::array::from_fn(|n| {
        let (g, [F1, F2]) = (G[n / 2], F[n % 2]);
        [F1 * g[0], F2 * g[1], F1 * g[1] + F2 * g[0]]
    });
    for (n, b) in B.iter().enumerate() {
        out.f[n].0[l] += w * (b[0] * S[0] + b[1] * S[1] + b[2] * S[2]);
    }
    if want == Want::Force {
        return;
    }
    for (i, b) in B.iter().enumerate() {
        let DB: [f64; 3] = std::array::from_fn(|k| {
            w * (at.D[k][0] * b[0] + at.D[k][1] * b[1] + at.D[k][2] * b[2])
        });
        for (j, other) in B[..=i].iter().enumerate() {
            let sum = DB[0] * other[0] + DB[1] * other[1] + DB[2] * other[2];
            out.K[packed(i, j)].0[l] += sum;
        }
    }
    for a in 0..6 {
        let t = [w * (S[0] * G[a][0] + S[2] * G[a][1]), w * (S[2] * G[a][0] + S[1] * G[a][1])];
        for b in 0..=a {
            let s = t[0] * G[b][0] + t[1] * G[b][1];
            for i in 0..2 {
                out.K[packed(2 * a + i, 2 * b + i)].0[l] += s;
            }
        }
    }
}

/// What the elements of a model are made of.
#[derive(Clone, Debug)]
pub(crate) struct Solid {
    /// Of small strains: D11, D12, shear modulus (MPa).
    pub(crate) moduli: [f64; 3],
    /// (mm)
    pub(crate) thickness: f64,
    /// The law and what its points remember, unless it is the linear one.
    pub(crate) pointwise: Option<Pointwise>,
}

impl Solid {
    pub(crate) fn of(model: &Model) -> Self {
        Self {
            moduli: model.law().elastic().moduli(),
            thickness: model.thickness(),
            pointwise: Pointwise::of(model),
        }
    }

    /// Energy, force and, if wanted, tangent of a batch of elements.
    #[inline(always)]
    pub(crate) fn batch<const FUSED: bool>(
        &self,
        batch: &ElementBatch,
        u: &[Lanes; 12],
        want: Want,
        out: &mut BatchResult,
    ) {
        let (moduli, thickness) = (self.moduli, self.thickness);
        match (&self.pointwise, want) {
            (Some(pointwise), _) => pointwise.batch(batch, u, thickness, want, out),
            (None, Want::Tangent) => {
                element::batch::<FUSED, true>(&batch.x, u, moduli, thickness, out);
            }
            (None, Want::Force) => {
                element::batch::<FUSED, false>(&batch.x, u, moduli, thickness, out);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{Beads, Elastic, Hardening, Orthotropic, PlaneState};

    const X: [[f64; 2]; 6] =
        [[0.0, 0.0], [2.0, 0.1], [0.3, 1.5], [1.1, -0.1], [1.3, 0.9], [0.05, 0.8]];

    fn batch() -> ElementBatch {
        ElementBatch::of(&X, &[[0, 1, 2, 3, 4, 5]], &[0]).remove(0)
    }

    fn lanes(u: &[f64; 12]) -> [Lanes; 12] {
        u.map(Lanes::splat)
    }

    /// Displacements that strain the element by several per cent, turned or not.
    const U: [f64; 12] = [0.0, 0.01, 0.09, -0.02, 0.05, 0.04, 0.03, 0.01, 0.06, 0.03, -0.01, 0.02];

    fn pointwise(law: Law) -> Pointwise {
        let mut one = Pointwise {
            law,
            states: vec![[PlasticState::default(); 3]],
            beads: Vec::new(),
            viscous: None,
        };
        // A past of its own, strained another way.
        let past: [[f64; 2]; 6] = std::array::from_fn(|a| [-0.6 * U[2 * a + 1], 1.3 * U[2 * a]]);
        one.commit(|_| (X, past));
        one
    }

    #[test]
    fn tangents_of_an_element_are_the_slope_of_its_forces() {
        let hardening = Hardening::new(26.0, 14.0, 120.0, 15.0).unwrap();
        for state in [PlaneState::PlaneStress, PlaneState::PlaneStrain] {
            let elastic = Elastic::new(2050.0, 0.39, state).unwrap();
            let sheet = Orthotropic::new(2050.0, 1500.0, 0.39, 560.0).unwrap();
            for law in [
                Law::Hencky(elastic),
                Law::Elastoplastic(elastic, hardening),
                Law::Orthotropic(sheet, Beads::At(0.0)),
            ] {
                let (mut one, batch) = (pointwise(law), batch());
                one.beads = vec![[[0.6, 0.8], [0.8, 0.6], [0.0, 1.0]]];
                let mut out = BatchResult::new();
                one.batch(&batch, &lanes(&U), 6.0, Want::Tangent, &mut out);
                let K = out.K;
                for j in 0..12 {
                    let h = 1e-6;
                    let mut force = |sign: f64| {
                        let mut u = U;
                        u[j] += sign * h;
                        one.batch(&batch, &lanes(&u), 6.0, Want::Force, &mut out);
                        out.f.map(|f| f.0[0])
                    };
                    let (up, down) = (force(1.0), force(-1.0));
                    for i in 0..12 {
                        let slope = (up[i] - down[i]) / (2.0 * h);
                        let k = K[if i >= j { packed(i, j) } else { packed(j, i) }].0[0];
                        // Stiffnesses are of 1e4 N/mm; h^2 and rounding / h leave 1e-4 N/mm.
                        assert!((slope - k).abs() <= 1e-3, "{law:?} {i} {j}: {slope} {k}");
                    }
                }
                if matches!(law, Law::Elastoplastic(..)) {
                    assert!(one.states[0][0].equivalent > 1e-3, "it has yielded before");
                }
            }
        }
    }

    #[test]
    fn the_linear_law_gives_here_what_its_own_kernel_gives() {
        let elastic = Elastic::new(2050.0, 0.39, PlaneState::PlaneStress).unwrap();
        let one = pointwise(elastic.into());
        let (mut here, mut own) = (BatchResult::new(), BatchResult::new());
        one.batch(&batch(), &lanes(&U), 6.0, Want::Tangent, &mut here);
        element::batch::<false, true>(&batch().x, &lanes(&U), elastic.moduli(), 6.0, &mut own);
        for (a, b) in here.K.iter().zip(&own.K).chain(here.f.iter().zip(&own.f)) {
            assert!((a.0[0] - b.0[0]).abs() <= 1e-9, "{} {}", a.0[0], b.0[0]);
        }
        assert!((here.energy.0[0] / own.energy.0[0] - 1.0).abs() <= 1e-13, "energy");
    }
}
