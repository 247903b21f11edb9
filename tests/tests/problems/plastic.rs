//! Elastoplastic parts: a bar, a beam in pure bending, and what becomes of the work.
//!
//! - Bar: logarithmic strain ln(l) = tau / E + alpha with tau = y(alpha), the Kirchhoff stress; force
//!   A0 tau / l; let down it is l0 = exp(alpha) long. Exact, uniform.
//! - Perfectly plastic rectangular beam: M = 1.5 My (1 - (ky / k)^2 / 3), shape factor 1.5, residual
//!   curvature k - M / EI (R. Hill, "The Mathematical Theory of Plasticity"; S. Timoshenko, "Strength of
//!   Materials", part II; from memory). Strains stay below 0.3 %, so that the law's logarithm does not
//!   show. An element that the border of the plastic zone runs through has Gauss points on either
//!   side: with n layers the moment is off by about 1 / n^2 of the core's share.

use std::ops::ControlFlow;
use withy_mesh::NodeId;
use withy_solver::relaxation::{Relaxation, Term};
use withy_solver::stages::{Stage, StageOptions, StageState, StagedPath, follow_stages};
use withy_solver::stress::Recovery;
use withy_solver::{Coordinate, Elastic, Hardening, Law, Model, PlaneState, Support};
use withy_tests::bar;
use withy_tests::compare;
use withy_tests::grid::grid;
use withy_tests::pick::on_x;
use withy_tests::solve::{path, rigid};
use withy_tests::strip::Strip;

const E: f64 = 2000.0;
const NU: f64 = 0.35;
/// Newton stops at a residual of 1e-9 of the element forces.
const ROUNDING: f64 = 1e-8;

fn elastic() -> Elastic {
    Elastic::new(E, NU, PlaneState::PlaneStress).unwrap()
}

fn followed(model: &Model, stages: &[Stage], steps: u32) -> StagedPath {
    let options = StageOptions { steps, halvings: 10, by_decade: 10 };
    follow_stages(model, None, stages, &options, &mut |_| ControlFlow::Continue(())).unwrap()
}

/// The last state of each stage.
fn ends(path: &StagedPath) -> Vec<&StageState> {
    let count = path.memory.len();
    (0..count).map(|n| path.states.iter().rfind(|s| s.stage == n).unwrap()).collect()
}

#[test]
fn a_bar_of_hencky_in_plane_stress_and_plane_strain_has_its_exact_force_and_true_stress() {
    for (state, stretch) in [
        (PlaneState::PlaneStress, 1.2),
        (PlaneState::PlaneStress, 0.8_f64),
        (PlaneState::PlaneStrain, 1.2),
    ] {
        let mesh = bar::mesh();
        let law = Law::Hencky(Elastic::new(E, NU, state).unwrap());
        let model = bar::stretched(&mesh, law, stretch);
        let last = path(&model, 4).pop().unwrap();
        // Plane strain: tau = E / (1 - nu^2) ln l, across nu tau; volume l^(1 - nu / (1 - nu)).
        let (modulus, power) = match state {
            PlaneState::PlaneStress => (E, 1.0 - 2.0 * NU),
            PlaneState::PlaneStrain => (E / (1.0 - NU * NU), 1.0 - NU / (1.0 - NU)),
        };
        let tau = modulus * stretch.ln();
        let what = format!("Hencky bar in {state:?}, stretch {stretch}");
        compare::relative(
            &format!("{what}: force (N)"),
            tau / stretch,
            bar::force(&last),
            ROUNDING,
        );
        let field = Recovery::new(&model).field(&last.displacements);
        let stress = field.stress[5];
        let axial = if stretch > 1.0 { stress.tension } else { stress.compression };
        let sigma = tau / stretch.powf(power);
        compare::relative(&format!("{what}: true stress (MPa)"), sigma, axial, ROUNDING);
    }
}

#[test]
fn a_bar_that_yields_follows_its_hardening_curve_and_keeps_its_plastic_stretch() {
    let hardening = Hardening::new(26.0, 14.0, 120.0, 5.0).unwrap();
    let mesh = bar::mesh();
    let alpha: f64 = 0.05;
    let (y, _) = hardening.at(alpha);
    let stretch = (y / E + alpha).exp();
    let model = bar::stretched(&mesh, Law::Elastoplastic(elastic(), hardening), stretch);
    let back = alpha.exp_m1() / (stretch - 1.0);
    let path = followed(&model, &[Stage::To(1.0), Stage::To(back), Stage::To(1.0)], 20);
    let ends = ends(&path);
    let force = |s: &StageState| bar::force(&s.step);
    compare::relative("bar that yields: force (N)", y / stretch, force(ends[0]), ROUNDING);
    compare::relative("bar that yields: plastic strain", alpha, ends[0].most_plastic, ROUNDING);
    compare::absolute("bar let down: force (N)", 0.0, force(ends[1]), 1e-6);
    compare::relative("bar drawn again: force (N)", y / stretch, force(ends[2]), ROUNDING);
    // Plastic work: integral of y over alpha, by the closed form; volume 4 mm3.
    let exact =
        26.0 * alpha + 14.0 * (alpha + (-120.0 * alpha).exp_m1() / 120.0) + 2.5 * alpha * alpha;
    // Trapezoids of 20 steps along a curve that bends.
    compare::relative("bar: work on plastic strain (mJ)", 4.0 * exact, ends[0].plastic_work, 2e-3);
    let most = path.states.iter().map(|s| s.step.iterations).max().unwrap();
    assert!(most <= 6, "Newton's method converges quadratically while it yields: {most}");
}

/// Held while a share of its stress is lost, let down at once: by hand, force (1 - lost) F, rest where the logarithmic
/// strain is lost times the drawn one. The solid's one arm of 0.3 is all gone: the rest of the springs store
/// (1 - lost) of the energy. No yielding.
#[test]
fn a_bar_that_is_held_keeps_what_its_stress_has_lost() {
    let lost = 0.3;
    let law = Relaxation::Terms(vec![Term { share: lost, time: 1.0 }]);
    let hardening = Hardening::new(1e4, 0.0, 0.0, 0.0).unwrap();
    let mesh = bar::mesh();
    let stretch: f64 = 1.1;
    let model = bar::stretched(&mesh, Law::Elastoplastic(elastic(), hardening), stretch);
    let back = (lost * stretch.ln()).exp_m1() / (stretch - 1.0);
    let stages = [Stage::To(1.0), Stage::Hold(100.0), Stage::To(back)];
    let options = StageOptions { steps: 10, halvings: 10, by_decade: 10 };
    let path =
        follow_stages(&model, Some(&law), &stages, &options, &mut |_| ControlFlow::Continue(()))
            .unwrap();
    let ends = ends(&path);
    let force = |s: &StageState| bar::force(&s.step);
    let left = (1.0 - lost) * force(ends[0]);
    compare::relative("held bar: force (N)", left, force(ends[1]), ROUNDING);
    compare::absolute("held bar let down: force (N)", 0.0, force(ends[2]), 1e-6);
    let stored = ends[0].step.strain_energy;
    let energy = ends[1].step.strain_energy;
    compare::relative("held bar: energy left (mJ)", (1.0 - lost) * stored, energy, ROUNDING);
    // No work is done while it is held: what is not left has been taken. Simpson's rule in the first steps: 1e-7.
    compare::relative("held bar: work put in (mJ)", ends[0].work(), ends[1].work(), 1e-6);
}

/// A strip in pure bending, its tip turned; curvature between two sections far from the ends.
fn bent(layers: u32, turns: &[f64]) -> Vec<(f64, f64)> {
    let (length, depth) = (20.0, 2.0);
    let strip = Strip::layered(length, depth, 20, layers);
    let modulus = 2e5;
    let law = Law::Elastoplastic(
        Elastic::new(modulus, 0.3, PlaneState::PlaneStress).unwrap(),
        Hardening::new(40.0, 0.0, 0.0, 0.0).unwrap(),
    );
    let most = turns[turns.len() - 1];
    let ky = 2.0 * 40.0 / (modulus * depth);
    let full = most * ky * length;
    let motion = [Coordinate::Free, Coordinate::Free, Coordinate::Driven(full)];
    let model = strip.driven(law, 5.0, motion);
    let stages: Vec<Stage> =
        turns.iter().flat_map(|k| [Stage::To(k / most), Stage::LetDown]).collect();
    let path = followed(&model, &stages, 40);
    let my = 40.0 * 5.0 * depth * depth / 6.0;
    let curvature = |s: &StageState| {
        let turn = |x: f64| section_turn(&strip, &on_x(&strip.mesh, x), &s.step.displacements);
        (turn(15.0) - turn(5.0)) / 10.0 / ky
    };
    ends(&path).into_iter().map(|s| (curvature(s), s.step.reactions[0].moment / my)).collect()
}

/// Turn of a cross-section, by least squares of its displacement along x.
fn section_turn(strip: &Strip, nodes: &[NodeId], displacements: &[[f64; 2]]) -> f64 {
    let y = |n: &NodeId| strip.mesh.nodes()[n.index()].y;
    let up: f64 = nodes.iter().map(|n| y(n) * displacements[n.index()][0]).sum();
    -up / nodes.iter().map(|n| y(n) * y(n)).sum::<f64>()
}

#[test]
fn a_perfectly_plastic_beam_has_its_moment_curve_and_residual_curvature() {
    let wanted = [1.2, 1.5, 2.0, 3.0, 5.0, 10.0];
    let rows = bent(16, &wanted);
    for pair in rows.chunks(2) {
        let (k, m) = pair[0];
        let (left, zero) = pair[1];
        let exact = 1.5 * (1.0 - 1.0 / (3.0 * k * k));
        let what = format!("perfectly plastic beam at {k:.3} times its yield curvature");
        compare::relative(&format!("{what}: M / My"), exact, m, 1e-3);
        compare::absolute(&format!("{what}: let down, M / My"), 0.0, zero, 1e-6);
        // In units of the yield curvature, as the moment.
        compare::absolute(&format!("{what}: residual curvature"), k - exact, left, 1.5e-3);
    }
    let (_, last) = rows[10];
    compare::relative("shape factor, from ten times the yield curvature", 1.495, last, 1e-3);
}

#[test]
fn work_put_in_is_stored_or_spent_on_plastic_strain() {
    let hardening = Hardening::new(26.0, 14.0, 120.0, 0.0).unwrap();
    let strip = Strip::layered(20.0, 2.0, 16, 4);
    let motion = [Coordinate::Free, Coordinate::Driven(-6.0), Coordinate::Driven(0.0)];
    let model = strip.driven(Law::Elastoplastic(elastic(), hardening), 5.0, motion);
    let stages = [Stage::To(1.0), Stage::LetDown, Stage::To(1.0), Stage::LetDown];
    let miss = |steps: u32| -> [f64; 4] {
        let path = followed(&model, &stages, steps);
        let most = path.states.iter().map(|s| s.step.iterations / s.step.internal_steps).max();
        assert!(
            most.unwrap() <= 6,
            "with the consistent tangent Newton's method is quick: {most:?}"
        );
        let (mut work, mut before) = (0.0, (0.0, 0.0));
        let (mut misses, mut most) = ([0.0; 4], 0.0);
        for s in &path.states {
            work += 0.5 * (before.1 + s.effort) * (s.step.fraction - before.0);
            before = (s.step.fraction, s.effort);
            misses[s.stage] = work / s.work() - 1.0;
            most = s.plastic_work / s.work();
        }
        assert!(most > 0.5, "let down, most of what is left was spent on plastic strain: {most}");
        misses
    };
    let (coarse, fine) = (miss(40), miss(160));
    for stage in 0..4 {
        let what = format!("guided beam that yields, stage {stage}: integral of force / work - 1");
        compare::absolute(&what, 0.0, fine[stage], 5e-6);
    }
    // Trapezoids on both sides: order two.
    let order = (coarse[0] / fine[0]).abs().log2() / 2.0;
    compare::between("guided beam that yields: order of that difference", 1.5, 2.5, order);
}

#[test]
fn a_part_that_yields_turned_as_a_whole_takes_the_same_set() {
    let hardening = Hardening::new(26.0, 14.0, 120.0, 0.0).unwrap();
    let set = |angle: f64| {
        let (c, s) = (angle.cos(), angle.sin());
        let mesh = grid(12, 2, |u, v| {
            let (x, y) = (20.0 * u, 2.0 * (v - 0.5));
            [c * x - s * y, s * x + c * y]
        });
        let at = |x: f64| withy_tests::pick::nodes(&mesh, |p| (c * p.x + s * p.y - x).abs() < 1e-9);
        let motion = [Coordinate::Driven(5.0 * s), Coordinate::Driven(-5.0 * c), Coordinate::Free];
        let model = Model::new(&mesh, Law::Elastoplastic(elastic(), hardening), 5.0)
            .unwrap()
            .support(Support::hold("root", at(0.0)))
            .unwrap()
            .rigid_region(rigid("tip", at(20.0), motion))
            .unwrap();
        let path = followed(&model, &[Stage::To(1.0), Stage::LetDown], 20);
        let last = path.states.last().unwrap();
        [last.step.fraction, last.plastic_work, last.most_plastic]
    };
    let plain = set(0.0);
    for (angle, turned) in [(0.7, set(0.7)), (2.5, set(2.5))] {
        for (k, what) in ["set", "plastic work", "most plastic strain"].into_iter().enumerate() {
            let what = format!("{what} of a part turned by {angle} rad");
            compare::relative(&what, plain[k], turned[k], 1e-6);
        }
    }
}
