# Quantiles for tests/unit/core/review/expected-mistakes.test.ts. Run with Debian's python3-scipy 1.10.
from scipy.stats import nbinom

size = 1 / 0.7**2
for mean in (0.5, 3, 10, 60):
    print(mean, nbinom.ppf([0.05, 0.95], size, size / (size + mean)))
