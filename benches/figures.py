#!/usr/bin/env python3
"""Measures all figures of speed and writes them into DEVELOPERS.md, with machine and date.

    python3 benches/figures.py [RUNS]

Builds the release program, times every example as a process, compares with a plain script (numpy, ezdxf and matplotlib
are needed), and runs the benches. Of each command the fastest run counts, by the clock and in processor time: other work on
the machine only adds.
"""

import datetime
import os
import platform
import re
import subprocess
import sys
import tempfile
import time

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..")
PAGE = os.path.join(ROOT, "DEVELOPERS.md")
BEGIN, END = "<!-- by benches/figures.py -->\n", "<!-- end -->\n"
EXAMPLES = ("lake-board", "street-deck", "sled-runner", "river-board", "hill-board")


def fastest(command, runs):
    """Least milliseconds by the clock, and of processor time."""
    clock, processor = [], []
    for _ in range(runs):
        begun = time.perf_counter()
        child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode != 0:
            sys.exit(f"{' '.join(command)} failed")
        clock.append(time.perf_counter() - begun)
        processor.append(used.ru_utime + used.ru_stime)
    return 1e3 * min(clock), 1e3 * min(processor)


def text_of(command):
    return subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=True).stdout


def rows(program, runs):
    start = fastest([program, "--version"], runs)
    for name in EXAMPLES:
        job = os.path.join(ROOT, "examples", name, "job.toml")
        with tempfile.TemporaryDirectory() as folder:
            build = fastest([program, "build", "-q", job, "-o", os.path.join(folder, "out")], runs)
        check = fastest([program, "check", "-q", job], runs)
        yield f"| `{name}` | {check[0]:.0f}, {check[1]:.0f} | {build[0]:.0f}, {build[1]:.0f} |\n"
    yield f"| a process to start | {start[0]:.0f}, {start[1]:.0f} | |\n"


def benches():
    """What the benches print: of timed rows the fastest and the median, of the rest each line."""
    lines = []
    for line in text_of(["cargo", "bench", "--locked"]).splitlines():
        if line.startswith(("running", "test ", "Timer")) or not line.strip():
            continue
        indent, rest = re.fullmatch(r"([│├╰─ ]*)(.*)", line).groups()
        cells = [c.strip() for c in rest.split("│")]
        if len(cells) < 4:
            lines.append(line)
        elif not cells[0].endswith("/s"):
            lines.append(f"{' ' * len(indent) + cells[0]:<58} {cells[2]}")
    return "\n".join(line.rstrip() for line in lines)


def main():
    runs = sys.argv[1] if len(sys.argv) > 1 else "9"
    text_of(["cargo", "build", "--release", "--locked", "--quiet"])
    program = os.path.join(ROOT, "target", "release", "overbend")
    with open("/proc/cpuinfo", encoding="utf-8") as file:
        processor = re.search(r"model name\s*: (.*)", file.read())
    machine = f"{processor.group(1) if processor else platform.machine()}, {os.cpu_count()} cores, {platform.system()}"
    said = [
        f"{datetime.date.today()}, {machine}, {text_of(['rustc', '--version']).split(' (')[0]}, load {os.getloadavg()[0]:.1f}, "
        f"program of {os.path.getsize(program) / 1e6:.1f} MB:\n\n",
        "| example | `check`, ms by the clock and of processor | `build` |\n|---|---|---|\n",
        *rows(program, int(runs)),
        "\n```text\n",
        text_of([sys.executable, os.path.join(ROOT, "benches", "compare.py"), program, runs]),
        "\nmedians of the benches\n",
        benches(),
        "\n```\n",
    ]
    with open(PAGE, encoding="utf-8") as file:
        before, rest = file.read().split(BEGIN)
    after = rest.split(END, 1)[1]
    with open(PAGE, "w", encoding="utf-8") as file:
        file.write(before + BEGIN + "".join(said) + END + after)
    print("".join(said))


if __name__ == "__main__":
    main()
