"""The terminal commands as a person runs them: what they print, and the one line with which they refuse."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command


def run(command: str, capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    """Exit status, standard output, standard error."""
    try:
        call_command(command, *args)
        status = 0
    except SystemExit as stop:
        status = stop.code
    out, err = capsys.readouterr()
    return status, out, err


def answer(command: str, path: Path, content: object) -> dict[str, Any]:
    """The JSON answer about a file that holds `content`."""
    path.write_text(json.dumps(content))
    out = io.StringIO()
    call_command(command, str(path), "--json", stdout=out)
    return json.loads(out.getvalue())


def refusal(command: str, path: Path, content: object, capsys: pytest.CaptureFixture[str]) -> str:
    """The line with which a file is refused: exit status 2, nothing on standard output, the file named first."""
    path.write_bytes(content if isinstance(content, bytes) else json.dumps(content).encode())
    out = io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command(command, str(path), "--json", stdout=out)
    assert ended.value.code == 2
    assert out.getvalue() == ""
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert said.startswith(f"{path}: ")
    return said
