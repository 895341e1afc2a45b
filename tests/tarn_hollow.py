"""Tarn Hollow, read once in a process; and what to say there to items that take no plain yes."""

from pathlib import Path

from assistant.site.site import load_site

SITE = load_site(Path(__file__).parents[1] / "configs" / "tarn-hollow")

TELLING = {
    "oxygen-on": "we saw the mask held on",
    "weight": "seven zero kilos",
    "special": "nothing special",
    "allergies": "we went through the allergies",
    "first-attempt": "the registrar",
    "next-attempt": "the consultant",
    "front-of-neck": "the consultant",
    "failed-attempts": "we went through that plan",
    "first-laryngoscope": "video laryngoscope",
    "pressure": "one four zero",
    "pressure-held": "holds by itself",
    "pulse": "eight zero",
    "oxygen-help": "more on the valve",
    "bagging-rate": "the usual rate",
}
