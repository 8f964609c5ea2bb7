# Twelve REML fits and a parametric bootstrap of 200 draws in R, with lme4; we know of no faster form in R.
source(file.path(dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE))), "timing.R"))
suppressPackageStartupMessages(library(lme4))
benches <- lapply(0:11, function(i) {
  d <- read.csv(file.path(dir, paste0("bench-", i, ".csv")), header = FALSE)
  names(d) <- c("y", "shoe", "operator"); d
})
set.seed(1)
fits <- timed("natural", function() {
  fits <- lapply(benches, function(d)
    suppressMessages(lmer(y ~ (1 | shoe) + (1 | operator) + (1 | shoe:operator), d)))
  suppressMessages(bootMer(fits[[1]], function(m) as.data.frame(VarCorr(m))$vcov, nsim = 200))
  fits
})
numbers(vapply(fits, REMLcrit, 0))
