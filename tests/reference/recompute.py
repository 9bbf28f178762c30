"""Makes the tables of a published round again from its results, with numpy and scipy.

    python recompute.py FOLDER

FOLDER holds results.csv, plan.csv, summary.csv, scores.csv, round.xlsx, report.json (the
parts of the round report in English, as its page and its PDF print them) and, where there
is one, open-data.zip with codes.txt, the codes of the round. From results.csv and
plan.csv alone everything is computed again and compared with summary.csv and scores.csv
to the digits that are published; the report's tables of statistics and of results are
compared with what was computed, to the digits that they print. Nothing of the service's own code is used: formulas are
those of ISO 13528:2022 (C.2.2 MADe with 1.483, C.3.1 Algorithm A with 1.5 and 1.134,
C.5.2 Q method, C.5.3 Hampel's location; 7.7.3 u = 1.25 s*/sqrt(p); 9.4 to 9.7 scores).

Prints one line of JSON: what was compared and how often, and every difference.
"""

import csv
import io
import json
import math
import sys
import zipfile
from collections import Counter, defaultdict
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from pathlib import Path

import numpy as np
import openpyxl
from scipy import optimize, stats

MADE = 1.483


def table(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def number(text):
    return float(text) if text != "" else None


def made(values):
    return MADE * stats.median_abs_deviation(values)


def algorithm_a(values):
    """x* and s*: winsorised at 1.5 s*, from median and MADe, until nothing moves."""
    x, s = np.median(values), made(values)
    if s == 0:
        return None
    for _ in range(100_000):
        clipped = np.clip(values, x - 1.5 * s, x + 1.5 * s)
        new_x, new_s = clipped.mean(), 1.134 * clipped.std(ddof=1)
        done = abs(new_x - x) <= 1e-13 * abs(x) and abs(new_s - s) <= 1e-13 * s
        x, s = new_x, new_s
        if done:
            break
    return x, s


def q_method(values):
    """s* from all differences: the distribution function made continuous between the
    middles of its jumps, read at 0.25 + 0.75 H(0)."""
    i, j = np.triu_indices(len(values), 1)
    # Differences that are equal as decimals are one jump.
    jumps, counts = np.unique(np.round(np.abs(values[i] - values[j]), 9), return_counts=True)
    h = np.cumsum(counts) / counts.sum()
    zero = h[0] if jumps[0] == 0 else 0.0
    points, heights = [0.0], [0.0]
    before = 0.0
    for jump, height in zip(jumps, h):
        if jump > 0:
            points.append(jump)
            heights.append((before + height) / 2)
        before = height
    if zero > 0:
        heights[0] = zero / 2
    quantile = np.interp(0.25 + 0.75 * zero, heights, points)
    return quantile / (math.sqrt(2) * stats.norm.ppf(0.625 + 0.375 * zero))


def hampel(values, s):
    """The root of sum psi((y - x)/s) next to the median; psi has corners at 1.5, 3, 4.5."""

    def psi(q):
        a = np.abs(q)
        return np.sign(q) * np.select([a <= 1.5, a <= 3, a <= 4.5], [a, 1.5, 4.5 - a], 0.0)

    def total(x):
        return psi((values - x) / s).sum()

    corners = np.unique(np.concatenate([values + k * s for k in (-4.5, -3, -1.5, 0, 1.5, 3, 4.5)]))
    heights = np.array([total(x) for x in corners])
    roots = [x for x, y in zip(corners, heights) if y == 0]
    for a, b, ya, yb in zip(corners, corners[1:], heights, heights[1:]):
        if ya * yb < 0:
            roots.append(optimize.brentq(total, a, b, xtol=1e-12, rtol=1e-14))
    centre = np.median(values)
    return min(roots, key=lambda root: abs(root - centre))


def rounded(value, decimals, mode=ROUND_HALF_EVEN):
    if decimals == "":
        return value
    return float(Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-int(decimals)), rounding=mode))


class Compared:
    def __init__(self):
        self.count = Counter()
        self.differences = []

    def near(self, what, where, mine, theirs, relative=1e-9, absolute=0.0):
        """Both nothing, or the same within a tolerance."""
        self.count[what] += 1
        if mine is None or theirs is None:
            same = mine is None and theirs is None
        else:
            same = abs(mine - theirs) <= max(relative * abs(theirs), absolute)
        if not same:
            self.differences.append(f"{what} of {where}: {mine!r} here, {theirs!r} published")


def consensus(values, estimator):
    if estimator == "algorithm_a":
        return algorithm_a(values)
    if estimator == "median_made":
        return np.median(values), made(values)
    if estimator == "q_hampel":
        s = q_method(values)
        return hampel(values, s), s
    raise ValueError(f"an estimator that is not made again here: {estimator}")


def measurand(seen, where, rows, plan, published):
    counting = [row for row in rows if row["counts"] == "yes"]
    values = np.array([float(row["value"]) for row in counting if row["value"] != ""])
    seen.near("participants", where, len(rows), number(published["participants"]))
    seen.near("quantified", where, len(values), number(published["quantified"]))
    seen.near("censored", where, len(counting) - len(values), number(published["censored"]))
    seen.near("excluded", where, len(rows) - len(counting), number(published["excluded"]))
    if len(values):
        seen.near("mean", where, values.mean(), number(published["mean"]))
        seen.near("median", where, float(np.median(values)), number(published["median"]))
    if len(values) > 1:
        seen.near("sd", where, values.std(ddof=1), number(published["sd"]))
        mad = made(values)
        seen.near("made", where, mad if mad > 0 else None, number(published["made"]))
        if published["algorithm_a_sd"] != "":
            x, s = algorithm_a(values)
            # Three significant digits are published; the iterations agree far better.
            seen.near("algorithm_a_mean", where, x, number(published["algorithm_a_mean"]), 1e-6)
            seen.near("algorithm_a_sd", where, s, number(published["algorithm_a_sd"]), 1e-6)
    added = number(plan["additional_uncertainty"]) or 0.0
    x_pt, u = number(published["x_pt"]), number(published["u_x_pt"])
    if published["basis"] == "participants":
        x, s = consensus(values, published["estimator"])
        seen.near("p", where, len(values), number(published["p"]))
        seen.near("robust_sd", where, s, number(published["robust_sd"]), 1e-6)
        seen.near("x_pt", where, rounded(x, plan["decimals_x_pt"]), x_pt)
        mine = math.hypot(1.25 * s / math.sqrt(len(values)), added)
        seen.near("u_x_pt", where, rounded(mine, plan["decimals_u_x_pt"], ROUND_CEILING), u)
    elif published["basis"] != "":
        prefix = "fallback_" if plan["basis"] == "participants" else ""
        seen.near("x_pt", where, number(plan[prefix + "value"]), x_pt)
        given = number(plan[prefix + "standard_uncertainty"])
        seen.near("u_x_pt", where, rounded(math.hypot(given, added), plan["decimals_u_x_pt"], ROUND_CEILING), u)
    else:
        seen.near("x_pt", where, None, x_pt)
    if x_pt is not None and plan["sigma_pt_basis"] == "relative":
        sigma = float(plan["sigma_pt_percent"]) * x_pt / 100
        sigma = math.hypot(sigma, number(plan["additional_sd"]) or 0.0)
        seen.near("sigma_pt", where, rounded(sigma, plan["decimals_sigma_pt"]), number(published["sigma_pt"]))


def score(seen, where, reported, row, published):
    x_pt, u, sigma = number(published["x_pt"]), number(published["u_x_pt"]), number(published["sigma_pt"])
    x = number(reported["value"])
    if x is None or x_pt is None:
        return
    # z has two decimals in print, D % one.
    if row["z"] != "":
        seen.near("z", where, (x - x_pt) / sigma, number(row["z"]), 0.0, 1e-9)
    if row["z_prime"] != "":
        seen.near("z_prime", where, (x - x_pt) / math.hypot(sigma, u), number(row["z_prime"]), 0.0, 1e-9)
    if row["difference_percent"] != "":
        seen.near("difference_percent", where, 100 * (x - x_pt) / x_pt, number(row["difference_percent"]), 0.0, 1e-9)
    own, k = number(reported["expanded_uncertainty"]), number(reported["coverage_factor"])
    if row["zeta"] != "":
        seen.near("zeta", where, (x - x_pt) / math.hypot(own / k, u), number(row["zeta"]), 1e-9, 1e-9)
    # The class by z, or by z' where u is not negligible (0.3 sigma_pt).
    decides = row["z_prime"] if row["z_prime"] != "" and u > 0.3 * sigma else row["z"]
    if row["class"] in ("acceptable", "questionable", "unacceptable") and decides != "":
        # Nine decimals: a score of exactly 2 is 2.0000000000000004 in binary numbers.
        z, limits = round(abs(float(decides)), 9), (float(published["warning_limit"]), float(published["action_limit"]))
        mine = "acceptable" if z <= limits[0] else "questionable" if z < limits[1] else "unacceptable"
        seen.count["class"] += 1
        if mine != row["class"]:
            seen.differences.append(f"class of {where}: {mine} here, {row['class']} published")


def workbook(seen, folder, tables):
    """The same tables in the workbook: numbers are numbers there, texts are texts."""
    book = openpyxl.load_workbook(folder / "round.xlsx")
    if book.sheetnames[:5] != ["results", "scores", "summary", "plan", "decisions"]:
        seen.differences.append(f"sheets of the workbook: {book.sheetnames}")
    for name in ("results", "scores", "summary"):
        rows = list(book[name].iter_rows())
        header = [cell.value for cell in rows[0]]
        if len(rows) - 1 != len(tables[name]):
            seen.differences.append(f"{name}: {len(rows) - 1} rows in the workbook")
        for cells, row in zip(rows[1:], tables[name]):
            for column, cell in zip(header, cells):
                text = row[column]
                seen.count[f"cells of {name}"] += 1
                if text == "":
                    same = cell.value is None
                elif cell.data_type == "n":
                    same = float(text) == float(cell.value)
                    seen.count["numeric cells"] += 1
                else:
                    same = cell.data_type == "s" and cell.value == text.removeprefix("'")
                    if column in ("value", "limit", "z", "x_pt", "sigma_pt", "mean", "expanded_uncertainty"):
                        same = False
                if not same:
                    seen.differences.append(f"{name}.{column}: {cell.value!r} in the workbook, {text!r} as text")


def printed(text):
    """The number of a cell and its decimals; none where there is a dash."""
    # As typed a number may have a comma.
    text = "".join(text.split()).replace("\u2212", "-").replace("<", "").replace(",", ".")
    if text in ("", "\u2013"):
        return None
    return float(text), len(text.partition(".")[2])


def as_printed(seen, what, where, text, mine):
    """A cell shows the computed number, rounded to the digits that it shows."""
    shown = printed(text)
    if mine is None or shown is None:
        seen.near(what, where, mine, shown and shown[0])
    else:
        seen.near(what, where, mine, shown[0], 0.0, 0.5 * 10.0 ** -shown[1] + 1e-9 * abs(mine))


# Heads of the column of scores, and units that laboratories use for others.
SCORES = ("Score", "z", "z\u2032", "\u03b6", "E\u2099")
FACTORS = {("\u00b5g/L", "ng/L"): 1000.0, ("\u03bcg/L", "ng/L"): 1000.0, ("mg/L", "ng/L"): 1e6}


def statistics_of_report(seen, item, block, rows_of, summary):
    for row in block["rows"]:
        name, p, censored, excluded, x, big_u, sigma, _route, s, span = (cell["text"] for cell in row)
        analyte = next(one for of, one in summary if of == item and name in (one, f"{one}, {summary[of, one]['unit']}"))
        where = (item, analyte)
        of, rows = summary[where], rows_of[where]
        counting = [row for row in rows if row["counts"] == "yes"]
        values = np.array([float(row["value"]) for row in counting if row["value"] != ""])
        as_printed(seen, "report p", where, p, len(values))
        as_printed(seen, "report censored", where, censored, len(counting) - len(values))
        as_printed(seen, "report excluded", where, excluded, len(rows) - len(counting))
        if printed(s) is not None:
            mine = algorithm_a(values)[1]
            digits = 2 - math.floor(math.log10(mine))
            seen.near("report s*", where, mine, printed(s)[0], 0.0, 0.5000001 * 10.0**-digits)
        x_pt, u, of_sigma = number(of["x_pt"]), number(of["u_x_pt"]), number(of["sigma_pt"])
        as_printed(seen, "report x_pt", where, x, x_pt)
        as_printed(seen, "report sigma_pt", where, sigma, of_sigma)
        if x_pt is None:
            continue
        # U(x_pt), k = 2: two significant digits, up.
        shown, decimals = printed(big_u)
        seen.count["report U(x_pt)"] += 1
        last = 10.0 ** (math.floor(math.log10(2 * u)) - 1)
        if not -1e-9 <= shown - 2 * u <= max(last, 10.0**-decimals):
            seen.differences.append(f"report U of {where}: {2 * u!r} here, {big_u!r} printed")
        if of_sigma is not None:
            low, high = span.split(" to ")
            half = float(of["warning_limit"]) * of_sigma
            as_printed(seen, "report range", where, low, max(x_pt - half, 0.0))
            as_printed(seen, "report range", where, high, x_pt + half)


def results_of_report(seen, block, own, scores, summary):
    heads = [column["head"] for column in block["table"]["columns"]]
    measurand = next(
        (key for key in summary if block["heading"] in (f"{key[1]}, item {key[0]}, {summary[key]['unit']}",
                                                         f"{key[1]}, item {key[0]}")), None)
    if measurand is None:
        seen.differences.append(f"no measurand is called {block['heading']}")
        return
    for cells in block["table"]["rows"]:
        row = dict(zip(heads, (cell["text"] for cell in cells)))
        where = (row["Code"].strip(), *measurand)
        reported, scored = own[where], scores[where]
        # As it was typed: in the unit of the laboratory, which is named where it is another.
        typed, _, unit = row["Result"].strip().partition(" ")
        factor = FACTORS.get((unit.strip(), reported["unit"]), 1.0 if unit.strip() in ("", reported["unit"]) else None)
        value = number(reported["value"]) if reported["value"] != "" else number(reported["limit"])
        shown = printed(typed)
        mine = None if shown is None or factor is None else shown[0] * factor
        seen.near("report results", where, mine, value, 5e-4)
        score = next(text for head, text in row.items() if head in SCORES)
        # Where kinds differ each cell names its own.
        text = score.split()[-1] if score.split() else ""
        of = summary[measurand]
        prime = scored["z_prime"] != "" and number(of["u_x_pt"]) > 0.3 * number(of["sigma_pt"])
        decides = scored["bound"] if reported["value"] == "" else scored["z_prime"] if prime else scored["z"]
        as_printed(seen, "report scores", where, text, number(decides))
        word = row["Class and mark"].lstrip("\u25a0\u25c7 ").split(",")[0].strip()
        seen.count["report classes"] += 1
        if word.replace(" ", "_") != scored["class"].replace(" ", "_"):
            seen.differences.append(f"report class of {where}: {scored['class']} in the table, {word} printed")


def report(seen, folder, tables, rows_of, summary):
    """The tables of the report against the exported tables."""
    sections = {one["word"]: one["blocks"] for one in json.loads((folder / "report.json").read_text("utf-8"))["sections"]}
    own = {(row["code"], row["item"], row["analyte"]): row for row in tables["results"]}
    scores = {(row["code"], row["item"], row["analyte"]): row for row in tables["scores"]}
    item = None
    for block in sections["statistics"]:
        if block["kind"] == "heading":
            item = block["of"].removeprefix("Item ").split(",")[0]
        elif block["kind"] == "table":
            statistics_of_report(seen, item, block["of"], rows_of, summary)
    for block in sections["results"]:
        if block["kind"] == "beside":
            results_of_report(seen, block["of"], own, scores, summary)


def open_data(seen, folder):
    """What an open data package promises, read from its bytes."""
    path = folder / "open-data.zip"
    if not path.exists():
        return
    codes = (folder / "codes.txt").read_text().split()
    archive = zipfile.ZipFile(path)
    files = {name: archive.read(name).decode("utf-8") for name in archive.namelist()}
    for info in archive.infolist():
        if info.date_time != (1980, 1, 1, 0, 0, 0):
            seen.differences.append(f"{info.filename} has the time {info.date_time}")
    for name, text in files.items():
        for code in codes:
            seen.count["codes looked for"] += 1
            if code in text:
                seen.differences.append(f"{code} stands in {name}")
    tables = {name[:-4]: table(text) for name, text in files.items() if name.endswith(".csv")}
    combinations = Counter(tuple(list(row.values())[1:]) for row in tables["laboratories"])
    seen.count["laboratories in open data"] = len(tables["laboratories"])
    seen.count["combinations"] = len(combinations)
    if min(combinations.values()) < 5:
        seen.differences.append(f"a combination of fewer than five: {combinations}")
    reported = defaultdict(set)
    for row in tables["results"]:
        reported[row["item"], row["analyte"]].add(row["laboratory"])
    for where, laboratories in reported.items():
        seen.count["measurands in open data"] += 1
        if len(laboratories) < 5:
            seen.differences.append(f"{where} is that of {len(laboratories)}")
    names = [row["laboratory"] for row in tables["laboratories"]]
    if names != sorted(names):
        seen.differences.append("laboratories are not in the order of their codes")
    described = {(row["table"], row["column"]): row for row in tables["codebook"]}
    for name in ("laboratories", "results", "scores", "summary", "decisions"):
        schema = json.loads(files[f"schema/{name}.schema.json"])
        for row in tables[name]:
            for column, text in row.items():
                seen.count["cells against schema"] += 1
                sorts = schema["properties"][column]["type"]
                sorts = [sorts] if isinstance(sorts, str) else sorts
                fits = (
                    "null" in sorts
                    if text == ""
                    else "string" in sorts
                    or ("integer" in sorts and text.lstrip("-").isdigit())
                    or ("number" in sorts and math.isfinite(float(text)))
                )
                if not fits or (name, column) not in described:
                    seen.differences.append(f"{name}.{column}: {text!r} is not {sorts}")
    # The scores come from the results and the values of the package itself.
    summary = {(row["item"], row["analyte"]): row for row in tables["summary"]}
    values = {(row["laboratory"], row["item"], row["analyte"]): row["value"] for row in tables["results"]}
    for row in tables["scores"]:
        key = (row["laboratory"], row["item"], row["analyte"])
        of = summary[key[1:]]
        if row["z"] != "":
            mine = (float(values[key]) - float(of["x_pt"])) / float(of["sigma_pt"])
            seen.near("z of open data", key, mine, float(row["z"]), 0.0, 1e-9)
    for where, of in summary.items():
        own = [
            float(row["value"])
            for row in tables["results"]
            if (row["item"], row["analyte"]) == where and row["counts"] == "yes" and row["value"] != ""
        ]
        if own:
            seen.near("median of open data", where, float(np.median(own)), float(of["median"]))


def main(folder):
    seen = Compared()
    names = ("results", "scores", "summary", "plan")
    tables = {name: table((folder / f"{name}.csv").read_bytes().decode("utf-8")) for name in names}
    plans = {(row["item"], row["analyte"]): row for row in tables["plan"]}
    reported = defaultdict(list)
    for row in tables["results"]:
        reported[row["item"], row["analyte"]].append(row)
    own = {(row["code"], row["item"], row["analyte"]): row for row in tables["results"]}
    summary = {(row["item"], row["analyte"]): row for row in tables["summary"]}
    for where, published in summary.items():
        measurand(seen, where, reported[where], plans[where], published)
    for row in tables["scores"]:
        key = (row["code"], row["item"], row["analyte"])
        score(seen, key, own[key], row, summary[key[1:]])
    report(seen, folder, tables, reported, summary)
    workbook(seen, folder, tables)
    open_data(seen, folder)
    print(json.dumps({"measurands": len(summary), "compared": seen.count, "differences": seen.differences[:50]}))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
