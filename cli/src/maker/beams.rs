//! A rib spring as beams: what a search asks for, in milliseconds.
//!
//! Ribs, rails, cross rail and carriage are Reissner beams; where they meet there are joints, small rigid
//! bodies that reach from the one's axis to the other's face. What is clamped or gripped is one joint. Ribs
//! have their taper, their bow and the flare of their fillets; a root gives way as the edge of
//! a half plane does: under a moment M a thickness t, theta = 16.67 M/(pi E h^2) (W. J. O'Donnell, "The additional
//! deflection of a cantilever due to the elasticity of the support", J. Appl. Mech. 27 (1960), from memory),
//! which is the bend of a rib of width w over 16.67/(12 pi) w^3/h^2 = 0.442 w (w/h)^2; so the rib reaches that
//! far into rail and carriage. h is the rib's width where its fillets have turned by 45 degrees. What rides
//! before the first rib is unloaded and left out.

use super::Unmakeable;
use super::rib_axis::RibAxis;
use super::rib_spring::{Layout, RibSpring};
use std::ops::ControlFlow;
use thiserror::Error;
use withy_mesh::number::{largest, max, min};
use withy_solver::beam::{
    BeamModel, BeamOptions, BeamStep, Joint, JointId, MemberId, Section, follow_beams, stations,
};
use withy_solver::{Coordinate, Elastic, ModelError, Stiffness};

/// Elements of a rib: the force is then good for 1e-3.
const RIB_ELEMENTS: u32 = 16;
/// Elements of a piece of rail or carriage between two joints.
const FRAME_ELEMENTS: u32 = 2;
/// Elements of the cross rail.
const CROSS_ELEMENTS: u32 = 8;
/// A root gives way as so many widths of the rib behind it.
const ROOT_WIDTHS: f64 = 0.442;
/// Where a fillet of radius 1 has turned by 45 degrees, it is so far from either face. Up to there it
/// widens the rib; nearer to the face its width carries little.
const HALFWAY: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
/// Pieces shorter than this join nothing (mm).
const SHORTEST: f64 = 1e-6;

/// Why there are no beams.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum BeamsError {
    /// The numbers make no part.
    #[error(transparent)]
    Unmakeable(#[from] Unmakeable),
    /// The material or a section is none.
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// A rib spring as beams.
#[derive(Clone, Debug)]
pub struct Beams {
    /// The structure; load factor 1 is full draw.
    pub model: BeamModel,
    /// What is drawn.
    pub grip: JointId,
    /// Its ribs.
    pub ribs: Vec<MemberId>,
    /// Rails and cross rail.
    pub frame: Vec<MemberId>,
    /// Full draw (mm).
    pub draw: f64,
    /// Area of rails and cross rail (mm2).
    pub frame_area: f64,
    /// Where along a rib's member, from 0 to 0.5, its fillet ends.
    pub root: f64,
    /// Strain at the fillet by that of the beam where the fillet ends.
    pub concentration: f64,
}

/// A state along the draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeamState {
    /// How far it is drawn (mm).
    pub draw: f64,
    /// The pull (N).
    pub force: f64,
    /// Stored (mJ).
    pub energy: f64,
    /// The largest strain of the surface, with the concentration of the ribs' fillets.
    pub strain: f64,
    /// Whether it stays when disturbed.
    pub stable: bool,
}

/// The beams of a rib spring.
///
/// # Errors
/// Numbers that make no part; a thickness or a material that is none.
pub fn beams(spring: &RibSpring, law: &Elastic, thickness: f64) -> Result<Beams, BeamsError> {
    let layout = spring.layout()?;
    let section = |width: f64| Section::rectangle(law, width, thickness);
    let mut model = BeamModel::new();
    let (carriage, grip) = carriage(spring, &layout, &mut model, &section)?;
    let carried = model.members();
    let mut rails = Vec::new();
    for side in [1.0, -1.0] {
        rails.push(rail(spring, &layout, side, &mut model, &section)?);
    }
    if spring.frame.cross > 0.0 {
        let width = spring.frame.cross;
        let y = layout.rail_back - 0.5 * width;
        let ends = [[layout.a, y], [-layout.a, y]];
        let corners = [rails[0].1, rails[1].1];
        model.straight(corners, ends, section(width)?, CROSS_ELEMENTS)?;
    }
    let frame = (carried..model.members()).filter_map(member_id).collect();
    let mut ribs = Vec::new();
    for (rib, &at_carriage) in carriage.iter().enumerate() {
        let axis = spring.axis(&layout, rib);
        for (side, rail) in [1.0, -1.0].into_iter().zip(&rails) {
            ribs.push(member(
                spring,
                &axis,
                side,
                [rail.0[rib], at_carriage],
                &mut model,
                &section,
            )?);
        }
    }
    let rail = layout.rail_front - layout.rail_back + spring.frame.cross;
    let reach = reach(spring);
    Ok(Beams {
        model,
        grip,
        ribs,
        frame,
        draw: spring.draw,
        frame_area: 2.0 * (rail * spring.frame.rail + layout.a * spring.frame.cross),
        root: (reach + spring.fillet / spring.length) / (1.0 + 2.0 * reach),
        concentration: concentration(spring.fillet / spring.width),
    })
}

fn member_id(index: usize) -> Option<MemberId> {
    u32::try_from(index).ok().map(MemberId)
}

/// How far a rib reaches into rail and carriage, by its length.
fn reach(spring: &RibSpring) -> f64 {
    let widened = spring.width / (spring.width + 2.0 * HALFWAY * spring.fillet);
    ROOT_WIDTHS * spring.width * widened * widened / spring.length
}

/// Strain at a fillet by that of the straight rib where the fillet ends: 0.9072 (r/w)^(-1/3), that of a flat bar in
/// bending with shoulder fillets to three times its width (R. L. Norton, Machine Design, appendix on stress
/// concentration, fitted there up to r/w = 0.3; from memory), and 1 from r/w = 0.75 on. Against plane stress the peak
/// strain of springs is then within some 12 % (see the tests).
fn concentration(radius_by_width: f64) -> f64 {
    max(1.0, 0.9072 / radius_by_width.cbrt())
}

type SectionOf<'a> = dyn Fn(f64) -> Result<Section, ModelError> + 'a;

/// One rib on one side.
fn member(
    spring: &RibSpring,
    axis: &RibAxis,
    side: f64,
    joints: [JointId; 2],
    model: &mut BeamModel,
    section: &SectionOf<'_>,
) -> Result<MemberId, ModelError> {
    let reach = reach(spring);
    let share = |t: f64| -reach + t * (1.0 + 2.0 * reach);
    let place = |t: f64| {
        let s = share(t);
        // Beyond the faces straight on.
        let p = axis.at(s.clamp(0.0, 1.0));
        let along = axis.ends[1] - axis.ends[0];
        let p = p + along * (s - s.clamp(0.0, 1.0));
        [side * p.x, p.y]
    };
    let r = spring.fillet;
    let width = |t: f64| {
        let s = share(t);
        let inside = s.clamp(0.0, 1.0);
        let from_root = spring.length * min(inside, 1.0 - inside);
        let rest = r - max(from_root, HALFWAY * r);
        let flare =
            if rest > 0.0 && s > 0.0 && s < 1.0 { r - (r * r - rest * rest).sqrt() } else { 0.0 };
        axis.width(inside) + 2.0 * flare
    };
    model.member(joints, place, |t| section(width(t)), RIB_ELEMENTS)
}

/// A joint of a chain along y: it takes the chain rigidly from its front to its back.
struct Link {
    front: f64,
    back: f64,
    joint: JointId,
}

/// Joins links from front to back by beams along a line.
fn join(
    mut links: Vec<Link>,
    x: f64,
    section: Section,
    model: &mut BeamModel,
) -> Result<(), ModelError> {
    links.sort_by(|a, b| b.front.total_cmp(&a.front));
    for pair in links.windows(2) {
        if pair[0].back - pair[1].front > SHORTEST {
            let ends = [[x, pair[0].back], [x, pair[1].front]];
            model.straight([pair[0].joint, pair[1].joint], ends, section, FRAME_ELEMENTS)?;
        }
    }
    Ok(())
}

/// The carriage's joints, rib by rib, and the grip.
fn carriage(
    spring: &RibSpring,
    layout: &Layout,
    model: &mut BeamModel,
    section: &SectionOf<'_>,
) -> Result<(Vec<JointId>, JointId), ModelError> {
    let [front, back] = layout.block.unwrap_or_else(|| {
        let root = layout.half_root + spring.fillet;
        let end = layout.ends[1];
        [end + 0.5 * (spring.carriage.tail - root), end]
    });
    let mut grip = Joint::free([0.0, 0.5 * (front + back)]);
    grip.motion[1] = Coordinate::Driven(-spring.draw);
    let grip = model.joint(grip)?;
    let mut links = vec![Link { front, back, joint: grip }];
    let mut joints = Vec::new();
    for root in &layout.roots {
        let y = root + layout.rise;
        let joint = model.joint(Joint::free([0.0, y]))?;
        links.push(Link { front: y, back: y, joint });
        joints.push(joint);
    }
    join(links, 0.0, section(spring.carriage.width)?, model)?;
    Ok((joints, grip))
}

/// A rail's joints, rib by rib, and its back corner.
fn rail(
    spring: &RibSpring,
    layout: &Layout,
    side: f64,
    model: &mut BeamModel,
    section: &SectionOf<'_>,
) -> Result<(Vec<JointId>, JointId), ModelError> {
    let x = side * 0.5 * (layout.a + layout.b);
    let [front, back] = layout.clamp;
    let clamp = model.joint(Joint::clamped([x, 0.5 * (front + back)]))?;
    let mut links = vec![Link { front, back, joint: clamp }];
    let mut joints = Vec::new();
    for &y in &layout.roots {
        if y <= front && y >= back {
            joints.push(clamp);
            continue;
        }
        let joint = model.joint(Joint::free([x, y]))?;
        links.push(Link { front: y, back: y, joint });
        joints.push(joint);
    }
    let mut corner = clamp;
    if spring.frame.cross > 0.0 && back > layout.rail_back {
        let [front, back] = [layout.rail_back, layout.rail_back - spring.frame.cross];
        corner = model.joint(Joint::free([x, 0.5 * (front + back)]))?;
        links.push(Link { front, back, joint: corner });
    }
    join(links, x, section(spring.frame.rail)?, model)?;
    Ok((joints, corner))
}

impl Beams {
    /// States at equal parts of the draw, up to full draw or as far as they go.
    #[must_use]
    pub fn draw(&self, steps: u32) -> Vec<BeamState> {
        self.follow(steps, Stiffness::Skipped).iter().map(|step| self.state(step)).collect()
    }

    /// The same, with all that the beams know of them; the grip's stiffness alone, if one is wanted.
    #[must_use]
    pub fn follow(&self, steps: u32, stiffness: Stiffness) -> Vec<BeamStep> {
        let options =
            BeamOptions { steps, stiffness, only: Some(self.grip), ..BeamOptions::default() };
        match follow_beams(&self.model, &options, &mut |_| ControlFlow::Continue(())) {
            Ok(found) => found,
            // What there is before a snap is the beams' answer.
            Err(stopped) => stopped.steps,
        }
    }

    /// A state in short.
    #[must_use]
    pub fn state(&self, step: &BeamStep) -> BeamState {
        let ribs = self.ribs.iter().map(|rib| self.rib_strain(step, *rib));
        let frame = self.frame.iter().flat_map(|member| stations(&self.model, step, *member));
        BeamState {
            draw: step.fraction * self.draw,
            force: -step.reactions[self.grip.index()][1],
            energy: step.strain_energy,
            strain: largest(0.0, ribs.chain(frame.map(|s| s.largest_strain()))),
            stable: step.is_stable(),
        }
    }

    /// The largest strain of a rib's surface. Where a fillet ends it is that of the straight rib, carried on to
    /// there, times the concentration.
    fn rib_strain(&self, step: &BeamStep, rib: MemberId) -> f64 {
        let along = stations(&self.model, step, rib);
        let last = along.len() - 1;
        let place = |n: usize| n as f64 / last as f64;
        let all = along.iter().map(withy_solver::beam::Station::largest_strain);
        let straight = (0..=last).find(|n| place(*n) >= self.root).filter(|n| n + 1 < last - n);
        let Some(n) = straight else { return self.concentration * largest(0.0, all) };
        let share = (place(n) - self.root) / (place(n + 1) - place(n));
        let carried = |a: usize, b: usize| {
            let side = |k: usize| {
                let [near, next] = [along[a].surface[k], along[b].surface[k]];
                (near + share * (near - next)).abs()
            };
            self.concentration * max(side(0), side(1))
        };
        largest(0.0, all.chain([carried(n, n + 1), carried(last - n, last - n - 1)]))
    }
}
