# Counts against ratios: chi-square, G, and the exact multinomial test by going through all outcomes.
d <- read.csv(commandArgs(TRUE)[1], colClasses = "character")
say <- function(key, value) cat(sprintf("%s,%.17g\n", key, value), sep = "")
outcomes <- function(n, classes) {
  if (classes == 1) return(matrix(n, 1, 1))
  do.call(rbind, lapply(0:n, function(k) cbind(k, outcomes(n - k, classes - 1))))
}
for (i in seq_len(nrow(d))) {
  observed <- as.numeric(strsplit(d$observed[i], " ")[[1]])
  parts <- as.numeric(strsplit(d$ratio[i], ":")[[1]])
  share <- parts / sum(parts)
  n <- sum(observed)
  fit <- suppressWarnings(chisq.test(observed, p = share))
  seen <- observed > 0
  g <- 2 * sum(observed[seen] * log(observed[seen] / (n * share[seen])))
  say(paste(i, "chi_square", sep = "|"), unname(fit$statistic))
  say(paste(i, "p", sep = "|"), fit$p.value)
  say(paste(i, "g", sep = "|"), g)
  say(paste(i, "g_p", sep = "|"), pchisq(g, length(observed) - 1, lower.tail = FALSE))
  if (length(observed) == 2) {
    exact <- binom.test(observed[1], n, share[1])$p.value
  } else {
    chance <- apply(outcomes(n, length(observed)), 1, dmultinom, prob = share)
    exact <- sum(chance[chance <= dmultinom(observed, prob = share) * (1 + 1e-7)])
  }
  say(paste(i, "exact", sep = "|"), exact)
}
