"""The folder as a browser lays it out: what a page measures, whether anything is cut off or lies on something else.

A Chromium is an outside judge of what the program reckons about its own pages. Where none is installed the tests that need it say so and are skipped.
"""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Any

CHROMIUM = next((found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None)
# No network, a profile of its own; as root there is no sandbox.
_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
_SCRIPT = (Path(__file__).parent / "measure.js").read_text()


@dataclass(frozen=True)
class Seen:
    """What a browser made of a folder: lists of sentences, each a fault, but for the counts."""

    pages: int
    outside: tuple[str, ...]
    small: tuple[str, ...]
    overlapping: tuple[str, ...]
    pale: tuple[str, ...]
    fetched: tuple[str, ...]
    labels: int
    texts: int


def run(arguments: list[str], profile: Path) -> str:
    """A Chromium without a window; what it printed."""
    assert CHROMIUM
    done = subprocess.run(
        [CHROMIUM, *_FLAGS, f"--user-data-dir={profile}", *arguments], capture_output=True, text=True, timeout=180, check=True
    )
    return done.stdout


def seen(folder: str, work: Path) -> Seen:
    """Open a folder and measure it: the script stands in a copy, for the folder itself has none and forbids any."""
    copy = work / "measured.html"
    free = re.sub(r"<meta http-equiv=\"Content-Security-Policy\"[^>]*>", "", folder)
    copy.write_text(free.replace("</body>", f"<script>{_SCRIPT}</script></body>"))
    told = run(["--dump-dom", "--window-size=1400,1000", copy.as_uri()], work / "profile")
    found = re.search(r'<pre id="measured">(.*?)</pre>', told, re.DOTALL)
    assert found, "the browser measured nothing"
    measured: dict[str, Any] = json.loads(html.unescape(found[1]))
    return Seen(**{key: tuple(value) if isinstance(value, list) else value for key, value in measured.items()})


def printed(folder: str, work: Path) -> Path:
    """The folder as a PDF."""
    page, made = work / "folder.html", work / "folder.pdf"
    page.write_text(folder)
    run([f"--print-to-pdf={made}", "--no-pdf-header-footer", page.as_uri()], work / "profile")
    return made
