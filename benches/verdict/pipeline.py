"""A plain pipeline of pandas and scipy that does what `lowstave verdict` does: cleaning, lag, segments, contrasts, placebos. For the bench."""

import json
import sys

import numpy as np
import pandas as pd
import pyproj
from scipy import spatial, stats

run = json.load(open(sys.argv[1]))
strips = run["strips"]["sets"][0]
frame, header = strips["machines"]["frame"], strips["machines"]["header_m"]
origin = run["field"]["origin"]
to_plane = pyproj.Transformer.from_crs(
    "EPSG:4326",
    f"+proj=tmerc +lat_0={origin['latitude']} +lon_0={origin['longitude']} +k=1 +datum=WGS84 +units=m",
    always_xy=True,
)

table = pd.read_csv(sys.argv[2])
across, along = to_plane.transform(table["lon"].to_numpy(), table["lat"].to_numpy())
table["across"], table["along"] = across, along
metres = table["Distance (ft)"] * 0.3048 * table["Width (ft)"] * 0.3048
interval = table["time_s"].diff().median()
moisture = table["Moisture %"]


def dry(flow):
    return flow * 0.45359237 * interval * (100 - moisture) / 84.5 / metres * 10_000


# Passes, and those of ten records and more.
gap = table["time_s"].diff()
heading = np.degrees(np.arctan2(table["across"].diff(), table["along"].diff()))
turn = ((heading.diff() + 180) % 360 - 180).abs()
table["run"] = ((gap > 3 * interval) | (gap < 0) | (turn > 45)).cumsum()
order = table.groupby("run").cumcount()
size = table.groupby("run")["run"].transform("size")
table["strip"] = 0
for check in strips["draw"]["checks"]:
    edge = frame["left_m"] + check["position"] * frame["swath_m"]
    for piece in check["pieces"]:
        on = (table["across"].between(edge, edge + frame["swath_m"])) & table["along"].between(piece["from_m"], piece["to_m"])
        table.loc[on, "strip"] = 1

# Lag: the shift that makes neighbouring passes most alike, on every third record.
long = size >= 10
inner = long & (order >= 6) & (order < size - 6)
places = table.loc[inner, ["across", "along"]].to_numpy()
runs = table.loc[inner, "run"].to_numpy()
some = np.arange(0, len(places), 3)
tree = spatial.cKDTree(places)
far, near = tree.query(places[some], k=12, distance_upper_bound=15)
is_other = np.isfinite(far) & (runs[np.minimum(near, len(places) - 1)] != runs[some][:, None])
has = is_other.any(axis=1)
partner = near[np.arange(len(some)), is_other.argmax(axis=1)]
curve = {}
for lag in range(-5, 6):
    shifted = dry(table.groupby("run")["Flow (lb/s)"].shift(-lag))[inner].to_numpy()
    curve[lag] = np.nanmean((shifted[some[has]] - shifted[partner[has]]) ** 2) / 2
best = min(curve, key=curve.get)
if curve[best] > 0.85 * curve[0]:
    best = 0
table["flow"] = table.groupby("run")["Flow (lb/s)"].shift(-best)
table["yield"] = dry(table["flow"])

# Ends, outliers, limits, neighbours.
keep = table[long & (order >= 4) & (order < size - 4) & (table["yield"] >= 0)]
for column in ("flow", "Distance (ft)", "Moisture %"):
    spread = keep[column].std()
    if spread > 0:
        keep = keep[(keep[column] - keep[column].mean()).abs() <= 3 * spread]
parts = []
for _, part in keep.groupby("strip"):
    middle = part["yield"].median()
    robust = 1.4826 * (part["yield"] - middle).abs().median()
    parts.append(part[(part["yield"] - middle).abs() <= 4 * robust])
keep = pd.concat(parts).sort_index()
places, values = keep[["across", "along"]].to_numpy(), keep["yield"].to_numpy()
runs, treatment = keep["run"].to_numpy(), keep["strip"].to_numpy()
floor = 0.05 * np.median(values)
tree = spatial.cKDTree(places)
is_good = np.ones(len(keep), bool)
for start in range(0, len(places), 50_000):
    for at, near in enumerate(tree.query_ball_point(places[start : start + 50_000], 20), start):
        near = np.asarray(near)
        near = near[(runs[near] != runs[at]) & (treatment[near] == treatment[at])]
        if len(near) >= 5:
            middle = np.median(values[near])
            robust = 1.4826 * np.median(np.abs(values[near] - middle))
            is_good[at] = abs(values[at] - middle) <= 3.5 * max(robust, floor)
keep = keep[is_good]

# Segments of ten metres on every pass of the planter, contrasts with both sides, placebos.
keep = keep.assign(
    lane=np.floor((keep["across"] - frame["left_m"]) / frame["swath_m"]).astype(int),
    segment=np.floor(keep["along"] / 10).astype(int),
)
grid = keep.groupby(["lane", "segment"])["yield"].agg(["mean", "size"]).query("size >= 3")["mean"].unstack("lane")
checks = {check["position"]: check["pieces"] for check in strips["draw"]["checks"]}


def contrast(lane, pieces):
    if not {lane - 1, lane, lane + 1} <= set(grid.columns):
        return None
    sides = 0.5 * (grid[lane - 1] + grid[lane + 1]) - grid[lane]
    middles = grid.index.to_numpy() * 10 + 5
    inside = np.zeros(len(middles), bool)
    for piece in pieces:
        inside |= (middles - 20 >= piece["from_m"]) & (middles + 20 <= piece["to_m"])
    found = sides[inside].dropna()
    return (found.mean(), len(found)) if len(found) else None


true = [found for lane, pieces in checks.items() if (found := contrast(lane, pieces))]
near_checks = {lane + step for lane in checks for step in (-1, 0, 1)}
placebos = [
    found
    for lane, pieces in enumerate(strips["draw"]["positions"])
    if lane not in near_checks and (found := contrast(lane, pieces))
]
gains, counts = np.array(true).T
chance, weights = np.array(placebos).T
gain = np.average(gains, weights=counts)
scatter = np.sqrt(np.average(chance**2, weights=weights))
error = scatter * np.sqrt((counts**2).sum()) / counts.sum()
reach = stats.t.ppf(0.95, len(placebos) / 2) * error
bushel = 62.77
print(f"pipeline: {len(keep):,} records kept, lag {best}, gain {gain / bushel:.2f} ({(gain - reach) / bushel:.2f} to {(gain + reach) / bushel:.2f}) bu/ac")
