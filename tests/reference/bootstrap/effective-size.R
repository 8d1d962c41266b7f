# Intervals of a clustered proportion by the R package survey (svyciprop, method "beta": Korn & Graubard 1998), one row for
# each interval, volunteers as clusters. Run: Rscript effective-size.R > effective-size.json
suppressPackageStartupMessages(library(survey))
suppressPackageStartupMessages(library(clubSandwich))
right <- c(296, 281, 299, 250, 290, 297, 301, 270)
total <- c(300, 300, 310, 300, 301, 298, 303, 312)
rows <- function(right, total) data.frame(
  volunteer = rep(seq_along(total), total),
  right = unlist(mapply(function(r, t) rep(c(1, 0), c(r, t - r)), right, total, SIMPLIFY = FALSE)))
beta <- function(right, total) {
  d <- svydesign(ids = ~volunteer, weights = ~1, data = rows(right, total))
  as.vector(confint(svyciprop(~right, d, method = "beta")))
}
# Nearly free of mistakes: one volunteer has most of them
few <- c(300, 299, 310, 291, 301, 298, 303, 311)
logit <- function(right, total) {
  d <- rows(right, total)
  m <- glm(right ~ 1, family = quasibinomial, data = d)
  v <- vcovCR(m, cluster = d$volunteer, type = "CR2")
  t <- coef_test(m, vcov = v, test = "Satterthwaite")
  c(beta = unname(coef(m)), se = t$SE, df = t$df_Satt)
}
l <- logit(right, total)
# From the definition, with the variance of survey: effective size no larger than a correlation leaves; two recorders by MOVER
limits <- function(right, total, correlation) {
  d <- svydesign(ids = ~volunteer, weights = ~1, data = rows(right, total))
  m <- svymean(~right, d)
  p <- as.vector(coef(m))
  n <- p * (1 - p) / as.vector(vcov(m)) * (qt(0.025, sum(total) - 1) / qt(0.025, length(total) - 1))^2
  most <- sum(total) / (1 + (sum(total^2) / sum(total) - 1) * correlation)
  n <- if (is.nan(n)) most else min(n, most)
  x <- p * n
  c(p, if (x == 0) 0 else qbeta(0.025, x, n - x + 1), if (x == n) 1 else qbeta(0.975, x + 1, n - x))
}
mover <- function(a, b, total, correlation) {
  one <- limits(a, total, correlation); two <- limits(b, total, correlation)
  r <- cor(a - one[1] * total, b - two[1] * total)
  r <- if (is.na(r)) 0 else max(0, min(0.9, r))
  root <- function(x, y) sqrt(x^2 + y^2 - 2 * r * x * y)
  d <- one[1] - two[1]
  c(d - root(one[1] - one[2], two[3] - two[1]), d + root(one[3] - one[1], two[1] - two[2]))
}
same <- rep(300, 8)
second <- c(290, 280, 292, 231, 288, 285, 300, 262)
num <- function(x) paste0("[", paste(trimws(formatC(x, digits = 15, format = "g")), collapse = ", "), "]")
cat(sprintf('{\n "madeWith": "R %s, survey %s, clubSandwich %s",\n "right": %s,\n "few": %s,\n "total": %s,\n "kornGraubard": %s,\n "kornGraubardFew": %s,\n "floored": %s,\n "flooredNone": %s,\n "same": %s,\n "first": %s,\n "second": %s,\n "difference": %s,\n "logitEstimateErrorDf": %s\n}\n',
  getRversion(), packageVersion("survey"), packageVersion("clubSandwich"),
  num(right), num(few), num(total), num(beta(right, total)), num(beta(few, total)),
  num(limits(few, total, 0.05)[2:3]), num(limits(total, total, 0.05)[2:3]), num(same), num(pmin(right, 300)), num(second),
  num(mover(pmin(right, 300), second, same, 0.02)), num(l)))
