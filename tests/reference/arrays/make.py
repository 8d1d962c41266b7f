"""Arrays as NumPy and SciPy write them: `python3 make.py` in this folder (NumPy 1.24, SciPy 1.10 of Debian 12).

Two leads of 400 samples at 250 Hz, in uV: lead 1 is (37 i² mod 401) - 200, lead 2 is (53 i² mod 401) - 200.
"""
import numpy as np
from scipy.io import savemat

i = np.arange(400)
one = (37 * i * i) % 401 - 200
two = (53 * i * i) % 401 - 200
both = np.stack([one, two], axis=1)
peaks = np.arange(10) * 40 + 3

np.save("one-float32.npy", (one / 1000).astype("<f4"))
np.save("both-float64.npy", both / 1000)
np.save("both-int16-big-endian-by-column.npy", np.asfortranarray(both.astype(">i2")))
np.save("leads-in-rows.npy", np.ascontiguousarray(both.T.astype("<i4")))
np.save("peaks-int64.npy", peaks)
np.save("half.npy", (one / 8).astype("<f2"))
record = np.zeros(400, dtype=[("time_s", "<f8"), ("ecg_uV", "<i2")])
record["time_s"] = i / 250
record["ecg_uV"] = one
np.save("record.npy", record)
np.save("text.npy", np.array(["a", "b"]))
np.savez("plain.npz", ecg_uV=one, fs=250.0, r_peaks=peaks)
np.savez_compressed("compressed.npz", time_s=i / 250, ecg_mV=both / 1000)

variables = {
    "ecg_uV": both.T.astype("int16"),
    "Fs": 250.0,
    "r_peaks": peaks,
    "name": "training",
    "parts": np.array([1, "x"], dtype=object),
    "z": np.array([1 + 2j, 3]),
}
savemat("plain.mat", variables, do_compression=False)
savemat("compressed.mat", variables, do_compression=True)
savemat("structure.mat", {"data": {"ecg_mV": one / 1000, "info": {"sampling_rate": 250}}})
