//! What pushes, told in forces and pressures.

use super::border::{Meeting, Partner, parabola};
use super::meeting::places;
use super::{Contact, PressedPoint, Pushing, Touch};
use crate::configuration::Configuration;

impl Contact {
    /// Where the last state that was assembled pushes.
    pub(crate) fn pushing(&self, x: &[[f64; 2]], at: &Configuration) -> Pushing {
        let places = places(x, at);
        let mut pushing = Pushing::default();
        for (k, obstacle) in self.border.obstacles.iter().enumerate() {
            let own: Vec<&Meeting> =
                self.meetings.iter().filter(|m| m.partner == Partner::Obstacle(k)).collect();
            if !own.is_empty() {
                let force = own.iter().fold([0.0; 2], |sum, m| added(sum, self.force(m, &places)));
                let points = own.iter().map(|m| self.pressed(m, x, &places)).collect();
                pushing.touches.push(Touch {
                    obstacle: Some(obstacle.name.clone()),
                    force,
                    points,
                });
            }
        }
        pushing.touches.extend(self.own_touches(x, &places));
        for m in &self.meetings {
            pushing.overlap_energy += self.weight(m) * self.term(m, &places).1.value;
        }
        pushing
    }

    /// Force on the point's own edge (N).
    fn force(&self, m: &Meeting, places: &[[f64; 2]]) -> [f64; 2] {
        let (_, term) = self.term(m, places);
        let weight = self.weight(m);
        [0, 1].map(|i| -weight * (0..3).map(|a| term.gradient[2 * a + i]).sum::<f64>())
    }

    fn pressed(&self, m: &Meeting, x: &[[f64; 2]], places: &[[f64; 2]]) -> PressedPoint {
        let at = |places: &[[f64; 2]]| {
            let p = parabola(&self.border.edges[m.edge], places).at(m.s);
            [p.x, p.y]
        };
        PressedPoint {
            edge: m.edge,
            rest: at(x),
            now: at(places),
            pressure: self.pressure(m),
            length: m.length,
            depth: m.depth,
        }
    }

    /// Touches of edges with edges: runs of edges under pressure, two and two.
    fn own_touches(&self, x: &[[f64; 2]], places: &[[f64; 2]]) -> Vec<Touch> {
        let own: Vec<(&Meeting, usize)> = self
            .meetings
            .iter()
            .filter_map(|m| match m.partner {
                Partner::Edge(other, _) => Some((m, other)),
                Partner::Obstacle(_) => None,
            })
            .collect();
        // The run that an edge belongs to: neighbours that touch belong together.
        let mut run: Vec<Option<usize>> = vec![None; self.border.edges.len()];
        let mut touched: Vec<usize> = own.iter().flat_map(|(m, other)| [m.edge, *other]).collect();
        touched.sort_unstable();
        touched.dedup();
        for &e in &touched {
            run[e] = Some(e);
        }
        for &start in &touched {
            if run[start] != Some(start) {
                continue;
            }
            for side in 0..2 {
                let mut at = self.border.beside[start][side];
                while run[at].is_some_and(|r| r > start) {
                    run[at] = Some(start);
                    at = self.border.beside[at][side];
                }
            }
        }
        let sides = |m: &Meeting, other: usize| {
            let (a, b) = (run[m.edge].unwrap_or(m.edge), run[other].unwrap_or(other));
            ([a.min(b), a.max(b)], a <= b)
        };
        let mut pairs: Vec<[usize; 2]> = own.iter().map(|(m, f)| sides(m, *f).0).collect();
        pairs.sort_unstable();
        pairs.dedup();
        pairs
            .into_iter()
            .map(|pair| {
                let mut touch = Touch { obstacle: None, force: [0.0; 2], points: Vec::new() };
                for (m, other) in &own {
                    let (own_pair, first) = sides(m, *other);
                    if own_pair == pair {
                        let f = self.force(m, places);
                        touch.force = added(touch.force, if first { f } else { f.map(|f| -f) });
                        touch.points.push(self.pressed(m, x, places));
                    }
                }
                touch
            })
            .collect()
    }
}

fn added(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] + b[0], a[1] + b[1]]
}
