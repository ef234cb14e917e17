"""Puts every change that cargo-mutants lists behind a switch, so that one build holds them all.

    python3 .ci/switches.py COPY [GLOB ...]

COPY is a folder to be made: a copy of the sources in which each changed operator, result, arm or guard is chosen at run time by
`OVERBEND_SWITCH=number`. Changes that do not compile are left out, as are those where Rust allows no choice at run time
(constants, chains of `let`, fields of structures); COPY/switches.json says which. Needs cargo-mutants, tree-sitter and
tree-sitter-rust. `.ci/mutants.py` runs the tests against them.
"""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import tree_sitter_rust
from tree_sitter import Language, Parser

PARSER = Parser(Language(tree_sitter_rust.language()))
COPIED = ["Cargo.toml", "Cargo.lock", "README.md", "DEVELOPERS.md", "src", "templates", "tests", "examples", "benches", ".ci"]
# The switch itself, a file of the copied library. Numbers are written the first time a change could have acted.
SWITCH = """//! Which change is on, by `OVERBEND_SWITCH`; with `record`, which changes are reached, into `OVERBEND_HITS`.
#![allow(missing_docs, clippy::all)]
use std::io::Write as _;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::LazyLock;

const RECORD: usize = usize::MAX;
static ON: LazyLock<usize> = LazyLock::new(|| match std::env::var("OVERBEND_SWITCH") {
    Ok(text) if text == "record" => RECORD,
    Ok(text) => text.parse().unwrap_or(0),
    Err(_) => 0,
});
static REACHED: [AtomicBool; COUNT] = [const { AtomicBool::new(false) }; COUNT];

#[inline]
pub fn on(number: usize) -> bool {
    let on = *ON;
    if on == RECORD {
        reach(number);
    }
    on == number
}

#[cold]
fn reach(number: usize) {
    if !REACHED[number].swap(true, Ordering::Relaxed) {
        if let Ok(path) = std::env::var("OVERBEND_HITS") {
            if let Ok(mut file) = std::fs::OpenOptions::new().append(true).create(true).open(path) {
                let _ = file.write_all(format!("{number}\\n").as_bytes());
            }
        }
    }
}
"""


def nodes_of(node):
    yield node
    for child in node.children:
        yield from nodes_of(child)


class File:
    """One source file and the changes in it, each at the node that it changes."""

    def __init__(self, path, changes):
        self.source = path.read_bytes()
        self.tree = PARSER.parse(self.source)
        lines = self.source.decode().splitlines(keepends=True)
        starts = [0]
        for line in lines:
            starts.append(starts[-1] + len(line.encode()))
        self.at = {}
        self.lost = {}
        by_operator, functions, arms, guards = {}, [], {}, {}
        for node in nodes_of(self.tree.root_node):
            if node.type in ("binary_expression", "compound_assignment_expr"):
                by_operator[node.child_by_field_name("operator").start_byte] = node
            elif node.type == "unary_expression":
                by_operator[node.children[0].start_byte] = node
            elif node.type == "function_item":
                functions.append(node)
            elif node.type == "match_arm":
                arms[node.start_byte] = node
                condition = node.child_by_field_name("pattern").child_by_field_name("condition")
                if condition:
                    guards[condition.start_byte] = node
        for change in changes:
            start = change["span"]["start"]
            byte = starts[start["line"] - 1] + len(lines[start["line"] - 1][: start["column"] - 1].encode())
            genre = change["genre"]
            if genre in ("BinaryOperator", "UnaryOperator"):
                node = by_operator.get(byte)
            elif genre == "FnValue":
                around = [f for f in functions if f.start_byte <= byte < f.end_byte]
                node = max(around, key=lambda f: f.start_byte, default=None)
            else:
                node = {"MatchArm": arms, "MatchArmGuard": guards}.get(genre, {}).get(byte)
            if node is None:
                self.lost[change["number"]] = "no choice at run time"
            elif self.constant(node):
                self.lost[change["number"]] = "constant"
            elif genre == "FnValue" and "impl " in change["function"]["return_type"]:
                self.lost[change["number"]] = "no choice at run time"
            else:
                self.at.setdefault((node.start_byte, node.end_byte, node.type), []).append(change)

    def constant(self, node):
        """Whether Rust wants to know the value while it compiles."""
        while node is not None:
            if node.type in ("const_item", "static_item", "const_block"):
                return True
            if node.type == "function_item":
                head = self.source[node.start_byte : node.child_by_field_name("name").start_byte]
                return b"const " in head
            node = node.parent
        return False

    def written(self, dropped):
        """The text with its switches, and where in it each change stands: (start, end, numbers)."""
        out = Written(self, dropped)
        root = self.tree.root_node
        out.raw(self.source[: root.start_byte])
        out.node(root)
        out.raw(self.source[root.end_byte :])
        return bytes(out.bytes), out.places

    def text(self, node):
        return self.source[node.start_byte : node.end_byte].decode()


def on(change):
    return f"crate::switch::on({change['number']})"


class Written:
    """A file's text as it is written with its switches, and where in it each change stands."""

    def __init__(self, file, dropped):
        self.file, self.dropped = file, dropped
        self.bytes, self.places = bytearray(), []

    def raw(self, data):
        self.bytes += data

    def add(self, text):
        self.bytes += text.encode()

    def node(self, node):
        """The node with the switches of its changes."""
        place = (node.start_byte, node.end_byte, node.type)
        changes = [c for c in self.file.at.get(place, []) if c["number"] not in self.dropped]
        if not changes:
            return self.children(node)
        if node.type == "function_item":
            return self.function(node, changes)
        begin = len(self.bytes)
        if node.type == "compound_assignment_expr":
            self.assignment(node, changes)
        elif node.type == "unary_expression":
            self.unary(node, changes[0])
        elif node.type == "match_arm":
            self.arm(node, changes)
        elif self.operator(node) in ("&&", "||"):
            self.logic(node, changes[0])
        else:
            self.binary(node, changes)
        self.places.append((begin, len(self.bytes), [c["number"] for c in changes]))

    def children(self, node, begin=None, until=None):
        """The node as it stands, with the switches of the nodes in it."""
        at = node.start_byte if begin is None else begin
        end = node.end_byte if until is None else until
        for child in node.children:
            if child.start_byte >= at and child.end_byte <= end:
                self.raw(self.file.source[at : child.start_byte])
                self.node(child)
                at = child.end_byte
        self.raw(self.file.source[at:end])

    def operator(self, node):
        return self.file.text(node.child_by_field_name("operator"))

    def chosen(self, changes, changed, after):
        """For each change, what it makes of the node, if it is on; `changed` writes that."""
        for change in changes:
            self.add(f"if {on(change)} {{ ")
            begin = len(self.bytes)
            changed(change)
            self.places.append((begin, len(self.bytes), [change["number"]]))
            self.add(after)

    def binary(self, node, changes):
        sign = self.operator(node)
        # A comparison takes nothing away from what it compares.
        by = "&" if sign in ("==", "!=", "<", ">", "<=", ">=") else ""
        self.add(f"(match ({by}(")
        self.node(node.child_by_field_name("left"))
        self.add(f"), {by}(")
        self.node(node.child_by_field_name("right"))
        self.add(")) { (l_, r_) => ")
        self.chosen(changes, lambda c: self.add(f"l_ {c['replacement']} r_"), " } else ")
        self.add(f"{{ l_ {sign} r_ }} }})")

    def assignment(self, node, changes):
        def assigned(sign):
            self.children(node.child_by_field_name("left"))
            self.add(f" {sign} r_")

        self.add("(match (")
        self.node(node.child_by_field_name("right"))
        self.add(") { r_ => ")
        self.chosen(changes, lambda c: assigned(c["replacement"]), " } else ")
        self.add("{ ")
        assigned(self.operator(node))
        self.add(" } })")

    def logic(self, node, change):
        """`&&` and `||` look at their right side only where the left one leaves it open; the other one where it does not."""
        both = self.operator(node) == "&&"
        self.add("(if (")
        self.node(node.child_by_field_name("left"))
        self.add(f") {'!=' if both else '=='} {on(change)} {{ ")
        self.node(node.child_by_field_name("right"))
        self.add(f" }} else {{ {'' if both else '!'}{on(change)} }})")

    def unary(self, node, change):
        self.add("(match (")
        self.node(node.children[1])
        self.add(f") {{ o_ => if {on(change)} {{ o_ }} else {{ {self.file.text(node.children[0])}o_ }} }})")

    def function(self, node, changes):
        body = node.child_by_field_name("body")
        self.children(node, until=body.start_byte)
        self.add("{ ")
        self.chosen(changes, lambda c: self.add(f"return {c['replacement'] or '()'};"), " } ")
        self.children(body, begin=body.start_byte + 1)

    def arm(self, node, changes):
        pattern = node.child_by_field_name("pattern")
        condition = pattern.child_by_field_name("condition")
        arrow = next(c for c in node.children if c.type == "=>")
        self.children(node, until=pattern.start_byte)
        self.raw(self.file.source[pattern.start_byte : pattern.children[0].end_byte])
        always = [c for c in changes if c["replacement"] == "true"]
        self.add(" if " + "".join(f"({on(c)} || " if c in always else f"!{on(c)} && " for c in changes) + "(")
        if condition:
            self.node(condition)
        else:
            self.add("true")
        self.add(")" + ")" * len(always) + " ")
        self.children(node, begin=arrow.start_byte)


def listed(globs):
    command = ["cargo", "mutants", "--list", "--json"]
    for glob in globs:
        command += ["-f", glob]
    changes = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    for number, change in enumerate(changes, 1):
        change["number"] = number
        del change["diff"]
    return changes


def main():
    copy, globs = Path(sys.argv[1]), sys.argv[2:]
    changes = listed(globs)
    copy.mkdir(parents=True, exist_ok=True)
    for name in COPIED:
        if Path(name).is_dir():
            shutil.rmtree(copy / name, ignore_errors=True)
            shutil.copytree(name, copy / name)
        else:
            shutil.copy(name, copy / name)
    (copy / "src/switch.rs").write_text(SWITCH.replace("COUNT", str(len(changes) + 1)))
    library = copy / "src/lib.rs"
    library.write_text(library.read_text() + "\n#[doc(hidden)]\npub mod switch;\n")
    files = {}
    for name in sorted({c["file"] for c in changes}):
        files[name] = File(Path(name), [c for c in changes if c["file"] == name])
    dropped = {number: why for file in files.values() for number, why in file.lost.items()}
    while True:
        places = {}
        for name, file in files.items():
            text, places[name] = file.written(dropped)
            (copy / name).write_bytes(text)
        run = subprocess.run(
            ["cargo", "check", "--lib", "--message-format=json"], cwd=copy, capture_output=True, text=True
        )
        faults = [m["message"] for m in map(json.loads, run.stdout.splitlines()) if m["reason"] == "compiler-message"]
        faults = [m for m in faults if m["level"] == "error" and m["spans"]]
        if run.returncode == 0:
            break
        before = len(dropped)
        for fault in faults:
            for span in fault["spans"]:
                if not span["is_primary"]:
                    continue
                while span["expansion"] and span["file_name"] not in places:
                    span = span["expansion"]["span"]
                around = [p for p in places.get(span["file_name"], []) if p[0] <= span["byte_start"] and span["byte_end"] <= p[1]]
                smallest = min(around, key=lambda p: p[1] - p[0], default=None)
                if smallest is None:
                    # An arm with a choice is none to the compiler: the match may not be complete without it.
                    arms = [c["number"] for c in changes if c["genre"] == "MatchArm" and c["file"] == span["file_name"]]
                    dropped.update((number, "no choice at run time") for number in arms)
                    print(f"{span['file_name']}:{span['line_start']}: {fault['message']}", file=sys.stderr)
                    continue
                dropped.update((number, "does not compile") for number in smallest[2])
        print(f"{len(faults)} complaints, {len(dropped)} of {len(changes)} left out", flush=True)
        if len(dropped) == before:
            sys.exit(run.stderr[-4000:] or "nothing more to leave out")
    for change in changes:
        change["left_out"] = dropped.get(change["number"])
    (copy / "switches.json").write_text(json.dumps(changes))
    print(f"{len(changes) - len(dropped)} changes behind switches, {len(dropped)} left out")


if __name__ == "__main__":
    main()
