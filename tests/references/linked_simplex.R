# Weights that sum to a fixed total on a free scale: reference for linkedSimplexLeastSquares().
# min ||y - a - b Xw||^2 + strength * n * v * b^2 * ||w - toward||^2 with w >= 0 and sum(w) = total, where v is the mean
# variance of the columns (divided by n). With beta = b w: non-negative least squares of the centred columns, with rows
# sqrt(strength n v) (I - toward 1'/total) below them. Solved by nnls.
# R 4.2.2, nnls 1.4. Run in this folder: Rscript linked_simplex.R
# Data: Moore & McCabe (1989), cheddar cheese taste and three acids, as kept in bench-cheese-source.csv.
library(nnls); library(jsonlite)
d <- read.csv("bench-cheese-source.csv")
X <- as.matrix(d[, c("acetic", "h2s", "lactic")]); y <- d$taste
solve_one <- function(toward, strength) {
  n <- nrow(X); p <- ncol(X); total <- sum(toward)
  Xc <- sweep(X, 2, colMeans(X)); yc <- y - mean(y)
  v <- sum(Xc^2) / (n * p)
  P <- diag(p) - outer(toward, rep(1, p)) / total
  A <- rbind(Xc, sqrt(strength * n * v) * P)
  beta <- nnls(A, c(yc, rep(0, p)))$x
  list(toward = toward, strength = strength, weights = total * beta / sum(beta), slope = sum(beta) / total,
    intercept = mean(y) - sum(colMeans(X) * beta), rss = sum((yc - Xc %*% beta)^2))
}
cases <- list(solve_one(c(1, 1, 1), 0), solve_one(c(1, 1, 1), 0.1), solve_one(c(1, 1, 1), 3), solve_one(c(0.5, 0.2, 0.3), 1))
write_json(list(source = "Moore & McCabe 1989, cheddar cheese", computed_with = "R 4.2.2, nnls 1.4", cases = cases),
  "linked_simplex.json", auto_unbox = TRUE, digits = 15, pretty = TRUE)
