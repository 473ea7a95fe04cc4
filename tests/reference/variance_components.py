"""Variance components of a made-up network by full restricted maximum likelihood, dense.

Independent of the program: Gauss-Newton for places, and Fisher scoring of the restricted likelihood
with the dense projector P = W - W A (A' W A)^-1 A' W of the linearised model. Writes
variance_components.json beside itself: the survey as text, the factors between true and stated
standard deviations as estimated, and the degrees of freedom 1 / (F^-1)_kk of each.

    python3 tests/reference/variance_components.py
"""

import json
import math
import pathlib
import random

import numpy as np

STATED = {"tape": 0.1, "bearing": math.radians(2.0), "incline": math.radians(1.5), "height": 0.15}
TRUE = {"tape": 1.5, "bearing": 2.0, "incline": 1.0, "height": 0.7}
KINDS = list(STATED)
SIDE = 6


def places(dice):
    """A boustrophedon walk over a grid of uneven steps, metres."""
    found = []
    for row in range(SIDE):
        columns = range(SIDE) if row % 2 == 0 else reversed(range(SIDE))
        for column in columns:
            jitter = [dice.uniform(-0.4, 0.4) for _ in range(2)]
            found.append([3 * column + jitter[0], 3 * row + jitter[1], 1.5 + dice.uniform(-0.6, 0.6)])
    first = found[0]
    return [[e - first[0], n - first[1], u] for e, n, u in found]


def measures(a, b):
    e, n, u = (q - p for p, q in zip(a, b))
    run = math.hypot(e, n)
    return {"tape": math.hypot(run, u), "bearing": math.atan2(e, n), "incline": math.atan2(u, run)}


def survey(dice):
    """Rows of the tables, and each reading as (kind, from, to, value)."""
    at = places(dice)
    readings, anchors, ties = [], [], []

    def read(kind, a, b, value):
        value += dice.gauss(0, STATED[kind] * TRUE[kind])
        if kind in ("bearing", "incline"):
            value = math.radians(round(math.degrees(value), 3))
        else:
            value = round(value, 4)
        readings.append((kind, a, b, value))
        return value

    def line(a, b, back):
        exact = measures(at[a], at[b])
        tape = read("tape", a, b, exact["tape"])
        bearing = read("bearing", a, b, exact["bearing"])
        behind = read("bearing", b, a, exact["bearing"] + math.pi) if back else None
        incline = read("incline", a, b, exact["incline"])
        degrees = lambda x: "" if x is None else f"{math.degrees(x) % 360:.3f}"
        return f"{tape:.4f},{degrees(bearing)},{degrees(behind)},{math.degrees(incline):.3f}"

    for node in range(len(at)):
        legs = ",,," if node == 0 else line(node - 1, node, node % 2 == 0)
        height = read("height", node, node, at[node][2])
        anchors.append(f"Bor,{node},{legs},{height:.4f}")
    for node in range(len(at)):
        row, place = divmod(node, SIDE)
        over = (row + 1) * SIDE + (SIDE - 1 - place)
        if row + 1 < SIDE and over != node + 1:
            ties.append(f"Bor,{node},{over},{line(node, over, False)}")
    return at, readings, anchors, ties


def linearised(x, readings):
    """Residuals (predicted minus read) and their derivatives; the first node is held in plan."""
    v, a = np.zeros(len(readings)), np.zeros((len(readings), x.size))
    for i, (kind, p, q, value) in enumerate(readings):
        if kind == "height":
            v[i], a[i, 3 * p + 2] = x[p, 2] - value, 1.0
            continue
        e, n, u = x[q] - x[p]
        run2 = e * e + n * n
        run, length2 = math.sqrt(run2), run2 + u * u
        if kind == "tape":
            v[i], g = math.sqrt(length2) - value, np.array([e, n, u]) / math.sqrt(length2)
        elif kind == "bearing":
            off = math.atan2(e, n) - value
            v[i], g = math.remainder(off, math.tau), np.array([n, -e, 0.0]) / run2
        else:
            v[i] = math.atan2(u, run) - value
            g = np.array([-u * e / run, -u * n / run, run]) / length2
        a[i, 3 * q : 3 * q + 3] += g
        a[i, 3 * p : 3 * p + 3] -= g
    return v, a[:, 2:]


def restricted(start, readings):
    kinds = np.array([KINDS.index(kind) for kind, *_ in readings])
    stated = np.array([STATED[kind] for kind, *_ in readings])
    theta, x = np.ones(len(KINDS)), np.array(start, dtype=float)
    for _ in range(200):
        weight = 1 / (theta[kinds] * stated**2)
        for _ in range(30):
            v, a = linearised(x, readings)
            normal = a.T @ (a * weight[:, None])
            step = -np.linalg.solve(normal, a.T @ (weight * v))
            x.flat[2:] += step
            if abs(step).max() < 1e-12:
                break
        v, a = linearised(x, readings)
        normal = a.T @ (a * weight[:, None])
        wa = a * weight[:, None]
        p = np.diag(weight) - wa @ np.linalg.solve(normal, wa.T)
        parts = [np.where(kinds == k, 1 / weight, 0.0) for k in range(len(KINDS))]
        wv = weight * v  # P y = W v up to sign
        score = np.array([(part * wv * wv).sum() - (part * np.diag(p)).sum() for part in parts])
        fisher = np.array([[(p * p * np.outer(one, two)).sum() for two in parts] for one in parts])
        step = np.linalg.solve(fisher, score)
        theta *= 1 + np.clip(step, -0.5, 1.0)
        if abs(step).max() < 1e-10:
            break
    redundancy = [float((part * np.diag(p)).sum()) for part in parts]
    return np.sqrt(theta), 1 / np.diag(np.linalg.inv(fisher)), redundancy


def main():
    dice = random.Random(1979)
    at, readings, anchors, ties = survey(dice)
    factors, freedom, redundancy = restricted(at, readings)
    heads = "tape_m,bearing_deg,back_bearing_deg,incline_deg"
    found = {
        "source": "computed by variance_components.py: full restricted maximum likelihood, numpy",
        "cases": [{
        "anchors": [f"trail,anchor,{heads},height_m", *anchors],
        "ties": [f"trail,from,to,{heads}", *ties],
        "components": {
            kind: {
                "factor": round(float(factors[k]), 5),
                "freedom": round(float(freedom[k]), 3),
                "redundancy": round(redundancy[k], 3),
            }
            for k, kind in enumerate(KINDS)
        },
        }],
    }
    path = pathlib.Path(__file__).with_suffix(".json")
    path.write_text(json.dumps(found, indent=1, ensure_ascii=False) + "\n")
    print(found["cases"][0]["components"])


main()
