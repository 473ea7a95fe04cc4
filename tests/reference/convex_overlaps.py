"""Writes convex_overlaps.json. Run once with Python 3 and shapely as named in the file.

Areas of hulls and of what two hulls share, by shapely (GEOS), of points drawn by a linear congruence with
two decimals. Where fractions can be used, the same by clipping in exact fractions of Python."""
import json
import sys
from fractions import Fraction

import shapely
from shapely.geometry import MultiPoint


def points(seed, count, east, north, spread):
    """Numbers of two decimals about (east, north)."""
    out = []
    for _ in range(2 * count):
        seed = (1103515245 * seed + 12345) % 2**31
        out.append(round((seed / 2**31 - 0.5) * spread, 2))
    return [[round(east + a, 2), round(north + b, 2)] for a, b in zip(out[::2], out[1::2])]


def exact(a, b):
    """The area that two convex polygons share, in fractions: corners of either inside the other and
    crossings of sides, then their hull."""
    a, b = [[tuple(Fraction(str(x)) for x in p) for p in q] for q in (a, b)]

    def cross(o, p, q):
        return (p[0] - o[0]) * (q[1] - o[1]) - (p[1] - o[1]) * (q[0] - o[0])

    def sides(p):
        return list(zip(p, p[1:] + p[:1]))

    def inside(p, q):
        return all(cross(s, t, p) >= 0 for s, t in sides(q))

    found = {p for p in a if inside(p, b)} | {p for p in b if inside(p, a)}
    for p, q in sides(a):
        for r, s in sides(b):
            d = (q[0] - p[0]) * (s[1] - r[1]) - (q[1] - p[1]) * (s[0] - r[0])
            if d == 0:
                continue
            t = ((r[0] - p[0]) * (s[1] - r[1]) - (r[1] - p[1]) * (s[0] - r[0])) / d
            u = ((r[0] - p[0]) * (q[1] - p[1]) - (r[1] - p[1]) * (q[0] - p[0])) / d
            if 0 <= t <= 1 and 0 <= u <= 1:
                found.add((p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])))
    hull = corners(list(found))
    return abs(sum(p[0] * q[1] - q[0] * p[1] for p, q in sides(hull))) / 2 if hull else Fraction(0)


def corners(of):
    """Corners of a hull, counter-clockwise, by gift wrapping in exact numbers."""
    of = sorted(set(of))
    if len(of) < 3:
        return of
    out, at = [], of[0]
    while True:
        out.append(at)
        nxt = of[0] if of[0] != at else of[1]
        for p in of:
            c = (nxt[0] - at[0]) * (p[1] - at[1]) - (nxt[1] - at[1]) * (p[0] - at[0])
            far = (p[0] - at[0]) ** 2 + (p[1] - at[1]) ** 2 > (nxt[0] - at[0]) ** 2 + (nxt[1] - at[1]) ** 2
            if p != at and (c < 0 or (c == 0 and far)):
                nxt = p
        at = nxt
        if at == out[0]:
            return out


def case(name, a, b):
    ha, hb = (MultiPoint(p).convex_hull for p in (a, b))
    shared = ha.intersection(hb).area if ha.area and hb.area else 0.0
    ca, cb = (corners([tuple(Fraction(str(x)) for x in p) for p in q]) for q in (a, b))
    if len(ca) > 2 and len(cb) > 2:
        of = float(exact([[str(x) for x in map(float, p)] for p in ca], [[str(x) for x in map(float, p)] for p in cb]))
        assert abs(of - shared) < 1e-9 * max(1, shared), (name, of, shared)
        shared = of
    return {"id": name, "a": a, "b": b, "area_a": ha.area, "area_b": hb.area, "shared": shared}


square = [[0, 0], [4, 0], [4, 4], [0, 4]]
cases = [
    case("two-squares", square, [[2, 1], [6, 1], [6, 5], [2, 5]]),
    case("triangle-in-square", square, [[1, 1], [3, 1], [2, 3]]),
    case("the-same", square, square),
    case("disjoint", square, [[5, 0], [9, 0], [9, 4], [5, 4]]),
    case("touching-side", square, [[4, 0], [8, 0], [8, 4], [4, 4]]),
    case("touching-corner", square, [[4, 4], [8, 4], [8, 8], [4, 8]]),
    case("side-in-side", square, [[0, 1], [2, 1], [2, 3], [0, 3]]),
    case("star-of-two-triangles", [[0, 0], [6, 0], [3, 5]], [[0, 3], [6, 3], [3, -2]]),
]
for k in range(12):
    a = points(7 + k, 5 + 3 * k, 0, 0, 60)
    b = points(100 + k, 4 + 2 * k, 5 * k, -3 * k, 40 + 5 * k)
    cases.append(case(f"points-{k}", a, b))
far = [[500000.25 + x, 5100000.5 + y] for x, y in points(55, 30, 0, 0, 50)]
cases.append(case("far-from-the-origin", far, [[x + 11.5, y - 6.25] for x, y in far]))
about = {
    "what": "Areas of two convex hulls and of what they share, m²",
    "source": "general geometry",
    "how_obtained": f"convex_overlaps.py, Python {sys.version.split()[0]}: hulls and areas by shapely "
    f"{shapely.__version__} (GEOS {'.'.join(map(str, shapely.geos_version))}), what is shared by clipping in "
    "exact fractions",
    "verified": "shapely's own intersection agrees to 1e-9",
}
head = json.dumps(about, ensure_ascii=False, indent=1)[:-2]
rows = ",\n".join("  " + json.dumps(case) for case in cases)
with open("convex_overlaps.json", "w") as file:
    file.write(f'{head},\n "cases": [\n{rows}\n ]\n}}\n')
