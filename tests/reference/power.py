"""Writes power.json. Run once with Python 3.11 and the packages named in the file."""
import json

import numpy
import pandas
import scipy
import statsmodels
import statsmodels.formula.api as formulas
from scipy import stats
from statsmodels.stats.power import TTestIndPower, TTestPower

# Cohen 1988, two-sided 0.05, power 0.80: animals of each group.
COHEN = [(0.2, 393), (0.5, 64), (0.8, 26)]
UNEQUAL = [(10, 5), (20, 8), (10, 10), (5, 5), (3, 12)]
# Sokal & Rohlf, Biometry: widths of the scutum of tick larvae from four rabbits.
TICKS = [
    [380, 376, 360, 368, 372, 366, 374, 382],
    [350, 356, 358, 376, 338, 342, 366, 350, 344, 364],
    [354, 360, 362, 352, 366, 372, 362, 344, 342, 358, 351, 348, 348],
    [376, 344, 342, 372, 374, 360],
]
BALANCED = [[61, 70, 66], [48, 55, 45], [80, 71, 78], [58, 66, 70], [52, 50, 60]]
# Two groups, unequal nights, an error for each value.
UNBALANCED = [
    (0, 0, [(41, 3), (52, 4)]), (0, 1, [(60, 5)]), (0, 2, [(35, 2), (47, 6), (30, 3)]),
    (0, 3, [(72, 4), (66, 5)]), (1, 0, [(20, 1), (31, 2)]), (1, 1, [(44, 2), (28, 3), (39, 6)]),
]


def two_groups():
    test = TTestIndPower()
    return [{"sizes": [a, b], "d": d, "power": test.power(d, a, 0.05, ratio=b / a)}
            for a, b in UNEQUAL for d in (0.5, 1.0, 1.5, 2.0)]


def noncentral():
    """The same by the noncentral t itself, for one of them."""
    a, b, d = 10, 5, 1.5
    nu, far = a + b - 2, d * numpy.sqrt(a * b / (a + b))
    t = stats.t.ppf(0.975, nu)
    return {"sizes": [a, b], "d": d,
            "power": stats.nct.sf(t, nu, far) + stats.nct.cdf(-t, nu, far)}


def anova(groups):
    """Mean squares and both variances; the effective number of nights."""
    n = numpy.array([len(g) for g in groups])
    means = numpy.array([numpy.mean(g) for g in groups])
    every = numpy.concatenate([numpy.array(g, float) for g in groups])
    within = sum(((numpy.array(g) - m) ** 2).sum() for g, m in zip(groups, means)) / (n.sum() - len(n))
    between = (n * (means - every.mean()) ** 2).sum() / (len(n) - 1)
    nights = (n.sum() - (n ** 2).sum() / n.sum()) / (len(n) - 1)
    return {"values": groups, "between": between, "within": within, "nights": nights,
            "animal": numpy.sqrt(max(0, between - within) / nights), "night": numpy.sqrt(within)}


def reml(groups):
    rows = [{"animal": i, "y": y} for i, g in enumerate(groups) for y in g]
    fit = formulas.mixedlm("y ~ 1", pandas.DataFrame(rows), groups="animal").fit(reml=True)
    return {"values": groups, "animal": numpy.sqrt(fit.cov_re.iloc[0, 0]), "night": numpy.sqrt(fit.scale)}


def quadratic_forms():
    """The sums of squares as y'Ay, their expectations as tr(A V): two equations in two variances."""
    rows = [(g, (g, a), y, se) for g, a, nights in UNBALANCED for y, se in nights]
    y = numpy.array([r[2] for r in rows], float)
    error = numpy.diag([float(r[3]) ** 2 for r in rows])
    onto = lambda keys: numpy.array([[1 / keys.count(k) if k == l else 0 for l in keys] for k in keys])
    group, animal = onto([r[0] for r in rows]), onto([r[1] for r in rows])
    same = numpy.array([[float(k[1] == l[1]) for l in rows] for k in rows])
    forms = [animal - group, numpy.eye(len(y)) - animal]
    left = [[numpy.trace(a @ same), numpy.trace(a)] for a in forms]
    right = [y @ a @ y - numpy.trace(a @ error) for a in forms]
    variances = numpy.linalg.solve(left, right)
    return {"rows": [[g, a, i, v, se] for g, a, nights in UNBALANCED for i, (v, se) in enumerate(nights)],
            "animal": numpy.sqrt(variances[0]), "night": numpy.sqrt(variances[1]),
            "measurement": numpy.sqrt(numpy.trace(error) / len(y))}


def upper(values, nights):
    """The upper 80 % limit of the variance of a mean of so many nights (Burdick & Graybill)."""
    found = anova(values)
    nu = [len(values) - 1, sum(map(len, values)) - len(values)]
    a, share = found["between"] / found["nights"], 1 / nights - 1 / found["nights"]
    b = share * found["within"]
    h = [n / stats.chi2.ppf(0.2, n) - 1 for n in nu]
    g = 1 - nu[1] / stats.chi2.ppf(0.8, nu[1])
    return {"values": values, "nights": nights,
            "sd": numpy.sqrt(a + b + numpy.hypot(h[0] * a, (h[1] if share > 0 else g) * b))}


case = {
    "cohen": [{"d": d, "n": n, "power": 0.80, "exact": TTestIndPower().power(d, n, 0.05)} for d, n in COHEN],
    "two_groups": two_groups(),
    "noncentral": noncentral(),
    "pairs": [{"pairs": n, "d": d, "power": TTestPower().power(d, n, 0.05)}
              for n in (6, 10, 20, 34) for d in (0.5, 1.0, 1.5)],
    "ticks": {**anova(TICKS), "printed": {"between": 602.6, "within": 114.5, "nights": 9.009, "animal_squared": 54.190}},
    "balanced": reml(BALANCED),
    "unbalanced": quadratic_forms(),
    "upper": [upper(BALANCED, m) for m in (1, 2, 3, 6)] + [upper(TICKS, m) for m in (2, 20)],
    "factors": [{"degrees_of_freedom": n, "factor": n / stats.chi2.ppf(0.2, n)} for n in (1, 3, 4, 5, 12, 60)],
}
with open("power.json", "w") as file:
    json.dump({
        "what": "Power of t tests, variance components of pilots, upper limits of variances",
        "source": "Cohen 1988 (power 0.80 at two-sided 0.05; as given by two public tables that cite him); "
                  "tick larvae: Sokal & Rohlf, Biometry (values confirmed in a public copy, printed results from memory); "
                  f"else invented numbers; numpy {numpy.__version__}, scipy {scipy.__version__}, "
                  f"statsmodels {statsmodels.__version__}",
        "how_obtained": "power.py, beside this file",
        "verified": "printed values agree with the computed ones",
        "cases": [case],
    }, file, indent=1)
    file.write("\n")
