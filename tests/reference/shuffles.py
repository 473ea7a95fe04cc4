"""Writes shuffles.json. Run once with Python 3.11, numpy and scipy as named in the file."""
import itertools
import json

import numpy
import scipy
from scipy import stats

RAIN = [0.0, 0.0, 2.4, 7.8, 0.6, 0.0, 11.2, 3.0]
METRES = [91.2, 54.7, 86.4, 40.1, 61.3, 70.3, 33.0, 58.9]
TIED = {"first": [3, 5, 5, 8, 9, 9], "second": [1, 3, 3, 5, 6]}
THREE = [[1, 2, 2, 5], [2, 6, 7], [5, 8, 9]]


def spearman():
    rho = stats.spearmanr(RAIN, METRES).statistic
    slope = stats.linregress(RAIN, METRES).slope
    x, y = stats.rankdata(RAIN), stats.rankdata(METRES)
    far = abs(numpy.dot(x - x.mean(), y - y.mean())) - 1e-9
    sums = (abs(numpy.dot(x - x.mean(), numpy.array(p) - y.mean())) for p in itertools.permutations(y))
    counts = [s >= far for s in sums]
    return {"x": RAIN, "y": METRES, "rho": rho, "slope": slope,
            "p_two_sided": sum(counts) / len(counts), "arrangements": len(counts)}


def tied():
    first, second = TIED["first"], TIED["second"]
    ranks = stats.rankdata(first + second)
    test = stats.permutation_test(
        (ranks[: len(first)], ranks[len(first):]),
        lambda a, b: abs(numpy.mean(a) - numpy.mean(b)),
        n_resamples=numpy.inf, alternative="greater")
    u = stats.mannwhitneyu(first, second).statistic
    return {**TIED, "U_first": u, "p_two_sided": test.pvalue}


def welch():
    first, second = [19, 22, 16, 29, 24], [20, 11, 17, 12, 15, 16, 14]
    # As far out as t is by its own degrees of freedom.
    p_of_t = lambda a, b: stats.ttest_ind(a, b, equal_var=False).pvalue
    test = stats.permutation_test((first, second), p_of_t, n_resamples=numpy.inf,
                                  alternative="less")
    t = stats.ttest_ind(first, second, equal_var=False).statistic
    return {"first": first, "second": second, "t": t, "p_two_sided": test.pvalue,
            "arrangements": len(test.null_distribution)}


def kruskal():
    found = stats.kruskal(*THREE)
    test = stats.permutation_test(
        THREE, lambda *groups: stats.kruskal(*groups).statistic,
        n_resamples=numpy.inf, alternative="greater", permutation_type="independent")
    return {"groups": THREE, "H": found.statistic, "p_exact": test.pvalue}


print(json.dumps({
    "what": "Spearman's rho with its exact two-sided p, a slope, Mann-Whitney with ties by all "
            "arrangements of the ranks, Kruskal-Wallis with ties and Welch's t by all arrangements",
    "source": f"invented numbers; scipy {scipy.__version__}, numpy {numpy.__version__}",
    "how_obtained": "shuffles.py, beside this file",
    "verified": "agrees with the program's own enumeration",
    "cases": [{"spearman": spearman(), "tied": tied(), "kruskal": kruskal(), "welch": welch()}],
}, indent=1))
