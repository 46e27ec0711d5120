"""The three standard streams of a command: also where one is closed, says other letters than ours, or has lost its reader."""

from __future__ import annotations

import codecs
import os
import sys
import textwrap
from contextlib import suppress

_REPLACING = "phasewright"
_replaced: set[str] = set()


def prepare() -> None:
    """Let a closed stream be a closed one: reading from it or writing to it fails, and no file that is opened later is taken for it.

    What is said on a closed stderr nobody hears. A letter that a stream cannot say is replaced, and told by `unsaid`.
    """
    for number, flags in ((0, os.O_WRONLY), (1, os.O_RDONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(number)
        except OSError:
            made = os.open(os.devnull, flags)
            if made != number:
                os.dup2(made, number)
                os.close(made)
    sys.stdin = sys.stdin or os.fdopen(0)
    sys.stdout = sys.stdout or os.fdopen(1, "w")
    sys.stderr = sys.stderr or os.fdopen(2, "w")
    codecs.register_error(_REPLACING, _replace)
    sys.stdout.reconfigure(errors=_REPLACING)  # type: ignore[union-attr]


def _replace(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    _replaced.update(problem.object[problem.start : problem.end])
    return "?" * (problem.end - problem.start), problem.end


def unsaid() -> str:
    """What stdout could not say, as a sentence; empty where there was nothing."""
    if not _replaced:
        return ""
    told = "letter that it has not is" if len(_replaced) == 1 else "different letters that it has not are"
    return f"stdout is {sys.stdout.encoding}: {len(_replaced)} {told} written as ?; set PYTHONIOENCODING=utf-8 for all of them"


def say(text: str, *, as_utf8: bool = False) -> None:
    """Write a result to stdout; quiet where its reader has gone, for then nobody wants it. Raises OSError where it cannot be written.

    `as_utf8`: it is of a form that is UTF-8 whatever the surroundings are, unless it is shown on a terminal.
    """
    try:
        if as_utf8 and not sys.stdout.isatty() and hasattr(sys.stdout, "buffer"):
            sys.stdout.flush()
            sys.stdout.buffer.write(text.encode())
        else:
            sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def talk(text: str) -> None:
    """Say something to the person, on stderr; where nobody hears it, that is all right.

    One message a line for another program; a person's terminal would break it within a word.
    """
    told = f"phasewright: {text}"
    with suppress(OSError):
        print("\n".join(lines(told)) if sys.stderr.isatty() else told, file=sys.stderr, flush=True)


def lines(text: str) -> list[str]:
    """A text in lines of 80 columns; a word is never broken, for it may be the name of a file."""
    return textwrap.wrap(text, 80, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)
