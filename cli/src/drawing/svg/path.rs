//! Path data: every command of SVG 2, chapter 9, to exact curves in millimetres.

use super::attributes::Element;
use crate::drawing::geometry::{JOIN_MM, SAME_MM, is_point, unit_arc, with_ends};
use crate::error::Refusal;
use kurbo::{Affine, CubicBez, Point, QuadBez, SvgArc, Vec2};
use svgtypes::{Error as SvgError, PathParser, PathSegment};
use withy_mesh::Curve;

/// Closed loops and open chains (mm).
#[derive(Default)]
pub(super) struct Outline {
    pub(super) loops: Vec<Vec<Curve>>,
    pub(super) chains: Vec<Vec<Curve>>,
}

/// Collects curves in user units and hands them on in millimetres.
pub(super) struct Pen {
    to_mm: Affine,
    outline: Outline,
    curves: Vec<Curve>,
    /// First point of the present piece (user units).
    first: Point,
    /// Where the pen is (user units).
    at: Point,
    /// The handle that a smooth command mirrors, by the kind of the command before.
    handle: Handle,
}

#[derive(Clone, Copy)]
enum Handle {
    None,
    Cubic(Point),
    Quadratic(Point),
}

impl Pen {
    pub(super) fn new(to_mm: Affine) -> Self {
        let origin = Point::ZERO;
        let handle = Handle::None;
        Self {
            to_mm,
            outline: Outline::default(),
            curves: Vec::new(),
            first: origin,
            at: origin,
            handle,
        }
    }

    pub(super) fn move_to(&mut self, p: Point) {
        self.leave_open();
        (self.first, self.at) = (p, p);
    }

    pub(super) fn line_to(&mut self, p: Point) {
        self.push(Curve::Line(self.to_mm * self.at, self.to_mm * p));
        self.at = p;
    }

    fn cubic_to(&mut self, p1: Point, p2: Point, p3: Point) {
        self.push(Curve::Cubic(self.to_mm * CubicBez::new(self.at, p1, p2, p3)));
        self.at = p3;
    }

    fn quadratic_to(&mut self, p1: Point, p2: Point) {
        let raised = QuadBez::new(self.at, p1, p2).raise();
        self.push(Curve::Cubic(self.to_mm * raised));
        self.at = p2;
    }

    /// An elliptical arc by its end points: SVG 2, appendix B.2.4.
    pub(super) fn arc_to(
        &mut self,
        radii: Vec2,
        rotation_degrees: f64,
        large_arc: bool,
        sweep: bool,
        to: Point,
    ) {
        let x_rotation = rotation_degrees.to_radians();
        let by_ends = SvgArc { from: self.at, to, radii, x_rotation, large_arc, sweep };
        let Some(arc) = kurbo::Arc::from_svg_arc(&by_ends) else {
            return self.line_to(to);
        };
        let unit = Affine::translate(arc.center.to_vec2())
            * Affine::rotate(arc.x_rotation)
            * Affine::scale_non_uniform(arc.radii.x, arc.radii.y);
        let mut curves = unit_arc(self.to_mm * unit, arc.start_angle, arc.sweep_angle);
        // Cubics begin and end exactly where the path says.
        if let Some(first) = curves.first_mut() {
            *first = with_ends(first, self.to_mm * self.at, first.end());
        }
        if let Some(last) = curves.last_mut() {
            *last = with_ends(last, last.start(), self.to_mm * to);
        }
        curves.into_iter().for_each(|curve| self.push(curve));
        self.at = to;
    }

    /// Back to the first point of the piece.
    pub(super) fn close(&mut self) {
        let start = self.to_mm * self.first;
        if let (Some(last), Some(first)) = (self.curves.last(), self.curves.first()) {
            let gap = last.end().distance(first.start());
            if gap > JOIN_MM {
                self.curves.push(Curve::Line(last.end(), start));
            } else if gap > SAME_MM || matches!(last, Curve::Line(..)) {
                let count = self.curves.len();
                self.curves[count - 1] = with_ends(last, last.start(), start);
            }
        }
        if !self.curves.is_empty() {
            self.outline.loops.push(std::mem::take(&mut self.curves));
        }
        self.at = self.first;
        self.handle = Handle::None;
    }

    fn leave_open(&mut self) {
        if !self.curves.is_empty() {
            self.outline.chains.push(std::mem::take(&mut self.curves));
        }
        self.handle = Handle::None;
    }

    pub(super) fn push(&mut self, curve: Curve) {
        if !is_point(&curve) {
            self.curves.push(curve);
        }
    }

    pub(super) fn finish(mut self) -> Outline {
        self.leave_open();
        self.outline
    }

    /// A point as written: absolute, or relative to the pen.
    fn place(&self, abs: bool, x: f64, y: f64) -> Point {
        if abs { Point::new(x, y) } else { self.at + Vec2::new(x, y) }
    }

    fn mirrored(&self, handle: Option<Point>) -> Point {
        handle.map_or(self.at, |h| self.at + (self.at - h))
    }

    fn draw(&mut self, segment: PathSegment) {
        let mut handle = Handle::None;
        match segment {
            PathSegment::MoveTo { abs, x, y } => self.move_to(self.place(abs, x, y)),
            PathSegment::LineTo { abs, x, y } => self.line_to(self.place(abs, x, y)),
            PathSegment::HorizontalLineTo { abs, x } => {
                let x = if abs { x } else { self.at.x + x };
                self.line_to(Point::new(x, self.at.y));
            }
            PathSegment::VerticalLineTo { abs, y } => {
                let y = if abs { y } else { self.at.y + y };
                self.line_to(Point::new(self.at.x, y));
            }
            PathSegment::CurveTo { abs, x1, y1, x2, y2, x, y } => {
                let p2 = self.place(abs, x2, y2);
                self.cubic_to(self.place(abs, x1, y1), p2, self.place(abs, x, y));
                handle = Handle::Cubic(p2);
            }
            PathSegment::SmoothCurveTo { abs, x2, y2, x, y } => {
                let before = if let Handle::Cubic(h) = self.handle { Some(h) } else { None };
                let p2 = self.place(abs, x2, y2);
                self.cubic_to(self.mirrored(before), p2, self.place(abs, x, y));
                handle = Handle::Cubic(p2);
            }
            PathSegment::Quadratic { abs, x1, y1, x, y } => {
                let p1 = self.place(abs, x1, y1);
                self.quadratic_to(p1, self.place(abs, x, y));
                handle = Handle::Quadratic(p1);
            }
            PathSegment::SmoothQuadratic { abs, x, y } => {
                let before = if let Handle::Quadratic(h) = self.handle { Some(h) } else { None };
                let p1 = self.mirrored(before);
                self.quadratic_to(p1, self.place(abs, x, y));
                handle = Handle::Quadratic(p1);
            }
            PathSegment::EllipticalArc { abs, rx, ry, x_axis_rotation, large_arc, sweep, x, y } => {
                let to = self.place(abs, x, y);
                self.arc_to(Vec2::new(rx, ry), x_axis_rotation, large_arc, sweep, to);
            }
            PathSegment::ClosePath { .. } => self.close(),
        }
        self.handle = handle;
    }
}

/// The outline of a `path` element.
pub(super) fn outline(element: &Element, to_mm: Affine) -> Result<Outline, Refusal> {
    let data = element.attribute("d").unwrap_or_default();
    let mut pen = Pen::new(to_mm);
    if data.trim() == "none" {
        return Ok(pen.finish());
    }
    for segment in PathParser::from(data) {
        match segment {
            Ok(segment) => pen.draw(segment),
            Err(error) => {
                let position = position_of(&error).unwrap_or(data.chars().count());
                return Err(element.refuse_at("d", position, error.to_string()));
            }
        }
    }
    Ok(pen.finish())
}

fn position_of(error: &SvgError) -> Option<usize> {
    match error {
        SvgError::UnexpectedData(at)
        | SvgError::InvalidChar(_, at)
        | SvgError::InvalidString(_, at)
        | SvgError::InvalidNumber(at) => Some(*at),
        SvgError::UnexpectedEndOfStream | SvgError::InvalidValue | SvgError::InvalidIdent => None,
    }
}
