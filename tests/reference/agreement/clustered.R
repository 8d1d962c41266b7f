# Cohen's kappa of clustered pairs by survey::svykappa, whose variance is the same delta method over clusters with K / (K - 1).
# Debian package r-cran-survey. Run: Rscript clustered.R > clustered.json
suppressMessages(library(survey))
set.seed(5)
one <- function(clusters, k, perCluster) {
  own <- rbeta(clusters, 8, 2)
  rows <- do.call(rbind, lapply(seq_len(clusters), function(c) {
    n <- perCluster + c
    a <- sample(k, n, TRUE, prob = (k:1)^2)
    b <- ifelse(runif(n) < own[c], a, sample(k, n, TRUE))
    data.frame(id = c, a = factor(a, levels = 1:k), b = factor(b, levels = 1:k))
  }))
  found <- svykappa(~ a + b, svydesign(id = ~ id, weights = ~ 1, data = rows))
  tables <- lapply(split(rows, rows$id), function(r) table(r$a, r$b))
  text <- paste(sapply(tables, function(t) paste0("[", paste(apply(t, 1, function(r) paste0("[", paste(r, collapse = ","), "]")), collapse = ","), "]")), collapse = ",\n   ")
  sprintf('{"tables": [\n   %s],\n   "kappa": %.15g, "standardError": %.15g}', text, coef(found), SE(found)[1])
}
cat(sprintf('{\n "madeWith": "R %s, survey %s",\n "cases": [\n  %s]\n}\n', getRversion(), packageVersion("survey"),
  paste(one(8, 2, 30), one(5, 4, 60), one(24, 3, 12), sep = ",\n  ")))
