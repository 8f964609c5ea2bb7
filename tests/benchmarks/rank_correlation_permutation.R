# Step-down p of 72 rank correlations in R: one permutation at a time, and as one matrix product.
source(file.path(dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE))), "timing.R"))
X <- t(input("metrics")); Y <- t(input("attributes")); R <- 10000; n <- nrow(X)

step_down <- function(observed, permuted) { # permuted: one row a metric, one column a permutation
  o <- order(observed); S <- permuted[o, ]
  for (k in 2:nrow(S)) S[k, ] <- pmax(S[k - 1, ], S[k, ])
  q <- (rowSums(S >= observed[o] - 1e-12) + 1) / (ncol(S) + 1)
  q[o] <- rev(cummax(rev(q))); q
}
set.seed(1)
timed("natural", function() {
  rho <- replicate(R / 10, abs(cor(X, Y[sample(n), ], method = "spearman")))
  sapply(1:6, function(a) step_down(abs(cor(X, Y[, a], method = "spearman")), rho[, a, ]))
}, share = 1 / 10)
p <- timed("tuned", function() {
  X <- scale(apply(X, 2, rank)) / sqrt(n - 1); Y <- scale(apply(Y, 2, rank)) / sqrt(n - 1)
  P <- replicate(R, sample(n))
  sapply(1:6, function(a)
    step_down(abs(drop(crossprod(X, Y[, a]))), abs(crossprod(X, matrix(Y[P, a], n)))))
})
numbers(p)
