//! `report.html`: it holds the numbers of the summary as text, reaches for nothing outside of itself, and shows
//! whatever a user wrote without running it. What its script does is tested in a browser, `tests/browser/run`.

use super::desk::{BLADE, Desk, PART, drawing, run, withy};
use serde_json::Value;
use std::path::Path;

/// A number as the page writes it: about three significant digits.
pub(crate) fn shown(value: f64) -> String {
    match value.abs() {
        v if v >= 99.95 => format!("{value:.0}"),
        v if v >= 9.995 => format!("{value:.1}"),
        v if v >= 0.0995 => format!("{value:.2}"),
        v if v >= 0.001 => format!("{value:.4}"),
        _ => format!("{value:.1e}"),
    }
}

fn number(summary: &Value, place: &str) -> f64 {
    summary.pointer(place).unwrap().as_f64().unwrap()
}

/// The page without its script and data.
pub(crate) fn text_of(page: &str) -> &str {
    page.split("<script").next().unwrap()
}

#[test]
fn the_kickers_page_is_small_and_says_what_the_summary_says() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("results");
    let part = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/kicker/kicker.toml");
    let mut command = withy();
    command.arg("solve").arg(part).arg("--out").arg(&out);
    assert_eq!(run(command).status, Some(0), "solved");
    let page = std::fs::read_to_string(out.join("report.html")).unwrap();
    let summary: Value =
        serde_json::from_str(&std::fs::read_to_string(out.join("summary.json")).unwrap()).unwrap();
    assert!(page.len() < 2_000_000, "{} bytes", page.len());
    let text = text_of(&page);
    assert!(text.contains("Fine to full draw."), "verdict first");
    for (place, unit) in [
        ("/steps/19/strain_energy_mJ", " mJ"),
        ("/hot_spot/von_mises_MPa", " MPa"),
        ("/steps/19/guidance/grip/lateral_N_per_mm", " N/mm"),
        ("/steps/19/guidance/grip/yaw_Nmm_per_deg", " N mm/deg"),
        ("/release/speed_m_per_s", " m/s"),
        ("/release/energy_mJ", " mJ"),
        ("/steps/19/smallest_gap_mm", " mm"),
    ] {
        let expected = shown(number(&summary, place)) + unit;
        assert!(text.contains(&expected), "{place}: {expected}");
    }
    let force = -number(&summary, "/steps/19/reaction_N/grip/1");
    assert!(text.contains(&format!("<strong>{} N</strong>", shown(force))), "force {force}");
    let yields = 100.0 * number(&summary, "/hot_spot/von_mises_MPa") / 48.0;
    assert!(text.contains(&format!("{yields:.0} % of yield")), "margin {yields}");
    for mesh in summary["meshes"].as_array().unwrap() {
        assert!(text.contains(&format!("{} el.", mesh["elements"])), "the sequence of peaks");
    }
    for caution in summary["release"]["cautions"].as_array().unwrap() {
        let caution = caution.as_str().unwrap().replace('\'', "&#39;");
        assert!(text.contains(&caution), "{caution}");
    }
    for remark in summary["remarks"].as_array().unwrap() {
        let said = remark["text"].as_str().unwrap().replace('"', "&quot;").replace('\'', "&#39;");
        assert!(text.contains(&said), "{said}");
    }
    assert!(
        text.contains("withy solve kicker.toml</code>"),
        "how to get it again, without folders"
    );
}

#[test]
fn the_page_reaches_for_nothing_outside_of_itself() {
    let desk = Desk::new();
    desk.solve(&[]);
    let page = desk.read("blade-results/report.html");
    let names_only = page.replace("http://www.w3.org/2000/svg", "");
    for outside in
        ["http:", "https:", "src=", "url(", "@import", "import(", "fetch(", "XMLHttpRequest"]
    {
        let marks = names_only.replace("url(#", "");
        assert!(!marks.contains(outside), "{outside}");
    }
    assert!(page.contains("default-src 'none'"), "and the browser is told so");
    let folder = desk.path("").to_string_lossy().into_owned();
    assert!(!page.contains(folder.trim_end_matches('/')), "no folder of this machine");
}

/// Complaints about a page that needs no script: what reaches outside, runs, or misses a caution.
pub(crate) fn faults_of_plain(page: &str, throws: bool) -> Vec<String> {
    let marks = page.replace("http://www.w3.org/2000/svg", "").replace("url(#", "");
    let outside =
        ["http:", "https:", "src=", "url(", "@import", "<script", "script-src", " onload="];
    let mut found: Vec<String> =
        outside.iter().filter(|o| marks.contains(**o)).map(|o| format!("holds {o}")).collect();
    let caution =
        if throws { "Never point or fire it at people or animals" } else { "eye protection" };
    let needed = ["default-src 'none'", "class=\"headline\"", "Before you let go", "<svg", caution];
    found.extend(needed.iter().filter(|n| !page.contains(**n)).map(|n| format!("lacks {n}")));
    found
}

#[test]
fn hostile_names_are_shown_and_not_run() {
    let title = "</script><script>alert(1)</script><img src=x onerror=alert(2)>";
    let part = PART
        .replace("title = \"Blade\"", &format!("title = {title:?}"))
        .replace("region = \"tip\"", "region = \"</title><b>\"")
        + "[regions]\n\"</title><b>\" = { box = [85, 26, 90, 30] }\n";
    let desk = Desk::with(&part, &drawing(BLADE));
    let outcome = desk.solve(&[]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let page = desk.read("blade-results/report.html");
    assert!(!page.contains("<img") && !page.contains("<b>"), "no element of the user's");
    assert_eq!(page.matches("<script").count(), 2, "data and the page's own script");
    assert_eq!(page.matches("</script>").count(), 2, "neither ended early");
    let begin = page.find("id=\"data\">").unwrap() + "id=\"data\">".len();
    let end = begin + page[begin..].find("</script>").unwrap();
    let data: Value = serde_json::from_str(&page[begin..end]).unwrap();
    assert_eq!(data["moving"][0]["name"], "</title><b>", "the name as it was written");
    assert!(text_of(&page).contains("&lt;/script&gt;&lt;script&gt;alert(1)"), "shown as text");
    for command in ["set", "spread"] {
        assert_eq!(desk.withy(command, &[]).status, Some(0), "{command}");
        let page = desk.read(&format!("blade-results/{command}.html"));
        assert!(
            !page.contains("<img") && !page.contains("<b>"),
            "{command}: no element of the user's"
        );
        assert!(!page.contains("<script"), "{command}: no script at all");
    }
}

#[test]
fn a_material_that_yields_on_the_way_limits_the_verdict() {
    let desk = Desk::changed("move = [0, \"-5 mm\"]", "move = [0, \"-25 mm\"]");
    desk.solve(&[]);
    let summary = desk.summary();
    let page = desk.read("blade-results/report.html");
    let text = text_of(&page);
    assert_eq!(summary["limits"][0]["code"], "yield", "{}", summary["limits"]);
    let percent = 100.0 * number(&summary, "/limits/0/fraction");
    let headline = format!(
        "Good for {} mm ({percent:.0} % of the draw).",
        shown(number(&summary, "/limits/0/travel"))
    );
    assert!(text.contains(&headline), "{headline}");
    assert!(
        text.contains("it yields and takes a set") && text.contains("class=\"limited\""),
        "why"
    );
}

#[test]
fn under_a_dead_load_the_shelf_is_left_out_with_the_reason() {
    let drive = "[[drive]]\nregion = \"tip\"\nmove = [0, \"-5 mm\"]\n";
    let desk = Desk::changed(drive, "[[load]]\nregion = \"tip\"\nforce = [0, \"-5 N\"]\n");
    assert_eq!(desk.solve(&[]).status, Some(0), "solved");
    let page = desk.read("blade-results/report.html");
    assert!(text_of(&page).contains("The part bears a given force"), "the reason");
    assert!(!page.contains("id=\"picker\""), "no picker");
}

#[test]
fn the_shelf_beside_is_that_of_the_comparison() {
    let desk = Desk::new();
    desk.solve(&[]);
    let page = desk.read("blade-results/report.html");
    desk.withy("compare", &[]);
    let compared: Value = serde_json::from_str(&desk.read("blade-results/compare.json")).unwrap();
    let card = |name: &str| {
        let list = compared["cards"].as_array().unwrap();
        list.iter().find(|m| m["card"] == name).unwrap().clone()
    };
    // PCTG has PETG's Poisson's ratio: the page's scaling and the comparison's solve are the same.
    let row = page.split("<tr data-card").find(|row| row.contains(">PCTG</th>")).unwrap();
    let pctg = card("pctg");
    for place in [
        "/full_draw/effort/value",
        "/full_draw/strain_energy_mJ/value",
        "/full_draw/von_mises_MPa/value",
    ] {
        let value = shown(number(&pctg, place));
        assert!(row.contains(&format!(">{value}</td>")), "{place} {value}: {row}");
    }
}
