# Made data (weather.csv): 18 sessions on two rigs, two reference shoes in each, twelve shoes that came back, 60 seen
# once; the value rises by 0.25 a degree. Rscript weather.R > weather.json (R 4.2.2, lme4, lmerTest)
suppressMessages({ library(lme4); library(lmerTest) })
d <- read.csv("weather.csv")
back <- names(which(tapply(d$session, d$shoe, function(s) length(unique(s))) > 1))
d <- d[d$shoe %in% back, ]
d$years <- as.numeric(as.Date(d$date) - min(as.Date(d$date))) / 365.25
d$b <- as.numeric(d$rig == "b")
m <- lmer(value ~ shoe + b + I(years * (1 - b)) + I(years * b) + temperature_c + humidity_pct +
  (1 | session) + (1 | shoe:session), data = d,
  control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10)))
s <- coef(summary(m))
row <- function(name) sprintf('{"slope": %.12g, "standard_error": %.12g, "freedom": %.8g}',
  s[name, 1], s[name, 2], s[name, 3])
cat('{"about": "lmer by REML, lmerTest, weather.R", "temperature_c": ', row("temperature_c"),
  ', "humidity_pct": ', row("humidity_pct"), ', "sessions": ', length(unique(d$session)), "}\n", sep = "")
