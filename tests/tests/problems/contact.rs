//! Contact without friction.
//!
//! * A cylinder on a rigid flat, plane strain: H. Hertz; K. L. Johnson, Contact Mechanics (1985), ch. 4 (from
//!   memory): half-width b with b^2 = 4 P R (1 - nu^2) / (pi E t), pressure p_0 sqrt(1 - x^2/b^2) with
//!   p_0 = 2 P / (pi b t). Two equal cylinders of one material: the same formulas, as 1/R and 1/E* double.
//! * Two blocks pressed on each other: uniform pressure, nodes meeting nodes or not.
//! * A leaf that bends onto a pin, two leaves of which one bends onto the other: cantilevers of small
//!   deflection, the propped one by superposition (S. Timoshenko, Strength of Materials).
//! * Work of the drive against strain energy; turned frames; threads: exact.

use std::f64::consts::PI;
use std::ops::ControlFlow;
use withy_mesh::number::max;
use withy_mesh::{Mesh, NodeId};
use withy_solver::stages::{Stage, StageOptions, follow_stages};
use withy_solver::{Elastic, Model, Obstacle, PlaneState, PressedPoint, Shape, Support};
use withy_tests::compare::{absolute, between, relative};
use withy_tests::grid::grid;
use withy_tests::pick;
use withy_tests::solve::{along, path, plane_stress};

const RADIUS: f64 = 10.0;
const THICKNESS: f64 = 5.0;

/// The right half of the lower half of a cylinder that rests on y = 0, cut at 60 degrees; finer towards the
/// place of contact.
fn half_cylinder(cells: u32) -> Mesh {
    grid(cells, cells, |s, t| {
        let far = 60f64.to_radians();
        let angle = far * finer(s);
        let (bottom, top) = (
            [RADIUS * angle.sin(), RADIUS * (1.0 - angle.cos())],
            [RADIUS * far.sin() * s, RADIUS],
        );
        let up = finer(t);
        [0, 1].map(|i| bottom[i] + up * (top[i] - bottom[i]))
    })
}

/// Grades the way from 0 to 1: cells at 0 are a fiftieth of those at 1.
fn finer(s: f64) -> f64 {
    (4.0 * s).exp_m1() / 4f64.exp_m1()
}

fn flat(name: &str, y: f64, half: f64) -> Obstacle {
    let shape = Shape::Rail { from: [-half, y], to: [half, y] };
    Obstacle { name: name.into(), shape, nodes: None }
}

/// Half-width of an elliptic pressure from its second moment about x = 0: integral p x^2 = P b^2 / 4.
fn half_width(points: &[PressedPoint]) -> f64 {
    let sum = |power: i32| {
        points.iter().map(|p| p.pressure * p.length * p.now[0].powi(power)).sum::<f64>()
    };
    2.0 * (sum(2) / sum(0)).sqrt()
}

/// The largest pressure of the ellipse that fits best: p^2 = p_0^2 (1 - x^2 / b^2), least squares in p^2 over
/// the inner 80 %.
fn peak(points: &[PressedPoint], b: f64) -> f64 {
    let inner: Vec<_> = points.iter().filter(|p| p.now[0].abs() < 0.8 * b).collect();
    let ellipse = |p: &PressedPoint| (1.0 - (p.now[0] / b).powi(2)).sqrt();
    let above: f64 = inner.iter().map(|p| p.length * p.pressure * ellipse(p)).sum();
    let below: f64 = inner.iter().map(|p| p.length * ellipse(p).powi(2)).sum();
    above / below
}

#[test]
fn a_cylinder_on_a_flat_spreads_as_hertz_says() {
    let (e, nu) = (2000.0, 0.35);
    // Strains of p_0 / E = 2.6 % are not small any more: that is 1.8 % at any fineness, and a coarse edge adds
    // to it. The highest single pressure also feels how unevenly a coarse edge presses.
    for (cells, single) in [(24, 0.08), (48, 0.035), (96, 0.02)] {
        let mesh = half_cylinder(cells);
        let law = Elastic::new(e, nu, PlaneState::PlaneStrain).unwrap();
        let model = Model::new(&mesh, law, THICKNESS)
            .unwrap()
            .support(along("middle", pick::on_x(&mesh, 0.0), [Some(0.0), None]))
            .unwrap()
            .support(along("top", pick::on_y(&mesh, RADIUS), [Some(0.0), Some(-0.04)]))
            .unwrap()
            .obstacle(flat("flat", 0.0, 20.0))
            .unwrap();
        for step in path(&model, 4) {
            let [touch] = &step.pushing.touches[..] else { panic!("{:?}", step.pushing) };
            let load = 2.0 * touch.force[1];
            let stiffness = PI * e * THICKNESS / (1.0 - nu * nu);
            let b = (4.0 * load * RADIUS / stiffness).sqrt();
            let p0 = 2.0 * load / (PI * b * THICKNESS);
            let what = format!("cylinder on a flat, {cells} cells, b/R = {:.3}", b / RADIUS);
            relative(&format!("{what}: half-width"), b, half_width(&touch.points), 0.02);
            relative(&format!("{what}: fitted pressure"), p0, peak(&touch.points, b), 0.022);
            let highest = touch.peak().unwrap().pressure;
            relative(&format!("{what}: highest pressure"), p0, highest, single);
            let share = step.pushing.overlap_energy / step.strain_energy;
            between(&format!("{what}: energy of the overlap"), 0.0, 2e-3, share);
            let pushed: f64 =
                step.reactions.iter().map(|r| r.force[1]).sum::<f64>() + touch.force[1];
            absolute(&format!("{what}: forces along y in balance"), 0.0, pushed / load, 1e-8);
        }
    }
}

/// Two meshes in one.
fn together(first: &Mesh, second: &Mesh) -> Mesh {
    let offset = u32::try_from(first.nodes().len()).unwrap();
    let nodes = first.nodes().iter().chain(second.nodes()).copied().collect();
    let moved = second.elements().iter().map(|e| e.map(|n| NodeId(n.0 + offset)));
    let elements = first.elements().iter().copied().chain(moved).collect();
    Mesh::from_parts(nodes, elements, Vec::new()).unwrap()
}

#[test]
fn blocks_press_evenly_on_each_other() {
    let (e, width) = (1000.0, 10.0);
    // The patch test: pieces between the nodes of both sides make it exact but for the solver's tolerance.
    for (below, above) in [(5, 5), (5, 7), (4, 11)] {
        let lower = grid(below, 4, |s, t| [width * s, 5.0 * t]);
        let upper = grid(above, 4, |s, t| [width * s, 5.01 + 5.0 * t]);
        let mesh = together(&lower, &upper);
        let sides = pick::nodes(&mesh, |p| p.x < 1e-9 || p.x > width - 1e-9);
        let model = Model::new(&mesh, plane_stress(e, 0.0), THICKNESS)
            .unwrap()
            .support(along("floor", pick::on_y(&mesh, 0.0), [None, Some(0.0)]))
            .unwrap()
            .support(along("press", pick::on_y(&mesh, 10.01), [None, Some(-0.11)]))
            .unwrap()
            .support(along("sides", sides, [Some(0.0), None]))
            .unwrap()
            .meeting_itself();
        let step = path(&model, 5).pop().unwrap();
        let [touch] = &step.pushing.touches[..] else { panic!("{:?}", step.pushing) };
        // d = 0.1 mm on 10 mm: stretch 0.99, 2nd Piola-Kirchhoff E (L^2 - 1) / 2, force per area at rest L S.
        let stretch: f64 = 0.99;
        let stress = e * 0.5 * (1.0 - stretch * stretch) * stretch;
        let what = format!("blocks, {below} on {above} edges");
        // Some of the way is overlap: a thirtieth of what an edge of the surface is pressed together.
        relative(&format!("{what}: force"), stress * width * THICKNESS, touch.force[1].abs(), 7e-3);
        let mean = touch.force[1].abs() / width / THICKNESS;
        let worst = touch.points.iter().map(|p| (p.pressure / mean - 1.0).abs()).fold(0.0, max);
        absolute(&format!("{what}: most uneven pressure"), 0.0, worst, 1e-6);
    }
}

#[test]
fn a_cylinder_on_a_cylinder_spreads_as_hertz_says() {
    let (e, nu) = (2000.0, 0.35);
    let (upper, lower) = (half_cylinder(40), half_cylinder(34));
    // Mirrored, its elements would turn over: their corners are given the other way round.
    let nodes = lower.nodes().iter().map(|p| withy_mesh::Point::new(p.x, -p.y - 1e-3)).collect();
    let turned =
        lower.elements().iter().map(|&[a, b, c, ab, bc, ca]| [a, c, b, ca, bc, ab]).collect();
    let lower = Mesh::from_parts(nodes, turned, Vec::new()).unwrap();
    let mesh = together(&upper, &lower);
    let law = Elastic::new(e, nu, PlaneState::PlaneStrain).unwrap();
    let model = Model::new(&mesh, law, THICKNESS)
        .unwrap()
        .support(along("middle", pick::on_x(&mesh, 0.0), [Some(0.0), None]))
        .unwrap()
        .support(along("top", pick::on_y(&mesh, RADIUS), [Some(0.0), Some(-0.08)]))
        .unwrap()
        .support(along("floor", pick::on_y(&mesh, -RADIUS - 1e-3), [Some(0.0), Some(0.0)]))
        .unwrap()
        .meeting_itself();
    let path = path(&model, 40);
    let mut work = 0.0;
    let mut before = (0.0, 0.0);
    for step in &path {
        let force = -step.reactions.iter().find(|r| r.region == "top").unwrap().force[1];
        let w = 0.08 * step.fraction;
        work += 0.5 * (force + before.1) * (w - before.0);
        before = (w, force);
    }
    for step in path.iter().skip(9).step_by(10) {
        let [touch] = &step.pushing.touches[..] else { panic!("{:?}", step.pushing) };
        let load = 2.0 * touch.force[1].abs();
        let stiffness = PI * e * THICKNESS / (1.0 - nu * nu);
        let b = (4.0 * load * RADIUS / stiffness).sqrt();
        let p0 = 2.0 * load / (PI * b * THICKNESS);
        let what = format!("cylinder on a cylinder, b/R = {:.3}", b / RADIUS);
        relative(&format!("{what}: half-width"), b, half_width(&touch.points), 0.02);
        relative(&format!("{what}: fitted pressure"), p0, peak(&touch.points, b), 0.02);
        let highest = touch.peak().unwrap().pressure;
        relative(&format!("{what}: highest pressure"), p0, highest, 0.035);
    }
    let last = path.last().unwrap();
    let stored = last.strain_energy + last.pushing.overlap_energy;
    relative("cylinders: work of the drive and energy", stored, work, 2e-3);
}

/// How the tip of the upper leaf is held along the leaf, which is not turned where it is free.
#[derive(Clone, Copy)]
enum Drive {
    FreeAlong,
    Blocked,
}

/// Two leaves above each other; the tip of the upper one is driven onto the lower one.
struct Leaves {
    mesh: Mesh,
    turn: f64,
}

impl Leaves {
    const LENGTH: f64 = 60.0;
    const DEPTH: f64 = 1.0;
    const GAP: f64 = 0.5;
    const DRAW: f64 = 2.0;

    fn new(turn: f64) -> Self {
        let place =
            |x: f64, y: f64| [x * turn.cos() - y * turn.sin(), x * turn.sin() + y * turn.cos()];
        let upper = grid(40, 2, |s, t| place(Self::LENGTH * s, Self::DEPTH * t));
        let lower = grid(52, 2, |s, t| {
            // A little longer, so that the upper tip slides on it.
            place(1.05 * Self::LENGTH * s, Self::DEPTH * (t - 1.0) - Self::GAP)
        });
        Self { mesh: together(&upper, &lower), turn }
    }

    fn model(&self, drive: Drive) -> Model<'_> {
        let (sin, cos) = self.turn.sin_cos();
        let lengthwise = |p: withy_mesh::Point| p.x * cos + p.y * sin;
        let across = |p: withy_mesh::Point| p.y * cos - p.x * sin;
        let root = pick::nodes(&self.mesh, |p| lengthwise(p).abs() < 1e-9);
        let tip = pick::nodes(&self.mesh, |p| {
            (lengthwise(p) - Self::LENGTH).abs() < 1e-9
                && (across(p) - 0.5 * Self::DEPTH).abs() < 1e-9
        });
        let model = Model::new(&self.mesh, plane_stress(2000.0, 0.0), THICKNESS)
            .unwrap()
            .support(Support::hold("root", root))
            .unwrap()
            .meeting_itself();
        let way = match drive {
            Drive::FreeAlong => [None, Some(-Self::DRAW)],
            Drive::Blocked => [Some(sin * Self::DRAW), Some(-cos * Self::DRAW)],
        };
        model.support(along("tip", tip, way)).unwrap()
    }
}

#[test]
fn leaves_that_touch_push_each_other() {
    let leaves = Leaves::new(0.0);
    let steps = path(&leaves.model(Drive::FreeAlong), 20);
    let bending = 2000.0 * THICKNESS / 12.0 / f64::powi(Leaves::LENGTH, 3);
    let (mut work, mut before) = (0.0, (0.0, 0.0));
    for step in &steps {
        let w = Leaves::DRAW * step.fraction;
        let force = -step.reactions.iter().find(|r| r.region == "tip").unwrap().force[1];
        work += 0.5 * (force + before.1) * (w - before.0);
        before = (w, force);
        let beyond = max(w - Leaves::GAP, 0.0);
        let what = format!("two leaves, w = {w:.1} mm");
        relative(&format!("{what}: force"), 3.0 * bending * (w + beyond), force, 0.01);
        let pushed: f64 = step.pushing.touches.iter().map(|t| t.force[1].abs()).sum();
        absolute(&format!("{what}: between them"), 3.0 * bending * beyond, pushed, 0.01 * force);
    }
    let last = steps.last().unwrap();
    let stored = last.strain_energy + last.pushing.overlap_energy;
    relative("two leaves: work of the drive and energy", stored, work, 2e-3);
}

#[test]
fn contact_is_the_same_in_a_turned_frame() {
    let straight = path(&Leaves::new(0.0).model(Drive::Blocked), 4).pop().unwrap();
    for turn in [0.3, 2.0] {
        let turned = path(&Leaves::new(turn).model(Drive::Blocked), 4).pop().unwrap();
        relative(
            &format!("turned by {turn}: energy"),
            straight.strain_energy,
            turned.strain_energy,
            1e-8,
        );
        let size = |s: &withy_solver::Step| {
            s.pushing.touches[0].force[0].hypot(s.pushing.touches[0].force[1])
        };
        relative(&format!("turned by {turn}: push"), size(&straight), size(&turned), 1e-8);
    }
}

#[test]
fn contact_does_not_depend_on_the_number_of_threads() {
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| path(&Leaves::new(0.3).model(Drive::Blocked), 4))
    };
    let one = run(1);
    assert!(!one[3].pushing.touches.is_empty(), "they touch");
    assert_eq!(one, run(3), "all bits");
}

#[test]
fn a_leaf_bends_onto_a_pin_and_goes_on_stiffer() {
    let (length, depth, e, gap, radius) = (60.0, 1.0, 2000.0, 0.2, 1.0);
    let mesh = grid(60, 2, |s, t| [length * s, depth * (t - 0.5)]);
    let pin = Obstacle {
        name: "pin".into(),
        shape: Shape::Pin { at: [0.5 * length, -0.5 * depth - gap - radius], radius },
        nodes: None,
    };
    let steps = 16;
    let model = Model::new(&mesh, plane_stress(e, 0.0), THICKNESS)
        .unwrap()
        .support(along("root", pick::on_x(&mesh, 0.0), [Some(0.0), Some(0.0)]))
        .unwrap()
        .support(along("tip", vec![pick::nearest(&mesh, length, 0.0)], [None, Some(-1.6)]))
        .unwrap()
        .obstacle(pin)
        .unwrap();
    let bending = e * THICKNESS * depth.powi(3) / 12.0 / f64::powi(length, 3);
    let first = 3.2 * gap;
    let path = path(&model, steps);
    for step in &path {
        let w = 1.6 * step.fraction;
        let force = step.reactions.iter().find(|r| r.region == "tip").unwrap().force[1];
        let beyond = w - first;
        let what = format!("leaf on a pin, w = {w:.1} mm");
        let pushed: f64 = step.pushing.touches.iter().map(|t| t.force[1]).sum();
        if beyond < 0.0 {
            relative(&format!("{what}: force"), 3.0 * bending * w, -force, 5e-3);
            absolute(&format!("{what}: pin"), 0.0, pushed, 0.0);
        } else {
            let expected = bending * (3.0 * first + 96.0 / 7.0 * beyond);
            relative(&format!("{what}: force"), expected, -force, 5e-3);
            let at_pin = 2.5 * (expected - 3.0 * bending * first);
            absolute(&format!("{what}: pin"), at_pin, pushed, 1e-2 * expected);
        }
    }
}

/// A leaf that is bent far over a pin or on a rail: what the drive has done is what is stored, so the part has passed
/// through nothing and lost nothing on the way.
#[test]
fn a_leaf_that_is_bent_far_over_an_obstacle_stores_what_the_drive_does() {
    let (length, depth, draw, steps) = (75.0, 2.0, 20.0, 80);
    let mesh = grid(90, 2, |s, t| [length * s, depth * (t - 1.0)]);
    let pin = Shape::Pin { at: [40.0, -4.0], radius: 1.5 };
    let rail = Shape::Rail { from: [10.0, -3.0], to: [50.0, -3.0] };
    for (what, shape) in [("pin", pin), ("rail", rail)] {
        let model = Model::new(&mesh, plane_stress(3300.0, 0.0), THICKNESS)
            .unwrap()
            .support(along("root", pick::on_x(&mesh, 0.0), [Some(0.0), Some(0.0)]))
            .unwrap()
            .support(along("tip", vec![pick::nearest(&mesh, length, -1.0)], [None, Some(-draw)]))
            .unwrap()
            .obstacle(Obstacle { name: what.into(), shape, nodes: None })
            .unwrap();
        let (mut work, mut before, mut pushed) = (0.0, 0.0, false);
        for step in path(&model, steps) {
            let force = -step.reactions.iter().find(|r| r.region == "tip").unwrap().force[1];
            work += 0.5 * (force + before) * draw / f64::from(steps);
            before = force;
            let pushes = !step.pushing.touches.is_empty();
            assert!(pushes || !pushed, "{what}: it lets go at {} of the draw", step.fraction);
            pushed |= pushes;
            if step.fraction > 0.99 {
                let stored = step.strain_energy + step.pushing.overlap_energy;
                // Trapezoids of a curve that turns by its own slope where the leaf touches: h^2 / 8 of the slope
                // there, 0.02 mJ, and less than that for its curvature, of 60 and more.
                relative(&format!("leaf far over a {what}: work and energy"), work, stored, 2e-3);
            }
        }
        assert!(pushed, "{what}: it touches");
    }
}

/// A leaf that lies flush on a rail, its tip beyond the rail's end, is bent down there: it lifts off all of the rail but
/// the end, as a propped cantilever with an overhang (superposition; S. Timoshenko, Strength of Materials, from
/// memory): tip P (a^3 / 3 + a^2 b / 4) / EI, prop P (1 + 3 a / 2 b), a beyond the prop and b before it.
#[test]
fn a_leaf_that_lies_flush_on_a_rail_lifts_off_it() {
    let (length, depth, draw, before, modulus) = (50.0, 1.0, 0.4, 30.0, 2000.0);
    let mesh = grid(400, 2, |s, t| [length * s, depth * t]);
    let model = Model::new(&mesh, plane_stress(modulus, 0.35), THICKNESS)
        .unwrap()
        .support(along("root", pick::on_x(&mesh, 0.0), [Some(0.0), Some(0.0)]))
        .unwrap()
        .support(along("tip", vec![pick::nearest(&mesh, length, 0.5)], [None, Some(-draw)]))
        .unwrap()
        .obstacle(Obstacle {
            name: "rail".into(),
            shape: Shape::Rail { from: [-1.0, 0.0], to: [before, 0.0] },
            nodes: None,
        })
        .unwrap();
    let beyond = length - before;
    let bending = modulus * THICKNESS * depth.powi(3) / 12.0;
    let expected = bending * draw / (beyond.powi(3) / 3.0 + beyond * beyond * before / 4.0);
    for step in path(&model, 2) {
        let force = -step.reactions.iter().find(|r| r.region == "tip").unwrap().force[1];
        let [touch] = &step.pushing.touches[..] else { panic!("it rests on the rail") };
        let share = step.fraction;
        // A rail bears a little before its end, where the last edge of 0.125 mm is: 0.7 % of force; shear gives 0.3 %.
        relative("leaf flush on a rail: force", share * expected, force, 1.2e-2);
        let prop = expected * (1.0 + 1.5 * beyond / before);
        relative("leaf flush on a rail: prop", share * prop, touch.force[1], 1.2e-2);
        let lifted = touch.points.iter().all(|p| p.rest[0] > before - 0.5);
        assert!(lifted, "the rest of it is off the rail");
    }
}

/// What is elastic comes back the way it went, rests on a pin or not; the numbers are those of the path as well.
#[test]
fn a_leaf_on_a_pin_is_let_down_as_it_was_drawn() {
    let (length, depth, draw) = (60.0, 1.0, 1.6);
    let mesh = grid(60, 2, |s, t| [length * s, depth * (t - 0.5)]);
    let model = Model::new(&mesh, plane_stress(2000.0, 0.0), THICKNESS)
        .unwrap()
        .support(along("root", pick::on_x(&mesh, 0.0), [Some(0.0), Some(0.0)]))
        .unwrap()
        .support(along("tip", vec![pick::nearest(&mesh, length, 0.0)], [None, Some(-draw)]))
        .unwrap()
        .obstacle(Obstacle {
            name: "pin".into(),
            shape: Shape::Pin { at: [0.5 * length, -0.5 * depth - 1.2], radius: 1.0 },
            nodes: None,
        })
        .unwrap();
    let options = StageOptions { steps: 16, halvings: 10, by_decade: 10 };
    let stages = [Stage::To(1.0), Stage::To(0.0)];
    let staged =
        follow_stages(&model, None, &stages, &options, &mut |_| ControlFlow::Continue(())).unwrap();
    let (up, down) = staged.states.split_at(16);
    assert!(staged.states.iter().all(|s| s.step.snaps.is_empty()), "nothing jumps");
    let full = up[15].step.strain_energy;
    for (n, there) in path(&model, 16).iter().enumerate() {
        let what = format!("leaf on a pin, {} of the draw", there.fraction);
        let back = if n == 15 { full } else { down[14 - n].step.strain_energy };
        // All to the solver's tolerance of the forces; energies are second to that.
        absolute(
            &format!("{what}: let down and drawn"),
            0.0,
            (back - up[n].step.strain_energy) / full,
            1e-7,
        );
        absolute(
            &format!("{what}: stage and path"),
            0.0,
            (there.strain_energy - up[n].step.strain_energy) / full,
            1e-7,
        );
    }
    let left = down[15].step.strain_energy;
    absolute("leaf on a pin, let down: energy", 0.0, left / full, 1e-9);
}

/// A cantilever whose tip is driven onto a second one below it, from a drawing and a part file.
fn two_leaves(solve: &str) -> withy::analysis::Analysis {
    let outline =
        r#"<path d="M 20 20 H 76 V 21 H 26 A 0.4 0.4 0 0 0 26 21.8 H 80 V 22.8 H 20 Z"/>"#;
    withy_tests::part::analysed(
        outline,
        &format!(
            "thickness = 5\nstate = \"plane stress\"\n[material]\ncard = \"pla\"\n\
             [regions]\nback = {{ box = [19, 70, 25, 81] }}\n\
             tip = {{ box = [74, 78.9, 77, 80.1] }}\n\
             [[hold]]\nregion = \"back\"\n\
             [[drive]]\nregion = \"tip\"\nmove = [0, -2]\nfree = [\"x\", \"turn\"]\n\
             [solve]\nsteps = 8\naccuracy = \"20 %\"\n{solve}"
        ),
    )
}

#[test]
fn a_part_that_touches_itself_is_solved_again_with_contact() {
    let (real, through) = (two_leaves(""), two_leaves("contact = false\n"));
    assert!(real.solution.self_contact && !through.solution.self_contact, "on its own account");
    let error = |a: &withy::analysis::Analysis| {
        a.solution.remarks.iter().any(|r| r.level.word() == "error")
    };
    assert!(error(&through) && !error(&real), "{:?}", real.solution.remarks);
    let [meeting] = &real.solution.meetings[..] else { panic!("{:?}", real.solution.meetings) };
    let touch = withy_tests::part::limit(&through, withy::analysis::LimitKind::Touch).unwrap();
    // Located to 1e-4 of the draw on both paths, on meshes of their own.
    absolute("leaves of a part: first touch (of the draw)", touch.fraction, meeting.fraction, 1e-3);
    assert!(
        withy_tests::part::limit(&real, withy::analysis::LimitKind::Touch).is_none(),
        "no limit"
    );
    let effort =
        |a: &withy::analysis::Analysis, n: usize| -a.solution.path.steps[n].reactions[0].force[1];
    // Free: one leaf. Behind the touch two bend: the slope about doubles, less what the longer lower leaf
    // is softer: between one and two and a tenth of one.
    let [alone, both] = [&through, &real].map(|a| effort(a, 7) - effort(a, 6));
    between("leaves of a part: slope with contact over that without", 1.8, 2.1, both / alone);
    let stored = real.solution.path.steps.last().unwrap();
    assert!(
        stored.pushing.overlap_energy < 1e-3 * stored.strain_energy,
        "{:?}",
        stored.pushing.overlap_energy
    );
}
