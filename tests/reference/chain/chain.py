"""Hashes of a log of three entries, from the description of the format: SHA-256 of JSON with sorted keys and no blanks;
each entry carries the hash of the one before, the first that of the log's header. Python 3 standard library only."""
import hashlib
import json
import os


def digest(value):
    return hashlib.sha256(json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()).hexdigest()


abc = hashlib.sha256(b"abc").hexdigest()
header = {"session": "V01-example", "rater": "R1", "detected": {"chest-band": abc}, "role": "rater"}
acts = [
    ("insert", [{"op": "marks", "removed": [], "added": [1104]}]),
    ("unreadable", [{"op": "unreadable", "removed": [], "added": [{"start": 4000, "end": 4600}]}]),
    ("look", []),
]
previous = digest(header)
hashes = []
for i, (intent, change) in enumerate(acts):
    at = f"2026-09-13T08:0{i}:00.000Z"
    entry = {"version": 2, "at": at, "recording": "chest-band", "intent": intent, "change": change, "seq": i, "previous": previous}
    previous = digest(entry)
    hashes.append(previous)

path = os.path.join(os.path.dirname(os.path.abspath(__file__)), "chain.json")
with open(path, "w") as out:
    json.dump({"sha256OfAbc": abc, "hashes": hashes}, out, indent=2)
    out.write("\n")
