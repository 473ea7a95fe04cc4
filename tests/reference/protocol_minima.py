"""Writes protocol_minima.json: the least weighted sum of squares of small trails by every protocol,
found by scipy.optimize.least_squares from many random starts. Needs numpy and scipy. From the top of
the source:

    cargo run --release --example coverage -- studies 6 >studies.json
    STUDIES=$PWD/studies.json MODELS=$PWD/models.json \
        cargo test --lib models_of_studies -- --ignored
    python3 tests/reference/protocol_minima.py models.json

Trails whose readings are weighed as when they were last solved are left as they stand.
models.json holds what was read (kind, value, standard deviation, nodes) as the tool weighs it; the
residuals are written out anew below, and so is the way to the minimum. With `--compare` as the last
argument nothing is written: it prints of how many trails the tool's own sum lies above the least.
STARTS in the environment is the number of random starts a trail (30).
"""
import hashlib
import json
import os
import sys
from multiprocessing import Pool

import numpy
import scipy
from scipy.optimize import least_squares

STARTS = int(os.environ.get("STARTS", "30"))
FILE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "protocol_minima.json")


def digest(case):
    """Tells whether anything that the minimum rests on has changed."""
    rounded = lambda x: [rounded(y) for y in x] if isinstance(x, list) else float(f"{x:.9g}")
    flat = lambda r: [r["kind"], r["sideways"], r["nodes"], rounded([r["value"], r["sd"], r["scale"]])]
    held = [[a, b] for a, b in zip(case["held"], rounded(case["held_at"])) if any(a)]
    text = json.dumps([[flat(r) for r in case["readings"]], held])
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def wrapped(angle):
    return (angle + numpy.pi) % (2 * numpy.pi) - numpy.pi


def azimuth_by(v):
    """Of the azimuth from north, by east, north and up."""
    square = numpy.maximum(v[:, 0] ** 2 + v[:, 1] ** 2, 1e-18)
    return numpy.stack([v[:, 1] / square, -v[:, 0] / square, numpy.zeros(len(v))], axis=1)


class Problem:
    def __init__(self, case):
        self.readings = case["readings"]
        self.count = len(case["held"])
        held = numpy.array([[plan, plan, up] for plan, up in case["held"]])
        self.free = ~held.ravel()
        self.fixed = numpy.array(case["held_at"], float).ravel()
        self.groups = {}
        for r in self.readings:
            kind = r["kind"] + ("_sideways" if r["sideways"] else "")
            self.groups.setdefault(kind, []).append(r)
        self.groups = {kind: self.columns(rows) for kind, rows in self.groups.items()}

    @staticmethod
    def columns(rows):
        take = lambda key: numpy.array([r[key] for r in rows], float)
        return {"nodes": numpy.array([r["nodes"] for r in rows]), "value": take("value"),
                "sd": take("sd"), "scale": take("scale"), "toward": take("toward")}

    def whole(self, free):
        x = self.fixed.copy()
        x[self.free] = free
        return x.reshape(-1, 3)

    def residuals(self, free):
        x = self.whole(free)
        return numpy.concatenate([self.of_kind(kind, g, x) / g["sd"] for kind, g in self.groups.items()])

    @staticmethod
    def of_kind(kind, g, x):
        nodes, value = g["nodes"], g["value"]
        if kind in ("height", "control_east", "control_north", "control_elevation"):
            axis = {"control_east": 0, "control_north": 1}.get(kind, 2)
            return x[nodes[:, 0], axis] - value
        v = x[nodes[:, 1]] - x[nodes[:, 0]]
        run = numpy.hypot(v[:, 0], v[:, 1])
        if kind == "tape":
            return numpy.hypot(run, v[:, 2]) - value
        if kind == "turn":
            w = x[nodes[:, 3]] - x[nodes[:, 2]]
            turn = numpy.arctan2(v[:, 0], v[:, 1]) - numpy.arctan2(w[:, 0], w[:, 1])
            return g["scale"] * wrapped(turn - value)
        east, north = g["toward"][:, 0], g["toward"][:, 1]
        along, across = v[:, 0] * east + v[:, 1] * north, v[:, 0] * north - v[:, 1] * east
        if kind in ("bearing", "back_bearing"):
            return g["scale"] * numpy.arctan2(across, along)
        return {"bearing_sideways": lambda: across, "back_bearing_sideways": lambda: across,
                "steep": lambda: along - value, "incline": lambda: numpy.arctan2(v[:, 2], run) - value,
                "plumb_east": lambda: v[:, 0] - value, "plumb_north": lambda: v[:, 1] - value,
                "rise": lambda: v[:, 2] - value}[kind]()

    def derivatives(self, free):
        """Of the residuals, row by row, with respect to the free coordinates."""
        x = self.whole(free)
        parts = []
        for kind, g in self.groups.items():
            rows, nodes = numpy.arange(len(g["value"])), g["nodes"]
            part = numpy.zeros((len(rows), self.count, 3))
            if nodes.shape[1] == 1:
                axis = {"control_east": 0, "control_north": 1}.get(kind, 2)
                part[rows, nodes[:, 0], axis] = 1.0
            else:
                by = self.along_line(kind, g, x[nodes[:, 1]] - x[nodes[:, 0]])
                numpy.add.at(part, (rows, nodes[:, 1]), by)
                numpy.add.at(part, (rows, nodes[:, 0]), -by)
            if kind == "turn":
                by = g["scale"][:, None] * azimuth_by(x[nodes[:, 3]] - x[nodes[:, 2]])
                numpy.add.at(part, (rows, nodes[:, 3]), -by)
                numpy.add.at(part, (rows, nodes[:, 2]), by)
            parts.append(part.reshape(len(rows), -1) / g["sd"][:, None])
        return numpy.concatenate(parts)[:, self.free]

    @staticmethod
    def along_line(kind, g, v):
        length = numpy.maximum(numpy.linalg.norm(v, axis=1), 1e-9)
        run = numpy.maximum(numpy.hypot(v[:, 0], v[:, 1]), 1e-9)
        zero, one = numpy.zeros(len(v)), numpy.ones(len(v))
        east, north = g["toward"][:, 0], g["toward"][:, 1]
        if kind == "tape":
            return v / length[:, None]
        if kind in ("turn", "bearing", "back_bearing"):
            return g["scale"][:, None] * azimuth_by(v)
        if kind == "incline":
            flat = -v[:, 2] / (run * length ** 2)
            return numpy.stack([flat * v[:, 0], flat * v[:, 1], run / length ** 2], axis=1)
        return numpy.stack({"bearing_sideways": (north, -east, zero),
                            "back_bearing_sideways": (north, -east, zero),
                            "steep": (east, north, zero), "plumb_east": (one, zero, zero),
                            "plumb_north": (zero, one, zero), "rise": (zero, zero, one)}[kind], axis=1)

    def start(self, random, blind):
        """Legs laid one after the other: blind in any direction, else roughly as read, the whole
        turned anyhow."""
        tapes = {tuple(r["nodes"]): r["value"] for r in self.readings if r["kind"] == "tape"}
        needles = {tuple(r["nodes"]): r["value"] for r in self.readings if r["kind"] == "bearing"}
        turns = {tuple(r["nodes"][:2]): (tuple(r["nodes"][2:]), r["value"])
                 for r in self.readings if r["kind"] == "turn"}
        heights = {r["nodes"][0]: r["value"] for r in self.readings if r["kind"] == "height"}
        x = self.fixed.reshape(-1, 3).copy()
        x[:, 2] = [heights.get(node, 0.0) for node in range(self.count)]
        x[:, 2] += random.normal(0, 0.2, self.count)
        whole, azimuth = random.uniform(0, 2 * numpy.pi), {}
        for (a, b), tape in tapes.items():
            if blind:
                course = random.uniform(0, 2 * numpy.pi)
            elif (a, b) in turns and turns[a, b][0] in azimuth:
                course = azimuth[turns[a, b][0]] + turns[a, b][1]
            else:
                course = whole + needles.get((a, b), 0.0)
            azimuth[a, b] = course + random.normal(0, 0.3)
            run = numpy.sqrt(max(tape ** 2 - (x[b, 2] - x[a, 2]) ** 2, 0.01))
            x[b, :2] = x[a, :2] + run * numpy.array([numpy.sin(azimuth[a, b]), numpy.cos(azimuth[a, b])])
        return x.ravel()[self.free]

    def has_azimuths(self, free):
        """Whether every leg whose direction was read has some run. Without any a direction is whatever
        one likes, and the sum there is no minimum: a tenth of a millimetre away it is hundreds."""
        x = self.whole(free)
        of_turns = self.groups.get("turn", {"nodes": numpy.empty((0, 4), int)})["nodes"]
        ends = numpy.concatenate([of_turns[:, :2], of_turns[:, 2:]])
        return len(ends) == 0 or numpy.linalg.norm((x[ends[:, 1]] - x[ends[:, 0]])[:, :2], axis=1).min() > 1e-3

    def least(self, seed):
        random = numpy.random.default_rng(seed)
        found = []
        for at in range(STARTS):
            start = self.start(random, blind=at % 3 == 0)
            best = least_squares(self.residuals, start, jac=self.derivatives, xtol=1e-10, ftol=1e-9,
                                 gtol=1e-10, max_nfev=150)
            if self.has_azimuths(best.x):
                found.append((2 * best.cost, best.x))
        if not found:  # from no start a minimum
            return float("inf"), self.whole(start), 0
        found.sort(key=lambda pair: pair[0])
        polished = least_squares(self.residuals, found[0][1], jac=self.derivatives, xtol=1e-15, ftol=1e-15,
                                 gtol=1e-15)
        near = sum(total < found[0][0] * 1.0001 + 1e-6 for total, _ in found)
        if not self.has_azimuths(polished.x):
            return found[0][0], self.whole(found[0][1]), int(near)
        return 2 * polished.cost, self.whole(polished.x), int(near)


def solved(pair):
    seed, case = pair
    total, x, near = Problem(case).least(seed)
    return {"protocol": case["protocol"], "trail": case["trail"], "settings": case["settings"],
            "anchors": case["anchors"], "digest": digest(case), "sum": total, "starts_that_found_it": near,
            "tool_sum": case["tool_sum"], "positions": [[round(c, 9) for c in p] for p in x.tolist()]}


def last_time():
    with open(FILE) as file:
        return json.load(file)["cases"]


def main():
    with open(sys.argv[1]) as file:
        models = json.load(file)
    compare = sys.argv[-1] == "--compare"
    known = {} if compare else {case["digest"]: case for case in last_time()}
    todo = [(seed, case) for seed, case in enumerate(models) if digest(case) not in known]
    anew = {}
    with Pool(2) as pool:
        for done, case in enumerate(pool.imap_unordered(solved, todo, chunksize=8), 1):
            anew[case["digest"]] = case
            if done % 500 == 0:
                print(f"{done} of {len(todo)} trails", file=sys.stderr, flush=True)
    cases = [{**known, **anew}[digest(case)] for case in models]
    if compare:
        protocols = {}
        for case in cases:
            above = not case["tool_sum"] <= case["sum"] * (1 + 1e-6) + 1e-4
            below = case["tool_sum"] < case["sum"] * (1 - 1e-6) - 1e-4
            row = protocols.setdefault(case["protocol"], [0, 0, 0])
            protocols[case["protocol"]] = [row[0] + 1, row[1] + above, row[2] + below]
            if above:
                print(case["protocol"], case["trail"], "tool", case["tool_sum"], "least", case["sum"])
        for protocol, (trails, above, below) in protocols.items():
            print(f"{protocol}: {trails} trails, the tool above in {above}, below in {below}")
        return
    for case in cases:
        case.pop("tool_sum", None)
    heading = {
        "what": "Least weighted sum of squares of made-up trails of 8 anchors by every protocol, and the positions there (east, north, up, metres)",
        "source": "protocol_minima.py, beside this file",
        "how_obtained": f"scipy {scipy.__version__} least_squares (trf), {STARTS} random starts a trail, numpy {numpy.__version__}",
        "verified": "the number of starts that reached the least sum stands with each",
        "cases": cases,
    }
    with open(FILE, "w") as file:
        lines = ",\n  ".join(json.dumps(case) for case in heading.pop("cases"))
        file.write(json.dumps(heading, indent=1)[:-2] + ',\n "cases": [\n  ' + lines + "\n ]\n}\n")


if __name__ == "__main__":
    main()
