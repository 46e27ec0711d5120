"""The folder of papers: whole or not there, never changed once it stands, nothing that a person wrote lost; what is stale is said."""

from __future__ import annotations

import errno
import fcntl
import os
import random
import resource
import subprocess
import time
from pathlib import Path
from types import SimpleNamespace

import pytest

from engine.files.folder import add_pdf, folder_name, write_folder
from engine.files.stale import site_of, stale
from engine.files.sums import SUMS, listed, listing, sum_of, sum_there
from engine.sheets import folder as kit
from engine.sheets.folder.chapters import chapters
from engine.sheets.papers import MARKS, SIZES, papers, whole
from engine.sheets.papers import names as paper_names
from tests.benchmarks.kills import killed
from tests.engine.paper_sites import NAMES, planned, sample

NAME = "00000000-11111111"
PLAN = SimpleNamespace(revision="00000000", digest="11111111")
STAMP = "== PLAN == revision 00000000, plan 11111111, phasewright 0 ==\n"
SITE = "Site: Mill                              Ref: -\n"
PAPERS = {"folder.html": "<p>all</p>\n", "L1-1.txt": STAMP + SITE, "plan.txt": STAMP + SITE + "plan\n"}
LETTER = PAPERS | {"folder.html": "<p>letter</p>\n"}
OLD = STAMP.replace("00000000", "aaaaaaaa").replace("11111111", "bbbbbbbb")


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def texts(folder):
    return {path.name: path.read_text() for path in folder.iterdir()}


def said(shelf, site="Mill"):
    return list(stale(shelf, PLAN, site, MARKS))


def test_a_new_folder_has_all_papers_and_the_list_that_other_programs_check(tmp_path):
    shelved = write_folder(tmp_path / "deep" / "shelf", NAME, PAPERS)
    assert (shelved.folder, shelved.new, shelved.filled, shelved.passed) == (tmp_path / "deep" / "shelf" / NAME, True, (), {})
    assert shelved.written == (*PAPERS, SUMS)
    made = texts(shelved.folder)
    assert {name: text for name, text in made.items() if name != SUMS} == PAPERS
    checked = subprocess.run(["sha256sum", "--strict", "-c", SUMS], cwd=shelved.folder, capture_output=True, text=True, check=False)
    assert (checked.returncode, checked.stdout.splitlines()) == (0, [f"{name}: OK" for name in PAPERS])
    assert names(tmp_path / "deep" / "shelf") == [NAME]


def test_a_folder_is_as_readable_as_any_that_is_made(tmp_path):
    before = os.umask(0o027)
    try:
        made = write_folder(tmp_path, NAME, PAPERS).folder
    finally:
        os.umask(before)
    assert (made.stat().st_mode & 0o777, (made / "plan.txt").stat().st_mode & 0o777) == (0o750, 0o640)


def test_the_same_papers_again_write_nothing(tmp_path):
    write_folder(tmp_path, NAME, PAPERS)
    before = {path: path.stat().st_mtime_ns for path in (tmp_path, tmp_path / NAME, *(tmp_path / NAME).iterdir())}
    shelved = write_folder(tmp_path, NAME, PAPERS)
    assert (shelved.new, shelved.written, shelved.filled, shelved.missing) == (False, (), (), ())
    assert {path: path.stat().st_mtime_ns for path in before} == before
    assert names(tmp_path) == [NAME]


def test_a_missing_paper_is_put_back_and_one_that_was_filled_in_stays_and_is_named(tmp_path):
    folder = write_folder(tmp_path, NAME, PAPERS).folder
    (folder / "plan.txt").unlink()
    (folder / "L1-1.txt").write_text(PAPERS["L1-1.txt"] + "measured: 59.8 ohm\n")
    (folder / "photo.jpg").write_bytes(b"\xff\xd8")
    (folder / ".plan.txt.abcdefgh.part").write_text("left by a killed run")
    shelved = write_folder(tmp_path, NAME, PAPERS)
    assert (shelved.new, shelved.written, shelved.filled) == (False, ("plan.txt",), ("L1-1.txt",))
    assert (folder / "plan.txt").read_text() == PAPERS["plan.txt"]
    assert (folder / "L1-1.txt").read_text().endswith("59.8 ohm\n")
    assert names(folder) == sorted([*PAPERS, SUMS, "photo.jpg"])


def test_a_paper_that_comes_while_it_is_put_back_is_not_written_over(tmp_path, monkeypatch):
    folder = write_folder(tmp_path, NAME, PAPERS).folder
    (folder / "plan.txt").unlink()
    real = os.fsync

    def meanwhile(handle):
        (folder / "plan.txt").write_text("a person's\n")
        real(handle)

    monkeypatch.setattr("os.fsync", meanwhile)
    assert write_folder(tmp_path, NAME, PAPERS).written == ()
    assert (folder / "plan.txt").read_text() == "a person's\n"
    assert names(folder) == sorted([*PAPERS, SUMS])


@pytest.mark.parametrize("filled", [True, False])
def test_other_papers_of_the_same_plan_go_beside_and_those_that_stand_stay(filled, tmp_path):
    folder = write_folder(tmp_path, NAME, PAPERS).folder
    if filled:
        (folder / "L1-1.txt").write_text("done\n")
    before = texts(folder)
    shelved = write_folder(tmp_path, NAME, LETTER)
    assert (shelved.folder.name, shelved.new, shelved.passed) == (f"{NAME}-2", True, {NAME: ("L1-1.txt",) if filled else ()})
    assert texts(folder) == before
    # Both are found again, and a third goes into a third.
    assert write_folder(tmp_path, NAME, LETTER).folder.name == f"{NAME}-2"
    assert write_folder(tmp_path, NAME, PAPERS).folder.name == NAME
    assert write_folder(tmp_path, NAME, PAPERS | {"plan.txt": "by another program\n"}).folder.name == f"{NAME}-3"
    assert names(tmp_path) == [NAME, f"{NAME}-2", f"{NAME}-3"]


def test_papers_that_were_filled_in_and_listed_anew_are_not_taken_for_ours(tmp_path):
    """Whoever seals a record does just that: the list is true again, and what it lists is a person's."""
    folder = write_folder(tmp_path, NAME, PAPERS).folder
    (folder / "L1-1.txt").write_text("signed\n")
    subprocess.run(f"sha256sum folder.html L1-1.txt plan.txt > sums && mv sums {SUMS}", shell=True, cwd=folder, check=True)
    before = texts(folder)
    assert write_folder(tmp_path, NAME, PAPERS).folder.name == f"{NAME}-2"
    assert texts(folder) == before


def test_what_a_person_lists_besides_stays_listed(tmp_path):
    folder = write_folder(tmp_path, NAME, PAPERS).folder
    (folder / "photo.jpg").write_bytes(b"\xff\xd8")
    with (folder / SUMS).open("a") as file:
        file.write("# photos\n\\" + f"{'0' * 64}  odd\\nname\n" + listing({"photo.jpg": sum_of(b"\xff\xd8")}))
    shelved = write_folder(tmp_path, NAME, PAPERS)
    assert (shelved.folder, shelved.filled, shelved.missing) == (folder, (), ())
    before = (folder / SUMS).read_text()
    for data in (b"%PDF-1.4", b"%PDF-1.5"):
        add_pdf(folder, data)
        assert (folder / SUMS).read_text() == before + listing({"folder.pdf": sum_of(data)})
        (folder / "folder.pdf").unlink()
    (folder / "folder.pdf").write_bytes(data)
    (folder / "photo.jpg").unlink()
    assert write_folder(tmp_path, NAME, PAPERS).missing == ("photo.jpg",)


# What stands in its place


@pytest.mark.parametrize("what", ["link to a folder", "link to nowhere", "file", "pipe", "folder without a list", "empty folder", "list that is a link", "list that is none", "list without an end"])
def test_whatever_is_not_our_folder_is_refused_and_left_alone(what, tmp_path):
    shelf, far = tmp_path / "shelf", tmp_path / "far"
    shelf.mkdir()
    far.mkdir()
    place = shelf / NAME
    if what == "file":
        place.write_text("mine\n")
    elif what == "pipe":
        os.mkfifo(place)
    elif what == "link to nowhere":
        place.symlink_to(tmp_path / "nowhere")
    elif what == "link to a folder":
        write_folder(far, NAME, PAPERS)
        place.symlink_to(far / NAME)
    else:
        place.mkdir()
        if what != "empty folder":
            (place / "plan.txt").write_text("mine\n")
        if what == "list that is a link":
            (far / SUMS).write_text(listing({name: sum_of(text.encode()) for name, text in PAPERS.items()}))
            (place / SUMS).symlink_to(far / SUMS)
        elif what == "list that is none":
            (place / SUMS).write_text("these are mine\n")
        elif what == "list without an end":
            (place / SUMS).write_text(listing({name: sum_of(text.encode()) for name, text in PAPERS.items()}) + "\n" * (1 << 20))
    before = {path: path.lstat().st_mtime_ns for path in (*shelf.rglob("*"), *far.rglob("*"))}
    with pytest.raises(FileExistsError, match=NAME):
        write_folder(shelf, NAME, PAPERS)
    assert {path: path.lstat().st_mtime_ns for path in (*shelf.rglob("*"), *far.rglob("*"))} == before
    assert not (tmp_path / "nowhere").exists()
    assert said(shelf) == []


@pytest.mark.parametrize("what", ["link", "pipe", "folder"])
def test_a_paper_that_is_no_ordinary_file_is_neither_followed_nor_waited_for_nor_replaced(what, tmp_path):
    folder, far = write_folder(tmp_path, NAME, PAPERS).folder, tmp_path / "far.txt"
    far.write_text(PAPERS["plan.txt"])
    (folder / "plan.txt").unlink()
    {"link": lambda p: p.symlink_to(far), "pipe": os.mkfifo, "folder": Path.mkdir}[what](folder / "plan.txt")
    shelved = write_folder(tmp_path, NAME, PAPERS)
    assert (shelved.written, shelved.filled) == ((), ("plan.txt",))
    assert sum_there(folder / "plan.txt") == ""


def test_a_folder_of_papers_is_no_shelf(tmp_path):
    folder = write_folder(tmp_path, NAME, PAPERS).folder
    with pytest.raises(FileExistsError, match="give the folder in which it stands"):
        write_folder(folder, "22222222-33333333", PAPERS)
    assert names(folder) == sorted([*PAPERS, SUMS])


def test_a_shelf_may_be_reached_by_a_link(tmp_path):
    (tmp_path / "far").mkdir()
    (tmp_path / "shelf").symlink_to("far")
    write_folder(tmp_path / "shelf", NAME, PAPERS)
    assert names(tmp_path / "far") == [NAME]


# Failures


@pytest.mark.parametrize("there", [True, False])
@pytest.mark.parametrize("failing", [1, 2, 3, 4, 5])
def test_a_disk_that_fills_up_halfway_leaves_everything_as_it_was(there, failing, tmp_path, monkeypatch):
    shelf = tmp_path / "shelf"
    if there:
        write_folder(shelf, NAME, PAPERS)
    real, calls = os.fsync, []

    def full(handle):
        calls.append(handle)
        if len(calls) == failing:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(handle)

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError):
        write_folder(shelf, NAME, LETTER)
    assert shelf.exists() == there
    if there:
        assert names(shelf) == [NAME]
        assert texts(shelf / NAME)["folder.html"] == PAPERS["folder.html"]


def limited(most, work):
    """What a process said that may write no file over so many bytes, as a disk that is full in earnest."""
    out, into = os.pipe()
    if (child := os.fork()) == 0:
        try:
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
            work()
            os.write(into, b"fine")
        except OSError as problem:
            os.write(into, errno.errorcode[problem.errno].encode())
        finally:
            os._exit(0)
    os.close(into)
    with os.fdopen(out) as told:
        heard = told.read()
    os.waitpid(child, 0)
    return heard


def test_a_paper_that_does_not_fit_leaves_nothing(tmp_path):
    large = PAPERS | {"order-of-work.txt": STAMP * 5000}
    assert limited(20_000, lambda: write_folder(tmp_path / "shelf", NAME, large)) == "EFBIG"
    assert names(tmp_path) == []
    folder = write_folder(tmp_path, NAME, large).folder
    (folder / "order-of-work.txt").unlink()
    assert limited(20_000, lambda: write_folder(tmp_path, NAME, large)) == "EFBIG"
    assert limited(20_000, lambda: add_pdf(folder, b"x" * 30_000)) == "EFBIG"
    assert names(folder) == sorted([*PAPERS, SUMS])
    assert limited(1 << 20, lambda: write_folder(tmp_path, NAME, large)) == "fine"
    assert (folder / "order-of-work.txt").read_text() == large["order-of-work.txt"]


def test_a_shelf_that_takes_no_folder_is_told(tmp_path, monkeypatch):
    def refused(*_, **__):
        raise PermissionError(errno.EACCES, "Permission denied")

    (tmp_path / "shelf").mkdir()
    monkeypatch.setattr(Path, "mkdir", lambda self, *a, exist_ok=False, **k: None if exist_ok else refused())
    with pytest.raises(PermissionError):
        write_folder(tmp_path / "shelf", NAME, PAPERS)
    assert names(tmp_path / "shelf") == []


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become somebody else")
@pytest.mark.parametrize("closed", ["shelf", "folder"])
def test_a_right_that_is_missing_leaves_everything_as_it_was(closed, tmp_path):
    tmp_path.chmod(0o755)
    for above in list(tmp_path.parents)[:3]:
        if above != Path("/tmp"):
            above.chmod(0o755)
    shelf = tmp_path / "shelf"
    folder = write_folder(shelf, NAME, PAPERS).folder
    (folder / "plan.txt").unlink()
    os.chown(shelf, 1234, 1234)

    def work():
        os.setgroups([])
        os.setresgid(1234, 1234, 1234)
        os.setresuid(1234, 1234, 1234)
        if closed == "shelf":
            shelf.chmod(0o555)
            write_folder(shelf, "22222222-33333333", PAPERS)
        else:
            write_folder(shelf, NAME, PAPERS)

    assert limited(1 << 20, work) == "EACCES"
    assert names(shelf) == [NAME]
    assert names(folder) == ["L1-1.txt", SUMS, "folder.html"]


def test_what_was_made_in_the_meantime_by_another_run_is_used(tmp_path, monkeypatch):
    real, first = os.path.lexists, []

    def late(path):
        if not first:
            first.append(path)
            write_folder(tmp_path, NAME, PAPERS)
            return False
        return real(path)

    monkeypatch.setattr("os.path.lexists", late)
    shelved = write_folder(tmp_path, NAME, PAPERS)
    assert (shelved.new, shelved.written) == (False, ())
    assert names(tmp_path) == [NAME]


def test_parts_of_killed_runs_go_and_those_still_written_and_what_is_not_ours_stay(tmp_path):
    left, busy, other, linked, deep = (tmp_path / name for name in (f".{NAME}.0123abcd.part", f".{NAME}-bill.0123abcd.part", ".mine.0123abcd.part", f".{NAME}.11111111.part", f".{NAME}.22222222.part"))
    for folder in (left, busy, other, deep):
        folder.mkdir()
        (folder / "plan.txt").write_text("half")
    (deep / "photos").mkdir()
    (deep / "photos" / "1.jpg").write_text("mine")
    linked.symlink_to(other)
    os.mkfifo(tmp_path / f".{NAME}.33333333.part")
    handle = os.open(busy, os.O_RDONLY)
    fcntl.flock(handle, fcntl.LOCK_EX)
    write_folder(tmp_path, NAME, PAPERS)
    assert names(tmp_path) == sorted([NAME, f".{NAME}.33333333.part", *(path.name for path in (busy, other, linked, deep))])
    assert (deep / "photos" / "1.jpg").exists()
    assert names(other) == ["plan.txt"]
    os.close(handle)
    write_folder(tmp_path, NAME, PAPERS)
    assert not busy.exists()


def test_a_part_that_another_run_cleared_before_it_was_locked_is_made_again(tmp_path, monkeypatch):
    real, cleared = fcntl.flock, []

    def late(handle, how):
        if not cleared:
            [part] = tmp_path.iterdir()
            part.rmdir()
            cleared.append(part)
        real(handle, how)

    monkeypatch.setattr("fcntl.flock", late)
    assert write_folder(tmp_path, NAME, PAPERS).new
    assert len(cleared) == 1
    assert names(tmp_path) == [NAME]


def test_kills_at_any_moment_leave_whole_folders_alone(tmp_path):
    """SIGKILL, 40 times, while folders are made, papers put back and PDFs added."""
    dice = random.Random(10)
    papers = PAPERS | {f"L1-{n}.txt": STAMP * n for n in range(2, 12)}
    made = pdfs = 0

    def turn(name):
        folder = write_folder(tmp_path, name, papers).folder
        (folder / "L1-5.txt").unlink()
        assert write_folder(tmp_path, name, papers).written == ("L1-5.txt",)
        add_pdf(folder, b"%PDF" * 100)

    begun = time.monotonic()
    for number in range(5):
        turn(f"ffffffff-{number:08x}")
    span = (time.monotonic() - begun) / 5
    for kill in range(40):

        def session(tell, kill=kill):
            tell(0)
            number = 0
            while True:
                number += 1
                turn(f"{kill:08x}-{number:08x}")
                tell(number)

        last = killed(session, dice.random() * 4 * span)[-1]
        there = [path for path in tmp_path.iterdir() if path.name.startswith(f"{kill:08x}")]
        assert len(there) in (last, last + 1)
        for folder in there:
            sums = listed(folder)
            wrong = {name for name, told in sums.items() if sum_there(folder / name) != told}
            assert wrong <= ({"L1-5.txt", "folder.pdf"} if folder.name.endswith(f"{last + 1:08x}") else set())
            assert all(sum_there(folder / name) is None for name in wrong)
            assert papers.keys() <= sums.keys()
            made, pdfs = made + 1, pdfs + ("folder.pdf" in sums)
    assert made >= pdfs > 5
    # The next run clears what was left, and completes what it is asked for.
    for folder in [path for path in tmp_path.iterdir() if not path.name.startswith(".")]:
        write_folder(tmp_path, folder.name, papers)
        assert set(names(folder)) - {"folder.pdf"} == {*papers, SUMS}
    assert not [name for name in names(tmp_path) if name.startswith(".")]


def test_runs_at_the_same_time_do_not_get_into_each_others_way(tmp_path):
    children = []
    for number in range(8):
        if (child := os.fork()) == 0:
            try:
                for turn in range(25):
                    write_folder(tmp_path, f"{turn:08x}-00000000", PAPERS if number % 2 else LETTER)
                os._exit(0)
            finally:
                os._exit(1)
        children.append(child)
    assert [os.waitpid(child, 0)[1] for child in children] == [0] * 8
    assert names(tmp_path) == sorted(f"{turn:08x}-00000000{more}" for turn in range(25) for more in ("", "-2"))


# A paper that is added


def test_an_added_paper_is_listed_and_belongs_to_the_folder_from_then_on(tmp_path):
    folder = write_folder(tmp_path, NAME, PAPERS).folder
    assert add_pdf(folder, b"%PDF-1.4") is True
    assert listed(folder)["folder.pdf"] == sum_of(b"%PDF-1.4") == sum_there(folder / "folder.pdf")
    assert write_folder(tmp_path, NAME, PAPERS).folder == folder
    (folder / "folder.pdf").write_bytes(b"with remarks")
    assert write_folder(tmp_path, NAME, PAPERS).filled == ("folder.pdf",)
    with pytest.raises(FileExistsError, match="stays"):
        add_pdf(folder, b"%PDF-1.5")
    assert (folder / "folder.pdf").read_bytes() == b"with remarks"
    (folder / "folder.pdf").unlink()
    assert write_folder(tmp_path, NAME, PAPERS).missing == ("folder.pdf",)
    add_pdf(folder, b"%PDF-1.5")
    assert write_folder(tmp_path, NAME, PAPERS).missing == ()
    assert names(folder) == sorted([*PAPERS, SUMS, "folder.pdf"])


def test_a_copy_made_by_hard_links_keeps_its_own_list(tmp_path):
    folder, copy = write_folder(tmp_path, NAME, PAPERS).folder, tmp_path / "copy"
    before = (folder / SUMS).read_text()
    copy.hardlink_to(folder / SUMS)
    add_pdf(folder, b"%PDF-1.4")
    assert copy.read_text() == before != (folder / SUMS).read_text()


# What is stale


def test_folders_of_other_plans_are_said_and_stay(tmp_path):
    write_folder(tmp_path, NAME, PAPERS)
    write_folder(tmp_path, f"{NAME}-bill", {"bill.txt": STAMP})
    write_folder(tmp_path, "00000000-cccccccc", PAPERS)
    write_folder(tmp_path, "aaaaaaaa-bbbbbbbb-bill+L1-1-2", {"L1-1.txt": OLD + "Serial number: ____   Site: Mill\n"})
    (tmp_path / "dddddddd-eeeeeeee").mkdir()  # somebody threw its list away
    (tmp_path / "dddddddd-00000000").write_text("no folder")
    (tmp_path / "dddddddd-ffffffff").symlink_to(tmp_path / "aaaaaaaa-bbbbbbbb-bill+L1-1-2")
    (tmp_path / "notes.txt").write_text(OLD)
    before = names(tmp_path)
    assert said(tmp_path) == [
        "stale: 00000000-cccccccc (revision 00000000: the same answers, another plan)",
        "stale: aaaaaaaa-bbbbbbbb-bill+L1-1-2 (revision aaaaaaaa: other answers)",
        "stale: dddddddd-eeeeeeee (revision dddddddd: other answers)",
    ]
    assert names(tmp_path) == before


def test_a_folder_of_another_site_may_be_none_of_this_ones_older_papers(tmp_path):
    write_folder(tmp_path, "aaaaaaaa-bbbbbbbb", PAPERS)
    assert said(tmp_path, "Ferry House") == ["stale, unless it is of another site: aaaaaaaa-bbbbbbbb (revision aaaaaaaa, Mill)"]
    assert said(tmp_path, "") == said(tmp_path, "Mill") == ["stale: aaaaaaaa-bbbbbbbb (revision aaaaaaaa: other answers)"]


def test_every_paper_that_names_the_site_names_the_same():
    long = "A very long name of a very large water works"
    heads = ["x\nSite: Mill, upper one        Ref: -\nmore", " Serial number: ____   Site: Mill, upper one\nL2", f"Site: {long} Ref: {'r' * 24}\n"]
    assert [site_of(head) for head in heads] == ["Mill, upper one", "Mill, upper one", long[:31]]
    assert site_of("== PLAN\nno site\n") == ""


def test_loose_papers_of_the_earlier_form_are_known_by_their_stamp(tmp_path):
    for name in ("L1-1.txt", "L2-1.txt", "order-of-work.txt", "plan.txt", "wall.svg"):
        (tmp_path / name).write_text(OLD)
    (tmp_path / "bill.csv").write_text('site,revision,plan,made with\r\n"Mill, ""upper""",cccccccc,dddddddd,phasewright 0\r\n', newline="")
    (tmp_path / "chain.txt").write_text("my own remarks\n")
    (tmp_path / "L9-1.txt").write_text(OLD)  # no such phase
    (tmp_path / "wall.txt").symlink_to("plan.txt")
    os.mkfifo(tmp_path / "bill.txt")
    before = names(tmp_path)
    assert sorted(said(tmp_path)) == [
        "stale: L1-1.txt, L2-1.txt, order-of-work.txt, plan.txt and 1 more, loose there (revision aaaaaaaa, of an earlier form of this program)",
        "stale: bill.csv, loose there (revision cccccccc, of an earlier form of this program)",
    ]
    assert names(tmp_path) == before


def test_the_name_of_a_folder_tells_what_is_in_it():
    assert folder_name(PLAN) == NAME
    assert folder_name(PLAN, ("bill", "L1-1")) == f"{NAME}-bill+L1-1"


@pytest.mark.parametrize("name", NAMES)
def test_what_may_be_asked_for_alone_is_all_there_is_and_all_the_folder_has(name):
    """Every file is of one name, every chapter of the folder has one, in this order."""
    site = sample(name)
    asked = paper_names(site)
    assert papers(site) == {file: text for word in asked for file, text in papers(site, (word,)).items()}
    there = [chapter.name for chapter in chapters(site, kit.A4)]
    assert there == [word for word in asked if word in there]


@pytest.mark.parametrize("rules", ["iec", "nec"])
def test_the_paper_is_the_usual_one_there_or_the_one_asked_for(rules):
    site = planned({"site.rules": rules})
    usual, other = ("letter", "a4") if rules == "nec" else ("a4", "letter")
    assert whole(site) == whole(site, usual) != whole(site, other)
    assert whole(site)["folder.html"] == kit.folder(site, SIZES[usual])
