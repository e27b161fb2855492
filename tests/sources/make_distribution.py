# Makes distribution.json: quantiles and Gini coefficients of random samples, by numpy. A whole weight
# stands for so many equal values. The quantile is numpy's "inverted_cdf": the least value that at least
# this share does not exceed; Gini is half the mean of all absolute differences over the mean.
#
#   python3 make_distribution.py > distribution.json

import json
import numpy as np

random = np.random.default_rng(11)
rows = []
for number in range(200):
    count = int(random.integers(1, 40))
    values = [int(v) for v in random.integers(0, 30000, count)]
    weights = [int(w) for w in random.integers(1, 60, count)]
    each = np.repeat(values, weights).astype(float)
    shares = [0.1, 0.25, 0.5, 0.75, 0.9]
    quantiles = [float(np.quantile(each, share, method="inverted_cdf")) for share in shares]
    mean = float(each.mean())
    differences = np.abs(np.subtract.outer(each, each)).mean()
    gini = float(differences / (2 * mean)) if mean > 0 else None
    rows.append({"name": f"sample {number + 1}", "values": values, "weights": weights, "mean": mean,
                 "shares": shares, "quantiles": quantiles, "gini": gini})
head = {"source": f"numpy {np.__version__} (quantile with inverted_cdf, mean absolute difference), made by make_distribution.py",
        "retrieved": "2026-11-30", "licence": "our own random numbers"}
print(json.dumps(head)[:-1] + ', "rows": [')
print(",\n".join("  " + json.dumps(row) for row in rows))
print("]}")
