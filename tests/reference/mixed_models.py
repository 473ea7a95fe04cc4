"""Writes mixed_models.json. Run once with Python 3.11, numpy, scipy and statsmodels as named in the file.

The fits are those of a dense restricted likelihood, written out below without any block structure; the printed
values stand beside them, and statsmodels' own fits where it has them.
"""
import json
import sys

import numpy
import pandas
import scipy
import statsmodels
import statsmodels.formula.api as formula
from scipy import optimize
from statsmodels.stats.meta_analysis import combine_effects

REACTION = [  # one row a subject, days 0 to 9
    [249.5600, 258.7047, 250.8006, 321.4398, 356.8519, 414.6901, 382.2038, 290.1486, 430.5853, 466.3535],
    [222.7339, 205.2658, 202.9778, 204.7070, 207.7161, 215.9618, 213.6303, 217.7272, 224.2957, 237.3142],
    [199.0539, 194.3322, 234.3200, 232.8416, 229.3074, 220.4579, 235.4208, 255.7511, 261.0125, 247.5153],
    [321.5426, 300.4002, 283.8565, 285.1330, 285.7973, 297.5855, 280.2396, 318.2613, 305.3495, 354.0487],
    [287.6079, 285.0000, 301.8206, 320.1153, 316.2773, 293.3187, 290.0750, 334.8177, 293.7469, 371.5811],
    [234.8606, 242.8118, 272.9613, 309.7688, 317.4629, 309.9976, 454.1619, 346.8311, 330.3003, 253.8644],
    [283.8424, 289.5550, 276.7693, 299.8097, 297.1710, 338.1665, 332.0265, 348.8399, 333.3600, 362.0428],
    [265.4731, 276.2012, 243.3647, 254.6723, 279.0244, 284.1912, 305.5248, 331.5229, 335.7469, 377.2990],
    [241.6083, 273.9472, 254.4907, 270.8021, 251.4519, 254.6362, 245.4523, 235.3110, 235.7541, 237.2466],
    [312.3666, 313.8058, 291.6112, 346.1222, 365.7324, 391.8385, 404.2601, 416.6923, 455.8643, 458.9167],
    [236.1032, 230.3167, 238.9256, 254.9220, 250.7103, 269.7744, 281.5648, 308.1020, 336.2806, 351.6451],
    [256.2968, 243.4543, 256.2046, 255.5271, 268.9165, 329.7247, 379.4445, 362.9184, 394.4872, 389.0527],
    [250.5265, 300.0576, 269.8939, 280.5891, 271.8274, 304.6336, 287.7466, 266.5955, 321.5418, 347.5655],
    [221.6771, 298.1939, 326.8785, 346.8555, 348.7402, 352.8287, 354.4266, 360.4326, 375.6406, 388.5417],
    [271.9235, 268.4369, 257.2424, 277.6566, 314.8222, 317.2135, 298.1353, 348.1229, 340.2800, 366.5131],
    [225.2640, 234.5235, 238.9008, 240.4730, 267.5373, 344.1937, 281.1481, 347.5855, 365.1630, 372.2288],
    [269.8804, 272.4428, 277.8989, 281.7895, 279.1705, 284.5120, 259.2658, 304.6306, 350.7807, 369.4692],
    [269.4117, 273.4740, 297.5968, 310.6316, 287.1726, 329.6076, 334.4818, 343.2199, 369.1417, 364.1236],
]
DYESTUFF = [  # one row a batch
    [1545, 1440, 1440, 1520, 1580], [1540, 1555, 1490, 1560, 1495], [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545], [1595, 1630, 1515, 1635, 1625], [1520, 1455, 1450, 1480, 1445],
]
BCG = [  # cases and others, vaccinated; cases and others, not vaccinated
    [4, 119, 11, 128], [6, 300, 29, 274], [3, 228, 11, 209], [62, 13536, 248, 12619], [33, 5036, 47, 5761],
    [180, 1361, 372, 1079], [8, 2537, 10, 619], [505, 87886, 499, 87892], [29, 7470, 45, 7232],
    [17, 1699, 65, 1600], [186, 50448, 141, 27197], [5, 2493, 3, 2338], [27, 16886, 29, 17825],
]


def table(lists):
    rows = [(i, float(y), float(j)) for i, own in enumerate(lists) for j, y in enumerate(own)]
    animal, y, x = map(numpy.array, zip(*rows))
    return animal, y, x


def fit(animal, y, se, columns):
    """Both variances, coefficients, their standard errors and the restricted log-likelihood, by dense matrices."""
    X = numpy.column_stack([numpy.ones(len(y)), *columns])
    same = (animal[:, None] == animal[None, :]).astype(float)
    n, p = X.shape

    def at(sds):
        V = sds[0] ** 2 * same + numpy.diag(sds[1] ** 2 + se**2)
        inverse = numpy.linalg.inv(V)
        M = X.T @ inverse @ X
        beta = numpy.linalg.solve(M, X.T @ inverse @ y)
        r = y - X @ beta
        log = -0.5 * (numpy.linalg.slogdet(V)[1] + numpy.linalg.slogdet(M)[1] + r @ inverse @ r
                      + (n - p) * numpy.log(2 * numpy.pi))
        return log, beta, numpy.sqrt(numpy.diag(numpy.linalg.inv(M)))

    separable = same.sum() > n
    unit = y.std()
    whole = lambda s: (abs(s[0]) * unit, abs(s[1]) * unit) if separable else (0.0, abs(s[0]) * unit)
    starts = [(a, e) for a in (0.1, 0.5, 1.0) for e in (0.1, 0.5, 1.0)]
    tried = [optimize.minimize(lambda s: -at(whole(s))[0], start if separable else start[:1], method="Nelder-Mead",
                               options={"xatol": 1e-10, "fatol": 1e-12, "maxiter": 4000}) for start in starts]
    best = min(tried, key=lambda found: found.fun)
    sds = whole(best.x)
    log, beta, errors = at(sds)
    return {"sd_animals": sds[0], "sd_nights": sds[1], "log_likelihood": log, "coefficients": list(beta),
            "standard_errors": list(errors)}


def case(name, source, animal, y, se, columns, printed):
    found = fit(animal, y, se, columns)
    rows = [{"animal": int(a), "value": v, "standard_error": s, "predictors": [float(c[k]) for c in columns]}
            for k, (a, v, s) in enumerate(zip(animal, y, se))]
    return {"name": name, "source": source, "printed": printed, "computed": found, "nights": rows}


def sleepstudy():
    animal, y, x = table(REACTION)
    frame = pandas.DataFrame({"animal": animal, "y": y, "x": x})
    other = formula.mixedlm("y ~ x", frame, groups="animal").fit(reml=True)
    print("statsmodels sleepstudy", other.fe_params.values, other.bse_fe.values,
          numpy.sqrt([other.cov_re.iloc[0, 0], other.scale]), -2 * other.llf, file=sys.stderr)
    return case(
        "reaction times", "Belenky et al. 2003, J. Sleep Res. 12: 1-12, as the data set sleepstudy of lme4; printed: "
        "summary of lmer(Reaction ~ Days + (1 | Subject))", animal, y, numpy.zeros(len(y)), [x],
        {"coefficients": [251.4051, 10.4673], "standard_errors": [9.7467, 0.8042], "sd_animals": 37.12,
         "sd_nights": 30.99, "criterion": 1786.465})


def dyestuff():
    animal, y, x = table(DYESTUFF)
    other = formula.mixedlm("y ~ 1", pandas.DataFrame({"animal": animal, "y": y}), groups="animal").fit(reml=True)
    print("statsmodels dyestuff", other.fe_params.values, other.bse_fe.values,
          numpy.sqrt([other.cov_re.iloc[0, 0], other.scale]), -2 * other.llf, file=sys.stderr)
    return case(
        "yields of dyestuff", "Davies & Goldsmith 1972, Statistical Methods in Research and Production, "
        "as the data set Dyestuff of lme4; printed: summary of lmer(Yield ~ 1 + (1 | Batch))",
        animal, y, numpy.zeros(len(y)), [],
        {"coefficients": [1527.5], "standard_errors": [19.3834], "sd_animals": 42.00, "sd_nights": 49.51,
         "criterion": 319.6543})


def bcg():
    cells = numpy.array(BCG, float)
    treated, control = cells[:, :2].sum(1), cells[:, 2:].sum(1)
    y = numpy.log(cells[:, 0] / treated) - numpy.log(cells[:, 2] / control)
    se = numpy.sqrt(1 / cells[:, 0] - 1 / treated + 1 / cells[:, 2] - 1 / control)
    one = case(
        "trials of the BCG vaccine", "Colditz et al. 1994, JAMA 271: 698-702; printed: tau^2 0.3132 and the estimate "
        "of metafor's rma(method = 'REML'), documentation of the data set dat.bcg", numpy.arange(13), y, se, [],
        {"coefficients": [-0.7145], "standard_errors": [0.1798], "sd_together_squared": 0.3132})
    found = combine_effects(y, se**2, method_re="iterated", use_t=True, row_names=None)
    w = 1 / (se**2 + one["computed"]["sd_nights"] ** 2)
    mean = (w * y).sum() / w.sum()
    q = (w * (y - mean) ** 2).sum() / 12
    reach = scipy.stats.t.ppf(0.975, 12) * numpy.sqrt(q / w.sum())
    one["computed"]["standard_error_scaled"] = float(numpy.sqrt(q / w.sum()))
    one["computed"]["interval_students_t"] = [mean - reach, mean + reach]
    print("statsmodels bcg, Paule-Mandel tau2", found.tau2, file=sys.stderr)
    return one


def uneven():
    """Made up: nights of unequal number, some with stated errors, a predictor between and one within animals."""
    random = numpy.random.default_rng(3)
    counts = [1, 4, 2, 3, 1, 5]
    animal = numpy.repeat(numpy.arange(6), counts)
    group = (animal % 2).astype(float)
    x = numpy.round(random.normal(10, 3, len(animal)), 1)
    se = numpy.round(random.uniform(0.2, 1.5, len(animal)), 2)
    level = random.normal(0, 1.5, 6)
    y = numpy.round(20 + 2 * group + 0.3 * x + level[animal] + random.normal(0, 1, len(animal))
                    + se * random.normal(0, 1, len(animal)), 2)
    return case("uneven nights with stated errors", "invented numbers", animal, y, se, [group, x], {})


print(json.dumps({
    "what": "Fits by restricted maximum likelihood of values repeated within animals (subjects, batches, trials), "
            "with known errors of measurement or none",
    "source": f"with each case; computed by numpy {numpy.__version__}, scipy {scipy.__version__}, checked against "
              f"statsmodels {statsmodels.__version__}",
    "how_obtained": "mixed_models.py, beside this file",
    "verified": "the computed values round to the printed ones",
    "cases": [sleepstudy(), dyestuff(), bcg(), uneven()],
}, indent=1))
