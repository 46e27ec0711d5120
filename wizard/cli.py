"""The command line. `--help` and `--version` import nothing but the standard library; batch commands never import Textual."""

from __future__ import annotations

import argparse
import gc
import json
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from engine import MADE_WITH
from wizard.streams import lines, prepare, say, talk, unsaid

if TYPE_CHECKING:
    from engine.files.read import SiteFile
    from engine.planner import Planned
    from wizard.shelving import Shelving

FINE, STOPPED, WRONG = 0, 1, 2

_HELP = """Plan one AC supply made of several identical battery inverter/chargers.

  phasewright                          the interview, from an empty start
  phasewright FILE                     the interview on a site file
  phasewright COMMAND --help           the arguments of one command

A site file is TOML; a single - is stdin as FILE and stdout as OUT.
Exit status: 0 fine, 1 the site has a finding that stops it, 2 the call or the
file is wrong.
"""


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="phasewright", description=_HELP, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--version", action="version", version=MADE_WITH)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name, (run, help_text, add) in _COMMANDS.items():
        command = commands.add_parser(name, help=help_text, description=help_text)
        add(command)
        command.set_defaults(run=run)
    return parser


def entry() -> None:
    """The program. A command lives for a fraction of a second, of which looking for garbage, for plug-ins of
    pydantic, and taking down what the plan built would be a third; the interview looks for garbage once it stands on the screen.
    """
    gc.disable()
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    prepare()
    try:
        status = main()
    except SystemExit as left:  # how argparse leaves
        status = int(left.code or FINE)
    with suppress(OSError):
        sys.stdout.flush()
        sys.stderr.flush()
    os._exit(status)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; never lets a traceback out."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    try:
        if not given or (given[0] not in _COMMANDS and not given[0].startswith("-")):
            return _interview(given)
        parsed = _parser().parse_args(given)
        status: int = parsed.run(parsed)
        if said := unsaid():
            talk(said)
        return status
    except KeyboardInterrupt:
        return 130
    except OSError as problem:
        talk(f"what was asked for cannot be written or read: {problem.strerror or problem}")
        return WRONG
    except Exception as problem:  # a user never sees a traceback
        if os.environ.get("PHASEWRIGHT_DEBUG"):
            raise
        talk(
            f"a fault of this program, not of your file: {type(problem).__name__}. Set PHASEWRIGHT_DEBUG=1 and run again to see where, and report it."
        )
        return WRONG


def _interview(given: list[str]) -> int:
    from engine.text import clean

    if len(given) > 1:
        talk(f"wanted one site file, found {len(given)} words; {clean(given[0])!r} is no command (see phasewright --help)")
        return WRONG
    if given and not given[0].endswith(".toml") and not Path(given[0]).exists():
        from difflib import get_close_matches

        near = get_close_matches(given[0], _COMMANDS, n=1)
        hint = f"the nearest command is {near[0]!r}" if near else "see phasewright --help"
        talk(f"{clean(given[0])!r} is no command, and there is no such file; {hint}. The name of a new site file ends in .toml")
        return WRONG
    from wizard.screens.app import run

    return run(Path(given[0]) if given else None)


def _read(name: str) -> SiteFile:
    from engine.files.read import read, read_from

    return read_from(sys.stdin.buffer, "stdin") if name == "-" else read(Path(name))


def _planned(file: SiteFile) -> Planned:
    from engine.planner import plan

    return plan(file.answers, file.revision)


def _over(names: Iterable[str], as_json: bool, then: Callable[[Iterator[tuple[SiteFile, Planned]]], int]) -> int:
    """Go on with every file and its plan, one after the other, so that no more than one is held; or say what is wrong with one."""
    from engine.files.problems import Unreadable

    def found() -> Iterator[tuple[SiteFile, Planned]]:
        for name in names:
            file = _read(name)
            yield file, _planned(file)
            del file
            gc.collect(0)  # it does not come by itself in a command

    try:
        return then(found())
    except Unreadable as wrong:
        if as_json:
            told = {"problems": [{"file": wrong.name, "line": p.line, "key": p.key, "text": p.text} for p in wrong.problems]}
            say(json.dumps(told, indent=1) + "\n")
        for line in wrong.lines():
            talk(line)
        return WRONG


def _status(planned: Planned) -> int:
    return STOPPED if planned.plan.standing == "stopped" else FINE


def _written(name: str, write: Callable[[], object]) -> bool:
    """Write, and say why where that failed, or that the disk did not confirm it (False)."""
    from engine.text import clean

    try:
        if write() is False:
            talk(f"{clean(name)}: written, but the disk did not confirm it: make sure of it before you rely on it")
    except BrokenPipeError:
        return True  # the reader of a pipe has had enough
    except OSError as problem:
        talk(f"{clean(name)}: cannot be written: {problem.strerror or problem}; nothing was changed")
    else:
        return True
    return False


def _summary(planned: Planned) -> str:
    from engine.sheets.head import stamp

    counts = {level: sum(f.level == level for f in planned.findings) for level in ("stop", "caution", "note")}
    told = ", ".join(f"{n} {level}{'s' if n != 1 else ''}" for level, n in counts.items())
    return f"{stamp(planned.plan)}: {planned.plan.standing.upper()} ({told}; {len(planned.assumed)} values assumed)"


def _plan(given: argparse.Namespace) -> int:
    def then(found: Iterator[tuple[SiteFile, Planned]]) -> int:
        from engine.files.emit import plan_document, with_plan
        from engine.files.write import fitting, write
        from engine.site.spoken import spoken

        [(file, planned)] = found
        text = (
            json.dumps(plan_document(planned.plan), indent=1, ensure_ascii=True) + "\n"
            if given.json
            else with_plan(file.text, file.document, planned.plan)
        )
        if given.out in (None, "-"):
            say(text if given.json else fitting(text), as_utf8=True)
        elif not _written(given.out, lambda: write(Path(given.out), text if given.json else fitting(text))):
            return WRONG
        talk(_summary(planned))
        for finding in planned.findings:
            if finding.level == "stop":
                talk(f"stop: {spoken(finding.text)} (key: {finding.about})")
        return _status(planned)

    return _over([given.file], given.json, then)


def _check(given: argparse.Namespace) -> int:
    def then(found: Iterator[tuple[SiteFile, Planned]]) -> int:
        from dataclasses import asdict

        from engine.plan import plain
        from engine.sheets.text.findings import findings_text
        from engine.tables.rules import cited

        [(file, planned)] = found
        doubted = _doubted(file, planned)
        if given.json:
            plan = planned.plan
            told = {
                **{key: getattr(plan, key) for key in ("revision", "digest", "made_with", "standing")},
                "stale": bool(doubted),
                "doubts": doubted,
                "findings": [plain(finding) for finding in plan.findings],
                "rules": [asdict(rule) for rule in cited("; ".join(finding.source for finding in planned.findings))],
            }
            say(json.dumps(told, indent=1) + "\n")
        else:
            say("\n".join(lines(_summary(planned))) + "\n")
            say(findings_text(planned))
        return _status(planned)

    return _over([given.file], given.json, then)


def _doubted(file: SiteFile, planned: Planned) -> list[str]:
    """Why nobody should work by the plan that a file holds, told whatever is made of its answers."""
    from engine.files.digest import doubts
    from engine.text import clean

    stored = file.document.get("plan")
    told = [clean(doubt, 300) for doubt in doubts(stored, planned.plan)] if stored else []
    for doubt in told:
        talk(f"the plan in {clean(file.name)}: {doubt}. Plan again before anyone works by it")
    return told


def _sheets(given: argparse.Namespace) -> int:
    def then(found: Iterator[tuple[SiteFile, Planned]]) -> int:
        from wizard.shelving import NoSuchPaper, Shelving, chosen

        [(file, planned)] = found
        _doubted(file, planned)
        try:
            only = chosen(planned, given.only)
        except NoSuchPaper as problem:
            talk(str(problem))
            return WRONG
        shelving = Shelving(planned, Path(given.to), given.paper, only)
        if not _written(given.to, shelving.write):
            return WRONG
        say("".join(f"{shelving.shelved.folder / name}\n" for name in shelving.shelved.written))
        printed = not given.pdf or _printed(shelving)
        for told in shelving.told():
            talk(told)
        talk(_summary(planned))
        return _status(planned) if printed else WRONG

    return _over([given.file], as_json=False, then=then)


def _printed(shelving: Shelving) -> bool:
    """Whether the PDF that was asked for stands in the folder; where not, why is said."""
    from wizard.printing import NotPrinted

    try:
        stands = _written(str(shelving.shelved.folder), shelving.print)
    except NotPrinted as problem:
        talk(f"there is no PDF, all other papers stand: {problem}")
        return False
    if shelving.pdf:
        say(f"{shelving.pdf}\n")
    return stands


def _bill(given: argparse.Namespace) -> int:
    def then(found: Iterator[tuple[SiteFile, Planned]]) -> int:
        from engine.plan import plain
        from engine.sheets.bill_csv import bill_csv
        from engine.sheets.text.bill import bill_text
        from engine.text import clean

        statuses: list[int] = []

        def noted() -> Iterator[tuple[SiteFile, Planned]]:
            for file, planned in found:
                statuses.append(_status(planned))
                _doubted(file, planned)
                yield file, planned

        if given.json:
            told = [
                {
                    "site": clean(planned.facts.answers.site.name or file.name),
                    "revision": planned.plan.revision,
                    "digest": planned.plan.digest,
                    "made_with": planned.plan.made_with,
                    "standing": planned.plan.standing,
                    "bill": [plain(row) for row in planned.plan.bill],
                    "reels": [plain(row) for row in planned.plan.reels],
                }
                for file, planned in noted()
            ]
            say(json.dumps(told, indent=1) + "\n")
        else:
            plans = (planned for _, planned in noted())
            say(bill_csv(plans) if given.csv else bill_text(plans))
        return max(statuses)

    return _over(given.file, given.json, then)


def _why(given: argparse.Namespace) -> int:
    def then(found: Iterator[tuple[SiteFile, Planned]]) -> int:
        import difflib

        from engine.sheets.text.why import told_of
        from engine.text import clean

        [(file, planned)] = found
        _doubted(file, planned)
        told = told_of(planned, given.key)
        if told is None:
            keys = dict.fromkeys((*planned.figures, *(finding.about for finding in planned.findings)))
            below = [key for key in keys if key.startswith((f"{given.key}.", f"{given.key}["))]
            near = below[:12] or difflib.get_close_matches(given.key, keys, n=4, cutoff=0.5)
            said = (
                f"{clean(given.key)!r} is no figure by itself; ask about one of its own"
                if below
                else f"there is no figure {clean(given.key)!r} in this plan; near it"
            )
            talk(f"{said}: {', '.join(near)}" if near else f"there is no figure {clean(given.key)!r} in this plan")
            return WRONG
        say(told)
        return FINE

    return _over([given.file], as_json=False, then=then)


def _prove(given: argparse.Namespace) -> int:
    def then(found: Iterator[tuple[SiteFile, Planned]]) -> int:
        from engine.proof.proof_text import elements_text, proof_text, tried_text
        from engine.proof.tried import NotUnderstood

        [(file, planned)] = found
        _doubted(file, planned)
        if not planned.parts.units.units:
            talk("there is no order of work to prove: the plan does not know its units")
            return STOPPED
        gc.enable()  # a command seldom lives so long
        try:
            say(elements_text(planned) if given.elements else tried_text(planned, given.tries) if given.tries else proof_text(planned))
        except NotUnderstood as problem:
            talk(str(problem))
            return WRONG
        return _status(planned)

    return _over([given.file], as_json=False, then=then)


def _find(given: argparse.Namespace) -> int:
    def then(found: Iterator[tuple[SiteFile, Planned]]) -> int:
        from engine.proof.found_text import find_text
        from engine.proof.observed import Misread

        [(file, planned)] = found
        _doubted(file, planned)
        gc.enable()
        try:
            say(find_text(planned, given.readings or []))
        except Misread as problem:
            talk(str(problem))
            return WRONG
        return _status(planned)

    return _over([given.file], as_json=False, then=then)


def _drafts(given: argparse.Namespace) -> int:
    from engine.text import clean, counted
    from wizard.drafts.folder import drafts, drop

    found, unreadable = drafts()
    for path in unreadable:
        talk(f"{clean(str(path), 400)}: cannot be read as a draft")
    if given.action:
        if not 1 <= given.number <= len(found):
            talk(f"no draft {given.number}: there is {counted(len(found), 'draft')}")
            return WRONG
        draft = found[given.number - 1]
        if given.action == "resume":
            from wizard.screens.app import run

            gc.enable()  # a command seldom lives so long
            return run(draft.kept.site, draft)
        if draft.open:
            talk(f"draft {given.number} is open in another window: end that first, or take the draft up with phasewright drafts resume")
            return WRONG
        drop(draft)
        talk(f"dropped: {draft.line()}")
    elif given.json:
        rows = [
            {
                "number": number,
                "site": str(draft.kept.site) if draft.kept.site else None,
                "name": draft.name,
                "kept": draft.moment.isoformat() if draft.moment else None,
                "page": draft.place,
                "typing": draft.kept.snapshot.typing,
                "changed": draft.changed,
                "open": draft.open,
                "draft": str(draft.path),
            }
            for number, draft in enumerate(found, 1)
        ]
        say(json.dumps(rows, indent=1) + "\n")
    elif found:
        for number, draft in enumerate(found, 1):
            say(f"{number}  {draft.line()}\n")
            if draft.kept.site:
                say(f"   of {clean(str(draft.kept.site), 400)}\n")
    else:
        talk("there are no drafts")
    return FINE


def _schema(_: argparse.Namespace) -> int:
    from engine.files.schema import schema

    say(json.dumps(schema(), indent=1) + "\n")
    return FINE


def _file(command: argparse.ArgumentParser, *, many: bool = False) -> None:
    command.add_argument("file", metavar="FILE", nargs="+" if many else None, help="a site file, or - for stdin")


def _with_json(command: argparse.ArgumentParser) -> None:
    command.add_argument("--json", action="store_true", help="JSON on stdout, for a program")


def _plan_arguments(command: argparse.ArgumentParser) -> None:
    _file(command)
    command.add_argument("-o", dest="out", metavar="OUT", help="write answers and plan to this file (- for stdout); FILE itself will do")
    _with_json(command)


def _check_arguments(command: argparse.ArgumentParser) -> None:
    _file(command)
    _with_json(command)


def _sheets_arguments(command: argparse.ArgumentParser) -> None:
    _file(command)
    command.add_argument("--to", metavar="DIR", required=True, help="where the folder of the papers is made, named REVISION-PLANDIGEST")
    command.add_argument("--only", metavar="NAMES", help="some papers in a folder of their own, such as bill,L1-1")
    command.add_argument(
        "--paper", choices=("a4", "letter"), default="", help="what the folder is printed on (without it: letter under rules nec, else a4)"
    )
    command.add_argument("--pdf", action="store_true", help="folder.pdf too, printed by a Chromium of this machine")


def _bill_arguments(command: argparse.ArgumentParser) -> None:
    _file(command, many=True)
    form = command.add_mutually_exclusive_group()
    form.add_argument("--csv", action="store_true", help="a table for a spreadsheet")
    form.add_argument("--json", action="store_true", help="JSON on stdout, for a program")


def _why_arguments(command: argparse.ArgumentParser) -> None:
    _file(command)
    command.add_argument(
        "key",
        metavar="KEY",
        help="a figure, an answer, or what a finding is about, such as 'plan.banks[B1].charge_limit' or 'set.lead_loss'",
    )


def _prove_arguments(command: argparse.ArgumentParser) -> None:
    _file(command)
    what = command.add_mutually_exclusive_group()
    what.add_argument(
        "--try",
        dest="tries",
        metavar="MISTAKE",
        action="append",
        help="""where one mistake would be caught, or what it does, such as 'swap "load L1-1 L at load board" "load L2-1 L at load board"'""",
    )
    what.add_argument("--elements", action="store_true", help="every word and name that a mistake may be told with")


def _find_arguments(command: argparse.ArgumentParser) -> None:
    _file(command)
    command.add_argument(
        "--reading",
        dest="readings",
        metavar="STEP=VALUE",
        action="append",
        help="what was read at a step of the order of work, such as 'chain-resistance@L1-1=60ohm' or 'load-continuity@L1-1=open'; several may be given",
    )


def _drafts_arguments(command: argparse.ArgumentParser) -> None:
    actions = command.add_subparsers(dest="action", metavar="ACTION")
    for action, told in (("resume", "Go on with a draft in the interview."), ("drop", "Remove a draft: its answers are gone.")):
        one = actions.add_parser(action, help=told, description=told)
        one.add_argument("number", metavar="N", type=int, help="its number in the list")
    _with_json(command)


def _no_arguments(_: argparse.ArgumentParser) -> None:
    """The description of the file needs no file."""


_COMMANDS: dict[str, tuple[Callable[[argparse.Namespace], int], str, Callable[[argparse.ArgumentParser], None]]] = {
    "plan": (_plan, "Plan a site: print its file with the plan, or write it.", _plan_arguments),
    "check": (_check, "Say what is wrong with a site, and how to cure it.", _check_arguments),
    "sheets": (
        _sheets,
        "Write the papers into a folder of their own: folder.html to print, a sheet per unit, plan.txt, order-of-work.txt, wall, bill.",
        _sheets_arguments,
    ),
    "bill": (_bill, "List the accessories of one or several sites.", _bill_arguments),
    "why": (_why, "Explain one figure or finding down to the answers: formula, inputs, sources.", _why_arguments),
    "prove": (_prove, "Go through the order of work with every mistake: where it is caught, and what nobody sees.", _prove_arguments),
    "find": (_find, "Say what explains readings that are wrong, what to measure next and what to repeat.", _find_arguments),
    "drafts": (_drafts, "List the drafts: interviews that ended without a save. They lie in your own state folder.", _drafts_arguments),
    "schema": (_schema, "Describe the file as JSON Schema.", _no_arguments),
}
