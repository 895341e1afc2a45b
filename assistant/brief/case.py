"""One case: the fold over the events of its record.

Live, after a restart, in a debrief and in a test a case comes about in the same way: every event
row of the journal is applied in order, and nothing else changes it.
"""

from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import cast

from transitions import EventData, Machine

from assistant.brief.brief import Brief, Feature, Section
from assistant.brief.conditions import holds
from assistant.brief.events.base import Event
from assistant.brief.events.stored import UnreadableEvent, read_stored
from assistant.brief.events.vital import TakenBack
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.known import ItemState, Known
from assistant.brief.phases import Phase
from assistant.brief.states import BACK, CUT_SHORT, DOUBTED, HOLD_OVER, STATES, State
from assistant.brief.transitions import begins_aside, begins_hold, breaks_off, transitions
from assistant.brief.turns import BeforeTurn, remembered
from assistant.journal.rows import Row


class ImpossibleEvent(Exception):  # noqa: N818 - it says what is wrong
    """An event that cannot happen in this state: a fault of the caller, never of a person."""


class Case:
    """The state of one case; only events change it."""

    def __init__(self, brief: Brief) -> None:
        self.brief = brief
        first = brief.briefs[0].id if brief.briefs else None
        self.known = Known({item.id: ItemState() for item in brief.items()}, brief=first)
        self.state: State = State.OPENED
        self.unread: list[str] = []
        """Rows of the record that could not be applied, each with why: of a later version of this
        program, or damaged. The case goes on without them."""
        self.before_turn: BeforeTurn | None = None
        self.undone_since_s: float | None = None
        """When the word was said that was taken back last, on the case's clock."""
        self._items = {item.id: item for item in brief.items()}
        self._sections = {one.id: section for section in brief.sections for one in section.items}
        table = machine()
        table.add_model(self)  # which gives it its state and its events
        table.remove_model(self)  # it keeps them; the machine would keep every case

    @classmethod
    def rebuilt(cls, brief: Brief, rows: Iterable[Row]) -> "Case":
        """The case that a record describes; what cannot be applied is in its `unread`."""
        case = cls(brief)
        for row in rows:
            case.apply_old(row)
        return case

    def check(self, event: Event) -> None:
        """Raise ImpossibleEvent when the event cannot happen now; asked before it is recorded."""
        try:
            possible = self.may_trigger(event.name)  # type: ignore[attr-defined]
        except AttributeError:  # transitions knows no event of that name
            possible = False
        if not possible:
            raise ImpossibleEvent(f"{event.name} cannot happen while {self.state.value}")

    def apply(self, row: Row) -> Event | None:
        """Take in one row of the record; return its event, if it is a row of one.

        Rows that are not events of the conversation change nothing. Raises UnreadableEvent for an
        event that this program does not know, and ImpossibleEvent for one that cannot happen now;
        the case is then as it was.
        """
        if row.kind != "event" or "event" not in row.data:
            return None
        event = read_stored(row.data)
        self.check(event)
        self.trigger(event.name, event=event, at_s=row.mono_s)  # type: ignore[attr-defined]
        return event

    def apply_old(self, row: Row) -> Event | None:
        """The same for a row of a record that somebody else may have written.

        What cannot be applied is left out and told in `unread`: a case must open again whatever is
        in its record.
        """
        try:
            return self.apply(row)
        except (UnreadableEvent, ImpossibleEvent, KeyError) as fault:
            self.unread.append(f"{row.text}: {fault}")
            return None

    def item(self, item_id: str) -> AnyItem:
        """The item of that name in the site's brief. Raises KeyError when there is none."""
        return self._items[item_id]

    def section_of(self, item_id: str) -> Section:
        """The section in which an item stands. Raises KeyError when there is none."""
        return self._sections[item_id]

    def is_of_this_phase(self, item_id: str) -> bool:
        """Whether an item stands in a section of the phase that goes on. Raises as `section_of`."""
        return self.section_of(item_id).phase is self.known.phase

    @property
    def current(self) -> AnyItem | None:
        """The item that is being asked."""
        return None if self.known.current is None else self.item(self.known.current)

    def standing(self, item: AnyItem) -> Standing:
        """What has become of an item."""
        return self.known.items[item.id].standing

    @property
    def features(self) -> list[Feature]:
        """What this patient has, of what the site knows to ask for."""
        return [one for one in self.brief.features if self.known.value_of(one.id) is True]

    def applies(self, item: AnyItem) -> bool:
        """Whether it is asked of this patient, in this brief; what was put off once stays so."""
        if self.standing(item) is not Standing.OPEN:
            return True
        section, known = self.section_of(item.id), self.known.value_of
        choice = self.brief.choice(self.known.brief)
        if choice is not None and section.phase is Phase.BEFORE and not choice.asks(section, item):
            return False
        return holds(section.when, known) and holds(item.when, known)

    def with_standing(
        self, *standings: Standing, phases: Sequence[Phase] | None = None
    ) -> list[AnyItem]:
        """The items that stand so, in the order of the brief; of the present phase, or of those."""
        among = (self.known.phase,) if phases is None else phases
        return [
            item
            for section in self.brief.sections
            if section.phase in among
            for item in section.items
            if self.standing(item) in standings and self.applies(item)
        ]

    @property
    def _begun_in(self) -> State:
        """Where the aside in hand was begun, and the hold around it; else the state itself."""
        aside = STATES[self.state].aside and self.state is not State.HELD
        begun_in = self.known.aside_from if aside else self.state
        return self.known.held_from if begun_in is State.HELD else begun_in

    # What `transitions` calls.

    def _remember_turn(self, event: EventData) -> None:
        """The case as it is now, where something turns it that may be taken back."""
        happened: Event = event.kwargs["event"]
        at_s: float = event.kwargs["at_s"]
        self.before_turn = remembered(self.before_turn, happened, self.known, self.state, at_s)

    def _lay_aside(self, event: EventData) -> None:
        """A vital word breaks off what was asked: it is not lost, and comes back later. So does an
        aside in which somebody decides for another way."""
        if event.event.name == "entered":
            if STATES[self.state].aside and STATES[self.state].comes_back:
                self.known.laid_aside = self.state
            return
        if not breaks_off(event.event.name) or self.state is State.ATTEMPTING:
            return
        known, row = self.known, STATES[self.state]
        if event.event.name != "wave-due":
            known.drop_checked()
        if self.state is State.CHECKING:
            if event.event.name == "wave-due":
                known.keep_checked()
        elif row.comes_back:
            known.laid_aside = self.state
        if event.event.name != "arrest" and self._begun_in in (State.ASKING, State.CHECKING):
            if known.phase is Phase.BEFORE:  # the others are asked anew when they begin again
                known.broken_off = True
            known.ask_nothing()

    def _remember_where(self, event: EventData) -> None:
        """An aside returns to where it began; a read-back that it interrupts comes again there.

        But a case that is not to end goes on, whatever held it: so it stands in older records too.
        """
        if not begins_aside(event.event.name):
            return
        begun_in = State.ASKING if self._begun_in is State.CHECKING else self._begun_in
        if begins_hold(event.event.name):
            self.known.held_from = begun_in
        elif self.state is State.HELD and event.event.name != "closing":
            self.known.aside_from = State.HELD
        elif self.state is State.HELD or not STATES[self.state].aside:
            self.known.aside_from = begun_in

    def _learn(self, event: EventData) -> None:
        happened: Event = event.kwargs["event"]
        if isinstance(happened, TakenBack):
            self._turn_back()
        else:
            happened.change(self.known, self.brief, event.kwargs["at_s"])

    def _turn_back(self) -> None:
        before, self.before_turn = self.before_turn, None
        if before is not None:
            self.known, self.state, self.undone_since_s = before.known, before.state, before.at_s


@lru_cache(maxsize=1)
def machine() -> Machine:
    """The table of the states as the library runs it, for every case: it takes long to build."""
    return Machine(
        model=None,
        states=State,
        initial=State.OPENED,
        transitions=[
            {
                "trigger": one.event,
                "source": one.source,
                "dest": one.dest,
                "conditions": [_leads_there(one.back)] if one.back else [],
                "before": ["_remember_turn", "_lay_aside", "_remember_where", "_learn"],
            }
            for one in transitions()
        ],
        auto_transitions=False,
        send_event=True,
    )


def _leads_there(back: str) -> Callable[[EventData], bool]:
    """Whether, of several ways back, this one leads where that case came from."""

    def there(event: EventData) -> bool:
        known = cast("Case", event.model).known
        doubted_in = None if known.doubt is None else known.doubt.heard_in
        leads = {
            BACK: known.aside_from,
            HOLD_OVER: known.held_from,
            DOUBTED: doubted_in,
            CUT_SHORT: known.cut_short_in,
        }
        dest = leads.get(back, known.laid_aside)
        transition = event.transition
        return dest is not None and transition is not None and transition.dest == dest.name

    return there
