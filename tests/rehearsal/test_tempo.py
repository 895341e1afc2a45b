"""The times of each item, from the rows of a record."""

import pytest

from assistant.journal.rows import Row
from assistant.rehearsal.tempo import before_s, lines, paces
from assistant.site.site import Site


def said(at_s: float, lasts_s: float, tag: str, item: str | None = None) -> Row:
    data = {"lasts_s": lasts_s}
    return Row(at_s, "", False, "assistant", "said", "", meaning=tag, item=item, data=data)


def heard(at_s: float, ended_s: float, item: str) -> Row:
    data = {"ended_s": ended_s, "verdict": "accept"}
    return Row(at_s, "", False, "team", "heard", "", meaning="confirm", item=item, data=data)


ROWS = [
    said(0.0, 2.0, "opened"),
    said(10.0, 2.0, "ask", "oxygen-on"),
    heard(12.6, 14.0, "oxygen-on"),
    said(14.4, 0.5, "clock", "oxygen-on"),
    said(15.0, 1.5, "ask", "suction"),
    heard(17.0, 17.5, "suction"),
    said(18.0, 3.0, "why", "suction"),
    said(21.0, 2.5, "ask", "suction"),
    heard(24.0, 25.0, "suction"),
    said(25.3, 2.0, "phase-done"),
]


def test_each_items_times(site: Site) -> None:
    """Speech, gap, answer, decision and total; what is asked in between belongs to the item."""
    oxygen, suction = paces(site.brief, ROWS)

    assert (oxygen.item, suction.item) == ("oxygen-on", "suction")
    assert oxygen.speaking_s == pytest.approx(2.5)
    assert oxygen.gap_s == pytest.approx(0.6)
    assert oxygen.answer_s == pytest.approx(1.4)
    assert oxygen.decision_s == pytest.approx(0.4)
    assert oxygen.total_s == pytest.approx(5.0)
    assert suction.gap_s == pytest.approx(0.5)
    assert suction.decision_s == pytest.approx(0.5)
    assert suction.total_s == pytest.approx(10.3)
    assert (oxygen.asked_once, suction.asked_once) == (True, False)
    assert before_s(site.brief, ROWS) == pytest.approx(15.3)


def test_they_are_a_table_with_the_median_and_the_worst(site: Site) -> None:
    """Aligned: every line of figures is as long as the others."""
    table = list(lines(paces(site.brief, ROWS), before_s(site.brief, ROWS)))

    assert [line.split()[0] for line in table[1:5]] == ["oxygen-on", "suction", "median", "worst"]
    assert len({len(line) for line in table[1:5]}) == 1
    assert table[4].split()[-1] == "10.30"
    assert table[-1] == "The brief before the attempt: 15 s"


def test_of_a_record_without_a_brief_it_says_so(site: Site) -> None:
    """Nobody began."""
    assert list(lines(paces(site.brief, ROWS[:1]), 0.0)) == ["No item was answered."]


def test_the_pause_ends_it_and_a_later_phase_does_not(site: Site) -> None:
    """Its last item is in the table; who goes now has had no more time for it."""
    paused = [*ROWS[:-1], said(25.3, 9.0, "pause"), said(60.0, 1.0, "phase-done")]
    assert [one.item for one in paces(site.brief, paused)] == ["oxygen-on", "suction"]
    assert before_s(site.brief, paused) == pytest.approx(15.3)

    went = [*ROWS[:-1], said(25.3, 2.0, "went-now"), said(90.0, 1.0, "phase-done")]
    assert before_s(site.brief, went) == pytest.approx(15.3)
    assert before_s(site.brief, ROWS[:-1]) == 0.0


def test_what_comes_before_a_read_back_is_not_hidden_by_its_yes(site: Site) -> None:
    """A number may go on, and is waited for longer than a yes."""
    rows = [
        said(10.0, 2.0, "ask", "weight"),
        heard(12.6, 14.0, "weight"),
        said(15.3, 3.0, "read-back", "weight"),
        heard(18.9, 19.2, "weight"),
        said(19.6, 1.0, "noted", "weight"),
        said(20.6, 1.0, "ask", "suction"),
    ]
    (weight,) = paces(site.brief, rows)
    assert weight.decision_s == pytest.approx(1.3)
