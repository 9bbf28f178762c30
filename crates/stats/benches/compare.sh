#!/bin/sh
# The estimators of R and Python on the data of benches/estimators.rs, for the
# table in the crate's documentation. No part of the tests. Needs, as on Debian:
# r-base-core r-cran-mass r-cran-robustbase, and a Python with numpy, scipy and
# statsmodels (PYTHON=..., python3 if unset). Prints the least processor time of
# many runs, so that other work on the machine counts little.
set -eu
"${PYTHON:-python3}" - <<'PYTHON'
import sys, time, timeit
import numpy, scipy, statsmodels
from scipy.stats import norm
from statsmodels.robust.scale import Huber, qn_scale

print("Python", sys.version.split()[0], "numpy", numpy.__version__, "scipy", scipy.__version__,
      "statsmodels", statsmodels.__version__)

def results(count):
    place = numpy.arange(count)
    share = ((place + 0.5) * 0.6180339887498949) % 1
    return 100 + numpy.where(place % 33 == 0, 50, 0) + 10 * norm.ppf(share)

def least(call):
    timer = timeit.Timer(call, timer=time.process_time)
    number, took = timer.autorange()
    return min([took] + timer.repeat(4, number)) / number

for count in (30, 1000, 10_000, 100_000):
    x = results(count)
    row = {"numpy.sort": lambda: numpy.sort(x), "statsmodels Huber": lambda: Huber(c=1.5, maxiter=100)(x)}
    if count <= 10_000:
        row["statsmodels qn_scale"] = lambda: qn_scale(x)
    for name, call in row.items():
        try:
            print(f"{count:>7} {name}: {1e6 * least(call):.1f} us")
        except Exception as error:
            print(f"{count:>7} {name}: {error}")
PYTHON
Rscript --vanilla - <<'R'
suppressMessages({library(MASS); library(robustbase)})
cat(R.version.string, "MASS", as.character(packageVersion("MASS")),
    "robustbase", as.character(packageVersion("robustbase")), "\n")
results <- function(count) {
  place <- seq_len(count) - 1
  100 + ifelse(place %% 33 == 0, 50, 0) + 10 * qnorm(((place + 0.5) * 0.6180339887498949) %% 1)
}
busy <- function(call, number) {
  took <- system.time(for (i in seq_len(number)) call())
  took[["user.self"]] + took[["sys.self"]]
}
least <- function(call) {
  number <- 1
  repeat {
    took <- busy(call, number)
    if (took > 0.2) break
    number <- number * 2
  }
  min(took, sapply(1:4, function(i) busy(call, number))) / number
}
for (count in c(30, 1000, 10000, 100000)) {
  x <- results(count)
  calls <- list(sort = function() sort(x), hubers = function() hubers(x))
  if (count <= 10000) calls <- c(calls, list(Qn = function() Qn(x), Sn = function() Sn(x)))
  for (name in names(calls)) cat(sprintf("%7d %s: %.1f us\n", as.integer(count), name, 1e6 * least(calls[[name]])))
}
R
