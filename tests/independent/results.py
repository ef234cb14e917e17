"""Results of the independent programs: kept as JSON beside the scripts, written or compared.

    python3 SCRIPT.py           writes the result
    python3 SCRIPT.py --check   computes it again and compares with the one that is kept
"""

import json
import sys
from pathlib import Path


def deviations(found, kept, at="result"):
    """Places where two results differ by more than a millionth of the value (numbers) or at all (anything else)."""
    if isinstance(found, dict) and isinstance(kept, dict) and found.keys() == kept.keys():
        return [d for key in found for d in deviations(found[key], kept[key], f"{at}.{key}")]
    if isinstance(found, list) and isinstance(kept, list) and len(found) == len(kept):
        return [d for i, (a, b) in enumerate(zip(found, kept)) for d in deviations(a, b, f"{at}[{i}]")]
    if isinstance(found, (int, float)) and isinstance(kept, (int, float)):
        same = abs(found - kept) <= 1e-6 * max(abs(found), abs(kept)) + 1e-9
        return [] if same else [f"{at}: {found} was {kept}"]
    return [] if found == kept else [f"{at}: {found!r} was {kept!r}"]


def deliver(script, result):
    """Writes the result beside its script, or compares it with the kept one."""
    path = Path(script).with_suffix(".json")
    # Numbers as they come back from the file, so that writing and comparing see the same.
    result = json.loads(json.dumps(result))
    if "--check" not in sys.argv:
        path.write_text(json.dumps(result, indent=1) + "\n")
        print(f"{path.name} written")
        return
    found = deviations(result, json.loads(path.read_text()))
    if found:
        print(f"{path.name} is no longer what the script computes:", *found, sep="\n  ")
        sys.exit(1)
    print(f"{path.name} is what the script computes")
