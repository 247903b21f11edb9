//! What the part throws when it is let go at full draw.

use super::{Axis, Ended};
use crate::case::{Case, Drive, Launch};
use crate::picture::three_digits;
use crate::remark::Remark;
use withy_mesh::Mesh;
use withy_mesh::number::{max, min};
use withy_solver::Step;
use withy_solver::mass::ConsistentMass;
use withy_solver::release::{DrawnStates, Release, Shot, USUAL_PIECES, WayBack, release};

/// What is thrown how fast.
#[derive(Clone, Debug)]
pub struct Launched {
    /// The way back.
    pub way: WayBack,
    /// The projectile of the part file.
    pub release: Release,
    /// Lowest and highest speed over the spread of the card's modulus, if it has one (m/s).
    pub speed_range: Option<[f64; 2]>,
    /// Mass of the whole part (g).
    pub part_mass: f64,
    /// Effective mass of the part at full draw (g).
    pub effective_mass_at_full: f64,
    /// Other projectiles.
    pub others: Vec<Thrown>,
    /// The part file's limits against it.
    pub limits: Vec<Judged>,
}

/// Another projectile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thrown {
    /// Its mass (g).
    pub mass: f64,
    /// Its speed (m/s).
    pub speed: f64,
    /// Its energy (mJ).
    pub energy: f64,
}

/// A limit against what is thrown.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// Whose rule.
    pub name: String,
    /// Where it is written.
    pub source: String,
    /// Energy by the limit.
    pub of_energy: Option<f64>,
    /// Energy by area by the limit.
    pub of_energy_per_area: Option<f64>,
    /// Factor on both at the upper end of the modulus; 1 if the card has no spread.
    pub at_most: f64,
}

impl Judged {
    /// How much of it is used, in words: "45 % of the energy, 22 % of the energy by area".
    #[must_use]
    pub fn shares(&self) -> String {
        let shares = [(self.of_energy, "energy"), (self.of_energy_per_area, "energy by area")];
        let words: Vec<String> = shares
            .into_iter()
            .filter_map(|(share, what)| Some(format!("{:.0} % of the {what}", 100.0 * share?)))
            .collect();
        words.join(", ")
    }

    /// The same with so much more or less energy.
    #[must_use]
    pub fn with_energy(&self, factor: f64) -> Self {
        let scaled = |share: Option<f64>| share.map(|s| factor * s);
        Self {
            of_energy: scaled(self.of_energy),
            of_energy_per_area: scaled(self.of_energy_per_area),
            ..self.clone()
        }
    }

    /// Whether either is exceeded; what cannot be compared counts as exceeded.
    #[must_use]
    pub fn is_exceeded(&self) -> bool {
        !self.is_within(1.0)
    }

    /// Whether either may be exceeded by the spread of the card's modulus.
    #[must_use]
    pub fn may_be_exceeded(&self) -> bool {
        !self.is_within(self.at_most)
    }

    fn is_within(&self, factor: f64) -> bool {
        let mut shares = self.of_energy.iter().chain(&self.of_energy_per_area);
        shares.all(|share| factor * share <= 1.0)
    }
}

/// What a launch along the path leaves out where the part pushes something.
const PUSHES: &str = "along its draw the part pushes itself, a rail or a pin: it is taken to go back as it was drawn, \
    without friction, blows or bouncing, and what moves along changes where touching begins or ends. The real speed \
    may be lower; the forces on what holds it are those on rails and pins together with it";

/// Factors of the projectile's mass for the table of others.
const OTHER_MASSES: [f64; 4] = [0.25, 0.5, 2.0, 4.0];

/// Energy by area of a tip (mJ/mm2).
#[must_use]
pub fn energy_per_area(launch: &Launch, energy: f64) -> Option<f64> {
    let d = launch.tip_diameter?;
    Some(energy / (0.25 * std::f64::consts::PI * d * d))
}

/// The shot of a launch.
#[must_use]
pub fn shot(launch: &Launch) -> Shot {
    Shot { mass: launch.mass, losses: launch.losses, friction: launch.friction, stop: launch.stop }
}

/// The launch of a case from its solved states, if it has one and it comes about.
pub(super) fn launched(
    case: &Case,
    mesh: &Mesh,
    steps: &[Step],
    ended: &Ended,
    remarks: &mut Vec<Remark>,
) -> Option<Launched> {
    let launch = case.launch.as_ref()?;
    let mut nothing = |why: String| {
        remarks.push(Remark::caution("no-launch", format!("no launch is computed: {why}")));
        None
    };
    if *ended != Ended::Complete {
        return nothing("the full draw was not reached".into());
    }
    if steps.iter().any(|s| !s.snaps.is_empty()) {
        return nothing("the part snaps on its way, and its way back is not the same".into());
    }
    let drive = case.drives.iter().find(|d| d.region == launch.region)?;
    let density = case.material.density.as_ref()?;
    let Ok(mass) = ConsistentMass::new(mesh, density.value, case.thickness) else {
        return nothing("the part has no finite mass".into());
    };
    let Some(way) = way_back(case, drive, mesh, steps, &mass) else {
        return nothing("the region does not move along its draw all the way".into());
    };
    let shot = shot(launch);
    let release = match release(&way, &shot, USUAL_PIECES) {
        Ok(found) => found,
        Err(why) => return nothing(why.to_string()),
    };
    if steps.iter().any(|s| !s.is_stable()) {
        remarks.push(Remark::caution(
            "launch-unstable",
            "the launch runs through shapes that are not stable: the real part may go another way",
        ));
    }
    let others = OTHER_MASSES
        .iter()
        .filter_map(|factor| {
            let mass = factor * launch.mass;
            let found = self::release(&way, &Shot { mass, ..shot }, USUAL_PIECES).ok()?;
            Some(Thrown { mass, speed: found.speed, energy: found.energy })
        })
        .collect();
    remarks.push(Remark::note(
        "launch-model",
        "the launch runs back along the solved states with the modulus of a slow test: over a \
         millisecond polymers are some 10 to 20 % stiffer and lose part of the energy (common practice, no \
         source). Vibration, air, rolling and gravity are left out",
    ));
    remarks.push(remark_on_accuracy(&way, launch.mass));
    if steps.iter().any(|s| !s.pushing.touches.is_empty() || !s.begun.is_empty()) {
        remarks.push(Remark::caution("launch-contact", PUSHES));
    }
    let speed_range = speed_range(case, &way, &shot);
    let at_most = speed_range.map_or(1.0, |[_, high]| (high / release.speed).powi(2));
    let limits = launch.limits.iter().map(|l| {
        let by_area = energy_per_area(launch, release.energy);
        Judged {
            name: l.name.clone(),
            source: l.source.clone(),
            of_energy: l.energy.map(|e| release.energy / e),
            of_energy_per_area: l.energy_per_area.zip(by_area).map(|(e, found)| found / e),
            at_most,
        }
    });
    let limits: Vec<Judged> = limits.collect();
    for limit in limits.iter().filter(|l| l.may_be_exceeded()) {
        let word = if limit.is_exceeded() { "exceeds" } else { "may exceed" };
        let text = format!("the launch {word} the limit '{}' ({})", limit.name, limit.source);
        remarks.push(Remark::caution("launch-limit", text));
    }
    Some(Launched {
        speed_range,
        part_mass: mass.total(),
        effective_mass_at_full: way.effective_mass.at(way.full()),
        others,
        limits,
        release,
        way,
    })
}

/// Speed of a case's projectile when its part is let go from the last of other states (m/s).
#[must_use]
pub fn thrown_by(case: &Case, mesh: &Mesh, steps: &[Step]) -> Option<f64> {
    let way = way_of(case, mesh, steps)?;
    release(&way, &shot(case.launch.as_ref()?), USUAL_PIECES).ok().map(|r| r.speed)
}

/// The way back of a case's launch from the last of other states.
#[must_use]
pub fn way_of(case: &Case, mesh: &Mesh, steps: &[Step]) -> Option<WayBack> {
    let launch = case.launch.as_ref()?;
    let drive = case.drives.iter().find(|d| d.region == launch.region)?;
    let mass =
        ConsistentMass::new(mesh, case.material.density.as_ref()?.value, case.thickness).ok()?;
    way_back(case, drive, mesh, steps, &mass)
}

/// How far the speed can be trusted, by how heavy what moves as one is against what can ring: limits and
/// errors from [`WayBack::heaviness`].
fn remark_on_accuracy(way: &WayBack, mass: f64) -> Remark {
    let heaviness = way.heaviness(mass);
    let moving = format!(
        "carriage and projectile weigh {} times what bends behind them",
        three_digits(heaviness)
    );
    if heaviness >= 3.0 {
        Remark::note(
            "launch-accuracy",
            format!("{moving}: leaving out its ringing costs about 0.5 %"),
        )
    } else if heaviness >= 1.5 {
        Remark::note(
            "launch-accuracy",
            format!("{moving}: leaving out its ringing costs up to 3 %"),
        )
    } else {
        let text = format!(
            "{moving}: it rings, the speed may be 10 % off, and the projectile may be let go early and \
             caught again"
        );
        Remark::caution("launch-accuracy", text)
    }
}

/// The way back along the states, rest first.
fn way_back(
    case: &Case,
    drive: &Drive,
    mesh: &Mesh,
    steps: &[Step],
    mass: &ConsistentMass,
) -> Option<WayBack> {
    let index = case.drives.iter().position(|d| d.region == drive.region)?;
    let axis = Axis::of(case, &drive.region);
    let full = drive.shift[0].hypot(drive.shift[1]);
    let rest = vec![[0.0; 2]; mesh.nodes().len()];
    let from_rest = |value: &dyn Fn(&Step) -> f64| -> Vec<f64> {
        std::iter::once(0.0).chain(steps.iter().map(value)).collect()
    };
    let states = DrawnStates {
        draw: from_rest(&|s| s.fraction * full),
        // What is pressed where it pushes something comes back too.
        energy: from_rest(&|s| s.strain_energy + s.pushing.overlap_energy),
        // A driven turn works too; all of it by draw.
        force: from_rest(&|s| {
            let r = &s.reactions[index];
            axis.effort(r) + r.moment * drive.turn / full
        }),
        carriage: std::iter::once([0.0; 2])
            .chain(steps.iter().map(|s| [s.rigid[index][0], s.rigid[index][1]]))
            .collect(),
        displacements: std::iter::once(rest.as_slice())
            .chain(steps.iter().map(|s| s.displacements.as_slice()))
            .collect(),
    };
    WayBack::new(&states, mass)
}

/// Speeds with the ends of the modulus: energies go with it, shapes stay.
fn speed_range(case: &Case, way: &WayBack, shot: &Shot) -> Option<[f64; 2]> {
    let modulus = &case.material.youngs_modulus;
    let ends = [modulus.low?, modulus.high?]
        .map(|e| release(&way.scaled(e / modulus.value, 1.0), shot, USUAL_PIECES).map(|r| r.speed));
    match ends {
        [Ok(a), Ok(b)] => Some([min(a, b), max(a, b)]),
        _ => None,
    }
}
