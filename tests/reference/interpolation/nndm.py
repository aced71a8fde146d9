"""Nearest neighbour distance matching, step by step after Milà et al. 2022 (Methods Ecol. Evol. 13:1304-1316), with a full distance
matrix and no cleverness. Writes nndm.json. Own script, independent of lowstave; numpy 2.x. Run: python nndm.py"""
import json

import numpy as np


def nndm(places, cells, least_kept=0.5):
    distances = np.linalg.norm(places[:, None] - places[None], axis=2)
    np.fill_diagonal(distances, np.nan)
    of_cells = np.linalg.norm(cells[:, None] - places[None], axis=2).min(axis=1)
    count = len(places)
    nearest = np.nanmin(distances, axis=1)
    at = nearest.min()
    while True:
        place = int(np.flatnonzero(nearest == at)[0])
        others_as_near = (np.sum(nearest <= at) - 1) / count
        cells_as_near = np.sum(of_cells <= at) / len(of_cells)
        kept = np.sum(~np.isnan(distances[place])) - 1
        if others_as_near >= cells_as_near and kept >= least_kept * (count - 1):
            distances[place, int(np.nanargmin(distances[place]))] = np.nan
            nearest[place] = np.nanmin(distances[place])
            at = nearest[nearest >= at].min()
        elif not np.any(nearest > at):
            break
        else:
            at = nearest[nearest > at].min()
    return [int(count - 1 - np.sum(~np.isnan(row))) for row in distances]


def main():
    random = np.random.default_rng(20261126)
    cases = []
    side = (np.arange(20) + 0.5) * 25.0
    cells = np.array([(x, y) for y in side for x in side])
    for kind, count in [("clustered", 30), ("clustered", 60), ("random", 40), ("even", 36)]:
        if kind == "clustered":
            centres = random.uniform(50, 450, (5, 2))
            places = centres[random.integers(0, 5, count)] + random.normal(0, 25, (count, 2))
        elif kind == "random":
            places = random.uniform(0, 500, (count, 2))
        else:
            k = np.arange(36)
            places = np.c_[(k % 6 + 0.5) * 83.3, (k // 6 + 0.5) * 83.3] + random.uniform(-3, 3, (36, 2))
        places = np.round(places, 3)
        cases.append({"kind": kind, "places": places.tolist(), "skips": nndm(places, cells)})
    with open("nndm.json", "w", encoding="utf-8") as file:
        json.dump({"cells": cells.tolist(), "cases": cases}, file)


if __name__ == "__main__":
    main()
