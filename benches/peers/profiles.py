"""Outlines of parts: read from an SVG drawing, and covered by convex pieces. Lengths in mm."""

import math
import re

import numpy as np

ROUND_UM, HOLLOW_UM = 0.05, 0.5  # how far chords may lie off an arc; a hollow one is a horn, which the jewel clears
STEP_DEG = 15.0  # most that a chord spans: 0.02 um on a corner's round of 2 um


def polygon(path, origin, scale):
    """Corners in mm of the first outline of an SVG path of M, L, A, Z; anticlockwise. Arcs become chords."""
    steps, last = [], None
    for letter, rest in re.findall(r"([MLAZ])([^MLAZ]*)", path):
        if letter == "Z":
            break
        n = [float(x) for x in rest.split()]
        end = np.array([n[-2] - origin[0], origin[1] - n[-1]]) / scale
        # The page's y points down; its sweep flag 1 is clockwise as drawn here.
        steps.append((last, end, (n[0] / scale, n[3] > 0, n[4] > 0) if letter == "A" else None))
        last = end
    ends = np.array([end for _, end, _ in steps])
    turned = 1.0 if area(ends) > 0 else -1.0
    corners = []
    for start, end, arc in steps:
        if arc:
            radius, large, clockwise = arc
            half = 0.5 * (end - start)
            up = math.sqrt(max(0.0, radius**2 - half @ half)) * (1 if large == clockwise else -1)
            centre = start + half + up * np.array([-half[1], half[0]]) / np.linalg.norm(half)
            a, b = (math.atan2(*(p - centre)[::-1]) for p in (start, end))
            sweep = -((a - b) % math.tau) if clockwise else (b - a) % math.tau
            off_mm = (ROUND_UM if sweep * turned > 0 else HOLLOW_UM) * 1e-3
            step = min(math.radians(STEP_DEG), 2 * math.acos(1 - min(1.0, off_mm / radius)))
            count = math.ceil(abs(sweep) / step)
            for k in range(1, count):
                t = a + sweep * k / count
                corners.append(centre + radius * np.array([math.cos(t), math.sin(t)]))
        corners.append(end)
    if np.linalg.norm(corners[0] - corners[-1]) < 1e-7:
        corners.pop()
    return np.array(corners)[:: int(turned)]


def area(p):
    q = np.roll(p, -1, 0)
    return 0.5 * np.sum(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])


def hull(points):
    """Corners of the convex hull, anticlockwise (monotone chain)."""
    points = sorted(map(tuple, points))

    def side(points):
        out = []
        for p in points:
            while len(out) > 1 and cross(out[-2], out[-1], p) <= 0:
                out.pop()
            out.append(p)
        return out[:-1]

    return np.array(side(points) + side(points[::-1]))


def cross(a, b, c):
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def chains(p):
    """Stretches of the outline that turn one way, each from one hollow corner to the next."""
    before, after = np.roll(p, 1, 0), np.roll(p, -1, 0)
    hollow = [k for k in range(len(p)) if cross(before[k], p[k], after[k]) < -1e-12]
    for a, b in zip(hollow, hollow[1:] + hollow[:1]):
        yield p[[(a + k) % len(p) for k in range((b - a) % len(p) + 1)]]


def inside(points, p):
    """Which points lie in the polygon."""
    q = np.roll(p, -1, 0)
    x, y = points[:, :1], points[:, 1:]
    between = (p[:, 1] > y) != (q[:, 1] > y)
    at = p[:, 0] + (y - p[:, 1]) / np.where(q[:, 1] == p[:, 1], 1.0, q[:, 1] - p[:, 1]) * (q[:, 0] - p[:, 0])
    return (between & (x < at)).sum(1) % 2 == 1


def thickened(chain, outline):
    """The hull of a stretch of the outline and of all corners that keep it within the outline, nearest first."""
    middle = chain.mean(0)
    grown = chain
    t = np.linspace(0, 1, 60, endpoint=False)[:, None, None]
    for corner in sorted(outline, key=lambda c: np.linalg.norm(c - middle)):
        new = hull(np.vstack([grown, corner]))
        if len(new) < 3:
            continue
        rim = (new + t * (np.roll(new, -1, 0) - new)).reshape(-1, 2)
        rim += 1e-6 * (new.mean(0) - rim)
        shrunk = new.mean(0) + (1 - 1e-6) * (new - new.mean(0))
        if inside(rim, outline).all() and not inside(outline, shrunk).any():
            grown = new
    return grown
