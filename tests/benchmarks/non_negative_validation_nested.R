# The leave-one-out of non-negative weights nested in each of 2,000 refits, in R with nnls; 100 are timed.
source(file.path(dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE))), "timing.R"))
suppressPackageStartupMessages(library(nnls))
X <- input("X"); y <- drop(input("y")); n <- nrow(X)
r2 <- function(rows) {
  e <- vapply(unique(rows), function(i) {
    rest <- rows[rows != i]
    c((y[i] - sum(X[i, ] * nnls(X[rest, ], y[rest])$x))^2, (y[i] - mean(y[rest]))^2) * sum(rows == i)
  }, numeric(2))
  1 - sum(e[1, ]) / sum(e[2, ])
}
set.seed(1)
limits <- timed("tuned", function() {
  quantile(replicate(100, r2(sample(n, replace = TRUE))), c(.025, .975), names = FALSE)
}, share = 100 / 2000)
numbers(c(r2(1:n), limits))
