# Breeding values by the equations of the definition, a selection index and combining abilities: base R
# alone, dense.
say <- function(key, value) cat(sprintf("%s,%.17g\n", key, value), sep = "")
files <- commandArgs(TRUE)

# The relationship matrix by the tabular method; parents stand before their progeny.
pedigree <- read.csv(files[1], colClasses = "character")
n <- nrow(pedigree)
seed <- match(pedigree$seed_parent, pedigree$id)
pollen <- match(pedigree$pollen_parent, pedigree$id)
A <- matrix(0, n, n)
for (i in seq_len(n)) {
  known <- c(seed[i], pollen[i])
  known <- known[!is.na(known)]
  before <- seq_len(i - 1)
  if (length(known) > 0 && i > 1) {
    A[i, before] <- 0.5 * colSums(A[known, before, drop = FALSE])
    A[before, i] <- A[i, before]
  }
  A[i, i] <- 1 + if (length(known) == 2) 0.5 * A[known[1], known[2]] else 0
}
dimnames(A) <- list(pedigree$id, pedigree$id)

records <- read.csv(files[2], colClasses = c(id = "character", bench = "factor"))
X <- model.matrix(~ x + bench, records)
own <- match(records$id, pedigree$id)
Z <- diag(n)[own, ]
plants <- sort(unique(records$id))
W <- diag(length(plants))[match(records$id, plants), ]
va <- 2; vp <- 0.7; ve <- 3
V <- va * Z %*% A %*% t(Z) + vp * W %*% t(W) + diag(ve / records$m)
Vi <- solve(V)
S <- solve(t(X) %*% Vi %*% X)
b <- S %*% t(X) %*% Vi %*% records$y
names <- sub("(Intercept)", "(intercept)", colnames(X), fixed = TRUE)
say(paste("term", names, "estimate", sep = "|"), b)
say(paste("term", names, "se", sep = "|"), sqrt(diag(S)))
P <- Vi - Vi %*% X %*% S %*% t(X) %*% Vi
effects <- function(group, G, Z, variance, levels) {
  C <- G %*% t(Z)
  pev <- diag(G - C %*% P %*% t(C))
  say(paste("level", group, levels, "estimate", sep = "|"), C %*% P %*% records$y)
  say(paste("level", group, levels, "pev", sep = "|"), pev)
  say(paste("level", group, levels, "conditional_sd", sep = "|"), sqrt(diag(G - C %*% Vi %*% t(C))))
  say(paste("level", group, levels, "reliability", sep = "|"), 1 - pev / diag(G))
}
effects("additive", va * A, Z, va, pedigree$id)
effects("permanent", vp * diag(length(plants)), W, vp, plants)
log_det <- function(M) as.numeric(determinant(M)$modulus)
likelihood <- -0.5 * ((nrow(X) - ncol(X)) * log(2 * pi) + log_det(V) + log_det(t(X) %*% Vi %*% X) +
  t(records$y) %*% P %*% records$y)
say("log_restricted_likelihood", likelihood)

# A selection index.
matrices <- as.matrix(read.csv(files[3]))
t <- ncol(matrices)
Pm <- matrices[1:t, ]
Gm <- matrices[t + 1:t, ]
w <- matrices[2 * t + 1, ]
b <- solve(Pm, Gm %*% w)
sd <- sqrt(sum(b * (Pm %*% b)))
say(paste0("index|b|", 1:t), b)
say(paste0("index|response|", 1:t), Gm %*% b / sd)
say("index|accuracy", sum(w * (Gm %*% b)) / sd / sqrt(sum(w * (Gm %*% w))))
C <- Gm[, 1, drop = FALSE]
held <- b - solve(Pm, C) %*% solve(crossprod(C, solve(Pm, C)), crossprod(C, b))
say(paste0("index|held|", 1:t), held)
say(paste0("index|desired|", 1:t), solve(Gm, matrices[2 * t + 2, ]))

# General combining ability of crosses one way: least squares with effects that sum to zero.
crosses <- read.csv(files[4], colClasses = c(seed_parent = "character", pollen_parent = "character"))
parents <- sort(unique(c(crosses$seed_parent, crosses$pollen_parent)))
p <- length(parents)
D <- diag(p)[match(crosses$seed_parent, parents), ] + diag(p)[match(crosses$pollen_parent, parents), ]
free <- rbind(diag(p - 1), -1)
fit <- lm(crosses$y ~ I(D %*% free))
say(paste0("gca|", parents), free %*% coef(fit)[-1])
pair <- factor(paste(crosses$seed_parent, crosses$pollen_parent))
lines <- anova(fit, lm(crosses$y ~ pair))
# Sums of squares of records: those of means are one replicate's.
replicates <- nrow(crosses) / nlevels(pair)
say("sca|ss", lines[["Sum of Sq"]][2] / replicates)
say("sca|f", lines$F[2])
say("sca|p", lines[["Pr(>F)"]][2])
