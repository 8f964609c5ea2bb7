# Shared by the scripts that turn an open data set into a bench folder with its reference values.
suppressMessages({ library(jsonlite); library(lme4) })

write_table <- function(folder, file, rows) {
  dir.create(folder, showWarnings = FALSE)
  write.csv(rows, file.path(folder, file), row.names = FALSE, quote = FALSE, na = "")
}

write_json_file <- function(folder, file, value) {
  path <- file.path(folder, file)
  dir.create(dirname(path), showWarnings = FALSE, recursive = TRUE)
  text <- toJSON(value, auto_unbox = TRUE, digits = 12, pretty = TRUE, null = "null", na = "null")
  writeLines(text, path)
}

# Settings of a bench that is no shoe bench; `attributes` may be empty.
bench_settings <- function(name, about, rating, attributes, trials) list(
  name = name, about = about, invented = FALSE, size_system = "eu", rating = rating,
  attributes = attributes, reference_shoes = list(), confidence = 0.95, trials_per_visit = trials
)

metric_entry <- function(id, title, scale, low, high, decimals, method) list(
  id = id, title = title, unit = "1", scale = scale, better = "none",
  plausible = list(low = low, high = high), smallest_difference = NA, decimals = decimals,
  group = "durability", method = method, method_version = "1", introduced = "1990-01-01",
  retired = NA
)

empty <- function(...) { names <- c(...); setNames(data.frame(matrix(nrow = 0, ncol = length(names))), names) }
no_features <- function() empty("shoe_id", "feature_id", "present", "checked_on", "note")
no_impressions <- function() empty("date", "tester", "shoe_id", "attribute", "rating", "surface", "minutes", "blind", "note")

# Variance components by REML: lme4's answer taken further by average-information steps on the dense
# covariance, since lme4's own search stops after 4 to 6 digits. `groups` is a named list of factors.
reml_components <- function(y, groups, start) {
  n <- length(y)
  K <- c(lapply(groups, function(g) outer(as.character(g), as.character(g), `==`) + 0), list(residual = diag(n)))
  s <- start[names(K)]
  for (step in 1:60) {
    Vi <- chol2inv(chol(Reduce(`+`, Map(`*`, K, s))))
    w <- rowSums(Vi)
    P <- Vi - tcrossprod(w) / sum(w)
    Py <- drop(P %*% y)
    KPy <- sapply(K, function(k) drop(k %*% Py))
    score <- -0.5 * (sapply(K, function(k) sum(P * k)) - colSums(KPy * Py))
    information <- 0.5 * crossprod(KPy, P %*% KPy)
    move <- drop(solve(information, score))
    s <- s + move
    stopifnot(all(s > 0))
    if (max(abs(move) / s) < 1e-12) break
  }
  s
}

lme4_components <- function(fit) {
  parts <- as.data.frame(VarCorr(fit))
  setNames(parts$vcov, ifelse(parts$grp == "Residual", "residual", parts$grp))
}

made_with <- function() sprintf("R %s, lme4 %s", getRversion(), packageVersion("lme4"))
