# Shares over all orderings of twelve predictors in R: a solve for every subset, and all subsets swept at once.
source(file.path(dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE))), "timing.R"))
X <- input("X"); y <- drop(input("y")); p <- ncol(X)
size <- vapply(0:(2^p - 1), function(m) sum(bitwAnd(m, 2^(0:(p - 1))) > 0), 0)
weight <- factorial(size) * factorial(pmax(p - 1 - size, 0)) / factorial(p)
shares <- function(r2) vapply(1:p, function(j) {
  m <- which(bitwAnd(0:(2^p - 1), 2^(j - 1)) == 0)
  sum(weight[m] * (r2[m + 2^(j - 1)] - r2[m]))
}, 0)

timed("natural", function() {
  S <- cov(cbind(X, y)); bits <- 2^(0:(p - 1))
  r2 <- c(0, vapply(1:(2^p - 1), function(m) {
    a <- which(bitwAnd(m, bits) > 0)
    sum(S[a, p + 1] * solve(S[a, a, drop = FALSE], S[a, p + 1])) / S[p + 1, p + 1]
  }, 0))
  shares(r2)
}, share = 1 / 101)

# M[[i, j]] holds an entry of the cross-products for every subset so far; each predictor doubles them.
swept <- function(X, y) {
  S <- crossprod(scale(cbind(X, y), scale = FALSE)); q <- p + 1
  M <- matrix(list(), q, q)
  for (i in 1:q) for (j in i:q) M[[i, j]] <- S[i, j]
  for (k in 1:p) for (i in (k + 1):q) for (j in i:q) {
    old <- M[[i, j]]
    M[[i, j]] <- c(old, old - M[[k, i]] * M[[k, j]] / M[[k, k]])
  }
  shares(1 - M[[q, q]] / S[q, q])
}
found <- timed("tuned", function() {
  for (b in 1:10) { i <- sample(nrow(X), replace = TRUE); swept(X[i, ], y[i]) }
  swept(X, y)
}, share = 11 / 101)
numbers(found)
