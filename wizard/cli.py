"""The command line. `--help` and `--version` import nothing but the standard library; batch commands never import Textual."""

from __future__ import annotations

import argparse
import gc
import json
import os
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from engine import MADE_WITH

if TYPE_CHECKING:
    from engine.files.read import SiteFile
    from engine.planner import Planned

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
    pydantic, and taking down what the plan built would be a third.
    """
    if sys.argv[1:2] and sys.argv[1] in _COMMANDS:
        gc.disable()
        os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    status = main()
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
        sys.stdout.flush()
        return status
    except BrokenPipeError:
        # The reader of our output has gone; nothing is left to say to it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE
    except KeyboardInterrupt:
        return 130
    except OSError as problem:
        _talk(f"what was asked for cannot be written or read: {problem.strerror or problem}")
        return WRONG
    except Exception as problem:  # a user never sees a traceback
        if os.environ.get("PHASEWRIGHT_DEBUG"):
            raise
        _talk(
            f"a fault of this program, not of your file: {type(problem).__name__}. Set PHASEWRIGHT_DEBUG=1 and run again to see where, and report it."
        )
        return WRONG


def _talk(text: str) -> None:
    told = f"phasewright: {text}"
    # One message a line for another program; a person's terminal would break it within a word.
    print("\n".join(_lines(told)) if sys.stderr and sys.stderr.isatty() else told, file=sys.stderr)


def _lines(text: str) -> list[str]:
    """A text in lines of 80 columns; a word is never broken, for it may be the name of a file."""
    return textwrap.wrap(text, 80, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)


def _interview(given: list[str]) -> int:
    if len(given) > 1:
        _talk(f"wanted one site file, found {len(given)} words; {given[0]!r} is no command (see phasewright --help)")
        return WRONG
    from wizard.screens.app import run

    return run(Path(given[0]) if given else None)


def _read(name: str) -> SiteFile:
    from engine.files.read import LARGEST, parse, read

    return parse(sys.stdin.buffer.read(LARGEST + 1), "stdin") if name == "-" else read(Path(name))


def _planned(file: SiteFile) -> Planned:
    from engine.planner import plan

    return plan(file.answers, file.revision)


def _over(names: Iterable[str], as_json: bool, then: Callable[[list[tuple[SiteFile, Planned]]], int]) -> int:
    """Read and plan every file, then go on; say everything wrong with any of them."""
    from engine.files.problems import Unreadable

    try:
        files = [_read(name) for name in names]
    except Unreadable as wrong:
        if as_json:
            print(
                json.dumps(
                    {"problems": [{"file": wrong.name, "line": p.line, "key": p.key, "text": p.text} for p in wrong.problems]}, indent=1
                )
            )
        for line in wrong.lines():
            _talk(line)
        return WRONG
    return then([(file, _planned(file)) for file in files])


def _status(planned: Planned) -> int:
    return STOPPED if planned.plan.standing == "stopped" else FINE


def _write(path: Path, text: str) -> bool:
    from engine.files.write import write

    try:
        write(path, text)
    except OSError as problem:
        from engine.text import clean

        _talk(f"{clean(str(path))}: cannot be written: {problem.strerror or problem}; nothing was changed")
        return False
    return True


def _summary(planned: Planned) -> str:
    from engine.sheets.head import stamp

    counts = {level: sum(f.level == level for f in planned.findings) for level in ("stop", "caution", "note")}
    told = ", ".join(f"{n} {level}{'s' if n != 1 else ''}" for level, n in counts.items())
    return f"{stamp(planned.plan)}: {planned.plan.standing.upper()} ({told}; {len(planned.assumed)} values assumed)"


def _plan(given: argparse.Namespace) -> int:
    def then(found: list[tuple[SiteFile, Planned]]) -> int:
        from engine.files.emit import plan_document, with_plan

        [(file, planned)] = found
        text = (
            json.dumps(plan_document(planned.plan), indent=1, ensure_ascii=True) + "\n"
            if given.json
            else with_plan(file.text, file.document, planned.plan)
        )
        if given.out in (None, "-"):
            sys.stdout.write(text)
        elif not _write(Path(given.out), text):
            return WRONG
        _talk(_summary(planned))
        for finding in planned.findings:
            if finding.level == "stop":
                _talk(f"stop: {finding.about}: {finding.text}")
        return _status(planned)

    return _over([given.file], given.json, then)


def _check(given: argparse.Namespace) -> int:
    def then(found: list[tuple[SiteFile, Planned]]) -> int:
        from dataclasses import asdict

        from engine.files.digest import doubts
        from engine.plan import plain
        from engine.sheets.findings_text import findings_text
        from engine.tables.rules import cited
        from engine.text import clean

        [(file, planned)] = found
        stored = file.document.get("plan")
        doubted = [clean(doubt, 300) for doubt in doubts(stored, planned.plan)] if stored else []
        for doubt in doubted:
            _talk(f"the plan in {clean(file.name)}: {doubt}. Plan again before anyone works by it")
        if given.json:
            plan = planned.plan
            told = {
                **{key: getattr(plan, key) for key in ("revision", "digest", "made_with", "standing")},
                "stale": bool(doubted),
                "doubts": doubted,
                "findings": [plain(finding) for finding in plan.findings],
                "rules": [asdict(rule) for rule in cited("; ".join(finding.source for finding in planned.findings))],
            }
            print(json.dumps(told, indent=1))
        else:
            print("\n".join(_lines(_summary(planned))))
            sys.stdout.write(findings_text(planned))
        return _status(planned)

    return _over([given.file], given.json, then)


def _sheets(given: argparse.Namespace) -> int:
    def then(found: list[tuple[SiteFile, Planned]]) -> int:
        from engine.sheets.papers import papers
        from engine.text import clean

        [(_, planned)] = found
        folder = Path(given.to)
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            _talk(f"{clean(given.to)}: cannot be made: {problem.strerror or problem}")
            return WRONG
        for name, text in papers(planned).items():
            if not _write(folder / name, text):
                return WRONG
            print(folder / name)
        _talk(_summary(planned))
        return _status(planned)

    return _over([given.file], as_json=False, then=then)


def _bill(given: argparse.Namespace) -> int:
    def then(found: list[tuple[SiteFile, Planned]]) -> int:
        from engine.plan import plain
        from engine.sheets.bill_csv import bill_csv
        from engine.sheets.bill_text import bill_text
        from engine.text import clean

        plans = [planned for _, planned in found]
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
                for file, planned in found
            ]
            print(json.dumps(told, indent=1))
        else:
            sys.stdout.write(bill_csv(plans) if given.csv else bill_text(plans))
        return max(map(_status, plans))

    return _over(given.file, given.json, then)


def _why(given: argparse.Namespace) -> int:
    def then(found: list[tuple[SiteFile, Planned]]) -> int:
        import difflib

        from engine.sheets.why_text import told_of
        from engine.text import clean

        [(_, planned)] = found
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
            _talk(f"{said}: {', '.join(near)}" if near else f"there is no figure {clean(given.key)!r} in this plan")
            return WRONG
        sys.stdout.write(told)
        return FINE

    return _over([given.file], as_json=False, then=then)


def _schema(_: argparse.Namespace) -> int:
    from engine.files.schema import schema

    print(json.dumps(schema(), indent=1))
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
    command.add_argument("--to", metavar="DIR", required=True, help="the folder the sheets are written to")


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


def _no_arguments(_: argparse.ArgumentParser) -> None:
    """The description of the file needs no file."""


_COMMANDS: dict[str, tuple[Callable[[argparse.Namespace], int], str, Callable[[argparse.ArgumentParser], None]]] = {
    "plan": (_plan, "Plan a site: print its file with the plan, or write it.", _plan_arguments),
    "check": (_check, "Say what is wrong with a site, and how to cure it.", _check_arguments),
    "sheets": (_sheets, "Write the papers: a sheet per unit, plan.txt, order-of-work.txt, chain, wall, bill.", _sheets_arguments),
    "bill": (_bill, "List the accessories of one or several sites.", _bill_arguments),
    "why": (_why, "Explain one figure or finding down to the answers: formula, inputs, sources.", _why_arguments),
    "schema": (_schema, "Describe the file as JSON Schema.", _no_arguments),
}
