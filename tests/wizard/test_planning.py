"""The planner's process: what is told of it, that the newest wins, and that it never outlives anything."""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path
from queue import Empty, SimpleQueue

import pytest

from engine.files.read import parse
from engine.planner import plan
from engine.sheets.text.wall import drawing, legend
from tests.conftest import ROOT
from wizard.planning import planner as module
from wizard.planning.messages import Cured, Failed, ToPlan
from wizard.planning.planner import COMMAND, DEATHS, Planner
from wizard.planning.seen import Seen
from wizard.review import SECTIONS, finding_lines, section

SLOW = (sys.executable, "-c", "import sys; sys.path[:] = sys.argv[1:]; from tests.wizard.slow_planner import main; main()")
HARBOUR = (ROOT / "sample_sites" / "harbour-works" / "site.toml").read_text(encoding="utf-8")
BUSY = {"takes": 60}


class Desk:
    """A planner and what it told."""

    def __init__(self, command=COMMAND):
        self.told = SimpleQueue()
        self.planner = Planner(self.told.put, command)

    def next(self, within=20.0):
        return self.told.get(timeout=within)

    def silent(self, seconds):
        with pytest.raises(Empty):
            self.told.get(timeout=seconds)
        return True

    @property
    def pid(self):
        """The number of the process, once it has imported what it needs."""
        until = time.monotonic() + 20
        while time.monotonic() < until:
            child = self.planner._child
            if child and child.ready:
                return child._process.pid
            time.sleep(0.005)
        raise AssertionError("the process did not start")


@pytest.fixture
def desk():
    desks = []

    def made(command=SLOW):
        desks.append(Desk(command))
        return desks[-1]

    yield made
    for one in desks:
        one.planner.close()


def gone(pid, within=5.0):
    """Whether a process ends, and is no zombie either."""
    until = time.monotonic() + within
    while time.monotonic() < until:
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.01)
    return False


def document(text):
    return {key: value for key, value in tomllib.loads(text).items() if key != "plan"}


def test_a_plan_from_the_other_process_is_the_plan(desk):
    office = desk(COMMAND)
    office.planner.plan(document(HARBOUR), "0123abcd")
    told = office.next()
    planned = plan(parse(HARBOUR.encode(), "site.toml").answers, "0123abcd")
    assert isinstance(told, Seen)
    assert (told.revision, told.standing, told.plan, told.findings, told.assumed) == ("0123abcd", planned.plan.standing, planned.plan, planned.findings, planned.assumed)
    assert (told.tags, told.wall, told.chain) == (planned.parts.units.tags, planned.parts.wall, planned.parts.chain)
    # What shows a plan takes what is seen of it.
    for name in SECTIONS[1:]:
        assert section(told, name, 78) == section(planned, name, 78)
    assert list(finding_lines(told, 78)) == list(finding_lines(planned, 78))
    assert drawing(told.wall, told.chain) == drawing(planned.parts.wall, planned.parts.chain)
    assert legend(told.wall, told.chain) == legend(planned.parts.wall, planned.parts.chain)
    assert len(pickle.dumps(told)) < 250_000 < len(pickle.dumps(planned))


def test_the_second_plan_stands_on_the_first(desk):
    office = desk(COMMAND)
    office.planner.plan(document(HARBOUR), "a")
    office.next()
    office.planner.plan(document(HARBOUR) | {"site": {"name": "Another name"}}, "b")
    assert office.next().revision == "b"


def test_a_fault_is_told(desk):
    office = desk(COMMAND)
    office.planner.plan({"schema": 1, "nothing of the kind": 1}, "a")
    told = office.next()
    assert isinstance(told, Failed)
    assert told.revision == "a"
    assert told.text.startswith("ValidationError: ")
    office.planner.plan(document(HARBOUR), "b")
    assert isinstance(office.next(), Seen)


FED = """[output]
arrangement = "single-phase"
[set]
count = 1
[unit]
real_power = "5 kW"
efficiency = 0.93
dc_min = "46 V"
[storage]
connection = "common-bank"
[storage.module]
voltage = "51.2 V"
capacity = "100 Ah"
discharge_current = "20 A"
resistance = "12 mohm"
[storage.bank]
parallel = 6
feed = "one end"
"""


def test_a_finding_gets_its_cures_from_the_other_process(desk):
    """5 kW / (0.93 x 46 V) = 116.9 A; six strings of 20 A give it from a bar alone."""
    office = desk(COMMAND)
    office.planner.plan(document(FED), "a")
    found = next(f for f in office.next().findings if f.code == "bank-below-set")
    office.planner.cures(document(FED), "a", found.code, found.about)
    told = office.next()
    assert isinstance(told, Cured)
    assert (told.revision, told.code, told.about, told.whole) == ("a", "bank-below-set", found.about, True)
    assert told.cures[0].answers == {"storage.bank.feed": "bar"}
    assert found in told.cures[0].gone
    # A document that is none has no cures, and ends nothing.
    office.planner.cures({"nothing of the kind": 1}, "a", found.code, found.about)
    assert office.next() == Cured("a", found.code, found.about, whole=False)


def test_of_what_waits_only_the_newest_is_planned(desk):
    office = desk()
    assert office.planner.start() is None
    assert office.pid
    office.planner.plan({"takes": 0.5}, "a")
    for revision in "bcde":
        office.planner.plan({}, revision)
    assert office.next() == Failed("e", "did a e")
    assert office.silent(0.2), "what was overtaken is not told"


def test_what_is_planned_already_is_not_planned_twice(desk):
    office = desk()
    office.planner.plan({"takes": 0.3}, "a")
    office.planner.plan({"takes": 0.3}, "a")
    assert office.next() == Failed("a", "did a")
    assert office.silent(0.5)
    office.planner.plan({}, "a")
    assert office.next() == Failed("a", "did a a"), "asked for again once it has come, it is planned again"


def test_one_that_was_overtaken_and_takes_too_long_is_killed(desk):
    office = desk()
    office.planner.start()
    first = office.pid
    office.planner.plan(BUSY, "a")
    assert office.silent(0.2)
    begun = time.monotonic()
    office.planner.plan({}, "b")
    assert office.next() == Failed("b", "did b"), "a fresh process knows nothing of the one before"
    assert time.monotonic() - begun < module.GRACE + 3
    assert gone(first)


def test_one_that_nobody_overtook_may_take_its_time(desk, monkeypatch):
    monkeypatch.setattr(module, "GRACE", 0.1)
    office = desk()
    office.planner.plan({"takes": 0.8}, "a")
    assert office.next() == Failed("a", "did a")
    # A slow machine is not punished: what took so long once may take so long again.
    office.planner.plan({"takes": 0.8}, "b")
    assert office.silent(0.2)
    office.planner.plan({}, "c")
    assert office.next() == Failed("c", "did a b c")


def test_the_time_of_importing_does_not_count(desk, monkeypatch):
    monkeypatch.setattr(module, "GRACE", 0.05)
    office = desk(COMMAND)
    office.planner.plan({"schema": 1}, "a")
    office.planner.plan({"schema": 1}, "b")
    assert office.next().revision == "b"


def test_cures_wait_for_plans_and_give_way_to_them(desk):
    office = desk()
    office.planner.plan({"takes": 0.3}, "a")
    office.planner.cures({}, "a", "some-code", "some.key")
    assert office.next() == Failed("a", "did a")
    assert office.next() == Cured("a", "some-code", "some.key")
    office.planner.cures(BUSY, "a", "some-code", "some.key")
    assert office.silent(0.2)
    pid = office.pid
    office.planner.plan({}, "b")
    assert office.next(1.0) == Failed("b", "did a a a b"), "the search ended by itself, and is not told"
    assert office.pid == pid


def test_a_newer_search_ends_an_older_one(desk):
    office = desk()
    office.planner.cures(BUSY, "a", "first", "key")
    office.planner.cures({}, "a", "second", "key")
    assert office.next() == Cured("a", "first", "key", whole=False)
    assert office.next() == Cured("a", "second", "key")


def test_cures_for_answers_that_changed_are_dropped(desk):
    office = desk()
    office.planner.plan({"takes": 0.3}, "a")
    office.planner.cures({}, "a", "some-code", "some.key")
    office.planner.plan({}, "b")
    office.planner.cures({}, "a", "some-code", "some.key")
    assert office.next() == Failed("b", "did a b")
    assert office.silent(0.3)


@pytest.mark.parametrize(("does", "why"), [({"dies": signal.SIGKILL}, "ended by signal 9"), ({"fills": 3 << 30}, "ended with status 1")])
def test_a_process_that_dies_fails_what_it_was_at_and_is_started_anew(desk, does, why):
    """Killed by somebody else; or by itself where a site asked for more memory than any may have."""
    office = desk()
    office.planner.plan(does, "a")
    told = office.next()
    assert told.revision == "a"
    assert why in told.text
    office.planner.plan({}, "b")
    assert office.next() == Failed("b", "did b")


def test_what_stood_behind_one_that_died_is_done(desk):
    office = desk()
    office.planner.plan({"takes": 0.3, "dies": signal.SIGKILL}, "a")
    office.planner.cures({}, "a", "some-code", "some.key")
    assert "signal 9" in office.next().text
    assert office.next() == Cured("a", "some-code", "some.key")


def test_a_search_that_dies_is_told_as_cut_short(desk):
    office = desk()
    office.planner.cures({"dies": signal.SIGKILL}, "a", "some-code", "some.key")
    assert office.next() == Cured("a", "some-code", "some.key", whole=False)


def test_answers_that_kill_it_are_not_tried_for_ever(desk):
    office = desk()
    for _ in range(DEATHS):
        office.planner.plan({"dies": signal.SIGKILL}, "a")
        assert "signal 9" in office.next().text
    office.planner.plan({}, "a")
    assert "again and again" in office.next().text
    office.planner.plan({}, "b")
    assert office.next() == Failed("b", "did b")


def test_one_that_dies_while_nothing_is_asked_of_it_is_not_missed(desk):
    office = desk()
    office.planner.start()
    first = office.pid
    os.kill(first, signal.SIGKILL)
    assert gone(first)
    assert office.silent(0.1)
    office.planner.plan({}, "a")
    assert office.next() == Failed("a", "did a")


def test_one_that_cannot_be_started_is_told(desk, tmp_path):
    office = desk((str(tmp_path / "no such program"),))
    office.planner.plan({}, "a")
    assert office.next() == Failed("a", "the planner cannot be started")
    office.planner.cures({}, "a", "some-code", "some.key")
    assert office.next() == Cured("a", "some-code", "some.key", whole=False)


def test_one_that_says_nonsense_is_ended(desk):
    office = desk((sys.executable, "-c", "import time; print('good morning', flush=True); time.sleep(60)"))
    office.planner.plan({}, "a")
    assert "signal 9" in office.next().text


def test_what_is_printed_there_disturbs_nothing(desk):
    office = desk()
    office.planner.plan({"prints": 1000}, "a")
    assert office.next() == Failed("a", "did a")


@pytest.mark.parametrize("work", [{}, BUSY])
def test_closing_leaves_no_process_and_waits_for_none(desk, work):
    office = desk()
    office.planner.start()
    pid = office.pid
    office.planner.plan(work | {"takes": work.get("takes", 0.5)}, "a")
    time.sleep(0.1)
    begun = time.monotonic()
    office.planner.close()
    assert time.monotonic() - begun < 0.1
    assert gone(pid)
    office.planner.plan({}, "b")
    assert office.silent(0.7), "a planner that is closed tells nothing"


def test_closing_at_once_leaves_no_process_either(desk):
    before = children()
    for _ in range(5):
        office = desk()
        office.planner.plan(BUSY, "a")
        office.planner.close()
    until = time.monotonic() + 5
    while children() - before and time.monotonic() < until:
        time.sleep(0.02)
    assert not children() - before


def children():
    """The processes that threads of this one started."""
    return {int(pid) for task in Path("/proc/self/task").iterdir() for pid in (task / "children").read_text().split()}


def test_the_end_of_its_input_ends_it_in_the_middle_of_a_plan():
    child = subprocess.Popen([*SLOW, *sys.path], stdin=subprocess.PIPE, stdout=subprocess.PIPE, start_new_session=True)
    try:
        assert type(pickle.load(child.stdout)).__name__ == "Ready"
        child.stdin.write(pickle.dumps(ToPlan(BUSY, "a")))
        child.stdin.flush()
        with pytest.raises(subprocess.TimeoutExpired):
            child.wait(0.3)
        child.stdin.close()
        assert child.wait(5) == 0
    finally:
        child.kill()
        child.wait()
        child.stdout.close()


STARTER = """
import sys, time
from wizard.planning.planner import Planner
planner = Planner(print, (sys.executable, "-c", "import sys; sys.path[:] = sys.argv[1:]; from tests.wizard.slow_planner import main; main()"))
planner.start()
while not (planner._child and planner._child.ready):
    time.sleep(0.01)
planner.plan({"takes": 60}, "a")
time.sleep(0.2)
print(planner._child._process.pid, flush=True)
time.sleep(60)
"""


def ended(pid):
    """Whether a process that has no parent left has ended; whoever took it in may be slow to bury it."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] == "Z"
    except OSError:
        return True


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGHUP, signal.SIGTERM])
def test_it_does_not_outlive_the_interview_however_that_ends(number):
    interview = subprocess.Popen([sys.executable, "-c", STARTER], stdout=subprocess.PIPE, env=os.environ | {"PYTHONPATH": str(ROOT)})
    try:
        pid = int(interview.stdout.readline())
        assert os.getsid(pid) == pid, "what the terminal sends reaches the interview alone"
        interview.send_signal(number)
        interview.wait(5)
        until = time.monotonic() + 5
        while not ended(pid) and time.monotonic() < until:
            time.sleep(0.01)
        assert ended(pid)
    finally:
        interview.kill()
        interview.wait()
        interview.stdout.close()


def test_the_planner_is_imported_without_the_engine():
    """It is wanted before the first screen, the engine's stages only once a plan has come."""
    heavy = "{'pydantic', 'pint', 'textual', 'engine.planner', 'engine.stages', 'engine.site', 'engine.facts'}"
    done = subprocess.run([sys.executable, "-c", f"import sys, wizard.planning.planner; print(sorted({heavy} & sys.modules.keys()))"], capture_output=True, text=True, env=os.environ | {"PYTHONPATH": str(ROOT)}, check=True)
    assert done.stdout.strip() == "[]"
    done = subprocess.run([sys.executable, "-c", f"import sys, wizard.review, engine.sheets.text.wall; print(sorted({heavy} & sys.modules.keys()))"], capture_output=True, text=True, env=os.environ | {"PYTHONPATH": str(ROOT)}, check=True)
    assert "engine.planner" not in done.stdout, "what shows a plan needs nothing that makes one"
