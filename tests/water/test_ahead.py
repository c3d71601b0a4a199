"""Answers begun ahead, beside what goes on: the same answers, to the last bit."""

from __future__ import annotations

import os
import threading

import phreeqc
import pytest

from desalbook.problems import EngineError
from desalbook.water.phreeqc import Water, ahead, complete, curves_text, engine, speciate, speciation_text

SEA = complete(Water.of({"Na": 0.486, "K": 0.0106, "Ca": 0.0107, "Mg": 0.055, "Cl": 0.566, "SO4": 0.0293, "B": 4.3e-4},
                        alkalinity=0.0024, ph=8.1))
TEXTS = [(key, text) for t in (279.0, 291.0, 303.0)
         for key, text in (curves_text(SEA, t), speciation_text(SEA, t), speciation_text(SEA, t, "fresh"))]


@pytest.fixture(autouse=True)
def fresh():
    engine.forget_answers()
    yield
    engine.forget_answers()


def test_the_texts_are_those_that_will_be_asked(monkeypatch):
    asked = []
    run = engine.run
    monkeypatch.setattr(engine, "run", lambda *one: asked.append(one) or run(*one))
    for key in ("brine", "fresh"):
        speciate(SEA, 291.0, key)
    assert asked == [speciation_text(SEA, 291.0), speciation_text(SEA, 291.0, "fresh")]


def test_ahead_or_not_the_bits_are_the_same(monkeypatch):
    alone = [engine.run(*one) for one in TEXTS]
    for order in (TEXTS, TEXTS[::-1]):
        engine.forget_answers()
        ahead(order)
        assert [engine.run(*one) for one in TEXTS] == alone
    # the binding's own interface, one thread
    engine.forget_answers()
    monkeypatch.setattr(engine, "_library", lambda: None)
    monkeypatch.setattr(engine, "_instances", {})
    ahead(TEXTS)
    assert not engine._ahead
    assert [engine.run(*one) for one in TEXTS] == alone
    assert all(isinstance(x, phreeqc.Phreeqc) for free in engine._instances.values() for x in free)


@pytest.mark.skipif(engine._library() is None, reason="this build of the engine shows no C interface")
def test_what_is_begun_is_not_done_twice(monkeypatch):
    done, begun, go_on = [], threading.Event(), threading.Event()
    answered = engine._answered

    def watched(key, text):
        done.append((threading.current_thread().name, text))
        if threading.current_thread() is not threading.main_thread():
            begun.set()
            assert go_on.wait(20)
        return answered(key, text)

    monkeypatch.setattr(engine, "_answered", watched)
    one, two, *_ = TEXTS
    ahead([one, two, None, one])
    assert begun.wait(20)
    engine.run(*two)  # waits behind the other, so it is answered here
    assert done[-1] == ("MainThread", two[1])
    threading.Timer(0.05, go_on.set).start()
    engine.run(*one)  # is under way, so it is waited for
    assert [text for _, text in done] == [one[1], two[1]]
    ahead([one, two])  # known by now
    assert not engine._ahead


def test_an_error_comes_when_it_is_asked_for():
    wrong = ("brine", "SOLUTION 1\n pH 7 Nothing 0\nEND\n")
    ahead([wrong])
    with pytest.raises(EngineError, match="no solution"):
        engine.run(*wrong)
    assert engine.run(*TEXTS[1]).row()["ph"] == pytest.approx(8.3, abs=0.5)


def test_what_nobody_asks_for_does_not_pile_up():
    for n in range(3 * engine._MOST_AHEAD):
        ahead([("brine", f"SOLUTION 1\n temp {10 + n / 100}\nEND\n")])
    assert len(engine._ahead) <= engine._MOST_AHEAD


def test_a_water_without_carbon_is_passed_over():
    assert speciation_text(Water.of({"Na": 0.5, "Cl": 0.5}, ph=7.0), 298.15) is None


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_a_forked_process_answers_for_itself():
    alone = engine.run(*TEXTS[0])
    engine.forget_answers()
    ahead(TEXTS * 2)
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.write(write, b"same" if engine.run(*TEXTS[0]) == alone else b"other")
        finally:
            os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        assert pipe.read() == b"same"
    assert os.waitpid(child, 0)[1] == 0
    assert engine.run(*TEXTS[0]) == alone
