# Ten parts, three appraisers, three trials each, as a bench folder. Run here: Rscript bench-gauge.R
source("reference_bench.R")
folder <- "bench-gauge"
data <- read.csv("bench-gauge-source.csv", stringsAsFactors = FALSE)
part <- sprintf("part-%02d", data$part)
session <- paste0("appraiser-", tolower(data$operator))

write_json_file(folder, "bench.json", bench_settings(
  "Gauge study with ten parts", "Ten parts measured three times by each of three appraisers; open data, see README.md.",
  list(min = 1, max = 10, step = 1), list(), 3
))
write_json_file(folder, "metrics.json", list(metric_entry(
  "deviation", "Deviation from nominal", "interval", -10, 10, 2, "One gauge; the unit is not printed."
)))
shoes <- unique(part)
write_table(folder, "shoes.csv", data.frame(shoe_id = shoes, maker = "none", model = shoes))
write_table(folder, "features.csv", no_features())
write_table(folder, "sessions.csv", data.frame(
  session_id = sort(unique(session)), date = c("2000-01-03", "2000-01-04", "2000-01-05"), operator = c("A", "B", "C")
))
write_table(folder, "trials.csv", data.frame(
  session_id = session, shoe_id = part, metric_id = "deviation", trial = data$trial, value = data$value, unit = "1"
))
write_table(folder, "impressions.csv", no_impressions())

# The interaction part:operator falls below 0 by mean squares, so REML holds it at 0 and equals the
# model without it, whose mean squares give the components exactly.
squares <- anova(lm(value ~ factor(part) + operator, data))$`Mean Sq`
pooled <- c(shoe = (squares[1] - squares[3]) / 9, operator = (squares[2] - squares[3]) / 30,
  "shoe:session" = 0, residual = squares[3])
fit <- suppressMessages(lmer(value ~ 1 + (1 | part) + (1 | operator) + (1 | part:operator), data))
write_json_file(folder, "reference.json", list(
  source = "Measurement Systems Analysis reference manual, 4th edition (2010), gauge repeatability and reproducibility example",
  published = list(
    components = list(shoe = 1.08645, operator = 0.05146, residual = 0.03997),
    sd = list(shoe = 1.04233, gauge = 0.30237, total = 1.0853), distinct_categories = 4
  ),
  published_seen = "stored copies of tutorials that print the manual's analysis of variance",
  computed = list(
    components = as.list(pooled), mean = mean(data$value),
    sd = list(shoe = sqrt(pooled[["shoe"]]), gauge = sqrt(pooled[["operator"]] + pooled[["residual"]]), total = sqrt(sum(pooled))),
    distinct_categories_before_floor = 1.41 * sqrt(pooled[["shoe"]] / (pooled[["operator"]] + pooled[["residual"]])),
    boundary = I("shoe:session")
  ),
  lme4 = as.list(lme4_components(fit)),
  computed_with = made_with(),
  note = "Factor 1.41 gives 4.86, the square root of 2 gives 4.88; the floor is 4 either way."
))
