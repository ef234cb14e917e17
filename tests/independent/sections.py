"""Stiffnesses and neutral axes of random stacks by sectionproperties, an independent finite-element library.

The library meshes the layers as rectangles of their own moduli: all of them joined for the bonded stack, each by itself for
the wet one. Per mm of width.
"""

import random

from sectionproperties.analysis import Section
from sectionproperties.pre import Material
from sectionproperties.pre.library import rectangular_section

from results import deliver

WIDTH_MM = 20.0
STACKS = 8


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


def main():
    draw = random.Random(20)
    stacks = []
    for _ in range(STACKS):
        count = draw.randint(2, 7)
        layers = [(round(draw.uniform(0.4, 6.0), 3), round(draw.uniform(800.0, 140_000.0), 1)) for _ in range(count)]
        bonded, neutral = section(layers)
        wet = sum(section([layer])[0] for layer in layers)
        stacks.append({"layers": layers, "bonded_n_mm": bonded, "wet_n_mm": wet, "neutral_mm": neutral})
    deliver(__file__, {"stacks": stacks})


if __name__ == "__main__":
    main()
