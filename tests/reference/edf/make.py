#!/usr/bin/python3
"""Has two independent readers read the EDF+ files written here, and stores what they say in readings.json.

Needs Debian libedf-dev 1.23, python3-biosig 2.5.0, gcc. Run from the project root: /usr/bin/python3 tests/reference/edf/make.py
EDFlib refuses discontinuous files, so that one is read by biosig only, which counts annotations in recorded time (gaps cut out).
"""
import hashlib, json, os, struct, subprocess
import biosig

here, out = os.path.dirname(os.path.abspath(__file__)), "/tmp/edf-reference"
subprocess.run(["npx", "tsx", f"{here}/write.ts", out], check=True)
subprocess.run(["gcc", f"{here}/read_edflib.c", "-o", f"{out}/read_edflib", "-ledf"], check=True)


def sha_words(words):
    return hashlib.sha256(struct.pack(f"<{len(words)}h", *words)).hexdigest()


def edflib(path):
    done = subprocess.run([f"{out}/read_edflib", path], capture_output=True, text=True)
    if done.returncode != 0:
        return {"refused": done.stderr.strip()}
    read = json.loads(done.stdout)
    for s in read["signals"]:
        words = s.pop("words")
        s.update(label=s["label"].strip(), unit=s["unit"].strip(), count=len(words), first=words[:8], wordsSha256=sha_words(words))
    return read


def by_biosig(path):
    head, data = json.loads(biosig.header(path)), biosig.data(path)
    leads = []
    for i, c in enumerate(c for c in head["CHANNEL"] if c["Label"] != "EDF Annotations"):
        every = round(head["Samplingrate"] / c["Samplingrate"])
        mv = data[::every, i]
        scale = (c["PhysicalMaximum"] - c["PhysicalMinimum"]) / (c["DigitalMaximum"] - c["DigitalMinimum"])
        words = [round((v - c["PhysicalMinimum"]) / scale + c["DigitalMinimum"]) for v in mv]
        leads.append({"label": c["Label"], "rateHz": c["Samplingrate"], "count": len(words), "firstMv": [round(float(v), 6) for v in mv[:8]],
                      "wordsSha256": sha_words(words)})
    events = [{"onset": e["POS"], "duration": e["DUR"], "text": e["Description"]} for e in head["EVENT"] if e["TYP"] != "0x7ffe"]
    return {"records": head["NumberOfRecords"], "leads": leads, "annotations": events}


readings = {}
for name in ("continuous", "subsecond", "discontinuous"):
    path = f"{out}/{name}.edf"
    readings[name] = {"fileSha256": hashlib.sha256(open(path, "rb").read()).hexdigest(), "edflib": edflib(path), "biosig": by_biosig(path)}
json.dump(readings, open(f"{here}/readings.json", "w"), indent=1, ensure_ascii=False)
