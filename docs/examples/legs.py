"""Do legs up in the trees differ in length from those on the ground?

A mixed model on legs.csv: one animal's legs are no independent data, so that the animal is a random
effect.
    pip install pandas statsmodels
    python legs.py dormice-results
"""

import sys
from pathlib import Path

import numpy as np
import pandas as pd
import statsmodels.formula.api as smf

legs = pd.read_csv(Path(sys.argv[1]) / "legs.csv", dtype={"animal": str, "trail": str})
legs = legs[(legs.counted == "yes") & (legs.part == "after_escape") & legs.height_m.notna()]
legs = legs[legs.length_m > 0].assign(
    log_length=lambda rows: np.log(rows.length_m), above=lambda rows: (rows.height_m > 0.3).astype(int)
)

model = smf.mixedlm("log_length ~ above", legs, groups="animal").fit()
low, high = model.conf_int().loc["above"]
print(f"{len(legs)} legs of {legs.trail.nunique()} trails of {legs.animal.nunique()} animals")
print(
    f"legs above ground are {np.exp(model.params['above']):.2f} times as long "
    f"(95 % interval {np.exp(low):.2f} to {np.exp(high):.2f})"
)
print(model.summary())  # Group Var is between animals; those of the demo, invented, do not differ
# Look at the residuals before you believe it. Where one leg ends is your marking rule.
