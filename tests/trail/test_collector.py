"""The collector waits inside, and is afterwards what it was before."""

import gc
import threading

import pytest

from desalbook import problems
from desalbook.plant import walk
from desalbook.trail.collector import waiting
from tests import shared


@pytest.fixture(autouse=True)
def _on():
    was = gc.isenabled()
    gc.enable()
    yield
    (gc.enable if was else gc.disable)()


def test_it_waits_inside_and_goes_on_after():
    with waiting():
        assert not gc.isenabled()
        with waiting():
            assert not gc.isenabled()
        assert not gc.isenabled()
    assert gc.isenabled()


def test_it_stays_off_where_it_was_off():
    gc.disable()
    with waiting():
        pass
    assert not gc.isenabled()


def test_the_last_of_two_threads_to_leave_sets_it_on():
    entered, leave = threading.Event(), threading.Event()

    def other():
        with waiting():
            entered.set()
            leave.wait(30)

    thread = threading.Thread(target=other)
    with waiting():
        thread.start()
        assert entered.wait(30)
    assert not gc.isenabled()
    leave.set()
    thread.join(30)
    assert gc.isenabled()


def test_it_waits_for_a_plant_and_goes_on_even_where_the_plant_is_refused(monkeypatch):
    seen = []
    walked = walk._walk

    def watched(*args):
        seen.append(gc.isenabled())
        return walked(*args)

    monkeypatch.setattr(walk, "_walk", watched)
    with pytest.raises(problems.Infeasible):
        walk.size(shared.demo().with_value("membrane.vessels", "1"))
    assert seen == [False]
    assert gc.isenabled()
