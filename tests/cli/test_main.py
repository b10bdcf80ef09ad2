"""What every command has in common."""

import pytest

from turnwell.cli import cause
from turnwell.cli.exits import STOPPED
from turnwell.cli.main import main


def test_ctrl_c_is_one_line_and_no_traceback(monkeypatch, capsys):
    def stopped(arguments):
        raise KeyboardInterrupt

    monkeypatch.setattr(cause, "run", stopped)
    assert main(["cause", "findings.toml"]) == STOPPED
    assert capsys.readouterr().err == "turnwell cause: stopped\n"


def test_an_unknown_command_is_a_usage_error(capsys):
    with pytest.raises(SystemExit) as stop:
        main(["hear"])
    assert stop.value.code == 2
