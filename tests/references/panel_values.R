# Least squares of rating = shoe + tester on an incomplete table, tester effects summing to zero.
# R 4.2.2: Rscript tests/references/panel_values.R
d <- data.frame(
  shoe = c("a","a","a","b","b","c","c","c","d","d","e","e"),
  tester = c("t1","t2","t3","t1","t3","t2","t3","t4","t1","t4","t2","t4"),
  rating = c(7, 5.5, 8, 6, 7.5, 4, 6.5, 5, 8.5, 7, 6, 7.5))
d$shoe <- factor(d$shoe); d$tester <- factor(d$tester)
contrasts(d$tester) <- contr.sum(4)
fit <- lm(rating ~ 0 + shoe + tester, data = d)
shifts <- coef(fit)[6:8]; shifts <- c(shifts, -sum(shifts))
options(digits = 15)
print(coef(fit)[1:5]); print(shifts); print(summary(fit)$sigma)
