"""The planner of an interview: it has plans made in a process of its own, and tells what comes of them.

Nothing here waits and nothing imports the engine: one thread keeps it all, and the methods only send word to it.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import partial
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Any

from wizard.planning.messages import Cured, Failed, Job, Ready, ToCure, ToPlan

if TYPE_CHECKING:
    from wizard.planning.seen import Seen

GRACE = 1.5  # seconds that a plan may still take whose answers have changed; twice as long as a plan took where that is more
DEATHS = 3  # of the process over one revision; after them it is not tried again
# It imports from where this process does, whatever stands in the working directory.
COMMAND = (sys.executable, "-c", "import sys; sys.path[:] = sys.argv[1:]; from wizard.planning.process import main; main()")

Told = Callable[["Seen | Failed | Cured"], None]


class Planner:
    """Has answers planned, the newest first; what comes too late is dropped.

    `told` is called in a thread of the planner's own, and must neither wait nor raise: it hands on to the interview's queue.
    """

    def __init__(self, told: Told, command: Sequence[str] = COMMAND) -> None:
        self._told, self._command = told, command
        self._words: SimpleQueue[Callable[[], object]] = SimpleQueue()
        self._lock, self._closed = threading.Lock(), False
        self._child: _Child | None = None
        # What follows only the keeper looks at.
        self._newest: str | None = None
        self._plan_behind: ToPlan | None = None
        self._cure_behind: ToCure | None = None
        self._sent: deque[Job] = deque()
        self._since: float | None = None  # when the first of what was sent was begun; None while the process still imports
        self._patience = GRACE
        self._died: tuple[str, int] = "", 0
        threading.Thread(target=self._keep, name="planner", daemon=True).start()

    def start(self) -> None:
        """Start the process, so that it has imported what it needs by the time it is wanted."""
        self._words.put(self._ready_child)

    def plan(self, document: Mapping[str, Any], revision: str) -> None:
        """Plan these answers; what was asked for others is overtaken. `told` gets what is seen of the plan, or that it failed."""
        self._words.put(partial(self._take_plan, ToPlan(document, revision)))

    def cures(self, document: Mapping[str, Any], revision: str, code: str, about: str) -> None:
        """Find what cures a finding, once no plan is being made; dropped where the answers change. `told` gets what cures it."""
        self._words.put(partial(self._take_cure, ToCure(document, revision, code, about)))

    def close(self) -> None:
        """Kill the process, in the middle of a plan too; nothing is told from now on."""
        with self._lock:
            self._closed, child, self._child = True, self._child, None
        if child:
            child.kill()
        self._words.put(lambda: None)

    def _keep(self) -> None:
        try:
            while not self._closed:
                try:
                    self._words.get(timeout=self._time_left())()
                except Empty:
                    self._kill_overtaken()
        finally:
            self.close()

    def _time_left(self) -> float | None:
        """For how long what runs may go on, in seconds; None where nothing hurries it."""
        if not self._sent or self._since is None or not self._overtaken(self._sent[0]):
            return None
        return max(0.0, self._since + self._patience - time.monotonic())

    def _overtaken(self, job: Job) -> bool:
        return self._newest is not None and job.revision != self._newest

    def _take_plan(self, job: ToPlan) -> None:
        if job.revision != self._newest:
            self._newest, self._cure_behind = job.revision, None
        elif any(isinstance(sent, ToPlan) and sent.revision == job.revision for sent in self._sent):
            return  # it is on its way
        self._plan_behind = job
        self._send_on()

    def _take_cure(self, job: ToCure) -> None:
        if not self._overtaken(job):
            self._cure_behind = job
            self._send_on()

    def _send_on(self) -> None:
        """Send what waits, but nothing behind a plan; a search for cures ends by itself as soon as something comes behind it."""
        while not any(isinstance(sent, ToPlan) for sent in self._sent):
            job: Job | None = self._plan_behind or self._cure_behind
            if job is None:
                return
            if isinstance(job, ToPlan):
                self._plan_behind = None
            else:
                self._cure_behind = None
            self._send(job)

    def _send(self, job: Job) -> None:
        if self._died == (job.revision, DEATHS):
            self._fail(job, "the planner ended on these answers again and again")
        elif child := self._ready_child():
            if not self._sent:
                self._since = time.monotonic() if child.ready else None
            self._sent.append(job)
            child.send(job)
        else:
            self._fail(job, "the planner cannot be started")

    def _ready_child(self) -> _Child | None:
        """The process, started where there is none; None where it cannot be started."""
        if self._child is None:
            try:
                child = _Child(self._command, lambda child, told: self._words.put(partial(self._take, child, told)))
            except OSError:
                return None
            with self._lock:
                if not self._closed:
                    self._child = child
            if self._child is not child:
                child.kill()
        return self._child

    def _take(self, child: _Child, told: Seen | Failed | Cured | Ready | _Ended) -> None:
        """What the process said."""
        if child is not self._child:
            return  # what a killed one still had to say
        now = time.monotonic()
        if isinstance(told, Ready):
            child.ready, self._since = True, now
        elif isinstance(told, _Ended):
            self._bury(told)
        else:
            job = self._sent.popleft()
            if isinstance(job, ToPlan) and self._since is not None:
                self._patience = max(self._patience, 2 * (now - self._since))
            self._since = now
            if not self._overtaken(job):
                self._tell(told)
            self._send_on()

    def _bury(self, ended: _Ended) -> None:
        """The process ended by itself, or somebody else killed it: what it was at has failed, what stood behind goes to another one."""
        self._child = None
        if self._sent:
            job = self._sent.popleft()
            revision, times = self._died
            self._died = job.revision, times + 1 if revision == job.revision else 1
            if not self._overtaken(job):
                self._fail(job, ended.text)
        self._send_again()

    def _kill_overtaken(self) -> None:
        """What runs has been overtaken and takes too long."""
        with self._lock:
            child, self._child = self._child, None
        if child:
            child.kill()
        self._sent.popleft()
        self._send_again()

    def _send_again(self) -> None:
        """To a fresh process, what the one that is gone had not begun."""
        left = [job for job in self._sent if not self._overtaken(job)]
        self._sent.clear()
        for job in left:
            self._send(job)
        self._send_on()

    def _fail(self, job: Job, text: str) -> None:
        failed = Failed(job.revision, text) if isinstance(job, ToPlan) else Cured(job.revision, job.code, job.about, whole=False)
        self._tell(failed)

    def _tell(self, told: Seen | Failed | Cured) -> None:
        if not self._closed:
            self._told(told)


class _Ended:
    """The process has ended."""

    def __init__(self, status: int) -> None:
        self.text = f"the planner was ended by signal {-status}" if status < 0 else f"the planner ended with status {status}"


class _Child:
    """The process: jobs in, what came of them out, through `say`, and at last that it has ended."""

    def __init__(self, command: Sequence[str], say: Callable[[_Child, Any], None]) -> None:
        # A session of its own: neither Ctrl+C nor a terminal that hangs up reaches it; it ends with its input.
        self._process = subprocess.Popen(  # this program itself
            [*command, *sys.path],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            env=os.environ | {"PYDANTIC_DISABLE_PLUGINS": "__all__"},
        )
        self.ready = False
        threading.Thread(target=self._read, args=(say,), name="planner's words", daemon=True).start()

    @property
    def pid(self) -> int:
        """Its number."""
        return self._process.pid

    def send(self, job: Job) -> None:
        """Give it a job; where it is gone, its end is told by itself."""
        assert self._process.stdin
        with suppress(OSError, ValueError):
            self._process.stdin.write(pickle.dumps(job, protocol=pickle.HIGHEST_PROTOCOL))
            self._process.stdin.flush()

    def kill(self) -> None:
        """End it at once."""
        self._process.kill()

    def _read(self, say: Callable[[_Child, Any], None]) -> None:
        assert self._process.stdin and self._process.stdout
        with suppress(Exception):  # its end, in the middle of a word too
            while True:
                say(self, pickle.load(self._process.stdout))  # from a process of this program
        try:
            self._process.wait(1)
        except subprocess.TimeoutExpired:  # it says what nobody understands
            self._process.kill()
        say(self, _Ended(self._process.wait()))
        for stream in (self._process.stdin, self._process.stdout):
            with suppress(OSError):
                stream.close()
