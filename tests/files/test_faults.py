"""What is wrong at a place of a file, in one sentence."""

from pathlib import Path

from assistant.files.faults import Fault, complaint

FAULT = Fault(("drugs", 1, "said", 0), "'ket'", "another name")


def test_a_fault_is_told_with_its_line_and_key(tmp_path: Path) -> None:
    """The place in the file is looked up when the sentence is made."""
    path = tmp_path / "formulary.yaml"
    path.write_text("drugs:\n  - id: one\n  - id: other\n    said: [ket]\n", "utf-8")

    told = str(complaint(path, FAULT))

    assert told == f"{path}, line 4, key drugs.1.said.0: found 'ket'; allowed: another name."


def test_of_a_file_that_is_not_there_no_line_is_told(tmp_path: Path) -> None:
    """As of a site that was put together without files."""
    path = tmp_path / "formulary.yaml"

    told = str(complaint(path, FAULT))

    assert told == f"{path}, key drugs.1.said.0: found 'ket'; allowed: another name."
