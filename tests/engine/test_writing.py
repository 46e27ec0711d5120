"""Writing files: what is kept, what is refused, what is never left behind."""

from __future__ import annotations

import errno
import fcntl
import os
import socket
import stat
import threading
from pathlib import Path

import pytest

from engine.files.write import fitting, write
from engine.tables.bounds import most

ROOTED = pytest.mark.skipif(os.geteuid() != 0, reason="only root may give files away")


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_a_pipe_is_written_to_and_stays_one(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    read = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    heard = []
    write(pipe, "one\n")
    heard.append(os.read(read, 100))
    os.close(read)
    assert heard == [b"one\n"]
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    assert names(tmp_path) == ["pipe"]


def test_more_than_a_pipe_holds_waits_for_its_reader(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    read = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    os.set_blocking(read, True)
    heard = bytearray()

    def listen():
        while got := os.read(read, 65536):
            heard.extend(got)

    listener = threading.Thread(target=listen)
    hold = os.open(pipe, os.O_WRONLY)  # until now nobody writes, which would be the end
    listener.start()
    write(pipe, "x" * 300_000)
    os.close(hold)
    listener.join(10)
    os.close(read)
    assert len(heard) == 300_000


def test_a_pipe_that_nobody_reads_is_refused_at_once(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(OSError, match="nobody reads"):
        write(pipe, "one\n")
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_pipe_that_may_not_be_opened_is_told_as_that(tmp_path, monkeypatch):
    """Not as one that nobody reads: its owner would look for a reader."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)

    def refused(*_):
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr("os.open", refused)
    with pytest.raises(PermissionError, match="Permission denied"):
        write(pipe, "one\n")


def test_a_socket_is_refused_and_stays_one(tmp_path, monkeypatch):
    """Nobody reads a plan from there, and a file in its place would cut off whoever serves it."""
    monkeypatch.chdir(tmp_path)  # a socket's path may have some hundred characters
    with socket.socket(socket.AF_UNIX) as served:
        served.bind("served")
        with pytest.raises(OSError, match="no file, pipe or character device"):
            write(Path("served"), "one\n")
        assert stat.S_ISSOCK(Path("served").stat().st_mode)


def test_what_the_output_goes_to_is_written_to_not_replaced(capfd):
    """`-o /dev/stdout > file`: another file in its place would leave the one that the shell has opened empty."""
    write(Path("/dev/stdout"), "one\n")
    assert capfd.readouterr().out == "one\n"


def test_a_device_stays_one():
    before = Path("/dev/null").stat()
    write(Path("/dev/null"), "one\n")
    after = Path("/dev/null").stat()
    assert stat.S_ISCHR(after.st_mode)
    assert (before.st_ino, before.st_mode, before.st_uid) == (after.st_ino, after.st_mode, after.st_uid)


def test_a_directory_is_refused(tmp_path):
    with pytest.raises(IsADirectoryError):
        write(tmp_path, "one\n")
    assert names(tmp_path) == []


def test_a_symbolic_link_stays_and_what_it_leads_to_is_written(tmp_path):
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "site.toml").write_text("old\n")
    link = tmp_path / "link.toml"
    link.symlink_to("far/site.toml")
    write(link, "new\n")
    assert link.is_symlink()
    assert (tmp_path / "far" / "site.toml").read_text() == "new\n"
    dangling = tmp_path / "dangling.toml"
    dangling.symlink_to("far/new.toml")
    write(dangling, "made\n")
    assert dangling.is_symlink()
    assert names(tmp_path / "far") == ["new.toml", "site.toml"]


def test_a_loop_of_links_is_refused(tmp_path):
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    with pytest.raises(OSError) as wrong:
        write(tmp_path / "a", "one\n")
    assert wrong.value.errno == errno.ELOOP
    assert names(tmp_path) == ["a", "b"]


def test_hard_links_stay_linked_also_where_the_text_is_shorter_or_longer(tmp_path):
    site, other = tmp_path / "site.toml", tmp_path / "other.toml"
    site.write_text("old\n")
    other.hardlink_to(site)
    for text in ("longer than before\n", "short\n"):
        write(site, text)
        assert other.read_text() == text
        assert site.samefile(other)
    assert names(tmp_path) == ["other.toml", "site.toml"]


def test_a_disk_that_fills_up_leaves_a_linked_file_as_it_was(tmp_path, monkeypatch):
    site, other = tmp_path / "site.toml", tmp_path / "other.toml"
    site.write_text("old\n")
    other.hardlink_to(site)
    real, calls = os.fsync, []

    def full(handle):
        calls.append(handle)
        if len(calls) == 1:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(handle)

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        write(site, "much longer than it was before\n")
    assert other.read_text() == "old\n"


@ROOTED
def test_owner_group_and_mode_stay(tmp_path):
    site = tmp_path / "site.toml"
    site.write_text("old\n")
    os.chown(site, 1234, 5678)
    site.chmod(0o640)
    write(site, "new\n")
    found = site.stat()
    assert (found.st_uid, found.st_gid, stat.S_IMODE(found.st_mode)) == (1234, 5678, 0o640)
    assert site.read_text() == "new\n"


def test_a_file_that_cannot_be_given_to_its_owner_is_written_into(tmp_path, monkeypatch):
    """As for somebody who may write to a colleague's file, and may not give files away."""
    site = tmp_path / "site.toml"
    site.write_text("old\n")
    before = site.stat().st_ino

    def refused(*_):
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr("os.geteuid", lambda: site.stat().st_uid + 1)
    monkeypatch.setattr("os.fchown", refused)
    write(site, "new\n")
    assert (site.read_text(), site.stat().st_ino) == ("new\n", before)
    assert names(tmp_path) == ["site.toml"]


def test_a_folder_that_takes_no_file_takes_no_new_one(tmp_path, monkeypatch):
    """There is nothing to write into instead: the person is told, and believes no plan to be kept."""

    def refused(*_, **__):
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr("tempfile.mkstemp", refused)
    with pytest.raises(PermissionError, match="Permission denied"):
        write(tmp_path / "site.toml", "one\n")
    assert names(tmp_path) == []


def test_a_write_protected_file_is_left_alone(tmp_path, monkeypatch):
    site = tmp_path / "site.toml"
    site.write_text("old\n")
    monkeypatch.setattr("os.access", lambda path, mode: mode != os.W_OK)
    with pytest.raises(PermissionError, match="write-protected"):
        write(site, "new\n")
    assert site.read_text() == "old\n"


def test_parts_of_killed_runs_go_and_those_still_written_stay(tmp_path):
    (tmp_path / ".site.toml.abcdefgh.part").write_text("left")
    (tmp_path / ".other.toml.abcdefgh.part").write_text("another's")
    (tmp_path / ".site.toml.part").write_text("not ours")
    with (tmp_path / ".site.toml.ijklmnop.part").open("w") as busy:
        fcntl.flock(busy, fcntl.LOCK_EX)
        write(tmp_path / "site.toml", "new\n")
        assert names(tmp_path) == [".other.toml.abcdefgh.part", ".site.toml.ijklmnop.part", ".site.toml.part", "site.toml"]
    write(tmp_path / "site.toml", "newer\n")
    assert ".site.toml.ijklmnop.part" not in names(tmp_path)


def test_nothing_is_written_that_would_not_be_read_again():
    limit = most("bytes of a file")
    assert fitting("x" * limit)
    with pytest.raises(OSError, match=f"no file over {limit} is read again") as wrong:
        fitting("x" * (limit - 1) + "ä")
    assert wrong.value.errno == errno.EFBIG


def test_a_failure_after_the_new_text_stands_there_is_none_of_writing_it(tmp_path, monkeypatch):
    """The folder that cannot be synced, the part that cannot be closed: the file is replaced, and the disk did not confirm it."""
    path = tmp_path / "site.toml"
    assert write(path, "one\n") is True
    sync = os.fsync
    folders = []

    def failing(handle, number=errno.EIO):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            folders.append(handle)
            raise OSError(number, "Input/output error")
        sync(handle)

    monkeypatch.setattr("os.fsync", failing)
    assert write(path, "two\n") is False
    assert path.read_text() == "two\n"
    # A file system that cannot do it at all says nothing of the disk.
    monkeypatch.setattr("os.fsync", lambda handle: failing(handle, errno.EINVAL))
    assert write(path, "three\n") is True
    assert len(folders) == 2


def test_a_part_that_cannot_be_closed_after_it_was_renamed_is_no_failure(tmp_path, monkeypatch):
    path = tmp_path / "site.toml"
    fdopen = os.fdopen

    class Unclosed:
        def __init__(self, *given):
            self._file = fdopen(*given)

        def __enter__(self):
            return self._file

        def __exit__(self, *_):
            self._file.close()
            raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr("os.fdopen", Unclosed)
    assert write(path, "one\n") is False
    assert path.read_text() == "one\n"
    assert names(tmp_path) == ["site.toml"]


def test_an_old_text_that_cannot_be_put_back_is_told(tmp_path, monkeypatch):
    """Where a rename would part hard links the text is written into the file; if that fails, and so does putting the old one back, the file is damaged."""
    path = tmp_path / "site.toml"
    path.write_text("old\n")
    os.link(path, tmp_path / "other.toml")

    def failing(_):
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr("os.fsync", failing)
    with pytest.raises(OSError, match="the file is damaged"):
        write(path, "new\n")
