//! Closed forms, differences and invariances of the laws at a point.

use super::*;

const STATES: [PlaneState; 2] = [PlaneState::PlaneStress, PlaneState::PlaneStrain];

fn elastic(state: PlaneState) -> Elastic {
    Elastic::new(2050.0, 0.39, state).unwrap()
}

fn laws() -> Vec<Law> {
    let hardening = Hardening::new(26.0, 14.0, 120.0, 15.0).unwrap();
    STATES
        .into_iter()
        .map(elastic)
        .flat_map(|e| [Law::StVenantKirchhoff(e), Law::Hencky(e), Law::Elastoplastic(e, hardening)])
        .collect()
}

/// A direction that isotropic laws pass over.
const NO_BEADS: [f64; 2] = [1.0, 0.0];

/// Strains of a few per cent and more, some with equal principal values.
const STRAINS: [[f64; 3]; 6] = [
    [0.03, -0.012, 0.02],
    [0.02, 0.02, 0.0],
    [-0.05, 0.01, -0.03],
    [0.25, -0.1, 0.2],
    [1e-9, 2e-9, -1e-9],
    [0.4, 0.4, 1e-7],
];

#[test]
fn stress_is_the_slope_of_the_energy_of_an_elastic_law() {
    for law in laws().into_iter().filter(|l| !matches!(l, Law::Elastoplastic(..))) {
        for E in STRAINS {
            let at = law.respond(E, NO_BEADS, &PlasticState::default(), &Kept::NOTHING);
            for i in 0..3 {
                let h = 1e-5;
                let energy = |sign: f64| {
                    let mut moved = E;
                    moved[i] += sign * h;
                    law.respond(moved, NO_BEADS, &PlasticState::default(), &Kept::NOTHING).energy
                };
                // Differences of fourth order: h^4 and rounding / h both stay near 1e-10.
                let slope =
                    (8.0 * (energy(1.0) - energy(-1.0)) - energy(2.0) + energy(-2.0)) / (12.0 * h);
                assert!((slope - at.S[i]).abs() <= 1e-7, "{law:?} {E:?} {i}: {slope} {:?}", at.S);
            }
        }
    }
}

#[test]
fn tangents_are_the_slope_of_the_stress_and_symmetric() {
    // The plastic points begin at a state with plastic strain of its own.
    for law in laws() {
        let worked = law
            .respond([0.01, 0.03, -0.03], NO_BEADS, &PlasticState::default(), &Kept::NOTHING)
            .state;
        for before in [PlasticState::default(), worked] {
            for E in STRAINS {
                let at = law.respond(E, NO_BEADS, &before, &Kept::NOTHING);
                for j in 0..3 {
                    let h = 1e-6;
                    let stress = |sign: f64| {
                        let mut moved = E;
                        moved[j] += sign * h;
                        law.respond(moved, NO_BEADS, &before, &Kept::NOTHING).S
                    };
                    let (one, back, two, twice_back) =
                        (stress(1.0), stress(-1.0), stress(2.0), stress(-2.0));
                    for i in 0..3 {
                        let slope =
                            (8.0 * (one[i] - back[i]) - two[i] + twice_back[i]) / (12.0 * h);
                        // Moduli are near 2000: rounding of 1e-14 in stresses of 50 over h.
                        let miss = (slope - at.D[i][j]).abs();
                        assert!(miss <= 2e-5, "{law:?} {E:?} {i}{j}: {slope} {}", at.D[i][j]);
                        let skew = (at.D[i][j] - at.D[j][i]).abs();
                        assert!(skew <= 1e-9, "{law:?} {E:?} {i}{j}: {skew}");
                    }
                }
            }
        }
    }
}

#[test]
fn a_bar_of_hencky_has_youngs_modulus_times_the_logarithm_of_its_stretch() {
    for stretch in [0.7, 0.9, 1.05, 1.5_f64] {
        let law = Law::Hencky(elastic(PlaneState::PlaneStress));
        let along = 0.5 * (stretch * stretch - 1.0);
        let strain = law.edge_strain(along, [1.0, 0.0], NO_BEADS);
        let at = law.respond(strain, NO_BEADS, &PlasticState::default(), &Kept::NOTHING);
        let tau = 2050.0 * stretch.ln();
        assert!((at.S[0] * stretch * stretch / tau - 1.0).abs() <= 1e-13, "{stretch}: {:?}", at.S);
        assert!(at.S[1].abs() <= 1e-11 * tau.abs(), "nothing across: {:?}", at.S);
        // Volume: stretch^(1 - 2 nu).
        let (stress, _) = law.true_stress(strain, NO_BEADS);
        let expected = tau / stretch.powf(1.0 - 2.0 * 0.39);
        let stress = if stretch > 1.0 { stress } else { [stress[1], stress[0], stress[2]] };
        assert!((stress[0] / expected - 1.0).abs() <= 1e-13, "{stretch}: {stress:?}");
    }
}

#[test]
fn a_turned_strain_gives_the_turned_stress() {
    for law in laws() {
        for angle in [0.3_f64, 1.2, -2.0] {
            let (c, s) = (angle.cos(), angle.sin());
            // From strains and stresses in turned axes.
            let turned = |v: [f64; 3], shear: f64| {
                let w = v[2] / shear;
                [
                    v[0] * c * c + v[1] * s * s - 2.0 * w * c * s,
                    v[0] * s * s + v[1] * c * c + 2.0 * w * c * s,
                    shear * ((v[0] - v[1]) * c * s + w * (c * c - s * s)),
                ]
            };
            let E = STRAINS[0];
            let plain = law.respond(E, NO_BEADS, &PlasticState::default(), &Kept::NOTHING);
            let other =
                law.respond(turned(E, 2.0), NO_BEADS, &PlasticState::default(), &Kept::NOTHING);
            for (a, b) in turned(plain.S, 1.0).into_iter().zip(other.S) {
                assert!((a - b).abs() <= 1e-11, "{law:?}: {a} {b}");
            }
        }
    }
}

/// A law that follows a history of strains.
fn follow(law: &Law, strains: impl IntoIterator<Item = [f64; 3]>) -> (Response, Vec<[f64; 3]>) {
    let mut state = PlasticState::default();
    let mut stresses = Vec::new();
    let mut last = law.respond([0.0; 3], NO_BEADS, &state, &Kept::NOTHING);
    for E in strains {
        last = law.respond(E, NO_BEADS, &state, &Kept::NOTHING);
        state = last.state;
        stresses.push(last.S);
    }
    (last, stresses)
}

/// A bar pulled along x: at every stretch the strain across is found that leaves no stress across.
fn pulled(law: &Law, stretches: &[f64]) -> Vec<(f64, PlasticState)> {
    let mut state = PlasticState::default();
    let mut across = 0.0;
    let mut list = Vec::new();
    for stretch in stretches {
        let along = 0.5 * (stretch * stretch - 1.0);
        for _ in 0..50 {
            let at = law.respond([along, across, 0.0], NO_BEADS, &state, &Kept::NOTHING);
            across -= at.S[1] / at.D[1][1];
            if at.S[1].abs() <= 1e-12 {
                break;
            }
        }
        let at = law.respond([along, across, 0.0], NO_BEADS, &state, &Kept::NOTHING);
        state = at.state;
        list.push((at.S[0] * stretch * stretch, state));
    }
    list
}

/// Closed form: tau = y(alpha) with ln(stretch) = tau / E + alpha; unloading along E.
#[test]
fn a_bar_of_saturating_hardening_follows_its_curve_and_unloads_along_youngs_modulus() {
    let hardening = Hardening::new(26.0, 14.0, 120.0, 0.0).unwrap();
    let law = Law::Elastoplastic(elastic(PlaneState::PlaneStress), hardening);
    let alphas = [0.0, 0.002, 0.01, 0.03, 0.08];
    let curve = |alpha: f64| 26.0 + 14.0 * (1.0 - (-120.0 * alpha).exp());
    let stretches = alphas.map(|a| (curve(a) / 2050.0 + a).exp());
    for ((tau, state), alpha) in pulled(&law, &stretches).into_iter().zip(alphas) {
        assert!((tau / curve(alpha) - 1.0).abs() <= 1e-10, "{alpha}: {tau}");
        assert!((state.equivalent - alpha).abs() <= 1e-12, "{alpha}: {state:?}");
        assert!((state.strain[0] + state.strain[1] - alpha).abs() <= 1e-12, "along: {state:?}");
        assert!((state.strain[0] - state.strain[1] + 0.5 * alpha).abs() <= 1e-12, "half across");
    }
    let back = (0.08_f64 + (curve(0.08) - 20.0) / 2050.0).exp();
    let (tau, _) = *pulled(&law, &[stretches[4], back]).last().unwrap();
    assert!((tau - (curve(0.08) - 20.0)).abs() <= 1e-9, "along E: {tau}");
}

/// In plane strain with nu near 1/2 and no hardening the limit is 2/sqrt(3) of the yield stress
/// (R. Hill, "The Mathematical Theory of Plasticity", from memory).
#[test]
fn perfectly_plastic_plane_strain_ends_at_two_over_root_three_of_the_yield_stress() {
    let hardening = Hardening::new(30.0, 0.0, 0.0, 0.0).unwrap();
    let law = Law::Elastoplastic(elastic(PlaneState::PlaneStrain), hardening);
    let stretches: Vec<f64> = (1..=60).map(|k| (0.003 * f64::from(k)).exp()).collect();
    let (tau, _) = *pulled(&law, &stretches).last().unwrap();
    assert!((tau / (30.0 * 2.0 / 3f64.sqrt()) - 1.0).abs() <= 1e-6, "{tau}");
}

#[test]
fn a_closed_cycle_of_strain_leaves_the_work_in_plastic_strain_and_in_the_spring() {
    for state in STATES {
        let hardening = Hardening::new(26.0, 14.0, 120.0, 15.0).unwrap();
        let law = Law::Elastoplastic(elastic(state), hardening);
        let n = 4000;
        let strains: Vec<[f64; 3]> = (1..=n)
            .map(|k| {
                let t = std::f64::consts::TAU * f64::from(k) / f64::from(n);
                [0.05 * t.sin(), -0.03 * t.sin() + 0.01 * (1.0 - t.cos()), 0.04 * (1.0 - t.cos())]
            })
            .collect();
        let (last, stresses) = follow(&law, strains.iter().copied());
        let mut work = 0.0;
        let (mut e0, mut s0) = ([0.0; 3], [0.0; 3]);
        for (e, s) in strains.iter().zip(&stresses) {
            work += (0..3).map(|i| 0.5 * (s[i] + s0[i]) * (e[i] - e0[i])).sum::<f64>();
            (e0, s0) = (*e, *s);
        }
        let kept = last.energy + last.state.work;
        // Trapezoids of 4000 steps, with the kink of first yield inside one of them.
        assert!((work / kept - 1.0).abs() <= 2e-5, "{state:?}: {work} {kept}");
        assert!(last.state.equivalent > 0.02, "it yields: {:?}", last.state);
    }
}

#[test]
fn a_converged_plastic_state_unloads_with_the_elastic_tangent() {
    for law in laws() {
        let Law::Elastoplastic(elastic, _) = law else { continue };
        let E = [0.03, -0.012, 0.02];
        let state = law.respond(E, NO_BEADS, &PlasticState::default(), &Kept::NOTHING).state;
        let again = law.respond(E, NO_BEADS, &state, &Kept::NOTHING);
        assert!((again.state.equivalent - state.equivalent).abs() <= 0.0, "no more flow");
        let stiff =
            Law::Hencky(elastic).respond(E, NO_BEADS, &PlasticState::default(), &Kept::NOTHING);
        let yielding = law.respond(E, NO_BEADS, &PlasticState::default(), &Kept::NOTHING);
        assert!(again.D[0][0] > 1.2 * yielding.D[0][0], "stiffer than while it yields");
        // The stress is lower than Hencky's, so the tangents differ by about the stress.
        assert!((again.D[0][0] - stiff.D[0][0]).abs() < 0.1 * stiff.D[0][0], "elastic");
    }
}

#[test]
fn beads_of_an_isotropic_solid_give_its_true_stress_and_turned_ones_the_turned_stress() {
    let e = elastic(PlaneState::PlaneStress);
    let shear = 2050.0 / (2.0 * 1.39);
    let same =
        Law::Orthotropic(Orthotropic::new(2050.0, 2050.0, 0.39, shear).unwrap(), Beads::At(0.4));
    let E = STRAINS[3];
    let (a, _) = same.true_stress(E, [0.4f64.cos(), 0.4f64.sin()]);
    let (b, _) = Law::StVenantKirchhoff(e).true_stress(E, NO_BEADS);
    for k in 0..3 {
        assert!((a[k] - b[k]).abs() <= 1e-10, "{a:?} {b:?}");
    }
    // A pull along the beads, beads and pull turned together.
    let law =
        Law::Orthotropic(Orthotropic::new(2050.0, 1500.0, 0.39, 560.0).unwrap(), Beads::At(0.0));
    let along = 0.5 * (1.1 * 1.1 - 1.0);
    for angle in [0.0_f64, 0.7, 2.0] {
        let bead = [angle.cos(), angle.sin()];
        let strain = law.edge_strain(along, bead, bead);
        let (stress, stretch) = law.true_stress(strain, bead);
        // S = E1 e; width and thickness both shrink to sqrt(1 - 2 nu e).
        let expected = 2050.0 * along * 1.1 / (1.0 - 2.0 * 0.39 * along);
        assert!((stress[0] / expected - 1.0).abs() <= 1e-12, "{angle}: {stress:?}");
        assert!((stretch[0] - 1.1).abs() <= 1e-12, "{angle}: {stretch:?}");
    }
}
