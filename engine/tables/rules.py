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
    return {
        str(row["rule"]): Rule(*(str(row[column]) for column in ("rule", "name", "text", "basis", "source"))) for row in table("rules").rows
    }


def cited(source: str) -> tuple[Rule, ...]:
    """The rules that a text cites, each once, in order: `cited("T6, S12; IEC 60898-1")` is T6 and S12."""
    numbers = dict.fromkeys(_NUMBER.findall(source))
    return tuple(rules()[number] for number in numbers if number in rules())


def told(source: str) -> str:
    """The text with each number told by name: "T6 (fault current in island operation)", "(S3: currents of the AC circuits)".

    What is told already stays as it is.
    """

    def named(found: re.Match[str]) -> str:
        said = rules().get(found[0])
        before, after = source[: found.start()], source[found.end() :]
        if said is None or after.startswith((f" ({said.name})", f": {said.name})")):
            return found[0]
        return f"{found[0]}: {said.name}" if before.endswith("(") and after.startswith(")") else f"{found[0]} ({said.name})"

    return _NUMBER.sub(named, source)
