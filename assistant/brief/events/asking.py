"""Events of the items: asked, answered, put off."""

from dataclasses import replace
from typing import ClassVar

from pydantic.dataclasses import dataclass
from typing_extensions import override

from assistant.brief.brief import Brief
from assistant.brief.confirmed_items import NOT_APPLICABLE, TimedItem
from assistant.brief.events.base import STRICT, Event
from assistant.brief.item import Answer, Standing
from assistant.brief.items import AnyItem
from assistant.brief.known import Known
from assistant.brief.phases import Phase
from assistant.brief.unsettled import Pending
from assistant.brief.valued_items import FeaturesItem


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Asked(Event):
    """An item came up."""

    name: ClassVar[str] = "asked"
    item: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        if known.current != self.item:
            known.asked_s = at_s
            state = known.items[self.item]
            known.items[self.item] = replace(state, asked_times=state.asked_times + 1)
        known.current = self.item
        known.pending = None
        if known.phase is Phase.BEFORE:
            known.broken_off = False


@dataclass(frozen=True, kw_only=True, config=STRICT)
class ValueHeard(Event):
    """An answer was heard that is read back before it counts."""

    name: ClassVar[str] = "value-heard"
    value: str | int | float
    spoken: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.pending = Pending(self.value, self.spoken)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class ValueRefused(Event):
    """The read-back of an answer was refused."""

    name: ClassVar[str] = "value-refused"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.pending = None


def _learn(known: Known, item: AnyItem, value: Answer) -> None:
    """What an answer tells of the patient besides."""
    if item.number_figure is not None and not isinstance(value, str):
        known.set_figure(item.number_figure, int(value))
    for told, so in item.told_by(value).items():
        known.set_figure(told, so)


def _unlearn(known: Known, item: AnyItem) -> None:
    """What its answer, or a number that was not the wanted one, told is not known any more."""
    state = known.items[item.id]
    answer = state.value if state.told is None else state.told
    if isinstance(item, FeaturesItem):
        known.features.clear()
        for feature in str(answer).split():
            if feature in ("acidosis", "obstruction"):
                setattr(known, feature, None)
    elif answer is not None:
        for told in item.told_by(answer):
            known.set_figure(told, None)
        if "pressure_mmhg" in (item.figure, item.number_figure) and not isinstance(answer, str):
            known.lose_pressure()


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Answered(Event):
    """An item has its answer."""

    name: ClassVar[str] = "answered"
    item: str
    value: str | int | float
    spoken: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        item = brief.item(self.item)
        standing = Standing.DONE
        if self.value != NOT_APPLICABLE:
            standing = item.after_answer(known.items[self.item].standing)
        known.settle(self.item, standing, self.spoken, value=self.value)
        known.answered_s = at_s
        if known.undone == self.item:
            known.undone = None
        if item.figure is not None:
            value = self.value if isinstance(self.value, str) else int(self.value)
            known.set_figure(item.figure, value)
        _learn(known, item, self.value)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class FeatureTold(Event):
    """The patient has it: told to the item that asks for what is special, which stays asked."""

    name: ClassVar[str] = "feature-told"
    item: str
    feature: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.tell_feature(self.feature)
        state = known.items[self.item]
        told = self.feature if state.value is None else f"{state.value} {self.feature}"
        known.items[self.item] = replace(state, value=told)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class BriefChosen(Event):
    """Another of the site's briefs is asked from now on."""

    name: ClassVar[str] = "brief-chosen"
    brief: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        brief.choice(self.brief)  # one that the site has not any more cannot be asked
        known.brief = self.brief
        known.current = known.pending = None  # asked_s stays: "no, ninety" may come yet


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Deferred(Event):
    """The answer was "not yet"."""

    name: ClassVar[str] = "deferred"
    item: str
    left_open: bool = False
    """It is the last of its phase, so that it is not asked again but named with what is open."""
    told: int | float | None = None
    """A number that is not the wanted one, where one was told."""

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        standing = brief.item(self.item).after_decline(known.items[self.item].standing)
        if self.left_open:
            standing = Standing.OUTSTANDING
        known.settle(self.item, standing, None, put_off_s=at_s)
        known.items[self.item] = replace(known.items[self.item], told=self.told)
        if self.told is not None:
            _learn(known, brief.item(self.item), self.told)
        elif brief.item(self.item).number_figure == "pressure_mmhg":
            known.lose_pressure()  # asked whether it holds, nobody has said so


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Reopened(Event):
    """An item that was settled is asked again: somebody went back."""

    name: ClassVar[str] = "reopened"
    item: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        item = brief.item(self.item)
        _unlearn(known, item)
        known.open_again(self.item)
        run = known.clocks.get(item.clock) if isinstance(item, TimedItem) else None
        if run is not None and run.has_run_out:  # its time was waited for already
            known.set_standing(self.item, Standing.DUE)
        known.ask_nothing()
        if item.figure is not None:
            known.set_figure(item.figure, None)  # no dose for a weight that is in doubt


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Undone(Reopened):
    """Somebody has said that an item is so no more: it is asked again."""

    name: ClassVar[str] = "undone"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        super().change(known, brief, at_s)
        known.undone = self.item


@dataclass(frozen=True, kw_only=True, config=STRICT)
class PhaseDone(Event):
    """All items of the phase were asked; these are still open."""

    name: ClassVar[str] = "phase-done"
    open_items: list[str]

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.ask_nothing()


@dataclass(frozen=True, kw_only=True, config=STRICT)
class WentNow(Event):
    """The patient cannot wait: these items stay open."""

    name: ClassVar[str] = "went-now"
    open_items: list[str]

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.gaps_told = True
        for item in self.open_items:
            known.set_standing(item, Standing.OUTSTANDING)
        known.ask_nothing()
        known.begin_aside()  # a weight that was read back is not dropped with the rest
