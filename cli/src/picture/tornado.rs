//! What each uncertain thing does: bars about the solved value, the longest on top.

use super::part::{rule, text};
use super::{finish, page, palette, three_digits};
use svg::Document;
use svg::node::element::{Group, Rectangle, Title};
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

/// Where things stand in a row, from its upper left corner (px).
struct Layout {
    width: f64,
    left: f64,
    /// Base line of the name and of its two ends, and where these begin.
    words: f64,
    ends: [f64; 2],
    /// Top of the bar, its middle, and half of the longest one.
    bar: f64,
    middle: f64,
    half: f64,
    /// Ends of the line of no change.
    line: [f64; 2],
    row: f64,
}

/// A picture of its own.
const WIDE: Layout = Layout {
    width: 900.0,
    left: 34.0,
    words: 20.0,
    ends: [130.0, 220.0],
    bar: 6.0,
    middle: 600.0,
    half: 215.0,
    line: [0.0, 30.0],
    row: 30.0,
};
/// In a page, which may be narrow: words above the bars.
const NARROW: Layout = Layout {
    width: 460.0,
    left: 0.0,
    words: 16.0,
    ends: [110.0, 230.0],
    bar: 23.0,
    middle: 230.0,
    half: 160.0,
    line: [20.0, 44.0],
    row: 52.0,
};
const BAR_HEIGHT: f64 = 18.0;
/// Smaller changes are none.
const UNSEEN: f64 = 5e-5;

/// The longest bar of all, which all panels share.
fn longest(panels: &[BarPanel]) -> f64 {
    let changes = panels.iter().flat_map(|p| &p.bars).flat_map(|b| b.changes);
    largest(0.01, changes.map(f64::abs))
}

/// The bars of one outcome below `top`, and where they end.
fn rows(panel: &BarPanel, most: f64, top: f64, layout: &Layout) -> (Group, f64) {
    let mut bars: Vec<&Bar> = panel.bars.iter().collect();
    let length = |b: &Bar| largest(0.0, b.changes.map(f64::abs));
    bars.sort_by(|a, b| length(b).total_cmp(&length(a)));
    let mut group = Group::new();
    let mut y = top;
    for bar in bars {
        let [from, to] = layout.line.map(|end| [layout.middle, y + end]);
        group = group.add(drawn(bar, most, y, layout)).add(rule(from, to, palette::INK, 1.2));
        y += layout.row;
    }
    (group, y)
}

/// Each panel as an element of a page, all on one scale.
#[must_use]
pub fn tornado_inline(panels: &[BarPanel]) -> Vec<String> {
    let most = longest(panels);
    let drawn = panels.iter().map(|panel| {
        let (group, end) = rows(panel, most, 0.0, &NARROW);
        Document::new()
            .set("viewBox", (0, 0, NARROW.width, end))
            .set("role", "img")
            .add(Title::new(panel.title.as_str()))
            .add(group)
            .to_string()
    });
    drawn.collect()
}

/// Draws all panels on one scale.
#[must_use]
pub fn tornado(title: &str, subtitle: &str, panels: &[BarPanel], cautions: bool) -> String {
    let most = longest(panels);
    let mut y = 118.0;
    let mut group = Group::new();
    for panel in panels {
        let heading = text(&panel.title, [34.0, y], 16.0, palette::INK);
        group = group.add(heading.set("font-weight", "bold"));
        y += 14.0;
        let (bars, end) = rows(panel, most, y, &WIDE);
        group = group.add(bars);
        y = end;
        y += 44.0;
    }
    let mut height = y;
    if cautions {
        group = group.add(super::launch::cautions(y + 6.0));
        height += 104.0;
    }
    finish(&page([WIDE.width, height], title, subtitle).add(group))
}

fn drawn(bar: &Bar, most: f64, y: f64, layout: &Layout) -> Group {
    let Layout { middle, half, .. } = *layout;
    let name = text(&bar.name, [layout.left, y + layout.words], 14.0, palette::INK);
    let mut group = Group::new().add(name);
    let numbers = y + layout.bar + 14.0;
    let same = bar.ends[0] == bar.ends[1];
    for (k, (change, end)) in bar.changes.iter().zip(&bar.ends).enumerate() {
        if same && k == 1 {
            continue;
        }
        let length = half * change.abs() / most;
        let left = if *change < 0.0 { middle - length } else { middle };
        group = group.add(
            Rectangle::new()
                .set("x", left)
                .set("y", y + layout.bar)
                .set("width", length)
                .set("height", BAR_HEIGHT)
                .set("fill", palette::LINES[k])
                .set("fill-opacity", 0.85),
        );
        let at = [layout.ends[k], y + layout.words];
        group = group.add(text(end, at, 12.0, palette::LINES[k]));
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
        let at = [middle + half * longest / most + 6.0 * side, numbers];
        let anchor = if side < 0.0 { "end" } else { "start" };
        let label = text(&format!("{} %", words.join(", ")), at, 12.0, palette::INK);
        group = group.add(label.set("text-anchor", anchor));
    }
    if bar.changes.iter().all(|c| c.abs() <= UNSEEN) {
        group = group.add(text("no change", [middle + 6.0, numbers], 12.0, palette::FAINT_INK));
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
