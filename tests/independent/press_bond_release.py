"""Press, bond and release in two dimensions by finite elements, without beam theory.

Every layer is a plane-stress strip of nine-node elements with large rotations (total Lagrangian, St. Venant-Kirchhoff).
1. Press: each layer, flat and free of stress, is bent without friction so that its underside lies on the form, moved up
   by what lies below it. It may slide along.
2. Bond: nodes that face each other are tied as they lie; no stress is added or lost.
3. Release: the form is taken away, and the stack finds its equilibrium.
One half of the board is modelled; the middle is a plane of symmetry. The form has one curvature and eases out at the end
as k (2u - u²), so that no layer has to carry a moment at its free end.
"""

import numpy as np
import scipy.sparse as sp
from scipy.interpolate import CubicHermiteSpline
from scipy.sparse.linalg import spsolve
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, LinearForm, MeshQuad, asm
from skfem.helpers import grad

from results import deliver

HALF_MM = 700.0
EASED_MM = 60.0
# Columns of elements along the half; 5 and 60 per cent of it fall between elements. The last has twice as many rows, too.
MESHES = [80, 160, 320]


class Form:
    """The form's curve from the middle to beyond the end, by its curvature."""

    def __init__(self, curvature):
        self.k0 = curvature
        s = np.linspace(-5.0, HALF_MM + 5.0, 20001)
        fine = 0.5 * (s[1:] + s[:-1])
        step = np.diff(s)
        # Simpson's rule from point to point.
        def along(f):
            return np.concatenate([[0.0], np.cumsum(step / 6 * (f(s[:-1]) + 4 * f(fine) + f(s[1:])))])
        x, y = along(lambda q: np.cos(self.angle(q))), along(lambda q: np.sin(self.angle(q)))
        zero = np.searchsorted(s, 0.0)
        cx, cy = CubicHermiteSpline(s, x, np.cos(self.angle(s))), CubicHermiteSpline(s, y, np.sin(self.angle(s)))
        assert abs(s[zero]) < 0.1
        self.at = lambda q: np.array([cx(q) - cx(0.0), cy(q) - cy(0.0)])

    def curvature(self, s):
        u = np.clip((HALF_MM - s) / EASED_MM, 0.0, 1.0)
        return self.k0 * u * (2.0 - u)

    def angle(self, s):
        u = np.clip((HALF_MM - s) / EASED_MM, 0.0, 1.0)
        full = np.minimum(s, HALF_MM - EASED_MM)
        return self.k0 * (full + EASED_MM * (2.0 / 3.0 - u**2 + u**3 / 3.0))

    def foot(self, p, s):
        """Place on the form nearest to each point, from a guess."""
        for _ in range(30):
            a = self.angle(s)
            off = p - self.at(s)
            along, up = off[0] * np.cos(a) + off[1] * np.sin(a), -off[0] * np.sin(a) + off[1] * np.cos(a)
            move = along / (1.0 - self.curvature(s) * up)
            s = s + move
            if np.abs(move).max() < 1e-12:
                break
        return s, up


def stiffness_of(layer):
    """Plane-stress stiffness: along, coupled, through, shear (MPa)."""
    e1, e2, nu, g = layer["along_mpa"], layer["through_mpa"], layer["poisson"], layer["shear_mpa"]
    d = 1.0 - nu * nu * e2 / e1
    return e1 / d, nu * e2 / d, e2 / d, g


class Stack:
    def __init__(self, layers, form, columns):
        self.layers, self.form = layers, form
        stations = np.linspace(0.0, HALF_MM, columns + 1)
        self.stations = stations
        bottoms = np.cumsum([0.0] + [l["thickness_mm"] for l in layers])
        self.bottoms = bottoms
        mesh, self.shift, owner = None, [], []
        for i, layer in enumerate(layers):
            t = layer["thickness_mm"]
            rows = max(1, round(t / 2.0)) * (2 if columns > 200 else 1)
            # Flat places that come to lie on the same normal of the form once the layer is bent about its middle.
            x = stations - (bottoms[i] + 0.5 * t) * form.angle(stations)
            # Layers stand far apart in the mesh, so that they share no nodes.
            part = MeshQuad.init_tensor(x, np.linspace(0.0, t, rows + 1) + 1000.0 * i)
            mesh = part if mesh is None else mesh + part
            owner += [i] * part.t.shape[1]
        self.basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=4)
        places = self.basis.doflocs
        middle = mesh.p[:, mesh.t].mean(axis=1)
        layer_of = np.round(middle[1] // 1000.0).astype(int)
        self.c = [np.array([stiffness_of(layers[i])[j] for i in layer_of])[:, None] for j in range(4)]
        count = places.shape[1]
        self.component = np.zeros(count, int)
        for dofs in (self.basis.nodal_dofs, self.basis.facet_dofs, self.basis.interior_dofs):
            self.component[dofs[1]] = 1
        self.layer = np.floor(places[1] / 1000.0 + 1e-9).astype(int)
        self.flat = np.array([places[0], places[1] - 1000.0 * self.layer])

    def nodes(self, layer, height):
        """Pairs of unknowns (x, y) of a layer's nodes at a height, in order along it."""
        on = (self.layer == layer) & (np.abs(self.flat[1] - height) < 1e-7)
        xs, ys = np.where(on & (self.component == 0))[0], np.where(on & (self.component == 1))[0]
        return xs[np.argsort(self.flat[0][xs])], ys[np.argsort(self.flat[0][ys])]

    def bent(self):
        """Displacements of layers that are bent about their middles onto the form: a first guess."""
        u = np.zeros(self.flat.shape[1])
        for i, layer in enumerate(self.layers):
            on = self.layer == i
            middle = self.bottoms[i] + 0.5 * layer["thickness_mm"]
            s = self.flat[0][on].copy()
            for _ in range(60):
                s = self.flat[0][on] + middle * self.form.angle(s)
            a, c = self.form.angle(s), self.form.at(s)
            z = self.bottoms[i] + self.flat[1][on]
            here = np.where(self.component[on] == 0, c[0] - z * np.sin(a), c[1] + z * np.cos(a))
            start = np.where(self.component[on] == 0, self.flat[0][on], self.flat[1][on])
            u[on] = here - start
        return u

    def forces(self, u):
        """Internal forces and their derivative."""
        c11, c12, c22, c66 = self.c
        du = self.basis.interpolate(u).grad
        f = du + np.eye(2)[:, :, None, None]
        e = 0.5 * (np.einsum("ki...,kj...->ij...", f, f) - np.eye(2)[:, :, None, None])
        stress = lambda e: np.array([
            [c11 * e[0, 0] + c12 * e[1, 1], 2.0 * c66 * e[0, 1]],
            [2.0 * c66 * e[1, 0], c12 * e[0, 0] + c22 * e[1, 1]],
        ])
        s = stress(e)
        first = np.einsum("ik...,kj...->ij...", f, s)

        @LinearForm
        def internal(v, w):
            return np.einsum("ij...,ij...", first, grad(v))

        @BilinearForm
        def tangent(d, v, w):
            g, h = grad(d), grad(v)
            de = np.einsum("ki...,kj...->ij...", f, g)
            de = 0.5 * (de + np.swapaxes(de, 0, 1))
            df = np.einsum("ik...,kj...->ij...", g, s) + np.einsum("ik...,kj...->ij...", f, stress(de))
            return np.einsum("ij...,ij...", df, h)

        return asm(internal, self.basis), asm(tangent, self.basis).tocsc()

    def press(self):
        """Displacements of the layers on the form."""
        u = self.bent()
        middle = np.where((self.component == 0) & (np.abs(self.flat[0]) < 1e-9))[0]
        u[middle] = 0.0
        free = np.setdiff1d(np.arange(u.size), middle)
        touching = [self.nodes(i, 0.0) for i in range(len(self.layers))]
        xs, ys = np.concatenate([t[0] for t in touching]), np.concatenate([t[1] for t in touching])
        wanted = np.concatenate([np.full(t[0].size, self.bottoms[i]) for i, t in enumerate(touching)])
        hold = np.zeros(xs.size)
        place = self.flat[0][xs].copy()
        for step in range(30):
            point = np.array([self.flat[0][xs] + u[xs], self.flat[1][ys] + u[ys]])
            place, up = self.form.foot(point, place)
            a = self.form.angle(place)
            normal = np.array([-np.sin(a), np.cos(a)])
            row = np.arange(xs.size)
            g = sp.csc_matrix((np.concatenate([normal[0], normal[1]]), (np.tile(row, 2), np.concatenate([xs, ys]))),
                              (xs.size, u.size))
            # The form's own bend changes the direction of the forces when a node slides.
            bend = -self.form.curvature(place) / (1.0 - self.form.curvature(place) * up) * hold
            t = np.array([np.cos(a), np.sin(a)])
            own = sp.csc_matrix((np.concatenate([bend * t[i] * t[j] for i in (0, 1) for j in (0, 1)]),
                                 (np.concatenate([d for d in (xs, ys) for _ in (0, 1)]), np.tile(np.concatenate([xs, ys]), 2))),
                                (u.size, u.size))
            force, k = self.forces(u)
            unbalanced = np.concatenate([(force + g.T @ hold)[free], up - wanted])
            size = np.abs(unbalanced[: free.size]).max()
            if step > 0 and size < 1e-7 and np.abs(up - wanted).max() < 1e-9:
                return u, step
            system = sp.bmat([[(k + own)[free][:, free], g[:, free].T], [g[:, free], None]], format="csc")
            change = spsolve(system, -unbalanced)
            u[free] += change[: free.size]
            hold += change[free.size:]
        raise RuntimeError(f"pressing did not converge: {size}")

    def release(self, pressed):
        """Displacements of the bonded stack without the form."""
        size = pressed.size
        master = np.arange(size)
        for i in range(len(self.layers) - 1):
            below, above = self.nodes(i, self.layers[i]["thickness_mm"]), self.nodes(i + 1, 0.0)
            for lower, upper in zip(below, above):
                assert lower.size == upper.size
                master[upper] = lower
        while not np.array_equal(master, master[master]):
            master = master[master]
        start = pressed - pressed[master]
        fixed = set(np.where((self.component == 0) & (np.abs(self.flat[0]) < 1e-9))[0])
        fixed.add(self.nodes(0, 0.0)[1][0])
        kept = np.array([d for d in range(size) if master[d] == d and d not in fixed])
        column = np.full(size, -1)
        column[kept] = np.arange(kept.size)
        moves = column[master] >= 0
        tie = sp.csc_matrix((np.ones(moves.sum()), (np.where(moves)[0], column[master][moves])), (size, kept.size))
        u = pressed.copy()
        first = tie.T @ self.forces(u)[0]
        steps = 0
        for held in [0.75, 0.5, 0.25, 0.0]:
            for _ in range(30):
                force, k = self.forces(u)
                unbalanced = tie.T @ force - held * first
                if np.abs(unbalanced).max() < 1e-7:
                    break
                u += tie @ spsolve((tie.T @ k @ tie).tocsc(), -unbalanced)
                steps += 1
            else:
                raise RuntimeError(f"release did not converge: {np.abs(unbalanced).max()}")
        assert np.abs((u - u[master]) - start).max() < 1e-9
        return u, steps


def run(layers, curvature, columns):
    stack = Stack(layers, Form(curvature), columns)
    pressed, press_steps = stack.press()
    gaps = []
    for i in range(len(layers) - 1):
        below, above = stack.nodes(i, layers[i]["thickness_mm"]), stack.nodes(i + 1, 0.0)
        apart = [(stack.flat[c][b[c]] + pressed[b[c]]) - (stack.flat[c][a[c]] + pressed[a[c]])
                 for c, (b, a) in enumerate([(below, above)] * 2)]
        gaps.append(np.hypot(*apart))
    inner = [g[: int(0.9 * g.size)].max() for g in gaps]
    free, release_steps = stack.release(pressed)
    print(f"{columns} columns: {press_steps} steps to press, {release_steps} to release")
    xs, ys = stack.nodes(0, 0.0)
    x, y = stack.flat[0][xs] + free[xs], stack.flat[1][ys] + free[ys]
    # Every second node of the base is a corner of elements, on a station of the form.
    x, y = x[::2], y[::2]
    angle = np.arctan2(y[2:] - y[:-2], x[2:] - x[:-2])
    at = lambda part: angle[round(part * columns) - 1]
    return {
        "columns": columns,
        "unknowns": int(free.size),
        "largest_mismatch_of_facing_nodes_mm": float(max(inner)),
        "turned_5_to_60_percent_rad": float(at(0.6) - at(0.05)),
        "tip_height_mm": float(y[-1] - y[0]),
        "tip_x_mm": float(x[-1] - x[0]),
    }


def even(thickness, modulus, poisson):
    return {"thickness_mm": thickness, "along_mpa": modulus, "through_mpa": modulus, "poisson": poisson,
            "shear_mpa": modulus / (2.0 * (1.0 + poisson))}


def wood(thickness, modulus):
    # Ratios of yellow-poplar, through the thickness: Wood Handbook, Tables 5-1 and 5-2 (from memory).
    return {"thickness_mm": thickness, "along_mpa": modulus, "through_mpa": 0.092 * modulus, "poisson": 0.318,
            "shear_mpa": 0.075 * modulus}


def case(name, layers, curvature):
    meshes = [run(layers, curvature, n) for n in MESHES]
    def limit(key):
        # Differences fall by a constant factor from mesh to mesh; what is left after the last is their geometric rest.
        a, b, c = (m[key] for m in meshes)
        return {"value": c, "changed_by_last_halving": c - b, "changed_by_the_one_before": b - a}
    return {
        "name": name,
        "half_length_mm": HALF_MM,
        "eased_mm": EASED_MM,
        "form_curvature_per_mm": curvature,
        "layers": layers,
        "meshes": meshes,
        "turned": limit("turned_5_to_60_percent_rad"),
        "tip": limit("tip_height_mm"),
    }


if __name__ == "__main__":
    equal = [even(2.5, 10_890.0, 0.3) for _ in range(4)]
    skinned = [even(0.8, 18_600.0, 0.2), wood(4.0, 10_890.0), wood(4.0, 10_890.0), even(0.8, 18_600.0, 0.2)]
    deliver(__file__, {"cases": [
        case("four equal layers", equal, 1.0 / 1200.0),
        case("skins on a core of two plies", skinned, 1.0 / 1200.0),
    ]})
