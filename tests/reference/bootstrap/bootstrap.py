"""
Bootstrap intervals from SciPy's own resampling, and symmetric bootstrap-t ones by NumPy, straight from their definition.
Run: /usr/bin/python3 bootstrap.py > bootstrap.json
"""
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


second = np.array([290, 275, 280, 251, 270, 290, 280, 268.0])
draws = np.random.default_rng(4).integers(0, len(right), (400_000, len(right)))


def symmetric_t(statistic, columns, back):
    """value -+ error x 95th percentile of |t|, jackknife errors; `columns` are summed over participants"""
    def with_error(picks):
        sums = columns[:, picks]
        whole = sums.sum(-1)
        value = statistic(whole)
        left = statistic(whole[..., None] - sums)
        n = picks.shape[-1]
        return value, np.sqrt((n - 1) / n * ((left - left.mean(-1, keepdims=True)) ** 2).sum(-1))

    value, error = with_error(np.arange(columns.shape[1])[None, :])
    drawn, own = with_error(draws)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.abs(drawn - value) / own
    # A draw of one participant alone has no spread; rounding may leave a trace of one.
    half = error * np.quantile(t[(own > 1e-12) & np.isfinite(t)], 0.95)
    return [float(back(value - half)[0]), float(back(value + half)[0])]


logit = lambda s: np.log(s[0] / (s[1] - s[0]))
logistic = lambda x: 1 / (1 + np.exp(-x))
difference = lambda s: s[0] / s[2] - s[1] / s[2]

print(json.dumps({
    "madeWith": f"SciPy {scipy.__version__}, scipy.stats.bootstrap, 200,000 resamples",
    "right": right.tolist(), "total": total.tolist(),
    "mean": both((share,), np.mean, False),
    "ratio": both((right, total), ratio, True),
    "bootstrapTMadeWith": f"NumPy {np.__version__}, 400,000 resamples",
    "second": second.tolist(),
    "ratioBootstrapT": symmetric_t(logit, np.array([right, total]), logistic),
    "differenceBootstrapT": symmetric_t(difference, np.array([right, second, total]), lambda x: x),
}, indent=1))
