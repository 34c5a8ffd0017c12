# Intervals of a share: exact, Wilson without continuity correction, Jeffreys (ends at 0 and 1 set).
d <- read.csv(commandArgs(TRUE)[1])
say <- function(key, value) cat(sprintf("%s,%.17g\n", key, value), sep = "")
for (i in seq_len(nrow(d))) {
  k <- d$k[i]; n <- d$n[i]; level <- d$confidence[i]
  exact <- binom.test(k, n, conf.level = level)$conf.int
  wilson <- suppressWarnings(prop.test(k, n, conf.level = level, correct = FALSE))$conf.int
  jeffreys <- qbeta(c((1 - level) / 2, (1 + level) / 2), k + 0.5, n - k + 0.5)
  if (k == 0) jeffreys[1] <- 0
  if (k == n) jeffreys[2] <- 1
  for (j in 1:2) {
    say(paste(i, "clopper_pearson", j, sep = "|"), exact[j])
    say(paste(i, "wilson", j, sep = "|"), wilson[j])
    say(paste(i, "jeffreys", j, sep = "|"), jeffreys[j])
  }
}
