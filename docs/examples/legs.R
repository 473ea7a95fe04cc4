# Do legs up in the trees differ in length from those on the ground?
# A mixed model on legs.csv: one animal's legs are no independent data, so that the animal is a
# random effect.
#   Rscript legs.R dormice-results
library(nlme) # comes with R

results <- commandArgs(trailingOnly = TRUE)[1]
legs <- read.csv(file.path(results, "legs.csv"), na.strings = "")
legs <- subset(legs, counted == "yes" & part == "after_escape" & !is.na(height_m) & length_m > 0)
legs$above <- legs$height_m > 0.3

model <- lme(log(length_m) ~ above, random = ~ 1 | animal, data = legs)
estimate <- summary(model)$tTable["aboveTRUE", ]
cat(sprintf("%d legs of %d trails of %d animals\n", nrow(legs), length(unique(legs$trail)),
            length(unique(legs$animal))))
cat(sprintf("legs above ground are %.2f times as long (95 %% interval %.2f to %.2f)\n",
            exp(estimate["Value"]),
            exp(estimate["Value"] - qt(0.975, estimate["DF"]) * estimate["Std.Error"]),
            exp(estimate["Value"] + qt(0.975, estimate["DF"]) * estimate["Std.Error"])))
print(VarCorr(model)) # between animals and between legs; the animals of the demo, invented, do not differ
# Look at plot(model) before you believe it. Where one leg ends is your marking rule.
