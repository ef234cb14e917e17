"""Stacks pressed on curved tables, with scipy: where they lie, where they lift off and how they are bent there.

The wet stack is a strip of the sum of its layers' own stiffnesses B(s). Its gap d(s) >= 0 normal to the table, the force
r(s) >= 0 of the table and d r = 0 are a complementarity problem:

    (B (k + d''))'' + p = r,    moment and shear vanish at both ends.

It is solved twice. First on even nodes by finite differences, as a linear complementarity problem by a semismooth Newton
method with scipy's sparse solver: this finds which stretches lift off without being told. Then every lifted stretch by itself,
with solve_bvp on the differential equations, and with the places where it leaves the table as unknowns: moment and slope go
on there, and so does the table's moment. The first result is required to be near the second, so that neither is alone.

Per length of the table, over which k and d'' are taken, the neutral axis has the length 1 - k zn: the strip turns by
(k + d'') / (1 - k zn) per length of its own and carries that times the layers' stiffness, so B is theirs over 1 - k zn. Its
base, which lies zn further out, has the curvature of that turn over 1 plus turn times zn.
"""

import sys

import numpy as np
from scipy.integrate import solve_bvp, solve_ivp
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import brentq
from scipy.sparse import diags
from scipy.sparse.linalg import spsolve

from results import deliver

PRESSURE_MPA = 0.08
# Table curvature: pieces from, to (mm), curvature at both ends (1/mm). Layers: modulus (MPa), thickness (mm) at places (mm).
CASES = [
    {
        "name": "camber and kicks that begin at once, even layers",
        "pieces": [[-720, -420, 1 / 550, 1 / 550], [-420, 430, -1 / 9000, -1 / 9000], [430, 720, 1 / 480, 1 / 480]],
        "ends_mm": [-640, 650],
        "layers": [[20000, [[0, 0.8]]], [10000, [[0, 4.0]]], [10000, [[0, 4.0]]], [20000, [[0, 0.8]]]],
    },
    {
        "name": "eased kicks on a straight middle, tapered core",
        "pieces": [[-720, -450, 1 / 420, 0.0], [-450, 380, 0.0, 0.0], [380, 520, 1 / 900, 1 / 500], [520, 720, 1 / 500, 1 / 700]],
        "ends_mm": [-620, 640],
        "layers": [[18600, [[0, 0.7]]], [10890, [[-600, 3.0], [0, 9.0], [600, 4.0]]], [18600, [[0, 0.7]]]],
    },
    {
        "name": "a hump all along, equal layers",
        "pieces": [[-500, 500, -1 / 900, -1 / 900]],
        "ends_mm": [-420, 420],
        "layers": [[12000, [[0, 3.0]]]] * 3,
    },
]
COMPARED_MM = 40.0
STEPS_PER_MM = 2


class Case:
    def __init__(self, case):
        self.case = case
        self.pieces = case["pieces"]
        # The blank is measured off from the middle of the board both ways.
        starts = [p[0] for p in self.pieces]
        grid = {}
        for sign, end in [(1, self.pieces[-1][1]), (-1, self.pieces[0][0])]:
            at, blank, parts = 0.0, 0.0, []
            stops = sorted({x for p in self.pieces for x in p[:2] if 0 < sign * x}, key=abs)
            for stop in stops:
                inner = 0.5 * (at + stop)
                run = solve_ivp(lambda s, b: [1.0 - self.k(s, inner) * self.neutral(b[0])], (at, stop), [blank],
                                rtol=1e-12, atol=1e-10, dense_output=True)
                parts.append((at, stop, run.sol))
                at, blank = stop, run.y[0, -1]
            grid[sign] = parts
        self.parts = grid
        self.ends = [brentq(lambda s: self.blank(s) - e, self.pieces[0][0], self.pieces[-1][1], xtol=1e-12)
                     for e in case["ends_mm"]]
        breaks = {x for _, places in case["layers"] for x, _ in places if len(places) > 1}
        self.breaks = [brentq(lambda s: self.blank(s) - b, self.pieces[0][0], self.pieces[-1][1], xtol=1e-12)
                       for b in sorted(breaks) if case["ends_mm"][0] < b < case["ends_mm"][1]]
        self.joints = sorted({x for x in starts[1:]} | set(self.breaks))
        self.jumps = starts[1:]

    def k(self, s, inside=None):
        """Curvature at s; at a jump that of the piece in which `inside` lies."""
        inside = s if inside is None else inside
        for a, b, ka, kb in self.pieces:
            if np.all(a <= inside) and np.all(inside <= b):
                return ka + (kb - ka) * (s - a) / (b - a)
        raise ValueError(f"{inside} is off the table")

    def blank(self, s):
        for a, b, sol in self.parts[1 if s >= 0 else -1]:
            if min(a, b) <= s <= max(a, b):
                return float(sol(s)[0])
        raise ValueError(f"{s} is off the table")

    def layers(self, blank):
        return [(e, np.interp(blank, [x for x, _ in places], [t for _, t in places]))
                for e, places in self.case["layers"]]

    def neutral(self, blank):
        bottom = above = below = 0.0
        for e, t in self.layers(blank):
            above, below, bottom = above + e * t * (bottom + t / 2), below + e * t, bottom + t
        return above / below

    def stiffness(self, s, inside=None):
        own = sum(e * t**3 / 12 for e, t in self.layers(self.blank(s)))
        return own / (1.0 - self.k(s, inside) * self.neutral(self.blank(s)))

    def bend(self, s, inside=None):
        return self.k(s, inside)


def complementarity(case):
    """Nodes and gaps by finite differences and a semismooth Newton method."""
    low, high = case.ends
    n = round((high - low) * STEPS_PER_MM) + 1
    s = np.linspace(low, high, n)
    h = s[1] - s[0]
    b = np.array([case.stiffness(x) for x in s[1:-1]])
    k = np.array([case.bend(x) for x in s[1:-1]])
    second = diags([1.0, -2.0, 1.0], [0, 1, 2], shape=(n - 2, n)) / h**2
    matrix = (second.T @ diags(b * h) @ second).tocsc()
    load = np.full(n, PRESSURE_MPA * h)
    load[[0, -1]] /= 2
    right = -(second.T @ (b * k * h)) - load
    # A bed of springs under the strip, which pushes and does not pull, is made stiffer and stiffer: the nodes that press on
    # it settle at every stiffness, and begin the next search near its end.
    lies = np.ones(n, dtype=bool)
    for bed in PRESSURE_MPA * h * 10.0 ** np.arange(1, 10):
        for _ in range(100):
            gap = spsolve(matrix + diags(np.where(lies, bed, 0.0), format="csc"), right)
            now = gap < 0
            if (now == lies).all():
                break
            lies = now
        else:
            sys.exit(f"{case.case['name']}: the nodes that touch do not settle")
    return s, np.where(lies, 0.0, gap)


def stretches(s, gap):
    """First and last nodes beyond runs of lifted nodes; single nodes of contact inside do not part them."""
    up = np.flatnonzero(gap > 0)
    parts = np.split(up, np.flatnonzero(np.diff(up) > 2) + 1)
    return [(max(p[0] - 1, 0), min(p[-1] + 1, len(s) - 1)) for p in parts if len(p) > 3]


def lifted(case, s, gap, first, last):
    """The stretch between nodes `first` and `last` by solve_bvp: functions for gap and gap'' and its ends."""
    low, high = s[0], s[-1]
    at_low, at_high = first == 0, last == len(s) - 1
    a0, b0 = s[first], s[last]
    inner = [x for x in case.joints if a0 < x < b0]
    guess_end = (gap[0] if at_low else 0.0, gap[-1] if at_high else 0.0)
    # Four unknowns (gap, slope, moment, shear) in every part between joints, all over 0 to 1; free ends are parameters.
    parts = len(inner) + 1
    free = [x for x, fixed in [(a0, at_low), (b0, at_high)] if not fixed]

    def edges(p):
        p = list(p)
        a = low if at_low else p.pop(0)
        b = high if at_high else p.pop(0)
        return [a, *inner, b]

    def slope_of(t, y, p):
        e, out = edges(p), np.empty_like(y)
        for i in range(parts):
            at = e[i] + (e[i + 1] - e[i]) * t
            mid = 0.5 * (e[i] + e[i + 1])
            d, turn, moment, shear = y[4 * i: 4 * i + 4]
            b = np.array([case.stiffness(x, mid) for x in at])
            k = np.array([case.bend(x, mid) for x in at])
            out[4 * i: 4 * i + 4] = (e[i + 1] - e[i]) * np.array(
                [turn, moment / b - k, shear, np.full_like(shear, -PRESSURE_MPA)])
        return out

    def ends(ya, yb, p):
        e, out = edges(p), []
        for i in range(parts - 1):
            out += list(yb[4 * i: 4 * i + 4] - ya[4 * i + 4: 4 * i + 8])
        for at_end, y, place, inside, up in [(at_low, ya[:4], e[0], 0.5 * (e[0] + e[1]), guess_end[0]),
                                             (at_high, yb[-4:], e[-1], 0.5 * (e[-2] + e[-1]), guess_end[1])]:
            if at_end:
                # An end in the air carries no shear; one that stands on the table has no gap. Neither carries moment.
                out += [y[2], y[3] if up > 0 else y[0]]
            else:
                out += [y[0], y[1], y[2] - case.stiffness(place, inside) * case.bend(place, inside)]
        return np.array(out)

    t = np.linspace(0.0, 1.0, 41)
    smooth = CubicHermiteSpline(s, gap, np.gradient(gap, s))
    # Moments at the nodes are the differences' own; neither end carries one.
    turns = np.diff(gap, 2) / (s[1] - s[0]) ** 2
    moments = [0.0, *(case.stiffness(x) * (case.bend(x) + turn) for x, turn in zip(s[1:-1], turns)), 0.0]
    e = edges(free)
    start = []
    for i in range(parts):
        at = e[i] + (e[i + 1] - e[i]) * t
        moment = np.interp(at, s, moments)
        start += [smooth(at), smooth(at, 1), moment, np.gradient(moment, at)]
    found = solve_bvp(slope_of, ends, t, np.array(start), p=free or None, tol=1e-9, max_nodes=20000)
    if not found.success:
        sys.exit(f"{case.case['name']}: {found.message}")
    e = edges(found.p if free else [])
    if not (np.diff(e) > 0).all() or max(abs(e[0] - a0), abs(e[-1] - b0)) > 3.0:
        sys.exit(f"{case.case['name']}: another stretch was found than the one between {a0:.1f} and {b0:.1f} mm")

    def at(place):
        i = min(max(np.searchsorted(e, place) - 1, 0), parts - 1)
        y = found.sol((place - e[i]) / (e[i + 1] - e[i]))[4 * i: 4 * i + 4]
        mid = 0.5 * (e[i] + e[i + 1])
        return y[0], y[2] / case.stiffness(place, mid) - case.bend(place, mid)

    fine = np.linspace(e[0], e[-1], 4001)
    gaps = np.array([at(x)[0] for x in fine])
    if gaps.min() < -1e-6:
        sys.exit(f"{case.case['name']}: the stack would be in the table between {e[0]:.1f} and {e[-1]:.1f} mm")
    return {"from_mm": e[0], "to_mm": e[-1], "largest_gap_mm": gaps.max()}, at


def solve(spec):
    case = Case(spec)
    s, gap = complementarity(case)
    found = [lifted(case, s, gap, *ends) for ends in stretches(s, gap)]
    parts = [f for f, _ in found]
    worst = 0.0
    for place, d in zip(s[::20], gap[::20]):
        exact = next((at(place)[0] for f, at in found if f["from_mm"] <= place <= f["to_mm"]), 0.0)
        worst = max(worst, abs(exact - d))
    print(f"{spec['name']}: {len(parts)} stretches lift, finite differences are off by {worst:.1e} mm")
    if not worst <= 5e-3:
        sys.exit("the two ways do not agree")
    bent = []
    for place in np.arange(COMPARED_MM * np.ceil(s[0] / COMPARED_MM), s[-1], COMPARED_MM):
        away = min((abs(place - x) for x in case.joints + [v for f in parts for v in (f["from_mm"], f["to_mm"])]),
                   default=np.inf)
        lift = next((at(place)[1] for f, at in found if f["from_mm"] < place < f["to_mm"]), None)
        if lift is not None and away > 2.0:
            turn = case.k(place) + lift
            base = turn / (1.0 + lift * case.neutral(case.blank(place)))
            bent.append({"table_mm": float(place), "base_per_mm": base})
    return {**spec, "pressure_mpa": PRESSURE_MPA, "table_ends_mm": case.ends, "lifted": parts, "bent": bent}


if __name__ == "__main__":
    deliver(__file__, {"cases": [solve(c) for c in CASES]})
