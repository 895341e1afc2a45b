"""docs/site-files.md, written from the very models that read the files.

`python -m assistant.commands.site_files_page > docs/site-files.md`
"""

import ast
import inspect
import sys
from collections.abc import Iterable, Iterator, Sequence
from enum import Enum
from functools import cache
from itertools import pairwise
from typing import Any

from pydantic import BaseModel

from assistant.brief.brief import Brief
from assistant.brief.conditions import FIGURES, TOLD
from assistant.debrief.scenario import SimulationScenario
from assistant.dosing.figures import Figures
from assistant.dosing.formulary import Formulary
from assistant.dosing.yardstick import yardstick
from assistant.files.yaml_files import SiteModel
from assistant.glance.settings import GlanceSettings
from assistant.hearing.settings import HearingSettings
from assistant.journal.settings import RecordSettings
from assistant.oximeter.settings import OximeterSettings
from assistant.panel.settings import PanelSettings
from assistant.rehearsal.scenario import Scenario
from assistant.site.signature import Signature
from assistant.speaking.wording import Wording

FILES: dict[str, type[BaseModel]] = {
    "brief.yaml": Brief,
    "formulary.yaml": Formulary,
    "figures.yaml": Figures,
    "oximeter.yaml": OximeterSettings,
    "wording.yaml": Wording,
    "hearing.yaml": HearingSettings,
    "panel.yaml": PanelSettings,
    "record.yaml": RecordSettings,
    "signature.yaml": Signature,
    "glance.yaml": GlanceSettings,
    "a rehearsal": Scenario,
    "a scenario": SimulationScenario,
}

OPENING = """# A site's files

A site is a folder with five files: `brief.yaml`, `formulary.yaml`, `figures.yaml`, `oximeter.yaml`
and `wording.yaml`. Four more are only there if a site wants them: `hearing.yaml` for another
recogniser or model than the default, `panel.yaml` for a pedal, light and buzzer, `glance.yaml` for
a screen at the foot of the bed, `record.yaml` for how long cases are kept. `signature.yaml` says
who has signed the others: `spoken-brief check --site NEW --against OLD` lists what has changed, and
`--sign ROLE` signs it. With fewer than two roles, or after a change, `listen` says so at its start.
Rehearsals are kept beside the folder.

`configs/tarn-hollow/` is a complete example of an invented place: copy it, change it, and run
`spoken-brief check --site YOUR-FOLDER` until there is no complaint. A complaint is one sentence
with the file, the line, the key, what was found and what is allowed; nothing starts with a file
that has one. `check` also names any file in the folder that nothing reads.

A text may contain the `{placeholders}` that its row names, and no others; an item's may also
contain `{threshold}`, the saturation that is called. Wherever a phrase may be said it may have only
one meaning, and must not sound like a phrase with another.

The files are YAML 1.2: only `true` and `false` are truth values, so `yes`, `no`, `on` and `off` are
words. Unknown keys are refused, and so are a key that is there twice, anchors, aliases and tags,
characters that cannot be seen in an editor (a no-break space, a zero-width space), and a file of
more than a megabyte or 20 000 values.

Not a medical device, not a monitor's alarm. Whoever changes these files changes what is said to
people in an emergency: have a second person read the change, rehearse it, and keep to the local
protocol. Doses are checked against the label in hand.

`python -m assistant.commands.site_files_page` writes this page from the models that read the files.
"""


def page() -> str:
    """The whole page."""
    return "\n".join((OPENING, *_names(), *_files()))


def _names() -> Iterator[str]:
    """What the program itself knows by name."""
    yield "## Names that the program knows\n"
    yield f"- The ids of drugs: {_quoted(one.drug for one in yardstick().drugs)}."
    yield f"- The figures that `when` may name: {_quoted(FIGURES)}."
    yield f"- What `when` and `told_by` may name besides a site's own features: {_quoted(TOLD)}.\n"


def _quoted(names: Iterable[str]) -> str:
    return ", ".join(f"`{name}`" for name in names)


def _files() -> Iterator[str]:
    for name, model in FILES.items():
        schema = model.model_json_schema()
        yield f"## `{name}`\n" if name.endswith(".yaml") else f"## {name.capitalize()}\n"
        yield from _table(schema, name)
        parts = schema.get("$defs", {})
        for part, described in sorted((_shared_by(parts) | parts).items()):
            if "properties" in described:
                yield f"### {name}: {_words(part)}\n"
                yield from _table(described, name)
            elif "enum" in described:
                yield f"### {name}: {_words(part)}\n"
                about = _one_line(described.get("description", ""))
                under = _under_members(described)
                if under:
                    yield f"{about}\n"
                    yield from (f"- `{one}`: {under[one]}" for one in described["enum"])
                    yield ""
                else:
                    yield f"{about} One of: {_quoted(described['enum'])}.\n"


def _table(schema: dict[str, Any], file: str) -> Iterator[str]:
    if "description" in schema:
        yield f"{_one_line(schema['description'])}\n"
    kin = _kin(schema)
    rows = _rows(schema)
    if kin is not None:
        of_kin = _rows(kin.model_json_schema())
        rows = [row for row in rows if row not in of_kin]
        place = (
            f"{file}: {_words(kin.__name__)}".replace(".", "").replace(":", "").replace(" ", "-")
        )
        yield f"It has the keys of [{_words(kin.__name__)}](#{place}), and:\n"
    yield "| key | what it takes | when it is left out | what it is |"
    yield "| --- | --- | --- | --- |"
    yield from rows
    yield ""


def _rows(schema: dict[str, Any]) -> list[str]:
    required, under = schema.get("required", ()), _under_fields(_models()[schema["title"]])
    rows = []
    for key, value in schema["properties"].items():
        left_out = "must be there" if key in required else _default(value)
        about = _one_line(under.get(key, ""))
        rows.append(f"| `{key}` | {_takes(value)} | {left_out} | {about} |")
    return rows


def _kin(schema: dict[str, Any]) -> type[BaseModel] | None:
    """The model whose keys this one has besides its own, if there is one."""
    kin = _models()[schema["title"]].__bases__[0]
    return kin if issubclass(kin, SiteModel) and kin.model_fields else None


def _shared_by(parts: dict[str, Any]) -> dict[str, Any]:
    """What models have in common, however far up: each is told once."""
    found: dict[str, Any] = {}
    waiting = [part for part in parts.values() if "properties" in part]
    while waiting:
        kin = _kin(waiting.pop())
        if kin is not None and kin.__name__ not in found:
            found[kin.__name__] = kin.model_json_schema()
            waiting.append(found[kin.__name__])
    return found


def _models() -> dict[str, type[BaseModel]]:
    """Every model of a site's files, by its name."""
    found: dict[str, type[BaseModel]] = {}
    waiting: list[type[BaseModel]] = [SiteModel]
    while waiting:
        model = waiting.pop()
        found[model.__name__] = model
        waiting += model.__subclasses__()
    return found


def _under_fields(model: type[BaseModel]) -> dict[str, str]:
    """By field, what is written under it in the code.

    Read here, because only this page needs it, and every start of every command would pay for it.
    """
    found: dict[str, str] = {}
    for one in reversed(model.__mro__):
        if issubclass(one, BaseModel) and one is not BaseModel:
            found |= _under_fields_of(one.__module__).get(one.__name__, {})
    return found


def _under_members(described: dict[str, Any]) -> dict[str, str]:
    """By value, what is written under each member of an enumeration; empty unless all have it."""
    named = (one for one in Enum.__subclasses__() if one.__name__ == described["title"])
    kind = next(one for one in named if [member.value for member in one] == described["enum"])
    under = _under_fields_of(kind.__module__).get(kind.__name__, {})
    found = {str(one.value): _one_line(under[one.name]) for one in kind if one.name in under}
    return found if len(found) == len(kind) else {}


@cache
def _under_fields_of(module: str) -> dict[str, dict[str, str]]:
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    classes = (node for node in ast.walk(tree) if isinstance(node, ast.ClassDef))
    return {one.name: dict(_documented(one.body)) for one in classes}


def _documented(body: Sequence[ast.stmt]) -> Iterator[tuple[str, str]]:
    for field, below in pairwise(body):
        match field, below:
            case (
                ast.AnnAssign(target=ast.Name(id=name)) | ast.Assign(targets=[ast.Name(id=name)]),
                ast.Expr(value=ast.Constant(value=str(text))),
            ):
                yield name, text


def _takes(value: dict[str, Any]) -> str:
    if "$ref" in value:
        return _words(value["$ref"].rsplit("/", 1)[1])
    words = value.get("enum", [value["const"]] if "const" in value else [])
    if words:
        return " or ".join(f"`{one}`" for one in words)
    several = value.get("anyOf", value.get("oneOf", ()))
    if several:
        return " or ".join(dict.fromkeys(_takes(one) for one in several))
    if value.get("type") == "array":
        return f"a list of: {_takes(value.get('items', {}))}"
    if isinstance(value.get("additionalProperties"), dict):
        return f"a name for each: {_takes(value['additionalProperties'])}"
    return _plain(value)


def _plain(value: dict[str, Any]) -> str:
    kinds = {
        "string": "text",
        "integer": "a whole number",
        "number": "a number",
        "boolean": "`true` or `false`",
        "null": "nothing",
    }
    text: str = value.get("form") or kinds.get(value.get("type", ""), "a value")
    low = value.get("minimum", value.get("exclusiveMinimum"))
    high = value.get("maximum", value.get("exclusiveMaximum"))
    if low is not None:
        text += f" from {low:g}" if "minimum" in value else f" above {low:g}"
    if high is not None:
        text += f" up to {high:g}" if "maximum" in value else f" below {high:g}"
    if "pattern" in value and "form" not in value:
        text += f", of the form `{value['pattern']}`".replace("|", "\\|")
    return text


def _default(value: dict[str, Any]) -> str:
    default = value.get("default")
    if default in (None, [], {}):
        return "none"
    if isinstance(default, bool):
        return f"`{default}`".lower()
    return "as its own defaults" if isinstance(default, dict) else f"`{default}`"


def _words(model_name: str) -> str:
    """ "TimedItem" as "timed item"."""
    return "".join(f" {c.lower()}" if c.isupper() else c for c in model_name).strip()


def _one_line(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


if __name__ == "__main__":
    sys.stdout.write(page())
