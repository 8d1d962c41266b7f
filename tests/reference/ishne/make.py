"""Writes example.ecg by the layout of the standard, with Python's own struct and CRC: a second writer beside the project's.

python3 make.py; the values that went in are printed as JSON into values.json.
"""
import binascii
import json
import math
import pathlib
import struct

here = pathlib.Path(__file__).parent
rate, count = 200, 500
leads = [
    {"spec": 6, "quality": 1, "nv": 2500, "words": [round(400 * math.sin(i / 7)) for i in range(count)]},
    {"spec": 15, "quality": 3, "nv": 1000, "words": [round(-900 * math.cos(i / 11)) for i in range(count)]},
]
extra = b"invented training day"


def twelve(key):
    return struct.pack("<12h", *([lead[key] for lead in leads] + [-9] * (12 - len(leads))))


fixed = (
    struct.pack("<iiiih", len(extra), count, 522, 522 + len(extra), 1)
    + b"Vo".ljust(40, b"\0")
    + b"Lunteer".ljust(40, b"\0")
    + b"V07".ljust(20, b"\0")
    + struct.pack("<hh", 2, 0)
    + struct.pack("<3h", 1, 2, 1990)
    + struct.pack("<3h", 14, 3, 2026)
    + struct.pack("<3h", 15, 3, 2026)
    + struct.pack("<3h", 8, 30, 7)
    + struct.pack("<h", len(leads))
    + twelve("spec")
    + twelve("quality")
    + twelve("nv")
    + struct.pack("<h", 0)
    + b"adhesive logger".ljust(40, b"\0")
    + struct.pack("<h", rate)
    + bytes(80 + 80 + 88)
)
assert len(fixed) == 512
header = fixed + extra
words = struct.pack(f"<{2 * count}h", *[lead["words"][i] for i in range(count) for lead in leads])
(here / "example.ecg").write_bytes(b"ISHNE1.0" + struct.pack("<H", binascii.crc_hqx(header, 0xFFFF)) + header + words)
(here / "values.json").write_text(json.dumps({"rate": rate, "leads": [{k: lead[k] for k in ("nv", "words")} for lead in leads]}) + "\n")
