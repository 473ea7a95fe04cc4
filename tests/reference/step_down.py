"""Writes step_down.json. Run once with Python 3, numpy and scipy as named in the file."""
import itertools
import json

import numpy
import scipy
from scipy import stats

NONE = None
TWO = {"first": [1, 1, 1, 1, 0, 0, 0, 0, 0],
       "values": [[5.1, 6.3, 4.9, 7.7, 3.2, 4.1, 2.0, 3.9, 5.0],
                  [2.2, 3.1, 1.9, 4.4, 2.0, 2.5, NONE, 1.1, 3.6],
                  [9.0, NONE, 8.1, 9.9, 9.3, 2.2, 7.1, 6.4, NONE]]}
SIGNS = [[1.2, 0.4, 0.3], [0.8, -0.1, 2.0], [2.1, 0.9, NONE], [-0.2, 0.6, 1.1], [1.7, 0.2, 0.1], [0.9, NONE, 0.7]]


def z(values, picked):
    """Welch's t by scipy and its size on the scale of the normal; None of fewer than two in a group."""
    a = [x for i, x in enumerate(values) if x is not None and i in picked]
    b = [x for i, x in enumerate(values) if x is not None and i not in picked]
    if min(len(a), len(b)) < 2:
        return None, None
    found = stats.ttest_ind(a, b, equal_var=False)
    t, nu = found.statistic, found.df
    return t, (8 * nu + 1) / (8 * nu + 3) * numpy.sqrt(nu * numpy.log1p(t * t / nu))


def adjust(observed, table):
    """p and adjusted p, by the words of the module: each step over again, nothing counted on the way."""
    order = sorted(range(len(observed)), key=lambda k: -observed[k])
    p, adjusted, highest = {}, {}, 0
    for step, k in enumerate(order):
        bar = observed[k] * (1 - 1e-9)
        own = [row for row in table if row[k] is not None]
        p[k] = sum(row[k] >= bar for row in own) / len(own)
        largest = lambda row: max([row[j] for j in order[step:] if row[j] is not None], default=0)
        share = lambda rows: sum(largest(row) >= bar for row in rows) / len(rows)
        highest = max(highest, share(own), share(table))
        adjusted[k] = highest
    return [p[k] for k in range(len(observed))], [adjusted[k] for k in range(len(observed))]


def two():
    n, size = len(TWO["first"]), sum(TWO["first"])
    own = {i for i, f in enumerate(TWO["first"]) if f}
    table = [[z(v, set(pick))[1] for v in TWO["values"]] for pick in itertools.combinations(range(n), size)]
    p, adjusted = adjust([z(v, own)[1] for v in TWO["values"]], table)
    return {**TWO, "t": [z(v, own)[0] for v in TWO["values"]], "p": p, "p_adjusted": adjusted}


def signs():
    d = numpy.array([[0 if x is None else x for x in row] for row in SIGNS])
    root = numpy.sqrt((d * d).sum(0))
    table = [(abs(numpy.array(s) @ d) / root).tolist() for s in itertools.product([1, -1], repeat=len(d))]
    p, adjusted = adjust((abs(d.sum(0)) / root).tolist(), table)
    return {"rows": SIGNS, "p": p, "p_adjusted": adjusted}


print(json.dumps({"what": "step-down max T over all arrangements of labels, and over all sign flips, with missing values",
                  "source": f"invented numbers; scipy {scipy.__version__}, numpy {numpy.__version__}",
                  "how_obtained": "step_down.py, beside this file", "verified": "agrees with the program's own enumeration",
                  "cases": [{"two": two(), "signs": signs()}]}, indent=1))
