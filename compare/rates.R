# Logistic mixed models: one random term (Laplace and 15 nodes) and two crossed ones (Laplace).
suppressMessages(library(lme4))
say <- function(key, value) cat(sprintf("%s,%.17g\n", key, value), sep = "")
d <- read.csv(commandArgs(TRUE)[1], stringsAsFactors = TRUE)
control <- glmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-9, maxfun = 1e5))
constants <- sum(lchoose(d$pollinated, d$fruits))

# Gauss-Hermite nodes by the eigenvalues of the Jacobi matrix (Golub and Welsch).
nodes <- function(n) {
  i <- seq_len(n - 1)
  m <- matrix(0, n, n)
  m[cbind(i, i + 1)] <- m[cbind(i + 1, i)] <- sqrt(i)
  e <- eigen(m, symmetric = TRUE)
  list(x = e$values, w = e$vectors[1, ]^2)
}

# The log-likelihood of one normal intercept by 101 nodes, at given parameters.
integrated <- function(eta, sd, group) {
  q <- nodes(101)
  each <- sapply(q$x, function(x) dbinom(d$fruits, d$pollinated, plogis(eta + sd * x), log = TRUE))
  sums <- rowsum(each, group)
  top <- apply(sums, 1, max)
  sum(top + log(exp(sums - top) %*% q$w))
}

report <- function(at, f, log_likelihood) {
  estimate <- fixef(f)
  se <- sqrt(diag(as.matrix(vcov(f))))
  for (i in seq_along(estimate)) {
    name <- sub("(Intercept)", "(intercept)", names(estimate)[i], fixed = TRUE)
    say(paste(at, "term", name, "estimate", sep = "|"), estimate[i])
    say(paste(at, "term", name, "se", sep = "|"), se[i])
  }
  modes <- ranef(f, condVar = TRUE)
  for (g in names(modes)) {
    say(paste(at, "sd", g, sep = "|"), attr(VarCorr(f)[[g]], "stddev"))
    spread <- sqrt(attr(modes[[g]], "postVar")[1, 1, ])
    for (i in seq_len(nrow(modes[[g]]))) {
      level <- rownames(modes[[g]])[i]
      say(paste(at, "level", g, level, "estimate", sep = "|"), modes[[g]][i, 1])
      say(paste(at, "level", g, level, "se", sep = "|"), spread[i])
    }
  }
  say(paste0(at, "|log_likelihood"), log_likelihood)
}

one <- cbind(fruits, pollinated - fruits) ~ humid + method + (1 | seed_parent)
f <- glmer(one, d, binomial, control = control)
report("laplace", f, as.numeric(logLik(f)))
f <- glmer(one, d, binomial, nAGQ = 15, control = control)
eta <- as.vector(model.matrix(f) %*% fixef(f))
report("nodes", f, integrated(eta, attr(VarCorr(f)$seed_parent, "stddev"), d$seed_parent))
f <- glmer(cbind(fruits, pollinated - fruits) ~ humid + method + (1 | seed_parent) + (1 | pollen_parent), d, binomial, control = control)
report("crossed", f, as.numeric(logLik(f)))
