# Makes distributions.json: Rscript distributions.R > distributions.json (R 4.2.2)
# Areas and quantiles of R's own functions, 17 digits, far tails and extreme degrees of freedom included.
rows <- list()
add <- function(name, args, value) {
  if (is.finite(value) && value != 0)
    rows[[length(rows) + 1]] <<- sprintf('{"name":"%s","args":[%s],"value":%s}', name,
      paste(sprintf("%.17g", args), collapse = ","), sprintf("%.17g", value))
}
for (z in c(-37, -20, -8, -5, -3, -2.5, -1, -0.5, -1e-5, 0, 1e-8, 0.3, 1, 1.96, 2.49, 2.51, 4, 6, 10, 25, 37)) {
  add("normalCdf", z, pnorm(z)); add("normalUpper", z, pnorm(z, lower.tail = FALSE))
}
ps <- c(1e-250, 1e-100, 1e-30, 1e-10, 1e-5, 0.001, 0.025, 0.1, 0.2, 0.3, 0.49, 0.5001, 0.6, 0.8, 0.95, 0.975, 0.999)
for (p in ps) { add("normalQuantile", p, qnorm(p)); add("normalUpperQuantile", p, qnorm(p, lower.tail = FALSE)) }
dfs <- c(0.1, 0.5, 1, 2, 3.7, 5, 10, 29, 120, 1000, 1e5, 1e7)
for (df in dfs) {
  for (t in c(-50, -6, -2, -0.7, -0.001, 0.01, 0.5, 1, 2, 3, 5, 8, 20, 100, 1e4)) {
    add("tCdf", c(t, df), pt(t, df)); add("tUpper", c(t, df), pt(t, df, lower.tail = FALSE))
  }
  for (q in c(1e-6, 0.01, 0.3, 0.8, 1, 1.3, 2, 4, 10)) {
    x <- q * df
    add("chiSquaredCdf", c(x, df), pchisq(x, df)); add("chiSquaredUpper", c(x, df), pchisq(x, df, lower.tail = FALSE))
  }
}
for (df1 in c(0.5, 1, 2, 5, 11.3, 59, 300, 1e5)) for (df2 in c(0.5, 1, 3, 10, 59, 240, 1e4, 1e6))
  for (f in c(1e-4, 0.1, 0.5, 0.9, 1, 1.05, 1.5, 3, 10, 100, 1e4)) {
    add("fCdf", c(f, df1, df2), pf(f, df1, df2)); add("fUpper", c(f, df1, df2), pf(f, df1, df2, lower.tail = FALSE))
  }
for (a in c(0.05, 0.5, 1, 3, 40, 1000, 5e4)) for (b in c(0.05, 0.5, 1, 3, 40, 1000, 5e4))
  for (x in c(1e-8, 0.01, 0.2, 0.5, 0.8, 0.99)) {
    add("betaCdf", c(x, a, b), pbeta(x, a, b)); add("betaUpper", c(x, a, b), pbeta(x, a, b, lower.tail = FALSE))
  }
for (k in c(0, 1, 5, 12, 30)) for (n in c(30, 31, 400)) for (p in c(1e-3, 0.1, 0.5, 0.93)) {
  add("binomialCdf", c(k, n, p), pbinom(k, n, p)); add("binomialUpper", c(k, n, p), pbinom(k, n, p, lower.tail = FALSE))
}
# R itself loses digits of log-gamma within 1e-6 of 1 and 2, so those points are tested by series instead.
for (x in c(1e-300, 1e-10, 0.1, 0.49, 0.5, 0.9, 1.2, 1.5, 1.7, 2.3, 2.5, 3, 7.7, 10, 14.9, 15, 100, 1e6, 1e15))
  add("logGamma", x, lgamma(x))
cat('{"about":"Areas and log-gamma from R 4.2.2, made by distributions.R","rows":[\n',
    paste(unlist(rows), collapse = ",\n"), "\n]}\n", sep = "")
