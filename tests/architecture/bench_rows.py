#!/usr/bin/env python3
"""The table of speed in README.md has the rows that glassbowl-bench prints, neither more nor less.

    bench_rows.py ROOT
"""
import pathlib
import re
import sys

TABLE = re.compile(r"^```text\nfigure +value +goal\n(.*?)^```$", re.MULTILINE | re.DOTALL)
ROW = re.compile(r"^(\S.*?) {2,}", re.MULTILINE)  # notes are indented
NAMED = re.compile(r'(?:push_back\(\s*\{|compare\(out,|fit\(out,|accuracy\(|\{\s*"(?:sse2|avx2|avx512)",)\s*"([^"]+)"')


def check_rows(root):
    table = TABLE.search((root / "README.md").read_text(encoding="utf-8"))
    if not table:
        return ["README.md has no table of glassbowl-bench"]
    shown = set(ROW.findall(table[1]))
    measured = {name for file in sorted((root / "tests/bench").glob("*.cpp"))
                for name in NAMED.findall(file.read_text(encoding="utf-8"))}
    return ([f"README.md shows a row that tests/bench does not measure: {name}" for name in sorted(shown - measured)] +
            [f"tests/bench measures a row that README.md does not show: {name}" for name in sorted(measured - shown)])


if __name__ == "__main__":
    found = check_rows(pathlib.Path(sys.argv[1]))
    print("\n".join(found))
    sys.exit(1 if found else 0)
