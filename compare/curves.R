# Kaplan-Meier with three kinds of limits, quantiles and the log-rank test.
suppressMessages(library(survival))
say <- function(key, value) cat(sprintf("%s,%.17g\n", key, value), sep = "")
d <- read.csv(commandArgs(TRUE)[1])
for (kind in c("plain", "log", "log-log")) {
  for (g in sort(unique(d$group))) {
    f <- survfit(Surv(time, event) ~ 1, data = d[d$group == g, ], conf.type = kind)
    for (i in which(f$n.event > 0)) {
      at <- paste(kind, g, f$time[i], sep = "|")
      say(paste0(at, "|survival"), f$surv[i])
      say(paste0(at, "|se"), f$std.err[i] * f$surv[i])
      say(paste0(at, "|lower"), f$lower[i])
      say(paste0(at, "|upper"), f$upper[i])
    }
    q <- quantile(f, c(0.25, 0.5, 0.75))
    for (i in 1:3) {
      at <- paste(kind, g, c(0.25, 0.5, 0.75)[i], sep = "|q|")
      say(paste0(at, "|estimate"), q$quantile[i])
      say(paste0(at, "|lower"), q$lower[i])
      say(paste0(at, "|upper"), q$upper[i])
    }
  }
}
t <- survdiff(Surv(time, event) ~ group, data = d)
say("chi_square", t$chisq)
say("p", pchisq(t$chisq, length(t$n) - 1, lower.tail = FALSE))
