"""The program as a process: streams that are closed, say few letters or lose their reader; what stands where it writes."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
import tomllib

import pytest

from tests.conftest import ROOT

ALDER = ROOT / "sample_sites" / "alder-farm" / "site.toml"
FERRY = ROOT / "sample_sites" / "ferry-house" / "site.toml"


def shell(line, folder, **env):
    """A line of the shell, in which `phasewright` is the program of this tree."""
    program = f"{shlex.quote(sys.executable)} -c 'from wizard.cli import entry; entry()'"
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "0", **env}
    return subprocess.run(["bash", "-c", f'phasewright() {{ {program} "$@"; }}\n{line}'], cwd=folder, env=surroundings, capture_output=True, timeout=60, check=False)


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "site.toml").write_text(FERRY.read_text(encoding="utf-8").replace('name = "Ferry House"', 'name = "Fährhaus"'), encoding="utf-8")
    return tmp_path


def harmless(done):
    assert b"Traceback" not in done.stderr
    assert b"fault of this program" not in done.stderr
    return done


def test_a_summary_never_ends_in_the_plan_where_stderr_is_closed(folder):
    done = harmless(shell("phasewright plan site.toml 2>&- > out.toml", folder))
    assert done.returncode == 0
    written = tomllib.loads((folder / "out.toml").read_text(encoding="utf-8"))
    assert written["plan"]["standing"] == "cautions"
    assert "phasewright: revision" not in (folder / "out.toml").read_text(encoding="utf-8")


def test_a_closed_stdout_is_told_where_something_was_to_go_there(folder):
    done = harmless(shell("phasewright plan site.toml >&-", folder))
    assert (done.returncode, b"cannot be written" in done.stderr) == (2, True)
    done = harmless(shell("phasewright plan site.toml -o out.toml >&- 2>&- <&-", folder))
    assert (done.returncode, (folder / "out.toml").exists()) == (0, True)


def test_a_closed_stdin_is_told(folder):
    done = harmless(shell("phasewright check - <&-", folder))
    assert (done.returncode, b"stdin: cannot be read" in done.stderr) == (2, True)
    done = harmless(shell("phasewright <&-", folder))
    assert (done.returncode, b"needs a terminal" in done.stderr) == (2, True)


def test_letters_that_stdout_has_not_are_replaced_and_told_but_a_plan_is_utf_8_everywhere(folder):
    done = harmless(shell("phasewright bill site.toml", folder, PYTHONIOENCODING="ascii"))
    assert done.returncode == 0
    assert b"F?hrhaus" in done.stdout
    assert b"stdout is ascii" in done.stderr
    done = harmless(shell("phasewright plan site.toml", folder, PYTHONIOENCODING="latin-1"))
    assert tomllib.loads(done.stdout.decode("utf-8"))["site"]["name"] == "Fährhaus"
    assert b"stdout is" not in done.stderr


def test_a_reader_that_leaves_is_no_fault_and_changes_no_status(folder):
    (folder / "stopped.toml").write_text("schema = 1\n[set]\ncount = 2\n")
    for command, status in (("check site.toml", 0), ("check stopped.toml", 1), ("plan stopped.toml", 1), ("schema", 0), ("--help", 0)):
        done = harmless(shell(f"exec 3>&1; {{ phasewright {command}; echo $? >&3; }} | true", folder))
        assert done.stdout.split()[-1:] == [b"%d" % status], command
        assert b"roken pipe" not in done.stderr


def test_the_programs_own_output_is_a_file_to_write_to(folder):
    done = harmless(shell("phasewright plan site.toml -o /dev/stdout | cat", folder))
    assert tomllib.loads(done.stdout.decode())["plan"]
    (folder / "log").write_text("# kept\n")
    harmless(shell("phasewright plan site.toml -o /dev/stdout >> log", folder))
    assert (folder / "log").read_text(encoding="utf-8").startswith("# kept\n# ")
    done = harmless(shell("mkfifo pipe; cat pipe > got & phasewright plan site.toml -o pipe; wait; test -p pipe && cat got", folder))
    assert tomllib.loads(done.stdout.decode())["plan"]
    assert not list(folder.glob(".*"))


def test_papers_of_two_plans_never_lie_in_one_folder(folder):
    done = harmless(shell(f"phasewright sheets {ALDER} --to papers && phasewright sheets site.toml --to papers", folder))
    both = sorted((folder / "papers").iterdir())
    assert len(both) == 2
    for one in both:
        stamps = {path.read_text(encoding="utf-8")[:4000].split("revision ")[1][:8] for path in one.glob("*.txt")}
        assert stamps == {one.name[:8]}
    assert b"stale, unless it is of another site: " in done.stderr


def test_a_killed_run_of_sheets_leaves_no_folder_and_the_next_clears_what_it_left(folder):
    """Killed by itself at each flush: all is written beside, and not yet renamed."""
    script = "import os, signal, sys\nfrom wizard.cli import main\nturns = int(sys.argv.pop())\nreal = os.fsync\ndef flush(handle):\n    global turns\n    turns -= 1\n    real(handle) if turns else os.kill(os.getpid(), signal.SIGKILL)\nos.fsync = flush\nmain(sys.argv[1:])"
    for turn in (1, 3, 8):
        done = shell(f"{shlex.quote(sys.executable)} -c {shlex.quote(script)} sheets site.toml --to papers {turn}; echo $?", folder)
        assert (done.stdout, len(list((folder / "papers").iterdir()))) == (b"137\n", 1)
        assert all(path.name.startswith(".") for path in (folder / "papers").iterdir())
    harmless(shell("phasewright sheets site.toml --to papers", folder))
    [made] = (folder / "papers").iterdir()
    assert shell(f"cd papers/{made.name} && sha256sum --strict -c SHA256SUMS", folder).returncode == 0


def test_a_killed_run_leaves_nothing_that_the_next_does_not_clear(folder):
    """Killed where it hurts most: the part is written, and not yet renamed."""
    script = "import os, signal\nfrom pathlib import Path\nfrom engine.files import write\nos.fsync = lambda _: os.kill(os.getpid(), signal.SIGKILL)\nwrite.write(Path('out.toml'), 'x')"
    for _ in range(3):
        shell(f"{shlex.quote(sys.executable)} -c {shlex.quote(script)}", folder)
    assert len(list(folder.glob(".out.toml.*.part"))) == 1  # each clears that of the one before
    harmless(shell("phasewright plan site.toml -o out.toml", folder))
    assert sorted(path.name for path in folder.iterdir()) == ["out.toml", "site.toml"]


def test_a_bill_of_many_files_takes_the_memory_of_one(folder):
    def most(count):
        script = "import resource, sys\nfrom wizard.cli import main\nmain(sys.argv[1:])\nprint(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
        done = shell(f"{shlex.quote(sys.executable)} -c {shlex.quote('import gc; gc.disable()' + chr(10) + script)} bill {' '.join(['site.toml'] * count)} | tail -1", folder)
        return int(done.stdout) / 1024

    assert most(20) < most(2) + 5  # MB; each file that is held takes 1.5 MB, what its plan leaves behind half


def test_a_plan_that_could_not_be_read_again_is_never_written(folder):
    text = (folder / "site.toml").read_text(encoding="utf-8")
    text += "".join(f"# {n:70}\n" for n in range(13_500))
    (folder / "site.toml").write_text(text, encoding="utf-8")
    for line in ("phasewright plan site.toml -o site.toml", "phasewright plan site.toml"):
        done = harmless(shell(line, folder))
        assert (done.returncode, done.stdout, b"is read again" in done.stderr) == (2, b"", True)
    assert (folder / "site.toml").read_text(encoding="utf-8") == text


HEADERS = ["[plan]", '["plan"]', "['plan']", "[ plan ]", '[ "pl\\u0061n" ]', "[plan] # here", "[plan]\n# a remark with \u2028 in it"]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("header", HEADERS)
def test_planning_a_file_onto_itself_keeps_comments_line_ends_and_mark(header, end, tmp_path, capsys):
    from wizard.cli import main

    site = tmp_path / "site.toml"
    text = FERRY.read_text(encoding="utf-8").rstrip("\n") + "\n# before \u2028 the plan\n\n"
    stored = f'{header}\nrevision = "00000000"\nmade_with = "x"\nstanding = "ready"\n'
    record = "\n[[record]] # read by me\nstep = 1\n"
    raw = ("\ufeff" + text + stored + record).replace("\n", end).encode()
    site.write_bytes(raw)
    assert main(["plan", str(site), "-o", str(site)]) == 0
    capsys.readouterr()
    once = site.read_bytes().decode()
    # A separator that hides is the one thing that is not left as it was: it is written out.
    before, after = text.replace("\u2028", "\\u2028").strip(), record.strip()
    assert once.startswith("\ufeff" + before.replace("\n", end) + end)
    assert once.endswith(end + after.replace("\n", end) + end)
    assert ("\r" in once) == (end == "\r\n")
    assert once.count("\n") == once.count(end)
    assert "00000000" not in once
    main(["plan", str(site), "-o", str(site)])
    capsys.readouterr()
    assert site.read_bytes().decode() == once


MISTYPED = [("chek", "the nearest command is 'check'"), ("help", "no command, and there is no such file"), ("farm", "ends in .toml"), ("sheet", "'sheets'")]


@pytest.mark.parametrize(("word", "says"), MISTYPED)
def test_a_mistyped_command_or_file_opens_no_interview(word, says, capsys, monkeypatch, tmp_path):
    from wizard.cli import main

    monkeypatch.chdir(tmp_path)
    assert main([word]) == 2
    assert says in capsys.readouterr().err
