# Straight lines through bent and noisy points. R 4.2.2: Rscript lines.R
options(digits = 15)
stretch <- c(0, 2, 4, 6, 8, 10)
load <- c(0.2, 3, 6.5, 10.5, 15, 20)
print(summary(lm(load ~ stretch))$coefficients[, 1:2])
print(summary(lm(load ~ 0 + stretch))$coefficients[, 1:2])
print(summary(lm(load ~ stretch + I(stretch^2)))$coefficients[, 3])
part <- stretch >= 4 & stretch <= 10
print(summary(lm(load[part] ~ stretch[part]))$coefficients[, 1:2])
