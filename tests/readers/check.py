"""Reads one output folder with other people's programs and compares with result.json and with closed forms.

Usage: check.py FOLDER. Prints what was measured; exits 1 on the first thing that is not as it should be.
"""

import json
import math
import re
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import ezdxf
import numpy as np
import trimesh
from ezdxf import bbox, path
from scipy.integrate import simpson
from shapely.geometry import Point, Polygon
from shapely.geometry import box as rectangle

import samples

folder = Path(sys.argv[1])
result = json.loads((folder / "result.json").read_text())


def require(condition, words):
    if not condition:
        print(f"FAILED {folder.name}: {words}")
        sys.exit(1)


def arcs_and_lines(polyline):
    """Segments as (start, bulge, end)."""
    points = [(x, y, b) for x, y, b in polyline.get_points("xyb")]
    n = len(points)
    return [(points[i][:2], points[i][2], points[(i + 1) % n][:2]) for i in range(n)]


def measured(polyline):
    """Area and length from the definition bulge = tan(angle/4), by formulas of our own here, not by our program's."""
    area = length = 0.0
    for (x0, y0), bulge, (x1, y1) in arcs_and_lines(polyline):
        area += 0.5 * (x0 * y1 - x1 * y0)
        chord = math.hypot(x1 - x0, y1 - y0)
        if bulge:
            angle = 4 * math.atan(bulge)
            radius = chord / (2 * math.sin(abs(angle) / 2))
            area += math.copysign(0.5 * radius**2 * (abs(angle) - math.sin(abs(angle))), angle)
            length += radius * abs(angle)
        else:
            length += chord
    return area, length


def densified(polyline, tolerance=1e-4):
    """Points along the outline, from ezdxf's own arcs; where its arcs join it may step back by a rounding error."""
    points = [(p.x, p.y) for p in path.make_path(polyline).flattening(tolerance)]
    kept = [p for i, p in enumerate(points) if i == 0 or math.dist(p, points[i - 1]) > 1e-9]
    # The last point is the first again, but for that error.
    return kept[:-1] if math.dist(kept[0], kept[-1]) < 1e-6 else kept


def outlines_of(name):
    """The outlines of a drawing, lowest first, after every check that holds for any of ours."""
    document = ezdxf.readfile(folder / f"{name}.dxf")
    auditor = document.audit()
    require(not auditor.errors, f"ezdxf finds errors in {name}: {[e.message for e in auditor.errors]}")
    require(not auditor.fixes, f"ezdxf fixes {name}: {[e.message for e in auditor.fixes]}")
    require(document.dxfversion == "AC1015", document.dxfversion)
    header = document.header
    require(header["$INSUNITS"] == 4 and header["$MEASUREMENT"] == 1, "millimetres are not declared")
    space = document.modelspace()
    found = [e for e in space.query("LWPOLYLINE") if e.dxf.layer == "outside-cut"]
    found.sort(key=lambda e: min(p[1] for p in e.get_points("xy")))
    shapes = []
    for polyline in found:
        require(polyline.closed, f"an outline in {name} is not closed")
        segments = arcs_and_lines(polyline)
        require(all(math.dist(a, b) > 1e-6 for a, _, b in segments), f"a segment without length in {name}")
        require(len({(a, b) for a, _, b in segments}) == len(segments), f"a doubled segment in {name}")
        area, length = measured(polyline)
        shape = Polygon(densified(polyline))
        require(shape.is_valid, f"an outline in {name} crosses itself")
        require(abs(shape.area / abs(area) - 1) < 1e-4, f"{name}: area {shape.area} by shapely, {area} by bulges")
        require(abs(shape.length / length - 1) < 1e-4, f"{name}: length {shape.length} by shapely, {length}")
        holes = [c for c in space.query("CIRCLE") if shape.contains(Point(c.dxf.center.x, c.dxf.center.y))]
        for hole in holes:
            distance = shape.exterior.distance(Point(hole.dxf.center.x, hole.dxf.center.y))
            least = 1.5 * 2 * hole.dxf.radius if hole.dxf.layer == "drill" else hole.dxf.radius
            require(distance >= least - 1e-3, f"{name}: a hole of {2 * hole.dxf.radius} mm lies {distance} mm from an edge")
        shapes.append((polyline, shape, sum(c.dxf.layer == "drill" for c in holes)))
    root = ET.parse(folder / f"{name}.svg").getroot()
    width, height = (float(re.fullmatch(r"([\d.]+)mm", root.get(k)).group(1)) for k in ("width", "height"))
    box = [float(v) for v in root.get("viewBox").split()]
    require(abs(box[2] - width) < 1e-6 and abs(box[3] - height) < 1e-6, "one user unit is not one millimetre")
    extents = bbox.extents(found)
    require(width >= extents.size.x and height >= extents.size.y, f"the page of {name}.svg is smaller than its parts")
    print(f"{folder.name}: {name}: {len(shapes)} outlines clean in ezdxf {ezdxf.__version__}, page {width} x {height} mm")
    return shapes


ribs = result["ribs"]
if ribs:
    shapes = outlines_of("ribs")
    pieces = [(rib, i) for rib in ribs for i in range(rib["pieces"])]
    require(len(shapes) == len(pieces), f"{len(shapes)} outlines for {len(pieces)} pieces of ribs")
    for (polyline, _, drilled), (rib, _) in zip(shapes, pieces):
        if rib["pieces"] == 1:
            box = bbox.extents([polyline])
            require(abs(box.size.x - rib["length_mm"]) < 0.001, f"{rib['name']}: {box.size.x} mm long")
            require(abs(box.size.y - rib["height_mm"]) < 0.001, f"{rib['name']}: {box.size.y} mm high")
            require(drilled == result["spacers"]["rod_count"], f"{rib['name']}: {drilled} holes")

    # The cut path against the exact parallel of the table's curve: the rib's top is the table's surface moved square to
    # it by skin and film, and raised. Each listed point, moved so by this script, must lie on the first rib's pieces.
    depth, raised = result["table"]["skin_and_film_mm"], result["table"]["raised_mm"]
    points = result["table"]["points"]
    worst, seen = 0.0, 0
    for polyline, shape, _ in shapes[: ribs[0]["pieces"]]:
        base, edge = bbox.extents([polyline]).extmin.y, shape.exterior
        x0, _, x1, _ = shape.bounds
        for p in points:
            angle = math.radians(p["slope_deg"])
            x, z = p["x_mm"] + depth * math.sin(angle), p["z_mm"] - depth * math.cos(angle)
            # The key of a joint reaches beyond the top edge of its piece by at most half of the rib's height.
            reach = 0.0 if ribs[0]["pieces"] == 1 else 0.5 * shape.bounds[3]
            if x0 - 1e-3 <= x <= x1 - reach + 1e-3:
                worst = max(worst, edge.distance(Point(x, z + raised + base)))
                seen += 1
    require(seen > 0.7 * len(points), f"only {seen} of {len(points)} points were compared")
    # 0.01 mm for the arcs, 0.0001 for their flattening here, 0.000002 for the figures' last digit.
    require(worst < 0.0102, f"the cut path leaves the computed curve by {worst} mm")
    print(f"{folder.name}: cut path within {worst:.5f} mm of the computed curve at {seen} points")

    # Where the wanted rocker is one arc and the stack even, so is the table: all corners of the top between the finished
    # ends lie on one circle, of the table's radius and skin and film.
    middle = min(points, key=lambda p: abs(p["s_mm"]))
    reach = 0.9 * result["table"]["finished_to_mm"]
    inside = [p for p in points if abs(p["s_mm"]) < reach]
    even = all(abs(p["curvature_per_m"] - middle["curvature_per_m"]) < 2e-6 for p in inside)
    if even and middle["curvature_per_m"] > 0 and ribs[0]["pieces"] == 1:
        polyline, shape, _ = shapes[0]
        base = bbox.extents([polyline]).extmin.y
        radius = 1000.0 / middle["curvature_per_m"] + depth
        centre = (0.0, base + raised + 1000.0 / middle["curvature_per_m"])
        on = [c for c in shape.exterior.coords if abs(c[0]) < reach and c[1] > base + 1]
        off = max(abs(math.dist(c, centre) - radius) for c in on)
        require(len(on) > 20 and off < 0.01, f"{len(on)} corners leave the circle by up to {off} mm")
        print(f"{folder.name}: {len(on)} points of the top within {off:.5f} mm of a circle of radius {radius:.1f} mm")

# Patterns: sound, and the check square has its size on the first page.
for patterns in sorted(folder.glob("patterns-*.pdf")):
    checked = samples.run("qpdf", "--check", str(patterns))
    require(checked.returncode == 0, f"qpdf: {checked.stderr}")
    count = int(re.search(r"Pages:\s+(\d+)", samples.run("pdfinfo", str(patterns)).stdout)[1])
    # Jobs in inches have a square of 4 inches.
    side = (101.6 if result["units"] == "in" else 100) / 25.4 * 300
    found = samples.sides(patterns, 1, (side, side))
    require(all(abs(f - side) <= 2 for f in found), f"{patterns.name}: a square of {found} pixels")
    print(f"{folder.name}: {patterns.name} of {count} pages sound in qpdf, check square right at 300 dpi")

# Sheets: as many parts as said, all inside the margin, the gap between any two.
for sheet in result.get("sheets", []):
    drawn = ezdxf.readfile(folder / f"{sheet['file']}.dxf")
    auditor = drawn.audit()
    require(not auditor.errors and not auditor.fixes, f"{sheet['file']}: ezdxf finds errors or fixes")
    outlines = [e for e in drawn.modelspace().query("LWPOLYLINE") if e.dxf.layer == "outside-cut"]
    placed = [Polygon(densified(e)) for e in outlines]
    require(len(placed) == len(sheet["parts"]), f"{sheet['file']}: {len(placed)} outlines")
    margin, gap = sheet["margin_mm"], sheet["gap_mm"]
    inside = rectangle(margin, margin, sheet["length_mm"] - margin, sheet["width_mm"] - margin).buffer(1e-3)
    nearest = math.inf
    for i, part in enumerate(placed):
        require(part.is_valid and inside.contains(part), f"{sheet['file']}: {sheet['parts'][i]} leaves the sheet")
        nearest = min([nearest, *(part.distance(other) for other in placed[:i])])
    require(nearest >= gap - 1e-3, f"{sheet['file']}: two parts are {nearest} mm apart, {gap} mm is asked for")
    share = sum(p.area for p in placed) / (sheet["length_mm"] * sheet["width_mm"])
    require(abs(share - sheet["utilisation"]) < 1e-4, f"{sheet['file']}: {share} used, {sheet['utilisation']} said")
    print(f"{folder.name}: {len(placed)} parts on {sheet['file']}, nearest {nearest:.3f} mm apart")

members = outlines_of("members") if (folder / "members.dxf").exists() else []
board = result.get("outline")
if board:
    # The trimming template has the outline's area, both edges at every station, and each hole where it is listed.
    bored = sum(math.pi * (0.5 * h["diameter_mm"]) ** 2 for h in board["holes"])
    polyline, shape, drilled = min(members, key=lambda m: abs(m[1].area - bored - board["area_mm2"]))
    require(abs(shape.area - bored - board["area_mm2"]) < 1.0, f"template of {shape.area} mm2 with holes of {bored} mm2")
    require(drilled == len(board["holes"]), f"{drilled} holes in the template")
    left, low, right, high = shape.bounds
    stations = board["stations"]
    tail = stations[0]["s_mm"]
    for s in stations[1:-1]:
        x = left + s["s_mm"] - tail
        cut = shape.intersection(rectangle(x - 1e-6, low - 1, x + 1e-6, high + 1)).bounds
        width = s["left_mm"] - s["right_mm"]
        # The arcs of each edge follow it within 0.01 mm.
        require(abs(cut[3] - cut[1] - width) < 0.02, f"{cut[3] - cut[1]} mm wide at {s['s_mm']}, {width} listed")
        sides = cut[1] - s["right_mm"], cut[3] - s["left_mm"]
        require(abs(sides[1] - sides[0]) < 0.02, f"edges askew at {s['s_mm']}")
        middle = 0.5 * sum(sides)
    centres = [c.dxf.center for c in ezdxf.readfile(folder / "members.dxf").modelspace().query("CIRCLE")]
    for h in board["holes"]:
        at = Point(left + h["s_mm"] - tail, middle + h["side_mm"])
        require(min(at.distance(Point(c.x, c.y)) for c in centres) < 0.01, f"no hole at {h['s_mm']}, {h['side_mm']}")
    outlines_of("plan")
    print(f"{folder.name}: template of {shape.area:.0f} mm2 with {drilled} holes, edges right at {len(stations) - 2} stations")
if (folder / "table.stl").exists():
    # The solid is closed, has the volume of the body under the surface, and its top lies on every listed point, moved
    # square to the curve by the rise of the arc across.
    solid = trimesh.load_mesh(folder / "table.stl")
    require(solid.is_watertight and solid.is_winding_consistent, "table.stl is not closed")
    table, radius = result["table"], result["table"]["across_radius_mm"]
    half = 0.5 * solid.extents[1]

    def lines(y):
        """Points of the surface at a distance from its middle line, by the closed form of an arc across."""
        rise = 0.0 if radius is None else radius - math.copysign(math.sqrt(radius**2 - y**2), radius)
        slopes = [math.radians(p["slope_deg"]) for p in table["points"]]
        x = [p["x_mm"] - rise * math.sin(a) for p, a in zip(table["points"], slopes)]
        z = [p["z_mm"] + table["raised_mm"] + rise * math.cos(a) for p, a in zip(table["points"], slopes)]
        return np.array(x), np.array(z)

    across = np.linspace(-half, half, 41)
    areas = [np.trapezoid(z, x) for x, z in map(lines, across)]
    volume = simpson(areas, x=across)
    require(abs(solid.volume / volume - 1) < 1e-3, f"table.stl holds {solid.volume} mm3, the body under the curve {volume}")
    points = np.concatenate([np.column_stack([x, np.full_like(x, y), z]) for y in across[::5] for x, z in [lines(y)]])
    _, off, _ = trimesh.proximity.closest_point(solid, points)
    require(off.max() < 0.02, f"table.stl leaves the surface by {off.max()} mm")
    print(
        f"{folder.name}: table.stl of {len(solid.faces)} triangles closed in trimesh {trimesh.__version__}, volume off by "
        f"{100 * abs(solid.volume / volume - 1):.4f} %, surface by {off.max():.5f} mm at {len(points)} points"
    )
require(ribs or result["bearers"], "neither ribs nor bearers")
require(result["released"]["largest_error_mm"] <= 0.01, f"released error {result['released']['largest_error_mm']} mm")
