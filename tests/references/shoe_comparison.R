# Differences between shoes and intervals of them that hold together, by R's own functions.
# R 4.2.2; run: Rscript shoe_comparison.R
options(digits = 12)

# One visit a shoe, four trials each: pooled scatter within shoes.
one <- data.frame(
  shoe = rep(c("a", "b", "c"), each = 4),
  value = c(30.1, 30.9, 30.4, 30.6, 31.2, 31.9, 31.4, 31.9, 30.8, 30.2, 30.9, 30.5)
)
fit <- lm(value ~ shoe, one)
mse <- sum(residuals(fit)^2) / fit$df.residual
m <- tapply(one$value, one$shoe, mean)
se <- sqrt(mse * 2 / 4)
pairs <- list(c("a", "b"), c("a", "c"), c("b", "c"))
d <- sapply(pairs, function(p) m[[p[1]]] - m[[p[2]]])
p <- 2 * pt(-abs(d / se), fit$df.residual)
# All pairs of shoes with equal numbers of trials: Tukey's studentized range.
together <- ptukey(abs(d / se) * sqrt(2), 3, fit$df.residual, lower.tail = FALSE)
print(list(df = fit$df.residual, se = se, d = d, p = p, together = together, critical = qtukey(.95, 3, 9) / sqrt(2)))
print(cbind(lower = d - qt(.975, 9) * se, upper = d + qt(.975, 9) * se))

# Four shoes, three visits each, two trials a visit: visits within shoes are the error.
two <- data.frame(
  shoe = rep(c("a", "b", "c", "d"), each = 6),
  visit = rep(1:12, each = 2),
  value = c(
    20.1, 20.4, 21.0, 21.3, 20.3, 20.2, 23.2, 23.5, 22.4, 22.1, 23.0, 23.3,
    25.9, 26.1, 26.8, 27.1, 25.5, 25.2, 21.4, 21.9, 22.6, 22.3, 21.9, 21.5
  )
)
table <- summary(aov(value ~ shoe + Error(factor(visit)), two))
msv <- table[["Error: factor(visit)"]][[1]]["Residuals", "Mean Sq"]
dfv <- table[["Error: factor(visit)"]][[1]]["Residuals", "Df"]
m2 <- tapply(two$value, two$shoe, mean)
se2 <- sqrt(msv * 2 / 6)
d2 <- m2[["a"]] - m2[["b"]]
print(c(df = dfv, se = se2, d = d2, lower = d2 - qt(.975, dfv) * se2, upper = d2 + qt(.975, dfv) * se2))

# The panel: rating = shoe + tester, incomplete.
panel <- data.frame(
  tester = c("t1", "t1", "t2", "t2", "t3", "t3", "t3", "t4", "t4", "t2"),
  shoe = c("a", "b", "a", "c", "b", "c", "a", "c", "d", "d"),
  rating = c(7, 5.5, 6, 4.5, 6.5, 5, 7.5, 3, 6, 7)
)
fit3 <- lm(rating ~ shoe + tester, panel)
L <- rbind(c(-1, 0, 0), c(0, -1, 0), c(1, 0, -1)) # a minus b, a minus c, b minus d
pairs <- rbind(c("a", "b"), c("a", "c"), c("b", "d"))
# Each shoe's own scatter, the panel's counting as two degrees of freedom more; leniency by the panel's.
f <- df.residual(fit3)
n <- table(panel$shoe)
squares <- tapply(resid(fit3)^2, panel$shoe, sum)
pooled <- sum(squares) / f
d <- (n - 1) * f / sum(n - 1)
own <- (squares + 2 * pooled) / (d + 2)
freedom <- pmin((d + 2)^2 / d, f)
for (i in 1:3) {
  p <- pairs[i, ]
  l <- L[i, ]
  parts <- own[p] / n[p]
  leniency <- (l %*% summary(fit3)$cov.unscaled[2:4, 2:4] %*% l - sum(1 / n[p])) * pooled
  v <- sum(parts) + leniency
  print(c(d = l %*% coef(fit3)[2:4], v = v, df = min(f, v^2 / (sum(parts^2 / freedom[p]) + leniency^2 / f))), digits = 13)
}

# Critical values of the largest |t|: all pairs of k means (Tukey), and k means against one (Dunnett 1955,
# by integrating over the one and over the scatter).
print(c(qtukey(.95, 3, 10), qtukey(.95, 6, 20), qtukey(.95, 4, Inf)) / sqrt(2))
dunnett <- function(bound, k, df) {
  given <- function(s) sapply(s, function(one) {
    integrate(function(z) dnorm(z) * (pnorm(z + bound * one * sqrt(2)) - pnorm(z - bound * one * sqrt(2)))^k,
      -8, 8, rel.tol = 1e-9
    )$value
  })
  if (is.infinite(df)) return(given(1))
  density <- function(s) 2 * s * df * dchisq(df * s^2, df)
  integrate(function(s) density(s) * given(s), 0, 4, rel.tol = 1e-8)$value
}
print(sapply(list(c(3, 10), c(5, 20), c(4, Inf)), function(a) {
  uniroot(function(bound) dunnett(bound, a[1], a[2]) - .95, c(1, 5), tol = 1e-9)$root
}))
