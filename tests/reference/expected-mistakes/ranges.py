# Quantiles for tests/unit/core/review/places/expected-mistakes.test.ts and the shift in random-intercept.test.ts.
# Run with SciPy (made with 1.17; any version will do).
import numpy as np
from scipy.optimize import minimize_scalar
from scipy.stats import binom, nbinom

for n, p in ((10, 0.5), (40, 0.1), (2000, 0.5), (30, 0.97)):
    print("binomial", n, p, binom.ppf([0.05, 0.95], n, p))
for n, p, spread in ((100, 0.02, 1), (1000, 0.02, 1), (1000, 0.05, 2)):
    mean, slope = n * p, n * p * (1 - p)
    size = mean**2 / (slope + (slope * spread) ** 2 - mean)
    print("negative binomial", n, p, spread, nbinom.ppf([0.05, 0.95], size, size / (size + mean)))


def logistic(z):
    return 1 / (1 + np.exp(-z))


# Posterior mode of the shift: 40 places of log-odds -3, 6 of them mistakes, standard deviation 1.3 beforehand.
def minus_log_posterior(u):
    return -(6 * np.log(logistic(-3 + u)) + 34 * np.log(1 - logistic(-3 + u)) - u**2 / (2 * 1.3**2))


print("shift", minimize_scalar(minus_log_posterior, bounds=(-5, 5), method="bounded", options={"xatol": 1e-10}).x)
# Mean of a chance over a normal shift, by Gauss-Hermite quadrature; the closed form is an approximation.
x, w = np.polynomial.hermite_e.hermegauss(60)
for l, s in ((-3, 1.3), (-5, 2), (1, 1.3)):
    print("mean chance", l, s, (w * logistic(l + s * x)).sum() / w.sum())
