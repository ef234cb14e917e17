#!/usr/bin/env python3
"""Instructions that a build of the lake board takes, whole and in its hottest paths, held against the kept counts.

    python3 tests/readers/instructions.py target/release/overbend [--bless]

Counts repeat where times do not: on the same machine to a few in a thousand, between compilers and processors to a few
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

HERE = os.path.dirname(os.path.abspath(__file__))
KEPT = os.path.join(HERE, "instructions.json")
JOB = os.path.join(HERE, "..", "..", "examples", "lake-board", "job.toml")
ALLOWED = 1.10
# What is counted: all that happens inside of these functions, in the whole build.
PATHS = {
    "forward presses": "*press::press",
    "2000 draws": "*Model::end_heights_mm",
    "arcs of the ribs": "*rib::piece",
    "whole build": None,
}


def counted(program, function):
    with tempfile.TemporaryDirectory() as folder:
        command = ["valgrind", "--tool=callgrind", f"--callgrind-out-file={folder}/counts"]
        if function:
            command.append(f"--toggle-collect={function}")
        command += [program, "build", "-q", JOB, "-o", f"{folder}/out"]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
    found = re.search(r"Collected : (\d+)", done.stderr)
    if done.returncode != 0 or not found:
        sys.exit(f"{' '.join(command)} failed:\n{done.stdout}{done.stderr}")
    if found.group(1) == "0":
        sys.exit(f"{function}: no such function in {program}: name the one that holds this work now")
    return int(found.group(1))


def main():
    program, bless = sys.argv[1], "--bless" in sys.argv
    if shutil.which("valgrind") is None:
        if os.environ.get("CI"):
            sys.exit("valgrind is missing: apt-get install valgrind")
        print("skipped: instructions cannot be counted without valgrind")
        return
    found = {name: counted(program, function) for name, function in PATHS.items()}
    if bless:
        with open(KEPT, "w", encoding="utf-8") as out:
            json.dump(found, out, indent=2)
            out.write("\n")
    with open(KEPT, encoding="utf-8") as kept_file:
        kept = json.load(kept_file)
    worse = []
    for name, count in found.items():
        ratio = count / kept[name]
        print(f"{name:<18} {count:>13,} instructions, {100 * (ratio - 1):+.1f} % of the kept count")
        if ratio > ALLOWED:
            worse.append(name)
    if worse:
        sys.exit(f"more than {100 * (ALLOWED - 1):.0f} % over the kept count: {', '.join(worse)}")


if __name__ == "__main__":
    main()
