"""The screens, driven by keys alone."""

from __future__ import annotations

import asyncio
import threading
import tomllib
from pathlib import Path

import pytest
from textual import events
from textual.containers import VerticalScroll
from textual.widgets import Input

from wizard import interview
from wizard.pages import PAGES
from wizard.screens import interview as frame
from wizard.screens import planning
from wizard.screens.app import Wizard
from wizard.screens.widgets.answer import Choice, Line
from wizard.session import Session

from .driving import driving
from .test_interview import FIRST


def _three_loads(folder: Path) -> Session:
    """A site of three loads."""
    path = folder / "site.toml"
    path.write_text('[[loads]]\nname = "Lights"\n\n[[loads]]\nname = "Saw"\n\n[[loads]]\nname = "Pump"\n', encoding="utf-8")
    return Session.open(path)


BIG = pytest.mark.parametrize("size", [(80, 24), (40, 12), (120, 40)], ids=str)


async def test_the_first_screen_shows_its_questions_and_what_to_do() -> None:
    """The last of them below its edge, where the focus brings them."""
    async with driving() as at:
        text = at.text()
        for question in PAGES[0].questions[:12]:
            assert question.name in text
        assert "F1 Help" in text
        assert "F10 Leave" in text
        assert "Find out" in text
        await at.press(*["down"] * (len(PAGES[0].questions) - 1))
        for question in PAGES[0].questions[-8:]:
            assert question.name in at.text()


async def test_answers_are_taken_by_keys_alone_and_a_refusal_says_why() -> None:
    async with driving() as at:
        await at.press("t", "down")
        await at.answer("3", "5")
        assert at.session.answers.output.arrangement == "three-phase"
        assert at.session.answers.set.count == 3
        assert at.session.get("unit.real_power") == ""
        assert "wanted a number with one of: W, kW, MW" in at.text()
        # The text that was not accepted is still there after a look at another page, and can be mended.
        await at.press("f8", "f7", "down", "down")
        assert "not accepted" in at.text()
        await at.type(" kW")
        await at.press("enter")
        assert at.session.get("unit.real_power") == "5 kW"
        assert "not accepted" not in at.text()


async def test_choices_by_arrow_letter_list_and_delete() -> None:
    async with driving() as at:
        await at.press("right", "right")
        assert at.session.get("output.arrangement") == "split-phase"
        await at.press("left")
        assert at.session.get("output.arrangement") == "single-phase"
        await at.press("delete")
        assert at.session.get("output.arrangement") == ""
        await at.press("enter")
        assert "180 degrees" in at.text()
        await at.press("down", "down", "enter")
        assert at.session.get("output.arrangement") == "three-phase"
        assert isinstance(at.app.focused, Line)
        assert at.app.focused.key == "set.count"


async def test_escape_drops_nothing() -> None:
    async with driving() as at:
        await at.press("down")
        await at.type("4")
        await at.press("escape", "escape")
        assert isinstance(at.app.focused, Line)
        assert at.app.focused.value == "4"
        await at.press("up", "enter", "escape")
        assert at.session.get("set.count") == "4"
        assert isinstance(at.app.focused, Choice)


async def test_undo_takes_back_one_change() -> None:
    async with driving() as at:
        await at.press("down")
        await at.answer("3", "5 kW")
        await at.press("f5")
        assert at.session.get("unit.real_power") == ""
        assert at.session.get("set.count") == "3"


async def test_what_is_typed_is_accepted_by_going_to_another_page() -> None:
    async with driving() as at:
        await at.press("down")
        await at.type("3")
        await at.press("f8")
        assert at.session.get("set.count") == "3"


@pytest.mark.parametrize("size", [(80, 24), (40, 12)], ids=str)
async def test_every_question_of_every_page_can_be_reached_and_seen(size: tuple[int, int]) -> None:
    """Whatever has the focus stands inside the page's frame, at every size; no line is wider than the screen."""
    async with driving(size=size) as at:
        await at.planned()
        seen = set()
        for page in interview.pages(at.session.answers):
            first = None
            for _ in range(120):
                focused = at.app.focused
                assert focused is not None, page.name
                if focused is first:
                    break
                first = first or focused
                if isinstance(focused, Line | Choice):
                    seen.add(focused.key)
                    holder = at.screen.query_one(frame.Body).region
                    for _ in range(20):  # scrolling follows the focus when the screen has been drawn
                        if holder.contains_region(focused.region):
                            break
                        await at.pilot.pause()
                    assert holder.contains_region(focused.region), (page.name, focused.key, holder, focused.region)
                    assert any(row.strip() for row in at.text().splitlines())
                    assert at.line("#help"), focused.key
                at.screen.focus_next()
                await at.pilot.pause()
            await at.press("f8")
        asked = {question.key for page in interview.pages(at.session.answers) for question in interview.questions(page, at.session.answers)}
        assert asked <= seen


@BIG
async def test_every_page_and_dialog_keeps_status_and_keys_on_the_screen(size: tuple[int, int]) -> None:
    async with driving(size=size) as at:
        await at.planned()
        for _ in interview.pages(at.session.answers):
            rows = at.text().splitlines()
            assert len(rows) == size[1]
            assert "F1" in rows[-1]
            assert rows[-2].strip()
            await at.press("f8")


async def test_a_load_is_added_described_removed_and_brought_back() -> None:
    async with driving() as at:
        await at.press("f4")
        await at.press(*["down"] * 9, "enter")
        assert "add a load" in at.text()
        await at.press("enter")
        await at.answer("Pump")
        await at.press("m")
        await at.press("down")
        await at.answer("2,2 kW")
        load = at.session.answers.loads[0]
        assert (load.name, load.power, load.power_factor, load.motor) == ("Pump", 2200.0, 0.8, True)
        await at.press("escape")
        assert "Pump" in at.text()
        assert "2,2 kW" in at.text()
        await at.press("delete")
        assert at.session.answers.loads == []
        await at.press("f5")
        assert [load.name for load in at.session.answers.loads] == ["Pump"]


async def test_pasting_takes_one_line_and_says_what_was_left_out() -> None:
    async with driving() as at:
        await at.press("down")
        assert at.app.focused is not None
        at.app.focused.post_message(events.Paste("\n3\x1b[2J\nsecond\nthird\n"))
        await at.pilot.pause()
        assert isinstance(at.app.focused, Line)
        assert "\x1b" not in at.app.focused.value
        assert "2 more lines were left out" in at.line("#status")


async def test_names_that_look_like_markup_or_control_come_out_harmless() -> None:
    evil = "[/b][red]<script>\x1b[2J\u202e=1+1"
    session = Session().set_all({"site.name": evil, "loads[0].name": evil})
    assert isinstance(session, Session)
    async with driving(session) as at:
        await at.planned()
        for _ in interview.pages(at.session.answers):
            text = at.text()
            assert "\x1b" not in text
            assert "\u202e" not in text
            await at.press("f8")
        assert "[/b][red]" in at.line("#title")
        # Looked at and left, the bytes are as they were.
        assert at.session.get("site.name") == evil


async def test_a_draft_is_saved_under_a_name_that_is_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    async with driving() as at:
        await at.press("down")
        await at.type("3")
        await at.press("f2")
        await at.press("enter")
        assert (tmp_path / "site.toml").read_text() == "schema = 1\n\n[set]\ncount = 3\n"
        assert "draft" in at.line("#status")
        await at.press("f10")
        await at.pilot.pause()
    assert at.app.return_value == 0


async def test_a_file_that_was_not_opened_here_is_not_overwritten_unasked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "site.toml").write_text('[site]\nname = "Mill"\n')
    async with driving() as at:
        await at.press("down")
        await at.type("3")
        await at.press("f2", "enter")
        assert "already" in at.text()
        await at.press("escape")
        assert (tmp_path / "site.toml").read_text() == '[site]\nname = "Mill"\n'
        await at.press("f2", "enter")
        await at.press("enter")
        await at.press(*["backspace"] * 9)
        await at.type("other.toml")
        await at.press("enter")
        assert "count = 3" in (tmp_path / "other.toml").read_text()
        assert at.session.path == Path("other.toml")


async def test_a_save_that_fails_says_so_and_loses_nothing(tmp_path: Path) -> None:
    async with driving(Session(path=tmp_path / "none" / "site.toml")) as at:
        await at.press("down")
        await at.type("3")
        await at.press("f2")
        assert "NOT SAVED" in at.line("#status")
        assert at.session.get("set.count") == "3"


@pytest.mark.parametrize("key", ["f10", "ctrl+q"])
async def test_leaving_unsaved_asks(key: str) -> None:
    async with driving() as at:
        await at.press("down")
        await at.type("3")
        await at.press(key)
        assert "not saved" in at.text()
        await at.press("escape")
        assert at.app.is_running
        await at.press("f10")
        await at.press("down", "down", "enter")
    assert at.app.return_value == 0


async def test_what_stops_the_plan_is_told_and_gone_to() -> None:
    async with driving() as at:
        await at.planned()
        assert at.line("#status").startswith("STOPPED by ")
        assert "stops the plan" in at.text()
        await at.press("f8", "f8", "f8", "f6")
        assert isinstance(at.app.focused, Line | Choice)
        assert at.app.focused.key in {stop.key for stop in at.screen.view.notes.stops}


async def test_assumed_values_stand_beside_their_questions() -> None:
    async with driving() as at:
        await at.planned()
        await at.press("f8")
        assert "assumed 40 degC" in at.text()


async def test_only_the_plan_of_the_latest_answers_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan that took too long is dropped when it comes; the status never shows an older one as today's."""
    real, gate, asked = planning.planned_for, threading.Event(), []

    def slow(session: Session) -> object:
        asked.append(session.get("set.count"))
        if session.get("set.count") == "3":
            gate.wait(10)
        return real(session)

    monkeypatch.setattr(planning, "planned_for", slow)
    async with driving() as at:
        await at.planned()
        await at.press("down")
        await at.answer("3")
        await asyncio.sleep(0.5)
        assert at.line("#status") == "Planning ..."
        await at.press("up")
        await at.press("backspace")
        await at.answer("4")
        await at.planned()
        gate.set()
        await asyncio.sleep(0.3)
        await at.pilot.pause()
        assert asked[-2:] == ["3", "4"]
        assert at.screen.view.planned is not None
        assert at.screen.view.planned.plan.revision == at.session.revision


async def test_a_broken_planner_is_told_and_drafts_are_still_saved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(session: Session) -> object:
        raise ZeroDivisionError("inside")

    monkeypatch.setattr(planning, "planned_for", broken)
    async with driving(Session(path=tmp_path / "site.toml")) as at:
        await at.press("down")
        await at.answer("3")
        for _ in range(100):
            await asyncio.sleep(0.02)
            if "NO PLAN" in at.line("#status"):
                break
        assert "NO PLAN" in at.line("#status")
        await at.press("f2")
        assert "count = 3" in (tmp_path / "site.toml").read_text()


@BIG
async def test_the_review_shows_standing_findings_units_chain_and_bill(size: tuple[int, int], sample_text: object) -> None:
    assert callable(sample_text)
    from engine.files.read import parse

    site = parse(sample_text("alder-farm").encode(), "site.toml")
    async with driving(Session(document=site.document, answers=site.answers, origin=site), size=size) as at:
        await at.planned()
        await at.press("f4", "end", "enter")
        assert "Revision" in at.text() or size[1] < 24
        told = []
        for _ in range(10):
            body = at.text()
            told.append(body)
            assert all(len(row) <= size[0] for row in body.splitlines())
            await at.press("right")
        whole = "\n".join(told)
        assert "L2-1" in whole
        assert "[Chain]" in whole
        assert "[Bill]" in whole


async def test_a_finding_in_the_review_leads_to_its_question() -> None:
    async with driving() as at:
        await at.planned()
        await at.press("f4", "end", "enter")
        await at.press("down", "enter")
        assert at.screen.focused is not None
        assert not isinstance(at.screen.focused, VerticalScroll)
        assert at.line("#title").split()[0] != f"{len(interview.pages(at.session.answers))}/{len(interview.pages(at.session.answers))}"


async def test_a_unit_is_moved_on_the_wall_with_arrow_keys(sample_text: object) -> None:
    assert callable(sample_text)
    from engine.files.read import parse

    site = parse(sample_text("alder-farm").encode(), "site.toml")
    async with driving(Session(document=site.document, answers=site.answers, origin=site)) as at:
        await at.planned()
        await at.press("f4", *["down"] * [page.name for page in interview.pages(at.session.answers)].index("wall"), "enter")
        await at.press("tab", "tab")
        assert "Moving" in at.text()
        planned = at.screen.view.planned
        assert planned is not None
        before = {place.name: (place.x, place.y) for place in planned.parts.wall.places}
        await at.press("right")
        await at.planned()
        after = {place.name: (place.x, place.y) for place in at.screen.view.planned.parts.wall.places}
        moved = [name for name in before if before[name] != after.get(name)]
        assert len(moved) >= 1
        name = at.text().split("Moving ")[1].split(": ")[0]
        assert after[name][0] == pytest.approx(before[name][0] + 0.05)


async def test_a_fault_of_ours_saves_the_answers_and_shows_no_traceback(tmp_path: Path) -> None:
    async def break_down() -> None:
        async with driving(Session(path=tmp_path / "site.toml")) as at:
            apps.append(at.app)
            await at.press("down")
            await at.type("3")
            at.app._handle_exception(ZeroDivisionError("inside"))

    apps: list[Wizard] = []
    with pytest.raises(ZeroDivisionError):
        await break_down()
    assert "count = 3" in (tmp_path / "site.toml").read_text()
    assert apps[0]._exit_renderables == []
    assert apps[0].fault == "ZeroDivisionError"


async def test_a_window_that_shrinks_keeps_the_answers_and_the_question() -> None:
    async with driving() as at:
        await at.press("down")
        await at.type("3")
        await at.pilot.resize_terminal(40, 12)
        await at.pilot.pause()
        assert isinstance(at.app.focused, Line)
        assert (at.app.focused.key, at.app.focused.value) == ("set.count", "3")
        assert len(at.text().splitlines()) == 12
        assert at.text().splitlines()[-1].startswith("F1Help")


async def test_enter_on_the_last_question_turns_the_page() -> None:
    async with driving() as at:
        await at.press(*["down"] * (len(PAGES[0].questions) - 1))
        await at.answer("8")
        assert at.session.get("storage.bank.parallel") == "8"
        assert "Rules and earthing" in at.line("#title")


async def test_help_says_all_and_goes_away_without_a_change() -> None:
    async with driving() as at:
        await at.press("f1")
        assert "Find out: Read the plates" in at.text()
        await at.press("escape")
        assert isinstance(at.app.focused, Choice)
        assert at.session.document == {"schema": 1}


def sample_session(sample_text: object, name: str = "alder-farm") -> Session:
    assert callable(sample_text)
    from engine.files.read import parse

    site = parse(sample_text(name).encode(), "site.toml")
    return Session(document=site.document, answers=site.answers, origin=site)


async def test_page_keys_scroll_each_section_of_the_review_and_never_leave_it(sample_text: object) -> None:
    async with driving(sample_session(sample_text)) as at:
        await at.planned()
        await at.press("f4", "end", "enter")
        page = at.line("#title")
        seen = []
        for _ in range(3):  # findings are a list, the others a text
            before = at.text()
            seen += [name for name in ("Findings", "Bill") if f"[{name}]" in before]
            await at.press("pagedown")
            await at.press("pagedown")
            assert at.line("#title") == page
            moved = at.text()
            await at.press("pageup")
            await at.press("pageup")
            assert at.line("#title") == page
            if "[Bill]" in before:
                assert moved != before == at.text()
            await at.press(*(["right"] * (3 if "[Findings]" in before else 1)))
        assert seen == ["Findings", "Bill"]


async def test_the_strip_says_where_it_is_cut_and_parts_its_labels_by_semicolons() -> None:
    async with driving(size=(40, 12)) as at:
        await at.planned()
        strip = at.line("#status").rstrip()
        assert strip.startswith("STOPPED by ")
        assert strip.endswith("..")
        assert len(strip) <= 40
    async with driving(size=(400, 24)) as at:
        await at.planned()
        wide = at.line("#status").rstrip()
        names = wide.partition(": ")[2].split("; ")
        assert len(names) > 2
        assert not wide.endswith("..")


def test_a_text_is_cut_only_where_it_does_not_fit() -> None:
    from wizard.screens.frame import cut

    assert cut("abcdef", 6) == "abcdef"
    assert cut("abcdefg", 6) == "abcd.."


async def test_back_from_an_entry_the_list_stands_where_it_was(tmp_path: Path) -> None:
    """Delete after a look at the second load takes the second one, not the first."""
    async with driving(_three_loads(tmp_path)) as at:
        page = next(page for page in PAGES if page.table and page.table.key == "loads")
        await at.screen._open(page, "loads")
        await at.press("down", "enter")
        assert "Load 2" in at.text()
        await at.press("escape", "delete")
        for _ in range(50):
            if len(at.session.entries("loads")) == 2:
                break
            await at.pilot.pause(0.05)
        assert [load["name"] for load in at.session.entries("loads")] == ["Lights", "Pump"]


@pytest.mark.parametrize("name", ["~nobody-of-that-name/site.toml", "x" * 300, "a\0b"])
async def test_a_name_that_no_file_can_have_is_asked_for_again(name: str) -> None:
    async with driving() as at:
        await at.press("f2")
        line = at.app.screen.query_one(Input)
        line.value = name
        await at.press("enter")
        assert "No file can have the name" in at.text()
        await at.press("escape")
        assert "NOT SAVED" not in at.text()


async def test_a_save_from_any_page_renews_the_plan_that_the_file_held(tmp_path: Path) -> None:
    """A plan is never dropped unasked; a file without one gets a draft, but for the review."""
    path = tmp_path / "site.toml"
    path.write_text("[set]\ncount = 2\n", encoding="utf-8")
    async with driving(Session.open(path)) as at:
        await at.press("f2")
        await at.pilot.pause(0.3)
        assert "[plan]" not in path.read_text(encoding="utf-8")
    session = Session.open(path)
    session.save(path, planning.planned_for(session).plan)
    first = path.read_text(encoding="utf-8")
    async with driving(Session.open(path)) as at:
        await at.press("down", "backspace")
        await at.answer("3")
        await at.press("f2")
        for _ in range(100):
            await at.pilot.pause(0.05)
            if "Saved" in at.line("#status"):
                break
        assert "Saved answers and plan" in at.line("#status")
    now = path.read_text(encoding="utf-8")
    assert now != first
    assert tomllib.loads(now)["plan"]["revision"] == Session.open(path).revision


async def test_a_line_that_is_gone_keeps_nobody_waiting() -> None:
    """A page may turn while a plan that comes lays the lines out anew: what is taken off the screen answers no more."""
    async with driving() as at:
        line = at.screen.query(Line).first()
        await line.remove()
        await asyncio.wait_for(frame._arrival(line), 2)


async def test_one_key_leads_to_what_was_not_accepted_then_to_stops_then_to_cautions() -> None:
    async with driving() as at:
        await at.planned()
        await at.press("down", "down")
        await at.answer("5 apples")
        assert at.line("#status") == "1 not accepted (F6)"
        await at.press("f8", "f6")
        assert at.screen._key == "unit.real_power"
    session = Session()
    for key, text in FIRST.items():
        session = session.set(key, text)
    async with driving(session) as at:
        await at.planned()
        cautioned = set()
        for _ in range(3):
            await at.press("f6")
            assert "Caution " in at.line("#status")
            cautioned.add(at.screen._key)
        assert len(cautioned) == 3
        told = at.screen.view.notes.findings
        assert all(any(one.level.value == "caution" for one in told[key]) for key in cautioned)


async def test_the_way_to_the_next_stop_waits_for_the_plan_of_these_answers() -> None:
    """An answer that mends the last stop: the older plan's stop is not gone to."""
    session = Session()
    for key, text in FIRST.items():
        if key != "storage.bank.parallel":
            session = session.set(key, text)
    async with driving(session) as at:
        await at.planned()
        assert at.line("#status").startswith("STOPPED")
        await at.press(*["down"] * 15)
        await at.type("8")
        await at.press("f6")
        await at.planned()
        await at.pilot.pause(0.1)
        assert at.session.get("storage.bank.parallel") == "8"
        assert "Caution 1 of" in at.line("#status")


async def test_plans_that_arrive_while_pages_turn_break_nothing() -> None:
    """A plan may come at any moment of a page turn, to a page that is half laid out or half gone; the page that stands then shows it."""
    session = Session()
    for key, text in FIRST.items():
        session = session.set(key, text)
    async with driving(session) as at:
        await at.planned()
        plan = at.screen.view.planned

        async def arrive() -> None:
            for _ in range(300):
                await at.screen.planned(plan)
                await asyncio.sleep(0)

        arriving = asyncio.ensure_future(arrive())
        for key in ("f8", "f8", "f8", "f7", "f8", "f8", "f8", "f8", "f8", "f8", "f8", "f7", "f7"):
            await at.press(key)
        await arriving
        await at.press("f7", "f8")
        assert at.screen._body is not None
        assert at.app.fault == ""


async def test_an_entry_that_is_dropped_while_its_plan_comes_breaks_nothing(tmp_path: Path) -> None:
    async with driving(_three_loads(tmp_path)) as at:
        await at.planned()
        plan = at.screen.view.planned
        page = next(page for page in PAGES if page.table and page.table.key == "loads")
        await at.screen._open(page, "loads")

        async def arrive() -> None:
            for _ in range(200):
                await at.screen.planned(plan)
                await asyncio.sleep(0)

        arriving = asyncio.ensure_future(arrive())
        for keys in (("enter", "escape", "delete"), ("enter", "escape", "delete"), ("f5", "f5"), ("down", "enter", "f7")):
            await at.press(*keys)
        await arriving
        assert at.app.fault == ""
        assert [load["name"] for load in at.session.entries("loads")] == ["Lights", "Saw", "Pump"]


async def test_what_is_typed_behind_plus_is_the_new_entrys_name() -> None:
    async with driving() as at:
        page = next(page for page in PAGES if page.table and page.table.key == "loads")
        await at.screen._open(page, "loads")
        for name in ("Kettle", "Oven"):
            await at.pilot.press("plus", *name, "enter")
            await at.press("escape")
            await at.pilot.pause(0.1)
        assert [load["name"] for load in at.session.entries("loads")] == ["Kettle", "Oven"]


async def test_space_shows_the_choices_and_changes_none() -> None:
    async with driving() as at:
        await at.press("right", "space")
        assert at.session.get("output.arrangement") == "single-phase"
        assert "180 degrees" in at.text()
        await at.press("escape")
        assert at.session.get("output.arrangement") == "single-phase"


async def test_undo_leaves_the_list_where_it_is(tmp_path: Path) -> None:
    async with driving(_three_loads(tmp_path)) as at:
        page = next(page for page in PAGES if page.table and page.table.key == "loads")
        await at.screen._open(page, "loads")
        await at.press("down", "enter")
        await at.type("X")
        await at.press("enter", "escape", "f5")
        await at.pilot.pause(0.1)
        assert at.app.focused.highlighted == 1


async def test_a_new_file_is_not_called_saved_and_a_rescue_is_told(tmp_path: Path) -> None:
    path = tmp_path / "mill.toml"
    async with driving(Session(path=path)) as at:
        assert "saved" not in at.line("#title")
        assert "new" in at.line("#title")
    path.write_text("[set]\ncount = 2\n", encoding="utf-8")
    (tmp_path / "mill-rescued.toml").write_text("[set]\ncount = 3\n", encoding="utf-8")
    async with driving(Session.open(path)) as at:
        assert "mill-rescued.toml" in at.line("#status")


async def test_a_fault_of_ours_ends_at_once_and_draws_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Textual's own report of a fault draws every figure of the plan: minutes, and gigabytes."""
    monkeypatch.setattr("rich.traceback.Traceback.__init__", lambda *_, **__: pytest.fail("a traceback is drawn"))
    apps = []

    async def broken() -> None:
        async with driving() as at:
            apps.append(at.app)
            at.screen.call_later(lambda: 1 / 0)
            await at.pilot.pause(0.2)

    with pytest.raises(ZeroDivisionError):
        await broken()
    assert (apps[0].fault, apps[0]._exit_renderables) == ("ZeroDivisionError", [])
