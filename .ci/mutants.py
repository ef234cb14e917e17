"""Tries every change that `.ci/switches.py` put behind a switch against the tests that reach it.

    python3 .ci/mutants.py COPY [--only GLOB] [--jobs N] [--again]

First each test runs once alone and says which changes it reaches, and how long it takes. Then every change is switched on for
its tests, the quick ones first, until one fails. A change that no test reaches, or that all its tests pass, is a survivor.
COPY/tried.jsonl keeps what was found, the newest last; `--again` tries only what survived, `--list` only says what did.
"""

import argparse
import fnmatch
import json
import os
import resource
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

# Tests of sources, of the command line and of whole folders; and two that take minutes and see formulas from far away.
SKIPPED = ["rooms", "readme", "terminal", "help", "schema", "folder", "talk", "limits", "random_jobs", "shops"]
# The table of verification, and the wrong variants that were chosen by hand.
TABLE = [
    ("verification", "the_committed_table_is_what_the_tests_write"),
    ("verification", "every_formula_made_wrong_on_purpose_fails_its_rows"),
]
# Tests that do TABLE's work again, or work for long on what a formula does not change.
LONG = [
    ("verification", "every_claim_stands_beside_its_source"),
    ("verification", "sources_have_names_of_their_own_and_every_kind_is_there"),
    ("library", "jig::cutting::tests::bars_of_limited_number_are_used_well_even_where_it_is_not_proven"),
    ("library", "jig::cutting::tests::sixty_pieces_of_any_length_are_proven"),
    ("library", "calibrate::shop::tests::the_band_holds_the_factor_nine_times_in_ten"),
]
# A change that makes its tests take this many times as long, and that many seconds more, is noticed: the tests hang.
SLOWER, MORE_S = 10.0, 5.0
# Most memory that tests may take under a change, bytes.
MEMORY = 6 << 30


def limited():
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


class Tests:
    """The test programs of the copy, and what each test reaches."""

    def __init__(self, copy, only):
        self.copy = copy
        run = subprocess.run(
            ["cargo", "test", "--no-run", "--message-format=json"], cwd=copy, stdout=subprocess.PIPE, text=True, check=True
        )
        messages = [json.loads(line) for line in run.stdout.splitlines()]
        programs = [
            (m["target"]["name"] if m["target"]["kind"] != ["lib"] else "library", m["executable"])
            for m in messages
            if m.get("executable") and m["profile"]["test"]
        ]
        self.programs = {name: path for name, path in programs if name not in SKIPPED and name in (only or [name])}
        self.seconds, self.reached = {}, {}

    def call(self, program, names, switch, hits=None, timeout=600.0):
        """Whether the tests pass with `switch` on."""
        env = dict(os.environ, OVERBEND_SWITCH=switch, CARGO_MANIFEST_DIR=str(self.copy.resolve()))
        if hits:
            env["OVERBEND_HITS"] = hits
        command = [self.programs[program], "--exact", "--test-threads=1", *names]
        with subprocess.Popen(
            command, cwd=self.copy, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, preexec_fn=limited,
            start_new_session=True,
        ) as process:
            try:
                return process.wait(timeout) == 0
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, 9)
                return False

    def record(self, jobs):
        record, every = self.copy / "reached.json", []
        if record.exists():
            for program, name, seconds, reached in json.loads(record.read_text()):
                self.seconds[program, name], self.reached[program, name] = seconds, set(reached)
        for program, path in self.programs.items():
            listed = subprocess.run([path, "--list", "--format=terse"], cwd=self.copy, capture_output=True, text=True, check=True)
            every += [(program, line.removesuffix(": test")) for line in listed.stdout.splitlines() if line.endswith(": test")]

        def one(test):
            with tempfile.NamedTemporaryFile() as hits:
                begun = time.monotonic()
                passed = self.call(test[0], [test[1]], "record", hits.name)
                seconds = time.monotonic() - begun
                return test, passed, seconds, {int(line) for line in Path(hits.name).read_text().split()}

        with ThreadPoolExecutor(jobs) as pool:
            for test, passed, seconds, reached in pool.map(one, [test for test in every if test not in self.seconds]):
                if not passed:
                    print(f"left out, as it fails by itself: {' '.join(test)}")
                    continue
                self.seconds[test], self.reached[test] = seconds, reached
        kept = [[*test, self.seconds[test], sorted(self.reached[test])] for test in self.seconds]
        record.write_text(json.dumps(kept))
        for test in self.seconds.keys() - set(every):
            del self.seconds[test], self.reached[test]
        print(f"{len(self.seconds)} tests, {sum(self.seconds.values()):.0f} s", flush=True)


def rank(change, test, seconds):
    """What is tried first: quick tests of its own file, of its room, of all; then the table of verification; then the rest."""
    inside = change["file"].removeprefix("src/").removesuffix(".rs").removesuffix("/mod").replace("/", "::")
    if test[0] == "library" and test[1].startswith(inside + "::") and seconds < 2.0:
        return 0
    if test[0] == "library" and test[1].startswith(inside.split("::")[0] + "::") and seconds < 1.0:
        return 1
    if seconds < 0.1:
        return 2
    return 3 if test in TABLE else 4


def tried(tests, by_change, change, limit_s):
    """How a change ends: the test program that noticed it, or what all its tests said."""
    number = change["number"]
    reaching = sorted(by_change.get(number, []), key=lambda t: (rank(change, t, tests.seconds[t]), tests.seconds[t]))
    if not reaching:
        return "not reached"
    total = sum(tests.seconds[t] for t in reaching)
    spent, at, batch_s = 0.0, 0, 0.2
    while at < len(reaching):
        # A batch of the quickest that are left; each is twice as long as the one before.
        batch, seconds = {}, 0.0
        while at < len(reaching) and (not batch or seconds + tests.seconds[reaching[at]] <= batch_s):
            program, name = reaching[at]
            batch.setdefault(program, []).append(name)
            seconds += tests.seconds[reaching[at]]
            at += 1
        for program, names in batch.items():
            if not tests.call(program, names, str(number), timeout=SLOWER * seconds + MORE_S):
                return f"noticed by {program}"
        spent += seconds
        batch_s *= 2.0
        if spent > limit_s and at < len(reaching):
            return f"not noticed in {spent:.0f} of {total:.0f} s"
    return "not noticed"


def edge(change):
    """Whether a limit is only taken in or left out, which matters where two computed numbers are exactly equal."""
    return any(f"replace {a} with {a}= in" in change["name"] for a in "<>")


def listed(changes, results):
    """Prints for each room how many changes were tried and noticed, and for each line what survived there."""
    rooms, lines = {}, {}
    for change in changes:
        found = results.get(change["name"])
        if found is None or edge(change):
            continue
        room = rooms.setdefault(change["file"].split("/")[1].removesuffix(".rs"), Counter())
        room["tried"] += 1
        if found.startswith("noticed"):
            room["noticed"] += 1
            continue
        file, line, column, what = change["name"].split(":", 3)
        lines.setdefault((file, int(line)), []).append(f"{column}{what.split(' in ')[0].replace('replace ', '')}")
    for (file, line), survivors in sorted(lines.items()):
        print(f"{file}:{line}: {'; '.join(survivors)}")
    for room, count in rooms.items():
        print(f"| `{room}` | {count['tried']} | {count['noticed']} | {count['tried'] - count['noticed']} |")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("copy", type=Path)
    parser.add_argument("--only", default="*")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--limit", type=float, default=1e9, help="seconds of tests for one change")
    parser.add_argument("--programs", help="test programs to use, by name; `library` is the library's own")
    parser.add_argument("--again", action="store_true")
    parser.add_argument("--list", action="store_true")
    given = parser.parse_args()
    changes = json.loads((given.copy / "switches.json").read_text())
    kept = given.copy / "tried.jsonl"
    results = dict(map(json.loads, kept.read_text().splitlines())) if kept.exists() else {}
    if given.list:
        listed(changes, results)
        return
    tests = Tests(given.copy, given.programs and given.programs.split(","))
    tests.record(given.jobs)
    by_change = {}
    for test, reached in tests.reached.items():
        for number in reached if test not in LONG else []:
            by_change.setdefault(number, []).append(test)
    globs = given.only.split(",")

    def is_wanted(change):
        if change["left_out"] or edge(change) or not any(fnmatch.fnmatch(change["file"], glob) for glob in globs):
            return False
        found = results.get(change["name"])
        return found is not None and found.startswith("not ") if given.again else found is None

    wanted = [change for change in changes if is_wanted(change)]
    print(f"{len(wanted)} changes to try", flush=True)
    guard, begun = threading.Lock(), time.monotonic()

    def one(change):
        end = tried(tests, by_change, change, given.limit)
        with guard:
            results[change["name"]] = end
            with kept.open("a") as file:
                file.write(json.dumps([change["name"], end]) + "\n")
            if len(results) % 50 == 0:
                print(f"{time.monotonic() - begun:.0f} s: {len(results)}", flush=True)

    with ThreadPoolExecutor(given.jobs) as pool:
        list(pool.map(one, wanted))
    print(Counter(end.split(" by ")[0] for end in results.values()))


if __name__ == "__main__":
    sys.exit(main())
