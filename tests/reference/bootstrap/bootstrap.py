"""Bootstrap intervals from SciPy's own resampling. Run: /usr/bin/python3 bootstrap.py > bootstrap.json"""
import json
import numpy as np
import scipy
from scipy import stats

right = np.array([296, 281, 299, 250, 290, 297, 301, 270.0])
total = np.array([300, 300, 310, 300, 301, 298, 303, 312.0])
share = right / total
ratio = lambda r, t, axis=-1: r.sum(axis) / t.sum(axis)
rng = np.random.default_rng(3)


def both(data, statistic, paired):
    run = lambda method: stats.bootstrap(data, statistic, paired=paired, n_resamples=200_000, method=method, random_state=rng, vectorized=True, batch=10_000)
    return {m: list(run(m).confidence_interval) for m in ("percentile", "BCa")}


print(json.dumps({
    "madeWith": f"SciPy {scipy.__version__}, scipy.stats.bootstrap, 200,000 resamples",
    "right": right.tolist(), "total": total.tolist(),
    "mean": both((share,), np.mean, False),
    "ratio": both((right, total), ratio, True),
}, indent=1))
