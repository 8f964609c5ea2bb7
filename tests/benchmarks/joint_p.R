# Do p-values of t tests, combined, keep their level, and which combination sees what?
#
# In % of draws with p at most 5%: Fisher's combination, a sum of squared normal scores (chi-squared), the smallest p
# by Bonferroni; nothing different, 1.2 errors on every metric, four errors on one. Then Fisher's where the noise of metrics
# hangs together, and how often the limit of the true distance holds (noncentral chi-squared, sum of squared t's).
# Run: Rscript tests/benchmarks/joint_p.R [draws]

draws <- as.integer(c(commandArgs(TRUE), 40000)[1])
set.seed(1)

shares <- function(freedom, off) {
  m <- length(freedom)
  p <- sapply(seq_len(m), function(i) {
    2 * pt(-abs((rnorm(draws) + off[i]) / sqrt(rchisq(draws, freedom[i]) / freedom[i])), freedom[i])
  })
  fisher <- pchisq(-2 * rowSums(log(p)), 2 * m, lower.tail = FALSE)
  scores <- pchisq(rowSums(qchisq(p, 1, lower.tail = FALSE)), m, lower.tail = FALSE)
  smallest <- pmin(1, m * apply(p, 1, min))
  sprintf("%.1f", 100 * c(mean(fisher <= .05), mean(scores <= .05), mean(smallest <= .05)))
}

for (m in c(1, 2, 4, 8, 12)) {
  for (freedom in list(2, 5, 10, 30, c(2, 30, 5, 10))) {
    own <- rep(freedom, length.out = m)
    cat(m, "metrics, freedom", freedom, "| none", shares(own, rep(0, m)), "| all",
      shares(own, rep(1.2, m)), "| one", shares(own, c(rep(0, m - 1), 4)), "\n")
  }
}

for (m in c(4, 12)) {
  for (rho in c(.1, .3, .5)) {
    z <- sqrt(rho) * rnorm(draws) + sqrt(1 - rho) * matrix(rnorm(draws * m), draws)
    p <- pchisq(-2 * rowSums(log(2 * pnorm(-abs(z)))), 2 * m, lower.tail = FALSE)
    cat(m, "metrics, correlation", rho, sprintf("%.1f", 100 * mean(p <= .05)), "\n")
  }
}

limit <- function(squares, m) {
  if (pchisq(squares, m) < .05) return(0)
  uniroot(function(l) pchisq(squares, m, ncp = l) - .05, c(0, 20 * (squares + 10)))$root
}
for (m in c(1, 4, 12)) {
  for (freedom in c(2, 5, 10, 30)) {
    for (off in c(1, 2, 4)) {
      n <- 2000
      t <- (matrix(rnorm(n * m), n) + off) / sqrt(matrix(rchisq(n * m, freedom), n) / freedom)
      held <- mean(sapply(rowSums(t^2), limit, m) >= m * off^2)
      cat(m, "metrics, freedom", freedom, "truth", off, "limit held", sprintf("%.1f", 100 * held), "\n")
    }
  }
}
