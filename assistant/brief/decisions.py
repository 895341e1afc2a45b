"""What the brief has to know of a site: the parts of it that a case goes by."""

from typing import Protocol

from assistant.brief.brief import Brief
from assistant.dosing.figures import Figures
from assistant.dosing.formulary import Formulary
from assistant.speaking.wording import Wording


class SiteDecisions(Protocol):
    """Items, drugs, figures and wording; the composed site is one, and so is a test's own."""

    @property
    def brief(self) -> Brief:
        """What is asked, of whom, in which order."""

    @property
    def formulary(self) -> Formulary:
        """The drugs and their doses."""

    @property
    def figures(self) -> Figures:
        """Sizes, cylinders, ventilator."""

    @property
    def wording(self) -> Wording:
        """What is said, and what may be said."""
