#!/usr/bin/env python3
"""Writes THIRD-PARTY.md: what is inside the program that is not ours, with the notices that its licences ask for.

    python3 scripts/third_party.py            write it
    python3 scripts/third_party.py --check    exit with 1 where it is not what it would be

It knows the crates from Cargo.lock, on every platform, without what only builds or tests; their notices from the crates
themselves; the versions of PROJ, of its database and of SQLite from the sources that the crates carry.
"""

import json
import pathlib
import re
import subprocess
import sys
import tarfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
NOTICE = ROOT / "THIRD-PARTY.md"
OWN = ("lowstave", "lowstave-python")
# Of several licences we take the first of these that is offered.
PREFERRED = ("MIT", "Apache-2.0", "Zlib", "BSD-3-Clause")

MIT = """Permission is hereby granted, free of charge, to any person obtaining a copy of this software and associated
documentation files (the "Software"), to deal in the Software without restriction, including without limitation the
rights to use, copy, modify, merge, publish, distribute, sublicense, and/or sell copies of the Software, and to permit
persons to whom the Software is furnished to do so, subject to the following conditions:

The above copyright notice and this permission notice shall be included in all copies or substantial portions of the
Software.

THE SOFTWARE IS PROVIDED "AS IS", WITHOUT WARRANTY OF ANY KIND, EXPRESS OR IMPLIED, INCLUDING BUT NOT LIMITED TO THE
WARRANTIES OF MERCHANTABILITY, FITNESS FOR A PARTICULAR PURPOSE AND NONINFRINGEMENT. IN NO EVENT SHALL THE AUTHORS OR
COPYRIGHT HOLDERS BE LIABLE FOR ANY CLAIM, DAMAGES OR OTHER LIABILITY, WHETHER IN AN ACTION OF CONTRACT, TORT OR
OTHERWISE, ARISING FROM, OUT OF OR IN CONNECTION WITH THE SOFTWARE OR THE USE OR OTHER DEALINGS IN THE SOFTWARE."""


def cargo(*arguments):
    return subprocess.run(["cargo", *arguments], cwd=ROOT, check=True, capture_output=True, text=True).stdout


def crates():
    """The crates whose code can be in the program or in the Python module, by name and version."""
    lines = cargo(
        "tree", "--locked", "--workspace", "--edges=normal,no-proc-macro", "--target=all", "--all-features", "--prefix=none", "--format={p}"
    ).splitlines()
    wanted = {tuple(line.split()[:2]) for line in lines if line}
    packages = json.loads(cargo("metadata", "--format-version=1", "--locked", "--all-features"))["packages"]
    found = [
        package
        for package in packages
        if (package["name"], "v" + package["version"]) in wanted and package["name"] not in OWN
    ]
    return sorted(found, key=lambda package: (package["name"], package["version"]))


def folder_of(package):
    return pathlib.Path(package["manifest_path"]).parent


def is_offered(licence, expression):
    """Whether one licence alone is enough: no AND stands in the expression."""
    return " AND " not in expression and licence in re.split(r"\s+OR\s+|/|\(|\)", expression)


def notices(package):
    """The texts that go with a crate: those of the licence that we take, or all that it has."""
    files = sorted(
        path
        for path in folder_of(package).iterdir()
        if re.match(r"(licen[cs]e|copying|notice|unlicense)", path.name, re.IGNORECASE) and path.is_file()
    )
    expression = package["license"] or ""
    for licence in PREFERRED:
        if is_offered(licence, expression):
            of_it = [path for path in files if licence.split("-")[0].lower() in path.name.lower()]
            notes = [path for path in files if path.name.lower().startswith("notice")]
            if of_it:
                return [read(path) for path in sorted({*of_it, *notes})]
            break
    if files:
        return [read(path) for path in files]
    holders = ", ".join(re.sub(r"\s*<[^>]*>", "", author) for author in package["authors"])
    return [f"Copyright (c) {holders or 'the authors of ' + package['name']}\n\n{MIT}"]


def read(path):
    text = path.read_text(encoding="utf-8", errors="replace").replace("\r\n", "\n").replace("\t", "    ")
    return "\n".join(line.rstrip() for line in text.strip("\n\ufeff").split("\n"))


def same(text):
    """What is compared to print one text once: its words."""
    return " ".join(text.split()).lower()


def bundled(packages):
    """PROJ, its database and SQLite: not crates, but carried by two of them."""
    by_name = {package["name"]: package for package in packages}
    archive = next((folder_of(by_name["proj-sys"]) / "PROJSRC").glob("proj-*.tar.gz"))
    version = archive.name.removeprefix("proj-").removesuffix(".tar.gz")
    with tarfile.open(archive) as source:

        def member(path):
            return source.extractfile(f"proj-{version}/{path}").read().decode()

        licence = member("COPYING").strip("\n")
        data = {}
        for name in ("metadata", "esri", "ignf", "nkg"):
            data.update(re.findall(r"INSERT INTO \"metadata\" VALUES\('([^']+)', '([^']+)'\)", member(f"data/sql/{name}.sql")))
    header = (folder_of(by_name["libsqlite3-sys"]) / "sqlite3/sqlite3.h").read_text()
    sqlite = re.search(r'#define SQLITE_VERSION\s+"([^"]+)"', header).group(1)
    licence = "\n".join(line.rstrip() for line in licence.split("\n"))
    return f"""## PROJ {version}

Coordinate systems and their transformations; <https://proj.org>. Linked into the program.

```text
{licence}
```

## The EPSG Dataset {data["EPSG.VERSION"]} ({data["EPSG.DATE"]})

Definitions of coordinate systems, inside the database that PROJ makes of them and that the program carries. The dataset is owned by
the International Association of Oil and Gas Producers (IOGP) and published at no charge under the terms of use at
<https://epsg.org/terms-of-use.html>. Whoever uses the program uses the dataset, and is asked to agree to those terms. In short, and
without force beside the terms: it comes as it is, without any warranty; it may be used, copied and passed on, with its owner named and
with these terms told; it may not be sold for itself; what was changed may not be called EPSG data.
PROJ changes its form, not its numbers.

The same database holds definitions by Esri ({data["ESRI.VERSION"]}), by IGN France ({data["IGNF.VERSION"]}), by the Nordic
Geodetic Commission ({data["NKG.VERSION"]}), by Natural Resources Canada and of bodies of the solar system (IAU), as PROJ passes them on.

## SQLite {sqlite}

Reads PROJ's database and writes the GeoPackage; <https://sqlite.org>. In the public domain: <https://sqlite.org/copyright.html>.
"""


def document():
    packages = crates()
    table = "\n".join(f"| {package['name']} | {package['version']} | {package['license']} |" for package in packages)
    texts = {}
    for package in packages:
        for text in notices(package):
            texts.setdefault(same(text), (text, []))[1].append(package["name"])
    blocks = "\n".join(
        f"### {', '.join(dict.fromkeys(names))}\n\n````text\n{text}\n````\n" for text, names in texts.values()
    )
    return f"""<!-- Written by scripts/third_party.py: change that, or Cargo.lock, not this. -->
# What is inside lowstave that is not ours

lowstave itself is licensed under MIT or Apache 2.0, as you choose (`LICENSE-MIT`, `LICENSE-APACHE`). The program, or the Python
module of it, also contains what is listed here, each under its own terms. Data and tools that only the tests use carry their licences
beside them in `tests/`.

{bundled(packages)}
## Crates

Where several licences are offered, MIT is taken before Apache 2.0 and that before others.

| crate | version | offered under |
|---|---|---|
{table}

## Notices of the crates

{blocks}"""


def main():
    text = document()
    if sys.argv[1:] == ["--check"]:
        if not NOTICE.exists() or NOTICE.read_text(encoding="utf-8") != text:
            sys.exit(f"{NOTICE.name} is not of this Cargo.lock: python3 scripts/third_party.py")
        print(f"{NOTICE.name} is of this Cargo.lock")
    else:
        NOTICE.write_text(text, encoding="utf-8")


main()
