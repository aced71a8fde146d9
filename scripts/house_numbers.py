#!/usr/bin/env python3
"""The table of DEVELOPERS.md: how long files and functions are, and how much is documented, counted on this source.

Functions run from their `fn` line to the closing brace, tests left out; docs are counted over public items.
"""
import re
import sys
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent


def share(numbers, part):
    ordered = sorted(numbers)
    return ordered[min(len(ordered) - 1, int(part * len(ordered)))]


def without_tests(text):
    at = re.search(r"#\[cfg\(test\)\]\s*(?:#\[path[^\n]*\n)?\s*mod \w+( \{|;)", text)
    return text[: at.start()] if at else text


def functions(lines):
    at = 0
    while at < len(lines):
        start = re.match(r"(\s*)(pub(\([^)]*\))? )?(const |async |unsafe )*fn \w+", lines[at])
        if start:
            close = start.group(1) + "}"
            end = at
            if not (lines[at].rstrip().endswith("}") and "{" in lines[at]):
                while end < len(lines) and lines[end].rstrip() != close:
                    if lines[end].rstrip().endswith(";") and "{" not in "".join(lines[at : end + 1]):
                        break
                    end += 1
            body = "".join(lines[at : end + 1])
            if "{" in body:
                yield end - at + 1
        at += 1


def main():
    files = [p for p in sorted((ROOT / "src").rglob("*.rs")) if not p.stem.endswith("tests")]
    lengths, bodies, public, told, results, errors, unwraps, code = [], [], 0, 0, 0, 0, 0, 0
    for path in files:
        text = without_tests(path.read_text())
        lines = [line + "\n" for line in text.splitlines()]
        lengths.append(len(lines))
        bodies += list(functions(lines))
        code += sum(1 for l in lines if l.strip() and not l.strip().startswith("//"))
        unwraps += sum(len(re.findall(r"\.(unwrap|expect)\(", l)) for l in lines if not l.strip().startswith("//"))
        for at, line in enumerate(lines):
            item = re.match(r"\s*pub (const |async )?(fn|struct|enum|trait|type|const|static) \w+", line)
            if not item:
                continue
            public += 1
            above, docs = at - 1, []
            while above >= 0 and re.match(r"\s*(///|#\[|\]|[a-z:_]+.*[,)]?\]?$)", lines[above]) and lines[above].strip():
                docs.append(lines[above])
                above -= 1
            has_docs = any(l.strip().startswith("///") for l in docs)
            told += has_docs
            if item.group(2) == "fn":
                head = "".join(lines[at : at + 12]).split("{")[0]
                if "-> Result" in head or "-> Option<Result" in head:
                    results += 1
                    errors += any("# Errors" in l for l in docs)
    print(f"files {len(files)}")
    print(f"lines a file, median, p90, max: {median(lengths):.0f}, {share(lengths, .9)}, {max(lengths)}")
    print(f"functions {len(bodies)}")
    print(f"lines a function, median, p90, max: {median(bodies):.0f}, {share(bodies, .9)}, {max(bodies)}")
    print(f"functions over 60 lines: {sum(b > 60 for b in bodies)} ({100 * sum(b > 60 for b in bodies) / len(bodies):.1f} %)")
    print(f"public items with docs: {100 * told / public:.0f} % of {public}")
    print(f"public functions with a Result that tell their errors: {100 * errors / results:.0f} % of {results}")
    print(f"unwrap and expect outside tests per 1,000 lines of code: {1000 * unwraps / code:.1f} ({unwraps})")


if __name__ == "__main__":
    sys.exit(main())
