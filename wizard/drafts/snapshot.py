"""What an interview would lose, and how one moment of it differs from the next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from typing import Any

from engine.frozen import dataclass
from wizard.drafts.records import Record, text_of


@dataclass(frozen=True)
class Snapshot:
    """One moment: the answers as a document, the texts that were not accepted and why, by key, where somebody is, and what is being typed there.

    `page` is the name of a page, `entry` the entry of its table that is open; `typing` is None where nothing is.
    """

    document: Mapping[str, Any] = field(default_factory=dict)
    refused: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    page: str = ""
    key: str = ""
    entry: int | None = None
    typing: str | None = None

    def holds_more(self, other: Snapshot) -> bool:
        """Whether something is said in it that the other does not say; where somebody is says nothing."""
        mine, others = parts_of(self), parts_of(other)
        return any(mine[name] != others[name] for name in mine if name != "place")


# A part is what differs as a whole: a table at the top of the document, the refused texts, the place, the typed text.
Parts = dict[str, Any]


def parts_of(snapshot: Snapshot) -> Parts:
    """The parts of a moment as texts that can be compared: the tables by their names, the others beside."""
    return {
        "tables": {name: text_of(value) for name, value in snapshot.document.items()},
        "order": list(snapshot.document),
        "refused": text_of(snapshot.refused),
        "place": text_of([snapshot.page, snapshot.key, snapshot.entry]),
        "typing": text_of(snapshot.typing),
    }


def difference(before: Parts, after: Parts) -> str:
    """What changed, as the members of a record; empty where nothing did."""
    members = []
    was, now = before["tables"], after["tables"]
    changed = {name: text for name, text in now.items() if was.get(name) != text}
    gone = [name for name in was if name not in now]
    if changed:
        members.append('"tables":{' + ",".join(f"{text_of(name)}:{text}" for name, text in changed.items()) + "}")
    if gone:
        members.append(f'"gone":{text_of(gone)}')
    # A table that is new comes last by itself.
    if [*(name for name in was if name in now), *(name for name in now if name not in was)] != after["order"]:
        members.append(f'"order":{text_of(after["order"])}')
    for name in ("refused", "place", "typing"):
        if before[name] != after[name]:
            members.append(f'"{name}":{after[name]}')
    return ",".join(members)


def applied(snapshot: Snapshot, record: Record) -> Snapshot:
    """The moment after a record; raises ValueError, TypeError or KeyError where it is none of ours."""
    document = dict(snapshot.document) | record.get("tables", {})
    for name in record.get("gone", ()):
        document.pop(name, None)
    if order := record.get("order"):
        document = {name: document[name] for name in order}
    snapshot = replace(snapshot, document=document)
    if "refused" in record:
        snapshot = replace(snapshot, refused={str(key): (str(text), str(why)) for key, (text, why) in record["refused"].items()})
    if "place" in record:
        page, key, entry = record["place"]
        snapshot = replace(snapshot, page=str(page), key=str(key), entry=None if entry is None else int(entry))
    if "typing" in record:
        snapshot = replace(snapshot, typing=None if record["typing"] is None else str(record["typing"]))
    return snapshot
