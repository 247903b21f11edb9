//! What each uncertain thing does: bars about the solved value, the longest on top.

use super::part::{rule, text};
use super::{finish, page, palette, three_digits};
use svg::node::element::{Group, Rectangle};
use withy_mesh::number::largest;

/// One thing's bar.
#[derive(Clone, Debug)]
pub struct Bar {
    /// What.
    pub name: String,
    /// Its two ends in words.
    pub ends: [String; 2],
    /// Change at each end, as a share of the solved value.
    pub changes: [f64; 2],
}

/// The bars of one outcome.
#[derive(Clone, Debug)]
pub struct BarPanel {
    /// "force, 39.3 N".
    pub title: String,
    /// In any order.
    pub bars: Vec<Bar>,
}

const WIDTH: f64 = 900.0;
const MIDDLE: f64 = 600.0;
const HALF: f64 = 215.0;
/// Smaller changes are none.
const UNSEEN: f64 = 5e-5;
const ROW: f64 = 30.0;

/// Draws all panels on one scale.
#[must_use]
pub fn tornado(title: &str, subtitle: &str, panels: &[BarPanel], cautions: bool) -> String {
    let changes = panels.iter().flat_map(|p| &p.bars).flat_map(|b| b.changes);
    let most = largest(0.01, changes.map(f64::abs));
    let mut y = 118.0;
    let mut group = Group::new();
    for panel in panels {
        let heading = text(&panel.title, [34.0, y], 16.0, palette::INK);
        group = group.add(heading.set("font-weight", "bold"));
        y += 14.0;
        let mut bars: Vec<&Bar> = panel.bars.iter().collect();
        let length = |b: &Bar| largest(0.0, b.changes.map(f64::abs));
        bars.sort_by(|a, b| length(b).total_cmp(&length(a)));
        let top = y;
        for bar in bars {
            group = group.add(drawn(bar, most, y));
            y += ROW;
        }
        group = group.add(rule([MIDDLE, top], [MIDDLE, y], palette::INK, 1.2));
        y += 44.0;
    }
    let mut height = y;
    if cautions {
        group = group.add(super::launch::cautions(y + 6.0));
        height += 104.0;
    }
    finish(&page([WIDTH, height], title, subtitle).add(group))
}

fn drawn(bar: &Bar, most: f64, y: f64) -> Group {
    let mut group = Group::new().add(text(&bar.name, [34.0, y + 20.0], 14.0, palette::INK));
    let same = bar.ends[0] == bar.ends[1];
    for (k, (change, end)) in bar.changes.iter().zip(&bar.ends).enumerate() {
        if same && k == 1 {
            continue;
        }
        let length = HALF * change.abs() / most;
        let left = if *change < 0.0 { MIDDLE - length } else { MIDDLE };
        group = group.add(
            Rectangle::new()
                .set("x", left)
                .set("y", y + 6.0)
                .set("width", length)
                .set("height", ROW - 12.0)
                .set("fill", palette::LINES[k])
                .set("fill-opacity", 0.85),
        );
        let x = 130.0 + 90.0 * k as f64;
        group = group.add(text(end, [x, y + 20.0], 12.0, palette::LINES[k]));
    }
    for side in [-1.0, 1.0] {
        // Both ends may lie on one side: one label for both, at the longer bar.
        let here: Vec<f64> = bar
            .changes
            .into_iter()
            .filter(|c| side * c > UNSEEN)
            .take(2 - usize::from(same))
            .collect();
        let Some(longest) = here.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs())) else {
            continue;
        };
        let plus = if side > 0.0 { "+" } else { "" };
        let words: Vec<String> =
            here.iter().map(|c| format!("{plus}{}", three_digits(100.0 * c))).collect();
        let at = [MIDDLE + HALF * longest / most + 6.0 * side, y + 20.0];
        let anchor = if side < 0.0 { "end" } else { "start" };
        let label = text(&format!("{} %", words.join(", ")), at, 12.0, palette::INK);
        group = group.add(label.set("text-anchor", anchor));
    }
    if bar.changes.iter().all(|c| c.abs() <= UNSEEN) {
        group = group.add(text("no change", [MIDDLE + 6.0, y + 20.0], 12.0, palette::FAINT_INK));
    }
    group
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_bar_stands_on_top_and_both_ends_are_named() {
        let bar = |name: &str, low: f64, high: f64| Bar {
            name: name.into(),
            ends: [format!("{name} low"), format!("{name} high")],
            changes: [low, high],
        };
        let bars = vec![bar("thickness", -0.02, 0.02), bar("walls", -0.12, 0.13)];
        let panel = BarPanel { title: "force, 39.3 N".into(), bars };
        let drawn = tornado("Kicker", "what the print leaves open", &[panel], true);
        assert!(drawn.find("walls low").unwrap() < drawn.find("thickness low").unwrap(), "sorted");
        for words in ["+13.0 %", "-2.00 %", "force, 39.3 N", "eye protection"] {
            assert!(drawn.contains(words), "{words}");
        }
    }
}
