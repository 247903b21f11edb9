//! Two kinds of parts of any size: a network of slender ribs and a solid block.

use withy_mesh::{Arc, Curve, Loop, Outline, OutlineError, Point, Rect, Region, Sizing, Vec2};
use withy_solver::beam::{BeamModel, Joint, Section};
use withy_solver::{Coordinate, Elastic, Model, ModelError, PlaneState, RigidRegion, Support};

/// Width of a rib (mm).
const RIB: f64 = 1.2;
/// Free length of a rib (mm).
const LENGTH: f64 = 36.0;
/// Clear width between ribs (mm).
const SLOT: f64 = 3.0;
/// Radius of the slots' corners (mm).
const CORNER: f64 = 0.8;
/// Width of the rails that join the ribs (mm).
const RAIL: f64 = 6.0;
/// Side of the solid block (mm).
const BLOCK: f64 = 100.0;

/// What is meshed and solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Rails joined by ribs in rows; the number of ribs grows.
    Ribs,
    /// A square; the elements shrink.
    Block,
}

impl Kind {
    /// Both, in the order of the tables.
    pub const ALL: [Self; 2] = [Self::Ribs, Self::Block];

    /// Its name in tables and arguments.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Ribs => "ribs",
            Self::Block => "block",
        }
    }

    /// An outline and a sizing that give about so many triangles, clamped at the bottom and moved at
    /// the top.
    ///
    /// # Errors
    /// None that a sensible number of triangles can cause.
    pub fn part(self, triangles: f64) -> Result<(Outline, Sizing), OutlineError> {
        let most = Sizing { most_elements: 4_000_000, ..Sizing::default() };
        match self {
            Self::Ribs => Ok((ladder(triangles)?, most)),
            Self::Block => {
                let corners = Rect::new(0.0, 0.0, BLOCK, BLOCK);
                let outline = Outline::new(
                    vec![rectangle("block", corners, 0.0)],
                    vec![
                        band("foot", corners, 0.0, 1.0),
                        band("head", corners, BLOCK - 1.0, BLOCK),
                    ],
                )?;
                // 3.2 triangles to a square of the largest edge.
                let coarsest = Some((3.2 * BLOCK * BLOCK / triangles).sqrt());
                Ok((outline, Sizing { coarsest, ..most }))
            }
        }
    }
}

/// Rows of ribs between rails, about as wide as high. A rib takes about 900 triangles, its piece of
/// rail included.
fn ladder(triangles: f64) -> Result<Outline, OutlineError> {
    let ribs = triangles / 900.0;
    let rows = (ribs * (RIB + SLOT) / (LENGTH + RAIL)).sqrt().ceil();
    let columns = (ribs / rows).ceil();
    let width = columns * (RIB + SLOT) + RIB;
    let height = rows * (LENGTH + RAIL) + RAIL;
    let all = Rect::new(0.0, 0.0, width, height);
    let mut loops = vec![rectangle("rails", all, 0.0)];
    let (mut row, mut y) = (0.0, RAIL);
    while row < rows {
        let (mut column, mut x) = (0.0, RIB);
        while column < columns {
            loops.push(rectangle("slot", Rect::new(x, y, x + SLOT, y + LENGTH), CORNER).reversed());
            column += 1.0;
            x += RIB + SLOT;
        }
        row += 1.0;
        y += RAIL + LENGTH;
    }
    Outline::new(loops, vec![band("foot", all, 0.0, 2.0), band("head", all, height - 2.0, height)])
}

/// A rectangle, counter-clockwise, with round corners if the radius is not 0.
fn rectangle(name: &str, r: Rect, radius: f64) -> Loop {
    let corners = [(r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1)].map(Point::from);
    let along = [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0)];
    let directions = [along[0], along[1], -along[0], -along[1]];
    let mut curves = Vec::new();
    for k in 0..4 {
        let (corner, d, next) = (corners[k], directions[k], directions[(k + 1) % 4]);
        let end = corners[(k + 1) % 4];
        curves.push(Curve::Line(corner + d * radius, end - d * radius));
        if radius > 0.0 {
            curves.push(Curve::Arc(Arc {
                center: end - d * radius + next * radius,
                radius,
                start: (-next).atan2(),
                sweep: std::f64::consts::FRAC_PI_2,
            }));
        }
    }
    Loop { curves, origin: name.to_owned() }
}

fn band(name: &str, all: Rect, from: f64, to: f64) -> Region {
    let border = Rect::new(all.x0 - 1.0, from - 1.0 * f64::from(from <= 0.0), all.x1 + 1.0, to);
    Region { name: name.to_owned(), loops: vec![rectangle(name, border, 0.0)] }
}

/// The part clamped at its foot, its head moved up by 1 mm and free to turn and to move sideways.
///
/// # Errors
/// None, if the mesh is that of [`Kind::part`].
pub fn model(mesh: &withy_mesh::Mesh) -> Result<Model<'_>, ModelError> {
    let nodes = |name| {
        let found = mesh.regions().iter().find(|r| r.name == name);
        found.map(|r| r.nodes.clone()).unwrap_or_default()
    };
    let law = Elastic::new(2100.0, 0.38, PlaneState::PlaneStress)?;
    let support =
        Support { name: "foot".into(), nodes: nodes("foot"), displacement: [Some(0.0); 2] };
    let head = RigidRegion {
        name: "head".into(),
        nodes: nodes("head"),
        motion: [Coordinate::Free, Coordinate::Driven(1.0), Coordinate::Free],
        force: [0.0; 2],
        moment: 0.0,
    };
    Model::new(mesh, law, 6.0)?.support(support)?.rigid_region(head)
}

/// A spring of so many ribs as beams: ribs of 36 x 1.2 x 6 mm at 70 degrees to the draw in rows on both
/// sides of a carriage, which is drawn 8 mm and free to go aside and to turn.
///
/// # Errors
/// None: the sizes make sense.
pub fn rib_spring(ribs: u32, elements: u32) -> Result<BeamModel, ModelError> {
    let law = Elastic::new(2100.0, 0.38, PlaneState::PlaneStress)?;
    let section = Section::rectangle(&law, RIB, 6.0)?;
    let (along, across) = 70f64.to_radians().sin_cos();
    let mut model = BeamModel::new();
    let frame = model.joint(Joint::clamped([0.0, 0.0]))?;
    let mut carriage = Joint::driven([0.0, 0.0], [0.0, -8.0, 0.0]);
    (carriage.motion[0], carriage.motion[2]) = (Coordinate::Free, Coordinate::Free);
    let carriage = model.joint(carriage)?;
    for n in 0..ribs {
        let side = if n % 2 == 0 { 1.0 } else { -1.0 };
        let y = f64::from(n / 2) * (RIB + SLOT);
        let root = [side * (5.0 + LENGTH * along), y + LENGTH * across];
        model.straight([frame, carriage], [root, [side * 5.0, y]], section, elements)?;
    }
    Ok(model)
}
