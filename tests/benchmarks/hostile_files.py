"""Site files made to take long or much: `python -m tests.benchmarks.hostile_files [WORD...]` plans each and tells seconds and megabytes.

None may take more than 5 s or 300 MB, whatever it says, nor leave a file that cannot be read again. Without words all are run.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
SECONDS, MEGABYTES = 5.0, 300.0
_SIZE = (1 << 20) - 100  # bytes: as long as a file may be


def _sample(name: str) -> str:
    return (ROOT / "sample_sites" / name / "site.toml").read_text(encoding="utf-8")


def _many(entry: Callable[[int], str], most: int = 1 << 20, before: str = "") -> str:
    """As many entries as a file holds, at most `most`."""
    told, size = [before], len(before.encode())
    for n in range(most):
        text = entry(n)
        size += len(text.encode())
        if size > _SIZE:
            break
        told.append(text)
    return "".join(told)


def _without(text: str, table: str) -> str:
    """A text without the entries of one array of tables."""
    kept = [part for part in ("\n" + text).split("\n\n") if not part.strip().startswith((f"[[{table}]]", f"[{table}]"))]
    return "\n\n".join(kept).strip() + "\n"


def _long(n: int, length: int = 200) -> str:
    return f"{n} ".ljust(length, "\N{GREEK SMALL LETTER OMEGA}")


def _load(n: int, *, phase: str = "any", quantity: int = 1, name: str = "") -> str:
    return (
        f'\n[[loads]]\nname = "{name or n}"\nphase = "{phase}"\nquantity = {quantity}\npower = "{20 + n * 7 % 53}.{n % 10} W"\npower_factor = 0.{70 + n % 29}\n'
        f'motor = true\nstart_multiple = 3.{n % 9}\nenergy = "{100 + n} Wh/day"\nthird_harmonic = "{n % 30} %"\n'
    )


_PHASES = ("any", "L1", "L2", "L3", "L1-L2", "L2-L3", "L1-L3", "all")
_BATTERY = _sample("harbour-works")


def _units(count: int, connection: str = "bank-per-unit") -> str:
    text = _BATTERY.replace("per_phase = [4, 4, 4]", f"count = {count}").replace("max_units = 12", f"max_units = {count}")
    text = _without(text, "storage.links").replace("bank-per-phase", connection).replace('length_max = "40 m"\n', "")
    return _without(_without(text, "wall"), "wall.places")


_SOLAR = '\n[solar]\npower="400 W"\nvoc="50 V"\nvmp="41 V"\nisc="10 A"\nimp="9 A"\nseries=100\nparallel=20\ntrackers=12\n'


def _all_at_once() -> str:
    """As much of all as is taken, each different from each."""
    text = _many(lambda n: _load(n, phase=_PHASES[n % 8], quantity=100, name=_long(n)), 500, _without(_units(36), "loads"))
    text += '\n[wall]\nwidth = "30 m"\nheight = "20 m"\n' + _SOLAR
    text += "".join(
        f'[[wall.places]]\nwhat="obstacle"\nx="{(n * 37 % 3000) / 100} m"\ny="{(n * 91 % 2000) / 100} m"\nwidth="{0.01 + n % 7 / 100} m"\nheight="0.{1 + n % 4} m"\n' for n in range(16)
    )
    text += "".join(f'[[storage.links]]\nbank="B{n + 1}"\nunit="L{n // 12 + 1}-{n % 12 + 1}"\n' for n in range(36))
    tags = [f"L{p}-{k}" for p in (1, 2, 3) for k in range(1, 13)]
    kinds = ("battery", "load", "incoming", "solar", "earth", "comms")
    text += "".join(f'[[routes]]\ncarries = "{kinds[n % 6]}"\nto = "{tags[n // 6 % 36]}"\nlane = "{(n * 7 % 7) * 2.4 + 0.5} m"\ngrouped = {n + 1}\n' for n in range(490))
    return text + "".join(f'[[bus_nodes]]\nname="{_long(n)}"\n' for n in range(20))


def cases() -> Iterator[tuple[str, str]]:
    """Name and text of each file."""
    harbour, alder = _BATTERY, _sample("alder-farm")
    few = _without(harbour, "loads")
    for quantity in (1, 100, 1000):
        yield f"loads any x{quantity}", _many(lambda n, q=quantity: _load(n, quantity=q), 500, few)
    yield "loads any, other names", _many(lambda n: _load(n, name=_long(n)), 500, few)
    yield "loads one phase each", _many(lambda n: _load(n, phase=_PHASES[n % 8], quantity=7), 500, few)
    yield "loads mixed, 36 units", _many(lambda n: _load(n, phase=_PHASES[n % 8], quantity=3), 500, _without(_units(36), "loads"))
    yield "loads open count", _many(lambda n: _load(n, quantity=1 + n % 5), 500, few.replace("per_phase = [4, 4, 4]\n", ""))
    yield "loads open count and max", _many(lambda n: _load(n, quantity=1 + n % 5), 500, few.replace("per_phase = [4, 4, 4]\n", "").replace("max_units = 12", "max_units = 1000"))
    yield "loads alike", _many(lambda _: '\n[[loads]]\nname="x"\npower="1 W"\n', 500, few)
    yield "loads too many", _many(lambda _: "[[loads]]\n", before=few)
    yield "loads by machine", _many(lambda n: f'\n[[loads]]\nmachine="{("kettle", "LED lamp", "heat pump on a drive")[n % 3]}"\n', 500, few)
    yield "loads of unknown machines", _many(lambda n: f'\n[[loads]]\nmachine="{n}{"(a " * 90}"\n', 500, few)
    yield "loads wrong each", _many(lambda _: '\n[[loads]]\npower="x"\nphase="L9"\nnme=1\n', 500)
    for connection in ("bank-per-unit", "bank-per-phase", "common-bank"):
        yield f"36 units {connection}", _units(36, connection)
    yield "36 units on an assumed wall, with a lane", _units(36) + "\n[wall]\n" + '\n[[routes]]\ncarries = "comms"\nlane = "1 m"\n'
    yield "36 units, long names", _units(36).replace('"Example 5-48"', f'"{_long(1)}"').replace('"Harbour Works"', f'"{_long(2)}"')
    yield "36 units, solar", _units(36) + _SOLAR
    yield "modules 1000 by 1000", harbour.replace("series = 1", "series = 1000").replace("parallel = 4", "parallel = 1000")
    yield "modules 100 by 100, 36 units", _units(36).replace("series = 1", "series = 100").replace("parallel = 4", "parallel = 100")
    yield "solar", harbour + _SOLAR
    wall = _without(_without(harbour, "wall"), "wall.places")
    for size in ("100 m", "10000 m"):
        yield f"wall {size}", wall + f'\n[wall]\nwidth = "{size}"\nheight = "{size}"\n'
        yield f"wall {size}, things far apart", wall + f'\n[wall]\nwidth = "{size}"\nheight = "{size}"\n' + "".join(
            f'[[wall.places]]\nwhat="unit"\ntag="L{p}-{k}"\nx="{float(size[:-2]) * (0.1 + 0.2 * k)} m"\ny="{float(size[:-2]) * 0.3 * p} m"\n' for p in (1, 2, 3) for k in (1, 2, 3, 4)
        )
    small = wall + '\n[wall]\nwidth = "30 m"\nheight = "20 m"\n'
    obstacle = lambda n: f'[[wall.places]]\nwhat="obstacle"\nx="{(n * 37 % 3000) / 100} m"\ny="{(n * 91 % 2000) / 100} m"\nwidth="{0.01 + n % 7 / 100} m"\nheight="0.{1 + n % 4} m"\n'  # noqa: E731
    yield "obstacles 16, 36 units", _many(obstacle, 16, _units(36) + '\n[wall]\nwidth = "30 m"\nheight = "20 m"\n')
    for many in (16, 1000, 1 << 20):
        yield f"obstacles {many}", _many(obstacle, many, small)
    yield "obstacles on an assumed wall", _many(obstacle, 200, wall)
    comb = lambda n: f'[[wall.places]]\nwhat="obstacle"\nx="{0.5 + n * 0.4} m"\ny="{9.9 if n % 2 else 10.1} m"\nwidth="0.02 m"\nheight="19.6 m"\n'  # noqa: E731
    yield "obstacles as a maze", _many(comb, 16, small)
    yield "obstacles as a maze, 36 units", _many(comb, 16, _units(36) + '\n[wall]\nwidth = "30 m"\nheight = "20 m"\n')
    yield "places of one unit", _many(lambda _: '[[wall.places]]\nwhat="unit"\ntag="L1-1"\nx="1 m"\ny="1 m"\n', before=small)
    yield "places empty", _many(lambda _: "[[wall.places]]\n", before=small)
    tags = [f"L{p}-{k}" for p in (1, 2, 3) for k in (1, 2, 3, 4)]
    kinds = ("battery", "load", "incoming", "solar", "earth", "comms")
    route = lambda n: f'\n[[routes]]\ncarries = "{kinds[n % 6]}"\nto = "{tags[n % 12]}"\nlane = "{(n % 230) / 100} m"\nlength = "{n % 70 + 1} m"\ngrouped = {n % 900 + 1}\n'  # noqa: E731
    yield "routes contradicting", _many(route, 500, _without(harbour, "routes"))
    yield "routes to nowhere", _many(lambda n: f'\n[[routes]]\ncarries = "load"\nto = "{_long(n)}"\n', 500, _without(harbour, "routes"))
    yield "routes of lanes", _many(lambda n: f'\n[[routes]]\ncarries = "{kinds[n % 6]}"\nto = "{tags[n // 6 % 12]}"\nlane = "{(n % 230) / 100} m"\n', 500, _without(harbour, "routes"))
    yield "routes grouped 1000", harbour + "".join(f'\n[[routes]]\ncarries = "{kind}"\ngrouped = 1000\nlength = "10000 m"\n' for kind in kinds)
    yield "routes 10 km", _units(36) + "".join(f'\n[[routes]]\ncarries = "{kind}"\nlength = "10000 m"\n' for kind in kinds)
    yield "everything at its bound", _all_at_once()
    yield "links", _many(lambda n: f'[[storage.links]]\nbank="B{n % 99 + 1}"\nunit="L{n % 3 + 1}-{n % 99 + 1}"\n', before=_without(harbour, "storage.links"))
    yield "wired 297", _without(harbour, "storage.links") + "\n[storage.wired]\n" + "".join(f'L{p}-{k} = "B{k}"\n' for p in (1, 2, 3) for k in range(1, 100))
    yield "link lengths", harbour.replace('["0.5 m", "1.5 m", "3 m"]', "[" + ", ".join(f'"{n / 1000} m"' for n in range(1, 80000)) + "]")
    yield "ports", harbour.replace('ports = ["plug", "socket"]', "ports = [" + ", ".join(['"plug"', '"socket"'] * 40000) + "]")
    yield "bus nodes", _many(lambda n: f'[[bus_nodes]]\nname="{_long(n)}"\nend="{("first", "last")[n % 2]}"\n', 20, harbour)
    yield "records", _many(lambda n: f'[[record]]\nstep={n % 1000 + 1}\nvalue="{"x" * 150}"\n', 5000, alder)
    yield "records, more", _many(lambda _: "[[record]]\n", before=alder)
    yield "notes", _many(lambda n: f'[[loads]]\nname="{n}"\npower="1 W"\nnote="{"x" * 1900}"\n', 500, few)
    yield "comments", _many(lambda n: f"# {n}\n", before=alder)
    yield "comment of one line", alder + "#" + "x" * (_SIZE - len(alder.encode()) - 2)
    yield "unknown keys", _many(lambda n: f"k{n} = 1\n")
    yield "unknown keys of a table", _many(lambda n: f"real_powe{n} = 1\n", before="[unit]\n")
    yield "unknown tables", _many(lambda n: f"[t{n}]\n")
    yield "keys with dots", "a" + ".a" * (_SIZE // 2 - 4) + " = 1\n"
    yield "keys with dots, shorter", _many(lambda n: f"k{n}" + ".a" * 300 + " = 1\n")
    yield "header with dots", "[a" + ".a" * (_SIZE // 2 - 4) + "]\n"
    yield "header of spaces", "[" + " " * (_SIZE - 10) + "\nx = 1"
    yield "header of spaces and a letter", "[a" + " " * (_SIZE - 10) + "\n"
    yield "spaces within a header", "[" + "a " * (_SIZE // 2 - 10) + "\n"
    yield "spaces before a key", " " * (_SIZE - 10) + "\n= 1"
    yield "words before =", "a " * (_SIZE // 2 - 10) + "= 1"
    yield "points before =", ". " * (_SIZE // 2 - 10) + "= 1"
    yield "quotes", '"' * (_SIZE - 1)
    yield "key of quotes", "'" + "\"' . '" * (_SIZE // 6) + "\n"
    yield "arrays nested", "x = " + "[" * (_SIZE // 2) + "]" * (_SIZE // 2 - 10)
    yield "arrays nested, few", "x = " + "[" * 300 + "]" * 300
    yield "tables nested", "x = " + "{a=" * (_SIZE // 4)
    yield "tables nested, few", "x = " + "{a=" * 200 + "1" + "}" * 200
    yield "tables deep in a plan", alder + "\n[plan" + ".a" * 300 + "]\nb = 1\n"
    yield "tables of tables", _many(lambda n: f"[[a]]\n[[a.b]]\n[a.b.c{n}]\n")
    yield "array of numbers", "x = [" + "1," * (_SIZE // 2 - 8) + "]"
    yield "array of numbers as loads", "loads = [" + "1," * (_SIZE // 2 - 8) + "]"
    yield "array of numbers as lengths", "[unit.bus]\nlink_lengths = [" + "1," * (_SIZE // 2 - 20) + "]"
    yield "array of tables inline", "loads = [" + "{}," * (_SIZE // 3 - 8) + "]"
    yield "number of a million digits", "[set]\ncount = " + "9" * (_SIZE - 20)
    yield "hexadecimal of a million digits", "[set]\ncount = 0x" + "f" * (_SIZE - 20)
    yield "hexadecimal as schema", "schema = 0x" + "f" * (_SIZE - 20)
    yield "hexadecimal in a plan", alder + "\n[plan]\nrevision = 0x" + "f" * 900_000
    yield "hexadecimal in a record", alder + "\n[[record]]\nstep = 0x" + "f" * 900_000
    yield "float of a million digits", "[unit]\nefficiency = 0." + "9" * (_SIZE - 40)
    yield "quantity of a million digits", '[wall]\nwidth = "' + "9" * (_SIZE - 40) + ' m"'
    yield "quantity of digits in groups", '[wall]\nwidth = "' + "9 999 " * (_SIZE // 6 - 10) + ' m"'
    yield "quantity of spaces", '[wall]\nwidth = "4' + " " * (_SIZE - 40) + 'x"'
    yield "quantity of points", '[wall]\nwidth = "4' + "." * (_SIZE - 40) + 'm"'
    yield "unit of stars", '[wall]\nwidth = "4 ' + "m*" * (_SIZE // 2 - 40) + 'm"'
    yield "unit of words", '[wall]\nwidth = "4 ' + "m " * (_SIZE // 2 - 40) + 'm"'
    yield "conductor of digits", '[unit]\ndc_terminal_max = "' + "9" * (_SIZE - 60) + '"'
    yield "rating of digits", '[incoming]\nbreaker = "' + "9" * (_SIZE - 60) + ' A"'
    yield "tag long", '[set]\nlead = "L1-' + "1" * (_SIZE - 60) + '"'
    yield "place tag long", '[[wall.places]]\ntag = "' + "a " * (_SIZE // 2 - 60) + '!"'
    yield "name of a million", '[site]\nname = "' + "\N{GREEK SMALL LETTER OMEGA}" * (_SIZE // 2 - 60) + '"'
    yield "escapes", '[site]\nname = "' + "\\u0001" * (_SIZE // 6 - 60) + '"'
    yield "name of marks", '[site]\nname = "' + "a" + "\u0301" * 199 + '"\n' + alder[alder.index("[output]"):]
    yield "multiline never closed", 'x = """' + "a\n" * (_SIZE // 2 - 10)
    yield "lines empty", "\n" * (_SIZE - 1)
    yield "lines empty with returns", "\r\n" * (_SIZE // 2 - 1)
    yield "returns", "\r" * (_SIZE - 1)
    yield "choice long", '[output]\narrangement = "' + "x" * (_SIZE - 60) + '"'
    yield "unknown key long", "x" * (_SIZE - 60) + " = 1"
    yield "unknown key long in a table", "[unit]\n" + "x" * (_SIZE - 60) + " = 1"
    yield "labels", _many(lambda n: f'[unit.labels.x{n}]\nname="a"\n')
    yield "labels of one", _many(lambda n: f'x{n} = "a"\n', before="[unit.labels.role]\n")
    yield "settings", _many(lambda n: f'[unit.settings.x{n}]\nname="a"\n')
    yield "wired wrong", _many(lambda n: f'x{n} = "a"\n', before="[storage.wired]\n")
    stored = alder + '\n[plan]\nrevision = "00000000"\nmade_with = "x"\nstanding = "ready"\n'
    yield "plan of findings", _many(lambda n: f'[[plan.findings]]\ncode="x{n}"\nlevel="stop"\nabout="a"\ntext="b"\nremedy="c"\nsource="d"\n', before=stored)
    yield "plan of wrong findings", _many(lambda _: "[[plan.findings]]\n", before=stored)
    yield "plan of unknown keys", _many(lambda n: f"k{n}=1\n", before=stored)
    yield "plan in pieces", _many(lambda n: f"[plan.x{n}]\n", before=stored)


def measure(text: str, *words: str, timeout: float = 40.0) -> tuple[int, float, float, str, Path | None]:
    """Exit status, processor seconds, megabytes, what was said first; run as a process of its own on a copy of the file."""
    with tempfile.TemporaryDirectory() as folder:
        site, said = Path(folder, "site.toml"), Path(folder, "said")
        site.write_bytes(text.encode())
        out = Path(folder, "out.toml")
        process = os.fork()
        if not process:
            import resource

            resource.setrlimit(resource.RLIMIT_CPU, (int(timeout), int(timeout)))
            resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
            with said.open("wb") as err:
                os.dup2(err.fileno(), 2)
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            os.chdir(ROOT)
            os.execv(sys.executable, [sys.executable, "-m", "wizard", *[w.replace("SITE", str(site)).replace("OUT", str(out)).replace("DIR", str(Path(folder, "papers"))) for w in words]])
        _, status, used = os.wait4(process, 0)
        lines = said.read_text(encoding="utf-8", errors="replace").splitlines()
        told = f"[{len(lines)} lines] " + (lines[0] if lines else "")
        size = out.stat().st_size if out.exists() else 0
        return os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, f"{size >> 10} kB {told}", None


def main(words: list[str]) -> int:
    """Plan each file whose name holds one of the words; how many went over a bound."""
    over = 0
    command = ["plan", "SITE", "-o", "OUT"]
    if words and words[0] in ("sheets", "check", "bill", "plan"):
        command = {"sheets": ["sheets", "SITE", "--to", "DIR"], "check": ["check", "SITE"], "bill": ["bill", "SITE"], "plan": command}[words.pop(0)]
    for name, text in cases():
        if words and not any(word in name for word in words):
            continue
        begun = time.monotonic()
        status, seconds, megabytes, said, _ = measure(text, *command)
        bad = seconds > SECONDS or megabytes > MEGABYTES or status not in (0, 1, 2) or "fault of this program" in said or "Traceback" in said
        over += bad
        print(f"{'!!' if bad else '  '} {name:42} exit {status:3} {seconds:6.1f} s {megabytes:6.0f} MB {len(text.encode()) >> 10:5} kB {said[:150]} ({time.monotonic() - begun:.1f})", flush=True)
    return over


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]) > 0)
