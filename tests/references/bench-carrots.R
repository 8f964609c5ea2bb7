# Twelve carrots tasted by 103 consumers, against two axes of a trained panel. Run here: Rscript bench-carrots.R
source("reference_bench.R")
folder <- "bench-carrots"
data(carrots, package = "lmerTest")
data <- carrots
# The twelve types keep the package's order and lose their variety names.
carrot <- sprintf("carrot-%02d", as.integer(data$Product))
tester <- paste0("c", data$Consumer)
attributes <- c(Preference = "preference", Sweetness = "sweetness", Bitter = "bitterness", Crisp = "crispness")

write_json_file(folder, "bench.json", bench_settings(
  "Carrot tasting", "Twelve types of carrot rated by 103 consumers; open data, see README.md.",
  list(min = 1, max = 7, step = 1),
  lapply(names(attributes), function(name) list(id = attributes[[name]], title = name, better = "higher")), 1
))
write_json_file(folder, "metrics.json", list(
  metric_entry("panel-axis-1", "First axis of the trained panel", "interval", -20, 20, 3, "First principal component of a trained panel's profile."),
  metric_entry("panel-axis-2", "Second axis of the trained panel", "interval", -20, 20, 3, "Second principal component of a trained panel's profile.")
))
types <- sort(unique(carrot))
first <- match(types, carrot)
write_table(folder, "shoes.csv", data.frame(shoe_id = types, maker = "none", model = types))
write_table(folder, "features.csv", no_features())
write_table(folder, "sessions.csv", data.frame(session_id = "panel", date = "1997-03-01", operator = "panel"))
write_table(folder, "trials.csv", rbind(
  data.frame(session_id = "panel", shoe_id = types, metric_id = "panel-axis-1", trial = 1, value = round(data$sens1[first], 6), unit = "1"),
  data.frame(session_id = "panel", shoe_id = types, metric_id = "panel-axis-2", trial = 1, value = round(data$sens2[first], 6), unit = "1")
))
impressions <- do.call(rbind, lapply(names(attributes), function(name) data.frame(
  date = "1997-03-15", tester = tester, shoe_id = carrot, attribute = attributes[[name]], rating = data[[name]]
)))
write_table(folder, "impressions.csv", impressions[order(impressions$tester, impressions$shoe_id), ])

panel <- function(name) {
  of <- data.frame(rating = data[[name]], shoe = carrot, tester = tester)
  of <- of[!is.na(of$rating), ]
  fit <- lmer(rating ~ 1 + (1 | shoe) + (1 | tester), of)
  s <- reml_components(of$rating, list(shoe = of$shoe, tester = of$tester), lme4_components(fit))
  complete <- of[of$tester %in% names(which(table(of$tester) == 12)), ]
  friedman <- friedman.test(rating ~ shoe | tester, complete)
  blocks <- length(unique(complete$tester))
  means <- tapply(of$rating, of$shoe, mean)
  axis <- function(column) cor(data[[column]][first], means[types], method = "spearman")
  list(
    ratings = nrow(of), components = as.list(s),
    icc_single = s[["shoe"]] / sum(s),
    icc_mean_of_103 = s[["shoe"]] / (s[["shoe"]] + (s[["tester"]] + s[["residual"]]) / 103),
    kendall_w = friedman$statistic[[1]] / (blocks * 11), complete_testers = blocks,
    spearman_of_means = list("panel-axis-1" = axis("sens1"), "panel-axis-2" = axis("sens2")),
    lme4 = as.list(lme4_components(fit))
  )
}
write_json_file(folder, "reference.json", list(
  source = "Data set `carrots` of the R package lmerTest 3.1-3: consumer study of Danish carrots, 1996/97",
  published = NA,
  computed = setNames(lapply(names(attributes), panel), attributes),
  computed_with = paste0(made_with(), ", lmerTest ", packageVersion("lmerTest")),
  note = "Consumer and carrot random and crossed; the residual holds the consumer by carrot interaction, since nobody rated twice. lme4 is what lmer printed before it was taken further."
))
