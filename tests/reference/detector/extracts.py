"""Writes the two ECG extracts the detector tests use, from the data files of Debian's python3-scipy and PyWavelets.

Run: /usr/bin/python3 extracts.py PATH-TO-pywt/data/ecg.npz
Both packages are under the BSD 3-clause licence; their ECG data are excerpts of records 208 and 101 of the MIT-BIH
Arrhythmia Database (Moody GB, Mark RG, IEEE Eng Med Biol 2001;20(3):45-50), Open Data Commons Attribution 1.0.
"""
import json
import pathlib
import sys

import numpy
import scipy.misc

here = pathlib.Path(__file__).parent
mv = scipy.misc.electrocardiogram()
words = numpy.round(mv * 200).astype("<i2")  # 200 units per mV, offset taken off, as SciPy describes
words.tofile(here / "scipy-ecg.i16")
loaded = numpy.load(sys.argv[1])
ecg = loaded if isinstance(loaded, numpy.ndarray) else loaded[loaded.files[0]]
(here / "pywavelets-ecg.json").write_text(
    json.dumps({"source": "PyWavelets data/ecg, BSD 3-clause; MIT-BIH record 101 excerpt, ODC-By 1.0; 360 Hz",
                "words": [int(v) for v in ecg]}) + "\n")
