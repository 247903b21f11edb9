//! The beam model against elliptic integrals, an arc, Reissner's boundary value problem, and itself.
//!
//! Elastica, guided beam: elliptic integrals (Bisshopp and Drucker 1945), inextensible and rigid in shear; the
//! sections here have L/h = 1000, so that stretch and shear are below 1e-6. Blocked beam and inclined ribs:
//! Reissner's beam as a boundary value problem (scipy), the same equations as the elements', so that only
//! their size makes a difference: 24 elements are asked for five digits, 8 for what a search needs.
//! All in `reference/make.py`.

use std::f64::consts::{PI, TAU};
use std::ops::ControlFlow;
use withy_mesh::number::max;
use withy_solver::Coordinate;
use withy_solver::beam::{
    BeamModel, BeamOptions, BeamStep, Joint, MemberId, Section, follow_beams, largest_strain,
    stations,
};
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};

/// A rectangle of depth 1 mm after Reissner's problems: kappa 5/6, nu = 0.3.
fn reissner(e: f64, width: f64) -> Section {
    let area = width;
    let shear = 5.0 / 6.0 * e / 2.6 * area;
    Section::new(e * area, shear, e * width * width * area / 12.0, width).unwrap()
}

fn solved(model: &BeamModel, steps: u32) -> Vec<BeamStep> {
    let options = BeamOptions { steps, ..BeamOptions::default() };
    follow_beams(model, &options, &mut |_| ControlFlow::Continue(())).unwrap()
}

/// A straight rib along x between two joints.
fn rib(length: f64, section: Section, elements: u32, from: Joint, to: Joint) -> BeamModel {
    let mut model = BeamModel::new();
    let joints = [model.joint(from).unwrap(), model.joint(to).unwrap()];
    model.straight(joints, [[0.0; 2], [length, 0.0]], section, elements).unwrap();
    model
}

/// L = 1000 mm, h = 1 mm, EI = 1e6 N mm2: inextensible for the eye.
const SLENDER: f64 = 1000.0;

fn slender() -> Section {
    reissner(1.2e7, 1.0)
}

#[test]
fn beam_elastica_under_a_dead_force() {
    for row in rows(&exact()["elastica"]) {
        let alpha = number(row, "alpha");
        let mut tip = Joint::free([SLENDER, 0.0]);
        tip.force = [0.0, alpha * 1e6 / (SLENDER * SLENDER)];
        let model = rib(SLENDER, slender(), 24, Joint::clamped([0.0; 2]), tip);
        let step = solved(&model, 5).pop().unwrap();
        let [u, v, angle] = step.joints[1];
        let root = step.reactions[0][2].abs();
        let name = |what: &str| format!("beam, elastica, PL2/EI = {alpha}: {what}");
        compare::relative(&name("v/L"), number(row, "v"), v / SLENDER, 1e-5);
        compare::relative(&name("u/L"), number(row, "u"), -u / SLENDER, 1e-5);
        compare::relative(&name("tip angle (rad)"), number(row, "angle"), angle, 1e-5);
        compare::relative(&name("ML/EI"), number(row, "root_moment"), root * SLENDER / 1e6, 1e-5);
    }
}

#[test]
fn beam_closes_to_a_full_circle_under_an_end_moment() {
    // With ML/EI = 2 pi the exact tip is back at the root; every element has the same curvature.
    let mut tip = Joint::free([SLENDER, 0.0]);
    tip.moment = TAU * 1e6 / SLENDER;
    let model = rib(SLENDER, slender(), 12, Joint::clamped([0.0; 2]), tip);
    let steps = solved(&model, 8);
    for (n, step) in steps.iter().enumerate() {
        let angle = TAU * (n + 1) as f64 / 8.0;
        let [u, v, turn] = step.joints[1];
        // A constant curvature lies in the element's space: the turn is exact but for the residual.
        assert!((turn - angle).abs() < 1e-8, "{turn} {angle}");
        // 12 elements, each of up to 30 degrees, whose chord two Gauss points integrate to
        // a^4 / 4320 = 1.7e-5; a whole turn cancels that too.
        let place = [angle.sin() / angle, (1.0 - angle.cos()) / angle];
        let at = [1.0 + u / SLENDER, v / SLENDER];
        let off = (at[0] - place[0]).hypot(at[1] - place[1]);
        let allowed = if n == 7 { 1e-9 } else { 2e-5 };
        let name = format!("beam, {}/8 of a circle: tip off by (L)", n + 1);
        compare::absolute(&name, 0.0, off, allowed);
    }
}

#[test]
fn beam_guided_and_free_to_shorten() {
    for row in rows(&exact()["guided"]) {
        let delta = number(row, "delta");
        let mut tip = Joint::driven([SLENDER, 0.0], [0.0, delta * SLENDER, 0.0]);
        tip.motion[0] = Coordinate::Free;
        let model = rib(SLENDER, slender(), 24, Joint::clamped([0.0; 2]), tip);
        let step = solved(&model, 5).pop().unwrap();
        let name = |what: &str| format!("beam, guided, d/L = {delta}: {what}");
        let scaled = step.reactions[1][1] * SLENDER * SLENDER / 1e6;
        compare::relative(&name("PL2/EI"), number(row, "force"), scaled, 2e-5);
        let short = -step.joints[1][0] / SLENDER;
        compare::relative(&name("shortening/L"), number(row, "shortening"), short, 2e-5);
        let moment = step.reactions[0][2].abs() * SLENDER / 1e6;
        compare::relative(&name("ML/EI"), number(row, "end_moment"), moment, 2e-5);
        let middle = step.members[0][24][2];
        compare::relative(&name("middle slope (rad)"), number(row, "mid_slope"), middle, 2e-5);
    }
}

#[test]
fn beam_guided_and_kept_from_shortening() {
    let section = reissner(1000.0, 1.0);
    let tip = Joint::driven([20.0, 0.0], [0.0, 3.0, 0.0]);
    let model = rib(20.0, section, 24, Joint::clamped([0.0; 2]), tip);
    let steps = solved(&model, 6);
    for (row, step) in rows(&exact()["blocked"]).iter().zip(&steps) {
        let name = |what: &str| format!("beam, blocked, d = {} mm: {what}", number(row, "draw"));
        let [h, p, _] = step.reactions[1];
        compare::relative(&name("P (N)"), number(row, "P"), p, 2e-5);
        compare::relative(&name("H (N)"), number(row, "H"), h, 2e-5);
        let moment = number(row, "end_moment");
        compare::relative(&name("M (N mm)"), moment, step.reactions[0][2].abs(), 2e-5);
        // Surface at the root: N/EA + 6 M/(E h^2).
        let root = stations(&model, step, MemberId(0))[0];
        assert!((root.moment.abs() / moment - 1.0).abs() < 2e-5, "{root:?}");
        let strain = root.normal / 1000.0 + 6.0 * moment / 1000.0;
        assert!((largest_strain(&model, step) / strain - 1.0).abs() < 2e-5, "{strain}");
    }
}

/// An inclined rib of L = 20, h = 1 with so many elements, drawn to 0.3 L; 30 states.
fn inclined(degrees: f64, sense: f64, elements: u32) -> Vec<BeamStep> {
    let (s, c) = degrees.to_radians().sin_cos();
    let full = sense * 0.3 * 20.0;
    let tip = Joint::driven([20.0, 0.0], [full * c, full * s, 0.0]);
    solved(&rib(20.0, reissner(1000.0, 1.0), elements, Joint::clamped([0.0; 2]), tip), 30)
}

#[test]
fn beam_ribs_stretched_and_folded() {
    for (elements, allowed) in [(24, 2e-4), (8, 5e-3)] {
        let mut worst = 0.0;
        for row in rows(&exact()["inclined"]) {
            let [degrees, sense, fraction] =
                ["degrees", "sense", "fraction"].map(|k| number(row, k));
            let (s, c) = degrees.to_radians().sin_cos();
            let steps = inclined(degrees, sense, elements);
            let near = |s: &&BeamStep| (0.3 * s.fraction - fraction).abs() < 1e-9;
            let [h, p, _] = steps.iter().find(near).unwrap().reactions[1];
            let (along, across) = (sense * (h * c + p * s), sense * (h * s - p * c));
            let expected = [number(row, "along"), number(row, "across")];
            // The force along is what is left of the thrust: its error is measured by both.
            let both = expected[0].hypot(expected[1]);
            let off = (along - expected[0]).hypot(across - expected[1]) / both;
            worst = max(worst, off);
            if elements == 24 && (fraction - 0.3).abs() < 1e-9 {
                let way = if sense > 0.0 { "stretched" } else { "folded" };
                let name =
                    |what: &str| format!("beam, rib at {degrees} degrees {way} 0.3 L: {what} (N)");
                compare::absolute(&name("along"), expected[0], along, allowed * both);
                compare::absolute(&name("across"), expected[1], across, allowed * both);
            }
        }
        let name = format!("beam, {elements} elements, 48 states of ribs: largest share off");
        compare::absolute(&name, 0.0, worst, allowed);
    }
}

#[test]
fn beam_deflections_converge_with_the_fourth_power_of_the_elements() {
    // Quadratic elements: what a load does at its own place converges with twice their degree, h^4.
    let deflection = |elements| {
        let mut tip = Joint::free([20.0, 0.0]);
        tip.force = [0.0, 2.0 * 83.3 / 400.0];
        let model = rib(20.0, reissner(1000.0, 1.0), elements, Joint::clamped([0.0; 2]), tip);
        solved(&model, 4)[3].joints[1][1]
    };
    let fine = deflection(96);
    let errors = [3, 6, 12].map(|n| (deflection(n) / fine - 1.0).abs());
    for (n, pair) in errors.windows(2).enumerate() {
        let order = (pair[0] / pair[1]).log2();
        compare::between(
            &format!("beam, order of a deflection, {} elements", 6 << n),
            3.6,
            4.4,
            order,
        );
    }
}

#[test]
fn beam_structures_do_not_care_where_they_lie() {
    // A curved, tapered rib off its joints' places, at rest here and turned by 2 rad elsewhere.
    let state = |turn: f64, shift: [f64; 2]| {
        let (s, c) = turn.sin_cos();
        let vector = |v: [f64; 2]| [c * v[0] - s * v[1], s * v[0] + c * v[1]];
        let place = |p: [f64; 2]| {
            let [x, y] = vector(p);
            [x + shift[0], y + shift[1]]
        };
        let mut model = BeamModel::new();
        let [dx, dy] = vector([-3.0, 4.0]);
        let a = model.joint(Joint::clamped(place([-2.0, -1.0]))).unwrap();
        let mut carriage = Joint::driven(place([20.0, 6.0]), [dx, dy, 0.3]);
        carriage.motion[2] = Coordinate::Free;
        carriage.moment = 25.0;
        let b = model.joint(carriage).unwrap();
        let axis = |t: f64| place([18.0 * t, 4.0 * (PI * t).sin() + 3.0 * t]);
        model.member([a, b], axis, |t| Ok(reissner(1000.0, 1.2 - 0.5 * t)), 16).unwrap();
        let step = solved(&model, 10).pop().unwrap();
        let [x, y, m] = step.reactions[1];
        let back = [c * x + s * y, c * y - s * x, m, step.joints[1][2], step.strain_energy];
        (back, largest_strain(&model, &step))
    };
    let (here, strain) = state(0.0, [0.0; 2]);
    let (there, also) = state(2.0, [300.0, -170.0]);
    assert!(here[0].abs() > 0.1 && here[3].abs() > 0.05, "something happens: {here:?}");
    for (a, b) in here.iter().zip(&there) {
        // Newton's residual, and the stiffness of stretching against that of bending.
        assert!((a - b).abs() <= 1e-7 * a.abs(), "{here:?} {there:?}");
    }
    assert!((also / strain - 1.0).abs() < 1e-7, "surface strain {strain} {also}");
}

#[test]
fn beam_forces_are_the_slopes_of_the_energy() {
    // Along the draw the drive's work is the energy: Simpson's rule over pairs of 60 short steps.
    let (s, c) = 60_f64.to_radians().sin_cos();
    let tip = Joint::driven([20.0, 0.0], [2.0 * c, 2.0 * s, 0.0]);
    let model = rib(20.0, reissner(1000.0, 1.0), 16, Joint::clamped([0.0; 2]), tip);
    let steps = solved(&model, 60);
    let pull = |n: usize| {
        if n == 0 {
            0.0
        } else {
            steps[n - 1].reactions[1][0] * c + steps[n - 1].reactions[1][1] * s
        }
    };
    let work: f64 =
        (0..30).map(|k| (pull(2 * k) + 4.0 * pull(2 * k + 1) + pull(2 * k + 2)) / 90.0).sum();
    compare::relative("beam: work of the drive (mJ)", steps[59].strain_energy, work, 1e-6);
}

#[test]
fn beam_tapered_to_half_its_width_bends_by_its_integral() {
    // h = h0 (1 - s/2): d = F L^3/(E I0) 2 (4 ln 2 - 5/2) + F L/(kGA0) 2 ln 2, by integrating M^2/EI and Q^2/kGA.
    let (length, e, width) = (40.0, 2000.0, 2.0);
    let root = reissner(e, width);
    let mut tip = Joint::free([length, 0.0]);
    tip.force = [0.0, 1e-4];
    let mut model = BeamModel::new();
    let joints = [model.joint(Joint::clamped([0.0; 2])).unwrap(), model.joint(tip).unwrap()];
    let section = |s: f64| Ok(reissner(e, width * (1.0 - 0.5 * s)));
    model.member(joints, |s| [length * s, 0.0], section, 16).unwrap();
    let step = solved(&model, 1).pop().unwrap();
    let two = 2_f64.ln();
    let bent = length.powi(3) / root.bending() * 2.0 * (4.0 * two - 2.5);
    let expected = bent + length / root.shear() * 2.0 * two;
    // The rib turns by 1e-4: nothing to be seen of it; 16 elements of a rational integrand.
    let got = step.joints[1][1] / 1e-4;
    compare::relative("beam, tapered to a half: mm per N", expected, got, 1e-5);
    // Surface strain at s = 1/2, where h = 3 h0/4: 6 F (L/2)/(E h^2).
    let middle = stations(&model, &step, MemberId(0))[8];
    let strain = 6.0 * 1e-4 * 0.5 * length / (e * (0.75 * width).powi(2));
    compare::relative("beam, tapered: strain halfway", strain, middle.largest_strain(), 1e-5);
}
