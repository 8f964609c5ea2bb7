# A million trials read and checked in R: read.csv and whole-column checks; no faster reader is installed.
source(file.path(dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE))), "timing.R"))
folder <- drop(input("folder"))
bad <- timed("natural", function() {
  trials <- read.csv(file.path(folder, "trials.csv"), colClasses = "character")
  shoes <- read.csv(file.path(folder, "shoes.csv"))$shoe_id
  value <- suppressWarnings(as.numeric(trials$value))
  key <- paste(trials$session_id, trials$shoe_id, trials$metric_id, trials$trial)
  1L + which(is.na(value) | value < 10 | value > 90 | trials$unit != "cm" |
    !trials$shoe_id %in% shoes | duplicated(key))
})
numbers(bad)
