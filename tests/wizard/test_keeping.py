"""The interview and its draft together, without a screen: when what is kept, and what is told where it cannot be."""

from __future__ import annotations

import errno
import tempfile
from dataclasses import replace

import pytest

from wizard.answers.session import Session
from wizard.drafts import home
from wizard.drafts.folder import begin, offers
from wizard.drafts.journal import Taken, read
from wizard.drafts.snapshot import Snapshot
from wizard.interview.drafting import resumed, snapshot
from wizard.interview.events import Draft, Key, Leave, Save, Saved
from wizard.interview.state import begun
from wizard.screens.keeping import Keeping, taken_up


@pytest.fixture(autouse=True)
def state_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


class Kept:
    """An interview with its keeping: keys in, wishes and the draft's last moment out."""

    def __init__(self, session=None):
        self.state = begun(session or Session())
        self.keeping = Keeping(self.state)
        self.wanted = ()

    def press(self, *keys):
        for key in keys:
            self.event(Key(key if len(key) > 1 else "", key if len(key) == 1 else "", 0.0))
        return self

    def event(self, event):
        self.state, self.wanted = self.keeping.handled(self.state, event)

    def count(self, text):
        """The number of units answered."""
        self.state = self.state.at(replace(self.state.place, key="set.count"))
        return self.press(*text, "enter")

    def save(self, path):
        session = self.state.session
        return Saved(session.save(path), path, with_plan=False)


def on_disk() -> list[Snapshot]:
    if not home.folder().exists():
        return []
    return [kept.snapshot for path in sorted(home.folder().iterdir()) if (kept := read(path))]


def test_an_answer_is_on_the_disk_when_it_can_be_shown_and_typing_only_waits():
    at = Kept()
    at.press("tab", "6")
    assert at.keeping.waits
    assert on_disk() == []
    at.state = at.keeping.kept(at.state)
    assert not at.keeping.waits
    assert [one.typing for one in on_disk()] == ["6"]
    at.press("enter")
    assert on_disk()[0].document["set"] == {"count": 6}
    assert on_disk() == [snapshot(at.state)]


def test_each_kind_of_change_is_kept_at_once():
    at = Kept().count("6")
    assert on_disk()[0].document["set"] == {"count": 6}
    at.count("6x")
    assert on_disk()[0].refused["set.count"][0] == "6x"
    at.press("f5")  # the refused text is taken back
    assert on_disk()[0].refused == {}
    at.press("f5")
    assert "set" not in on_disk()[0].document
    at.press("ctrl+y")
    assert on_disk()[0].document["set"] == {"count": 6}


def test_moving_about_waits_and_is_no_draft_by_itself():
    at = Kept().press("tab", "tab", "f8")
    assert at.keeping.waits
    at.state = at.keeping.kept(at.state)
    assert on_disk() == []


def test_what_came_while_the_file_was_written_is_in_a_draft_of_that_file(tmp_path):
    at = Kept().count("6")
    saved = at.save(tmp_path / "mill.toml")
    at.count("7")
    at.count("x")
    at.event(saved)
    [draft] = offers()
    assert (draft.kept.site, draft.changed) == (tmp_path / "mill.toml", False)
    assert draft.kept.snapshot.document["set"] == {"count": 7}
    assert list(draft.kept.snapshot.refused) == ["set.count"]
    assert draft.kept.text == (tmp_path / "mill.toml").read_text()


def test_a_save_of_all_leaves_no_draft(tmp_path):
    at = Kept().count("6")
    at.event(at.save(tmp_path / "mill.toml"))
    assert on_disk() == []
    assert at.state.told.startswith("Saved")


def test_the_new_draft_is_there_before_the_old_one_goes(tmp_path, monkeypatch):
    """A crash at any moment of the change leaves one of them."""
    at = Kept().count("6")
    saved = at.save(tmp_path / "mill.toml")
    at.count("7")
    before = at.keeping.journal.end
    seen = []
    monkeypatch.setattr(at.keeping.journal, "end", lambda: (seen.extend(on_disk()), before())[1])
    at.event(saved)
    assert [one.document["set"] for one in seen] == [{"count": 7}, {"count": 7}]
    assert len(on_disk()) == 1


def no_space(*_, **__):
    raise OSError(errno.ENOSPC, "No space left on device")


def test_where_the_new_draft_cannot_be_the_old_one_stays(tmp_path, monkeypatch):
    at = Kept().count("6")
    saved = at.save(tmp_path / "mill.toml")
    at.count("7")
    with monkeypatch.context() as full:
        full.setattr(tempfile, "mkstemp", no_space)
        at.event(saved)
    assert [one.document["set"] for one in on_disk()] == [{"count": 7}]
    at.count("8")
    assert [one.document["set"] for one in on_disk()] == [{"count": 8}]


def test_a_full_disk_is_told_and_so_is_that_it_went_well_again(monkeypatch):
    at = Kept()
    with monkeypatch.context() as full:
        full.setattr(tempfile, "mkstemp", no_space)
        at.count("6")
        assert at.state.told == "! KEPT IN MEMORY ONLY (no space left on device). F2 saves to a file."
        assert at.state.session.answers.set.count == 6
        assert not at.keeping.safe(at.state)
    at.count("7")
    assert at.state.told == "Kept on the disk again."
    assert on_disk()[0].document["set"] == {"count": 7}
    assert at.keeping.safe(at.state)


def test_a_session_whose_draft_was_taken_up_only_shows():
    stalled = Kept().count("6")
    state, second = taken_up(offers()[0])
    assert state.session.answers.set.count == 6
    before = stalled.state.session
    stalled.count("9")
    assert stalled.state.session is before, "an answer that is not kept is not shown as taken"
    assert stalled.state.told == str(Taken())
    assert stalled.wanted == ()
    page = stalled.state.place.page
    stalled.press("f8")
    assert stalled.state.place.page is not page
    assert "ONLY SHOWN" in stalled.state.told
    for keys in (["f2", "enter"], ["4", "enter"], ["f5"], ["ctrl+y"]):
        stalled.press(*keys)
        assert stalled.state.session.typed == before.typed
        assert not any(isinstance(one, Save) for one in stalled.wanted)
    assert stalled.keeping.safe(stalled.state), "nothing to rescue: the draft has it"
    stalled.press("f10")
    assert stalled.wanted == (Leave(),)
    stalled.keeping.journal.end()
    second.journal.keep(replace(snapshot(state), typing="on"))
    assert [one.typing for one in on_disk()] == ["on"]


def test_an_interview_goes_on_from_its_draft_with_the_file_as_it_was_opened(tmp_path):
    site = tmp_path / "mill.toml"
    site.write_text("# a remark\n[set]\ncount = 2 # two\n[unit]\nreal_power = 'no power'\n")
    first = Kept(Session.open(site)).count("6")
    assert list(first.state.refused) == ["unit.real_power"]
    site.write_text("[set]\ncount = 3\n")
    [draft] = offers(site)
    assert draft.changed
    state, _ = taken_up(draft)
    assert state.session.answers.set.count == 6
    assert list(state.refused) == ["unit.real_power"]
    assert state.session.in_the_way(site) == "Somebody else changed the file since it was read here."
    assert "# a remark" in state.session.text()
    assert "count = 6 # two" in state.session.text()
    assert state.session.undo()[1] == ()


def test_answers_of_a_new_file_go_on_and_are_not_written_over_one_that_came(tmp_path):
    first = Kept(Session(path=tmp_path / "new.toml")).count("6")
    assert first.keeping.journal.site == tmp_path / "new.toml"
    (tmp_path / "new.toml").write_text("[set]\ncount = 3\n")
    state, _ = taken_up(offers()[0])
    assert state.session.in_the_way(tmp_path / "new.toml") is not None


def test_a_file_is_called_as_it_was_where_one_is(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Kept(Session(path=home.Path("new.toml"))).count("6")
    state, keeping = taken_up(offers()[0])
    assert str(state.session.path) == "new.toml"
    assert keeping.journal.site == tmp_path / "new.toml"


def test_typed_text_comes_back_in_its_place_or_is_told():
    session = Session()
    there = begun(session)
    kept = Snapshot(session.typed, {}, there.place.page.name, "set.count", None, "12")
    state = resumed(session, kept, "told")
    assert (state.place.key, state.typed, state.told) == ("set.count", "12", "told")
    gone = replace(kept, page="loads", key="loads[4].power", typing="3 k")
    state = resumed(session, gone, "told")
    assert state.typed is None
    assert "'3 k' was being typed" in state.told
    nowhere = replace(kept, page="a page of another version")
    assert "'12' was being typed" in resumed(session, nowhere, "").told


def test_a_draft_of_answers_that_cannot_be_is_told_and_left():
    begin(None, None, Snapshot()).keep(Snapshot({"schema": 99, "set": {"count": 6}}))
    found = taken_up(offers()[0])
    assert isinstance(found, str)
    assert "version" in found
    assert len(offers()) == 1


def test_a_draft_that_was_ended_meanwhile_is_told():
    at = Kept().count("6")
    [draft] = offers()
    at.keeping.journal.end()
    assert "another window" in taken_up(draft)


def test_an_offer_is_chosen_dropped_twice_or_left():
    from wizard.interview.drafting import offer

    def after(*keys):
        at = Kept()
        at.state = replace(at.state, box=offer(["one", "two"], of_a_file=False))
        return at.press(*keys)

    assert after("enter").wanted == (Draft("resume", 0),)
    assert after("down", "enter").wanted == (Draft("resume", 1),)
    assert after("down", "down", "enter").wanted == ()
    assert after("escape").wanted == ()
    assert after("escape").state.box is None
    assert after("end", "enter").wanted == ()
    assert after("end", "enter", "enter").wanted == (Draft("offer"),)
    assert after("end", "enter", "down", "enter").wanted == (Draft("drop", 1),)

