//! `withy check`: what was understood of a part, before anything is solved.

use super::solve::{CHECK_FAILED, SOLVED, SolveError, results_folder};
use crate::analysis::{Standing, marks, model, standing};
use crate::args::CheckArgs;
use crate::case::{self, Case, Drive, Obstacle, Overrides};
use crate::export::{ResultFile, write_results};
use crate::picture::{Met, UnderstoodPicture, three_digits, understood};
use crate::printing::USUAL_GAP;
use crate::remark::Remark;
use crate::table::first_few;
use crate::verdict::aligned;
use withy_mesh::number::max;
use withy_mesh::{Mesh, Sizing, Width, gaps, mesh_outline, walls};
use withy_solver::{PlaneState, Shape};

/// What is nearer than this lies on a rail or pin (mm): a hundredth of what any printer resolves.
const ON_IT: f64 = 1e-4;
/// Two lines of a 0.4 mm nozzle: common practice, no source.
const USUAL_WALL: f64 = 0.8;
/// Narrow places closer than this many widths are told once.
const APART: f64 = 8.0;
/// More places than this are not listed.
const MOST_TOLD: usize = 5;

/// Reads a part, draws what was understood, and returns what goes to standard output and the exit
/// status.
///
/// # Errors
/// Anything that `withy solve` would refuse too.
pub fn check(args: &CheckArgs) -> Result<(String, u8), SolveError> {
    let case = case::read(&args.part, &Overrides::default()).map_err(Box::new)?;
    let unsolvable = |cause| SolveError::Unsolvable { part: case.path.clone(), cause };
    let mesh = mesh_outline(&case.outline, &Sizing::default()).map_err(|e| unsolvable(e.into()))?;
    if let Err(error) = model(&case, &mesh, PlaneState::PlaneStress) {
        return Err(SolveError::of_model(&case, error));
    }
    let limit = |given: Option<crate::quantity::Length>, usual| given.map_or(usual, |l| l.value());
    let printer = case.printer.unwrap_or_default();
    let two_lines = printer.extrusion_width.map_or(USUAL_WALL, |line| 2.0 * line);
    let least_gap = printer.minimum_gap.unwrap_or(USUAL_GAP);
    let walls = narrowest(walls(&case.outline), limit(args.wall, two_lines));
    let gaps = narrowest(gaps(&case.outline), limit(args.gap, least_gap));
    let corners: Vec<[f64; 2]> =
        crate::analysis::corners(&case, &mesh).iter().map(|c| c.at).collect();
    let mut lines = described(&case, &mesh);
    lines.push(("walls".into(), walls.words("no wall between opposite borders")));
    lines.push(("gaps".into(), gaps.words("none")));
    lines.push(("sharp corners".into(), listed(&corners)));
    lines.extend(case.printing().into_iter().map(|(l, t)| (printed(l).to_owned(), t)));
    lines.extend(regions(&case));
    lines.extend(case.obstacles.iter().map(|obstacle| met(obstacle, &mesh)));
    lines.extend(case.remarks.iter().map(remark));
    let narrow: Vec<([f64; 2], f64)> =
        walls.told.iter().chain(&gaps.told).map(|w| ([w.middle.x, w.middle.y], w.width)).collect();
    let picture = understood(&UnderstoodPicture {
        title: &case.title,
        subtitle: &format!(
            "as understood: {}, {} mm deep",
            case.material.title,
            three_digits(case.thickness)
        ),
        mesh: &mesh,
        marks: &marks(&case, &mesh),
        met: Met { obstacles: &case.obstacles, pushing: None },
        narrow: &narrow,
        corners: &corners,
    });
    let folder = args.out.clone().unwrap_or_else(|| results_folder(&args.part));
    write_results(&folder, &[ResultFile { name: "check.svg", text: picture }])?;
    lines.push(("picture".into(), folder.join("check.svg").display().to_string()));
    let sound = narrow.is_empty() && corners.is_empty() && !case.is_off_the_bed();
    let status = if args.strict && !sound { CHECK_FAILED } else { SOLVED };
    Ok((aligned(&case.title, &lines), status))
}

/// The narrowest places of one kind.
struct Narrowest {
    least: Option<Width>,
    limit: f64,
    /// Places below the limit, one for each neighbourhood.
    told: Vec<Width>,
}

fn narrowest(mut widths: Vec<Width>, limit: f64) -> Narrowest {
    widths.sort_by(|a, b| a.width.total_cmp(&b.width));
    let mut told: Vec<Width> = Vec::new();
    // The limit itself prints: a wall of 0.8 mm that is measured as 0.79999 is one.
    for w in widths.iter().take_while(|w| w.width < limit * (1.0 - 1e-3)) {
        let apart = APART * max(w.width, 0.1 * limit);
        if told.iter().all(|t| t.middle.distance(w.middle) > apart) {
            told.push(*w);
        }
    }
    Narrowest { least: widths.first().copied(), limit, told }
}

impl Narrowest {
    fn words(&self, none: &str) -> String {
        let Some(least) = self.least else { return none.to_owned() };
        let place = |w: &Width| {
            format!(
                "{} mm at ({}, {})",
                three_digits(w.width),
                three_digits(w.middle.x),
                three_digits(w.middle.y)
            )
        };
        if self.told.is_empty() {
            return format!("from {} mm", place(&least));
        }
        let list: Vec<String> = self.told.iter().map(place).collect();
        let list = first_few(&list, MOST_TOLD, "; ", "");
        format!("narrower than {} mm: {list}", three_digits(self.limit))
    }
}

fn described(case: &Case, mesh: &Mesh) -> Vec<(String, String)> {
    let bounds = case.outline.bounds();
    let area = mesh.area();
    let openings = case.outline.loops().len() - 1;
    let openings = match openings {
        0 => "no opening".to_owned(),
        1 => "1 opening".to_owned(),
        n => format!("{n} openings"),
    };
    let outline = format!(
        "{} x {} mm, {} mm deep, {openings}, {} mm2",
        three_digits(bounds.width()),
        three_digits(bounds.height()),
        three_digits(case.thickness),
        three_digits(area)
    );
    let card = &case.material;
    let mut material = format!(
        "{}: E = {} MPa, nu = {}",
        card.title,
        three_digits(card.youngs_modulus.value),
        three_digits(card.poissons_ratio.value)
    );
    if let Some(strength) = &card.yield_strength {
        material += &format!(", yields at {} MPa", three_digits(strength.value));
    }
    let mut lines = vec![("outline".into(), outline), ("material".into(), material)];
    if let Some(density) = &card.density {
        let grams = density.value * area * case.thickness;
        lines.push(("weight".into(), format!("{} g if printed solid", three_digits(grams))));
    }
    lines
}

fn regions(case: &Case) -> Vec<(String, String)> {
    let mut lines = Vec::new();
    for hold in &case.holds {
        let how = match (hold.along.x, hold.along.y) {
            (true, true) => "in all directions",
            (true, false) => "along x only",
            (false, true) => "along y only",
            (false, false) => "in nothing",
        };
        lines.push(("held".into(), format!("{} {how}", hold.region)));
    }
    for drive in &case.drives {
        lines.push(("driven".into(), driven(drive)));
    }
    for load in &case.loads {
        let mut words = format!(
            "{} by ({}, {}) N",
            load.region,
            three_digits(load.force[0]),
            three_digits(load.force[1])
        );
        if load.moment.abs() > 0.0 {
            words += &format!(" and {} N mm", three_digits(load.moment));
        }
        lines.push(("loaded".into(), words));
    }
    lines
}

fn driven(drive: &Drive) -> String {
    let free: Vec<&str> =
        [(drive.free.x, "along x"), (drive.free.y, "along y"), (drive.free.turn, "to turn")]
            .into_iter()
            .filter(|(is, _)| *is)
            .map(|(_, word)| word)
            .collect();
    let mut words = format!(
        "{} by ({}, {}) mm",
        drive.region,
        three_digits(drive.shift[0]),
        three_digits(drive.shift[1])
    );
    if drive.turn.abs() > 0.0 {
        words += &format!(", turned by {} deg", three_digits(drive.turn.to_degrees()));
    }
    if !free.is_empty() {
        words += &format!(", free {}", free.join(" and "));
    }
    words
}

/// A rail or pin: where it is, and how it stands to the part.
fn met(obstacle: &Obstacle, mesh: &Mesh) -> (String, String) {
    let at = |p: [f64; 2]| format!("({}, {})", three_digits(p[0]), three_digits(p[1]));
    let (label, place, way_out) = match obstacle.shape {
        Shape::Rail { from, to } => {
            ("rail", format!("from {} to {} mm", at(from), at(to)), "change from and to?")
        }
        Shape::Pin { at: centre, radius } => (
            "pin",
            format!("of radius {} mm at {} mm", three_digits(radius), at(centre)),
            "move it?",
        ),
    };
    let Standing { gap, covers } = standing(obstacle, mesh);
    let stands = match gap {
        None => format!("meets nothing of the part: {way_out}"),
        Some(_) if covers && label == "pin" => "lies in the part: move it".to_owned(),
        Some(gap) if gap > ON_IT => format!("{} mm from the part", three_digits(gap)),
        Some(_) => "the part lies on it".to_owned(),
    };
    let behind = if covers && gap.is_some() && label == "rail" {
        "; what is behind it never meets it"
    } else {
        ""
    };
    (label.into(), format!("{} {place}, {stands}{behind}", obstacle.name))
}

fn listed(corners: &[[f64; 2]]) -> String {
    if corners.is_empty() {
        return "none outside the regions".into();
    }
    let list: Vec<String> = corners
        .iter()
        .map(|c| format!("({}, {})", three_digits(c[0]), three_digits(c[1])))
        .collect();
    format!("{}: no finite stress there, round them", first_few(&list, MOST_TOLD, ", ", " mm"))
}

/// The walls in lines stand apart from the narrowest of them.
fn printed(label: &str) -> &str {
    if label == "walls" { "lines" } else { label }
}

fn remark(remark: &Remark) -> (String, String) {
    (remark.level.word().to_owned(), remark.text.clone())
}
