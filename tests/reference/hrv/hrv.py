"""HRV measures of one seeded tachogram from SciPy and NumPy. Run: /usr/bin/python3 hrv.py > hrv.json"""
import json
import numpy as np
import scipy
from scipy import interpolate, signal

rng = np.random.default_rng(7)


def tachogram(seconds):
    t, rr = 0.0, []
    while t < seconds:
        v = 850 + 40 * np.sin(2 * np.pi * 0.1 * t) + 30 * np.sin(2 * np.pi * 0.27 * t) + 20 * np.sin(2 * np.pi * 0.01 * t)
        v = round(v + rng.normal(0, 12), 1)
        rr.append(v)
        t += v / 1000
    return np.array(rr)


def bands(f, p):
    step = f[1] - f[0]
    pick = lambda lo, hi: float(p[(f > lo + 1e-12) & (f <= hi + 1e-12)].sum() * step)
    return {"vlf": pick(0, 0.04), "lf": pick(0.04, 0.15), "hf": pick(0.15, 0.4)}


def case(seconds):
    rr = tachogram(seconds)
    t = np.cumsum(rr / 1000)
    d = np.diff(rr)
    grid = t[0] + np.arange(int((t[-1] - t[0]) * 4 + 1e-9) + 1) / 4
    even = interpolate.PchipInterpolator(t, rr)(grid)
    f, p = signal.welch(even, 4, window="hann", nperseg=512, noverlap=256, detrend="constant")
    span = t[-1] - t[0]
    lf = np.arange(2, int(0.4 * span * 2 + 1e-9) + 1) / (2 * span)
    lp = 2 * span / len(t) * signal.lombscargle(t, rr - rr.mean(), 2 * np.pi * lf)
    y = np.cumsum(rr - rr.mean())
    F = []
    for n in range(4, 17):
        boxes = y[: len(y) // n * n].reshape(-1, n)
        x = np.arange(n)
        F.append(np.sqrt(np.mean([np.mean((b - np.polyval(np.polyfit(x, b, 1), x)) ** 2) for b in boxes])))
    bins = np.bincount((rr * 128 / 1000).astype(int))
    return {
        "intervalsMs": rr.tolist(),
        "meanNn": rr.mean(), "sdnn": rr.std(ddof=1), "rmssd": np.sqrt((d**2).mean()), "sdsd": d.std(ddof=1),
        "nn50": int((np.abs(d) > 50).sum()), "pnn50": 100 * float((np.abs(d) > 50).mean()),
        "triangularIndex": len(rr) / int(bins.max()),
        "sd1": np.std((rr[1:] - rr[:-1]) / 2**0.5, ddof=1), "sd2": np.std((rr[1:] + rr[:-1]) / 2**0.5, ddof=1),
        "shapePreserving": even[:40].tolist(), "welchFirst": p[:40].tolist(), "welch": bands(f, p),
        "lombFirst": lp[:40].tolist(), "lomb": bands(lf, lp),
        "alpha1": np.polyfit(np.log(np.arange(4, 17)), np.log(F), 1)[0],
    }


def with_gap():
    """Six minutes less 40 s in the middle: stretches averaged by their time, Lomb-Scargle by the time covered"""
    rr = tachogram(360)
    t = np.cumsum(rr / 1000)
    gone = (t - rr / 1000 >= 150) & (t <= 190)
    first, last = np.flatnonzero(gone)[[0, -1]]
    parts = [np.arange(0, first), np.arange(last + 1, len(rr))]
    spectra, weights = [], []
    for k in parts:
        s, v = t[k], rr[k]
        even = interpolate.PchipInterpolator(s, v)(s[0] + np.arange(int((s[-1] - s[0]) * 4 + 1e-9) + 1) / 4)
        n = min(512, len(even))
        f, p = signal.welch(even, 4, window="hann", nperseg=n, noverlap=n // 2, nfft=512, detrend="constant")
        spectra.append(p)
        weights.append(v.sum() / 1000)
    p = np.average(spectra, axis=0, weights=weights)
    keep = np.concatenate(parts)
    s, v = t[keep], rr[keep]
    span = s[-1] - s[0]
    covered = span - (t[last] - t[first - 1])
    lf = np.arange(2, int(0.4 * span * 2 + 1e-9) + 1) / (2 * span)
    lp = 2 * covered / len(s) * signal.lombscargle(s, v - v.mean(), 2 * np.pi * lf)
    return {"intervalsMs": rr.tolist(), "firstGone": int(first), "lastGone": int(last), "welch": bands(f, p), "lomb": bands(lf, lp)}


five, long = case(300), case(1500)
# From ten minutes on Lomb-Scargle is averaged over pieces, so it is compared at five minutes only.
del long["lomb"], long["lombFirst"]
short = np.array(five["intervalsMs"])[:90]
t = np.cumsum(short / 1000)
even = interpolate.PchipInterpolator(t, short)(t[0] + np.arange(int((t[-1] - t[0]) * 4 + 1e-9) + 1) / 4)
f, p = signal.welch(even, 4, window="hann", nperseg=len(even), nfft=512, detrend="constant")
print(json.dumps({
    "madeWith": f"SciPy {scipy.__version__}, NumPy {np.__version__}",
    "fiveMinutes": five, "twentyFiveMinutes": long, "withGap": with_gap(), "shortWelch": {"hf": bands(f, p)["hf"], "first": p[:40].tolist()},
}, indent=0))
