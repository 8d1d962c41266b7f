"""Distribution functions and quantiles from SciPy. Run: /usr/bin/python3 distributions.py > distributions.json"""
import json
import scipy
from scipy import stats, special

zs = [-37, -12, -8, -5, -3.5, -3, -2.999, -1.96, -1, -0.3, 0, 1e-8, 0.5, 1.5, 2.5, 3, 4, 6, 9]
ps = [1e-300, 1e-20, 1e-9, 1e-4, 0.01, 0.025, 0.07, 0.075, 0.2, 0.5, 0.7, 0.925, 0.93, 0.975, 0.999, 1 - 1e-9]
beta = [(a, b, x) for a in (0.5, 1, 2.5, 10, 120) for b in (0.5, 1, 3.7, 40) for x in (1e-6, 0.05, 0.4, 0.7, 0.97)]
dfs = [1, 2, 3.7, 7, 16, 120, 1e4]
ts = [-30, -4, -1, 0, 0.2, 2, 12]
pairs = [(1, 1), (5, 15), (3.0, 15.0), (18.99, 5), (5, 6.4), (120, 40), (40, 1000.5)]
fs = [0.01, 0.4, 1, 2.7, 11.03, 60]
qs = [0.001, 0.025, 0.05, 0.5, 0.9, 0.975, 0.999]
print(json.dumps({
    "madeWith": f"SciPy {scipy.__version__}",
    "normalCdf": [[z, stats.norm.cdf(z)] for z in zs],
    "normalQuantile": [[p, stats.norm.ppf(p)] for p in ps],
    "regularizedBeta": [[x, a, b, special.betainc(a, b, x)] for a, b, x in beta],
    "tCdf": [[t, df, stats.t.cdf(t, df)] for df in dfs for t in ts],
    # stats.t.ppf of SciPy 1.10 is good to nine digits only; the square root of an F quantile is better.
    "tQuantile": [[p, df, stats.f.ppf(2 * p - 1, 1, df) ** 0.5] for df in dfs for p in qs if p > 0.5],
    "fCdf": [[f, a, b, stats.f.cdf(f, a, b)] for a, b in pairs for f in fs],
    "fQuantile": [[p, a, b, stats.f.ppf(p, a, b)] for a, b in pairs for p in qs],
}, indent=1))
