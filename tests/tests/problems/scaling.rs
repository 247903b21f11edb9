//! One solve in every modulus, against a solve of its own for each.
//!
//! Source: the equations of equilibrium of a linear elastic solid driven by displacements are
//! homogeneous of degree one in Young's modulus E, however large the rotations: shape and strain stay;
//! force, energy and stress go with E. 1e-6: both solves stop where Newton's residual is far below a
//! millionth of the forces, and their meshes differ by rounding only.

use std::ops::ControlFlow;
use std::path::Path;
use withy::analysis::{Analysis, analyse, solve_again};
use withy::case::{Case, Overrides, PlaneChoice, read};
use withy::comparison::Response;
use withy_tests::compare;

fn gate() -> Case {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/gate/gate.toml");
    let overrides = Overrides { steps: Some(16), accuracy: Some(0.05), ..Overrides::default() };
    read(&path, &overrides).unwrap()
}

fn solved(case: &Case) -> Analysis {
    analyse(case, &mut |_| ControlFlow::Continue(())).unwrap()
}

#[test]
fn a_bistable_part_scales_with_the_modulus_along_its_whole_path() {
    let mut case = gate();
    let soft = Response::of(&case, &solved(&case)).unwrap();
    case.material.youngs_modulus.value *= 3.7;
    let stiff = Response::of(&case, &solved(&case)).unwrap();
    let scaled = soft.scaled(case.material.youngs_modulus.value);
    let size = stiff.worst(|p| p.von_mises);
    let most = stiff.effort.iter().fold(0.0, |a: f64, f| withy_mesh::number::max(a, f.abs()));
    let (mut force, mut energy, mut stress, mut strain) = (0.0, 0.0, 0.0, 0.0);
    let larger = |a: &mut f64, b: f64| *a = withy_mesh::number::max(*a, b.abs());
    let full = stiff.energy.at(1.0);
    for n in 0..stiff.fractions.len() {
        larger(&mut force, (scaled.effort[n] - stiff.effort[n]) / most);
        let at = stiff.fractions[n];
        larger(&mut energy, (scaled.energy.at(at) - stiff.energy.at(at)) / full);
        larger(&mut stress, (scaled.peaks[n].von_mises - stiff.peaks[n].von_mises) / size);
        larger(
            &mut strain,
            scaled.peaks[n].strain / stiff.worst(|p| p.strain)
                - stiff.peaks[n].strain / stiff.worst(|p| p.strain),
        );
    }
    compare::absolute("gate, E times 3.7: force / largest force", 0.0, force, 1e-6);
    compare::absolute("gate, E times 3.7: energy / full energy", 0.0, energy, 1e-6);
    compare::absolute("gate, E times 3.7: stress / largest stress", 0.0, stress, 1e-6);
    compare::absolute("gate, E times 3.7: strain / largest strain", 0.0, strain, 1e-6);
    let (limits, again) = (&soft.limits, &stiff.limits);
    assert_eq!(limits.len(), again.len(), "the same limits besides stress");
    for (a, b) in limits.iter().zip(again) {
        compare::relative("gate: limit besides stress", b.fraction, a.fraction, 1e-6);
    }
}

/// Another Poisson's ratio on the same mesh, against an analysis that makes its own. Both meshes are
/// refined to 5 % of the peak, which leaves errors of 1e-4 in energy; ignoring the ratio would be
/// off by more, which is checked too.
#[test]
fn another_poissons_ratio_on_the_same_mesh_is_its_own_analysis() {
    let mut case = gate();
    // In plane strain the ratio matters: a rib is stiffer by 1 / (1 - nu^2).
    case.plane_state = PlaneChoice::PlaneStrain;
    let base = solved(&case);
    case.material.poissons_ratio.value = 0.30;
    let again = solve_again(&case, &base, &mut |_| ControlFlow::Continue(())).unwrap();
    let own = solved(&case);
    let last = |steps: &[withy_solver::Step]| {
        let s = steps.last().unwrap();
        (s.strain_energy, s.reactions[0].force[1])
    };
    let (a, b) = (last(&again.path.steps), last(&own.solution.path.steps));
    compare::relative(
        "gate, plane strain, nu 0.30 on the mesh of 0.40: energy (mJ)",
        b.0,
        a.0,
        3e-4,
    );
    let ignored = last(&base.solution.path.steps).0 / b.0 - 1.0;
    assert!(ignored.abs() > 1e-2, "Poisson's ratio matters: {ignored}");
    let most = own.solution.path.steps.iter().map(|s| s.reactions[0].force[1].abs());
    let most = withy_mesh::number::largest(0.0, most);
    compare::absolute("the same: force / largest", 0.0, (a.1 - b.1) / most, 1e-4);
    let peak = |peaks: &[withy::analysis::StepPeaks]| {
        withy_mesh::number::largest(0.0, peaks.iter().map(|p| p.von_mises))
    };
    let (own_peak, peak) = (peak(&own.solution.peaks), peak(&again.peaks));
    compare::relative("the same: peak stress (MPa)", own_peak, peak, 5e-3);
}
