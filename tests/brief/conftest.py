"""A case at Tarn Hollow without sound: readings in, lines out, for what the caller decides."""

from collections.abc import Callable, Iterator

import pytest

from assistant.brief.caller import Caller
from assistant.brief.case import Case
from assistant.brief.events.asking import BriefChosen
from assistant.brief.events.stored import stored
from assistant.brief.moment import Happened, Steps
from assistant.brief.states import State
from assistant.grammar.readings import Reading, Verdict
from assistant.journal.rows import Row
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.phrasebook.sense import makes_sense
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from assistant.site.site import Site
from assistant.speaking.mouth import Line
from tests.tarn_hollow import SITE

OFF_AND_ON = "(switched off and on)"
"""In place of words: the machine is, and nobody knows for how long it was off."""


class Table:
    """Runs the caller's steps as the conversation does, and keeps rows and lines."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.case = Case(site.brief)
        self.caller = Caller(site, self.case)
        self.rows: list[Row] = []
        self.lines: list[Line] = []
        self.now_s = 0.0
        self.run(self.caller.opened())
        if "planned" in {one.id for one in site.brief.briefs}:  # it has an item of every kind
            self.run(iter([Happened(BriefChosen(brief="planned"), "the planned brief")]))

    def run(self, steps: Steps) -> list[Line]:
        """Apply the steps; return what was said."""
        said: list[Line] = []
        for step in steps:
            if isinstance(step, Happened):
                self.case.check(step.event)
                row = Row(
                    self.now_s,
                    "",
                    False,
                    step.event.who,
                    "event",
                    step.text,
                    item=step.item,
                    data=stored(step.event),
                )
                self.case.apply(row)
                self.rows.append(row)
            else:
                said.append(step)
        self.lines += said
        return said

    def hear(self, meaning: str, said: str = "", **values: str | float) -> list[Line]:
        """Somebody says something that makes sense now; return what is said to it."""
        assert makes_sense(self.case, meaning), f"{meaning} makes no sense while {self.case.state}"
        reading = Reading(said or meaning, meaning, values, 1.0, Verdict.ACCEPT)
        return self.run(self.caller.heard(reading))

    def tell(self, meaning: str, said: str = "", **values: str | float) -> list[Line]:
        """Somebody tells a fact and confirms its read-back; return what is said to the yes."""
        read_back = self.hear(meaning, said, **values)
        assert read_back[-1].tag == "read-back", read_back
        return self.hear("confirm")

    def answer_until(self, item_id: str) -> None:
        """Answer whatever is asked until that item is asked."""
        while self.case.known.current != item_id:
            self.answer()

    def answer(self) -> None:
        """Give the item that is asked an answer that settles it."""
        item = self.case.current
        assert item is not None, f"nothing is asked while {self.case.state}"
        if item.kind == "number":
            usual = {"weight_kg": 70, "pressure_mmhg": 135}.get(item.figure or "", item.low)
            self.hear("number", number=float(usual))
            if self.case.state is State.CHECKING:
                self.hear("confirm")
        elif item.kind == "features":
            self.hear("no_feature")
        elif item.kind == "choose":
            self.hear("choose", choose=item.options[0].id)
        elif item.kind == "name":
            self.hear("name", name=self.site.brief.roster[0].id)
        else:
            self.hear("confirm")

    def pass_time(self, seconds: float) -> list[Line]:
        """Let the clocks run."""
        self.now_s += seconds
        ended = self.run(self.caller.passed(self.now_s))
        return ended + self.run(self.caller.ask_what_is_due(unasked=True))


@pytest.fixture(scope="session")
def site() -> Site:
    """The example site."""
    return SITE


@pytest.fixture
def table(site: Site) -> Table:
    """A new case."""
    return Table(site)


@pytest.fixture(scope="session")
def phrases(site: Site) -> TypedPhrases:
    """What may be said there, looked up by its words; its grammars are built once."""
    return TypedPhrases(Phrasebook(site))


@pytest.fixture
def opened(site: Site, phrases: TypedPhrases) -> Iterator[Callable[..., TextCase]]:
    """Opens a case in text and says what brings it somewhere; all of it has to be heard.

    What stands behind a `~` is heard unsurely; see `OFF_AND_ON`.
    """
    cases: list[TextCase] = []

    def case(*said: str) -> TextCase:
        cases.append(TextCase(site, phrases=phrases, word_s=0))
        for words in said:
            if words == OFF_AND_ON:
                cases[-1].restarts(rebooted=True)
                continue
            cases[-1].hears(words.removeprefix("~"), sure=words[0] != "~")
            row = cases[-1].heard
            assert row is not None, words
            assert row.kind == "heard", words
        return cases[-1]

    yield case
    for one in cases:
        one.close()
