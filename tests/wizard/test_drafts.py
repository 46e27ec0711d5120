"""Drafts: nothing that was told as kept is lost, whatever happens to the process, the disk, the clock or the folder."""

from __future__ import annotations

import datetime as dt
import errno
import json
import os
import resource
import stat
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.benchmarks.kills import drafts_killed, interviews_killed, moment, own_folder, saves_killed
from tests.conftest import ROOT
from wizard.cli import main
from wizard.drafts import home, journal
from wizard.drafts.folder import begin, drafts, drop, offers, resume
from wizard.drafts.journal import Journal, NotKept, Taken, read
from wizard.drafts.snapshot import Snapshot

NEW = Snapshot({"schema": 1})


@pytest.fixture(autouse=True)
def state(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return tmp_path / "state"


def folder() -> Path:
    return home.folder()


def answered(name, **more) -> Snapshot:
    return Snapshot({"schema": 1, "site": {"name": name}}, page="site", key="site.name", **more)


def draft_of(*snapshots, site=None, text=None) -> Journal:
    kept = begin(site, text, NEW)
    for snapshot in snapshots:
        assert kept.keep(snapshot) is None
    return kept


def the_file() -> Path:
    [path] = folder().iterdir()
    return path


def last() -> Snapshot | None:
    kept = read(the_file())
    return kept.snapshot if kept else None


# What is kept


VALUES = st.recursive(
    st.none().map(lambda _: "") | st.booleans() | st.integers(-(2**63), 2**63 - 1) | st.floats(allow_nan=False) | st.text(max_size=8)
    | st.datetimes().map(lambda it: it.replace(microsecond=0, fold=0)) | st.dates() | st.just(dt.time(7, 30)),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=6,
)
SNAPSHOTS = st.builds(
    Snapshot,
    document=st.dictionaries(st.sampled_from(["schema", "site", "loads", "wall", "ä \n\\u"]), VALUES, max_size=4),
    refused=st.dictionaries(st.text(max_size=5), st.tuples(st.text(max_size=5), st.text(max_size=5)), max_size=2),
    page=st.text(max_size=4),
    key=st.text(max_size=4),
    entry=st.none() | st.integers(0, 3),
    typing=st.none() | st.text(max_size=5),
)


def same(one: Snapshot, other: Snapshot) -> bool:
    """To the type of each value and the order of each table."""
    return repr(one) == repr(other)


@settings(max_examples=40, deadline=None)
@given(st.lists(SNAPSHOTS, min_size=1, max_size=6), st.data())
def test_a_draft_holds_the_last_moment_and_a_spoilt_one_an_earlier(moments, data):
    with own_folder():
        kept = begin(None, None, Snapshot())
        held = [Snapshot()]
        for at in moments:
            assert kept.keep(at) is None
            held.append(at)
        if not offers():
            assert not any(at.holds_more(Snapshot()) for at in moments)
            return
        whole = the_file().read_bytes()
        assert same(last(), moments[-1])
        cut = data.draw(st.integers(0, len(whole)))
        the_file().write_bytes(whole[:cut])
        found = last()
        assert found is None if b"\n" not in whole[:cut] else any(same(found, at) for at in held)
        spoilt = data.draw(st.integers(0, len(whole) - 1))
        the_file().write_bytes(whole[:spoilt] + bytes([whole[spoilt] ^ data.draw(st.integers(1, 255))]) + whole[spoilt + 1 :])
        assert (found := last()) is None or any(same(found, at) for at in held)


def test_one_that_is_another_type_is_another_answer():
    kept = draft_of(Snapshot({"a": 1}), Snapshot({"a": 1.0}), Snapshot({"a": True}))
    assert last().document["a"] is True
    kept.keep(Snapshot({"a": 1}))
    assert type(last().document["a"]) is int


def test_only_what_changed_is_written():
    large = {"schema": 1, "loads": [{"name": f"load {at}"} for at in range(500)]}
    kept = draft_of(Snapshot(large))
    before = the_file().stat().st_size
    kept.keep(Snapshot(large | {"site": {"name": "A"}}))
    after = the_file().stat().st_size
    assert 0 < after - before < 200
    kept.keep(Snapshot(large | {"site": {"name": "A"}}))
    assert the_file().stat().st_size == after
    kept.keep(Snapshot({"schema": 1, "site": {"name": "A"}}, typing="5"))
    assert the_file().stat().st_size - before < 400
    assert last() == Snapshot({"schema": 1, "site": {"name": "A"}}, typing="5")


def test_a_line_that_is_missing_in_the_middle_ends_the_reading():
    draft_of(answered("A"), answered("B"), Snapshot({"schema": 1, "site": {"name": "B"}, "set": {"count": 6}}))
    lines = the_file().read_bytes().splitlines(keepends=True)
    the_file().write_bytes(lines[0] + lines[2])
    assert last() == answered("A")


def test_nothing_is_on_the_disk_before_there_is_something_to_lose():
    kept = begin(None, None, NEW)
    assert kept.keep(Snapshot({"schema": 1}, page="wall", key="wall.width")) is None
    assert not folder().exists()
    kept.keep(Snapshot({"schema": 1}, page="wall", key="wall.width", typing="1"))
    assert last().typing == "1"


def test_refused_texts_and_the_place_come_back():
    at = Snapshot({"schema": 1}, {"loads[1].power": ("12 apples", "wanted a power")}, "loads", "loads[1].power", 1, "3 k")
    draft_of(at)
    [draft] = offers()
    snapshot, _ = resume(draft)
    assert snapshot == at


def test_only_its_owner_reads_it(state):
    state.mkdir()
    (state / "phasewright").mkdir()
    (state / "phasewright" / "drafts").mkdir(mode=0o755)
    before = os.umask(0)
    try:
        draft_of(answered("A"))
    finally:
        os.umask(before)
    assert stat.S_IMODE(folder().stat().st_mode) == 0o700
    assert stat.S_IMODE(the_file().stat().st_mode) == 0o600


def test_what_is_kept_is_on_the_disk_first(monkeypatch):
    """A model of the disk: what a power cut leaves is what was synced, files and names both."""
    dirty: set[int] = set()
    synced_at: dict[int, int] = {}
    starts = []
    write, fsync, replace, rename = os.write, os.fsync, Path.replace, Path.rename

    def written(handle, data):
        dirty.add(os.fstat(handle).st_ino)
        return write(handle, data)

    def synced(handle):
        fsync(handle)
        dirty.discard(os.fstat(handle).st_ino)
        synced_at[os.fstat(handle).st_ino] = os.fstat(handle).st_size

    def replaced(path, target):
        assert synced_at.pop(path.stat().st_ino, None) == path.stat().st_size, "renamed before its text was on the disk"
        starts.append(path)
        done = replace(path, target)
        dirty.add(target.parent.stat().st_ino)
        return done

    def renamed(path, target):
        dirty.add(path.parent.stat().st_ino)
        return rename(path, target)

    monkeypatch.setattr(os, "write", written)
    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(Path, "replace", replaced)
    monkeypatch.setattr(Path, "rename", renamed)
    monkeypatch.setattr(journal, "LARGE", 1500)
    kept = begin(None, None, NEW)
    for number in range(60):
        assert kept.keep(moment(5, number)) is None
        assert not dirty, f"moment {number} was told as kept too soon"
    assert len(starts) > 3, "no new start was written"
    kept.close()
    resume(offers()[0])
    assert not dirty


def test_a_torn_end_is_dropped_and_never_written_on():
    draft_of(answered("A"), answered("B"))
    with the_file().open("ab") as file:
        file.write(b'00000000 {"at":1,"tab')
    [draft] = offers()
    snapshot, kept = resume(draft)
    assert snapshot == answered("B")
    kept.keep(answered("C"))
    assert last() == answered("C")


@pytest.mark.parametrize("step", ["mkstemp", "fsync", "replace", "open"])
def test_a_new_start_that_fails_at_any_step_loses_nothing(monkeypatch, step):
    monkeypatch.setattr(journal, "LARGE", 300)
    kept = draft_of(answered("A"))
    broken = {"on": True}

    def failing(real, when=lambda *_: True):
        def call(*given, **more):
            if broken["on"] and when(*given):
                raise OSError(errno.ENOSPC, "No space left on device")
            return real(*given, **more)

        return call

    if step == "mkstemp":
        monkeypatch.setattr(tempfile, "mkstemp", failing(tempfile.mkstemp))
    elif step == "fsync":
        monkeypatch.setattr(os, "fsync", failing(os.fsync, lambda handle: Path(f"/proc/self/fd/{handle}").readlink().suffix == ".part"))
    elif step == "replace":
        monkeypatch.setattr(Path, "replace", failing(Path.replace))
    else:
        monkeypatch.setattr(os, "open", failing(os.open, lambda path, flags, *_: bool(flags & os.O_APPEND)))
    for number in range(30):
        trouble = kept.keep(answered(f"B{number}"))
        assert trouble is None, "the record itself is on the disk"
        assert last() == answered(f"B{number}")
    broken["on"] = False
    assert kept.keep(answered("end")) is None
    assert last() == answered("end")


# Whose draft it is


def test_of_two_sessions_the_one_that_took_it_up_last_has_it():
    stalled = draft_of(answered("A"))
    unaware = draft_of(answered("B"))
    resume(offers()[0])[1].keep(answered("B taken up"))
    unaware.end()
    assert [draft.name for draft in offers()] == ["B taken up", "A"], "what another session has was removed"
    drop(offers()[0])
    [draft] = offers()
    assert draft.open
    snapshot, second = resume(draft)
    assert snapshot == answered("A")
    assert second.keep(answered("second")) is None
    for _ in range(2):
        with pytest.raises(Taken):
            stalled.keep(answered("stalled"))
    assert last() == answered("second")
    stalled.end()
    assert last() == answered("second"), "the stalled session removed what is not its own"
    assert second.keep(answered("third")) is None
    assert last() == answered("third")
    assert "another window" in str(Taken())


def test_a_stalled_write_that_comes_late_spoils_nothing(monkeypatch):
    """Stalled within the write: it goes on once the draft is somebody else's."""
    stalled = draft_of(answered("A"))
    write = os.write
    seconds = []

    def stalling(handle, data):
        monkeypatch.setattr(os, "write", write)
        seconds.append(resume(offers()[0])[1])
        assert seconds[0].keep(answered("second")) is None
        return write(handle, data)

    monkeypatch.setattr(os, "write", stalling)
    with pytest.raises(Taken):
        stalled.keep(answered("late"))
    assert last() == answered("second")
    assert seconds[0].keep(answered("third")) is None
    assert last() == answered("third")


def test_a_stalled_session_that_writes_a_new_start_late_spoils_nothing(monkeypatch):
    monkeypatch.setattr(journal, "LARGE", 100)
    stalled = draft_of(answered("A"))
    replace = Path.replace
    seconds = []

    def stalling(path, target):
        monkeypatch.setattr(Path, "replace", replace)
        seconds.append(resume(offers()[0])[1])
        assert seconds[0].keep(answered("second")) is None
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", stalling)
    assert stalled.keep(answered("B")) is None
    with pytest.raises(Taken):
        stalled.keep(answered("long enough for a new start, which comes too late" * 2))
    assert last() == answered("second")
    assert seconds[0].keep(answered("third")) is None


def test_an_answer_kept_while_the_draft_is_being_taken_up_is_in_it(monkeypatch):
    """Told as kept before the draft changed hands: so it is there."""
    first = draft_of(answered("A"))
    [draft] = offers()
    rename = Path.rename

    def renaming(path, target):
        assert first.keep(answered("just before")) is None
        done = rename(path, target)
        with pytest.raises(Taken):
            first.keep(answered("just after"))
        return done

    monkeypatch.setattr(Path, "rename", renaming)
    snapshot, _ = resume(draft)
    assert snapshot in (answered("just before"), answered("just after"))


def test_a_draft_that_is_gone_is_not_taken_up():
    kept = draft_of(answered("A"))
    [draft] = offers()
    kept.end()
    with pytest.raises(Taken):
        resume(draft)
    assert list(folder().iterdir()) == []


def test_a_dropped_draft_does_not_come_back():
    kept = draft_of(answered("A"))
    drop(offers()[0])
    with pytest.raises(Taken):
        kept.keep(answered("B"))
    assert not offers()


def test_a_draft_ends_with_its_save_and_another_begins():
    kept = draft_of(answered("A"))
    kept.end()
    assert list(folder().iterdir()) == []
    after = begin(Path("site.toml"), "", answered("A"))
    after.keep(answered("A", typing=None))
    assert not offers()
    after.keep(answered("B"))
    assert last() == answered("B")


# The site's file


def test_a_draft_knows_its_file_and_whether_it_changed(tmp_path):
    site = tmp_path / "a.toml"
    site.write_text("# by hand\nschema = 1\n")
    kept = draft_of(answered("A"), site=site, text=site.read_text())
    other = draft_of(answered("Of another"))
    assert [draft.kept.site for draft in offers(site)] == [site]
    (tmp_path / "link.toml").symlink_to(site)
    assert [draft.changed for draft in offers(tmp_path / "link.toml")] == [False]
    site.write_text("# by somebody else\nschema = 1\n")
    assert [draft.changed for draft in offers(site)] == [True]
    assert "changed since" in offers(site)[0].line()
    _, again = resume(offers(site)[0])
    assert again.text == "# by hand\nschema = 1\n"  # so that a save sees that somebody else changed it
    site.unlink()
    assert [draft.changed for draft in offers(site)] == [True]
    os.mkfifo(site)
    assert [draft.changed for draft in offers(site)] == [True]  # and nobody waits for its writer
    assert [draft.changed for draft in offers()] == [True, False]
    kept.close()
    other.close()


def test_a_file_that_came_where_there_was_none_is_a_change(tmp_path):
    draft_of(answered("A"), site=tmp_path / "new.toml")
    assert [draft.changed for draft in offers()] == [False]
    (tmp_path / "new.toml").write_text("schema = 1\n")
    assert [draft.changed for draft in offers()] == [True]


def test_killed_between_save_and_end_there_is_nothing_left_to_offer(tmp_path):
    site = tmp_path / "a.toml"
    site.write_text("schema = 1\n")
    kept = draft_of(answered("A"), site=site, text="schema = 1\n")
    site.write_text('# kept\nschema = 1\n[site]\nname = "A"\n[plan]\nstanding = "stopped"\n')
    assert len(offers()) == 1, "it is open: its session ends it"
    kept.close()
    assert offers() == ()
    kept = draft_of(answered("A", typing="more"), site=site, text="schema = 1\n")
    kept.close()
    assert len(offers()) == 1, "what is being typed is in no file"


# The clock, the folder, the disk


def test_a_clock_that_jumps_back_leaves_the_order(monkeypatch):
    now = {"is": 2_000_000_000.0}
    monkeypatch.setattr(time, "time", lambda: now["is"])
    first = draft_of(answered("first"))
    now["is"] = 1_000_000_000.0
    second = draft_of(answered("second"))
    assert [draft.name for draft in offers()] == ["second", "first"]
    first.keep(answered("first again"))
    assert [draft.name for draft in offers()] == ["second", "first again"]
    now["is"] = -5.0
    second.keep(answered("second again"))
    assert last_of("second again")
    now["is"] = 1e300
    second.keep(answered("second at the end of time"))
    assert offers()[0].line().startswith("second at the end of time, open in another window, at a time that no clock has")
    assert main(["drafts", "--json"]) == 0


def last_of(name):
    return any(draft.name == name for draft in offers())


def no_space(*_, **__):
    raise OSError(errno.ENOSPC, "No space left on device")


def test_on_a_full_disk_answers_stay_in_memory_and_are_tried_again(monkeypatch):
    kept = draft_of(answered("A"))
    before = the_file().read_bytes()
    write = os.write
    monkeypatch.setattr(os, "write", lambda handle, data: write(handle, data[:7]) if len(data) > 7 else no_space())
    monkeypatch.setattr(tempfile, "mkstemp", no_space)
    for name in "BC":
        trouble = kept.keep(answered(name))
        assert isinstance(trouble, NotKept)
        assert trouble == kept.trouble
        assert "no space left" in trouble.text and "IN MEMORY ONLY" in trouble.text and "F2" in trouble.text and "\n" not in trouble.text
        assert len(trouble.text) <= 78
    assert the_file().read_bytes().startswith(before)
    assert last() == answered("A")
    monkeypatch.undo()
    monkeypatch.setenv("XDG_STATE_HOME", str(the_state(kept)))
    assert kept.keep(answered("C")) is None
    assert kept.trouble is None
    assert last() == answered("C")


def the_state(kept):
    return kept._path.parents[2]


def test_a_disk_that_does_not_confirm_is_not_written_on(monkeypatch):
    kept = draft_of(answered("A"))
    fsync, failed = os.fsync, []

    def failing(handle):
        if not failed:
            failed.append(handle)
            raise OSError(errno.EIO, "Input/output error")
        return fsync(handle)

    before = the_file().stat().st_ino
    monkeypatch.setattr(os, "fsync", failing)
    assert kept.keep(answered("B")) is None
    assert failed
    assert the_file().stat().st_ino != before, "what the disk lost once it may have lost for good: all is written anew"
    assert last() == answered("B")


LIMITED = """
import resource, sys
from pathlib import Path
from wizard.drafts.folder import begin
from wizard.drafts.snapshot import Snapshot
kept = begin(None, None, Snapshot())
site = Path(sys.argv[1])
print(kept.keep(Snapshot({"a": "small"})))
resource.setrlimit(resource.RLIMIT_FSIZE, (600, resource.RLIM_INFINITY))
for number in range(4):
    trouble = kept.keep(Snapshot({"a": "x" * 1000 + str(number)}))
    print(trouble.text)
from engine.files.write import write
try:
    write(site, "y" * 5000)
except OSError as problem:
    print("save:", problem.strerror)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
print(kept.keep(Snapshot({"a": "large" * 500})))
"""


def test_where_no_file_may_grow_nothing_is_corrupted(tmp_path):
    site = tmp_path / "site.toml"
    site.write_text("as it was")
    if resource.getrlimit(resource.RLIMIT_FSIZE)[1] != resource.RLIM_INFINITY:
        pytest.skip("files of this process are limited already")
    done = subprocess.run([sys.executable, "-c", LIMITED, str(site)], cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    told = done.stdout.splitlines()
    assert told[0] == told[-1] == "None"
    assert all("file too large" in line for line in told[1:5])
    assert told[5] == "save: File too large"
    assert site.read_text() == "as it was"
    assert last() == Snapshot({"a": "large" * 500})


def test_a_folder_that_went_is_made_anew():
    kept = draft_of(answered("A"))
    the_file().unlink()
    folder().rmdir()
    folder().parent.rmdir()
    assert kept.keep(answered("B")) is None
    assert last() == answered("B")


def test_a_folder_that_cannot_be_is_told_and_tried_again(state):
    state.write_text("a file, where the folder would be")
    kept = begin(None, None, NEW)
    trouble = kept.keep(answered("A"))
    assert trouble is not None and "not a directory" in trouble.text
    assert offers() == ()
    state.unlink()
    assert kept.keep(answered("A")) is None
    assert last() == answered("A")


def test_a_folder_that_may_not_be_written_to(monkeypatch):
    draft_of(answered("A")).close()

    def refused(*_, **__):
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(tempfile, "mkstemp", refused)
    monkeypatch.setattr(Path, "rename", refused)
    monkeypatch.setattr(Path, "unlink", refused)
    snapshot, kept = resume(offers()[0])
    assert snapshot == answered("A"), "what is there is read all the same"
    assert kept.trouble is not None and "read-only" in kept.trouble.text
    assert kept.keep(answered("B")) is not None
    kept.end()
    assert last() == answered("A")


def no_home(_):
    raise RuntimeError("could not determine the home directory")


@pytest.mark.parametrize("found", [no_home, lambda name: Path("~/.local/state") / name])
def test_without_a_home_nothing_lands_in_the_folder_of_the_site(tmp_path, monkeypatch, found):
    monkeypatch.setattr(home, "user_state_path", found)
    monkeypatch.chdir(tmp_path)
    kept = begin(None, None, NEW)
    trouble = kept.keep(answered("A"))
    assert trouble is not None and "no home folder" in trouble.text
    assert offers() == ()
    kept.end()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("data", [b"", b"\0" * 4096, b"00000000 {}\n", b"[1, 2]\n", b"\xff\xfe" * 9])
def test_what_is_no_draft_is_told_and_left_alone(data, capsys):
    draft_of(answered("A")).close()
    spoilt = folder() / "000009-0123456789ab.draft"
    spoilt.write_bytes(data)
    (folder() / "notes.txt").write_text("somebody's own")
    found, unreadable = drafts()
    assert [draft.name for draft in found] == ["A"]
    assert unreadable == (spoilt,)
    assert main(["drafts"]) == 0
    assert "cannot be read" in capsys.readouterr().err
    assert spoilt.exists()


def test_a_draft_of_another_form_is_not_read():
    draft_of(answered("A"))
    data = the_file().read_bytes()
    from wizard.drafts.records import line_of

    record = json.loads(data.partition(b" ")[2])
    for wrong in ({"form": 2}, {"site": 5}, {"at": "soon"}, {"tables": 3}, {"place": []}, {"refused": {"a": "b"}}, {"order": ["x"]}):
        the_file().write_bytes(line_of(json.dumps(record | wrong), 0)[0])
        assert read(the_file()) is None, wrong


def test_what_a_killed_session_was_writing_is_cleared_away():
    draft_of(answered("A")).close()
    stray = folder() / f".{the_file().name}.abcdefgh.part"
    stray.write_bytes(b"half")
    resume(offers()[0])
    assert not stray.exists()


# The command


def test_the_command_lists_newest_first(capsys, tmp_path):
    assert main(["drafts"]) == 0
    said = capsys.readouterr()
    assert said.out == "" and "no drafts" in said.err
    draft_of(answered("Old"), site=tmp_path / "old.toml").close()
    draft_of(answered("New", typing="5 k")).close()
    assert main(["drafts"]) == 0
    first, second, where = capsys.readouterr().out.splitlines()
    assert first.startswith("1  New, ") and "'5 k' being typed" in first and "page " in first
    assert second.startswith("2  old.toml, ") and where == f"   of {tmp_path / 'old.toml'}"
    assert main(["drafts", "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)
    assert [row["number"] for row in listed] == [1, 2]
    assert listed[0]["typing"] == "5 k" and listed[0]["site"] is None and listed[1]["site"] == str(tmp_path / "old.toml")
    assert dt.datetime.fromisoformat(listed[0]["kept"]).tzinfo is not None


def test_the_command_drops_one(capsys):
    draft_of(answered("A")).close()
    draft_of(answered("B")).close()
    assert main(["drafts", "drop", "2"]) == 0
    assert "dropped" in capsys.readouterr().err
    assert [draft.name for draft in offers()] == ["B"]
    assert main(["drafts", "drop", "2"]) == 2
    assert "no draft 2" in capsys.readouterr().err
    for words in (["drop"], ["drop", "0"], ["drop", "-1"], ["lose", "1"], ["drop", "x"], ["resume"]):
        with suppress(SystemExit):
            assert main(["drafts", *words]) == 2, words
    capsys.readouterr()
    assert [draft.name for draft in offers()] == ["B"]


def test_the_command_drops_none_that_is_open(capsys):
    kept = draft_of(answered("A"))
    assert main(["drafts", "drop", "1"]) == 2
    assert "open in another window" in capsys.readouterr().err
    assert kept.keep(answered("B")) is None


def test_resuming_wants_a_terminal_and_changes_nothing_without(capsys):
    draft_of(answered("A")).close()
    before = the_file()
    assert main(["drafts", "resume", "1"]) == 2
    assert "terminal" in capsys.readouterr().err
    assert the_file() == before


def test_listing_drafts_needs_no_textual():
    done = subprocess.run([sys.executable, "-c", "import sys; from wizard.cli import main; main(['drafts']); print([name for name in ('textual', 'pint') if name in sys.modules])"], cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.strip() == "[]"


# Kills; a thousand in benchmarks/kills.py


def test_thirty_kills_lose_nothing():
    told = drafts_killed(30, seed=7)
    assert "none lost" in told


def test_thirty_killed_interviews_lose_no_answer():
    assert "no answer lost" in interviews_killed(30, seed=7)


def test_ten_kills_leave_the_file_whole(tmp_path):
    assert "always whole" in saves_killed(10, seed=7, folder=tmp_path)
