"""The planner as a process of its own: jobs come in, what came of them goes out, one pickle each, and nothing else.

It holds one planner that remembers the last plan. Nobody waits for it to end: it ends where the other end of its input has gone,
in the middle of a plan too, for no other thread of it waits for anything but jobs.
"""

from __future__ import annotations

import os
import pickle
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from queue import SimpleQueue
from typing import TYPE_CHECKING, BinaryIO

from wizard.planning.messages import Cured, Failed, Job, Ready, ToCure, ToPlan

if TYPE_CHECKING:
    from wizard.planning.seen import Seen

Answer = Callable[[Job, Callable[[], bool]], object]  # from a job, and whether another waits behind it, to what is told

MEMORY = 2 << 30  # bytes; the largest plans take 0.3 GB
_POLITE = 5  # the keys of the interview come first
_SEARCH = 2.0  # seconds for the cures of one finding


def main(answering: Callable[[], Answer] | None = None) -> None:
    """Answer jobs until nobody is there to send any; `answering` makes what answers them, after the imports that it needs."""
    incoming, outgoing = _taken(0, "rb"), _taken(1, "wb")
    _bound()
    jobs: SimpleQueue[Job] = SimpleQueue()
    threading.Thread(target=_listen, args=(incoming, jobs), daemon=True).start()
    answer = (answering or _planning)()
    with suppress(OSError):  # whoever asked has gone
        _tell(outgoing, Ready())
        while True:
            _tell(outgoing, answer(jobs.get(), lambda: not jobs.empty()))
    os._exit(0)


def _taken(number: int, mode: str) -> BinaryIO:
    """A standard stream taken over under another number, so that nothing that prints or reads can come between."""
    kept = os.dup(number)
    nothing = os.open(os.devnull, os.O_RDWR)
    os.dup2(nothing, number)
    os.close(nothing)
    return os.fdopen(kept, mode)  # type: ignore[return-value]


def _bound() -> None:
    """No site may take all memory of the machine, nor the processor from the keys; where this cannot be had, it goes without."""
    with suppress(ImportError, AttributeError, ValueError, OSError):
        os.nice(_POLITE)
        import resource  # noqa: PLC0415 - not every system has it

        _, most = resource.getrlimit(resource.RLIMIT_AS)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY if most == resource.RLIM_INFINITY else min(MEMORY, most), most))


def _listen(incoming: BinaryIO, jobs: SimpleQueue[Job]) -> None:
    """Take jobs in while others are answered. The end of the input, or what is no job, ends the process at once."""
    try:
        while True:
            jobs.put(pickle.load(incoming))  # from the process that started this one
    finally:
        os._exit(0)


def _tell(outgoing: BinaryIO, told: object) -> None:
    outgoing.write(pickle.dumps(told, protocol=pickle.HIGHEST_PROTOCOL))
    outgoing.flush()


def _planning() -> Answer:
    """What answers by planning."""
    from engine.cures.search import cures  # noqa: PLC0415 - jobs are taken in while this is imported
    from engine.planner import Replanner  # noqa: PLC0415
    from engine.site import Answers  # noqa: PLC0415
    from wizard.planning.seen import seen  # noqa: PLC0415

    replanner = Replanner()

    def plan(job: ToPlan) -> Seen | Failed:
        try:
            return seen(replanner.plan(Answers.model_validate(job.document), job.revision))
        except Exception as fault:  # noqa: BLE001 - the interview goes on without a plan
            return Failed(job.revision, f"{type(fault).__name__}: {fault}")

    def cure(job: ToCure, waiting: Callable[[], bool]) -> Cured:
        until = time.monotonic() + _SEARCH
        try:
            found = cures(job.document, job.code, job.about, replanner, lambda: not waiting() and time.monotonic() < until)
        except Exception:  # noqa: BLE001 - the finding stands as it did, without a cure
            return Cured(job.revision, job.code, job.about, whole=False)
        return Cured(job.revision, job.code, job.about, found.cures, found.whole)

    return lambda job, waiting: cure(job, waiting) if isinstance(job, ToCure) else plan(job)
