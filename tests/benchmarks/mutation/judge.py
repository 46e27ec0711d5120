"""A verdict on a mutant: the tests that reach it, in a process of its own, up to the first that fails.

Each mutant lies in a copy of the tree, is imported from there and has nothing remembered from before it, so that defaults, constants,
tables and processes that a test starts are all the mutant's. What the tests need from elsewhere is imported beforehand.
"""

from __future__ import annotations

import importlib
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import traceback
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.mutation.mutants import Mutant

_LEFT = (".git", ".venv*", "build", "dist", ".*_cache", ".hypothesis", "__pycache__", "*.egg-info")
_MEMORY = 4 << 30  # bytes
_IMPORT = 3.0  # seconds, at the most, to import the program and the tests
_OTHERS = ("numpy", "networkx", "pydantic", "hypothesis.strategies", "hypothesis.stateful", "pint", "tomli_w", "textual.app", "pyte")
QUIET = ("-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-W", "ignore::pytest.PytestAssertRewriteWarning", "--no-header", "--tb=no", "--no-summary")


@dataclass(frozen=True)
class Verdict:
    """What came of a mutant, or of the tree as it is: the test that `killed` it and how, or neither; seconds of the processor."""

    killed: str
    how: str
    seconds: float


def prepare() -> None:
    """Import what is not ours: once, for all that is forked from here."""
    os.environ.update(OPENBLAS_NUM_THREADS="1", OMP_NUM_THREADS="1")
    for name in _OTHERS:
        with suppress(ImportError):
            importlib.import_module(name)


def copied(root: Path, to: Path) -> Path:
    """A copy of a tree without what is made from it; compiled so that a file that is changed is seen by what it holds, not by its time."""
    shutil.rmtree(to, ignore_errors=True)
    shutil.copytree(root, to, ignore=shutil.ignore_patterns(*_LEFT))
    subprocess.run([sys.executable, "-m", "compileall", "-q", "--invalidation-mode", "checked-hash", "engine", "wizard"], cwd=to, check=False)
    return to


def forked(tree: Path, work: Callable[[], object]) -> int:
    """Begin some work in a process of its own that belongs to a tree; gives the process."""
    child = os.fork()
    if not child:
        try:
            _enter(tree)
            work()
        except BaseException:  # noqa: BLE001 - whatever it is, this process must not go on as its parent
            traceback.print_exc()
        finally:
            sys.stderr.flush()
            os._exit(1)
    return child


def _enter(tree: Path) -> None:
    """Make this process one that works in that tree, says what it says into a file beside it, and knows none of our modules."""
    os.setsid()
    os.chdir(tree)
    sys.path[:] = [str(tree), *(p for p in sys.path if p not in ("", os.environ.get("PYTHONPATH", "")) and not _ours(p))]
    os.environ["PYTHONPATH"] = str(tree)
    for name in [n for n in sys.modules if n.partition(".")[0] in ("engine", "wizard", "tests")]:
        del sys.modules[name]
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    said = os.open(tree.with_name(f"{tree.name}.log"), os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    for stream in (1, 2):
        os.dup2(said, stream)
    _steady()


def _ours(place: str) -> bool:
    return (Path(place) / "engine" / "__init__.py").exists()


def _steady() -> None:
    """Hypothesis tries the same things every time, remembers nothing and does not search for the smallest."""
    with suppress(ImportError):
        from hypothesis import HealthCheck, Phase, settings

        settings.register_profile(
            "mutation", database=None, derandomize=True, deadline=None, phases=(Phase.explicit, Phase.generate), suppress_health_check=list(HealthCheck)
        )
        settings.load_profile("mutation")


class Judge:
    """A plugin of pytest: the chosen tests in their order, each within its time; tells the first failure and ends there, or tells all."""

    def __init__(self, tests: Sequence[str], seconds: Mapping[str, float], tell: int, *, first: bool) -> None:
        self.place = {test: k for k, test in enumerate(tests)}
        self.seconds, self.tell, self.first = seconds, tell, first

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted((i for i in items if i.nodeid in self.place), key=lambda i: self.place[i.nodeid])

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self._end("import", "fails")

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        os.write(self.tell, f"{json.dumps(nodeid)}\n".encode())
        _limit(self.seconds[nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self._end(report.nodeid, "fails")

    def _end(self, test: str, how: str) -> None:
        os.write(self.tell, f"{json.dumps([test, how])}\n".encode())
        if self.first:
            os._exit(0)


def start(tree: Path, mutant: Mutant | None, tests: Sequence[str], seconds: Mapping[str, float]) -> int:
    """Begin to judge a mutant, or the tree as it is (then every failure is told); gives the process, which is to be waited for and given to `end`."""
    if mutant:
        file = tree / mutant.file
        file.write_bytes(mutant.of(file.read_bytes()))
    return forked(tree, lambda: _judge(tree, tests, seconds, first=mutant is not None))


def _judge(tree: Path, tests: Sequence[str], seconds: Mapping[str, float], *, first: bool) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))
    tell = os.open(_lines(tree), os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    _limit(_IMPORT)
    files = dict.fromkeys(test.partition("::")[0] for test in tests)
    status = pytest.main([*QUIET, "--basetemp", f"{tree}.tmp", *files], plugins=[Judge(tests, seconds, tell, first=first)])
    # A run that ends otherwise than by its tests is a failure of what it imports.
    passed = status in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED)
    os.write(tell, f"{json.dumps(['', ''] if passed else ['pytest', f'ends with {int(status)}'])}\n".encode())
    os._exit(0)


def _limit(seconds: float) -> None:
    """End this process if what needs so many seconds takes far longer: of the processor, for the machine may be busy; else it waits."""
    signal.setitimer(signal.ITIMER_PROF, 4 + 4 * seconds)
    signal.alarm(int(120 + 40 * seconds))


def _lines(tree: Path) -> Path:
    return tree.with_name(f"{tree.name}.told")


def end(root: Path, tree: Path, mutant: Mutant | None, child: int) -> None:
    """After a process has ended: nothing that its tests started goes on, and the tree is as it was."""
    with suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)  # what its tests have started
    if mutant:
        shutil.copy2(root / mutant.file, tree / mutant.file)


def told(tree: Path, status: int) -> list[tuple[str, str]]:
    """The failures, each a test and how; none where all passed."""
    said: list[Any] = [json.loads(line) for line in _lines(tree).read_text(encoding="utf-8").splitlines()]
    found = [(test, how) for test, how in (line for line in said if isinstance(line, list)) if test]
    if not said or not isinstance(said[-1], list):
        number = os.waitstatus_to_exitcode(status)
        found.append((said[-1] if said else "import", "takes too long" if -number in (signal.SIGPROF, signal.SIGALRM) else f"ends with {number}"))
    return found
