//! Shapes that several tests draw.

use withy_mesh::{Arc, Curve, Loop, Outline, OutlineError, Point, Region};

/// A closed polygon.
pub(crate) fn polygon(points: &[(f64, f64)]) -> Loop {
    let p: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
    let line = |i: usize| Curve::Line(p[i], p[(i + 1) % p.len()]);
    Loop { curves: (0..p.len()).map(line).collect(), origin: "a polygon".into() }
}

pub(crate) fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Loop {
    polygon(&[(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
}

pub(crate) fn circle(x: f64, y: f64, radius: f64) -> Loop {
    let whole = Arc { center: Point::new(x, y), radius, start: 0.3, sweep: std::f64::consts::TAU };
    Loop { curves: vec![Curve::Arc(whole)], origin: "a circle".into() }
}

pub(crate) fn region(name: &str, one: Loop) -> Region {
    Region { name: name.into(), loops: vec![one] }
}

/// A frame with two openings that leave one rib of 1.6 mm, its roots rounded by 0.8 mm.
pub(crate) fn frame(regions: Vec<Region>) -> Result<Outline, OutlineError> {
    let loops = vec![
        rectangle(0.0, 0.0, 40.0, 30.0),
        rectangle(6.0, 6.0, 34.0, 14.2),
        rectangle(6.0, 15.8, 34.0, 24.0),
    ];
    Outline::new(loops, regions)?.with_fillets(0.8)
}
