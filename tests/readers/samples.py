#!/usr/bin/env python3
"""Asks other people's programs what they make of the files that `cargo test --test exports` leaves behind.

    python3 tests/readers/samples.py FOLDER [--all]

Every line is one question: what was measured, what it must be, how far it may be off. A program that is not installed is
named and passed over, with --all that is a failure. Debian: chromium gdal-bin librecad poppler-utils qpdf; pip: ezdxf
numpy scipy shapely resvg-cli.

The curve is integrated here once more, with scipy and from the curvature alone: nothing of the program's own geometry is
used as a measure of its files.
"""

import json
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.spatial import cKDTree

# Curvature of the sample's top edge and the height of its middle: the same figures stand in tests/library/exports.rs.
TOP = [
    (-720.0, -560.0, 1 / 700, 1 / 700),
    (-560.0, -380.0, 1 / 700, 1 / 9000),
    (-380.0, 300.0, 1 / 9000, 1 / 9000),
    (300.0, 520.0, 1 / 9000, 1 / 550),
    (520.0, 720.0, 1 / 550, 1 / 550),
]
LOWEST = 60.0
STEP = 220.0
RIBS = 3

rows = []
missing = []


def row(reader, what, found, wanted, allowed=0.0):
    """One comparison; numbers within `allowed`, everything else equal."""
    if isinstance(wanted, (int, float)) and not isinstance(wanted, bool):
        good = isinstance(found, (int, float)) and abs(found - wanted) <= allowed
    else:
        good = found == wanted
    rows.append((reader, what, found, wanted, allowed, good))


def most(reader, what, found, limit):
    """One comparison with an upper limit."""
    rows.append((reader, what, found, f"<= {limit}", 0.0, math.isfinite(found) and found <= limit))


def run(*command, **more):
    return subprocess.run(command, capture_output=True, text=True, timeout=300, **more)


def has(program):
    if shutil.which(program):
        return True
    missing.append(program)
    return False


def curvature(s):
    for a, b, ka, kb in TOP:
        if s <= b:
            return ka + (kb - ka) * (s - a) / (b - a)
    return TOP[-1][3]


def integrated():
    """Points of the top edge, every 0.25 mm of arc length or closer."""

    def walk(sign):
        places, points, state = [0.0], [(0.0, 0.0)], np.zeros(3)
        ends = sorted({abs(e) for a, b, _, _ in TOP for e in (a, b) if e * sign > 0})
        at = 0.0
        for end in ends:
            middle = 0.5 * (at + end)
            a, b, ka, kb = next(p for p in TOP if p[0] < sign * middle < p[1])

            def slope(u, y, a=a, b=b, ka=ka, kb=kb):
                k = ka + (kb - ka) * (sign * u - a) / (b - a)
                return [sign * math.cos(y[2]), sign * math.sin(y[2]), sign * k]

            u = np.linspace(at, end, max(2, int((end - at) / 0.25) + 1))
            done = solve_ivp(slope, (at, end), state, t_eval=u, rtol=1e-12, atol=1e-12)
            state, at = done.y[:, -1], end
            places += list(sign * done.t[1:])
            points += list(zip(done.y[0][1:], done.y[1][1:]))
        order = np.argsort(places)
        return np.array(points)[order]

    tail, tip = walk(-1), walk(1)
    curve = np.vstack([tail[:-1], tip])
    curve[:, 1] += LOWEST
    return curve


CURVE = integrated()
WIDTH = CURVE[-1, 0] - CURVE[0, 0]
HEIGHT = max(CURVE[0, 1], CURVE[-1, 1])
# Area between base and top edge by the trapezium rule; its error at this step is 1e-7 of the whole.
AREA = float(np.sum(0.5 * (CURVE[1:, 1] + CURVE[:-1, 1]) * np.diff(CURVE[:, 0])))
LENGTH = float(np.sum(np.hypot(*np.diff(CURVE, axis=0).T)))


def off_curve(points, curve=CURVE):
    """Largest distance of points from the curve as a chain of chords (0.25 mm long: off by 1e-5 mm at most)."""
    tree = cKDTree(curve)
    _, near = tree.query(points)
    worst = 0.0
    for p, i in zip(np.asarray(points), near):
        best = math.inf
        for j in (i - 1, i):
            if 0 <= j < len(curve) - 1:
                a, b = curve[j], curve[j + 1]
                t = np.clip(np.dot(p - a, b - a) / np.dot(b - a, b - a), 0, 1)
                best = min(best, float(np.hypot(*(p - a - t * (b - a)))))
        worst = max(worst, best)
    return worst


def arc_points(a, b, bulge, count=40):
    """Points of a bulged segment, from the definition: sagitta = bulge * chord / 2, to the right of the chord."""
    a, b = np.array(a), np.array(b)
    t = np.linspace(0, 1, count)
    if abs(bulge) < 1e-15:
        return a + np.outer(t, b - a)
    chord = np.hypot(*(b - a))
    radius = chord * (1 + bulge**2) / (4 * bulge)
    left = np.array([-(b - a)[1], (b - a)[0]]) / chord
    centre = (a + b) / 2 + left * (radius - bulge * chord / 2)
    begin = math.atan2(*(a - centre)[::-1])
    angle = begin + 4 * math.atan(bulge) * t
    return centre + abs(radius) * np.column_stack([np.cos(angle), np.sin(angle)])


def outline(entity):
    """Closed flag and (x, y, bulge) of a polyline of either version."""
    if entity.dxftype() == "LWPOLYLINE":
        return entity.closed, [tuple(p) for p in entity.get_points("xyb")]
    return entity.is_closed, [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices]


def dxf(folder):
    import ezdxf
    from ezdxf import recover
    from ezdxf.math import bulge_radius
    from shapely.geometry import Polygon

    for name, kind in [("ribs.dxf", "LWPOLYLINE"), ("ribs-r12.dxf", "POLYLINE")]:
        path = folder / name
        document, auditor = recover.readfile(path)
        row("ezdxf", f"{name} errors", len(auditor.errors), 0)
        row("ezdxf", f"{name} fixes", len(auditor.fixes), 0)
        document = ezdxf.readfile(path)
        row("ezdxf", f"{name} $INSUNITS", document.header.get("$INSUNITS"), 4)
        row("ezdxf", f"{name} $MEASUREMENT", document.header.get("$MEASUREMENT"), 1)
        space = document.modelspace()
        count = lambda query: len(space.query(query))
        for layer, entity, wanted in [
            ("outside-cut", kind, RIBS),
            ("inside-cut", kind, RIBS),
            ("drill", "CIRCLE", 3 * RIBS),
            ("mark", kind, 4 * RIBS),
            ("mark", "TEXT", RIBS),
        ]:
            row("ezdxf", f"{name} {entity} on {layer}", count(f'{entity}[layer=="{layer}"]'), wanted)
        row("ezdxf", f"{name} entities in all", len(space), 10 * RIBS)
        order = (["inside-cut"] + 3 * ["drill"] + 5 * ["mark"] + ["outside-cut"]) * RIBS
        row("ezdxf", f"{name} order", [e.dxf.layer for e in space], order)
        seen = set()
        short, doubled, worst, turn, radius, smallest = 0, 0, 0.0, 0.0, 0.0, math.inf
        for i, e in enumerate(space.query(f'{kind}[layer=="outside-cut"]')):
            closed, points = outline(e)
            row("ezdxf", f"{name} rib {i + 1} closed by its flag", bool(closed), True)
            row("ezdxf", f"{name} rib {i + 1} first corner is not repeated", points[0][:2] != points[-1][:2], True)
            flat, last = [], None
            for (x, y, bulge), (x2, y2, _) in zip(points, points[1:] + points[:1]):
                length = math.hypot(x2 - x, y2 - y)
                smallest = min(smallest, length)
                short += length < 1e-6
                key = tuple(sorted([(round(x, 6), round(y, 6)), (round(x2, 6), round(y2, 6))]))
                doubled += key in seen
                seen.add(key)
                piece = arc_points((x, y), (x2, y2), bulge, 400)
                flat.append(piece[:-1])
                if bulge:
                    radius = max(radius, bulge_radius((x, y), (x2, y2), bulge))
                top = y - STEP * i > 1.0 and y2 - STEP * i > 1.0
                if top:
                    worst = max(worst, off_curve(piece - [0, STEP * i]))
                    direction = math.atan2(y2 - y, x2 - x)
                    if last is not None:
                        step = direction - 2 * math.atan(bulge) - last
                        turn = max(turn, abs((step + math.pi) % (2 * math.pi) - math.pi))
                    last = direction + 2 * math.atan(bulge)
            shape = Polygon(np.vstack(flat))
            row("shapely", f"{name} rib {i + 1} is a simple outline", shape.is_valid, True)
            row("shapely", f"{name} rib {i + 1} area / mm2", shape.area, AREA, 1e-4 * AREA)
        row("ezdxf", f"{name} segments without length", short, 0)
        row("ezdxf", f"{name} segments drawn twice", doubled, 0)
        most("scipy", f"{name} outline off the curve / mm", worst, 0.01)
        most("scipy", f"{name} direction breaks / degrees", math.degrees(turn), 0.1)
        most("ezdxf", f"{name} largest radius / mm", radius, 100_000.0)
        row("ezdxf", f"{name} no piece under 0.5 mm", smallest >= 0.5, True)
    document, auditor = recover.readfile(folder / "ribs-strokes.dxf")
    row("ezdxf", "ribs-strokes.dxf errors and fixes", len(auditor.errors) + len(auditor.fixes), 0)
    row("ezdxf", "ribs-strokes.dxf texts left", len(document.modelspace().query("TEXT")), 0)
    document, auditor = recover.readfile(folder / "ribs-kerf.dxf")
    row("ezdxf", "ribs-kerf.dxf errors and fixes", len(auditor.errors) + len(auditor.fixes), 0)
    for layer, side in [("outside-cut", 1.5), ("inside-cut", -1.5)]:
        nominal = flattened(ezdxf.readfile(folder / "ribs.dxf"), layer)
        moved = flattened(document, layer)
        for i, (a, b) in enumerate(zip(nominal, moved)):
            wanted = a.buffer(side, quad_segs=256)
            row("shapely", f"ribs-kerf.dxf {layer} {i + 1} area / mm2", b.area, wanted.area, 1e-4 * wanted.area)
            most("shapely", f"ribs-kerf.dxf {layer} {i + 1} off shapely's offset / mm", b.boundary.hausdorff_distance(wanted.boundary), 0.01)


def flattened(document, layer):
    from shapely.geometry import Polygon

    shapes = []
    for e in document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'):
        _, points = outline(e)
        pairs = zip(points, points[1:] + points[:1])
        shapes.append(Polygon(np.vstack([arc_points(a[:2], b[:2], a[2], 300)[:-1] for a, b in pairs])))
    return shapes


def gdal(folder):
    if not has("ogrinfo"):
        return
    for name in ["ribs.dxf", "ribs-r12.dxf"]:
        done = run("ogrinfo", "-al", "-so", str(folder / name))
        row("GDAL", f"{name} exit code", done.returncode, 0)
        row("GDAL", f"{name} complaints", done.stderr.strip(), "")
        extent = [float(x) for x in re.findall(r"-?\d+\.\d+", re.search(r"Extent: (.*)", done.stdout)[1])]
        wanted = [CURVE[0, 0], 0.0, CURVE[-1, 0], STEP * (RIBS - 1) + HEIGHT]
        for side, found, expected in zip(["left", "bottom", "right", "top"], extent, wanted):
            row("GDAL", f"{name} {side} / mm", found, expected, 0.01)
        row("GDAL", f"{name} features", int(re.search(r"Feature Count: (\d+)", done.stdout)[1]), 10 * RIBS)


def librecad(folder):
    if not (has("librecad") and has("pdfinfo")):
        return
    for name in ["ribs.dxf", "ribs-r12.dxf"]:
        with tempfile.TemporaryDirectory() as spare:
            # It prints beside its input, whatever it is told.
            shutil.copy(folder / name, spare)
            out = (Path(spare) / name).with_suffix(".pdf")
            environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": spare, "XDG_RUNTIME_DIR": spare}
            done = run("librecad", "dxf2pdf", name, env=environment, cwd=spare)
            row("LibreCAD", f"{name} prints", out.exists() and done.returncode == 0, True)
            if out.exists():
                width, height = page_size(out)
                # LibreCAD rounds pages to whole points.
                row("LibreCAD", f"{name} page width at 1:1 / mm", width, WIDTH, 0.36)
                row("LibreCAD", f"{name} page height at 1:1 / mm", height, STEP * (RIBS - 1) + HEIGHT, 0.36)


def page_size(path, page=1):
    info = run("pdfinfo", "-f", str(page), "-l", str(page), str(path)).stdout
    found = re.search(r"Page.*size:\s+([\d.]+) x ([\d.]+) pts", info)
    return tuple(float(x) * 25.4 / 72 for x in found.groups())


def svg(folder):
    width, height = WIDTH + 10, STEP * (RIBS - 1) + HEIGHT + 10
    if has("resvg"):
        for name in ["ribs.svg", "ribs-hairline.svg"]:
            with tempfile.TemporaryDirectory() as spare:
                out = Path(spare) / "out.png"
                done = run("resvg", "--dpi", "96", str(folder / name), str(out))
                row("resvg", f"{name} complaints", done.stderr.replace("Warning (in usvg", "").strip() if done.returncode else "", "")
                size = png_size(out)
                row("resvg", f"{name} width / px", size[0], width * 96 / 25.4, 1)
                row("resvg", f"{name} height / px", size[1], height * 96 / 25.4, 1)
        boxes = run("resvg", "--query-all", str(folder / "ribs.svg")).stdout
        found = {line.split(",")[0]: [float(x) for x in line.split(",")[1:]] for line in boxes.splitlines() if "," in line}
        row("resvg", "rib-1-outside-cut is there", "rib-1-outside-cut" in found, True)
    browser = next((b for b in ["chromium", "chromium-browser", "google-chrome"] if shutil.which(b)), None)
    if browser is None:
        missing.append("chromium")
        return
    script = """<script>
    const root = document.querySelector('svg'), r = root.getBoundingClientRect(), out = {};
    out.width = r.width; out.height = r.height;
    out.groups = [...root.querySelectorAll('g[id]')].map(g => g.id);
    out.length = document.querySelector('#rib-1-outside-cut path').getTotalLength();
    const b = document.querySelector('#rib-1-outside-cut path').getBBox();
    out.box = [b.x, b.y, b.width, b.height];
    const p = document.querySelector('#rib-1-outside-cut path'), n = 2000;
    out.points = Array.from({length: n + 1}, (_, i) => { const q = p.getPointAtLength(out.length * i / n); return [q.x, q.y]; });
    document.body.innerHTML = ''; const pre = document.createElement('pre'); pre.textContent = JSON.stringify(out);
    document.body.append(pre);</script>"""
    with tempfile.TemporaryDirectory() as spare:
        page = Path(spare) / "page.html"
        drawing = (folder / "ribs.svg").read_text().split("?>", 1)[1]
        page.write_text(f"<!doctype html><meta charset=utf-8><body style='margin:0'>{drawing}{script}")
        done = run(browser, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={spare}/profile", "--dump-dom",
                   f"file://{page}")
        found = re.search(r"<pre>(.*?)</pre>", done.stdout, re.S)
        row("Chromium", "ribs.svg is rendered", found is not None, True)
        if not found:
            return
        out = json.loads(found[1])
        row("Chromium", "ribs.svg width / px", out["width"], width * 96 / 25.4, 1)
        row("Chromium", "ribs.svg height / px", out["height"], height * 96 / 25.4, 1)
        ends = CURVE[0, 1] + CURVE[-1, 1] + WIDTH
        row("Chromium", "rib 1 outline length / mm", out["length"], LENGTH + ends, 1e-4 * LENGTH)
        row("Chromium", "rib 1 height / mm", out["box"][3], HEIGHT, 0.01)
        points = np.array(out["points"]) * [1, -1]
        edge = 0.05
        inner = (points[:, 1] > 1) & (points[:, 0] > CURVE[0, 0] + edge) & (points[:, 0] < CURVE[-1, 0] - edge)
        # Chromium flattens arcs before it measures along them.
        most("Chromium", "ribs.svg outline off the curve / mm", off_curve(points[inner]), 0.05)
        row("Chromium", "groups of part and operation", all(f"rib-{i}-outside-cut" in out["groups"] for i in (1, 2, 3)), True)


def png_size(path):
    head = path.read_bytes()[:24] if path.exists() else b"\0" * 24
    return int.from_bytes(head[16:20], "big"), int.from_bytes(head[20:24], "big")


def longest_runs(dark):
    """Longest run of dark pixels in every row."""
    best = np.zeros(dark.shape[0], int)
    for i, line in enumerate(dark):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(np.int8), [0]])))
        if len(edges):
            best[i] = (edges[1::2] - edges[::2]).max()
    return best


def sides(path, page, expected):
    """Distances of the check square's opposite sides in pixels: (along x, along y)."""
    image = run_bytes("pdftoppm", "-r", "300", "-gray", "-f", str(page), "-l", str(page), str(path))
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", image)
    width, height = int(head[1]), int(head[2])
    dark = np.frombuffer(image, np.uint8, width * height, head.end()).reshape(height, width) < 235
    found = []
    for grid, long, apart in [(dark.T, expected[1], expected[0]), (dark, expected[0], expected[1])]:
        lines = np.flatnonzero(longest_runs(grid) >= long - 3)
        groups = np.split(lines, np.flatnonzero(np.diff(lines) > 2) + 1) if len(lines) else []
        middles = [float(np.mean(g)) for g in groups]
        distances = [b - a for i, a in enumerate(middles) for b in middles[i + 1 :]]
        found.append(min(distances, key=lambda d: abs(d - apart)) if distances else math.nan)
    return found


def run_bytes(*command):
    return subprocess.run(command, capture_output=True, timeout=300).stdout


def pdf(folder):
    files = sorted(folder.glob("*.pdf"))
    if has("qpdf"):
        for path in files:
            done = run("qpdf", "--check", str(path))
            row("qpdf", f"{path.name} exit code", done.returncode, 0)
    if not (has("pdftoppm") and has("pdfinfo") and has("pdftocairo")):
        return
    square = 100 / 25.4 * 300
    for path in files:
        pages = int(re.search(r"Pages:\s+(\d+)", run("pdfinfo", str(path)).stdout)[1])
        fonts = run("pdffonts", str(path)).stdout
        row("poppler", f"{path.name} fonts", sorted(set(re.findall(r"^(\S+)\s+Type", fonts, re.M))), ["Helvetica"])
        if path.name.startswith("roll"):
            continue
        wanted = (square * 100 / 99, square * 100 / 101) if "corrected" in path.name else (square, square)
        if "letter" in path.name:
            # An inch ruler comes with a square of 4 inches.
            wanted = (1200, 1200)
        # The first of the pages carries the square whatever the parts are.
        off = tuple(abs(f - w) if math.isfinite(f) else math.inf for f, w in zip(sides(path, 1, wanted), wanted))
        most("poppler", f"{path.name} square on the first of {pages} pages, off along x / px at 300 dpi", off[0], 2)
        most("poppler", f"{path.name} square on the first of {pages} pages, off along y / px at 300 dpi", off[1], 2)
    for name, size in [("sheets-a4.pdf", (297, 210)), ("sheets-letter.pdf", (279.4, 215.9)), ("sheets-a1.pdf", (841, 594))]:
        found = page_size(folder / name)
        row("poppler", f"{name} page width / mm", found[0], size[0], 0.01)
        row("poppler", f"{name} page height / mm", found[1], size[1], 0.01)
    if shutil.which("qpdf"):
        objects = json.loads(run("qpdf", "--json", str(folder / "roll-long.pdf")).stdout)
        text = json.dumps(objects)
        unit = float(re.search(r'"/UserUnit": ([\d.]+)', text)[1])
        box = [float(x) for x in re.search(r'"/MediaBox": \[([^]]*)\]', text)[1].split(",")]
        row("qpdf", "roll-long.pdf longest side is within 14400 units", max(box) <= 14400, True)
        row("qpdf", "roll-long.pdf length with its user unit / mm", box[2] * unit * 25.4 / 72, 6000 + 20, 0.01)
    geometry(folder)
    for name, length in [("sheets-a4.pdf", 300.0), ("sheets-letter.pdf", 304.8), ("sheets-a1.pdf", 300.0)]:
        off = min(abs(l - length) for l in grey_lines(folder / name, 1))
        most("poppler", f"{name} ruler of {length} mm on the first page, off / mm", off, 0.05)


def drawn(path, page=1):
    """Every stroked path that poppler finds on a page: its element and its points in mm, y down."""
    with tempfile.TemporaryDirectory() as spare:
        out = Path(spare) / "page.svg"
        run("pdftocairo", "-svg", "-noshrink", "-f", str(page), "-l", str(page), str(path), str(out))
        text = out.read_text()
    for element in re.findall(r"<path[^>]*>", text):
        d = re.search(r' d="([^"]*)"', element)
        if not d or not re.search(r"fill(:|=\")none", element):
            continue
        matrix = re.search(r"matrix\(([^)]*)\)", element)
        m = [float(x) for x in re.split(r"[ ,]+", matrix[1].strip())] if matrix else [1, 0, 0, 1, 0, 0]
        tokens = re.findall(r"[MLCZ]|-?[\d.]+(?:e-?\d+)?", d[1])
        points, at, i, command = [], None, 0, ""
        while i < len(tokens):
            if tokens[i] in "MLCZ":
                command = tokens[i]
                i += 1
                continue
            count = 6 if command == "C" else 2
            n = [float(x) for x in tokens[i : i + count]]
            i += count
            if command == "C":
                p = [np.array(at), np.array(n[:2]), np.array(n[2:4]), np.array(n[4:])]
                t = np.linspace(0, 1, 30)[1:, None]
                points += list((1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3])
            else:
                points.append(np.array(n))
            at = points[-1]
        q = np.array(points)
        q = np.column_stack([m[0] * q[:, 0] + m[2] * q[:, 1] + m[4], m[1] * q[:, 0] + m[3] * q[:, 1] + m[5]])
        yield element, q * 25.4 / 72


def grey_lines(path, page):
    """Lengths in mm of the straight lines of half grey on a page."""
    lines = [q for element, q in drawn(path, page) if "rgb(50" in element and len(q) == 2]
    return [math.inf] + [float(np.hypot(*(q[1] - q[0]))) for q in lines]


def outlines(path, page=1):
    """Outlines of ribs on a page, tail at the left, y up from the base."""
    for element, q in drawn(path, page):
        if len(q) > 200 and q[:, 0].max() - q[:, 0].min() > 1000:
            yield np.column_stack([q[:, 0], q[:, 1].max() - q[:, 1]])


def geometry(folder):
    """Ribs read back from the roll and from the sheets, against the curve; and match lines against each other."""
    found = 0
    for q in outlines(folder / "roll.pdf"):
        found += 1
        row("poppler", f"roll.pdf rib {found} width / mm", float(q[:, 0].max() - q[:, 0].min()), WIDTH, 0.05)
        # Where the rib lies on the roll is not asked: its lower left corner is brought to the curve's.
        q[:, 0] += CURVE[0, 0] - q[:, 0].min()
        most("poppler", f"roll.pdf rib {found} outline off the curve / mm", off_curve(q[q[:, 1] > 1]), 0.05)
    row("poppler", "roll.pdf ribs found", found, 2)
    for name, sheets in [("sheets-a4.pdf", 6), ("sheets-letter.pdf", 6), ("sheets-a1.pdf", 2)]:
        worst, lines = 0.0, []
        # After the check page and the page map the sheets of the first pattern, from tail to tip.
        for page in range(3, 3 + sheets):
            (q,) = outlines(folder / name, page)
            tail = q[:, 0].min()
            q[:, 0] += CURVE[0, 0] - tail
            worst = max(worst, off_curve(q[q[:, 1] > 1]))
            upright = [l[0, 0] - tail for e, l in drawn(folder / name, page)
                       if "dasharray" in e and len(l) == 2 and abs(l[0, 0] - l[1, 0]) < 1e-6]
            lines.append(sorted(upright))
        most("poppler", f"{name} outline off the curve / mm", worst, 0.05)
        row("poppler", f"{name} match lines", [len(l) for l in lines], [1] + [2] * (sheets - 2) + [1])
        apart = max(abs(a[-1] - b[0]) for a, b in zip(lines, lines[1:]))
        most("poppler", f"{name} match lines of neighbours, off each other on the rib / mm", apart, 0.02)


def main():
    folder = Path(sys.argv[1])
    for ask in (dxf, gdal, librecad, svg, pdf):
        try:
            ask(folder)
        except ModuleNotFoundError as e:
            missing.append(f"{e.name} (Python)")
    width = max(len(f"{r[0]}: {r[1]}") for r in rows)
    for reader, what, found, wanted, allowed, good in rows:
        show = lambda v: f"{v:.5g}" if isinstance(v, float) and abs(v) < 1 else f"{v:.3f}" if isinstance(v, float) else str(v)
        short = lambda v: v if len(v) < 40 else v[:37] + "..."
        tail = f" (+- {allowed:.3g})" if allowed else ""
        print(f"{'ok  ' if good else 'BAD '} {reader + ': ' + what:<{width}}  {short(show(found))}  of {short(show(wanted))}{tail}")
    for program in sorted(set(missing)):
        print(f"not installed, not asked: {program}")
    bad = sum(not r[5] for r in rows)
    print(f"{len(rows)} questions, {bad} answered wrong")
    if bad or len(rows) < 20 or ("--all" in sys.argv and missing):
        sys.exit(1)


if __name__ == "__main__":
    main()
