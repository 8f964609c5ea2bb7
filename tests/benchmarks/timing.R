# What the scripts beside this share: the folder of their inputs, and how they print what they found.
dir <- commandArgs(trailingOnly = TRUE)[1]
input <- function(name) as.matrix(unname(read.csv(file.path(dir, paste0(name, ".csv")), header = FALSE)))
timed <- function(name, work, share = 1) {
  result <- NULL
  seconds <- system.time(result <- work())[["elapsed"]]
  cat(name, sprintf("%.6g", seconds), share, "\n")
  invisible(result)
}
numbers <- function(x) cat("numbers", sprintf("%.17g", as.numeric(x)), "\n")
