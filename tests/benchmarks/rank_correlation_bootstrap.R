# BCa intervals of 72 rank correlations in R: with boot, one pair timed; and all of them, as whole matrices.
source(file.path(dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE))), "timing.R"))
suppressPackageStartupMessages(library(boot))
X <- t(input("metrics")); Y <- t(input("attributes")); R <- 10000; n <- nrow(X)

set.seed(1)
timed("natural", function() {
  d <- cbind(X[, 1], Y[, 1])
  b <- boot(d, function(d, i) cor(d[i, 1], d[i, 2], method = "spearman"), R = R)
  boot.ci(b, type = "bca", L = empinf(b, type = "jack"))
}, share = 1 / 72)

# Each resample is a column; ranks of all resamples of a metric at once.
rank_columns <- function(M) {
  n <- nrow(M); o <- order(rep(seq_len(ncol(M)), each = n), M, method = "radix")
  v <- M[o]; first <- c(TRUE, v[-1] != v[-length(v)]); first[seq(1, length(v), by = n)] <- TRUE
  group <- cumsum(first); place <- rep(seq_len(n), ncol(M))
  mid <- (place[first] + place[c(which(first)[-1] - 1L, length(v))]) / 2
  out <- numeric(length(v)); out[o] <- mid[group]; matrix(out, n)
}
scaled <- function(M) { r <- rank_columns(M); r <- sweep(r, 2, colMeans(r)); sweep(r, 2, sqrt(colSums(r^2)), "/") }
limits <- timed("tuned", function() {
  P <- matrix(sample.int(n, n * R, replace = TRUE), n)
  draws <- function(v) scaled(matrix(v[P], n))
  bx <- apply(X, 2, draws, simplify = FALSE); by <- apply(Y, 2, draws, simplify = FALSE)
  left <- function(v) scaled(vapply(seq_len(n), function(i) v[-i], numeric(n - 1)))
  jx <- apply(X, 2, left, simplify = FALSE); jy <- apply(Y, 2, left, simplify = FALSE)
  rho <- cor(X, Y, method = "spearman")
  lower <- upper <- rho
  for (j in seq_len(ncol(X))) for (t in seq_len(ncol(Y))) {
    b <- colSums(bx[[j]] * by[[t]]); k <- colSums(jx[[j]] * jy[[t]])
    l <- (n - 1) * (mean(k) - k); a <- sum(l^3) / (6 * sum(l^2)^1.5)
    z0 <- qnorm(mean(b < rho[j, t])); z <- z0 + qnorm(c(.025, .975))
    q <- quantile(b, pnorm(z0 + z / (1 - a * z)), na.rm = TRUE, names = FALSE)
    lower[j, t] <- q[1]; upper[j, t] <- q[2]
  }
  list(lower = lower, upper = upper)
})
numbers(c(t(limits$lower), t(limits$upper)))
