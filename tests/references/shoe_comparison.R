# Differences between shoes, their intervals and Holm's adjustment, by R's own functions.
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
print(list(df = fit$df.residual, se = se, d = d, p = p, holm = p.adjust(p, "holm")))
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

# Testers who wore both.
x <- c(7.5, 6, 8, 6.5, 7)
y <- c(6, 5.5, 7.5, 4.5, 6)
print(unlist(t.test(x, y, paired = TRUE)[c("estimate", "stderr", "parameter", "p.value", "conf.int")]))
