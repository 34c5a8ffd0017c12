# Accelerated failure times with covariates: four forms, everything that survreg says.
suppressMessages(library(survival))
say <- function(key, value) cat(sprintf("%s,%.17g\n", key, value), sep = "")
d <- read.csv(commandArgs(TRUE)[1])
new <- read.csv(commandArgs(TRUE)[2])
control <- survreg.control(maxiter = 200, rel.tolerance = 1e-13)
d$when <- Surv(d$left, d$right, type = "interval2")
for (form in c("exponential", "weibull", "lognormal", "loglogistic")) {
  f <- survreg(when ~ warmth + mix, data = d, dist = form, control = control)
  se <- sqrt(diag(vcov(f)))
  names <- sub("(Intercept)", "(intercept)", names(coef(f)), fixed = TRUE)
  for (i in seq_along(names)) {
    say(paste(form, names[i], "estimate", sep = "|"), coef(f)[i])
    say(paste(form, names[i], "se", sep = "|"), se[i])
  }
  say(paste0(form, "|scale"), f$scale)
  if (form != "exponential") say(paste0(form, "|log_scale_se"), se[length(names) + 1])
  say(paste0(form, "|log_likelihood"), f$loglik[2])
  say(paste0(form, "|log_likelihood_null"), f$loglik[1])
  p <- predict(f, newdata = new, type = "quantile", p = c(0.1, 0.5, 0.9), se.fit = TRUE)
  for (i in seq_len(nrow(new))) for (j in 1:3) {
    at <- paste(form, "predicted", i, j, sep = "|")
    say(paste0(at, "|estimate"), p$fit[i, j])
    say(paste0(at, "|se"), p$se.fit[i, j])
  }
}
