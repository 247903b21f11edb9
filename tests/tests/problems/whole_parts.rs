//! Two whole parts through the part-file path: drawing, regions, adaptive mesh, path, stresses.
//!
//! Source: `reference/cantilever_fillet.json` and `reference/rib_bank_3_fold.json`, converged answers
//! (two to three meshes, up to 84 000 degrees of freedom) of an independent plane-stress code with
//! 6-node triangles and St. Venant-Kirchhoff material. Peaks are true Cauchy stresses.
//!
//! Tolerances: force and energy 0.2 % at every step (a rib that bows to the other side changes them
//! by 1 %; a locked mesh by more), peak stress 2 %, the accuracy asked of the adaptation.

use serde_json::Value;
use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::path::Path;
use withy::analysis::{Ended, analyse};
use withy::case::{Overrides, read};

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn point(value: &Value) -> [f64; 2] {
    [number(&value[0]), number(&value[1])]
}

/// The outline as SVG path data on a page with y down, the page's corner at `low`.
fn path_data(part: &Value, low: [f64; 2], height: f64) -> String {
    let place = |p: [f64; 2]| format!("{} {}", p[0] - low[0], height - (p[1] - low[1]));
    let mut data = String::new();
    for curves in part["loops"].as_array().unwrap() {
        for (k, curve) in curves.as_array().unwrap().iter().enumerate() {
            if k == 0 {
                let _ = write!(data, "M{} ", place(point(&curve["p0"])));
            }
            let end = place(point(&curve["p1"]));
            if curve["type"] == "line" {
                let _ = write!(data, "L{end} ");
            } else {
                let (r, sweep) = (number(&curve["radius"]), number(&curve["sweep_deg"]));
                let (large, flag) = (u8::from(sweep.abs() > 180.0), u8::from(sweep < 0.0));
                let _ = write!(data, "A{r} {r} 0 {large} {flag} {end} ");
            }
        }
        data.push('Z');
    }
    data
}

/// Writes the drawing and the part file; returns the names of the held regions.
fn write_part(part: &Value, folder: &Path) {
    let ends = || {
        let curves = part["loops"].as_array().unwrap().iter().flat_map(|l| l.as_array().unwrap());
        curves.map(|c| point(&c["p0"]))
    };
    let bound = |i: usize, sign: f64| {
        sign * ends().map(|p| sign * p[i]).fold(f64::NEG_INFINITY, withy_mesh::number::max)
    };
    let low = [bound(0, -1.0) - 2.0, bound(1, -1.0) - 2.0];
    let (width, height) = (bound(0, 1.0) + 2.0 - low[0], bound(1, 1.0) + 2.0 - low[1]);
    let data = path_data(part, low, height);
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\"><g id=\"part\"><path d=\"{data}\"/></g></svg>"
    );
    std::fs::write(folder.join("part.svg"), svg).unwrap();
    let boxed = |region: &Value| {
        let corner = |i: usize| number(&region["box"][i]) - low[i % 2];
        format!("{{ box = [{}, {}, {}, {}] }}", corner(0), corner(1), corner(2), corner(3))
    };
    let mut text = format!(
        "[outline]\ndrawing = \"part.svg\"\nthickness = {}\nstate = \"plane stress\"\n\
         [material]\nyoungs_modulus = {}\npoissons_ratio = {}\n[regions]\ndriven = {}\n",
        part["thickness"],
        part["E"],
        part["nu"],
        boxed(&part["regions"]["driven"])
    );
    let clamps = part["regions"]["clamped"].as_array().unwrap();
    for (k, clamp) in clamps.iter().enumerate() {
        let _ = writeln!(text, "clamp{k} = {}", boxed(clamp));
    }
    for k in 0..clamps.len() {
        let _ = writeln!(text, "[[hold]]\nregion = \"clamp{k}\"");
    }
    let drive = point(&part["drive_vector"]);
    let _ = writeln!(
        text,
        "[[drive]]\nregion = \"driven\"\nmove = [{}, {}]\n[solve]\nsteps = 10\naccuracy = \"2 %\"",
        drive[0], drive[1]
    );
    std::fs::write(folder.join("part.toml"), text).unwrap();
}

fn agrees(name: &str) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference").join(name);
    let part: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    write_part(&part, folder.path());
    let case = read(&folder.path().join("part.toml"), &Overrides::default()).unwrap();
    let analysis = analyse(&case, &mut |_| ControlFlow::Continue(())).unwrap();
    let solution = &analysis.solution;
    assert_eq!(solution.ended, Ended::Complete, "{name}");
    let results = part["results"].as_array().unwrap();
    assert_eq!(results.len(), solution.path.steps.len(), "{name}: one state for each step");
    let near = |what: &str, got: f64, wanted: f64, tolerance: f64| {
        let off = got / wanted - 1.0;
        assert!(off.abs() <= tolerance, "{name} {what}: {got} against {wanted}");
    };
    for (wanted, step) in results.iter().zip(&solution.path.steps) {
        let force = step.reactions[0].force[1];
        near("force", force, number(&wanted["reaction_force_on_driven"][1]), 2e-3);
        near("energy", step.strain_energy, number(&wanted["strain_energy"]), 2e-3);
    }
    let peaks = &part["peaks_final_step"]["J3D"];
    let last = solution.peaks.last().unwrap();
    near("von Mises", last.von_mises, number(&peaks["max_von_mises_boundary"]["value"]), 0.02);
    near("tension", last.tension, number(&peaks["max_first_principal"]["value"]), 0.02);
}

#[test]
fn a_filleted_leaf_drawn_across_agrees() {
    agrees("cantilever_fillet.json");
}

#[test]
fn a_bank_of_ribs_that_folds_agrees() {
    agrees("rib_bank_3_fold.json");
}
