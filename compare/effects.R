# REML: two crossed terms, and a slope that is correlated with the intercept.
suppressMessages(library(lme4))
say <- function(key, value) cat(sprintf("%s,%.17g\n", key, value), sep = "")
files <- commandArgs(TRUE)
control <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10, maxfun = 1e5))

report <- function(at, f) {
  estimate <- fixef(f)
  se <- sqrt(diag(as.matrix(vcov(f))))
  for (i in seq_along(estimate)) {
    name <- sub("(Intercept)", "(intercept)", names(estimate)[i], fixed = TRUE)
    say(paste(at, "term", name, "estimate", sep = "|"), estimate[i])
    say(paste(at, "term", name, "se", sep = "|"), se[i])
  }
  v <- VarCorr(f)
  for (g in names(v)) {
    say(paste(at, "sd", g, 1:nrow(v[[g]]), sep = "|"), attr(v[[g]], "stddev"))
    if (nrow(v[[g]]) == 2) say(paste(at, "correlation", g, sep = "|"), attr(v[[g]], "correlation")[1, 2])
  }
  say(paste0(at, "|sd|residual|1"), sigma(f))
  say(paste0(at, "|log_restricted_likelihood"), as.numeric(logLik(f)))
  modes <- ranef(f, condVar = TRUE)
  for (g in names(modes)) {
    spread <- attr(modes[[g]], "postVar")
    for (i in seq_len(nrow(modes[[g]]))) for (j in seq_len(ncol(modes[[g]]))) {
      level <- paste(at, "level", g, rownames(modes[[g]])[i], j, sep = "|")
      say(paste0(level, "|estimate"), modes[[g]][i, j])
      say(paste0(level, "|conditional_sd"), sqrt(spread[j, j, i]))
    }
  }
}

report("crossed", lmer(y ~ light + season + (1 | clone) + (1 | shelf), read.csv(files[1], stringsAsFactors = TRUE), control = control))
report("slope", lmer(y ~ days + (days | plant), read.csv(files[2], stringsAsFactors = TRUE), control = control))
