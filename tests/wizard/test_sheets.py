"""The command `sheets`: which papers go where, what is said of those that stand, and the PDF."""

from __future__ import annotations

import os
import re
import signal
import socket
import stat
import threading
import time
from pathlib import Path

import pytest

from engine.files.sums import listed, sum_there
from tests.conftest import ROOT
from wizard import printing
from wizard.cli import main
from wizard.printing import BROWSERS, NotPrinted, printed

ALDER = str(ROOT / "sample_sites" / "alder-farm" / "site.toml")
CREEK = str(ROOT / "sample_sites" / "copper-creek" / "site.toml")
TEXTS = {"plan.txt", "single-line.txt", "single-line-1.svg", "three-pole.svg", "wall.txt", "wall-power.svg", "wall-data.svg", "wall-earth.svg", "chain.txt", "bill.txt", "bill.csv", "L1-1.txt", "L2-1.txt", "L3-1.txt", "order-of-work.txt"}
PDF = b"%PDF-1.4\n%%EOF\n"
CHROMIUM = pytest.mark.skipif(not any(map(printing.shutil.which, BROWSERS)), reason="there is no Chromium on this machine")


@pytest.fixture
def sheets(tmp_path, capsys):
    """A function: exit status of the command on a shelf of its own, what it wrote, what it said."""

    def run(*words, site=ALDER):
        status = main(["sheets", site, "--to", str(tmp_path / "shelf"), *words])
        told = capsys.readouterr()
        return status, [Path(line) for line in told.out.splitlines()], told.err

    return run


@pytest.fixture
def browser(tmp_path, monkeypatch):
    """A function: let a script be the only Chromium on the PATH."""

    def put(script, name="chromium"):
        folder = tmp_path / "bin"
        folder.mkdir(exist_ok=True)
        (folder / name).write_text(f"#!/bin/sh\nPATH=/usr/bin:/bin\n{script}\n")
        (folder / name).chmod(0o755)
        monkeypatch.setenv("PATH", str(folder))

    monkeypatch.setenv("PATH", str(tmp_path / "nothing"))
    return put


# Finds what it shall write in its words.
_WRITES = 'for word; do case "$word" in --print-to-pdf=*) out=${word#*=};; file:*) page=${word#file://};; --user-data-dir=*) profile=${word#*=};; esac; done\n'


def test_papers_go_into_a_folder_named_for_answers_and_plan(tmp_path, sheets):
    status, written, told = sheets()
    [folder] = (tmp_path / "shelf").iterdir()
    stamp = (folder / "plan.txt").read_text(encoding="utf-8").splitlines()[0]
    revision, plan = re.search(r"revision (\w{8}), plan (\w{8})", stamp).groups()
    assert (status, folder.name) == (0, f"{revision}-{plan}")
    assert {path.name for path in written} == {path.name for path in folder.iterdir()} == TEXTS | {"folder.html", "SHA256SUMS"}
    assert {path.parent for path in written} == {folder}
    assert "stale" not in told


def test_the_same_again_writes_nothing_and_says_so(sheets):
    sheets()
    status, written, told = sheets()
    assert (status, written) == (0, [])
    assert "has these papers already: nothing was written" in told


def test_what_was_filled_in_is_named_and_stays_and_what_is_missing_comes_back(sheets):
    _, [page, *_], _ = sheets()
    folder = page.parent
    (folder / "L1-1.txt").write_text("done, 59.8 ohm\n")
    (folder / "bill.csv").unlink()
    status, written, told = sheets()
    assert (status, written) == (0, [folder / "bill.csv"])
    assert "filled in or changed since it was made, and left as it is: L1-1.txt" in told
    assert "what was missing was put back" in told
    assert (folder / "L1-1.txt").read_text() == "done, 59.8 ohm\n"


def test_the_same_plan_for_another_paper_goes_beside_and_that_is_said(sheets):
    _, [page, *_], _ = sheets()
    (page.parent / "L1-1.txt").write_text("done\n")
    status, written, told = sheets("--paper", "letter")
    assert status == 0
    assert {path.parent.name for path in written} == {f"{page.parent.name}-2"}
    assert f"{page.parent.name} has other papers of this plan" in told
    assert "of which L1-1.txt was filled in or changed" in told
    assert f"these are in {page.parent.name}-2" in told
    assert "stale" not in told
    assert sheets("--paper", "a4")[1] == []


def test_older_papers_are_said_to_be_stale_and_stay(tmp_path, sheets):
    _, [page, *_], _ = sheets()
    (tmp_path / "shelf" / "L1-1.txt").write_text((page.parent / "L1-1.txt").read_text(encoding="utf-8"), encoding="utf-8")
    site = tmp_path / "site.toml"
    site.write_text(Path(ALDER).read_text(encoding="utf-8").replace('altitude = "240 m"', 'altitude = "300 m"'), encoding="utf-8")
    _, written, told = sheets(site=str(site))
    assert written[0].parent != page.parent
    assert f"stale: {page.parent.name} (revision {page.parent.name[:8]}: other answers)" in told
    assert f"stale: L1-1.txt, loose there (revision {page.parent.name[:8]}" in told
    assert page.exists()


def test_some_papers_alone_go_into_a_folder_of_their_own(sheets):
    _, written, told = sheets("--only", "L1-1, bill,bill")
    assert [path.name for path in written] == ["folder.html", "bill.txt", "bill.csv", "L1-1.txt", "SHA256SUMS"]
    assert {path.parent.name for path in written} == {f"{written[0].parent.name[:17]}-bill+L1-1"}
    _, written, told = sheets()
    assert {path.name for path in written} >= TEXTS
    assert "stale" not in told
    _, written, told = sheets("--only", "record")
    assert [path.name for path in written] == ["folder.html", "SHA256SUMS"]
    assert ("folder.html has no page: of record this plan has none" in told) == ("<section" not in written[0].read_text(encoding="utf-8"))


@pytest.mark.parametrize(("words", "told"), [("bil", "the nearest is 'bill'"), ("bill,L11", "the nearest is 'L1-1'"), ("L9-1", "the nearest is 'L"), ("", "there are cover"), ("zzzz", "L3-1, order"), ("bill,", "no paper ''"), ("\x1b[31m", "no paper")])
def test_a_name_that_no_paper_has_is_told_with_the_nearest_and_nothing_is_written(words, told, tmp_path, sheets):
    status, written, said = sheets("--only", words)
    assert (status, written) == (2, [])
    assert told in said
    assert "\x1b" not in said
    assert not (tmp_path / "shelf").exists()


@pytest.mark.parametrize(("site", "words", "size"), [(ALDER, (), "210.0mm"), (CREEK, (), "215.9mm"), (ALDER, ("--paper", "letter"), "215.9mm"), (CREEK, ("--paper", "a4"), "210.0mm")])
def test_the_folder_is_for_the_paper_that_is_usual_there_or_asked_for(site, words, size, sheets):
    _, [page, *_], _ = sheets(*words, site=site)
    assert re.search(rf"@page {{ size: {size} ", page.read_text(encoding="utf-8"))


def test_a_folder_that_is_not_ours_is_refused(tmp_path, sheets):
    _, [page, *_], _ = sheets()
    (page.parent / "SHA256SUMS").unlink()
    status, written, told = sheets()
    assert (status, written) == (2, [])
    assert "has no SHA256SUMS" in told
    assert "nothing was changed" in told


def test_a_folder_of_papers_given_as_the_place_for_them_is_refused(tmp_path, capsys, sheets):
    _, [page, *_], _ = sheets()
    assert main(["sheets", CREEK, "--to", str(page.parent)]) == 2
    assert "give the folder in which it stands" in capsys.readouterr().err


def test_a_stopped_plan_has_papers_and_exits_1(tmp_path, sheets):
    site = tmp_path / "site.toml"
    site.write_text('schema = 1\n[output]\narrangement = "three-phase"\n[set]\ncount = 2\n')
    status, written, _ = sheets(site=str(site))
    assert (status, written[0].name) == (1, "folder.html")


# The PDF


@CHROMIUM
def test_a_chromium_prints_the_folder_on_its_paper(sheets):
    _, written, _ = sheets("--pdf", "--only", "bill,cover", site=CREEK)
    pdf = written[-1]
    assert pdf.name == "folder.pdf"
    assert sum_there(pdf) == listed(pdf.parent)["folder.pdf"]
    width, height = map(float, re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf.read_bytes()).groups())
    assert (width, height) == pytest.approx((612, 792), abs=1)
    # It is there now, and neither printed again nor missed.
    status, again, told = sheets("--pdf", "--only", "bill,cover", site=CREEK)
    assert (status, again) == (0, [])
    assert "missing" not in told


@CHROMIUM
def test_a_chromium_that_prints_reaches_no_network_and_nothing_of_the_persons(tmp_path, monkeypatch):
    """A page that would fetch: nobody knocks, under a name or an address; and the person's own folder stays empty."""
    monkeypatch.setenv("HOME", str(tmp_path))
    heard = []
    with socket.create_server(("127.0.0.1", 0)) as served:
        served.settimeout(0.2)
        done = threading.Event()

        def listen():
            while not done.is_set():
                try:
                    served.accept()[0].close()
                    heard.append("knock")
                except TimeoutError:
                    pass

        listener = threading.Thread(target=listen)
        listener.start()
        port = served.getsockname()[1]
        page = "".join(f'<img src="http://{host}:{port}/x.png"><link rel=stylesheet href="http://{host}:{port}/x.css"><script src="http://{host}:{port}/x.js"></script>' for host in ("127.0.0.1", "localhost"))
        assert printed(f"<!DOCTYPE html><title>x</title>{page}<p>text</p>").startswith(b"%PDF-")
        done.set()
        listener.join()
    assert heard == []
    assert list(tmp_path.iterdir()) == []


def test_without_a_chromium_the_papers_stand_and_that_is_told(browser, sheets):
    status, written, told = sheets("--pdf")
    assert status == 2
    assert {path.name for path in written} == TEXTS | {"folder.html", "SHA256SUMS"}
    assert "there is no PDF, all other papers stand: no Chromium was found (chromium, chromium-browser, google-chrome)" in told


@pytest.mark.parametrize("name", BROWSERS)
def test_each_of_their_names_is_found_and_has_a_profile_and_a_home_of_its_own(name, tmp_path, browser, sheets):
    browser(f'{_WRITES}echo "$HOME $profile $*" > {tmp_path}/seen; grep -q "<html" "$page" && printf "%%PDF-1.4\\n%%%%EOF\\n" > "$out"', name)
    status, written, _ = sheets("--pdf")
    assert (status, written[-1].name, written[-1].read_bytes()) == (0, "folder.pdf", PDF)
    home, profile, *words = (tmp_path / "seen").read_text().split()
    assert profile.startswith(home)
    assert not Path(home).exists()
    assert ("--no-sandbox" in words) == (os.geteuid() == 0)


@pytest.mark.parametrize(
    ("script", "told"),
    [
        ("echo 'no usable sandbox' >&2; exit 7", r"made no PDF \(exit status 7\); what it said last: no usable sandbox"),
        ("exit 0", "what it said last: nothing"),
        (_WRITES + 'echo "<html>" > "$out"', "made no PDF"),
        (_WRITES + 'printf "%%PDF-1.4\\n" > "$out"', "made no PDF"),  # half of one
        (_WRITES + 'printf "%%PDF-1.4\\n%%%%EOF\\n" > "$out"; exit 1', r"made no PDF \(exit status 1\)"),
        (_WRITES + 'ln -s /dev/zero "$out"', "made no PDF"),
        ("printf '\\033[31mred' >&2; exit 1", "last: \N{REPLACEMENT CHARACTER}"),
    ],
)
def test_a_chromium_that_fails_is_told_in_a_sentence_and_the_papers_stand(script, told, browser, sheets):
    browser(script)
    status, written, said = sheets("--pdf")
    assert status == 2
    assert "folder.html" in {path.name for path in written}
    assert not (written[0].parent / "folder.pdf").exists()
    assert re.search(f"there is no PDF, all other papers stand: .*{told}", said)
    assert sheets()[2].count("missing") == 0


def test_a_chromium_that_cannot_be_run_is_told(tmp_path, browser):
    browser("exit 0")
    (tmp_path / "bin" / "chromium").write_bytes(b"\x7fELF but not really")
    with pytest.raises(NotPrinted, match="could not be run: Exec format error"):
        printed("<p>")


@pytest.mark.parametrize("how", ["time", "interrupt"])
def test_a_chromium_that_does_not_end_is_ended_with_all_its_processes(how, tmp_path, browser, monkeypatch):
    browser(f"sleep 100 & echo $! > {tmp_path}/child; sleep 100")
    monkeypatch.setattr(printing, "SECONDS", 0.5 if how == "time" else 60)
    if how == "interrupt":

        def interrupt():
            while not (tmp_path / "child").exists() or not (tmp_path / "child").read_text().strip():
                time.sleep(0.02)
            os.kill(os.getpid(), signal.SIGINT)

        # A suite that runs in the background of a shell has this signal ignored.
        before = signal.signal(signal.SIGINT, signal.default_int_handler)
        threading.Thread(target=interrupt).start()
        try:
            with pytest.raises(KeyboardInterrupt):
                printed("<p>")
        finally:
            signal.signal(signal.SIGINT, before)
    else:
        with pytest.raises(NotPrinted, match="not done within 0 s, and was ended"):
            printed("<p>")
    child = Path("/proc") / (tmp_path / "child").read_text().strip() / "stat"
    end = time.monotonic() + 5
    while time.monotonic() < end and child.exists() and child.read_text().split()[2] != "Z":
        time.sleep(0.02)
    assert not child.exists() or child.read_text().split()[2] == "Z"


def test_a_pdf_that_is_not_ours_or_has_remarks_stays(browser, sheets):
    browser(_WRITES + 'printf "%%PDF-1.4\\n%%%%EOF\\n" > "$out"')
    _, [page, *_], _ = sheets()
    pdf = page.parent / "folder.pdf"
    pdf.write_bytes(b"printed by hand")
    status, written, told = sheets("--pdf")
    assert (status, written, pdf.read_bytes()) == (2, [], b"printed by hand")
    assert "is none that this program made, and stays" in told
    pdf.unlink()
    assert sheets("--pdf")[1] == [pdf]
    pdf.write_bytes(b"with remarks")
    status, written, told = sheets("--pdf")
    assert (status, written, pdf.read_bytes()) == (0, [], b"with remarks")
    assert "left as it is: folder.pdf" in told
    pdf.unlink()
    assert "listed there, and missing: folder.pdf; --pdf makes folder.pdf again" in sheets()[2]
    status, written, told = sheets("--pdf")
    assert (status, written) == (0, [pdf])
    assert "missing" not in told
    assert stat.S_ISREG(pdf.lstat().st_mode)
