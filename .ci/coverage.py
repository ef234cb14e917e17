"""Coverage of lines and branches by module, from the lcov file that llvm-cov exports.

    python3 .ci/coverage.py REPORT [--gaps]
    python3 .ci/coverage.py --programs MESSAGES

Fails where a module of mechanics or geometry is below what is asked. `--gaps` lists the lines and branches that no test
reaches, and the files that have some and are not in tests/verification/COVERAGE.md. Files of tests (`tests.rs`) and what stands below `#[cfg(test)]` count as tests, not as the module; a debug
assertion has no branch, as the other one is a panic that must not happen. `--programs` lists the programs of a build from
cargo's messages.
"""

import json
import sys
from pathlib import Path

MODULES = ["numeric", "curve", "drawing", "drawn", "rocker", "laminate", "press", "table", "jig", "calibrate", "forecast"]
LEAST = 95.0
EXPLAINED = Path(__file__).parent.parent / "tests/verification/COVERAGE.md"


def tests_from(path):
    """Number of the line where the file's own tests begin."""
    lines = path.read_text().splitlines()
    return next((i for i, line in enumerate(lines, 1) if line.strip() == "#[cfg(test)]"), len(lines) + 1)


def assertions(path):
    """Numbers of the lines that debug assertions stand on."""
    found, open_brackets = set(), 0
    for number, line in enumerate(path.read_text().splitlines(), 1):
        if open_brackets > 0 or line.strip().startswith("debug_assert"):
            found.add(number)
            open_brackets += line.count("(") - line.count(")")
    return found


def programs(messages):
    """The programs that a build made, from cargo's messages."""
    read = [json.loads(line) for line in Path(messages).read_text().splitlines()]
    return sorted({m["executable"] for m in read if m.get("executable")})


def records(report):
    """For each file its lines and its branches, each with how often they were taken."""
    path, lines, branches = None, {}, {}
    for record in Path(report).read_text().splitlines():
        key, _, value = record.partition(":")
        if key == "SF":
            path, lines, branches = Path(value), {}, {}
        elif key == "DA":
            line, hits = value.split(",")[:2]
            lines[int(line)] = int(hits)
        elif key == "BRDA":
            line, block, branch, hits = value.split(",")
            # A generic function has a branch for each of its instances: taken where any of them took it.
            place = (int(line), block, branch)
            branches[place] = max(branches.get(place, 0), 0 if hits == "-" else int(hits))
        elif record == "end_of_record":
            yield path, lines, branches


def main():
    if sys.argv[1] == "--programs":
        print("\n".join(programs(sys.argv[2])))
        return
    modules, gaps = {module: [0, 0, 0, 0] for module in MODULES}, []
    for path, lines, branches in records(sys.argv[1]):
        if "src" not in path.parts or path.name == "tests.rs":
            continue
        inside = path.parts[path.parts.index("src") + 1:]
        total = modules.get(inside[0].removesuffix(".rs"))
        if total is None:
            continue
        end, asserted = tests_from(path), assertions(path)
        lines = {at: hits for at, hits in lines.items() if at < end}
        branches = {at: hits for at, hits in branches.items() if at[0] < end and at[0] not in asserted}
        for i, found in [(0, lines), (2, branches)]:
            total[i] += sum(hits > 0 for hits in found.values())
            total[i + 1] += len(found)
        name = "/".join(inside)
        gaps += [(name, at, "line") for at, hits in lines.items() if not hits]
        gaps += [(name, at[0], f"branch {at[1]}.{at[2]}") for at, hits in branches.items() if not hits]
    if "--gaps" in sys.argv:
        for name, line, what in sorted(gaps):
            print(f"src/{name}:{line}: {what}")
        said = EXPLAINED.read_text()
        for name in sorted({name for name, _, _ in gaps if f"`{name}`" not in said}):
            print(f"not explained in COVERAGE.md: {name}")
    print(f"{'module':<12} {'lines':>20} {'branches':>22}")
    low = []
    for module, (line_hits, line_count, branch_hits, branch_count) in modules.items():
        if not (line_count and branch_count):
            sys.exit(f"nothing was measured in {module}")
        line, branch = 100 * line_hits / line_count, 100 * branch_hits / branch_count
        print(f"{module:<12} {line_hits:>5}/{line_count:<5} {line:6.1f} % {branch_hits:>7}/{branch_count:<5} {branch:6.1f} %")
        if min(line, branch) < LEAST:
            low.append(module)
    if low:
        sys.exit(f"below {LEAST} %: {', '.join(low)}")


if __name__ == "__main__":
    main()
