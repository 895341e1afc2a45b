"""The table of tags."""

import re
from pathlib import Path
from typing import get_args

import assistant
from assistant.speaking import tags

GROUPS = (tags.Awaiting, tags.StillAwaiting, tags.Held, tags.Answering, tags.Safety, tags.Remark)


def test_each_tag_is_of_one_kind() -> None:
    """What comes after a line is told by its tag alone."""
    listed = [tag for group in GROUPS for tag in get_args(group)]
    assert len(listed) == len(set(listed))
    assert set(listed) == set(get_args(tags.Tag))


def test_no_tag_is_listed_that_no_line_has() -> None:
    """Each stands in some module besides the table; one that is not listed mypy refuses."""
    modules = [one for one in Path(assistant.__file__).parent.rglob("*.py") if one.stem != "tags"]
    named = set(re.findall(r'"([a-z-]+)"', " ".join(one.read_text("utf-8") for one in modules)))
    assert set(get_args(tags.Tag)) <= named
