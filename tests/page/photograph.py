"""A picture of a known board, drawn by a pinhole camera, and how a person clicks in it."""

import math
import random
import struct
import zlib

import numpy

WIDE, HIGH = 3000, 1400
LENGTH_MM, THICKNESS_MM = 1400.0, 9.6
# Lengths of parts of the base and their curvature, 1/mm: a little more toward the ends, as a board with stiff skins comes out.
PARTS = [(400, 1 / 4950), (600, 1 / 5150), (400, 1 / 4950)]
YAW, PITCH, ROLL = 0.12, -0.08, 0.015
MARKS = [(-640.0, 0.0), (640.0, 0.0), (640.0, 380.0), (-640.0, 380.0)]


def base():
    """Points of the base, one a millimetre: along the floor from its middle, and above it."""
    bends = [k for length, k in PARTS for _ in range(length)]
    angle, x, z, points = -sum(n * k for n, k in PARTS) / 2, 0.0, 0.0, [(0.0, 0.0)]
    for bend in bends:
        middle = angle + bend / 2
        x, z, angle = x + math.cos(middle), z + math.sin(middle), angle + bend
        points.append((x, z))
    low = min(z for _, z in points)
    half = points[-1][0] / 2
    return [(x - half, z - low) for x, z in points]


def matrix():
    """The camera, as a projective map of the board's plane onto pixels."""
    cy, sy, cp, sp, cr, sr = math.cos(YAW), math.sin(YAW), math.cos(PITCH), math.sin(PITCH), math.cos(ROLL), math.sin(ROLL)
    turn = numpy.array([[1, 0, 0], [0, cp, -sp], [0, sp, cp]]) @ numpy.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    roll = numpy.array([[cr, -sr, 0], [sr, cr, 0], [0, 0, 1]])
    far, focal = 3000.0, 0.9 * WIDE / LENGTH_MM * 3000.0
    lens = numpy.array([[focal, 0, WIDE / 2], [0, -focal, 0.72 * HIGH], [0, 0, 1]])
    plane = roll @ turn @ numpy.array([[1, 0, 0], [0, 1, 0], [0, 0, 0]]) + numpy.array([[0, 0, 0], [0, 0, 0], [0, 0, far]])
    return lens @ plane


def seen(point):
    u, v, w = matrix() @ numpy.array([point[0], point[1], 1.0])
    return u / w, v / w


def png():
    """The picture: a dark board before a light wall on a grey floor, each pixel the mean of nine looks, with noise."""
    inverse = numpy.linalg.inv(matrix())
    points = numpy.array(base())
    picture = numpy.zeros((HIGH, WIDE))
    for dx in (1 / 6, 3 / 6, 5 / 6):
        for dy in (1 / 6, 3 / 6, 5 / 6):
            px, py = numpy.meshgrid(numpy.arange(WIDE) + dx, numpy.arange(HIGH) + dy)
            u, v, w = (inverse[i, 0] * px + inverse[i, 1] * py + inverse[i, 2] for i in range(3))
            x, z = u / w, v / w
            height = numpy.interp(x, points[:, 0], points[:, 1])
            board = (abs(x) <= points[-1, 0]) & (z >= height) & (z <= height + THICKNESS_MM)
            picture += numpy.where(board, 75, numpy.where(z < 0, 135, 205))
    picture = picture / 9 + numpy.random.default_rng(3).normal(0, 3, picture.shape)
    grey = numpy.clip(picture, 0, 255).astype(numpy.uint8)
    for mark in MARKS:
        u, v = seen(mark)
        grey[int(v) - 8:int(v) + 9, int(u)] = 0
        grey[int(v), int(u) - 8:int(u) + 9] = 0
    rows = b"".join(b"\0" + row.tobytes() for row in grey)
    chunk = lambda kind, data: struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    head = struct.pack(">IIBBBBB", WIDE, HIGH, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows, 1)) + chunk(b"IEND", b"")


def clicks(error_px=2.0, seed=5):
    """Where a person clicks: four marks, two places of the floor line, ten of the base; each coordinate off by an error."""
    chance = random.Random(seed)
    points = base()
    places = MARKS + [(-680.0, 0.0), (680.0, 0.0)] + [points[min(round(i * LENGTH_MM / 9), len(points) - 1)] for i in range(10)]
    return [tuple(c + chance.gauss(0, error_px) for c in seen(p)) for p in places]


def errors(readings):
    """Read heights less true ones, mm."""
    points = base()
    rows = [tuple(float(v) for v in line.split(",")) for line in readings.strip().splitlines()]
    at = lambda s: points[min(max(round(s), 0), len(points) - 1)][1]
    return [height - at(station) for station, height in rows]
