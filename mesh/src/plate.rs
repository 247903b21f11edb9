//! A plate of 30 x 14 mm for the tests of what works on its triangles.

use crate::arrangement::arrange;
use crate::division::divide;
use crate::refine::refine;
use crate::sizing::SizeField;
use crate::surface::Surface;
use crate::triangulate::Net;
use crate::{Curve, Loop, Outline, Point, Sizing};

/// Hands over the refined plate with elements of so many millimetres.
pub(crate) fn with_plate(
    coarsest: f64,
    work: impl FnOnce(&mut Net<'_>, &SizeField, &[[usize; 3]]),
) {
    let corners = [(0.0, 0.0), (30.0, 0.0), (30.0, 14.0), (0.0, 14.0)].map(Point::from);
    let curves = (0..4).map(|i| Curve::Line(corners[i], corners[(i + 1) % 4])).collect();
    let outline = Outline::new(vec![Loop { curves, origin: "plate".into() }], Vec::new()).unwrap();
    let arrangement = arrange(&outline);
    let sizing = Sizing { coarsest: Some(coarsest), ..Sizing::default() };
    let (field, tips) = SizeField::new(&outline, &arrangement, &sizing, &|| false).unwrap();
    let (points, edges) = divide(&arrangement, &field, &tips, 100_000).unwrap();
    let mut net = Net::new(&arrangement.strands, &tips, points, edges);
    let start = net.conform(30.0).unwrap();
    let triangles = refine(&mut net, start, &field, 30.0, 100_000, &|| false).unwrap();
    work(&mut net, &field, &triangles);
}

/// Upright triangles that cover the plate and fit together.
pub(crate) fn check_plate(net: &Net<'_>, surface: &Surface) {
    let mut area = 0.0;
    for t in surface.triangles() {
        let [a, b, c] = t.map(|v| net.points[v]);
        assert!((b - a).cross(c - a) > 0.0, "upright at {t:?}");
        area += 0.5 * (b - a).cross(c - a);
    }
    assert!((area - 420.0).abs() < 1e-9, "the whole plate and nothing twice: {area}");
    for side in 0..surface.sides() {
        let Some(twin) = surface.twin(side) else {
            assert!(surface.edge(side).is_some(), "the border is made of the net's edges");
            continue;
        };
        assert_eq!(surface.twin(twin), Some(side), "a twin's twin is the side itself");
        assert_eq!(surface.from(twin), surface.to(side), "and it goes the other way");
    }
    for v in 0..net.points.len() {
        assert!(surface.spokes(v).all(|s| surface.from(s) as usize == v), "spokes of {v}");
    }
}
