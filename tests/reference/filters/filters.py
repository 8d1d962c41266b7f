"""Gains and filtered values of the display filters, computed by SciPy (Debian python3-scipy).

Run: /usr/bin/python3 tests/reference/filters/filters.py > tests/reference/filters/filters.json
"""
import json

import numpy as np
import scipy
from scipy import signal

TWICE = (np.sqrt(2) - 1) ** 0.25
RATES = [100, 130, 250, 360, 500, 1000, 2000]


def warped(corner, factor, fs):
    """Corner of one pass whose prewarped frequency is `factor` times that of `corner`."""
    return fs / np.pi * np.arctan(np.tan(np.pi * corner / fs) * factor)


def sections(fs):
    out = {"baseline": signal.butter(2, warped(0.5, TWICE, fs), "high", fs=fs),
           "muscle": signal.butter(2, warped(35, 1 / TWICE, fs), "low", fs=fs)}
    for mains in (50, 60):
        if mains <= 0.48 * fs:
            out[f"mains{mains}"] = signal.iirnotch(mains, 25, fs=fs)
    return out


def gains(fs):
    freqs = [0.05, 0.25, 0.5, 1, 5, 15, 25, 35, 45, 49.9, 50, 51, 60]
    freqs = [f for f in freqs if f < fs / 2]
    rows = []
    for name, (b, a) in sections(fs).items():
        _, h = signal.freqz(b, a, worN=freqs, fs=fs)
        rows.append({"filter": name, "samplingRateHz": fs, "b": list(b), "a": list(a),
                     "frequencyHz": freqs, "gain": [float(g) for g in np.abs(h) ** 2]})
    return rows


def filtered(fs):
    """10 s of waves, drift and mains; filtfilt over 60 s around them serves as the answer without edges."""
    n = 60 * fs
    t = np.arange(n) / fs
    x = np.sin(2 * np.pi * 1.3 * t) ** 15 + 0.8 * np.sin(2 * np.pi * 0.05 * t + 1) + 0.2 * np.sin(2 * np.pi * 50 * t) + 3
    s = sections(fs)
    y = x
    for name in ("baseline", "mains50", "muscle"):
        b, a = s[name]
        y = signal.filtfilt(b, a, y, padlen=5 * fs)
    shown = slice(25 * fs, 35 * fs)
    step = fs // 25
    return {"samplingRateHz": fs, "shownFromS": 25, "shownToS": 35, "everySamples": step,
            "filtered": [float(v) for v in y[shown][::step]]}


print(json.dumps({"scipy": scipy.__version__, "gains": [g for fs in RATES for g in gains(fs)],
                  "filtered": [filtered(fs) for fs in (250, 1000)]}, indent=1))
