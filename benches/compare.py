#!/usr/bin/env python3
"""The files of the lake board by overbend and by a plain script, timed in one run: prints the ratios.

    python3 benches/compare.py target/release/overbend [RUNS]

The script makes what a builder's own script would make with numpy, ezdxf and matplotlib: the over-bent curve in closed
form (no contact, no draws, no checks), ribs as DXF and SVG, patterns tiled to A4, listings, figures, a page with plots.
It is timed twice: inside of one running interpreter, where imports do not count against it, and as a process, as a
builder would wait for it. overbend is timed as a process, start-up and disk included. Of each the median run counts.
"""

import csv
import io
import json
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time

import ezdxf
import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt  # noqa: E402
import numpy as np  # noqa: E402
from matplotlib.backends.backend_pdf import PdfPages  # noqa: E402

JOB = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "examples", "lake-board", "job.toml")
LENGTH, HEIGHT, OVERHANG, MARGIN = 1340.0, 45.0, 60.0, 40.0
LAYERS = [(0.8, 20000.0), (4.0, 7000.0), (4.0, 7000.0), (0.8, 20000.0)]
BELOW, LOWEST, RIBS, PITCH = 4.2, 60.0, 6, 104.0


def table_curve():
    """Springback from flat layers that slide when wet; heights of the over-bent table at places along it."""
    faces = np.concatenate([[0.0], np.cumsum([t for t, _ in LAYERS])])
    moduli = np.array([e for _, e in LAYERS])
    middle = np.sum(moduli * np.diff(faces**2)) / 2.0 / np.sum(moduli * np.diff(faces))
    bonded = np.sum(moduli * np.diff((faces - middle) ** 3)) / 3.0
    share = np.sum(moduli * np.diff(faces) ** 3) / 12.0 / bonded
    radius = ((0.5 * LENGTH) ** 2 + HEIGHT**2) / (2.0 * HEIGHT)
    k = 1.0 / radius / (1.0 - share)
    reach = 0.5 * LENGTH + OVERHANG + MARGIN
    s = np.linspace(-reach, reach, 1001)
    angle = k * s
    steps = np.diff(s)
    x = np.concatenate([[0.0], np.cumsum(steps * 0.5 * (np.cos(angle[1:]) + np.cos(angle[:-1])))])
    z = np.concatenate([[0.0], np.cumsum(steps * 0.5 * (np.sin(angle[1:]) + np.sin(angle[:-1])))])
    return s, x - x[500], z - z.min(), angle, share


def build(folder):
    s, x, z, angle, share = table_curve()
    top_x, top_z = x + BELOW * np.sin(angle), z - BELOW * np.cos(angle)
    top_z = top_z - top_z.min() + LOWEST
    outline = [(top_x[0], 0.0), (top_x[-1], 0.0), *zip(top_x[::-1], top_z[::-1])]
    holes = np.linspace(top_x[0] + 80.0, top_x[-1] - 80.0, 4)
    shift = top_z.max() + 16.0

    for name, columns in (("ribs", 1), ("sheet-01", 1)):
        document = ezdxf.new("R2000")
        for layer in ("cut outside", "drill", "mark"):
            document.layers.add(layer)
        space = document.modelspace()
        for rib in range(RIBS):
            dy = rib * shift
            space.add_lwpolyline([(a, b + dy) for a, b in outline], close=True, dxfattribs={"layer": "cut outside"})
            for at in holes:
                space.add_circle((at, 30.0 + dy), 5.25, dxfattribs={"layer": "drill"})
            for at in range(-600, 601, 100):
                space.add_line((at, dy), (at, dy + 6.0), dxfattribs={"layer": "mark"})
            space.add_text(f"Rib {rib + 1}", height=8.0, dxfattribs={"layer": "mark"}).set_placement((60.0, 20.0 + dy))
        document.saveas(os.path.join(folder, f"{name}.dxf"))
        parts = []
        for rib in range(RIBS):
            points = " ".join(f"{a:.3f},{-(b + rib * shift):.3f}" for a, b in outline)
            parts.append(f'<polygon points="{points}" fill="none" stroke="black"/>')
        with open(os.path.join(folder, f"{name}.svg"), "w", encoding="utf-8") as out:
            out.write('<svg xmlns="http://www.w3.org/2000/svg">' + "".join(parts) + "</svg>")

    with PdfPages(os.path.join(folder, "patterns-a4.pdf")) as pages:
        for tile in range(math.ceil((top_x[-1] - top_x[0]) / 265.0)):
            figure = plt.figure(figsize=(297 / 25.4, 210 / 25.4))
            axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
            axes.plot(*zip(*outline), linewidth=0.5, color="black")
            axes.set_xlim(top_x[0] + 265.0 * tile, top_x[0] + 265.0 * tile + 297.0)
            axes.set_ylim(-20.0, 190.0)
            axes.axis("off")
            pages.savefig(figure)
            plt.close(figure)

    for name, rows in (
        ("stations", [(a, np.interp(a, s, z), np.interp(a, s, top_z)) for a in range(-600, 601, 100)]),
        ("spacers", [(i, PITCH - 17.8) for i in range(4 * (RIBS - 1))]),
        ("cutlist", [(f"rib-{i + 1}", top_x[-1] - top_x[0], top_z.max()) for i in range(RIBS)]),
        ("cutting", [(i, PITCH - 17.8) for i in range(RIBS)]),
    ):
        with open(os.path.join(folder, f"{name}.csv"), "w", newline="", encoding="utf-8") as out:
            csv.writer(out).writerows(rows)
    with open(os.path.join(folder, "result.json"), "w", encoding="utf-8") as out:
        json.dump({"share": share, "table": list(zip(s.tolist(), x.tolist(), z.tolist()))[::10]}, out, indent=2)

    plots = []
    for values in (z, angle, top_z):
        figure, axes = plt.subplots(figsize=(7.0, 2.5))
        axes.plot(s, values)
        axes.set_xlabel("along the table, mm")
        text = io.StringIO()
        figure.savefig(text, format="svg")
        plt.close(figure)
        plots.append(text.getvalue())
    with open(os.path.join(folder, "book.html"), "w", encoding="utf-8") as out:
        out.write("<!doctype html><title>Lake board</title>" + "".join(plots))


def timed(work, runs):
    """Median seconds by the clock, and of processor time of this process and its children."""
    clock, processor = [], []
    for _ in range(runs):
        begun, used = time.perf_counter(), os.times()
        work()
        clock.append(time.perf_counter() - begun)
        now = os.times()
        processor.append(sum(now[:4]) - sum(used[:4]))
    # The kernel counts children in hundredths of a second, so the mean tells more than the median.
    return statistics.median(clock), statistics.fmean(processor)


# A child inherits its parent's peak until it has its own program: the measuring parent must be small.
PEAK = """
import resource, subprocess, sys
subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


def main():
    if sys.argv[1:2] == ["--script"]:
        build(sys.argv[2])
        return
    program = sys.argv[1] if len(sys.argv) > 1 else "target/release/overbend"
    runs = int(sys.argv[2]) if len(sys.argv) > 2 else 11
    with tempfile.TemporaryDirectory() as folder:
        with open(JOB, encoding="utf-8") as job:
            text = job.read()
        certain = os.path.join(folder, "certain.toml")
        with open(certain, "w", encoding="utf-8") as out:
            out.write(text + "\n[forecast]\ndraws = 0\n")
        plain = os.path.join(folder, "plain")
        os.mkdir(plain)
        build(plain)

        def overbend(job):
            return [program, "build", "-q", job, "-o", os.path.join(folder, "out")]

        def run(command):
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)

        rows = [
            ("script, imported already", timed(lambda: build(plain), runs), None),
            ("script as a process", timed(lambda: run([sys.executable, __file__, "--script", plain]), runs), None),
            ("overbend, 2000 draws", timed(lambda: run(overbend(JOB)), runs), 40),
            ("overbend without draws", timed(lambda: run(overbend(certain)), runs), 80),
            ("of which a process to start", timed(lambda: run([program, "--version"]), runs), None),
        ]
        peak = int(subprocess.run([sys.executable, "-c", PEAK, *overbend(JOB)], capture_output=True, check=True).stdout)
    print(f"{'medians of ' + str(runs) + ' runs':<30}  by the clock     processor")
    scripts = rows[0][1], rows[1][1]
    for name, (clock, processor), wanted in rows:
        line = f"{name:<30} {1e3 * clock:10.1f} ms {1e3 * processor:10.1f} ms"
        if wanted:
            less = [f"{s[0] / clock:.0f} and {s[1] / max(processor, 1e-3):.0f}" for s in scripts]
            line += f"   times less: {less[0]}; as processes {less[1]} (wanted: {wanted})"
        print(line)
    print(f"peak memory, 2000 draws: {peak / 1024.0:.1f} MB (wanted: under 64)")


if __name__ == "__main__":
    main()
