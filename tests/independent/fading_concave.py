"""Strains of a thin plate that is pressed onto a surface bent both ways, by finite elements of its own.

The surface is a cylinder along the board (its curvature is that of the rocker) with a hollow across whose edges rise by a
height that runs along the board: constant, or fading to nothing. The plate follows it and is free to slide in its own
surface, so what is left is the smallest membrane energy. Strains along s and across y with the displacements u, v and the
rise w over the cylinder (von Karman):

    e_s = u_s - k w + w_s^2 / 2,   e_y = v_y + w_y^2 / 2,   g = u_y + v_s + w_s w_y

Nine-node elements, three by three points, on a quarter of the plate. The strip theory beside it is written here anew: over
the width the strain along is that of the Gaussian curvature alone, with neither force nor moment.
"""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from results import deliver

HALF_LENGTH, HALF_WIDTH = 480.0, 120.0
RISE, FLAT_TO, FADED_AT = 4.0, 150.0, 330.0
ROCKER = 1 / 2500.0
# Moduli along and across, shear modulus (MPa), Poisson's ratio: a veneer, a plywood of crossed veneers, a metal.
PLATES = {
    "veneer": (12_000.0, 800.0, 700.0, 0.35),
    "crossed": (7_000.0, 5_500.0, 700.0, 0.07),
    "isotropic": (70_000.0, 70_000.0, 26_315.789, 0.33),
}


def fade(s):
    """Share of the rise, its slope and second derivative: a cubic from one to nothing, level at both ends."""
    t = np.clip((np.abs(s) - FLAT_TO) / (FADED_AT - FLAT_TO), 0.0, 1.0)
    h = FADED_AT - FLAT_TO
    inside = (t > 0) & (t < 1)
    return (1 - t * t * (3 - 2 * t), np.where(inside, -6 * t * (1 - t) / h, 0.0) * np.sign(s),
            np.where(inside, -6 * (1 - 2 * t) / h**2, 0.0))


def even(s):
    return np.ones_like(s), np.zeros_like(s), np.zeros_like(s)


def rise(s, y, share):
    """Rise over the cylinder, its slopes and second derivatives."""
    f, f1, f2 = share(s)
    c = RISE / HALF_WIDTH**2
    return {"w": c * f * y**2, "s": c * f1 * y**2, "y": 2 * c * f * y, "ss": c * f2 * y**2, "yy": 2 * c * f,
            "sy": 2 * c * f1 * y}


def shapes(xi, eta):
    """Values and derivatives of the nine shape functions on the square from -1 to 1."""
    line = lambda a: (np.array([a * (a - 1) / 2, 1 - a * a, a * (a + 1) / 2]), np.array([a - 0.5, -2 * a, a + 0.5]))
    (n, dn), (m, dm) = line(xi), line(eta)
    return np.outer(m, n).ravel(), np.outer(m, dn).ravel(), np.outer(dm, n).ravel()


def membrane(plate, share, along, across):
    """Strains (s, y, e_s, e_y, g) at the points of all elements of a quarter of the plate."""
    e1, e2, shear, nu = plate
    c = 1 - nu * nu * e2 / e1
    stiffness = np.array([[e1 / c, nu * e2 / c, 0], [nu * e2 / c, e2 / c, 0], [0, 0, shear]])
    columns, rows = 2 * along + 1, 2 * across + 1
    s_of, y_of = np.linspace(0, HALF_LENGTH, columns), np.linspace(0, HALF_WIDTH, rows)
    hs, hy = HALF_LENGTH / along, HALF_WIDTH / across
    gauss, weight = np.polynomial.legendre.leggauss(3)
    count = columns * rows
    entries, force, looks = ([], [], []), np.zeros(2 * count), []
    for j in range(across):
        for i in range(along):
            nodes = np.array([(2 * j + b) * columns + 2 * i + a for b in range(3) for a in range(3)])
            dofs = np.concatenate([2 * nodes, 2 * nodes + 1])
            own = np.zeros((18, 18))
            for a, wa in zip(gauss, weight):
                for b, wb in zip(gauss, weight):
                    _, ds, dy = shapes(a, b)
                    ds, dy = ds * 2 / hs, dy * 2 / hy
                    s, y = s_of[2 * i + 1] + a * hs / 2, y_of[2 * j + 1] + b * hy / 2
                    strain = np.zeros((3, 18))
                    strain[0, :9], strain[1, 9:], strain[2, :9], strain[2, 9:] = ds, dy, dy, ds
                    w = rise(np.array(s), np.array(y), share)
                    forced = np.array([-ROCKER * w["w"] + w["s"]**2 / 2, w["y"]**2 / 2, w["s"] * w["y"]])
                    area = wa * wb * hs * hy / 4
                    own += area * strain.T @ stiffness @ strain
                    force[dofs] -= area * strain.T @ stiffness @ forced
                    looks.append((s, y, dofs, strain, forced))
            if j == across - 1:
                # The free edge, where the strain along is largest.
                for a in gauss:
                    _, ds, dy = shapes(a, 1.0)
                    ds, dy = ds * 2 / hs, dy * 2 / hy
                    s = s_of[2 * i + 1] + a * hs / 2
                    strain = np.zeros((3, 18))
                    strain[0, :9], strain[1, 9:], strain[2, :9], strain[2, 9:] = ds, dy, dy, ds
                    w = rise(np.array(s), np.array(HALF_WIDTH), share)
                    forced = np.array([-ROCKER * w["w"] + w["s"]**2 / 2, w["y"]**2 / 2, w["s"] * w["y"]])
                    looks.append((s, HALF_WIDTH, dofs, strain, forced))
            entries[0].extend(np.repeat(dofs, 18)), entries[1].extend(np.tile(dofs, 18)), entries[2].extend(own.ravel())
    matrix = coo_matrix((entries[2], (entries[0], entries[1])), shape=(2 * count, 2 * count)).tocsr()
    # Symmetry: no u in the middle of the length, no v in the middle of the width.
    held = np.zeros(2 * count, bool)
    held[2 * np.arange(0, count, columns)] = True
    held[2 * np.arange(columns) + 1] = True
    free = np.flatnonzero(~held)
    moved = np.zeros(2 * count)
    moved[free] = spsolve(matrix[free][:, free].tocsc(), force[free])
    return np.array([(s, y, *(strain @ moved[dofs] + forced)) for s, y, dofs, strain, forced in looks])


def strip(s, share, points=2001):
    """Strain along over the half width at a station by the strip theory: second integral of the Gaussian curvature."""
    y = np.linspace(0, HALF_WIDTH, points)
    w = rise(np.full_like(y, s), y, share)
    gauss = (ROCKER + w["ss"]) * w["yy"] - w["sy"]**2
    h = y[1] - y[0]
    summed = lambda f: np.concatenate([[0.0], np.cumsum(h * (f[1:] + f[:-1]) / 2)])
    twice = summed(summed(gauss))
    return y, -(twice - summed(twice)[-1] / HALF_WIDTH)


def largest(plate, share):
    rows = membrane(plate, share, along=96, across=24)
    coarse = membrane(plate, share, along=48, across=12)
    # The very end is left out: within a width of it the strip theory does not say that the end is free.
    inside = rows[np.abs(rows[:, 0]) < HALF_LENGTH - 2 * HALF_WIDTH]
    found = {name: float(np.abs(inside[:, i]).max()) for i, name in [(2, "along"), (3, "across"), (4, "shear")]}
    near = coarse[np.abs(coarse[:, 0]) < HALF_LENGTH - 2 * HALF_WIDTH]
    found["known_to"] = abs(found["along"] - float(np.abs(near[:, 2]).max()))
    at = inside[np.abs(inside[:, 2]).argmax()]
    found["at_s_mm"], found["at_y_mm"] = float(at[0]), float(at[1])
    return found


def main():
    stations = np.linspace(0, HALF_LENGTH, 961)
    result = {"rise_mm": RISE, "flat_to_mm": FLAT_TO, "faded_at_mm": FADED_AT, "half_width_mm": HALF_WIDTH,
              "half_length_mm": HALF_LENGTH, "rocker_per_mm": ROCKER}
    for name, share in [("even", even), ("fading", fade)]:
        most = max(float(np.abs(strip(s, share)[1]).max()) for s in stations)
        result[name] = {"strip": most, "plates": {plate: largest(of, share) for plate, of in PLATES.items()}}
    deliver(__file__, result)


if __name__ == "__main__":
    main()
