# Made data (unbalanced-mixed.csv): 40 things, 3 operators, 8 sessions, one to three visits each, 6 readings
# in all per thing. Rscript unbalanced_mixed.R > unbalanced-mixed.json (R 4.2.2)
source("reml_exact.R")
d <- read.csv("unbalanced-mixed.csv")
r <- reml_exact(d$value, list(shoe = d$shoe, operator = d$operator, session = d$session,
  "shoe:operator" = paste(d$shoe, d$operator), "shoe:session" = paste(d$shoe, d$session)))
num <- function(x) sprintf("%.15g", x)
cat('{"about": "REML by Fisher scoring on the dense covariance, unbalanced_mixed.R", "components": {',
  paste(sprintf('"%s": %s', names(r$components), num(unlist(r$components))), collapse = ", "),
  '}, "mean": ', num(r$mean), ', "mean_standard_error": ', num(r$se_mean), ', "log_likelihood": ', num(r$log_likelihood), "}\n", sep = "")
