//! SVG: a walk over the visible elements with one stack of transforms and names.
//!
//! SVG 2 (W3C candidate recommendation, 2018) as far as it concerns outlines: basic shapes, paths,
//! groups, `use`, `symbol`, nested `svg`, units and view boxes. Nothing is simplified: circles stay
//! circles, quadratics are raised exactly. What a viewer would not show is left out and said; what
//! cannot be understood is refused with its line.

mod attributes;
mod page;
mod path;
mod shapes;

#[cfg(test)]
mod tests;

use super::error::DrawingCause;
use super::geometry::is_within_limits;
use super::{Drawing, Foreign, MOST_CURVES, Names, Shape};
use crate::error::{Refusal, Source};
use crate::remark::Remark;
use attributes::Element;
use kurbo::Affine;
use roxmltree::{Document, Node, NodeId, ParsingOptions};
use std::collections::{BTreeMap, HashMap};
use withy_mesh::Curve;

/// Elements may be nested so deep, `use` included.
const DEEPEST: usize = 256;
/// `use` elements may unfold to so many copies.
const MOST_COPIES: usize = 10_000;
/// More nodes than this are refused, those unfolded by `use` included.
const MOST_NODES: u32 = 4_000_000;
const SVG_NAMESPACE: &str = "http://www.w3.org/2000/svg";

/// A drawing from the text of an SVG file.
pub(super) fn read(source: &Source) -> Result<Drawing, Refusal> {
    let options =
        ParsingOptions { allow_dtd: false, nodes_limit: MOST_NODES, ..Default::default() };
    let document = Document::parse_with_options(source.text(), options)
        .map_err(|error| bad_xml(source, &error))?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        let cause = DrawingCause::NotSvg { found: root.tag_name().name().to_owned() };
        return Err(Refusal::at(source, root.range(), cause));
    }
    let mut walker = Walker::new(source, &document);
    let page = page::of_root(Element::new(root, source))?;
    walker.remarks.extend(page.remarks);
    let context =
        Context { transform: page.to_mm, view: page.view, visibility: Visibility::Shown, depth: 0 };
    walker.enter_names(root);
    walker.children(root, &context)?;
    walker.finish_remarks();
    Ok(Drawing {
        source: source.clone(),
        shapes: walker.shapes,
        foreign: walker.foreign,
        page: page.size_mm,
        remarks: walker.remarks,
        names: Names::Exact,
    })
}

fn bad_xml(source: &Source, error: &roxmltree::Error) -> Refusal {
    let place = error.pos();
    let line = source.line_range(place.row as usize);
    let column = (place.col as usize).saturating_sub(1);
    let text = source.text().get(line.clone()).unwrap_or_default();
    let offset = text.char_indices().nth(column).map_or(text.len(), |(byte, _)| byte);
    let start = line.start + offset;
    Refusal::at(source, start..start, DrawingCause::BadXml { why: error.to_string() })
}

#[derive(Clone, Copy, PartialEq)]
enum Visibility {
    Shown,
    Hidden,
}

/// What an element inherits.
#[derive(Clone)]
struct Context {
    /// User units to millimetres, y up.
    transform: Affine,
    /// Size of the view that percentages refer to (user units).
    view: [f64; 2],
    visibility: Visibility,
    depth: usize,
}

struct Walker<'a> {
    source: &'a Source,
    ids: HashMap<&'a str, NodeId>,
    document: &'a Document<'a>,
    /// Names of the elements around the present one.
    names: Vec<String>,
    /// Elements being unfolded by `use`.
    unfolding: Vec<NodeId>,
    copies: usize,
    elements: u32,
    curves: usize,
    shapes: Vec<Shape>,
    foreign: Vec<Foreign>,
    remarks: Vec<Remark>,
    /// Counts of what was left out, by reason.
    left_out: BTreeMap<String, usize>,
}

impl<'a> Walker<'a> {
    fn new(source: &'a Source, document: &'a Document<'a>) -> Self {
        let with_id = |node: Node<'a, 'a>| Some((node.attribute("id")?, node.id()));
        let mut ids = HashMap::new();
        for (id, node) in document.descendants().filter_map(with_id) {
            // Of several elements with one id a reference means the first.
            ids.entry(id).or_insert(node);
        }
        Self {
            source,
            ids,
            document,
            names: Vec::new(),
            unfolding: Vec::new(),
            copies: 0,
            elements: 0,
            curves: 0,
            shapes: Vec::new(),
            foreign: Vec::new(),
            remarks: Vec::new(),
            left_out: BTreeMap::new(),
        }
    }

    fn refuse<T>(&self, node: Node, cause: DrawingCause) -> Result<T, Refusal> {
        Err(Refusal::at(self.source, attributes::tag_span(node, self.source), cause))
    }

    fn leave_out(&mut self, what: &str, why: &str) {
        *self.left_out.entry(format!("{what} {why}")).or_default() += 1;
    }

    fn finish_remarks(&mut self) {
        for (what, count) in std::mem::take(&mut self.left_out) {
            let times = if count == 1 { String::new() } else { format!(" ({count} times)") };
            self.remarks.push(Remark::note("left-out", format!("left out: {what}{times}")));
        }
    }

    fn children(&mut self, node: Node<'a, 'a>, context: &Context) -> Result<(), Refusal> {
        if context.depth >= DEEPEST {
            return self.refuse(node, DrawingCause::TooDeep { limit: DEEPEST });
        }
        let inner = Context { depth: context.depth + 1, ..context.clone() };
        for child in node.children().filter(Node::is_element) {
            self.element(child, &inner)?;
        }
        Ok(())
    }

    fn element(&mut self, node: Node<'a, 'a>, outer: &Context) -> Result<(), Refusal> {
        let namespace = node.tag_name().namespace();
        if namespace.is_some_and(|uri| uri != SVG_NAMESPACE) {
            return Ok(()); // an editor's own notes
        }
        self.elements += 1;
        if self.elements > MOST_NODES {
            return self.refuse(node, DrawingCause::TooManyCopies { limit: MOST_COPIES });
        }
        let element = Element::new(node, self.source);
        let tag = node.tag_name().name();
        if element.style("display") == Some("none") {
            self.leave_out(&element.words(), "is not displayed");
            return Ok(());
        }
        let mut context = outer.clone();
        context.visibility = match element.style("visibility") {
            Some("hidden" | "collapse") => Visibility::Hidden,
            Some("visible") => Visibility::Shown,
            _ => outer.visibility,
        };
        context.transform = outer.transform * element.transform()?;
        let outside = self.enter_names(node);
        let outcome = self.visible_element(node, tag, &element, &context);
        self.names.truncate(outside);
        outcome
    }

    fn visible_element(
        &mut self,
        node: Node<'a, 'a>,
        tag: &str,
        element: &Element<'a>,
        context: &Context,
    ) -> Result<(), Refusal> {
        match tag {
            "g" | "a" | "switch" => {
                self.say_effects(element);
                self.children(node, context)
            }
            "svg" => {
                let context = page::of_nested(element, context)?;
                self.children(node, &context)
            }
            "use" => self.copy(node, element, context),
            "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon" => {
                if context.visibility == Visibility::Hidden {
                    self.leave_out(&element.words(), "is hidden");
                    return Ok(());
                }
                self.say_effects(element);
                self.shape(node, element, context)
            }
            "text" | "image" | "foreignObject" => {
                if context.visibility == Visibility::Shown {
                    self.foreign.push(Foreign {
                        names: self.names.clone(),
                        origin: element.words(),
                        span: element.span(),
                    });
                }
                Ok(())
            }
            "defs" | "symbol" | "clipPath" | "mask" | "pattern" | "marker" => {
                let mut inside = node.descendants();
                let is_first = tag != "symbol" && self.unfolding.is_empty();
                if is_first && inside.any(|inner| shapes::is_shape(inner.tag_name().name())) {
                    let what = format!("shapes in <{tag}>");
                    self.leave_out(&what, "are not drawn where they stand");
                }
                Ok(())
            }
            "style" => {
                let rules = node.text().unwrap_or_default();
                if rules.contains("display") || rules.contains("visibility") {
                    let text = "a style sheet hides something, but style sheets are not read: hide \
                                shapes by their own style, or delete them";
                    self.remarks.push(Remark::caution("style-sheet", text));
                }
                Ok(())
            }
            _ => Ok(()), // titles, gradients, filters, animations: nothing with an outline of its own
        }
    }

    /// Clipping and masking cut a picture, not the shapes in it.
    fn say_effects(&mut self, element: &Element) {
        for effect in ["clip-path", "mask"] {
            if element.style(effect).is_some_and(|value| value != "none") {
                let text =
                    format!("{}: {effect} is not applied, the whole shape counts", element.words());
                self.remarks.push(Remark::caution("not-applied", text));
            }
        }
    }

    /// Puts the names of an element on the stack; returns how many there were before.
    fn enter_names(&mut self, node: Node) -> usize {
        let before = self.names.len();
        let is_name = |local: &str| local == "id" || local == "label";
        for attribute in node.attributes().filter(|attribute| is_name(attribute.name())) {
            let name = attribute.value().trim();
            if !name.is_empty() && !self.names[before..].iter().any(|known| known == name) {
                self.names.push(name.to_owned());
            }
        }
        before
    }

    fn shape(&mut self, node: Node, element: &Element, context: &Context) -> Result<(), Refusal> {
        let outline = shapes::outline(element, context)?;
        let all = || outline.loops.iter().chain(&outline.chains).flatten();
        self.curves += all().count();
        if self.curves > MOST_CURVES {
            return self.refuse(node, DrawingCause::TooManyCurves { limit: MOST_CURVES });
        }
        let within: fn(&Curve) -> bool = is_within_limits;
        if !all().all(within) {
            return self.refuse(node, DrawingCause::OutOfBounds { what: element.words() });
        }
        if !outline.loops.is_empty() || !outline.chains.is_empty() {
            self.shapes.push(Shape {
                names: self.names.clone(),
                loops: outline.loops,
                chains: outline.chains,
                origin: element.words(),
                span: element.span(),
            });
        }
        Ok(())
    }

    /// `use`: the element it refers to, once more, shifted by x and y.
    fn copy(
        &mut self,
        node: Node<'a, 'a>,
        element: &Element<'a>,
        context: &Context,
    ) -> Result<(), Refusal> {
        let reference = node.attributes().find(|attribute| attribute.name() == "href");
        let Some(reference) = reference.map(|attribute| attribute.value().trim()) else {
            return Ok(()); // refers to nothing: draws nothing, in every viewer
        };
        let name = reference.strip_prefix('#').unwrap_or(reference).to_owned();
        let target = reference.strip_prefix('#').and_then(|id| self.ids.get(id));
        let Some(target) = target.and_then(|id| self.document.get_node(*id)) else {
            return self.refuse(node, DrawingCause::UnknownReference { name });
        };
        let around = node.ancestors().any(|outer| outer.id() == target.id());
        if around || self.unfolding.contains(&target.id()) {
            return self.refuse(node, DrawingCause::ContainsItself { name });
        }
        self.copies += 1;
        if self.copies > MOST_COPIES {
            return self.refuse(node, DrawingCause::TooManyCopies { limit: MOST_COPIES });
        }
        if context.depth >= DEEPEST {
            return self.refuse(node, DrawingCause::TooDeep { limit: DEEPEST });
        }
        let shift = (
            element.length_or("x", 0.0, context.view[0])?,
            element.length_or("y", 0.0, context.view[1])?,
        );
        let mut inner = context.clone();
        inner.depth += 1;
        inner.transform *= Affine::translate(shift);
        self.unfolding.push(target.id());
        let outcome = if target.tag_name().name() == "symbol" {
            self.symbol(target, element, &inner)
        } else {
            self.element(target, &inner)
        };
        self.unfolding.pop();
        outcome
    }

    fn symbol(
        &mut self,
        symbol: Node<'a, 'a>,
        user: &Element,
        context: &Context,
    ) -> Result<(), Refusal> {
        let element = Element::new(symbol, self.source);
        let mut context = context.clone();
        context.transform *= element.transform()?;
        let context = page::of_symbol(&element, user, &context)?;
        let outside = self.enter_names(symbol);
        let outcome = self.children(symbol, &context);
        self.names.truncate(outside);
        outcome
    }
}
