"""The last lines of runs with one seed: each number is the same on each processor.

Some processors multiply and add in one rounding and some in two, so equal means
to one part in a million, which is far below what a reading is worth.
"""

import json
import math
import sys

NUMBERS = ("end_volts", "end_current_amperes", "charge_coulombs", "live_area_cm2", "thickness_by_charge_nm", "energised_seconds")


def result(path):
    with open(path, encoding="utf-8") as lines:
        return json.loads(lines.readlines()[-1])


first, *others = sys.argv[1:]
want = result(first)
for other in others:
    got = result(other)
    if got["outcome"] != want["outcome"]:
        sys.exit(f"{other} ends {got['outcome']}, {first} {want['outcome']}")
    for name in NUMBERS:
        if not math.isclose(got[name], want[name], rel_tol=1e-6):
            sys.exit(f"{name}: {got[name]} in {other}, {want[name]} in {first}")
print(f"{len(NUMBERS)} numbers of {len(others) + 1} loads are the same on each processor")
