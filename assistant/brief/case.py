"""One case: the fold over the events of its record.

Live, after a restart, in a debrief and in a test a case comes about in the same way: every event
row of the journal is applied in order, and nothing else changes it.
"""

from collections.abc import Iterable

from transitions import EventData, Machine

from assistant.brief.items import AnyItem, Brief
from assistant.brief.known import ItemState, Known, Standing
from assistant.brief.lessons import LEARN
from assistant.brief.states import ASIDE_EVENTS, ASIDES, STEPS, State
from assistant.journal.rows import Row


class Case:
    """The state of one case; only `apply` changes it."""

    def __init__(self, brief: Brief) -> None:
        self.brief = brief
        self.known = Known({item.id: ItemState() for item in brief.items()})
        self.state: State = State.OPENED
        self._machine = Machine(
            model=self,
            states=State,
            initial=State.OPENED,
            transitions=[
                {
                    "trigger": step.event,
                    "source": list(step.sources),
                    "dest": step.dest,
                    "conditions": [self._began_here] if step.back else [],
                    "after": self._learn,
                    "before": self._remember,
                }
                for step in STEPS
            ],
            auto_transitions=False,
            send_event=True,
        )

    @classmethod
    def rebuilt(cls, brief: Brief, rows: Iterable[Row]) -> "Case":
        """The case that a record describes."""
        case = cls(brief)
        for row in rows:
            case.apply(row)
        return case

    def apply(self, row: Row) -> None:
        """Take in one row; rows that are not events of the conversation change nothing.

        Raises transitions.MachineError for an event that cannot happen in this state: a fault of
        the caller, never of a person.
        """
        if row.kind == "event" and "event" in row.data:
            values = {key: value for key, value in row.data.items() if key != "event"}
            self.trigger(row.data["event"], row=row, **values)  # type: ignore[attr-defined]

    def item(self, item_id: str) -> AnyItem:
        """The item of that name in the site's brief."""
        return next(item for item in self.brief.items() if item.id == item_id)

    @property
    def current(self) -> AnyItem | None:
        """The item that is being asked."""
        return None if self.known.current is None else self.item(self.known.current)

    def with_standing(self, *standings: Standing) -> list[AnyItem]:
        """The items of the present phase that stand so, in the order of the brief."""
        return [
            item
            for section in self.brief.sections
            if section.phase is self.known.phase
            for item in section.items
            if self.known.items[item.id].standing in standings
        ]

    # What `transitions` calls.

    def _began_here(self, event: EventData) -> bool:
        return event.transition is not None and event.transition.dest == self.known.aside_from.name

    def _remember(self, event: EventData) -> None:
        """An aside returns to where it began; a read-back that it interrupts is asked anew."""
        if event.event.name in ASIDE_EVENTS and self.state not in ASIDES:
            checking = self.state is State.CHECKING
            self.known.aside_from = State.ASKING if checking else self.state

    def _learn(self, event: EventData) -> None:
        learn = LEARN.get(event.event.name)
        if learn is not None:
            learn(self.known, self.brief, **event.kwargs)
