# Six ICC forms of twelve tables in R: psych on each resample, and mean squares of all resamples at once.
source(file.path(dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE))), "timing.R"))
suppressPackageStartupMessages(library(psych))
tables <- lapply(0:11, function(i) input(paste0("table-", i))); B <- 2000

set.seed(1)
timed("natural", function() {
  for (b in 1:100) { i <- sample(60, replace = TRUE); ICC(tables[[1]][i, ], lmer = FALSE)$results }
}, share = 100 / (12 * (B + 1)))

six <- function(ss, sr, se, n, k) { # sums of squares: subjects, raters, the rest; one column a resample
  msb <- ss / (n - 1); msj <- sr / (k - 1); mse <- se / ((n - 1) * (k - 1)); msw <- (sr + se) / (n * (k - 1))
  rbind((msb - msw) / (msb + (k - 1) * msw), (msb - mse) / (msb + (k - 1) * mse + k * (msj - mse) / n),
        (msb - mse) / (msb + (k - 1) * mse), (msb - msw) / msb, (msb - mse) / (msb + (msj - mse) / n), (msb - mse) / msb)
}
boot <- timed("tuned", function() lapply(tables, function(x) {
  n <- nrow(x); k <- ncol(x)
  N <- apply(matrix(sample.int(n, n * B, replace = TRUE), n), 2, tabulate, n)
  sums <- crossprod(cbind(x, rowSums(x)^2, rowSums(x^2)), N) # columns, squared rows, squares
  total <- colSums(sums[1:k, ]); centre <- total^2 / (n * k)
  ss <- sums[k + 1, ] / k - centre; sr <- colSums(sums[1:k, ]^2) / n - centre; se <- sums[k + 2, ] - centre - ss - sr
  apply(six(ss, sr, se, n, k), 1, quantile, c(.025, .975), na.rm = TRUE, names = FALSE)
}))
exact <- lapply(tables, function(x) as.matrix(ICC(x, lmer = FALSE)$results[, 7:8]))
numbers(c(unlist(lapply(exact, t)), unlist(boot)))
