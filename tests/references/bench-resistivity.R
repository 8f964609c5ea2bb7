# Five silicon wafers, five probes, two runs of six days, as a bench folder. Run here: Rscript bench-resistivity.R
source("reference_bench.R")
folder <- "bench-resistivity"
data <- read.csv("bench-resistivity-source.csv")
data$day_number <- ave(data$average, data$run, data$wafer, data$probe, FUN = seq_along)
wafer <- paste0("wafer-", data$wafer)
session <- paste0("run-", data$run)
metric <- paste0("resistivity-probe-", data$probe)

write_json_file(folder, "bench.json", bench_settings(
  "Resistivity gauge study", "Five wafers, five probes, two runs of six days; public domain data of NIST, see README.md.",
  list(min = 1, max = 10, step = 1), list(), 6
))
write_json_file(folder, "metrics.json", lapply(sort(unique(data$probe)), function(probe) metric_entry(
  paste0("resistivity-probe-", probe), paste("Resistivity, probe", probe), "ratio", 50, 150, 4,
  "Four-point probe, ohm centimetres written as a plain number; each reading is a day's average of six."
)))
shoes <- unique(wafer)
write_table(folder, "shoes.csv", data.frame(shoe_id = shoes, maker = "none", model = shoes))
write_table(folder, "features.csv", no_features())
write_table(folder, "sessions.csv", data.frame(
  session_id = c("run-1", "run-2"), date = c("2000-03-15", "2000-06-15"), operator = "laboratory"
))
rows <- order(session, wafer, data$probe, data$day_number)
write_table(folder, "trials.csv", data.frame(
  session_id = session, shoe_id = wafer, metric_id = metric, trial = data$day_number, value = data$average, unit = "1"
)[rows, ])
write_table(folder, "impressions.csv", no_impressions())

# Balanced and nested: REML equals the mean squares as long as none of them is negative.
nested <- function(probe) {
  of <- data[data$probe == probe, ]
  cell <- tapply(of$average, list(of$wafer, of$run), mean)
  days <- mean(tapply(of$average, list(of$wafer, of$run), var))
  within <- mean(apply(cell, 1, var))
  wafers <- var(rowMeans(cell))
  run <- (6 * within - days) / 6
  # A negative run component is held at 0, and both lower levels are pooled.
  if (run < 0) {
    days <- sum((of$average - ave(of$average, of$wafer))^2) / (nrow(of) - 5)
    return(c(shoe = wafers - days / 12, "shoe:session" = 0, residual = days))
  }
  c(shoe = wafers - within / 2, "shoe:session" = run, residual = days)
}
probes <- sort(unique(data$probe))
computed <- setNames(lapply(probes, function(p) as.list(nested(p))), paste0("resistivity-probe-", probes))
fit <- suppressMessages(suppressWarnings(lmer(
  average ~ 1 + (1 | wafer) + (1 | wafer:run), subset(data, probe == 2362)
)))
of <- subset(data, probe == 2362)
by_run <- sqrt(tapply(tapply(of$average, list(of$wafer, of$run), var), rep(1:2, each = 5), mean))
write_json_file(folder, "reference.json", list(
  source = "NIST/SEMATECH e-Handbook of Statistical Methods, section 2.6.1, data file MPC61.DAT",
  published = list(
    metric = "resistivity-probe-2362",
    day_to_day_sd = list("run-1" = 0.03334, "run-2" = 0.03879, pooled = 0.03617),
    run_to_run_sd = 0.0196
  ),
  published_seen = "a stored copy of the handbook's own output",
  computed = list(
    components = computed,
    day_to_day_sd = list("run-1" = by_run[[1]], "run-2" = by_run[[2]], pooled = sqrt(mean(by_run^2))),
    run_to_run_sd = sqrt(mean(apply(tapply(of$average, list(of$wafer, of$run), mean), 1, var)))
  ),
  lme4 = as.list(lme4_components(fit)),
  computed_with = made_with(),
  note = "The residual variance of probe 2362 is the square of the published pooled day-to-day SD; the published run-to-run SD is that of the two run means of a wafer."
))
