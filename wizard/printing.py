"""Pages of HTML printed to PDF by a Chromium of this machine: a browser in a profile of its own, without a network, for two minutes at most."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

from engine.text import clean

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
SECONDS = 120.0
_FLAGS = (
    "--headless",
    "--disable-gpu",
    "--disable-quic",
    "--disable-extensions",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-pings",
    # Whatever would go to a network goes nowhere: no name is looked up, and the proxy is a port of this machine that nobody serves.
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--proxy-server=127.0.0.1:9",
    "--proxy-bypass-list=<-loopback>",
    "--no-pdf-header-footer",
)


class NotPrinted(Exception):
    """There is no PDF; the sentence says why."""


def printed(html: str) -> bytes:
    """The pages as PDF; raises NotPrinted."""
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if not browser:
        raise NotPrinted(f"no Chromium was found ({', '.join(BROWSERS)}): open the papers in any browser and print them from there")
    try:
        with TemporaryDirectory(prefix="phasewright-", ignore_cleanup_errors=True) as place:
            return _printed(browser, html, Path(place))
    except OSError as problem:
        raise NotPrinted(f"{browser} could not be run: {problem.strerror or problem}") from problem


def _printed(browser: str, html: str, place: Path) -> bytes:
    page, out, said = place / "folder.html", place / "folder.pdf", place / "said"
    page.write_text(html, encoding="utf-8")
    words = [browser, *_FLAGS, f"--user-data-dir={place / 'profile'}", f"--print-to-pdf={out}", page.as_uri()]
    if not os.geteuid():
        words.insert(1, "--no-sandbox")  # it refuses to be root's within one
    with said.open("wb") as told:
        status = _run(words, {**os.environ, "HOME": str(place), "TMPDIR": str(place)}, told.fileno())
    if status is None:
        raise NotPrinted(f"{browser} was not done within {SECONDS:.0f} s, and was ended")
    data = out.read_bytes() if out.is_file() else b""
    if status or not (data.startswith(b"%PDF-") and b"%%EOF" in data[-1024:]):
        last = next((line for line in reversed(said.read_text(encoding="utf-8", errors="replace").splitlines()) if line.strip()), "nothing")
        raise NotPrinted(f"{browser} made no PDF (exit status {status}); what it said last: {clean(last, 200)}")
    return data


def _run(words: list[str], surroundings: dict[str, str], said: int) -> int | None:
    """Its exit status, None where time was up. A browser is many processes: they end together."""
    with subprocess.Popen(
        words, env=surroundings, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=said, start_new_session=True
    ) as browser:
        try:
            return browser.wait(SECONDS)
        except subprocess.TimeoutExpired:
            return None
        finally:
            if browser.returncode is None:
                with suppress(ProcessLookupError):
                    os.killpg(browser.pid, signal.SIGKILL)
                browser.wait()
