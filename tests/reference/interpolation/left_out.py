"""Numbers for the unit tests of src/surface, by the formulas as they are written in docs/how-a-map-is-made.md, with numpy and no search.

    cd tests/reference/interpolation && python3 left_out.py    # writes left_out.json, prints the rest

numpy 2.x. The places and values are invented. A plane is numpy.linalg.lstsq; a fit with no term below zero tries every set of terms.
"""

import itertools
import json

import numpy as np
from nndm import nndm

X = np.array([0, 30, 60, 95, 10, 45, 80, 20, 55, 100, 35, 70], float)
Y = np.array([0, 5, 0, 12, 35, 30, 40, 70, 65, 75, 100, 105], float)
A = np.array([5.1, 6.3, 5.8, 7.9, 6.6, 7.4, 8.8, 7.1, 9.5, 9.9, 8.2, 10.7])
B = np.array([3.0, 1.2, 2.6, 0.4, 2.2, 3.9, 1.7, 0.8, 2.9, 1.1, 3.3, 2.4])
C = np.array([4.2, 2.6, 2.1, 3.4, 3.0, 2.8, 2.6, 3.5, 2.4, 2.8, 2.7, 0.9])
N = len(X)
D = np.hypot(X[:, None] - X, Y[:, None] - Y)
NONE = [0] * N
POWERS = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0]


def near(place, skips):
    skipped = skips[place]
    others = [j for j in range(N) if j != place]
    others.sort(key=lambda j: D[place, j])
    assert skipped == 0 or D[place, others[skipped - 1]] < D[place, others[skipped]] - 1e-6
    return others[skipped:], others[:skipped]


def weights(place, found, power, count):
    """The `count` nearest; those that tie for the last place share what is left of the count."""
    d = D[place, found]
    count = min(count, len(found))
    last = d[count - 1]
    inner = d < last - 1e-6
    rim = abs(d - last) <= 1e-6
    w = d**-power * (inner + rim * (count - inner.sum()) / rim.sum())
    return w / w.sum()


def squares(z, power, count, skips, plane):
    total, predictions = 0.0, []
    for place in range(N):
        found, dropped = near(place, skips)
        w = weights(place, found, power, count)
        predicted = w @ z[found]
        if plane:
            kept = [j for j in range(N) if j != place and j not in dropped]
            terms = lambda j: np.column_stack([np.ones(len(j)), X[j], Y[j]])
            beta = np.linalg.lstsq(terms(kept), z[kept], rcond=None)[0]
            surface = terms(list(range(N))) @ beta
            predicted += surface[place] - w @ surface[found]
        predictions.append(predicted)
        total += (predicted - z[place]) ** 2
    return total, predictions


def nonnegative(rows, scales, shape):
    best = None
    for scale in scales:
        w, x, t = np.array(rows).T
        g, root = shape(x, scale), np.sqrt(w)
        for terms in [(0, 1), (0,), (1,)]:
            m = np.column_stack([np.ones(len(x)), g])[:, terms]
            c = np.linalg.lstsq(m * root[:, None], t * root, rcond=None)[0]
            if (c < 0).any():
                continue
            full = np.zeros(2)
            full[list(terms)] = c
            loss = (w * (t - full[0] - full[1] * g) ** 2).sum()
            if best is None or loss < best[0] * (1 - 1e-12):
                best = (loss, full[0], full[1], scale)
    return best[1:]


def half_extent():
    """Half the diagonal of the squares that hold all places, 1.5 places to a square."""
    width, height, shelves = np.ptp(X), np.ptp(Y), N / 1.5
    side = max(np.sqrt(width * height / shelves), max(width, height) / shelves)
    return side, np.hypot((int(width / side) + 1) * side, (int(height / side) + 1) * side) / 2


def matched():
    """How many of its nearest each place does without where all cells are far off. Of ties the first in the order of the squares."""
    side = half_extent()[0]
    square = lambda i: (int((Y[i] - Y.min()) / side), int((X[i] - X.min()) / side), X[i], Y[i])
    order = sorted(range(N), key=square)
    found = nndm(np.column_stack([X, Y])[order], np.array([[5000.0, 5000.0]]))
    skips = [0] * N
    for place, count in zip(order, found):
        skips[place] = count
    return skips


def variogram(z):
    longest = half_extent()[1]
    classes = {}
    for i, j in itertools.combinations(range(N), 2):
        if 0 < D[i, j] < longest:
            classes.setdefault(int((D[i, j] / longest) ** (2 / 3) * 20), []).append((D[i, j], (z[i] - z[j]) ** 2))
    rows = []
    for _, pairs in sorted(classes.items()):
        d, s = np.array(pairs).T
        rows.append((len(d) / d.mean() ** 2, d.mean(), s.mean() / 2))
    scales = [longest / 60 * 1.4**i for i in range(16)]
    return nonnegative(rows, scales, lambda h, r: 1 - np.exp(-h / r)), rows


def gamma(v, h):
    return np.where(h > 0, v[0] + v[1] * (1 - np.exp(-h / v[2])), 0.0)


def variance(v, d, w, found):
    """2 sum(l g(0, i)) - sum(l l g(i, j)), as a forecast of one more observation."""
    return 2 * w @ gamma(v, d) - w @ gamma(v, D[np.ix_(found, found)]) @ w


def curve(z, cells, power, count):
    v, _ = variogram(z)
    rows = []
    for x, y in cells:
        d = np.hypot(X - x, Y - y)
        order = np.argsort(d, kind="stable")
        last = d[order[count - 1]]
        inside = [j for j in order if d[j] <= last + 1e-6]
        w = d[inside] ** -power
        inner = d[inside] < last - 1e-6
        w = w * np.where(inner, 1, (count - inner.sum()) / (~inner).sum())
        w /= w.sum()
        u = np.sqrt(count / (d[inside][:count] ** -2.0).sum())
        rows.append((1.0, u, variance(v, d[inside], w, inside)))
    far = max(row[1] for row in rows)
    at, rise, half = nonnegative(rows, [far / 50 * 1.6**i for i in range(14)], lambda u, s: u / (u + s))
    expected = np.mean([variance(v, D[p, near(p, NONE)[0]], weights(p, near(p, NONE)[0], power, count), near(p, NONE)[0]) for p in range(N)])
    mean_square = squares(z, power, count, NONE, False)[0] / N
    widened = mean_square * (1 + 4 / (N - 1)) ** 2
    return at * widened / expected, rise * widened / expected, half, far


CELLS = [(16 + 22 * (i % 5), 104 - 22 * (i // 5)) for i in range(25)]

if __name__ == "__main__":
    np.set_printoptions(precision=12)
    print("nearest left out:", matched())
    table = {}
    for kind, skips in (("all", NONE), ("matched", matched())):
        for name, z in (("A", A), ("B", B)):
            for plane in (False, True):
                sums = [round(squares(z, p, c, skips, plane)[0], 9) for p in POWERS for c in (8, 12)]
                table[f"{kind} {name} {'plane' if plane else 'plain'}"] = sums
    table["predicted A plane, power 1.5, 12 nearest"] = [round(z, 11) for z in squares(A, 1.5, 12, NONE, True)[1]]
    with open("left_out.json", "w", encoding="utf-8") as file:
        json.dump(table, file, indent=0)
    print("A, power 2.5, 4 nearest:", squares(A, 2.5, 4, NONE, False)[0])
    print("side, half extent:", half_extent())
    for name, z in (("A", A), ("C", C)):
        v, rows = variogram(z)
        print("variogram", name, [f"{t:.12g}" for t in v])
        for row in rows:
            print("   ", ", ".join(f"{t:.9f}" for t in row))
        for power, count in ((2.0, 8), (1.5, 5)):
            print("curve", name, power, count, [f"{t:.12g}" for t in curve(z, CELLS, power, count)])
