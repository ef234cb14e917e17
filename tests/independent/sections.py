"""Composite sections of random stacks against sectionproperties, an independent finite-element library.

Usage: sections.py OVERBEND_PROGRAM

Each stack is written as a job, built, and its stiffnesses, neutral axis and springback share are read from result.json.
The library meshes the same layers as rectangles of their own moduli: all of them joined for the bonded stack, each by
itself for the wet one. Agreement within a millionth (half a unit of the last printed digit for the share).
"""

import json
import pathlib
import random
import subprocess
import sys
import tempfile

from sectionproperties.analysis import Section
from sectionproperties.pre import Material
from sectionproperties.pre.library import rectangular_section

WIDTH_MM = 20.0
STACKS = 8
ALLOWED = 1e-6

JOB = """
title = "Stack {number}"
[board]
length = 1200
width = 300
overhang = 200
[rocker.arc]
radius = "40 m"
[pressing.vacuum]
pressure = "80 kPa"
[forecast]
draws = 0
[table]
skin = 4
side_margin = 60
end_margin = 40
station_pitch = 100
[table.ribs]
count = 4
thickness = 18
lowest_height = 60
"""

LAYER = """
[[layers]]
name = "layer {number}"
modulus = "{modulus} MPa"
thickness = {thickness}
"""


def material(modulus):
    return Material(
        name=f"{modulus}", elastic_modulus=modulus, poissons_ratio=0.3, yield_strength=1.0, density=1.0, color="grey"
    )


def section(layers):
    """Bending stiffness per mm of width about the section's own neutral axis, and that axis over its underside."""
    geometry, bottom = None, 0.0
    for thickness, modulus in layers:
        part = rectangular_section(d=thickness, b=WIDTH_MM, material=material(modulus)).shift_section(0.0, bottom)
        geometry = part if geometry is None else geometry + part
        bottom += thickness
    geometry.create_mesh(mesh_sizes=[10.0])
    analysed = Section(geometry)
    analysed.calculate_geometric_properties()
    stiffness = analysed.get_eic(e_ref=1.0)[0]
    return stiffness / WIDTH_MM, analysed.get_c()[1]


def ours(program, number, layers):
    text = JOB.format(number=number)
    for i, (thickness, modulus) in enumerate(layers):
        text += LAYER.format(number=i, thickness=thickness, modulus=modulus)
    with tempfile.TemporaryDirectory() as folder:
        job = pathlib.Path(folder) / "job.toml"
        job.write_text(text)
        out = pathlib.Path(folder) / "out"
        run = [program, "build", str(job), "-o", str(out), "--accept", "layer-strain"]
        done = subprocess.run(run, capture_output=True, text=True)
        if done.returncode != 0:
            sys.exit(f"stack {number}: {done.stdout}{done.stderr}")
        return json.loads((out / "result.json").read_text())["stack"]


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    draw = random.Random(20)
    worst, rows = 0.0, 0
    print(f"{'stack':>5} {'quantity':<22} {'overbend':>20} {'sectionproperties':>20} {'error':>10}")
    for number in range(STACKS):
        count = draw.randint(2, 7)
        layers = [(round(draw.uniform(0.4, 6.0), 3), round(draw.uniform(800.0, 140_000.0), 1)) for _ in range(count)]
        found = ours(sys.argv[1], number, layers)
        bonded, neutral = section(layers)
        wet = sum(section([layer])[0] for layer in layers)
        for name, value, expected, scale in [
            ("bonded_stiffness_n_mm", found["bonded_stiffness_n_mm"], bonded, bonded),
            ("wet_stiffness_n_mm", found["wet_stiffness_n_mm"], wet, wet),
            ("neutral_mm", found["neutral_mm"], neutral, neutral),
            ("springback_share", found["springback_share"], wet / bonded, 1.0),
        ]:
            error = abs(value - expected) / scale
            print(f"{number:>5} {name:<22} {value:>20.9g} {expected:>20.9g} {error:>10.1e}")
            # A figure that is no number must not pass.
            if not error <= ALLOWED:
                worst = float("inf")
            worst, rows = max(worst, error), rows + 1
    if rows != 4 * STACKS:
        sys.exit(f"{rows} rows were compared instead of {4 * STACKS}")
    if worst > ALLOWED:
        sys.exit(f"an error is larger than {ALLOWED}")
    print(f"{rows} figures agree within {ALLOWED}")


if __name__ == "__main__":
    main()
