"""Agreement statistics from SciPy, scikit-learn and from first principles (numerical delta method).
Run: /usr/bin/python3 agreement.py > agreement.json"""
import json
import numpy as np
import scipy
import sklearn
from scipy import stats
from sklearn.metrics import cohen_kappa_score, mean_absolute_error, mean_absolute_percentage_error

rng = np.random.default_rng(20240611)


def gradient(f, x, h=1e-6):
    x = np.asarray(x, float)
    return np.array([(f(x + h * e) - f(x - h * e)) / (2 * h) for e in np.eye(len(x))])


def kappa_of(p, k):
    p = p.reshape(k, k) / p.sum()
    chance = (p.sum(1) * p.sum(0)).sum()
    return (np.trace(p) - chance) / (1 - chance)


def kappa_case(table):
    """kappa by scikit-learn; its standard error by the delta method on the multinomial covariance."""
    t = np.array(table)
    k, n = len(t), t.sum()
    a = [i for i in range(k) for j in range(k) for _ in range(t[i, j])]
    b = [j for i in range(k) for j in range(k) for _ in range(t[i, j])]
    p = t.ravel() / n
    g = gradient(lambda v: kappa_of(v, k), p)
    variance = g @ ((np.diag(p) - np.outer(p, p)) / n) @ g
    return {"table": table, "kappa": cohen_kappa_score(a, b), "standardError": float(np.sqrt(variance))}


def lin_case(n, slope, shift, noise):
    """Lin's coefficient by its definition; variance of its z by the delta method on normal-theory moments."""
    x = rng.normal(60, 10, n)
    y = shift + slope * x + rng.normal(0, noise, n)
    m = np.array([x.mean(), y.mean(), x.var(), y.var(), np.cov(x, y, bias=True)[0, 1]])
    ccc = lambda v: 2 * v[4] / (v[2] + v[3] + (v[0] - v[1]) ** 2)
    g = gradient(lambda v: np.arctanh(ccc(v)), m, 1e-4)
    sxx, syy, sxy = m[2:]
    cov = np.zeros((5, 5))
    cov[:2, :2] = [[sxx, sxy], [sxy, syy]]
    cov[2:, 2:] = [
        [2 * sxx**2, 2 * sxy**2, 2 * sxx * sxy],
        [2 * sxy**2, 2 * syy**2, 2 * syy * sxy],
        [2 * sxx * sxy, 2 * syy * sxy, sxx * syy + sxy**2],
    ]
    half = stats.norm.ppf(0.975) * np.sqrt(g @ cov @ g / (n - 2))
    z = np.arctanh(ccc(m))
    return {
        "x": x.tolist(), "y": y.tolist(), "ccc": ccc(m), "interval": [np.tanh(z - half), np.tanh(z + half)],
        "mae": mean_absolute_error(x, y), "mape": 100 * mean_absolute_percentage_error(x, y),
    }


def icc_case(table):
    """Mean squares by projection on indicator columns (least squares), then the definitions of the six forms."""
    t = np.array(table, float)
    n, k = t.shape
    y = t.ravel()
    rows = np.kron(np.eye(n), np.ones((k, 1)))
    cols = np.kron(np.ones((n, 1)), np.eye(k))
    rss = lambda X: float(((y - X @ np.linalg.lstsq(X, y, rcond=None)[0]) ** 2).sum())
    rest = rss(np.hstack([rows, cols]))
    b = (rss(cols) - rest) / (n - 1)
    j = (rss(rows) - rest) / (k - 1)
    e = rest / ((n - 1) * (k - 1))
    w = rss(rows) / (n * (k - 1))
    f = lambda d1, d2: (stats.f.ppf(0.975, d1, d2), stats.f.ppf(0.975, d2, d1))
    lo1, hi1 = f(n - 1, n * (k - 1))
    lo3, hi3 = f(n - 1, (n - 1) * (k - 1))
    one = [[(b / w / lo1), (b / w * hi1)], [(b / e / lo3), (b / e * hi3)]]
    single = lambda r: (r - 1) / (r + k - 1)
    avg = lambda r: 1 - 1 / r
    return {
        "table": table,
        "values": {
            "1,1": (b - w) / (b + (k - 1) * w), "2,1": (b - e) / (b + (k - 1) * e + k * (j - e) / n),
            "3,1": (b - e) / (b + (k - 1) * e), "1,k": (b - w) / b, "2,k": (b - e) / (b + (j - e) / n),
            "3,k": (b - e) / b,
        },
        "intervals": {
            "1,1": [single(v) for v in one[0]], "3,1": [single(v) for v in one[1]],
            "1,k": [avg(v) for v in one[0]], "3,k": [avg(v) for v in one[1]],
        },
    }


def repeated_case(sizes):
    """Variance components of differences by participant; mean squares from scipy's one-way F test and totals."""
    groups = [(rng.normal(2, 3) + rng.normal(0, 2, m)) for m in sizes]
    everything = np.concatenate(groups)
    n, k = len(everything), len(groups)
    F = stats.f_oneway(*groups).statistic
    total = ((everything - everything.mean()) ** 2).sum()
    within = total / (n - k + F * (k - 1))  # total = MSw (n - k) + F MSw (k - 1)
    size = (n - (np.array(sizes) ** 2).sum() / n) / (k - 1)
    between = max(0.0, (F * within - within) / size)
    return {
        "groups": [g.tolist() for g in groups], "bias": everything.mean(), "withinSd": within**0.5,
        "betweenSd": between**0.5, "sd": (within + between) ** 0.5,
    }


print(json.dumps({
    "madeWith": f"SciPy {scipy.__version__}, scikit-learn {sklearn.__version__}, NumPy {np.__version__}",
    "chiSquareQuantile": [[p, df, stats.chi2.ppf(p, df)] for df in (1, 2, 5, 16, 59, 400) for p in (0.001, 0.025, 0.5, 0.975, 0.999)],
    "kappa": [kappa_case(t) for t in ([[20, 5], [10, 15]], [[45, 15], [25, 15]], [[75, 1, 4], [5, 4, 1], [0, 0, 10]],
              [[310, 4, 2, 0], [6, 22, 3, 1], [2, 5, 18, 0], [0, 1, 2, 40]], [[0, 12], [9, 0]])],
    "concordance": [lin_case(20, 1, 0, 3), lin_case(80, 0.9, 9, 5), lin_case(300, 1, 4, 1)],
    "icc": [icc_case([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]),
            icc_case((np.round(rng.normal(70, 12, (25, 1)) + [[0, 2]] + rng.normal(0, 3, (25, 2)), 2)).tolist())],
    "repeated": [repeated_case([5] * 8), repeated_case([2, 9, 4, 4, 12, 6, 3, 7]), repeated_case([1, 5, 1, 8])],
}, indent=1))
