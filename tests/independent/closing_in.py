"""How far a released ring of layers closes in when it shrinks through its thickness, by finite elements without beam theory.

A sector of a ring far from its ends: every section stays plane and turns about the axis, so that a radial displacement u(r)
and an opening psi of the sector say all. Each layer was flat and was bent about its own middle before the glue set, so a fibre
at radius r of a layer with middle r_i would be r_i/r times as long by itself; after the glue has set the layer shrinks by e in
the radial direction. Stretches are finite: h = (1 + psi) (r + u) / r_i around the ring, q = (1 + u') / (1 + e) through it, and
the energy per volume of the flat layer is E/2 (h - 1)² + E_r/2 (q - 1)². Three-node elements, Newton's method.
"""

import numpy as np

from results import deliver

RADIUS_MM = 1000.0
MESHES = [4, 8]
STRAIN = 1e-3
# Gauss's rule with three points, on -1 to 1.
POINTS, WEIGHTS = np.array([-np.sqrt(0.6), 0.0, np.sqrt(0.6)]), np.array([5.0, 8.0, 5.0]) / 9.0


def opening(layers, strains, per_layer):
    """1 + psi of the ring without any load."""
    total = sum(t for t, _, _ in layers)
    edges = RADIUS_MM + 0.5 * total - np.cumsum([0.0] + [t for t, _, _ in layers])
    nodes, elements = [edges[0]], []
    for i, ((t, along, through), strain) in enumerate(zip(layers, strains)):
        for j in range(per_layer):
            a, b = edges[i] - t * j / per_layer, edges[i] - t * (j + 1) / per_layer
            first = len(nodes) - 1
            nodes += [0.5 * (a + b), b]
            elements.append((first, 0.5 * (edges[i] + edges[i + 1]), along, through, strain))
    r = np.array(nodes)
    n = len(r)
    x = np.zeros(n + 1)  # u at the nodes, then psi
    # The bend that the layers keep is let go in steps, each from the equilibrium before it.
    for kept in np.linspace(0.02, 1.0, 50):
        x = equilibrium(r, elements, kept, x)
    return 1.0 + x[n]


def equilibrium(r, elements, kept, x):
    """Displacements and psi, by Newton's method, of fibres that have a part of their layers' bends left."""
    n = len(r)
    for _ in range(40):
        gradient, hessian = np.zeros(n + 1), np.zeros((n + 1, n + 1))
        for first, middle, along, through, strain in elements:
            own = [first, first + 1, first + 2]
            half = 0.5 * (r[first] - r[first + 2])
            for p, w in zip(POINTS, WEIGHTS):
                shape = np.array([0.5 * p * (p - 1.0), 1.0 - p * p, 0.5 * p * (p + 1.0)])
                slope = np.array([p - 0.5, -2.0 * p, p + 0.5]) / -half
                at, u, du = shape @ r[own], shape @ x[own], slope @ x[own]
                length = at + kept * (middle - at)
                h, q = (1.0 + x[n]) * (at + u) / length, (1.0 + du) / (1.0 + strain)
                dh, dq = np.zeros(n + 1), np.zeros(n + 1)
                dh[own], dh[n] = (1.0 + x[n]) / length * shape, (at + u) / length
                dq[own] = slope / (1.0 + strain)
                volume = w * half * length
                gradient += volume * (along * (h - 1.0) * dh + through * (q - 1.0) * dq)
                hessian += volume * (along * np.outer(dh, dh) + through * np.outer(dq, dq))
                hessian[own, n] += volume * along * (h - 1.0) * shape / length
                hessian[n, own] += volume * along * (h - 1.0) * shape / length
        step = np.linalg.solve(hessian, -gradient)
        x = x + step
        if abs(step).max() < 1e-5 * RADIUS_MM * STRAIN:
            return x
    raise RuntimeError("no equilibrium was found")


def case(name, layers, shrink):
    """Closing in per strain, from shrinking and swelling by the same small strain."""
    def at(per_layer):
        ends = [opening(layers, [sign * STRAIN * s for s in shrink], per_layer) for sign in (-1.0, 1.0)]
        return (ends[0] - ends[1]) / (2.0 * STRAIN)
    coarse, fine = (at(m) for m in MESHES)
    keys = ("thickness_mm", "along_mpa", "through_mpa")
    return {
        "name": name,
        "radius_mm": RADIUS_MM,
        "layers": [dict(zip(keys, layer)) | {"shrinks": s} for layer, s in zip(layers, shrink)],
        "closes_in_per_strain": {"value": fine, "changed_by_last_halving": fine - coarse},
    }


if __name__ == "__main__":
    def wood(t):
        return (t, 10_890.0, 1_000.0)

    skin = (0.8, 18_600.0, 8_000.0)
    deliver(__file__, {"cases": [
        case("four equal plies", [wood(2.5)] * 4, [1.0] * 4),
        case("core in two plies between skins that keep their thickness", [skin, wood(4.0), wood(4.0), skin], [0, 1, 1, 0]),
        case("core in one piece between skins", [skin, wood(8.0), skin], [0, 1, 0]),
        case("deck side of four plies alone", [wood(2.5)] * 4, [0, 0, 1, 1]),
    ]})
