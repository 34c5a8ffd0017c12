# How long the reference libraries take on tables of the kinds and sizes of the project's own
# benchmarks (crates/stats/benches). Prints seconds of the clock; one thread.
suppressMessages({ library(survival); library(lme4) })
set.seed(1)
took <- function(name, work) cat(sprintf("%-62s %8.3f s\n", name, system.time(work())[["elapsed"]]))

n <- 200000
event <- rexp(n, 1 / 100); open <- rexp(n, 1 / 200)
took("Kaplan-Meier, 200,000 rows", function() survfit(Surv(pmin(event, open), event <= open) ~ 1))

# Looks every 1 to 9 days, twelve at the most; a tenth never germinate.
n <- 20000
time <- ifelse(runif(n) < 0.1, Inf, 20 * exp(0.5 * rnorm(n)))
looks <- t(apply(matrix(sample(1:9, n * 12, TRUE), n), 1, cumsum))
seen <- rowSums(looks < time)
left <- ifelse(seen == 0, NA, looks[cbind(1:n, pmax(seen, 1))])
right <- ifelse(seen == 12, NA, looks[cbind(1:n, pmin(seen + 1, 12))])
took("Turnbull, 20,000 rows, looks on whole days", function()
  survfit(Surv(left, right, type = "interval2") ~ 1))
x <- rnorm(n)
took("interval-censored Weibull, 20,000 rows, one covariate", function()
  survreg(Surv(left, right, type = "interval2") ~ x, dist = "weibull"))

rows <- 100000
a <- factor(sample(1000, rows, TRUE)); b <- factor(sample(500, rows, TRUE)); z <- rnorm(rows)
y <- 2 + 0.5 * z + rnorm(1000)[a] + 0.7 * rnorm(500)[b] + rnorm(rows)
took("REML, 1,000 x 500 levels crossed, 100,000 rows", function() lmer(y ~ z + (1 | a) + (1 | b)))

cells <- expand.grid(seed = factor(1:60), pollen = factor(1:100))
eta <- -1 + 0.8 * rnorm(60)[cells$seed] + 0.5 * rnorm(100)[cells$pollen]
cells$set <- rbinom(6000, 5, plogis(eta))
took("logistic, 60 x 100 crossed, 6,000 cells", function()
  glmer(cbind(set, 5 - set) ~ 1 + (1 | seed) + (1 | pollen), cells, binomial))
