"""Writes circular_two_samples.json. Run once with Python 3, numpy and scipy as named in the file."""
import itertools
import json
import math

import numpy
import scipy
from scipy import stats

WILLIAMS = {"first": [94, 65, 45, 52, 38, 47, 73, 82, 90, 40, 87],
            "second": [77, 70, 61, 45, 50, 35, 48, 65, 36]}
WATSON = {"first": [35, 45, 50, 55, 60, 70, 85, 95, 105, 120],
          "second": [75, 80, 90, 100, 110, 130, 135, 140, 150, 155, 165]}
TIED = {"first": [40, 45, 50, 55, 70, 80, 80, 95, 105, 110, 110, 120],
        "second": [30, 35, 50, 60, 65, 65, 75, 80, 90, 100]}
BATSCHELET = {"first": [-20] + [-10] * 7 + [0] * 2, "second": [-10] * 3 + [0] * 3 + [10] * 3 + [20]}
SMALL = {"first": [350, 10, 15, 40], "second": [20, 60, 75, 80, 95, 130]}


def u2(first, second):
    """Watson's U2 with ties: Zar 2010, equation 27.20; weights are how many lie at each value."""
    values = sorted(set(first) | set(second))
    n1, n2 = len(first), len(second)
    d, t = [], []
    for value in values:
        d.append(sum(x <= value for x in first) / n1 - sum(x <= value for x in second) / n2)
        t.append(first.count(value) + second.count(value))
    d, t, n = numpy.array(d), numpy.array(t), n1 + n2
    return n1 * n2 / n ** 2 * ((t * d * d).sum() - (t * d).sum() ** 2 / n)


def resultant(angles):
    a = numpy.radians(angles)
    return numpy.hypot(numpy.cos(a).sum(), numpy.sin(a).sum())


def direction(angles):
    a = numpy.radians(angles)
    return math.degrees(math.atan2(numpy.sin(a).sum(), numpy.cos(a).sum()))


def studentised(first, second):
    """t of the difference of mean directions, and its size on the scale of the normal."""
    centre, variance, n = [], [], []
    for angles in (first, second):
        r = resultant(angles) / len(angles)
        centre.append(math.radians(direction(angles)))
        variance.append(2 * (1 - r) / (r * (len(angles) - 1)))
        n.append(len(angles))
    t = 2 * math.sin((centre[0] - centre[1]) / 2) / math.sqrt(sum(variance))
    nu = sum(variance) ** 2 / sum(v * v / (k - 1) for v, k in zip(variance, n))
    z = (8 * nu + 1) / (8 * nu + 3) * math.sqrt(nu * math.log1p(t * t / nu))
    return t, z


def williams(first, second):
    """F of Watson and Williams; kappa of the mean resultant length by its exact equation."""
    n, r = len(first) + len(second), [resultant(first), resultant(second)]
    mean = sum(r) / n
    ratio = lambda k: scipy.special.ive(1, k) / scipy.special.ive(0, k) - mean
    kappa = scipy.optimize.brentq(ratio, 1e-6, 1e4)
    return (1 + 3 / (8 * kappa)) * (n - 2) * (sum(r) - resultant(first + second)) / (n - sum(r))


def by_labels(statistic, first, second):
    both = first + second
    far = statistic(first, second) * (1 - 1e-9)
    picks = list(itertools.combinations(range(len(both)), len(first)))
    count = 0
    for pick in picks:
        chosen = set(pick)
        count += int(statistic([both[i] for i in pick],
                           [x for i, x in enumerate(both) if i not in chosen]) >= far)
    return count, len(picks)


def case(name, citation, data, published, arrange):
    first, second = data["first"], data["second"]
    n = len(first) + len(second)
    f = williams(first, second)
    found = {"U2": u2(first, second), "F": f, "p_F": stats.f.sf(f, 1, n - 2),
             "difference_deg": (direction(first) - direction(second) + 180) % 360 - 180,
             "t": studentised(first, second)[0]}
    if arrange:
        found["U2_as_large"], found["arrangements"] = by_labels(u2, first, second)
        found["t_as_large"], _ = by_labels(lambda a, b: studentised(a, b)[1], first, second)
    return {"id": name, "citation": citation, **data, "published": published, "recomputed": found}


print(json.dumps({
    "what": "two samples of directions in degrees: Watson's U2 with ties, F of Watson and Williams, the "
            "difference of mean directions and its t, and how many arrangements of the labels are as far out",
    "source": "per case; data and printed values of Zar read in a stored copy of a public test suite that "
              "cites his pages",
    "how_obtained": f"circular_two_samples.py, beside this file; numpy {numpy.__version__}, scipy {scipy.__version__}",
    "verified": "U2 and F agree with the printed values to a unit of their last digit (Zar rounds d before squaring: 0.1458 for 0.14574)",
    "cases": [
        case("zar-watson", "Zar 2010, example 27.9: U2 0.1458, 0.1 < p < 0.2", WATSON,
             {"U2": 0.1458, "p_low": 0.1, "p_high": 0.2}, False),
        case("zar-watson-ties", "Zar 2010, example 27.10: U2 0.0612, p > 0.5", TIED,
             {"U2": 0.0612, "p_low": 0.5, "p_high": 1.0}, False),
        case("zar-williams", "Zar 2010, example 27.7: F 1.61", WILLIAMS, {"F": 1.61}, False),
        case("batschelet-williams", "Batschelet 1981, p. 99 (data and F read in a stored test of a public package, which prints 8.7329 by a series for kappa)", BATSCHELET, {"F": 8.7}, False),
        case("ten", "invented", SMALL, {}, True),
    ]}, indent=1))
