"""Check values for src/surface/covariance_tests.rs and mean_error_tests.rs. Needs numpy and scipy; shares no code with the program.

1. Restricted likelihood of an exponential covariance with a nugget: the density of n - p orthonormal contrasts that are free of the
   trend (Harville 1974, Biometrika 61:383-385), which is another way to it than the program's.
2. Error of a weighted mean: a' K a over cores and cells, K being their joint covariance matrix.

Run of 26 November 2026, numpy 2.x: see the values in the tests.
"""
import numpy as np
from scipy.linalg import null_space
from scipy.stats import t

P = np.array([[0, 0], [40, 5], [90, 0], [10, 60], [55, 50], [95, 70], [5, 110], [60, 105], [100, 100], [50, 52]], float)
z = np.array([6.1, 6.0, 5.2, 6.4, 5.7, 5.0, 6.6, 5.9, 5.1, 5.6])
d = lambda a, b: np.sqrt(((a[:, None] - b[None]) ** 2).sum(-1))
diagonal = np.hypot(*np.ptp(P, axis=0))


def likelihood(X, share, q):
    A = null_space(X.T)
    V = q * np.eye(len(P)) + (1 - q) * np.exp(-d(P, P) / (share * diagonal))
    W, r = A.T @ V @ A, A.T @ z
    s2 = r @ np.linalg.solve(W, r) / len(r)
    return -0.5 * (len(r) * np.log(s2) + np.linalg.slogdet(W)[1]), s2


for name, X in (("level", np.ones((10, 1))), ("plane", np.c_[np.ones(10), P])):
    tried = [(likelihood(X, share, q), share, q) for share in (.035, .07, .14, .28, .56) for q in (0, .1, .25, .5, .75, 1)]
    (_, s2), share, q = max(tried)
    print(name, "nugget", s2 * q, "shared", s2 * (1 - q), "range", share * diagonal)

nugget, shared, rng = 0.1, 0.3, 40.0
C = np.array([[45.0, 45.0], [55.0, 45.0], [45.0, 55.0], [55.0, 55.0]])


def standard_error(w):
    A = np.vstack([P, C])
    K = shared * np.exp(-d(A, A) / rng)
    K[:10, :10] += nugget * np.eye(10)
    a = np.r_[w, -np.full(4, 0.25)]
    of_mean = K[:10, :10].mean()
    pieces = min((nugget + shared) / of_mean, 10)
    return np.sqrt(a @ K @ a) * t.ppf(0.95, max(pieces - 1, 1)) / 1.6448536269514727


print("flat", standard_error(np.full(10, 0.1)))
w = 1 / d(C, P) ** 2
w /= w.sum(1, keepdims=True)
print("inverse distance, power 2, all", standard_error(w.mean(0)))
X = np.c_[np.ones(10), P]
w = w.mean(0)
off = np.r_[1, C.mean(0)] - X.T @ w
print("with a plane", standard_error(w + X @ np.linalg.solve(X.T @ X, off)))
