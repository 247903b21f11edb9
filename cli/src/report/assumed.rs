//! What the numbers rest on, what lies outside of the model, and how to get them again.

use super::markup::{bullets, escape, facts, section};
use crate::analysis::Analysis;
use crate::case::{Case, Drive, Load};
use crate::export::Summary;
use crate::material::properties::PROPERTIES;
use crate::picture::three_digits;
use crate::remark::{Level, Remark};

/// What no number of the page tells of.
const OUTSIDE: [&str; 7] = [
    "Buckling and twisting out of the print plane: thin, deep parts may leave it before anything else happens.",
    "The strength between layers: it is lower than that along the beads, and decides where a part is bent or hit \
     across them.",
    "Defects of the print: voids, weak seams, warping, a wall that is one line short.",
    "Friction: what touches slides freely.",
    "Temperature: the cards hold at about 23 C, and polymers soften long before they melt.",
    "Impact and vibration: the draw is slow.",
    "The set of a draw that yields: it is computed by `withy set`, apart from this page.",
];

/// The section of assumptions.
pub(super) fn assumed(case: &Case, analysis: &Analysis, summary: &Summary) -> String {
    let mut list: Vec<(String, String)> = Vec::new();
    for hold in &case.holds {
        let how = match (hold.along.x, hold.along.y) {
            (true, false) => "held along x only, free to slide along y",
            (false, true) => "held along y only, free to slide along x",
            _ => "kept still",
        };
        list.push((format!("Hold {}", hold.region), how.to_owned()));
    }
    list.extend(case.drives.iter().map(|d| (format!("Drive {}", d.region), driven(d))));
    list.extend(case.loads.iter().map(|l| (format!("Load {}", l.region), loaded(l))));
    if let Some(hand) = &case.hand {
        let parts = [
            hand.force.map(|f| format!("{} N", three_digits(f))),
            hand.moment.map(|m| format!("{} N mm", three_digits(m))),
        ];
        let words: Vec<String> = parts.into_iter().flatten().collect();
        list.push(("Hand".into(), format!("gives {}", words.join(" and "))));
    }
    list.push((
        "Thickness".into(),
        format!("{} mm out of the plane", three_digits(case.thickness)),
    ));
    list.push(("Plane state".into(), summary.assumed.state.to_owned()));
    let shape = match &analysis.solution.perfect {
        Some(perfect) => format!("{} mm off its drawing, in its softest shape", perfect.amplitude),
        None => "as drawn, without any imperfection".to_owned(),
    };
    list.push(("Shape".into(), shape));
    list.push((
        "Law".into(),
        format!(
            "{}; linear between stress and strain; large turns and deflections are followed",
            case.law_words()
        ),
    ));
    let remarks = case.remarks.iter().chain(&analysis.solution.remarks);
    told(case, &list, remarks, &OUTSIDE)
}

/// The section of what was assumed: a list, the card, the notes among the remarks, and what is `outside` of the model.
pub(super) fn told<'a>(
    case: &Case,
    list: &[(String, String)],
    remarks: impl Iterator<Item = &'a Remark>,
    outside: &[&str],
) -> String {
    let notes: Vec<&str> =
        remarks.filter(|r| r.level == Level::Note).map(|r| r.text.as_str()).collect();
    let notes = if notes.is_empty() {
        String::new()
    } else {
        format!("<h3>Decided or noticed on the way</h3>\n{}", bullets(&notes))
    };
    let body = format!(
        "{}{}{notes}<h3>Outside of the model</h3>\n{}",
        facts(list),
        card(case),
        bullets(outside)
    );
    section("assumed", "What was assumed", &body)
}

fn driven(drive: &Drive) -> String {
    let mut parts = Vec::new();
    if drive.shift[0].hypot(drive.shift[1]) > 0.0 {
        parts.push(format!(
            "moves by ({}, {}) mm",
            three_digits(drive.shift[0]),
            three_digits(drive.shift[1])
        ));
    }
    if drive.turn.abs() > 0.0 {
        parts.push(format!("turns by {} deg", three_digits(drive.turn.to_degrees())));
    }
    let free: Vec<&str> = [(drive.free.x, "x"), (drive.free.y, "y"), (drive.free.turn, "turn")]
        .into_iter()
        .filter(|(is_free, _)| *is_free)
        .map(|(_, word)| word)
        .collect();
    let rest = if free.is_empty() {
        "everything else kept".to_owned()
    } else {
        format!("free in {}", free.join(", "))
    };
    format!("{} as one rigid body, {rest}", parts.join(" and "))
}

fn loaded(load: &Load) -> String {
    let mut text = format!("({}, {}) N", three_digits(load.force[0]), three_digits(load.force[1]));
    if load.moment.abs() > 0.0 {
        text += &format!(" and {} N mm", three_digits(load.moment));
    }
    text + ", of constant direction, growing to this"
}

/// The card's values with their spreads and sources.
pub(super) fn card(case: &Case) -> String {
    let rows: String = PROPERTIES
        .iter()
        .filter_map(|p| {
            let datum = (p.pick)(&case.material)?;
            let unit = if p.unit.is_empty() { String::new() } else { format!(" {}", p.unit) };
            Some(format!(
                "<tr><th scope=\"row\">{}</th><td class=\"n\" data-label=\"value (spread)\">{}{}</td><td data-label=\"source\">{}</td></tr>\n",
                escape(p.name),
                escape(&p.shown(&case.material)),
                escape(&unit),
                escape(&datum.source)
            ))
        })
        .collect();
    let notes = case
        .material
        .notes
        .as_ref()
        .map_or_else(String::new, |n| format!("<p>{}</p>\n", escape(n)));
    format!(
        "<h3>Card: {}</h3>\n{notes}<table class=\"card\">\n<thead><tr><th scope=\"col\">property</th>\
         <th scope=\"col\" class=\"n\">value (spread)</th><th scope=\"col\">source</th></tr></thead>\n<tbody>\n{rows}</tbody>\n\
         </table>\n<p class=\"small\">~ estimated by a rule. One measured force of your own print is better evidence \
         than any card.</p>\n",
        escape(&case.material.title)
    )
}

/// The section that tells how to get the same page again.
pub(super) fn again(case: &Case, summary: &Summary, command: &str) -> String {
    let meshes: Vec<String> = summary.meshes.iter().map(|m| m.elements.to_string()).collect();
    let list = [
        ("Part file".to_owned(), summary.part.clone()),
        ("Drawing".to_owned(), drawing(case)),
        ("Withy".to_owned(), summary.withy.to_owned()),
        ("Meshes".to_owned(), format!("{} elements", meshes.join(", "))),
        (
            "Last mesh".to_owned(),
            format!(
                "{} 6-node triangles, {} nodes, no angle below {:.0} deg",
                summary.mesh.elements, summary.mesh.nodes, summary.mesh.min_angle_deg
            ),
        ),
        ("States".to_owned(), format!("{} reported", summary.steps.len())),
    ];
    same_again(&list, command)
}

/// The file of the drawing, if there is one.
pub(super) fn drawing(case: &Case) -> String {
    case.drawing.file_name().map_or_else(
        || "none: the outline is made of the part file's numbers".to_owned(),
        |name| name.to_string_lossy().into_owned(),
    )
}

/// What it was made of, and the command that makes it.
pub(super) fn same_again(list: &[(String, String)], command: &str) -> String {
    let body = format!(
        "{}<p>The same files and the same version give the same numbers, to the last digit:</p>\n<pre><code>{}</code></pre>\n",
        facts(list),
        escape(command)
    );
    section("again", "How to get this again", &body)
}
