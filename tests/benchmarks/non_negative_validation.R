# Leave-one-out and 2,000 refits of non-negative weights in R, with the compiled solver of nnls.
source(file.path(dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE))), "timing.R"))
suppressPackageStartupMessages(library(nnls))
X <- input("X"); y <- drop(input("y")); n <- nrow(X)
set.seed(1)
predicted <- timed("tuned", function() {
  p <- vapply(1:n, function(i) sum(X[i, ] * nnls(X[-i, ], y[-i])$x), 0)
  B <- replicate(2000, { i <- sample(n, replace = TRUE); nnls(X[i, ], y[i])$x })
  apply(B, 1, quantile, c(.025, .975))
  p
})
numbers(predicted)
