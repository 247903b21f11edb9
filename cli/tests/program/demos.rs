//! Every demo part solves from the files in the repository, and its answer is that of a part one would
//! print: elastic, stable, in balance, and made for a hand.

use super::desk::{RESULTS, names, run, withy};
use super::schema::misfits;
use serde_json::Value;
use std::path::Path;

/// Solves a demo part coarsely, checks what is true of all of them, and returns its summary.
fn solved(name: &str) -> Value {
    let part =
        Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../demo-data/{name}/{name}.toml"));
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("results");
    let mut command = withy();
    command.arg("solve").arg(part).args(["--accuracy", "10 %", "--out"]).arg(&out);
    let outcome = run(command);
    assert_eq!(outcome.status, Some(0), "{name}: {}{}", outcome.stdout, outcome.stderr);
    let mut files: Vec<&str> = RESULTS.to_vec();
    if name == "kicker" {
        files.insert(3, "launch.svg");
    }
    assert_eq!(names(&out), files, "{name}: its files");
    let text = std::fs::read_to_string(out.join("summary.json")).unwrap();
    let summary: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(misfits("summary", &summary), Vec::<String>::new(), "{name}: its schema");
    assert_eq!(summary["completed"], true, "{name}: to full draw");
    assert!(outcome.stdout.contains("stays elastic"), "{name}: {}", outcome.stdout);
    for step in summary["steps"].as_array().unwrap() {
        assert_eq!(step["stable"], true, "{name}: stable at {}", step["fraction"]);
        let forces = step["reaction_N"].as_object().unwrap();
        for i in 0..2 {
            let sum: f64 = forces.values().map(|f| f[i].as_f64().unwrap()).sum();
            let size: f64 = forces.values().map(|f| f[i].as_f64().unwrap().abs()).sum();
            // Newton stops at residuals far below a millionth of the internal forces.
            assert!(sum.abs() <= 1e-6 * size + 1e-6, "{name}: forces in balance, {sum} of {size}");
        }
    }
    summary
}

/// One number of every step, by its place in the step.
fn along(summary: &Value, place: &str) -> Vec<f64> {
    let steps = summary["steps"].as_array().unwrap();
    steps.iter().map(|s| s.pointer(place).unwrap().as_f64().unwrap()).collect()
}

#[test]
fn the_kicker_pulls_evenly_and_straight() {
    let summary = solved("kicker");
    let force: Vec<f64> = along(&summary, "/reaction_N/grip/1").iter().map(|f| -f).collect();
    assert_eq!(force.len(), 20, "a row for each step");
    // Between a third and the whole of the draw the force is almost constant: what the part is for.
    assert!(force[6..].iter().all(|f| (34.0..42.0).contains(f)), "a hand's force: {force:?}");
    let energy = along(&summary, "/strain_energy_mJ");
    assert!(energy.windows(2).all(|w| w[1] > w[0]), "energy grows: {energy:?}");
    // Work done by the pull is the energy stored, to what trapezoids over 0.3 mm leave out.
    let work = 0.3 * (force.iter().sum::<f64>() - 0.5 * force[19]);
    assert!((work / energy[19] - 1.0).abs() < 0.02, "work {work} mJ, energy {} mJ", energy[19]);
    let aside = along(&summary, "/travel_mm/grip/0");
    assert!(aside.iter().all(|x| x.abs() < 0.01), "a symmetric part goes straight: {aside:?}");
}

#[test]
fn the_kicker_throws_a_marble_and_shows_the_cautions() {
    let summary = solved("kicker");
    let release = &summary["release"];
    let of = |key: &str| release[key].as_f64().unwrap();
    let stored = along(&summary, "/strain_energy_mJ")[19];
    let sum = of("energy_mJ") + of("moving_energy_mJ") + of("energy_left_mJ") + of("lost_mJ");
    assert!((sum - stored).abs() < 1e-9 * stored, "energies add up: {sum} {stored}");
    assert!((of("lost_mJ") - 0.1 * stored).abs() < 1e-9 * stored, "a tenth is lost");
    // A 5.4 g marble and about 8 g of carriage and ribs share 177 mJ.
    assert!(of("speed_m_per_s") > 4.5 && of("speed_m_per_s") < 6.0, "{release}");
    let masses = release["effective_mass_g"].as_array().unwrap();
    for m in masses.iter().map(|m| m.as_f64().unwrap()) {
        assert!(m > 0.2 * of("part_mass_g") && m < 0.6 * of("part_mass_g"), "{m} g");
    }
    let energy = 0.5 * of("mass_g") * of("speed_m_per_s").powi(2);
    assert!((energy - of("energy_mJ")).abs() < 1e-9, "m v^2 / 2");
    let tip = of("energy_per_area_J_per_m2") * std::f64::consts::PI * 64e-6;
    assert!((1e3 * tip - of("energy_mJ")).abs() < 1e-9, "on 16 mm");
    assert_eq!(release["cautions"].as_array().unwrap().len(), 6, "cautions");
}

#[test]
fn the_gate_snaps_through_and_comes_to_a_second_rest() {
    let summary = solved("gate");
    let force: Vec<f64> = along(&summary, "/reaction_N/knob/1").iter().map(|f| -f).collect();
    let signs: Vec<bool> = force.iter().map(|f| *f > 0.0).collect();
    let changes = signs.windows(2).filter(|w| w[0] != w[1]).count();
    assert_eq!(changes, 2, "resists, pulls itself over, resists again: {force:?}");
    let energy = along(&summary, "/strain_energy_mJ");
    let hill = energy.iter().position(|e| *e > energy[33]).unwrap();
    assert!(hill < 33 && energy[33] > 0.0, "over a hill of energy into a second valley");
}

#[test]
fn the_clip_opens_evenly_from_its_dxf_drawing() {
    let summary = solved("clip");
    let left = along(&summary, "/reaction_N/lip-left/0");
    let right = along(&summary, "/reaction_N/lip-right/0");
    for (l, r) in left.iter().zip(&right) {
        assert!(*l < 0.0 && (l + r).abs() < 1e-3 * r, "two equal lips: {l} N, {r} N");
    }
    // The lips turn outwards: the left one counter-clockwise, the right one clockwise.
    let turns = (along(&summary, "/turn_deg/lip-left"), along(&summary, "/turn_deg/lip-right"));
    assert!(turns.0[11] > 5.0 && turns.1[11] < -5.0, "{turns:?}");
}

#[test]
fn the_tweezers_close_under_two_forces() {
    let summary = solved("tweezers");
    let finger = along(&summary, "/travel_mm/finger-pad/1");
    let thumb = along(&summary, "/travel_mm/thumb-pad/1");
    for (n, (f, t)) in finger.iter().zip(&thumb).enumerate() {
        assert!(*f < 0.0 && (f + t).abs() < 1e-3 * t, "mirror images: {f} mm, {t} mm");
        let asked = -3.0 * (n + 1) as f64 / finger.len() as f64;
        let force = along(&summary, "/reaction_N/finger-pad/1")[n];
        assert!((force - asked).abs() < 1e-6, "the force that was asked for: {force} N");
    }
}
