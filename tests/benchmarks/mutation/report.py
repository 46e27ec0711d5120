"""What the suite did not see: survivors by file and rule, each beside the reason that `survivors.toml` gives for it."""

from __future__ import annotations

import tomllib
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.mutation.judge import Verdict
from tests.benchmarks.mutation.mutants import Mutant

LIST = "tests/benchmarks/survivors.toml"
# Nobody could see these, whatever the tests: they count neither for nor against the suite.
UNSEEABLE = ("equivalent", "decides nothing")
REASONS = (*UNSEEABLE, "wording", "accepted")
Name = tuple[str, str, str, str, int]


@dataclass(frozen=True)
class Reason:
    """Why a mutant may survive: one of `REASONS`, and the sentence."""

    reason: str
    why: str


def reasons(root: Path) -> dict[Name, Reason]:
    """What the list says, by the name of the mutant."""
    path = root / LIST
    rows = tomllib.loads(path.read_text(encoding="utf-8")).get("survivor", ()) if path.exists() else ()
    return {(r["file"], r["where"], r["was"], r["now"], r.get("nth", 1)): Reason(r["reason"], r["why"]) for r in rows}


def report(judged: Mapping[Mutant, Verdict | None], known: Mapping[Name, Reason], unread: Sequence[Mutant], head: Sequence[str]) -> str:
    """The report in markdown. A verdict of None: no test reaches the mutant."""
    lines = ["# Mutants and what the suite saw of them", "", *head, ""]
    for kind, mutants in (("table cells", [m for m in judged if m.cell]), ("code", [m for m in judged if not m.cell])):
        if mutants:
            lines += _kind(kind, {m: judged[m] for m in mutants}, known)
    lines += _unread(unread)
    return "\n".join(lines) + "\n"


def _survives(verdict: Verdict | None) -> bool:
    return verdict is None or not verdict.killed


def _kind(kind: str, judged: Mapping[Mutant, Verdict | None], known: Mapping[Name, Reason]) -> Iterator[str]:
    alive = [m for m, verdict in judged.items() if _survives(verdict)]
    unseeable = [m for m in alive if m.name in known and known[m.name].reason in UNSEEABLE]
    counted = len(judged) - len(unseeable)
    dead = len(judged) - len(alive)
    yield f"## {kind}: {dead} of {counted} seen, {100 * dead / max(counted, 1):.1f} %"
    yield ""
    yield (
        f"{len(judged)} drawn, {len(alive)} survive: {len(unseeable)} that nothing could show, {sum(m.name in known for m in alive) - len(unseeable)} "
        f"explained otherwise, {sum(m.name not in known for m in alive)} unexplained."
    )
    yield from _counts(judged, "how", lambda m: (verdict.how if (verdict := judged[m]) else "no test reaches it"))
    yield from _shares(judged, "rule", lambda m: m.rule)
    yield from _shares(judged, "file", lambda m: m.file)
    yield from ("### Survivors", "")
    for mutant in sorted(alive, key=lambda m: (m.file, m.line, m.now)):
        reason = known.get(mutant.name)
        again = f" (no. {mutant.nth})" if mutant.nth > 1 else ""
        yield f"- {mutant.file}:{mutant.line} `{mutant.where}`{again} {mutant.rule}{'' if judged[mutant] else ', NO TEST REACHES IT'}"
        yield f"    - was `{mutant.was}`"
        yield f"    - now `{mutant.now}`"
        yield f"    - {reason.reason}: {reason.why}" if reason else "    - unexplained"
    yield ""


def _counts(judged: Iterable[Mutant], title: str, word: Callable[[Mutant], str]) -> Iterator[str]:
    yield from ("", f"| {title} | mutants |", "|---|---|")
    for name, count in Counter(map(word, judged)).most_common():
        yield f"| {name} | {count} |"
    yield ""


def _shares(judged: Mapping[Mutant, Verdict | None], title: str, word: Callable[[Mutant], str]) -> Iterator[str]:
    groups = defaultdict[str, list[bool]](list)
    for mutant in judged:
        groups[word(mutant)].append(_survives(judged[mutant]))
    yield from (f"| {title} | drawn | survive |", "|---|---|---|")
    for name, alive in sorted(groups.items(), key=lambda group: -sum(group[1])):
        yield f"| {name} | {len(alive)} | {sum(alive)} |"
    yield ""


def _unread(unread: Sequence[Mutant]) -> Iterator[str]:
    cells = {m.cell: m for m in unread}
    if cells:
        yield from (f"## {len(cells)} table cells that no plan of the suite reads: they were not drawn", "")
        by_column = Counter((m.file, m.cell[0], m.cell[2]) for m in cells.values() if m.cell)
        yield from (f"- {file} {table}.{column}: {count} cells" for (file, table, column), count in sorted(by_column.items()))
