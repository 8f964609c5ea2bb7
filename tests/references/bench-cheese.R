# Thirty cheddar cheeses: three acids in the laboratory against taste. Run here: Rscript bench-cheese.R
source("reference_bench.R")
folder <- "bench-cheese"
data <- read.csv("bench-cheese-source.csv")
cheese <- sprintf("cheese-%02d", seq_len(nrow(data)))
metrics <- c(acetic = "acetic-acid", h2s = "hydrogen-sulfide", lactic = "lactic-acid")

write_json_file(folder, "bench.json", bench_settings(
  "Cheddar tasting", "Thirty matured cheddar cheeses, three acids each, and their taste; open data, see README.md.",
  list(min = 0, max = 60, step = 0.1), list(list(id = "taste", title = "Taste", better = "higher")), 1
))
write_json_file(folder, "metrics.json", list(
  metric_entry("acetic-acid", "Acetic acid, log concentration", "interval", 0, 20, 3, "Natural logarithm of the concentration."),
  metric_entry("hydrogen-sulfide", "Hydrogen sulfide, log concentration", "interval", 0, 20, 3, "Natural logarithm of the concentration."),
  metric_entry("lactic-acid", "Lactic acid, concentration", "ratio", 0, 10, 2, "Concentration.")
))
write_table(folder, "shoes.csv", data.frame(shoe_id = cheese, maker = "none", model = cheese))
write_table(folder, "features.csv", no_features())
write_table(folder, "sessions.csv", data.frame(session_id = "laboratory", date = "2000-01-03", operator = "laboratory"))
write_table(folder, "trials.csv", do.call(rbind, lapply(names(metrics), function(name) data.frame(
  session_id = "laboratory", shoe_id = cheese, metric_id = metrics[[name]], trial = 1, value = data[[name]], unit = "1"
))))
write_table(folder, "impressions.csv", data.frame(
  date = "2000-01-10", tester = "panel", shoe_id = cheese, attribute = "taste", rating = data$taste
))
write_json_file(folder, "rules/taste-index-1.json", list(
  id = "taste-index", version = "1", title = "Equal weights of three acids", effective = "2000-01-01",
  target_attribute = "taste",
  terms = lapply(unname(metrics), function(metric) list(
    metric = metric, weight = 1,
    scaling = list(
      "acetic-acid" = list(kind = "range", low = 4, high = 7),
      "hydrogen-sulfide" = list(kind = "range", low = 2, high = 11),
      "lactic-acid" = list(kind = "range", low = 0.5, high = 2.5)
    )[[metric]]
  )),
  bonuses = list(), multiplier = 1, offset = 0, missing = "withhold", note = "Made for the tests; no published rule."
))

x <- as.matrix(data[names(metrics)])
colnames(x) <- metrics
by_metric <- function(f) setNames(lapply(seq_along(metrics), f), metrics)
r2 <- function(columns) if (length(columns) == 0) 0 else summary(lm(data$taste ~ x[, columns]))$r.squared
# Shares of R-squared averaged over the six orderings of the three acids.
orders <- list(c(1, 2, 3), c(1, 3, 2), c(2, 1, 3), c(2, 3, 1), c(3, 1, 2), c(3, 2, 1))
shares <- Reduce(`+`, lapply(orders, function(order) {
  steps <- sapply(1:3, function(i) r2(order[1:i]) - r2(order[seq_len(i - 1)]))
  steps[order(order)]
})) / 6
left_out <- sapply(seq_along(cheese), function(i) {
  fit <- lm(taste ~ acetic + h2s + lactic, data[-i, ])
  data$taste[i] - predict(fit, data[i, ])
})
naive <- data$taste - (sum(data$taste) - data$taste) / (nrow(data) - 1)
fit <- lm(taste ~ acetic + h2s + lactic, data)
write_json_file(folder, "reference.json", list(
  source = "G. T. Lloyd and E. H. Ramshaw, CSIRO Division of Food Research; printed in Moore & McCabe, Introduction to the Practice of Statistics, and in the R package faraway as `cheddar`",
  published = list(
    pearson = list("acetic-acid" = 0.5495393, "hydrogen-sulfide" = 0.7557523, "lactic-acid" = 0.7042362),
    between = list("acetic-acid~hydrogen-sulfide" = 0.6179559, "acetic-acid~lactic-acid" = 0.6037826, "hydrogen-sulfide~lactic-acid" = 0.6448123)
  ),
  published_seen = "a correlation matrix printed in a public course repository; the data in two public repositories, equal in every cell",
  computed = list(
    pearson = by_metric(function(i) cor(x[, i], data$taste)),
    spearman = by_metric(function(i) cor(x[, i], data$taste, method = "spearman")),
    kendall_tau_b = by_metric(function(i) cor(x[, i], data$taste, method = "kendall")),
    r_squared = summary(fit)$r.squared,
    shares = setNames(as.list(shares), metrics),
    variance_inflation = by_metric(function(i) 1 / (1 - summary(lm(x[, i] ~ x[, -i]))$r.squared)),
    out_of_sample_r_squared = 1 - sum(left_out^2) / sum(naive^2),
    mean_taste = mean(data$taste)
  ),
  computed_with = made_with(),
  note = "Out of sample: least squares without penalty, each cheese left out in turn, against the mean of the others."
))
