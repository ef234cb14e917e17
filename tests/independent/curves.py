"""Curves of linear curvature by scipy's Fresnel integrals, and their parallels by shapely.

A board's base in four pieces (a hollow kick that eases out, camber, another kick) is laid out by completing the square in
its angle, so that every piece is a stretch of the clothoid. Shapely offsets the finely cut line to either side.
"""

import numpy as np
from scipy.special import fresnel
from shapely import LineString, Polygon

from results import deliver

# Ends (mm) and curvatures there (1/mm); pieces join in place and direction, curvature may jump.
PIECES = [
    (0.0, 180.0, 1 / 350, 1 / 520),
    (180.0, 420.0, 1 / 520, 0.0002),
    (420.0, 900.0, -0.0003, -0.0001),
    (900.0, 1250.0, 0.0, 1 / 290),
]
DISTANCES = [-18.5, 12.0]
POINTS_PER_PIECE = 8000


def piece(start, angle, length, k0, k1, count):
    """Points and end direction of a stretch of clothoid."""
    c = (k1 - k0) / length
    sigma = np.linspace(0.0, length, count + 1) + k0 / c
    scale = np.sqrt(np.pi / abs(c))
    s, co = fresnel(sigma / scale)
    # The integrals for the other handedness are the mirror image.
    z = scale * (co + 1j * np.sign(c) * s)
    z = (z - z[0]) * np.exp(1j * (angle - k0 * k0 / (2.0 * c)))
    return start + z, angle + 0.5 * (k0 + k1) * length


place, angle = 0j, 0.0
joints, line = [], [np.array([0j])]
for a, b, k0, k1 in PIECES:
    points, angle = piece(place, angle, b - a, k0, k1, POINTS_PER_PIECE)
    place = points[-1]
    joints.append({"s_mm": b, "x_mm": place.real, "y_mm": place.imag, "angle_rad": angle})
    line.append(points[1:])
z = np.concatenate(line)
base = LineString(np.column_stack([z.real, z.imag]))
parallels = []
for d in DISTANCES:
    beside = base.offset_curve(d, quad_segs=32)
    ring = list(base.coords) + list(beside.coords)[::-1]
    low_x, low_y, high_x, high_y = beside.bounds
    parallels.append({"distance_mm": d, "length_mm": beside.length, "area_between_mm2": abs(Polygon(ring).area),
                      "lowest_mm": low_y, "highest_mm": high_y, "least_x_mm": low_x, "most_x_mm": high_x})
deliver(__file__, {"pieces": [list(p) for p in PIECES], "joints": joints, "parallels": parallels})
