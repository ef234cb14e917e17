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
        places = []

        def rendered(node, offset):
            """Text of `node`, to stand at `offset` bytes."""
            changes = [c for c in self.at.get((node.start_byte, node.end_byte, node.type), []) if c["number"] not in dropped]
            text, out = Text(offset), None
            if not changes:
                return plain(node, offset)
            begin = offset
            if node.type in ("binary_expression", "compound_assignment_expr"):
                left, right = node.child_by_field_name("left"), node.child_by_field_name("right")
                sign = self.text(node.child_by_field_name("operator"))
                if sign in ("&&", "||"):
                    (change,) = changes
                    on = f"crate::switch::on({change['number']})"
                    text.add("(if (")
                    text.put(lambda at: rendered(left, at))
                    text.add(f") {'!=' if sign == '&&' else '=='} {on} {{ ")
                    text.put(lambda at: rendered(right, at))
                    text.add(f" }} else {{ {'' if sign == '&&' else '!'}{on} }})")
                elif node.type == "compound_assignment_expr":
                    text.add("(match (")
                    text.put(lambda at: rendered(right, at))
                    text.add(") { r_ => ")
                    for change in changes:
                        text.add(f"if crate::switch::on({change['number']}) {{ ")
                        a = text.end()
                        text.put(lambda at: plain(left, at))
                        text.add(f" {change['replacement']} r_")
                        places.append((a, text.end(), [change["number"]]))
                        text.add(" } else ")
                    text.add("{ ")
                    text.put(lambda at: plain(left, at))
                    text.add(f" {sign} r_ }} }})")
                else:
                    by = "&" if sign in ("==", "!=", "<", ">", "<=", ">=") else ""
                    text.add(f"(match ({by}(")
                    text.put(lambda at: rendered(left, at))
                    text.add(f"), {by}(")
                    text.put(lambda at: rendered(right, at))
                    text.add(")) { (l_, r_) => ")
                    for change in changes:
                        text.add(f"if crate::switch::on({change['number']}) {{ ")
                        a = text.end()
                        text.add(f"l_ {change['replacement']} r_")
                        places.append((a, text.end(), [change["number"]]))
                        text.add(" } else ")
                    text.add(f"{{ l_ {sign} r_ }} }})")
            elif node.type == "unary_expression":
                (change,) = changes
                sign, operand = self.text(node.children[0]), node.children[1]
                text.add("(match (")
                text.put(lambda at: rendered(operand, at))
                text.add(f") {{ o_ => if crate::switch::on({change['number']}) {{ o_ }} else {{ {sign}o_ }} }})")
            elif node.type == "function_item":
                body = node.child_by_field_name("body")
                text.put(lambda at: plain(node, at, until=body.start_byte))
                text.add("{ ")
                for change in changes:
                    text.add(f"if crate::switch::on({change['number']}) {{ ")
                    a = text.end()
                    text.add(f"return {change['replacement'] or '()'};")
                    places.append((a, text.end(), [change["number"]]))
                    text.add(" } ")
                text.put(lambda at: plain(body, at, begin=body.start_byte + 1))
                return bytes(text.bytes)
            else:
                pattern = node.child_by_field_name("pattern")
                condition = pattern.child_by_field_name("condition")
                arrow = next(c for c in node.children if c.type == "=>")
                inner = pattern.children[0]
                text.put(lambda at: plain(node, at, until=pattern.start_byte))
                text.add(self.source[pattern.start_byte : inner.end_byte].decode())
                test = ""
                for change in changes:
                    on = f"crate::switch::on({change['number']})"
                    if change["genre"] == "MatchArm":
                        test += f"!{on} && "
                    elif change["replacement"] == "false":
                        test += f"!{on} && "
                    else:
                        test += f"({on} || "
                text.add(f" if {test}(")
                if condition:
                    text.put(lambda at: rendered(condition, at))
                else:
                    text.add("true")
                text.add(")" + ")" * test.count("(crate") + " ")
                text.put(lambda at: plain(node, at, begin=arrow.start_byte))
            places.append((begin, text.end(), [c["number"] for c in changes]))
            return bytes(text.bytes)

        def plain(node, offset, begin=None, until=None):
            text = Text(offset)
            at = node.start_byte if begin is None else begin
            end = node.end_byte if until is None else until
            for child in node.children:
                if child.start_byte < at or child.end_byte > end:
                    continue
                text.raw(self.source[at : child.start_byte])
                text.put(lambda to, child=child: rendered(child, to))
                at = child.end_byte
            text.raw(self.source[at:end])
            return bytes(text.bytes)

        root = self.tree.root_node
        out = self.source[: root.start_byte] + rendered(root, root.start_byte) + self.source[root.end_byte :]
        return out, places

    def text(self, node):
        return self.source[node.start_byte : node.end_byte].decode()


class Text:
    """Bytes that know where in the file they will stand."""

    def __init__(self, offset):
        self.offset, self.bytes = offset, bytearray()

    def end(self):
        return self.offset + len(self.bytes)

    def add(self, text):
        self.bytes += text.encode()

    def raw(self, data):
        self.bytes += data

    def put(self, make):
        self.bytes += make(self.end())


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
