# Regression limits, repeated-measures concordance and two one-sided tests from base R. Run: Rscript repeated.R > repeated.json
set.seed(11)
# Five participants, four occasions; one value missing
x <- matrix(round(rnorm(20, 80, 8) + rep(c(0, 12, -9, 4, 7), 4), 2), 5, 4)
y <- matrix(round(x * 1.04 - 2 + rnorm(20, 0, 2.5), 2), 5, 4)
y[3, 2] <- NA
a <- as.vector(t(x)); b <- as.vector(t(y)); ok <- !is.na(b)
m <- ((a + b) / 2)[ok]; d <- (a - b)[ok]
bias <- lm(d ~ m)
spread <- lm(abs(resid(bias)) ~ m)
k <- 1.96 * sqrt(pi / 2)
# King, Chinchilli & Carrasco 2007, D the unit matrix
above <- below <- 0
for (j in 1:4) {
  u <- x[!is.na(y[, j]), j]; v <- y[!is.na(y[, j]), j]
  above <- above + 2 * cov(u, v)
  below <- below + var(u) + var(v) + (mean(u) - mean(v))^2
}
means <- rowMeans(x - y, na.rm = TRUE)
margin <- 4
p <- max(t.test(means, mu = -margin, alternative = "greater")$p.value, t.test(means, mu = margin, alternative = "less")$p.value)
num <- function(v) paste0("[", paste(ifelse(is.na(v), "null", trimws(formatC(v, digits = 15, format = "g"))), collapse = ", "), "]")
rows <- function(z) paste0("[", paste(apply(z, 1, num), collapse = ", "), "]")
cat(sprintf('{\n "madeWith": "R %s",\n "x": %s,\n "y": %s,\n "bias": %s,\n "halfWidth": %s,\n "concordance": %s,\n "margin": %g,\n "interval90": %s,\n "p": %.15g\n}\n',
  getRversion(), rows(x), rows(y), num(coef(bias)), num(k * coef(spread)), sprintf("%.15g", above / below), margin,
  num(t.test(means, conf.level = 0.9)$conf.int), p))
