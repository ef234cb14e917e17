#!/usr/bin/env python3
"""Instructions that one run of the hottest paths takes, held against the kept counts.

    python3 tests/readers/instructions.py target/release/examples/instructions [--bless]

Counts repeat where times do not: on the same machine to a few in a million, between compilers and processors to a few
per cent. More than a tenth over the kept count fails; after a change that is worth its cost, or one that saves,
`--bless` keeps the new counts.
"""

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

KEPT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "instructions.json")
ALLOWED = 1.10
# Path and runs over the first one: what the program does before is in both counts and falls out.
PATHS = {"forward": 5, "draw": 50, "arcs": 2}


def counted(program, path, runs):
    with tempfile.TemporaryDirectory() as folder:
        command = ["valgrind", "--tool=callgrind", f"--callgrind-out-file={folder}/out", program, path, str(runs)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
    found = re.search(r"Collected : (\d+)", done.stderr)
    if done.returncode != 0 or not found or "runs" not in done.stdout:
        sys.exit(f"{' '.join(command)} failed:\n{done.stdout}{done.stderr}")
    return int(found.group(1))


def main():
    program, bless = sys.argv[1], "--bless" in sys.argv
    if shutil.which("valgrind") is None:
        if os.environ.get("CI"):
            sys.exit("valgrind is missing: apt-get install valgrind")
        print("skipped: instructions cannot be counted without valgrind")
        return
    found = {}
    for path, more in PATHS.items():
        found[path] = round((counted(program, path, 1 + more) - counted(program, path, 1)) / more)
    if bless:
        with open(KEPT, "w", encoding="utf-8") as out:
            json.dump(found, out, indent=2)
            out.write("\n")
    with open(KEPT, encoding="utf-8") as kept_file:
        kept = json.load(kept_file)
    worse = []
    for path, count in found.items():
        ratio = count / kept[path]
        print(f"{path:<10} {count:>12,} instructions a run, {100 * (ratio - 1):+.1f} % of the kept count")
        if ratio > ALLOWED:
            worse.append(path)
    if worse:
        sys.exit(f"more than {100 * (ALLOWED - 1):.0f} % over the kept count: {', '.join(worse)}")


if __name__ == "__main__":
    main()
