"""Exports read back by libraries that know nothing of Withy, against the demo's own drawings.

Area, perimeter and bounds of a drawing are exact: lines and arcs by their formulas (the drawings hold no
other curves), read by svgpathtools or ezdxf. A part made of numbers has no drawing of its own; its exported SVG and
DXF are compared with each other and with its solids. Coordinates are written with nine decimals and the
demo's drawings hold four, so 1e-6 of a part tells apart what matters.
"""

import math
import struct
import sys
import tomllib
from pathlib import Path

import ezdxf
import ezdxf.math
import svgpathtools
import trimesh

EXACT = 1e-6


def fail(text):
    raise SystemExit(f"FAILED: {text}")


def near(name, found, expected, tolerance):
    if not abs(found - expected) <= tolerance:
        fail(f"{name}: {found!r}, but {expected!r} within {tolerance:g}")


class Shape:
    """Loops of ('line', a, b) and ('arc', a, b, centre, radius, sweep) in complex millimetres, y up."""

    def __init__(self):
        self.loops = []

    def area(self):
        """Even-odd: the largest loop less all others, as a part is one piece with openings."""
        areas = sorted((abs(area(loop)) for loop in self.loops), reverse=True)
        return areas[0] - sum(areas[1:])

    def perimeter(self):
        return sum(length(p) for loop in self.loops for p in loop)

    def bounds(self):
        points = [q for loop in self.loops for p in loop for q in extremes(p)]
        xs, ys = [q.real for q in points], [q.imag for q in points]
        return min(xs), min(ys), max(xs), max(ys)


def length(piece):
    return abs(piece[2] - piece[1]) if piece[0] == "line" else piece[4] * abs(piece[5])


def area(loop):
    total = 0.0
    for piece in loop:
        a, b = piece[1], piece[2]
        total += 0.5 * (a.real * b.imag - a.imag * b.real)
        if piece[0] == "arc":
            radius, sweep = piece[4], piece[5]
            total += 0.5 * radius**2 * (sweep - math.sin(sweep))
    return total


def extremes(piece):
    yield piece[1]
    yield piece[2]
    if piece[0] == "arc":
        a, centre, radius, sweep = piece[1], piece[3], piece[4], piece[5]
        start = math.atan2((a - centre).imag, (a - centre).real)
        for k in range(-8, 9):
            t = (k * math.pi / 2 - start) / sweep
            if 0 <= t <= 1:
                yield centre + radius * complex(math.cos(k * math.pi / 2), math.sin(k * math.pi / 2))


def from_svg(path):
    paths, attributes, head = svgpathtools.svg2paths2(str(path))
    height = float(head["height"].removesuffix("mm"))
    shape, names = Shape(), []
    for one, attribute in zip(paths, attributes):
        name = attribute.get("id", "")
        # The demo's regions are dashed, or rectangles beside the part: all that is filled in part.
        in_part = attribute.get("fill-opacity") is None
        if not in_part:
            names.append(name)
            continue
        for loop in one.continuous_subpaths():
            pieces = []
            for p in loop:
                a, b = (complex(q.real, height - q.imag) for q in (p.start, p.end))
                if isinstance(p, svgpathtools.Line):
                    pieces.append(("line", a, b))
                elif isinstance(p, svgpathtools.Arc):
                    centre = complex(p.center.real, height - p.center.imag)
                    near(f"{path}: a circle's radii", p.radius.real, p.radius.imag, EXACT)
                    sweep = -math.radians(p.delta)
                    pieces.append(("arc", a, b, centre, p.radius.real, sweep))
                else:
                    fail(f"{path}: a {type(p).__name__} where lines and arcs were drawn")
            shape.loops.append(pieces)
    return shape, names


def from_dxf(path, layer):
    document = ezdxf.readfile(path)
    if document.audit().has_errors:
        fail(f"{path}: {document.audit().errors}")
    if document.header.get("$INSUNITS") != 4:
        fail(f"{path}: not in millimetres")
    shape, layers = Shape(), set()
    loose = []
    for entity in document.modelspace():
        name = entity.dxf.layer
        layers.add(name)
        if name.lower() != layer:
            continue
        kind = entity.dxftype()
        if kind == "POLYLINE":
            if not entity.is_closed:
                fail(f"{path}: an open polyline")
            vertices = [(v.dxf.location.x, v.dxf.location.y, v.dxf.bulge) for v in entity.vertices]
        elif kind == "LWPOLYLINE":
            vertices = list(entity.get_points("xyb"))
        elif kind in ("LINE", "ARC"):
            loose.append(entity)
            continue
        else:
            fail(f"{path}: a {kind}")
        shape.loops.append(bulged(vertices))
    if loose:
        shape.loops.extend(joined([of_entity(e) for e in loose]))
    return shape, layers


def joined(pieces):
    """Loops of loose pieces, end to end within 0.01 mm, each turned as it is met."""
    loops = []
    while pieces:
        loop = [pieces.pop(0)]
        while abs(loop[-1][2] - loop[0][1]) > 0.01:
            end = loop[-1][2]
            at = min(range(len(pieces)), key=lambda k: min(abs(pieces[k][1] - end), abs(pieces[k][2] - end)))
            piece = pieces.pop(at)
            if abs(piece[1] - end) > abs(piece[2] - end):
                piece = backwards(piece)
            if abs(piece[1] - end) > 0.01:
                fail(f"an open outline at {end}")
            loop.append(piece)
        loops.append(loop)
    return loops


def backwards(piece):
    kind, a, b, *arc = piece
    return (kind, b, a, arc[0], arc[1], -arc[2]) if arc else (kind, b, a)


def of_entity(e):
    if e.dxftype() == "LINE":
        return ("line", complex(e.dxf.start.x, e.dxf.start.y), complex(e.dxf.end.x, e.dxf.end.y))
    sweep = math.radians((e.dxf.end_angle - e.dxf.start_angle) % 360)
    a, b = complex(e.start_point.x, e.start_point.y), complex(e.end_point.x, e.end_point.y)
    return ("arc", a, b, complex(e.dxf.center.x, e.dxf.center.y), e.dxf.radius, sweep)


def bulged(vertices):
    pieces = []
    for (x0, y0, bulge), (x1, y1, _) in zip(vertices, vertices[1:] + vertices[:1]):
        a, b = complex(x0, y0), complex(x1, y1)
        if bulge == 0:
            pieces.append(("line", a, b))
        else:
            centre = ezdxf.math.bulge_center((x0, y0), (x1, y1), bulge)
            radius = ezdxf.math.bulge_radius((x0, y0), (x1, y1), bulge)
            pieces.append(("arc", a, b, complex(centre.x, centre.y), radius, 4 * math.atan(bulge)))
    return pieces


def same(name, found, expected):
    near(f"{name}: area", found.area(), expected.area(), EXACT * expected.area())
    near(f"{name}: perimeter", found.perimeter(), expected.perimeter(), EXACT * expected.perimeter())
    if len(found.loops) != len(expected.loops):
        fail(f"{name}: {len(found.loops)} loops, but {len(expected.loops)}")
    size = max(abs(v) for v in expected.bounds())
    for f, e in zip(sized(found), sized(expected)):
        near(f"{name}: size", f, e, EXACT * size)


def sized(shape):
    x0, y0, x1, y1 = shape.bounds()
    return x1 - x0, y1 - y0


def solid(name, path, shape, thickness, tolerance):
    body = trimesh.load(path, force="mesh")
    if not (body.is_watertight and body.is_winding_consistent and body.is_volume):
        fail(f"{name}: not a watertight body with its normals outwards")
    # A chord within the tolerance of its arc of length s takes off at most 2/3 of tolerance times s; single
    # precision moves corners of 100 mm by 4e-6 mm.
    exact = shape.area() * thickness
    off = (2 / 3 * tolerance + 1e-5) * thickness * shape.perimeter()
    near(f"{name}: volume (mm3)", body.volume, exact, off)
    x0, y0, x1, y1 = shape.bounds()
    for found, expected in zip(body.bounds.flatten(), (x0, y0, 0.0, x1, y1, thickness)):
        near(f"{name}: bounds", found, expected, tolerance + 1e-5)
    # Euler: V - E + F = 2 - 2 g, a through hole a handle.
    holes = len(shape.loops) - 1
    if body.euler_number != 2 - 2 * holes:
        fail(f"{name}: Euler number {body.euler_number}, but {holes} holes")
    if path.suffix == ".3mf" and body.units not in ("millimeter", "millimeters", "mm", None):
        fail(f"{name}: in {body.units}")
    return body


def header(path):
    data = path.read_bytes()
    (count,) = struct.unpack_from("<I", data, 80)
    if data[:5] == b"solid" or len(data) != 84 + 50 * count:
        fail(f"{path}: {len(data)} bytes for {count} triangles")


def main(place, demos):
    for folder in sorted(place.iterdir()):
        part = folder.name
        file = tomllib.loads((demos / part / f"{part}.toml").read_text())
        thickness = float(file["outline"]["thickness"].removesuffix("mm"))
        out = {ending: folder / f"{part}.{ending}" for ending in ("svg", "dxf", "stl", "3mf")}
        svg, names = from_svg(out["svg"])
        dxf, layers = from_dxf(out["dxf"], "part")
        same(f"{part}: SVG and DXF", svg, dxf)
        if layers != {"part", *names}:
            fail(f"{part}: layers {layers}, but regions {names}")
        drawing = file["outline"].get("drawing")
        # What the part file rounds is not as it was drawn.
        if drawing and "fillet" not in file["outline"]:
            drawn = drawn_part(demos / part / drawing)
            same(f"{part}: as drawn", svg, drawn)
        header(out["stl"])
        for ending in ("stl", "3mf"):
            body = solid(f"{part}.{ending}", out[ending], dxf, thickness, 0.01)
        print(f"{part}: {len(svg.loops) - 1} openings, {svg.area():.3f} mm2, {body.volume:.1f} mm3, {len(body.faces)} triangles")


def drawn_part(path):
    if path.suffix == ".dxf":
        return from_dxf(path, "part")[0]
    shape, _ = from_svg(path)
    return shape


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
