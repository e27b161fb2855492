# Makes catchment.json: floating catchment areas by exact fractions, in the order of the papers' formulas
# and not of the program's code. The first rows are the three towns and four sets of travel times of the
# hospital example in the tests of `access` (github.com/pysal/access, BSD 3-Clause,
# access/tests/test_hospital_example.py): people 100, 50, 10; doctors 15, 20, 100; a way of t minutes
# counts 1/t, one above 61 minutes not at all. The others are random.
#
#   python3 make_catchment.py > catchment.json

import json
import random
from fractions import Fraction


def weight(minutes, zones):
    for until, value in zones:
        if minutes is not None and minutes <= until:
            return Fraction(value).limit_denominator(10**6)
    return Fraction(0)


def scores(minutes, demand, supply, zones, three_step):
    towns, places = range(len(demand)), range(len(supply))
    W = {(i, j): weight(minutes[i][j], zones) for i in towns for j in places}
    G = {}
    for i in towns:
        total = sum(W[i, j] for j in places)
        for j in places:
            G[i, j] = W[i, j] / total if three_step and total else Fraction(1)
    # step 1 (2 of 3): R_j = S_j / sum_i G_ij P_i W_ij
    R = {}
    for j in places:
        competing = sum(G[i, j] * demand[i] * W[i, j] for i in towns)
        R[j] = Fraction(supply[j]) / competing if competing else None
    # step 2 (3 of 3): A_i = sum_j G_ij R_j W_ij
    A = [sum(G[i, j] * R[j] * W[i, j] for j in places if R[j] is not None) for i in towns]
    return [float(a) for a in A], [None if R[j] is None else float(R[j]) for j in places]


rows = []


def add(name, minutes, demand, supply, zones):
    for three_step in (False, True):
        of_town, of_place = scores(minutes, demand, supply, zones, three_step)
        rows.append({"name": f"{name}, {'three' if three_step else 'two'} steps", "minutes": minutes,
                     "demand": demand, "supply": supply, "zones": zones, "three_step": three_step,
                     "of_town": of_town, "of_place": of_place})


def hospital(inward, outward, across):
    # the rows are where people live; both suburbs (1, 2) and the town (3)
    return [[1, across, inward], [across, 1, inward], [outward, outward, 1]]


by_minutes = [[1, 1.0], [20, 1 / 20], [40, 1 / 40]]
for number, (inward, outward, across) in enumerate([(40, 40, 80), (20, 40, 80), (40, 20, 80), (20, 20, 40)]):
    add(f"hospital example {number}", hospital(inward, outward, across), [100, 50, 10], [15, 20, 100], by_minutes)

chance = random.Random(12)
for number in range(60):
    towns, places = chance.randint(1, 9), chance.randint(1, 5)
    minutes = [[None if chance.random() < 0.2 else chance.randint(0, 150) for _ in range(places)] for _ in range(towns)]
    add(f"random {number + 1}", minutes, [chance.randint(1, 900) for _ in range(towns)],
        [chance.randint(0, 40) for _ in range(places)], [[30, 1.0], [60, 0.68], [120, 0.22]])

head = {"source": "exact fractions by make_catchment.py; data of the first eight rows: hospital example of the tests of github.com/pysal/access",
        "retrieved": "2026-11-30", "licence": "hospital example: BSD 3-Clause; the rest are our own random numbers"}
print(json.dumps(head)[:-1] + ', "rows": [')
print(",\n".join("  " + json.dumps(row) for row in rows))
print("]}")
