"""Says at the end of a run how many published figures were checked, and where they come from."""

from __future__ import annotations

import tomllib
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


def _published() -> dict[str, tuple[str, dict[str, Any]]]:
    """File and entry of every published check and table, by id."""
    found = {}
    for path in sorted(HERE.glob("*.toml")):
        body = tomllib.loads(path.read_text(encoding="utf-8"))
        for kind in ("check", "table", "site"):
            found.update({f"{path.stem} {kind} {entry['id']}": (path.name, entry | {"kind": kind}) for entry in body.get(kind, ())})
    return found


def _ran(terminalreporter: Any) -> dict[str, str]:
    """Outcome of each test of this folder that is about one published entry, by "file kind id"."""
    found = {}
    for outcome in ("passed", "failed"):
        for report in terminalreporter.getreports(outcome):
            path, _, rest = report.nodeid.partition("::")
            if Path(path).parent.name == HERE.name and "[" in rest and report.when == "call":
                name, _, parameter = rest.rstrip("]").partition("[")
                stem = Path(path).stem.removeprefix("test_")
                found[f"{stem} {name.removeprefix('test_')} {parameter.split(' (')[0]}"] = outcome
    return found


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """A line for each file and topic: passed of all, seen or from memory, printed in the source or computed from its rule."""
    published, ran = _published(), _ran(terminalreporter)
    told = {key: outcome for key, outcome in ran.items() if key in published}
    if not told:
        return
    groups: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for key, (file, entry) in published.items():
        groups[file, entry["kind"], entry.get("topic", "")].append(key)
    terminalreporter.section("published figures")
    write = terminalreporter.write_line
    write(f"{'file':<17}{'kind':<7}{'topic':<18}{'passed':>8}{'found':>7}{'memory':>7}{'printed':>9}{'computed':>9}{'traps':>6}{'deviate':>8}")
    whole: Counter[str] = Counter()
    for (file, kind, topic), keys in groups.items():
        counts = Counter(word for key in keys if told.get(key) == "passed" for word in _words(published[key][1]))
        counts["all"] = len(keys)
        whole += counts
        write(f"{file:<17}{kind:<7}{topic:<18}{_line(counts)}")
    write(f"{'together':<42}{_line(whole)}")


def _line(counts: Counter[str]) -> str:
    passed = f"{counts['passed']}/{counts['all']}"
    return f"{passed:>8}{counts['found']:>7}{counts['memory']:>7}{counts['printed']:>9}{counts['computed']:>9}{counts['trap']:>6}{counts['deviates']:>8}"


def _words(entry: dict[str, Any]) -> list[str]:
    """What one passed entry counts under."""
    basis = {"published": "printed"}.get(entry.get("basis", ""), entry.get("value") or entry.get("basis") or "printed")
    return ["passed", entry["seen"], basis, *(word for word in ("trap", "deviates") if entry.get(word))]
