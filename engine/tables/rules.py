"""The rules by number: what each says, on what basis, from where; and the sources that cite them."""

from __future__ import annotations

import re
from functools import cache

from engine.frozen import dataclass
from engine.tables import table

# "k2 S2" is a factor and an area, not a rule.
_NUMBER = re.compile(r"(?<![\w-])(?<!k2 )[TS]\d{1,2}(?![\w-])")


@dataclass(frozen=True)
class Rule:
    """A rule: its number, a short name, one sentence, its basis ("standard", "practice", "computed") and where it stands."""

    number: str
    name: str
    text: str
    basis: str
    source: str


@cache
def rules() -> dict[str, Rule]:
    """Every rule, by its number ("T6")."""
    every = ({column: str(cell) for column, cell in row.items()} for row in table("rules").rows)
    return {row["rule"]: Rule(row["rule"], _names()[row["rule"]], row["text"], row["basis"], row["source"]) for row in every}


@cache
def _names() -> dict[str, str]:
    return {str(row["rule"]): str(row["name"]) for row in table("rule_names").rows}


def cited(source: str) -> tuple[Rule, ...]:
    """The rules that a text cites, each once, in order: `cited("T6, S12; IEC 60898-1")` is T6 and S12."""
    numbers = dict.fromkeys(_NUMBER.findall(source))
    return tuple(rules()[number] for number in numbers if number in rules())


def told(source: str) -> str:
    """The text with each number told by name: "T6 (fault current in island operation)", "(S3: currents of the AC circuits)".

    What is told already stays as it is.
    """

    def named(found: re.Match[str]) -> str:
        name = _names().get(found[0])
        before, after = source[: found.start()], source[found.end() :]
        if name is None or after.startswith((f" ({name})", f": {name})")):
            return found[0]
        return f"{found[0]}: {name}" if before.endswith("(") and after.startswith(")") else f"{found[0]} ({name})"

    return _NUMBER.sub(named, source)
